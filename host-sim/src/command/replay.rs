//! `hysteron replay`: what would the control have done with a recorded temperature?

use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use hysteron_logic::event::Event;
use hysteron_logic::probe::ProbeFault;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::Duration;

use super::Perform;
use super::assignment::Assignment;
use super::destination::Destination;
use super::replay_answer::{answer, course, stretches};
use super::scenario_input::{STANDARD_STREAM, ScenarioInput};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::recording::{ColumnChoice, Reading, Recording, Unreadable, ValueUnit};
use crate::replay::{for_recordings, replay};
use crate::scenario::bundled::BUNDLED;
use crate::scenario::plan::Plan;
use crate::scenario::quantity_text::read_duration;
use crate::source_text::{SourceText, any_of};
use crate::trace::{Entry, Trace};

/// Lets a recorded temperature drive the control: what would it have done?
#[derive(Debug, Clone, Args)]
#[command(after_help = "\
A recording is a text of lines, each with a time and a value, parted by commas, semicolons or tabs:

  time,box °C
  2026-07-01 14:30:00,3.4
  2026-07-01 14:31:00,3.6

Times are seconds, dates and times, or moments with their offset (RFC 3339). Values are degrees or \
ohms; `open` and `shorted` are understood. A heading names the unit: °C, °F, ohm or kohm. The control \
decides every second on the latest value recorded by then.

Examples:
  hysteron replay cold-room.csv
  hysteron replay cold-room.csv --control walk-in-cooler --set control.setpoint=3C
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

    /// The longest time for which a value may hold
    #[arg(long, value_name = "TIME", default_value = "1 h", value_parser = gap)]
    longest_gap: Duration,

    /// Leaves out lines that cannot be understood, and says how many
    #[arg(long)]
    skip_bad_lines: bool,

    /// Writes every stretch of the relay as comma-separated values to FILE (`-`: standard output)
    #[arg(long, value_name = "FILE")]
    csv: Option<Destination>,
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
    /// Where the settings come from.
    plan: Plan,
    settings: Settings,
    recording: Recording<Box<dyn BufRead>>,
    csv: Option<Destination>,
}

impl ReplayArguments {
    fn checked(self) -> Result<Replaying, Failure> {
        let (plan, settings) = self.settings()?;
        let reading = Reading {
            time: self.time,
            value: self.value,
            unit: self.unit.map(ValueUnit::from),
            longest_gap: self.longest_gap,
            unreadable: if self.skip_bad_lines {
                Unreadable::LeftOut
            } else {
                Unreadable::Refused
            },
        };
        let (name, lines) = opened(&self.recording)?;
        Ok(Replaying {
            plan,
            settings,
            recording: Recording::open(name, lines, reading)?,
            csv: self.csv,
        })
    }

    fn settings(&self) -> Result<(Plan, Settings), Failure> {
        let input = match (&self.control, BUNDLED.first()) {
            (Some(control), _) => ScenarioInput::named(control)?,
            (None, Some(first)) => ScenarioInput::Bundled(first),
            (None, None) => return Err(Failure::because("nothing is bundled")),
        };
        if input == ScenarioInput::StandardInput && self.recording == Path::new(STANDARD_STREAM) {
            return Err(Failure::because(
                "standard input (-) is named twice, and can be read only once",
            ));
        }
        let plan = input.plan_without_weather(&self.set)?;
        let settings = settings_of(&plan, self.variant.as_deref())?;
        let settings =
            for_recordings(&settings).map_err(|refused| Failure::because(refused.to_string()))?;
        Ok((plan, settings))
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

fn opened(path: &Path) -> Result<(String, Box<dyn BufRead>), Failure> {
    if path == Path::new(STANDARD_STREAM) {
        let lines = BufReader::new(std::io::stdin());
        return Ok(("standard input".to_owned(), Box::new(lines)));
    }
    let name = path.display().to_string();
    match File::open(path) {
        Ok(file) => Ok((name, Box::new(BufReader::new(file)))),
        Err(error) => Err(SourceText::unreadable(name, &error).into()),
    }
}

impl Perform for ReplayArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        let Replaying {
            plan,
            settings,
            mut recording,
            csv,
        } = self.checked()?;
        let replay = replay(&settings, &mut recording)?;
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
        match csv {
            None => {
                let course = course(&replay, plan, settings, console.screen());
                console.say(&answer(&replay, &settings, &course, &moment));
            }
            Some(destination) => {
                destination.write(stretches(&replay.trace, &moment).as_bytes(), console)?;
            }
        }
        Ok(Exit::Holds)
    }
}

fn jumped(trace: &Trace) -> bool {
    let jump = Entry::Control(Event::ProbeFailed(ProbeFault::ImplausibleJump));
    trace.entries().iter().any(|(_, entry)| *entry == jump)
}
