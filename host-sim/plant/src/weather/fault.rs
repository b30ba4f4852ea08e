//! What is wrong with a weather file, and where.

use std::fmt;

use super::format::{LARGEST_FILE_BYTES, WeatherFormat};

/// A place in a weather file that is not as its format has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    line: usize,
    column: usize,
    found: String,
    expected: String,
}

impl Fault {
    pub(super) fn new(line: usize, column: usize, found: &str, expected: String) -> Self {
        Self {
            line,
            column,
            found: excerpt(found),
            expected,
        }
    }

    /// Line in the file, from 1.
    pub fn line(&self) -> usize {
        self.line
    }

    /// Column in the line, from 1.
    pub fn column(&self) -> usize {
        self.column
    }
}

/// The beginning of a text, fit for one line of a message.
fn excerpt(text: &str) -> String {
    const LONGEST: usize = 32;
    let mut shown: String = text.chars().take(LONGEST).collect();
    if text.chars().nth(LONGEST).is_some() {
        shown.push('…');
    }
    shown.escape_debug().to_string()
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.found.is_empty() {
            write!(f, "found nothing; expected {}", self.expected)
        } else {
            write!(f, "found \"{}\"; expected {}", self.found, self.expected)
        }
    }
}

/// Why a weather file can't be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WeatherError {
    /// The file can't be opened or read.
    Unreadable {
        /// Name of the file.
        file: String,
        /// What the system said.
        reason: String,
    },
    /// The file is larger than [`LARGEST_FILE_BYTES`].
    TooLarge {
        /// Name of the file.
        file: String,
    },
    /// The content is in none of the formats.
    UnknownFormat {
        /// Name of the file.
        file: String,
    },
    /// The content breaks the rules of its format.
    Content {
        /// Name of the file.
        file: String,
        /// The format that the file was seen to be in.
        format: WeatherFormat,
        /// Where and what.
        fault: Fault,
    },
}

impl fmt::Display for WeatherError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable { file, reason } => {
                write!(
                    f,
                    "{file}: the weather file can't be read: {reason}; check the path, and that the file may be read"
                )
            }
            Self::TooLarge { file } => write!(
                f,
                "{file}: the weather file is larger than {} MB; expected one year of hourly EPW, TMY3 or TMY2, about 2 MB",
                LARGEST_FILE_BYTES / 1_000_000
            ),
            Self::UnknownFormat { file } => write!(
                f,
                "{file}:1:1: not a known weather format; expected EPW (line 1 begins with LOCATION), \
                 TMY3 (line 2 begins with Date (MM/DD/YYYY)) or TMY2 (line 1 holds station, N or S latitude and E or W longitude)"
            ),
            Self::Content {
                file,
                format,
                fault,
            } => write!(
                f,
                "{file}:{}:{}: {fault} ({})",
                fault.line,
                fault.column,
                format.name()
            ),
        }
    }
}

impl std::error::Error for WeatherError {}
