//! `hysteron replay`: what would the control have done with a recorded temperature?

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use hysteron_logic::event::Event;
use hysteron_logic::probe::ProbeFault;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::Duration;

use super::Perform;
use super::assignment::Assignment;
use super::destination::{Destination, standard_output};
use super::files::{Files, ForceArgument};
use super::own_file::OwnFile;
use super::replay_answer::{answer, course, stretches};
use super::scenario_input::ScenarioInput;
use super::shell_word::in_shell;
use super::standard_stream::STANDARD_STREAM;
use crate::console::{Console, StandardOutput};
use crate::exit::Exit;
use crate::failure::Failure;
use hysteron_bench::record::trace::{Entry, Trace};
use hysteron_bench::recording::{
    ColumnChoice, Recording, RecordingFormat, TimeFormat, Unreadable, ValueUnit,
};
use hysteron_bench::replay::{for_recordings, replay};
use hysteron_bench::scenario::bundled::BUNDLED;
use hysteron_bench::scenario::overridden::Variants;
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::quantity_text::read_duration;
use hysteron_source::text::{SourceText, any_of};
use hysteron_view::report::{Recorded, replay_html};

const LONGEST_GAP: &str = "1 h";

/// Lets a recorded temperature drive the control: what would it have done?
#[derive(Debug, Clone, Args)]
#[command(after_help = "\
A recording is a text of lines, each with a time and a value, parted by commas, semicolons or tabs:

  time,box °C
  2026-07-01 14:30:00,3.4
  2026-07-01 14:31:00,3.6

Times are seconds, dates and times, or moments with their offset (RFC 3339); date and time may stand \
in two columns. Dates are 2026-07-31, 31.7.2026, 31/7/2026 or 7/31/2026; a recording in which no \
date tells day from month needs --time-format (strptime's %d, %m, %Y, %H, %M, %S, %I with %p, ...). A \
clock that goes back by an hour at night without losing its beat is read as the end of summer time.

Values are degrees or ohms; `open` and `shorted` are understood. The heading or each cell names the \
unit: °C, °F, ohm or kohm. Letters are UTF-8, UTF-16 or Windows-1252 (Latin-1). What a logger writes \
before the heading is passed over. The control decides every second on the latest value recorded by \
then.

Examples:
  hysteron replay cold-room.csv
  hysteron replay cold-room.csv --control works-canteen --set control.setpoint=3C
  hysteron replay logger.csv --time Timestamp --value \"Probe 2\" --unit F --csv relay.csv")]
pub struct ReplayArguments {
    /// The recording (`-`: standard input)
    recording: PathBuf,

    /// The scenario, a file or a bundled one, whose settings the control has [default: the demonstration's]
    #[arg(long, value_name = "SCENARIO")]
    control: Option<PathBuf>,

    /// The variant of that scenario, where it has some
    #[arg(long, value_name = "NAME")]
    variant: Option<String>,

    /// Changes an entry of that scenario; may be given again
    #[arg(long, value_name = "PATH=VALUE")]
    set: Vec<Assignment>,

    /// The column of times, by its heading or its number
    #[arg(long, value_name = "COLUMN")]
    time: Option<ColumnChoice>,

    /// The column of values, by its heading or its number
    #[arg(long, value_name = "COLUMN")]
    value: Option<ColumnChoice>,

    /// Unit of the values, whatever a heading says
    #[arg(long, value_enum, ignore_case = true)]
    unit: Option<UnitArgument>,

    /// How times are written, where that cannot be told: "%d/%m/%Y %H:%M" is day first,
    /// "%m/%d/%Y %I:%M %p" month first with AM or PM
    #[arg(long, value_name = "FORMAT")]
    time_format: Option<TimeFormat>,

    /// The longest time for which a value may hold
    #[arg(long, value_name = "TIME", default_value = LONGEST_GAP, value_parser = gap)]
    longest_gap: Duration,

    /// Leaves out lines that cannot be understood, and says how many
    #[arg(long)]
    skip_bad_lines: bool,

