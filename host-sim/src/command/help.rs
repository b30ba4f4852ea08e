//! `hysteron help`: the formats of the files that people write, taught page by page, and the help
//! of the commands.

use clap::{Args, ValueEnum};
use hysteron_logic::settings::Scale;

use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use hysteron_bench::scenario::file as scenario_file;
use hysteron_installation::arrangements::named;
use hysteron_installation::file as installation_file;
use hysteron_source::form::Shape;
use hysteron_source::text::{any_of, nearest};
use hysteron_view::format::page::{excerpt, paragraph, table, tables};
use hysteron_view::format::settings_page::settings;
use hysteron_view::format::{SCENARIO_EXAMPLE, SETTINGS_EXAMPLE};

/// Teaches the formats of files: `help scenario`, `help installation`, `help settings`; or tells of a command
#[derive(Debug, Clone, Args)]
#[command(after_help = "\
Examples:
  hysteron help scenario                the format of scenario files, and its pages
  hysteron help scenario happening      everything that can happen
  hysteron help installation part       every kind of part
  hysteron help settings --unit F       every setting, in degrees Fahrenheit
  hysteron help run                     the same as `hysteron run --help`")]
pub struct HelpArguments {
    /// `scenario`, `installation`, `settings`, or a command
    topic: Option<String>,

    /// A page of the format
    page: Option<String>,

    /// Degrees of the ranges and defaults of settings
    #[arg(long, value_enum, ignore_case = true, default_value_t = Degrees::C)]
    unit: Degrees,
}

/// Degrees as a reader wants them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Degrees {
    /// Degrees Celsius
    C,
    /// Degrees Fahrenheit
    F,
}

/// A format that is taught.
struct Taught {
    topic: &'static str,
    shape: fn() -> Shape,
    about: &'static str,
    /// A whole file.
    example: fn() -> &'static str,
    /// What to do with such a file.
    advice: &'static str,
}

const QUANTITIES: &str = "Quantities are texts with their unit: \"2 °C\", \"36 °F\", \"4 K\", \
    \"1 h 30 min\", \"60 %\". A temperature difference may be written in K, °C or °F. Moments count \
    from midnight at the start of day 1: \"14:30\", \"day 2 06:00\", or a length of time from the \
    start, \"36 h\".";

const TAUGHT: [Taught; 2] = [
    Taught {
        topic: "scenario",
        shape: scenario_file::shape,
        about: "A scenario is one TOML file. It says what is cooled or heated, how the control is \
            set, what happens when, and what is expected; `hysteron run` runs it and judges the \
            expectations.",
        example: || SCENARIO_EXAMPLE,
        advice: "Save it as my-cooler.toml, then: `hysteron run my-cooler.toml`",
    },
    Taught {
        topic: "installation",
        shape: installation_file::shape,
        about: "An installation is one TOML file: its parts, and the wires between their \
            terminals. `hysteron check` looks for what is wrong with it; `readings`, `find-fault` \
            and `draw` tell more; a scenario names it as its `installation`.",
        example: || named(SHIPPED).map_or("", |arrangement| arrangement.text),
        advice: "It ships. Write it out with `hysteron list --copy compressor-120`, then: \
            `hysteron check compressor-120.toml`",
    },
];

/// The installation that is shown.
const SHIPPED: &str = "compressor-120";

const SETTINGS: &str = "settings";

impl HelpArguments {
    /// Tells of the topic, or of a command of `program`.
    ///
    /// # Errors
    /// When there is no such topic, command or page.
    pub fn perform(
        self,
        program: clap::Command,
        console: &mut Console<'_>,
    ) -> Result<Exit, Failure> {
        let width = console.screen().width();
        let page = match (self.topic.as_deref(), self.page.as_deref()) {
            (None, _) => help_of(program, None),
            (Some(SETTINGS), None) => settings_page(self.unit.into(), width),
            (Some(topic), page) => match TAUGHT.iter().find(|taught| taught.topic == topic) {
                Some(taught) => taught.page(page, width)?,
                None if page.is_none() && program.find_subcommand(topic).is_some() => {
                    help_of(program, Some(topic))
                }
                None => return Err(unknown(topic, &program)),
            },
        };
        console.say(&page);
        Ok(Exit::Holds)
    }
}

impl From<Degrees> for Scale {
    fn from(degrees: Degrees) -> Self {
        match degrees {
            Degrees::C => Self::Celsius,
            Degrees::F => Self::Fahrenheit,
        }
    }
}

/// What `--help` says, of the program or of one of its commands.
fn help_of(program: clap::Command, command: Option<&str>) -> String {
    let words = ["hysteron"].into_iter().chain(command).chain(["--help"]);
    match program.try_get_matches_from(words) {
        Err(help) => help.render().ansi().to_string(),
        Ok(_) => unreachable!("`--help` ends the reading of arguments"),
    }
}

fn unknown(topic: &str, program: &clap::Command) -> Failure {
    let topics = TAUGHT.iter().map(|taught| taught.topic).chain([SETTINGS]);
    let commands = program.get_subcommands().map(clap::Command::get_name);
    let names: Vec<&str> = topics.chain(commands).collect();
    let failure = Failure::because(format!("there is no help on \"{topic}\""));
    failure.remedy(match nearest(topic, names.iter().copied()) {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => format!("there is help on {}", any_of(&names)),
    })
}

fn settings_page(scale: Scale, width: usize) -> String {
    let about = "Settings of the control stand in [control], in the `settings` of a [[variant]], \
        and in those of a \"settings change\". What is left out stays as it is: at first, as the \
        control comes. The control refuses what makes no sense together, and says why.";
    [
        paragraph(about, 0, width),
        settings(scale, width),
        format!("Example:\n{}", excerpt(SETTINGS_EXAMPLE, "control")),
    ]
    .join("\n")
}

impl Taught {
    fn page(&self, page: Option<&str>, width: usize) -> Result<String, Failure> {
        let tables = tables(&(self.shape)());
        let Some(page) = page else {
            let [(_, whole), further @ ..] = tables.as_slice() else {
                unreachable!("a format has its outermost table");
            };
            let names: Vec<&str> = further.iter().map(|(_, shape)| shape.name).collect();
            let pages = format!(
                "Further pages: `hysteron help {} PAGE`, where PAGE is {}. An editor learns the \
                 same by `hysteron schema {}`.",
                self.topic,
                any_of(&names),
                self.topic,
            );
            let example: Vec<String> = (self.example)()
                .lines()
                .map(|line| format!("  {line}").trim_end().to_owned())
                .collect();
            return Ok([
                paragraph(self.about, 0, width),
                paragraph(QUANTITIES, 0, width),
                table(whole, width),
                paragraph(&pages, 0, width),
                format!("Example:\n{}\n", example.join("\n")),
                paragraph(self.advice, 0, width),
            ]
            .join("\n"));
        };
        let Some((key, shape)) = tables.iter().skip(1).find(|(_, shape)| shape.name == page) else {
            let names: Vec<&str> = tables.iter().skip(1).map(|(_, shape)| shape.name).collect();
            let failure =
                Failure::because(format!("help on {} has no page \"{page}\"", self.topic));
            return Err(failure.remedy(match nearest(page, names.iter().copied()) {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => format!("there are {}", any_of(&names)),
            }));
        };
        let told = table(shape, width);
        let shown = excerpt((self.example)(), key);
        Ok(if shown.is_empty() {
            told
        } else {
            format!("{told}\nExample:\n{shown}")
        })
    }
}
