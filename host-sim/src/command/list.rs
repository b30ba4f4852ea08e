//! `hysteron list`: what is bundled, and a copy of it to edit.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Args;

use super::Perform;
use super::scenario_input::{STANDARD_STREAM, ScenarioInput};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::scenario::ambient_table::AmbientPlan;
use crate::scenario::bundled::{BUNDLED, Bundled};
use crate::source_text::{any_of, nearest};

/// Lists the bundled scenarios, or copies one out to edit.
#[derive(Debug, Clone, Args)]
#[command(after_help = "\
Examples:
  hysteron list
  hysteron list --copy walk-in-cooler
  hysteron list --copy walk-in-cooler my-cooler.toml
  hysteron list --copy walk-in-cooler - | less")]
pub struct ListArguments {
    /// Writes the bundled scenario NAME out: to NAME.toml, or to the file or folder TO (`-`: standard output)
    #[arg(long, num_args = 1..=2, value_names = ["NAME", "TO"])]
    copy: Vec<PathBuf>,

    /// Lets --copy replace a file that is there already
    #[arg(long, requires = "copy")]
    force: bool,
}

/// What is to be done.
enum Listing {
    Titles,
    Copy {
        bundled: &'static Bundled,
        to: CopyTo,
    },
}

enum CopyTo {
    StandardOutput,
    File(PathBuf, Present),
}

/// What becomes of a file that is there already.
#[derive(Clone, Copy)]
enum Present {
    Kept,
    Replaced,
}

impl ListArguments {
    fn checked(self) -> Result<Listing, Failure> {
        let mut copy = self.copy.into_iter();
        let Some(name) = copy.next() else {
            return Ok(Listing::Titles);
        };
        let bundled = named(&name)?;
        let file = format!("{}.toml", bundled.name);
        let present = if self.force {
            Present::Replaced
        } else {
            Present::Kept
        };
        let to = match copy.next() {
            None => CopyTo::File(file.into(), present),
            Some(to) if to == Path::new(STANDARD_STREAM) => CopyTo::StandardOutput,
            Some(to) if to.is_dir() => CopyTo::File(to.join(file), present),
            Some(to) => CopyTo::File(to, present),
        };
        Ok(Listing::Copy { bundled, to })
    }
}

impl Perform for ListArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        match self.checked()? {
            Listing::Titles => {
                let widest = BUNDLED.iter().map(|one| one.name.len()).max().unwrap_or(0);
                for bundled in BUNDLED {
                    let plan = ScenarioInput::Bundled(bundled).plan_without_weather(&[])?;
                    let needs = match plan.ambient {
                        AmbientPlan::Weather { .. } => " (needs --weather FILE)",
                        AmbientPlan::Constant { .. } | AmbientPlan::Daily { .. } => "",
                    };
                    console.say(&format!("{:widest$}  {}{needs}", bundled.name, plan.title));
                }
            }
            Listing::Copy { bundled, to } => match to {
                CopyTo::StandardOutput => console.write(bundled.text.as_bytes()),
                CopyTo::File(path, present) => {
                    write_out(bundled, &path, present)?;
                    console.note(&format!(
                        "wrote {}; run it with: hysteron run {0}",
                        path.display()
                    ));
                }
            },
        }
        Ok(Exit::Holds)
    }
}

fn named(name: &Path) -> Result<&'static Bundled, Failure> {
    if let Some(bundled) = name.to_str().and_then(Bundled::named) {
        return Ok(bundled);
    }
    let written = name.display().to_string();
    let names: Vec<&str> = BUNDLED.iter().map(|one| one.name).collect();
    let failure = Failure::because(format!("no bundled scenario is called \"{written}\""));
    Err(match nearest(&written, names.iter().copied()) {
        Some(meant) => failure.remedy(format!("did you mean `{meant}`?")),
        None => failure.remedy(format!("there are {}", any_of(&names))),
    })
}

fn write_out(bundled: &Bundled, path: &Path, present: Present) -> Result<(), Failure> {
    let mut options = std::fs::OpenOptions::new();
    options.write(true);
    match present {
        Present::Kept => options.create_new(true),
        Present::Replaced => options.create(true).truncate(true),
    };
    let written = options
        .open(path)
        .and_then(|mut file| file.write_all(bundled.text.as_bytes()));
    written.map_err(|error| {
        if error.kind() == io::ErrorKind::AlreadyExists {
            Failure::because(format!("{} is there already", path.display()))
                .remedy("name another file, or replace it with --force")
        } else {
            Failure::unwritable(path, &error)
        }
    })
}