    /// Writes a report, one HTML file that needs nothing else, to FILE (`-`: standard output)
    #[arg(long, value_name = "FILE")]
    report: Option<Destination>,

    /// Writes every stretch of the relay as comma-separated values to FILE (`-`: standard output)
    #[arg(long, value_name = "FILE")]
    csv: Option<Destination>,

    #[command(flatten)]
    force: ForceArgument,
}

/// A unit as a person names it.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum UnitArgument {
    /// Degrees Celsius
    C,
    /// Degrees Fahrenheit
    F,
    /// Ohms
    Ohm,
    /// Kilohms
    Kohm,
}

impl From<UnitArgument> for ValueUnit {
    fn from(unit: UnitArgument) -> Self {
        match unit {
            UnitArgument::C => Self::Celsius,
            UnitArgument::F => Self::Fahrenheit,
            UnitArgument::Ohm => Self::Ohm,
            UnitArgument::Kohm => Self::Kilohm,
        }
    }
}

fn gap(text: &str) -> Result<Duration, String> {
    read_duration(text)
        .map_err(|misread| format!("{}; expected {}", misread.what, misread.expected))
}

/// What is to be done.
struct Replaying {
    settings: Settings,
    recording: Recording<Box<dyn Read>>,
    report: Option<Destination>,
    csv: Option<Destination>,
    /// What a person types to see the same again.
    again: String,
    stdout: StandardOutput,
}

impl ReplayArguments {
    fn checked(self) -> Result<Replaying, Failure> {
        let stdout = standard_output(self.report.iter().chain(&self.csv))?;
        self.files()?.check(self.force.into())?;
        let (again, settings) = (self.again(), self.settings()?);
        let reading = RecordingFormat {
            time: self.time,
            value: self.value,
            unit: self.unit.map(ValueUnit::from),
            time_format: self.time_format,
            longest_gap: self.longest_gap,
            unreadable: if self.skip_bad_lines {
                Unreadable::LeftOut
            } else {
                Unreadable::Refused
            },
        };
        let (name, lines) = opened(&self.recording)?;
        Ok(Replaying {
            settings,
            recording: Recording::open(name, lines, reading)?,
            report: self.report,
            csv: self.csv,
            again,
            stdout,
        })
    }

    /// What a report calls the recording.
    fn name(&self) -> String {
        let file = self.recording.file_name().unwrap_or_default();
        match file.to_string_lossy() {
            name if name == STANDARD_STREAM => "standard input".to_owned(),
            name => name.into_owned(),
        }
    }

    /// What a person types to see the same again.
    fn again(&self) -> String {
        let mut words = vec![
            "hysteron replay".to_owned(),
            in_shell(&self.recording.display().to_string()),
        ];
        let mut add = |option: &str, value: Option<String>| {
            words.extend(value.map(|value| format!("{option} {}", in_shell(&value))));
        };
        let control = self.control.as_ref();
        add("--control", control.map(|path| path.display().to_string()));
        add("--variant", self.variant.clone());
        for assignment in &self.set {
            add("--set", Some(assignment.to_string()));
        }
        add("--time", self.time.as_ref().map(ToString::to_string));
        add("--value", self.value.as_ref().map(ToString::to_string));
        let unit = self.unit.and_then(|unit| unit.to_possible_value());
        add("--unit", unit.map(|unit| unit.get_name().to_owned()));
        let format = self.time_format.as_ref();
        add("--time-format", format.map(ToString::to_string));
        let gap = self.longest_gap.to_string();
        add("--longest-gap", (gap != LONGEST_GAP).then_some(gap));
        if self.skip_bad_lines {
            words.push("--skip-bad-lines".to_owned());
        }
        words.join(" ")
    }

    fn control(&self) -> Result<ScenarioInput, Failure> {
        match (&self.control, BUNDLED.first()) {
            (Some(control), _) => ScenarioInput::named(control),
            (None, Some(first)) => Ok(ScenarioInput::Bundled(first)),
            (None, None) => Err(Failure::because("nothing is bundled")),
        }
    }

