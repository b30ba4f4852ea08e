//! A recording of a probe: lines of time and temperature, or time and resistance.
//!
//! ```text
//! bytes -> lines -> table -> columns (from the heading, or as told) -> moment, value -> reading
//! ```
//!
//! Read line by line, so that a year of seconds needs no more memory than a
//! minute; only what it takes to tell the day from the month is looked at ahead.
//! Separated by commas, semicolons or tabs. Blank lines and lines that begin with
//! `#` are passed over, and so is what a logger writes before the heading.

mod columns;
mod date;
mod date_order;
mod format;
mod heading;
mod lines;
mod moment;
mod time_column;
mod time_format;
mod value;
mod written_time;

use std::io::Read;
use std::ops::Range;

use columns::{Columns, Told};
use date_order::style_of;
pub use format::{ColumnChoice, RecordingFormat, Unreadable};
use heading::{cells_of, find_table, likely_heading};
use hysteron_logic::time::Duration;
use hysteron_source::cells::{Line, Separator};
use hysteron_source::text::{Problem, Rejected};
use lines::{Lines, NumberedLine};
use moment::{Clock, TimeStyle, duration};
pub use time_format::TimeFormat;
use value::value_of;
pub use value::{Value, ValueUnit};

/// One reading of the probe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Time since the first reading.
    pub at: Duration,
    /// What was read.
    pub value: Value,
}

/// A recording being read.
pub struct Recording<R> {
    lines: Lines<R>,
    reading: RecordingFormat,
    columns: Columns,
    /// How times are written, for the first of them, which sets the clock.
    style: TimeStyle,
    clock: Option<Clock>,
    latest: Duration,
    /// Time between the last two readings.
    rhythm: Duration,
    left_out: u64,
    notes: Vec<String>,
}

/// Recordings longer than this are not replayed.
const LONGEST: Duration = Duration::from_hours(10 * 366 * 24);

impl<R: Read> Recording<R> {
    /// Begins to read; messages call the recording `name`.
    ///
    /// # Errors
    /// When there is no reading in it, or its columns or dates cannot be told.
    pub fn open(
        name: impl Into<String>,
        bytes: R,
        reading: RecordingFormat,
    ) -> Result<Self, Rejected> {
        let mut lines = Lines::open(name.into(), bytes)?;
        let table = find_table(&mut lines, &reading);
        let heading = match table {
            Some(table) => table.heading,
            None => Some(likely_heading(&mut lines)),
        };
        let headed = heading.and_then(|place| lines.kept(place).cloned());
        let row = table.and_then(|table| lines.kept(table.row).cloned());
        let Some(telling) = headed.as_ref().or(row.as_ref()) else {
            lines.next()?;
            return Err(lines.empty());
        };
        let separator = table.map_or_else(|| Separator::of(&telling.text), |table| table.separator);
        let told = Told {
            line: Line::new(&telling.text, separator),
            headings: headed
                .as_ref()
                .map_or_else(Vec::new, |line| cells_of(&line.text, separator)),
            row: row
                .as_ref()
                .map_or_else(Vec::new, |line| cells_of(&line.text, separator)),
        };
        let columns = Columns::told_by(&told, separator, &reading)
            .map_err(|problem| lines.rejected(telling, problem))?;
        let style = match (&reading.time_format, table) {
            (Some(format), _) => TimeStyle::Told(format.clone()),
            (None, Some(table)) => style_of(&mut lines, table.row, &columns)?,
            (None, None) => TimeStyle::Standard,
        };
        let mut notes = Vec::new();
        let begins = match (heading, table) {
            (Some(heading), _) => heading,
            (None, table) => table.map_or(0, |table| table.row),
        };
        if begins > 0 {
            let what = heading.map_or("first reading", |_| "heading");
            notes.push(format!(
                "the {what} is line {}; what stands before it is passed over",
                telling.number
            ));
        }
        if let TimeStyle::Numeric(order) = style {
            notes.push(format!("dates are read as {}", order.words()));
        }
        for _ in 0..begins + usize::from(heading.is_some()) {
            lines.next()?;
        }
        Ok(Self {
            lines,
            reading,
            columns,
            style,
            clock: None,
            latest: Duration::ZERO,
            rhythm: Duration::ZERO,
            left_out: 0,
            notes,
        })
    }

