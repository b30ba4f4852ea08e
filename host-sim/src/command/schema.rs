//! `hysteron schema`: what a file may hold, for editors.

use clap::{Args, ValueEnum};

use super::Perform;
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use hysteron_source::form::Shape;
use hysteron_view::format::schema::schema;

/// Prints the JSON Schema of scenario or installation files, for editors
#[derive(Debug, Clone, Args)]
#[command(after_help = "\
An editor with a TOML language server then completes and explains entries and underlines mistakes \
while you write. Name the schema in the first line of a file:

  #:schema ./scenario.schema.json

Examples:
  hysteron schema scenario > scenario.schema.json
  hysteron schema installation > installation.schema.json")]
pub struct SchemaArguments {
    /// Which files
    #[arg(value_enum, value_name = "FORMAT")]
    of: Format,
}

/// A format of the files that people write.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// Scenario files
    Scenario,
    /// Installation files
    Installation,
}

impl Format {
    fn shape(self) -> Shape {
        match self {
            Self::Scenario => hysteron_bench::scenario::file::shape(),
            Self::Installation => hysteron_installation::file::shape(),
        }
    }
}

impl Perform for SchemaArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        let schema = format!("{:#}\n", schema(&self.of.shape()));
        console.write(schema.as_bytes());
        Ok(Exit::Holds)
    }
}
