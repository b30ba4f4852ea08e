//! How a person says that a recording is to be read.

use std::fmt;
use std::str::FromStr;

use hysteron_logic::time::Duration;

use super::time_format::TimeFormat;
use super::value::ValueUnit;
use hysteron_source::cells::Cell;

/// How a recording is to be understood, as far as a person says.
#[derive(Debug, Clone)]
pub struct RecordingFormat {
    /// The column of times.
    pub time: Option<ColumnChoice>,
    /// The column of values.
    pub value: Option<ColumnChoice>,
    /// Unit of the values.
    pub unit: Option<ValueUnit>,
    /// How times are written.
    pub time_format: Option<TimeFormat>,
    /// The longest time for which a value may hold.
    pub longest_gap: Duration,
    /// What becomes of lines that cannot be understood.
    pub unreadable: Unreadable,
}

/// What becomes of a line that cannot be understood.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unreadable {
    /// It is a mistake.
    Refused,
    /// It is left out, and counted.
    LeftOut,
}

/// A column as a person names it: by its heading, or by its number from 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ColumnChoice {
    /// Its heading.
    Headed(String),
    /// Its number, from 1.
    Number(usize),
}

impl FromStr for ColumnChoice {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text.trim().parse::<usize>() {
            Ok(0) => Err("columns are counted from 1".to_owned()),
            Ok(number) => Ok(Self::Number(number)),
            Err(_) if text.trim().is_empty() => Err("a heading, or a number from 1".to_owned()),
            Err(_) => Ok(Self::Headed(text.trim().to_owned())),
        }
    }
}

impl fmt::Display for ColumnChoice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Headed(heading) => f.write_str(heading),
            Self::Number(number) => number.fmt(f),
        }
    }
}

impl ColumnChoice {
    /// Its place among these headings, from 0; a number has one even where there are none.
    pub(super) fn place_in(&self, headings: &[Cell<'_>]) -> Option<usize> {
        match self {
            Self::Number(number) => number.checked_sub(1),
            Self::Headed(name) => headings.iter().position(|cell| cell.text == name),
        }
    }
}
