//! `hysteron completions`: what a shell needs to complete words.

use clap::{Args, CommandFactory};
use clap_complete::Shell;

use super::Perform;
use crate::cli::Arguments;
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;

/// Writes the completions for a shell to standard output
#[derive(Debug, Clone, Args)]
#[command(after_help = "\
Examples:
  hysteron completions bash > ~/.local/share/bash-completion/completions/hysteron
  hysteron completions fish > ~/.config/fish/completions/hysteron.fish")]
pub struct CompletionsArguments {
    /// The shell
    shell: Shell,
}

impl Perform for CompletionsArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        let mut script = Vec::new();
        let mut command = Arguments::command();
        clap_complete::generate(self.shell, &mut command, "hysteron", &mut script);
        console.write(&script);
        Ok(Exit::Holds)
    }
}
