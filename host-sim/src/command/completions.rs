//! `hysteron completions`: what a shell needs to complete words.

use clap::Args;
use clap_complete::Shell;

use crate::console::Console;
use crate::exit::Exit;

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

impl CompletionsArguments {
    /// Writes them for `program`, the whole command line.
    pub fn perform(self, mut program: clap::Command, console: &mut Console<'_>) -> Exit {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut program, "hysteron", &mut script);
        console.write(&script);
        Exit::Holds
    }
}
