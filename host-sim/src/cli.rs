//! The command line: what a person may write, and from there to the command.
//!
//! ```text
//! words -> arguments -> checked plan of action -> doing -> exit code
//! ```
//!
//! This file holds the first step; each file of [`crate::command`] holds the
//! others for one command, with the arguments that only it knows.

use std::ffi::OsString;
use std::process::ExitCode;

use clap::{CommandFactory, Parser, Subcommand};

use crate::command::{
    Perform, check, completions, curve, demonstration, draw, find_fault, help, list, manual,
    readings, replay, run, schema, sweep,
};
use crate::console::Console;
use crate::exit::Exit;

/// Puts a temperature control into a simulated installation and shows what it does.
#[derive(Debug, Clone, Parser)]
#[command(name = "hysteron", version, max_term_width = 100)]
#[command(long_about = ABOUT, after_help = SEE_HELP, after_long_help = after_long_help())]
#[command(subcommand_negates_reqs = true, disable_help_subcommand = true)]
pub struct Arguments {
    /// Without one, the demonstration runs.
    #[command(subcommand)]
    command: Option<Command>,
}

const ABOUT: &str = "\
Puts a temperature control into a simulated installation and shows what it does.

One thermistor, one setpoint, one relay: the control decides once a second whether the relay may \
close, and says why. A scenario is one file: the installation, the control's settings, what \
happens when, and what is expected. It is a test, too: the exit code tells whether every \
expectation holds.

Without a command the demonstration runs: a day of a fish counter's cold room. Its report \
is written to ./hysteron-report.html.

Results go to standard output, progress and errors to standard error. There are no colours where \
the output is not a terminal or NO_COLOR is set.";

const SEE_HELP: &str = "`hysteron --help` tells more and has examples, \
as has `hysteron COMMAND --help`.";

fn after_long_help() -> String {
    format!(
        "\
Examples:
  hysteron                                  the demonstration
  hysteron list                             what is bundled
  hysteron list --copy works-canteen        a scenario of your own to edit
  hysteron run works-canteen.toml           is everything as expected?
  hysteron run tests/ --junit results/      every scenario in a folder, for a build server

Exit codes:
{}

Software is no safety device. Mains voltage kills, capacitors hold charge, and refrigerant work \
needs a licence; keep an independent high-limit or pressure cut-out in the circuit, and follow \
local codes.",
        Exit::ABOUT
    )
}

#[derive(Debug, Clone, Subcommand)]
enum Command {
    Run(run::RunArguments),
    List(list::ListArguments),
    Sweep(sweep::SweepArguments),
    Replay(replay::ReplayArguments),
    Check(check::CheckArguments),
    Readings(readings::ReadingsArguments),
    FindFault(find_fault::FindFaultArguments),
    Draw(draw::DrawArguments),
    Curve(curve::CurveArguments),
    Schema(schema::SchemaArguments),
    Help(help::HelpArguments),
    Completions(completions::CompletionsArguments),
    Manual(manual::ManualArguments),
}

/// Does what the process was asked to do.
#[must_use]
pub fn main() -> ExitCode {
    perform(std::env::args_os(), &mut Console::of_process()).into()
}

/// Does what `words` ask for; the first is the program's name.
pub fn perform<'w>(words: impl IntoIterator<Item = OsString>, console: &mut Console<'w>) -> Exit {
    let arguments = match Arguments::try_parse_from(words) {
        Ok(arguments) => arguments,
        Err(message) => return tell(&message, console),
    };
    let done = match arguments.command {
        None => demonstration::Demonstration.perform(console),
        Some(Command::Check(arguments)) => arguments.perform(console),
        Some(Command::Draw(arguments)) => arguments.perform(console),
        Some(Command::FindFault(arguments)) => arguments.perform(console),
        Some(Command::List(arguments)) => arguments.perform(console),
        Some(Command::Readings(arguments)) => arguments.perform(console),
        Some(Command::Run(arguments)) => arguments.perform(console),
        Some(Command::Sweep(arguments)) => arguments.perform(console),
        Some(Command::Replay(arguments)) => arguments.perform(console),
        Some(Command::Curve(arguments)) => arguments.perform(console),
        Some(Command::Schema(arguments)) => arguments.perform(console),
        Some(Command::Completions(arguments)) => {
            Ok(arguments.perform(Arguments::command(), console))
        }
        Some(Command::Help(arguments)) => arguments.perform(Arguments::command(), console),
        Some(Command::Manual(arguments)) => arguments.perform(Arguments::command(), console),
    };
    let exit = done.unwrap_or_else(|failure| {
        console.complain(&failure);
        Exit::WrongInput
    });
    match console.standing() {
        Ok(()) => exit,
        Err(failure) => {
            console.complain(&failure);
            Exit::WrongInput
        }
    }
}

/// Tells what the reader of arguments has to say: help, the version, or a mistake.
fn tell(message: &clap::Error, console: &mut Console<'_>) -> Exit {
    let text = message.render().ansi().to_string();
    if message.use_stderr() {
        console.note(text.trim_end());
        Exit::WrongInput
    } else {
        console.say(&text);
        Exit::Holds
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_contradicts_itself_nowhere() {
        Arguments::command().debug_assert();
    }
}
