//! Where a command writes what a person asked for: a file, or standard output for `-`.

use std::ffi::OsString;
use std::fmt;
use std::path::PathBuf;

use super::standard_stream::STANDARD_STREAM;
use super::whole_file::{self, MissingFolders};
use crate::console::{Console, StandardOutput};
use crate::failure::Failure;

/// A file, or standard output.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Destination {
    /// Standard output.
    StandardOutput,
    /// A file; one of ours that is there already is replaced.
    File(PathBuf),
}

impl From<OsString> for Destination {
    fn from(word: OsString) -> Self {
        if word == STANDARD_STREAM || word == "/dev/stdout" {
            Self::StandardOutput
        } else {
            Self::File(word.into())
        }
    }
}

impl fmt::Display for Destination {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::StandardOutput => f.write_str("standard output"),
            Self::File(path) => path.display().fmt(f),
        }
    }
}

/// Who gets standard output where these are wanted.
///
/// # Errors
/// When more than one of them would go there.
pub fn standard_output<'d>(
    wanted: impl IntoIterator<Item = &'d Destination>,
) -> Result<StandardOutput, Failure> {
    let on_stdout = |to: &&Destination| **to == Destination::StandardOutput;
    match wanted.into_iter().filter(on_stdout).count() {
        0 => Ok(StandardOutput::Answer),
        1 => Ok(StandardOutput::Export),
        _ => Err(
            Failure::because("standard output (-) can take only one thing")
                .remedy("write the others to files"),
        ),
    }
}

impl Destination {
    /// Writes `content` there, and says so where it is a file.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub fn write(&self, content: &[u8], console: &mut Console<'_>) -> Result<(), Failure> {
        match self {
            Self::StandardOutput => console.write(content),
            Self::File(path) => {
                whole_file::write(path, content, MissingFolders::Refused)?;
                console.note(&format!("wrote {}", path.display()));
            }
        }
        Ok(())
    }
}
