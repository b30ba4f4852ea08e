//! A recording of a probe: lines of time and temperature, or time and resistance.
//!
//! ```text
//! lines -> columns (from the heading, or as told) -> moment, value -> reading
//! ```
//!
//! Read line by line, so that a year of seconds needs no more memory than a
//! minute. Separated by commas, semicolons or tabs; where they are no commas, a
//! decimal comma is understood. Blank lines and lines that begin with `#` are
//! passed over.

mod cells;
mod columns;
mod moment;
mod value;

use std::io::{BufRead, Read};

use hysteron_logic::time::Duration;

use crate::scenario::quantity_text::duration_text;
use crate::source_text::{Problem, Rejected, SourceText};
use cells::Line;
pub use columns::ColumnChoice;
use columns::Columns;
use moment::Clock;
pub use value::{Value, ValueUnit};

/// How a recording is to be understood, as far as a person says.
#[derive(Debug, Clone)]
pub struct Reading {
    /// The column of times.
    pub time: Option<ColumnChoice>,
    /// The column of values.
    pub value: Option<ColumnChoice>,
    /// Unit of the values.
    pub unit: Option<ValueUnit>,
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

/// One reading of the probe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Time since the first reading.
    pub at: Duration,
    /// What was read.
    pub value: Value,
}

/// A recording being read.
#[derive(Debug)]
pub struct Recording<R> {
    name: String,
    lines: R,
    line: usize,
    reading: Reading,
    columns: Columns,
    clock: Option<Clock>,
    /// The first row, where it was needed to tell what the columns hold.
    pending: Option<String>,
    latest: Duration,
    left_out: u64,
}

/// A line longer than this holds no reading.
const LONGEST_LINE: u64 = 1 << 16;
/// Recordings longer than this are not replayed.
const LONGEST: Duration = Duration::from_hours(10 * 366 * 24);

impl<R: BufRead> Recording<R> {
    /// Begins to read; messages call the recording `name`.
    ///
    /// # Errors
    /// When there is no reading in it, or its columns cannot be told.
    pub fn open(name: impl Into<String>, lines: R, reading: Reading) -> Result<Self, Rejected> {
        let mut recording = Self {
            name: name.into(),
            lines,
            line: 0,
            reading,
            columns: Columns::default(),
            clock: None,
            pending: None,
            latest: Duration::ZERO,
            left_out: 0,
        };
        let Some(first) = recording.next_line()? else {
            return Err(recording.empty());
        };
        let line = Line::new(&first);
        match Columns::told_by(&line, &recording.reading) {
            Ok(columns) => recording.columns = columns,
            Err(problem) => return Err(recording.rejected(&first, problem)),
        }
        if !recording.columns.are_headed() {
            recording.pending = Some(first);
        }
        Ok(recording)
    }

    /// The next reading.
    ///
    /// # Errors
    /// When the line cannot be understood, does not come after the one before,
    /// or comes so late that the value before cannot have held.
    pub fn next_row(&mut self) -> Result<Option<Row>, Rejected> {
        loop {
            let text = match self.pending.take() {
                Some(text) => text,
                None => match self.next_line()? {
                    Some(text) => text,
                    None if self.clock.is_none() => return Err(self.empty()),
                    None => return Ok(None),
                },
            };
            match (self.row(&Line::new(&text)), self.reading.unreadable) {
                (Ok(row), _) => return Ok(Some(row)),
                (Err(_), Unreadable::LeftOut) => self.left_out += 1,
                (Err(problem), Unreadable::Refused) => {
                    return Err(self.rejected(&text, problem));
                }
            }
        }
    }

    /// Lines left out so far.
    #[must_use]
    pub const fn left_out(&self) -> u64 {
        self.left_out
    }

    /// A moment as the recording itself would write it; without a date where it has none.
    #[must_use]
    pub fn moment_text(&self, at: Duration) -> String {
        self.clock
            .as_ref()
            .map_or_else(String::new, |clock| clock.text(at))
    }

