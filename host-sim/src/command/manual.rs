//! `hysteron manual`: pages for `man`.

use std::path::PathBuf;

use clap::Args;
use clap_mangen::Man;

use super::destination::Destination;
use super::files::{Files, ForceArgument};
use super::own_file::OwnFile;
use super::whole_file::{self, MissingFolders};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;

/// Writes the manual's pages, in the format of `man`
#[derive(Debug, Clone, Args)]
#[command(after_help = "\
Examples:
  hysteron manual | man -l -
  hysteron manual run | man -l -
  hysteron manual --folder ~/.local/share/man/man1")]
pub struct ManualArguments {
    /// The command whose page is written; the page of the program itself where none is named
    command: Option<String>,

    /// Writes every page into this folder instead
    #[arg(long, value_name = "FOLDER", conflicts_with = "command")]
    folder: Option<PathBuf>,

    #[command(flatten)]
    force: ForceArgument,
}

impl ManualArguments {
    /// Writes the pages of `program`, the whole command line.
    ///
    /// # Errors
    /// When there is no such command, or a page cannot be written.
    pub fn perform(
        self,
        program: clap::Command,
        console: &mut Console<'_>,
    ) -> Result<Exit, Failure> {
        let program = by_whole_names(program);
        if let Some(folder) = self.folder {
            let commands = program.get_subcommands().cloned();
            let pages: Vec<(PathBuf, clap::Command)> = commands
                .chain([program.clone()])
                .map(|command| {
                    (
                        folder.join(Man::new(command.clone()).get_filename()),
                        command,
                    )
                })
                .collect();
            let mut files = Files::default();
            let places: Vec<Destination> = pages
                .iter()
                .map(|(page, _)| Destination::File(page.clone()))
                .collect();
            files.written("--folder", &places, OwnFile::ManualPage);
            files.check(self.force.into())?;
            for (page, command) in pages {
                whole_file::write(&page, &rendered(command), MissingFolders::Refused)?;
            }
            console.note(&format!("wrote the pages into {}", folder.display()));
            return Ok(Exit::Holds);
        }
        let page = match self.command {
            None => program,
            Some(name) => match program.find_subcommand(&name) {
                Some(command) => command.clone(),
                None => {
                    let failure = Failure::because(format!("there is no command \"{name}\""));
                    return Err(failure.remedy("see `hysteron --help` for all commands"));
                }
            },
        };
        console.write(&rendered(page));
        Ok(Exit::Holds)
    }
}

/// The program with its commands, each called by its whole name.
fn by_whole_names(program: clap::Command) -> clap::Command {
    let mut program = program.flatten_help(false);
    program.build();
    program.mut_subcommands(|command| {
        let name = format!("hysteron-{}", command.get_name());
        command.display_name(name)
    })
}

fn rendered(command: clap::Command) -> Vec<u8> {
    let mut page = Vec::new();
    match Man::new(command).render(&mut page) {
        Ok(()) => page,
        Err(error) => unreachable!("memory takes every page: {error}"),
    }
}