    /// What is read and what is written.
    fn files(&self) -> Result<Files, Failure> {
        let mut files = Files::default();
        if self.recording == Path::new(STANDARD_STREAM) {
            files.read_standard_input();
        } else {
            files.read("the recording", [&self.recording]);
        }
        self.control()?.note_read(&mut files);
        files.written("--report", &self.report, OwnFile::Report);
        files.written("--csv", &self.csv, OwnFile::ReplayTable);
        Ok(files)
    }

    fn settings(&self) -> Result<Settings, Failure> {
        let input = self.control()?;
        if input == ScenarioInput::StandardInput && self.recording == Path::new(STANDARD_STREAM) {
            return Err(Failure::because(
                "standard input (-) is named twice, and can be read only once",
            ));
        }
        let variant = self.variant.as_deref();
        let variants = variant.map_or(Variants::All, Variants::Named);
        let plan = input.plan_without_weather(&self.set, variants)?;
        let settings = settings_of(&plan, self.variant.as_deref())?;
        for_recordings(&settings).map_err(|refused| Failure::because(refused.to_string()))
    }
}

fn settings_of(plan: &Plan, variant: Option<&str>) -> Result<Settings, Failure> {
    let names: Vec<&str> = plan
        .cases
        .iter()
        .filter_map(|case| case.name.as_deref())
        .collect();
    let Some(variant) = variant else {
        return match plan.cases.as_slice() {
            [only] => Ok(only.settings),
            _ => Err(Failure::because("the scenario has several variants")
                .remedy(format!("choose one with --variant: {}", any_of(&names)))),
        };
    };
    let found = plan
        .cases
        .iter()
        .find(|case| case.name.as_deref() == Some(variant));
    found.map(|case| case.settings).ok_or_else(|| {
        let failure = Failure::because(format!("the scenario has no variant \"{variant}\""));
        match names.as_slice() {
            [] => failure.remedy("it has none at all: leave --variant out"),
            names => failure.remedy(format!("there are {}", any_of(names))),
        }
    })
}

fn opened(path: &Path) -> Result<(String, Box<dyn Read>), Failure> {
    if path == Path::new(STANDARD_STREAM) {
        return Ok(("standard input".to_owned(), Box::new(std::io::stdin())));
    }
    let name = path.display().to_string();
    match File::open(path) {
        Ok(file) => Ok((name, Box::new(file))),
        Err(error) => Err(SourceText::unreadable(name, &error).into()),
    }
}

impl Perform for ReplayArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        let name = self.name();
        let Replaying {
            settings,
            mut recording,
            report,
            csv,
            again,
            stdout,
        } = self.checked()?;
        let replay = replay(&settings, &mut recording)?;
        for note in recording.notes() {
            console.note(&format!("note: {note}"));
        }
        if recording.left_out() > 0 {
            console.note(&format!(
                "note: {} lines were left out",
                recording.left_out()
            ));
        }
        if jumped(&replay.trace) {
            console.note("note: to the control, lines that are far apart may look like a jump");
        }
        let moment = |at| recording.moment_text(at);
        if let Some(destination) = &csv {
            destination.write(stretches(&replay.trace, &moment).as_bytes(), console)?;
        }
        if let Some(destination) = &report {
            let recorded = Recorded {
                name: &name,
                begins: &moment(Duration::ZERO),
            };
            let page = replay_html(&replay, recorded, settings, &again);
            destination.write(page.as_bytes(), console)?;
        }
        let course = course(&replay, settings, console.screen());
        let answer = answer(&replay, &settings, &course, &moment);
        console.answer(&answer, stdout);
        Ok(Exit::Holds)
    }
}

fn jumped(trace: &Trace) -> bool {
    let jump = Entry::Control(Event::ProbeFailed(ProbeFault::ImplausibleJump));
    trace.entries().iter().any(|(_, entry)| *entry == jump)
}
