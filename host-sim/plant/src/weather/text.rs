//! Lines, cells of comma-separated lines and cells at fixed columns.
//!
//! Weather files are not always UTF-8: bytes that are no text are shown as such.

use hysteron_source::cells::{Line as CellsOfLine, Separator};

use super::fault::Fault;
use super::quantity::Quantity;

/// One line of a file, without its end.
#[derive(Clone, Copy)]
pub(super) struct Line<'a> {
    pub(super) number: usize,
    text: &'a str,
}

/// A part of a line with its place.
pub(super) struct Cell<'a> {
    line: Line<'a>,
    /// Where in the line it begins, bytes.
    start: usize,
    pub(super) text: &'a str,
}

/// The lines of a file, less empty ones at its end.
pub(super) fn lines(content: &str) -> Vec<Line<'_>> {
    let content = content.strip_prefix('\u{feff}').unwrap_or(content);
    let mut lines: Vec<_> = content
        .lines()
        .enumerate()
        .map(|(index, text)| Line {
            number: index + 1,
            text,
        })
        .collect();
    while lines.last().is_some_and(|line| line.text.trim().is_empty()) {
        lines.pop();
    }
    lines
}

impl<'a> Line<'a> {
    /// Whether the line begins with a word, in capitals or not.
    pub(super) fn begins_with(&self, word: &str) -> bool {
        self.text
            .get(..word.len())
            .is_some_and(|start| start.eq_ignore_ascii_case(word))
    }

    /// The byte at a column, from 1.
    pub(super) fn byte_at(&self, column: usize) -> Option<u8> {
        self.text.as_bytes().get(column.checked_sub(1)?).copied()
    }

    /// The cells between commas; commas within double quotes do not count.
    pub(super) fn cells(&self) -> Vec<Cell<'a>> {
        CellsOfLine::new(self.text, Separator::Comma)
            .cells()
            .map(|cell| Cell {
                line: *self,
                start: cell.place.start,
                text: cell.text,
            })
            .collect()
    }

    /// The cell between two columns, both included and counted from 1 as the manuals do.
    pub(super) fn columns(&self, first: usize, last: usize) -> Cell<'a> {
        let end = self.boundary(last);
        let start = self.boundary(first.saturating_sub(1).min(end));
        let written = &self.text[start..end];
        let text = written.trim();
        Cell {
            line: *self,
            start: start + (written.len() - written.trim_start().len()),
            text,
        }
    }

    /// The end of the last whole sign within so many bytes.
    fn boundary(&self, bytes: usize) -> usize {
        let within = 0..=bytes.min(self.text.len());
        within
            .rev()
            .find(|&at| self.text.is_char_boundary(at))
            .unwrap_or(0)
    }

    /// The whole line.
    pub(super) fn whole(&self) -> Cell<'a> {
        self.columns(1, self.text.len())
    }

    /// The empty cell after the last column, where something is absent.
    pub(super) fn end(&self) -> Cell<'a> {
        Cell {
            line: *self,
            start: self.text.len(),
            text: "",
        }
    }
}

impl Cell<'_> {
    /// This cell is not what it should be.
    pub(super) fn fault(&self, expected: impl Into<String>) -> Fault {
        let column = self.line.text[..self.start].chars().count() + 1;
        Fault::new(self.line.number, column, self.text, expected.into())
    }

    /// A number in the range of a quantity, in our unit.
    pub(super) fn number(&self, quantity: &Quantity) -> Result<f64, Fault> {
        self.text
            .parse()
            .ok()
            .filter(|written| quantity.range.contains(written))
            .map(|written: f64| written / quantity.written_per_unit)
            .ok_or_else(|| self.fault(quantity.description()))
    }

    /// The same, or `None` where it is missing: left empty, or the format's code.
    pub(super) fn measured(&self, quantity: &Quantity) -> Result<Option<f64>, Fault> {
        if self.text.is_empty()
            || (self.text.parse()).is_ok_and(|written| quantity.missing.covers(written))
        {
            return Ok(None);
        }
        self.number(quantity).map(Some)
    }

    /// A whole number of at most three digits, as a date has them.
    pub(super) fn date_part(&self, what: &str) -> Result<u8, Fault> {
        self.text.parse().map_err(|_| self.fault(what))
    }
}