    fn row(&mut self, line: &Line<'_>) -> Result<Row, Problem> {
        let (time, value) = self.columns.cells_of(line)?;
        let value = self
            .columns
            .unit()
            .value_of(value.text, line.has_decimal_comma())
            .map_err(|misread| line.problem(&value, misread))?;
        let (clock, at) = match &self.clock {
            None => {
                let clock =
                    Clock::set_by(time.text).map_err(|misread| line.problem(&time, misread))?;
                (Some(clock), Duration::ZERO)
            }
            Some(clock) => {
                let at = clock
                    .read(time.text)
                    .map_err(|misread| line.problem(&time, misread))?;
                if at <= self.latest {
                    let what = if at == self.latest {
                        "the same time twice"
                    } else {
                        "the time goes back"
                    };
                    return Err(Problem::at(time.place.clone(), what)
                        .expected(format!("after {}", clock.text(self.latest)))
                        .remedy("put the lines in the order of time, or leave this one out"));
                }
                (None, at)
            }
        };
        self.check_gap(at, &time)?;
        if let Some(clock) = clock {
            self.clock = Some(clock);
        }
        self.latest = at;
        Ok(Row { at, value })
    }

    fn check_gap(&self, at: Duration, time: &cells::Cell<'_>) -> Result<(), Problem> {
        let gap = at.less(self.latest);
        if gap > self.reading.longest_gap {
            return Err(Problem::at(
                time.place.clone(),
                format!("nothing was recorded for {}", duration_text(gap)),
            )
            .expected(format!(
                "at most {} after the line before",
                duration_text(self.reading.longest_gap)
            ))
            .remedy(
                "let the value before hold for longer with --longest-gap, or split the recording",
            ));
        }
        if at > LONGEST {
            return Err(Problem::at(time.place.clone(), "the recording is too long")
                .expected("at most ten years after the first line"));
        }
        Ok(())
    }

    /// The next line that says something, without its end.
    fn next_line(&mut self) -> Result<Option<String>, Rejected> {
        loop {
            let mut bytes = Vec::new();
            let mut limited = self.lines.by_ref().take(LONGEST_LINE);
            if let Err(error) = limited.read_until(b'\n', &mut bytes) {
                return Err(SourceText::unreadable(self.name.clone(), &error));
            }
            if bytes.is_empty() {
                return Ok(None);
            }
            self.line += 1;
            if bytes.len() as u64 == LONGEST_LINE {
                let problem = Problem::at(
                    0..0,
                    format!("the line is longer than {} KiB", LONGEST_LINE >> 10),
                )
                .remedy("write a time and a value in each line, and end it with a line feed");
                return Err(self.rejected("", problem));
            }
            if self.line == 1 && bytes.starts_with("\u{feff}".as_bytes()) {
                bytes.drain(..3);
            }
            match String::from_utf8(bytes) {
                Ok(text) => {
                    let text = text.trim_end_matches(['\n', '\r']);
                    if !(text.trim().is_empty() || text.starts_with('#')) {
                        return Ok(Some(text.to_owned()));
                    }
                }
                Err(error) => {
                    let start = error.utf8_error().valid_up_to();
                    let text = String::from_utf8_lossy(error.as_bytes()).into_owned();
                    let end = start + char::REPLACEMENT_CHARACTER.len_utf8();
                    let problem = Problem::at(start..end, "the line is not UTF-8 text")
                        .expected("this byte belongs to no character")
                        .remedy("save the recording as UTF-8 (a \"°\" in another encoding is a frequent cause)");
                    return Err(self.rejected(&text, problem));
                }
            }
        }
    }

    fn rejected(&self, text: &str, problem: Problem) -> Rejected {
        SourceText::excerpt(&*self.name, self.line, text).rejected(vec![problem])
    }

    fn empty(&self) -> Rejected {
        let problem = Problem::in_general("there is no reading in the recording")
            .remedy("give lines of time and temperature, or of time and resistance");
        SourceText::excerpt(&*self.name, 1, "").rejected(vec![problem])
    }
}