    /// The next reading.
    ///
    /// # Errors
    /// When the line cannot be understood, does not come after the one before,
    /// or comes so late that the value before cannot have held.
    pub fn next_row(&mut self) -> Result<Option<Row>, Rejected> {
        loop {
            let Some(line) = self.lines.next()? else {
                return match self.clock {
                    None => Err(self.lines.empty()),
                    Some(_) => Ok(None),
                };
            };
            match (self.row(&line), self.reading.unreadable) {
                (Ok(row), _) => return Ok(Some(row)),
                (Err(_), Unreadable::LeftOut) => self.left_out += 1,
                (Err(problem), Unreadable::Refused) => {
                    return Err(self.lines.rejected(&line, problem));
                }
            }
        }
    }

    /// Lines left out so far.
    #[must_use]
    pub const fn left_out(&self) -> u64 {
        self.left_out
    }

    /// What a person should know of how the recording was read so far.
    pub fn notes(&self) -> impl Iterator<Item = &str> {
        let not_utf8 = self.lines.not_utf8();
        let letters = not_utf8.then_some("what is not UTF-8 is read as Windows-1252 (Latin-1)");
        letters
            .into_iter()
            .chain(self.notes.iter().map(String::as_str))
    }

    /// A moment as the recording itself would write it; without a date where it has none.
    #[must_use]
    pub fn moment_text(&self, at: Duration) -> String {
        self.clock
            .as_ref()
            .map_or_else(String::new, |clock| clock.text(at))
    }

    fn row(&mut self, numbered: &NumberedLine) -> Result<Row, Problem> {
        let line = Line::new(&numbered.text, self.columns.separator());
        let (time, place, cell) = self.columns.cells_of(&line)?;
        let value = value_of(cell.text, self.columns.unit(), self.columns.separator())
            .map_err(|misread| line.problem(cell.place, misread))?;
        let misread = |misread| line.problem(place.clone(), misread);
        let Some(clock) = &mut self.clock else {
            let clock = Clock::set_by(&time, self.style.clone()).map_err(misread)?;
            self.clock = Some(clock);
            return Ok(Row {
                at: Duration::ZERO,
                value,
            });
        };
        let shown = clock.read(&time).map_err(misread)?;
        let mut at = duration(shown);
        if at <= self.latest {
            let put_back = clock.put_back_by(&time, shown, self.latest, self.rhythm);
            let Some(truly) = put_back else {
                return Err(goes_back(at, self.latest, clock, place));
            };
            self.notes.push(format!(
                "in line {} the clock goes back by an hour: read as the end of summer time",
                numbered.number
            ));
            at = truly;
        }
        self.check_gap(at, place)?;
        self.rhythm = at.less(self.latest);
        self.latest = at;
        Ok(Row { at, value })
    }

    fn check_gap(&self, at: Duration, time: Range<usize>) -> Result<(), Problem> {
        let gap = at.less(self.latest);
        if gap > self.reading.longest_gap {
            return Err(Problem::at(
                time,
                format!("nothing was recorded for {}", gap),
            )
            .expected(format!(
                "at most {} after the line before",
                self.reading.longest_gap
            ))
            .remedy(
                "let the value before hold for longer with --longest-gap, or split the recording",
            ));
        }
        if at > LONGEST {
            return Err(Problem::at(time, "the recording is too long")
                .expected("at most ten years after the first line"));
        }
        Ok(())
    }
}

fn goes_back(at: Duration, latest: Duration, clock: &Clock, time: Range<usize>) -> Problem {
    let what = if at == latest {
        "the same time twice"
    } else {
        "the time goes back"
    };
    Problem::at(time, what)
        .expected(format!("after {}", clock.text(latest)))
        .remedy("put the lines in the order of time, or leave this one out")
}

#[cfg(test)]
mod tests;
