//! `hysteron find-fault`: which fault explains what the meter shows?

use std::io::{self, BufRead, IsTerminal, Read};
use std::path::PathBuf;

use clap::Args;

use super::Perform;
use super::destination::{Destination, standard_output};
use super::files::{Files, ForceArgument};
use super::installation_input::{note_read, read, text};
use super::own_file::OwnFile;
use super::standard_stream::STANDARD_STREAM;
use crate::console::Console;
use crate::disk;
use crate::exit::Exit;
use crate::failure::Failure;
use hysteron_diagnosis::fault_finding::answer::{self, ROUGH_WEIGHTS};
use hysteron_diagnosis::fault_finding::dialogue::{Dialogue, Turn};
use hysteron_diagnosis::fault_finding::hypothesis::{Depth, Hypothesis};
use hysteron_diagnosis::fault_finding::measurement::MeterReading;
use hysteron_diagnosis::fault_finding::search::Search;
use hysteron_diagnosis::fault_finding::tolerance::Tolerance;
use hysteron_diagnosis::fault_finding::{reading_file, reading_text};
use hysteron_installation::Installation;
use hysteron_installation::circuit::Circuit;
use hysteron_installation::state::{RelayArmature, State};
use hysteron_source::text::SourceText;
use hysteron_view::drawing;

/// Finds the fault that explains what a meter shows, and names the next measurement.
#[derive(Debug, Clone, Args)]
#[command(after_help = "\
Examples:
  hysteron find-fault compressor-208
  hysteron find-fault compressor-120 \\
      --reading \"calling: control.relay_common to control.normally_open = 120 V\" \\
      --reading \"power off: compressor.line1 to compressor.line2 = open\"
  hysteron find-fault my-cooler.toml --readings visit.toml
  hysteron find-fault my-cooler.toml --ask

A reading is a moment, two terminals (or a terminal and ground), and what the meter showed. The \
moments are satisfied, calling and breakers open (every breaker, fuse and switch is), with volts, \
and power off (the supplies are off, too), with ohms or `open`. A file of readings has them as tables:

  [[reading]]
  when = \"calling\"
  from = \"control.relay_common\"
  to = \"control.normally_open\"
  shows = \"120 V\"

Percentages rest on rough weights, from memory, of how often each fault is met: their order says more \
than their size. `fault_weight` of a part or a wire in the installation changes them.

With --ask, answer each question with a value, or with a whole reading of your own, `skip`, `back` \
or `done`.

Exit codes:
  0  at least one possibility explains every reading
  1  none does
  2  the input is wrong, or a file cannot be read

Measuring on live conductors kills. It is work for people trained, equipped and licensed for it, \
under local codes.")]
pub struct FindFaultArguments {
    /// An installation file, the name of a bundled installation, or `-` for standard input
    #[arg(value_name = "INSTALLATION")]
    installation: PathBuf,

    /// A reading: "MOMENT: TERMINAL to TERMINAL = VALUE"; may be given several times
    #[arg(long, value_name = "READING")]
    reading: Vec<String>,

    /// A file of readings
    #[arg(long, value_name = "FILE")]
    readings: Option<PathBuf>,

    /// Asks for one reading after the other
    #[arg(long)]
    ask: bool,

    /// Considers any two faults together, too
    #[arg(long)]
    two_faults: bool,

    /// Draws the installation as the likeliest possibility leaves it while it calls (`-`: standard output)
    #[arg(long, value_name = "FILE")]
    drawing: Option<Destination>,

    #[command(flatten)]
    force: ForceArgument,

    /// Error of the meter, in percent of the reading, from 0 to 10
    #[arg(long, value_name = "PERCENT", default_value = "1", value_parser = percent)]
    meter_tolerance: f64,

    /// How far the supply may lie from its nominal voltage, in percent, from 0 to 20
    #[arg(long, value_name = "PERCENT", default_value = "5", value_parser = supply_percent)]
    supply_tolerance: f64,
}

fn percent(written: &str) -> Result<f64, String> {
    bounded(written, 10.0)
}

fn supply_percent(written: &str) -> Result<f64, String> {
    bounded(written, 20.0)
}

/// A fraction, written in percent.
fn bounded(written: &str, most: f64) -> Result<f64, String> {
    let number = written.trim_end_matches(['%', ' ']).parse::<f64>();
    match number {
        Ok(number) if (0.0..=most).contains(&number) => Ok(number / 100.0),
        Ok(_) | Err(_) => Err(format!("expected a number from 0 to {most}")),
    }
}

impl FindFaultArguments {
    fn files(&self) -> Files {
        let mut files = Files::default();
        note_read(&self.installation, &mut files);
        files.read("the file of readings", &self.readings);
        files.written("--drawing", &self.drawing, OwnFile::Drawing);
        files
    }

