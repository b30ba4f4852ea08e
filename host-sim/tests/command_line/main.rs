//! The command line from outside: what a person types, what comes back, what stands in files after.

mod files;
mod nonsense;
mod process;
mod recorded_commands;
