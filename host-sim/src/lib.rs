//! The command `hysteron`: what a person types, and what the screen shows.
//!
//! Files, threads, the terminal and the emulated chip's process are here, and nowhere below.

pub mod chip;
pub mod cli;
pub mod command;
pub mod console;
pub mod disk;
pub mod exit;
pub mod failure;
pub mod terminal;
