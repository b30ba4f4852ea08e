//! `hysteron list`: what is bundled, and a copy of it to edit.

use std::path::{Path, PathBuf};

use clap::Args;

use super::Perform;
use super::installation_input::read;
use super::scenario_input::ScenarioInput;
use super::standard_stream::STANDARD_STREAM;
use super::whole_file::{self, MissingFolders, Place};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use hysteron_bench::scenario::ambient_table::AmbientPlan;
use hysteron_bench::scenario::bundled::{BUNDLED, Bundled};
use hysteron_bench::scenario::overridden::Variants;
use hysteron_installation::arrangements::{ARRANGEMENTS, Arrangement, named as arrangement_named};
use hysteron_source::text::{SourceText, any_of, nearest};

/// Lists the bundled scenarios and installations, or copies one out to edit.
#[derive(Debug, Clone, Args)]
#[command(after_help = "\
Examples:
  hysteron list
  hysteron list --copy works-canteen
  hysteron list --copy works-canteen my-cooler.toml
  hysteron list --copy compressor-208 my-wiring.toml
  hysteron list --copy works-canteen - | less")]
pub struct ListArguments {
    /// Writes the bundled scenario or installation NAME out: to NAME.toml, or to the file or folder TO (`-`: standard output)
    #[arg(long, num_args = 1..=2, value_names = ["NAME", "TO"])]
    copy: Vec<PathBuf>,

    /// Lets --copy replace a file that is there already
    #[arg(long, requires = "copy")]
    force: bool,
}

/// What is to be done.
enum Listing {
    Titles,
    Copy { what: Copied, to: CopyTo },
}

/// What ships under a name.
#[derive(Clone, Copy)]
enum Copied {
    Scenario(&'static Bundled),
    Installation(Arrangement),
}

impl Copied {
    fn name(self) -> &'static str {
        match self {
            Self::Scenario(bundled) => bundled.name,
            Self::Installation(arrangement) => arrangement.name,
        }
    }

    fn text(self) -> &'static str {
        match self {
            Self::Scenario(bundled) => bundled.text,
            Self::Installation(arrangement) => arrangement.text,
        }
    }

    /// What to do with the file that it was copied to.
    fn advice(self, path: &Path) -> String {
        let path = path.display();
        match self {
            Self::Scenario(_) => format!("run it with: hysteron run {path}"),
            Self::Installation(_) => format!("check it with: hysteron check {path}"),
        }
    }
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
        let what = named(&name)?;
        let file = format!("{}.toml", what.name());
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
        Ok(Listing::Copy { what, to })
    }
}

impl Perform for ListArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        match self.checked()? {
            Listing::Titles => console.say(&titles()?),
            Listing::Copy { what, to } => match to {
                CopyTo::StandardOutput => console.write(what.text().as_bytes()),
                CopyTo::File(path, present) => {
                    write_out(what.text(), &path, present)?;
                    console.note(&format!("wrote {}; {}", path.display(), what.advice(&path)));
                }
            },
        }
        Ok(Exit::Holds)
    }
}

fn titles() -> Result<String, Failure> {
    let names = BUNDLED.iter().map(|one| one.name);
    let widest = names
        .chain(ARRANGEMENTS.iter().map(|one| one.name))
        .map(str::len)
        .max()
        .unwrap_or(0);
    let mut text = String::from("Scenarios, for run and sweep:\n");
    for bundled in BUNDLED {
        let plan = ScenarioInput::Bundled(bundled).plan_without_weather(&[], Variants::All)?;
        let needs = match plan.ambient {
            AmbientPlan::Weather { .. } => " (needs --weather FILE)",
            AmbientPlan::Constant { .. } | AmbientPlan::Daily { .. } => "",
        };
        text += &format!("  {:widest$}  {}{needs}\n", bundled.name, plan.title);
    }
    text += "\nInstallations, for check, readings, find-fault and draw:\n";
    for arrangement in ARRANGEMENTS {
        let installation = read(&SourceText::new(arrangement.name, arrangement.text)?)?;
        let title = installation.title();
        text += &format!("  {:widest$}  {title}\n", arrangement.name);
    }
    Ok(text)
}

fn named(name: &Path) -> Result<Copied, Failure> {
    let word = name.to_str();
    if let Some(bundled) = word.and_then(Bundled::named) {
        return Ok(Copied::Scenario(bundled));
    }
    if let Some(arrangement) = word.and_then(arrangement_named) {
        return Ok(Copied::Installation(arrangement));
    }
    let written = name.display().to_string();
    let names: Vec<&str> = BUNDLED
        .iter()
        .map(|one| one.name)
        .chain(ARRANGEMENTS.iter().map(|one| one.name))
        .collect();
    let failure = Failure::because(format!("nothing bundled is called \"{written}\""));
    Err(match nearest(&written, names.iter().copied()) {
        Some(meant) => failure.remedy(format!("did you mean `{meant}`?")),
        None => failure.remedy(format!("there are {}", any_of(&names))),
    })
}

fn write_out(text: &str, path: &Path, present: Present) -> Result<(), Failure> {
    if let Present::Kept = present
        && let Ok(Place::File(_)) = Place::of(path)
        && path.symlink_metadata().is_ok()
    {
        return Err(
            Failure::because(format!("{} is there already", path.display()))
                .remedy("name another file, or replace it with --force"),
        );
    }
    whole_file::write(path, text.as_bytes(), MissingFolders::Refused)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_scenario_hides_an_installation() {
        for arrangement in ARRANGEMENTS {
            assert!(Bundled::named(arrangement.name).is_none());
        }
    }
}
