//! The bench: a control in a simulated installation.

pub mod bench;
pub mod board;
pub mod chip;
pub mod chip_board;
pub mod cli;
pub mod command;
pub mod conditions;
pub mod console;
pub mod exit;
pub mod failure;
pub mod installation;
pub mod plant;
pub mod probe_model;
pub mod recorder;
pub mod report;
pub mod runs;
pub mod scenario;
pub mod source_item;
pub mod source_table;
pub mod source_text;
pub mod supply;
pub mod thermistor;
pub mod trace;
pub mod verdict;
pub mod words;
