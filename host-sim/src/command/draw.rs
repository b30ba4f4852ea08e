//! `hysteron draw`: the ladder diagram of an installation.

use std::path::PathBuf;

use clap::Args;

use super::Perform;
use super::destination::Destination;
use super::files::{Files, ForceArgument};
use super::installation_input::{note_read, read, text};
use super::own_file::OwnFile;
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use hysteron_installation::Installation;
use hysteron_installation::readings::{Situation, situations};
use hysteron_source::text::{any_of, nearest};
use hysteron_view::drawing;

/// Draws an installation as a ladder diagram (SVG).
#[derive(Debug, Clone, Args)]
#[command(after_help = "\
Examples:
  hysteron draw compressor-208 --out compressor.svg
  hysteron draw my-cooler.toml --state calling --out calling.svg
  hysteron draw my-cooler.toml --state \"breaker open\" > open.svg

A state is named as in the table of `hysteron readings`: satisfied, calling, probe fault, dead \
board, or a fuse or breaker of the installation that is open. With a state, wires with voltage and \
with current are drawn so, contacts stand as they do then, and every load tells how it fares.")]
pub struct DrawArguments {
    /// An installation file, the name of a bundled installation, or `-` for standard input
    #[arg(value_name = "INSTALLATION")]
    installation: PathBuf,

    /// Draws it with power, in this state [default: without power, contacts as they rest]
    #[arg(long, value_name = "STATE")]
    state: Option<String>,

    /// Where the drawing goes (`-`: standard output)
    #[arg(long, value_name = "FILE", default_value = "-")]
    out: Destination,

    #[command(flatten)]
    force: ForceArgument,
}

impl Perform for DrawArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        let mut files = Files::default();
        note_read(&self.installation, &mut files);
        files.written("--out", [&self.out], OwnFile::Drawing);
        files.check(self.force.into())?;
        let installation = read(&text(&self.installation)?)?;
        let drawn = match &self.state {
            None => drawing::svg(&installation, None),
            Some(state) => drawing::in_situation(&installation, &situation(&installation, state)?),
        };
        self.out.write(drawn.as_bytes(), console)?;
        Ok(Exit::Holds)
    }
}

/// The situation of that name; a dash does for a blank.
fn situation(installation: &Installation, name: &str) -> Result<Situation, Failure> {
    let all = situations(installation);
    let plain = |name: &str| name.trim().to_lowercase().replace('-', " ");
    if let Some(found) = all.iter().find(|one| plain(&one.name) == plain(name)) {
        return Ok(found.clone());
    }
    let names: Vec<&str> = all.iter().map(|one| one.name.as_str()).collect();
    let failure = Failure::because(format!("the installation has no state \"{name}\""));
    Err(match nearest(name, names.iter().copied()) {
        Some(meant) => failure.remedy(format!("did you mean \"{meant}\"?")),
        None => failure.remedy(format!("there are {}", any_of(&names))),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use hysteron_installation::arrangements::ARRANGEMENTS;
    use hysteron_installation::file;
    use hysteron_source::text::SourceText;

    #[test]
    fn every_state_of_everything_that_ships_can_be_drawn_and_says_which_it_is() {
        let mut drawn = 0;
        for arrangement in ARRANGEMENTS {
            let source = SourceText::new(arrangement.name, arrangement.text).expect("short");
            let installation = file::read(&source).expect("sound");
            for one in situations(&installation) {
                let named = situation(&installation, &one.name.replace(' ', "-"));
                let svg = drawing::in_situation(&installation, &named.expect("a state"));
                assert!(
                    svg.contains(&format!(">{}", capitalised(&one.name))),
                    "{}",
                    one.name
                );
                drawn += 1;
            }
        }
        assert!(drawn >= 5 * ARRANGEMENTS.len(), "{drawn}");
    }

    fn capitalised(name: &str) -> String {
        let (first, rest) = name.split_at(1);
        format!("{}{rest}", first.to_uppercase())
    }

    #[test]
    fn a_state_that_is_not_there_is_told_with_the_nearest() {
        let source = SourceText::new("one", ARRANGEMENTS[0].text).expect("short");
        let installation = file::read(&source).expect("sound");
        let nearly = situation(&installation, "caling").expect_err("misspelt");
        assert!(nearly.to_string().contains("did you mean \"calling\"?"));
        let far = situation(&installation, "upside down").expect_err("unknown");
        assert!(far.to_string().contains("satisfied, calling"), "{far}");
    }
}
