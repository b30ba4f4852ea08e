//! `hysteron check`: is it wired right?

use std::path::{Path, PathBuf};

use clap::Args;

use super::Perform;
use super::installation_input::{read, text};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use hysteron_diagnosis::check::{Finding, Severity, as_text, check};

/// Checks the wiring of installations before power is put on.
#[derive(Debug, Clone, Args)]
#[command(after_help = "\
Examples:
  hysteron check compressor-208
  hysteron check my-cooler.toml

Exit codes (of many installations, the worst):
  0  nothing worse than a warning
  1  at least one danger or error
  2  the input is wrong, or a file cannot be read")]
pub struct CheckArguments {
    /// Installation files, names of bundled installations, or `-` for standard input
    #[arg(required = true, value_name = "INSTALLATION")]
    installations: Vec<PathBuf>,
}

impl Perform for CheckArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        let mut worst = Exit::Holds;
        for word in &self.installations {
            worst = worst.worse(match checked(word, console) {
                Ok(exit) => exit,
                Err(failure) => {
                    console.complain(&failure);
                    Exit::WrongInput
                }
            });
        }
        Ok(worst)
    }
}

fn checked(word: &Path, console: &mut Console<'_>) -> Result<Exit, Failure> {
    let source = text(word)?;
    let installation = read(&source)?;
    let findings = check(&installation);
    console.say(as_text(&installation, &source, &findings).trim_end());
    Ok(exit_of(&findings))
}

fn exit_of(findings: &[Finding]) -> Exit {
    let fails = findings.iter().any(|finding| match finding.severity {
        Severity::Danger | Severity::Error => true,
        Severity::Warning | Severity::Note => false,
    });
    if fails { Exit::Fails } else { Exit::Holds }
}