    fn given(&self, installation: &Installation) -> Result<Vec<MeterReading>, Failure> {
        let mut given = Vec::new();
        if let Some(path) = &self.readings {
            given = reading_file::read(&disk::text_of(path)?, installation)?;
        }
        for (number, written) in self.reading.iter().enumerate() {
            let name = format!("--reading, number {}", number + 1);
            let source = SourceText::new(name, written.as_str())?;
            given.push(reading_text::read(&source, installation)?);
        }
        Ok(given)
    }
}

impl Perform for FindFaultArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        if self.ask && self.installation.as_os_str() == STANDARD_STREAM {
            return Err(Failure::because(
                "standard input holds the installation, and so cannot answer --ask",
            )
            .remedy("put the installation into a file"));
        }
        self.files().check(self.force.into())?;
        let installation = read(&text(&self.installation)?)?;
        let given = self.given(&installation)?;
        let depth = if self.two_faults {
            Depth::Double
        } else {
            Depth::Single
        };
        let tolerance = Tolerance {
            meter: self.meter_tolerance,
            supply: self.supply_tolerance,
        };
        let mut search = Search::new(&installation, depth, tolerance);
        for reading in given {
            search.take(reading);
        }
        let mut dialogue = Dialogue::new(&installation, search);
        if self.ask {
            ask(&mut dialogue, console)?;
        }
        let answer = answer::as_text(&installation, dialogue.search(), dialogue.proposal());
        console.answer(&answer, standard_output(&self.drawing)?);
        let candidates = dialogue.search().candidates();
        if let (Some(drawing), Some(likeliest)) = (&self.drawing, candidates.first()) {
            let drawn = drawn(&installation, likeliest.hypothesis, candidates.len());
            drawing.write(drawn.as_bytes(), console)?;
        }
        Ok(if dialogue.search().candidates().is_empty() {
            Exit::Fails
        } else {
            Exit::Holds
        })
    }
}

/// The ladder diagram under a hypothesis, the likeliest of so many, while the control is set to call.
fn drawn(installation: &Installation, hypothesis: &Hypothesis, of: usize) -> String {
    let words = hypothesis.words(installation);
    let caption = match of {
        1 => format!("Calling: {words}"),
        of => format!("Calling, the likeliest of {of} by {ROUGH_WEIGHTS}: {words}"),
    };
    let circuit = Circuit::new(hypothesis.applied_to(installation));
    let calling = State::default().with_relay(RelayArmature::Energised);
    let solution = circuit.settle_pumped_down(&calling).solution;
    drawing::captioned_svg(circuit.installation(), Some(&solution), &caption)
}

/// No line of an answer is longer.
const LINE_LIMIT: u64 = 4_096;

/// Asks until there is nothing more to measure, or the person has enough.
fn ask(dialogue: &mut Dialogue<'_>, console: &mut Console<'_>) -> Result<(), Failure> {
    let mut input = io::stdin().lock();
    let echoed = !input.is_terminal();
    while let Some(question) = dialogue.question() {
        console.note(&question);
        let mut line = Vec::new();
        (&mut input)
            .take(LINE_LIMIT)
            .read_until(b'\n', &mut line)
            .map_err(|error| Failure::because(format!("cannot read standard input: {error}")))?;
        if line.is_empty() {
            break;
        }
        let line = String::from_utf8_lossy(&line);
        if echoed {
            console.note(&format!("> {}", line.trim()));
        }
        match dialogue.answered(line.trim()) {
            Turn::Goes => {}
            Turn::Ends => break,
            Turn::Misread(rejected) => console.complain(&Failure::from(*rejected)),
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use hysteron_installation::arrangements::named;
    use hysteron_installation::fault::{Fault, Trouble};
    use hysteron_installation::file;

    /// With its coil open the valve stays shut, and suction pressure stops the compressor.
    #[test]
    fn the_drawing_shows_what_the_search_foresees() {
        let text = named("pump-down-120").expect("ships").text;
        let source = SourceText::new("pump-down-120", text).expect("short");
        let installation = file::read(&source).expect("sound");
        let hypothesis = |faults| Hypothesis { faults, prior: 1.0 };
        let sound = drawn(&installation, &hypothesis(Vec::new()), 1);
        assert!(sound.contains("running, 118 V"), "{sound}");
        let coil_open = Fault {
            part: installation.part_named("valve").expect("a valve"),
            trouble: Trouble::WindingOpen,
        };
        let faulty = drawn(&installation, &hypothesis(vec![coil_open]), 2);
        assert!(!faulty.contains("running, 118 V"), "{faulty}");
        assert!(faulty.contains("stopped"), "{faulty}");
        assert!(
            faulty.contains("the likeliest of 2 by rough weights"),
            "{faulty}"
        );
    }
}
