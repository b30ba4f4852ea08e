//! `hysteron readings`: what a meter should show.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::Perform;
use super::installation_input::{read, text};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use hysteron_installation::readings::Readings;

/// Tells what a meter should show, in every situation that matters.
#[derive(Debug, Clone, Args)]
#[command(after_help = "\
Examples:
  hysteron readings compressor-208
  hysteron readings my-cooler.toml --format html > readings.html
  hysteron readings - --format csv < my-cooler.toml")]
pub struct ReadingsArguments {
    /// An installation file, the name of a bundled installation, or `-` for standard input
    #[arg(value_name = "INSTALLATION")]
    installation: PathBuf,

    /// How the table is written
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,
}

/// How the table is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For a terminal
    Text,
    /// Comma-separated values
    Csv,
    /// A page of its own
    Html,
}

impl Perform for ReadingsArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        let installation = read(&text(&self.installation)?)?;
        let readings = Readings::of(&installation);
        match self.format {
            Format::Text => console.say(&readings.as_text(&installation)),
            Format::Csv => console.write(readings.as_csv(&installation).as_bytes()),
            Format::Html => console.write(readings.as_html(&installation).as_bytes()),
        }
        Ok(Exit::Holds)
    }
}
