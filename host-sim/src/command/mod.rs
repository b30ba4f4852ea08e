//! The commands, one a file: arguments, the plan of action they are checked into, and the doing.

mod assignment;
pub mod check;
pub mod completions;
pub mod curve;
pub mod demonstration;
mod destination;
pub mod draw;
mod exports;
mod failing_case;
mod files;
pub mod find_fault;
pub mod help;
mod installation_input;
mod jobs;
pub mod list;
pub mod manual;
mod own_file;
pub mod readings;
pub mod replay;
mod replay_answer;
pub mod run;
mod scenario_input;
mod scenario_run;
pub mod schema;
mod shell_word;
mod standard_stream;
pub mod sweep;
mod sweep_table;
mod text_table;
mod value_range;
mod whole_file;

use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;

/// Something a person can ask the program to do.
pub trait Perform {
    /// Checks what was asked, then does it.
    ///
    /// # Errors
    /// When nothing, or no more, can be done.
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure>;
}
