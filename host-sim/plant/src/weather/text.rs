//! Lines, cells of comma-separated lines and cells at fixed columns.
//!
//! Weather files are not always UTF-8 and their quotes not always balanced, so
//! a line always ends where it ends and bytes that are no text are shown as such.

use std::borrow::Cow;

use super::fault::Fault;
use super::quantity::Quantity;

const BYTE_ORDER_MARK: &[u8] = b"\xef\xbb\xbf";

/// One line of a file, without its end.
#[derive(Clone, Copy)]
pub(super) struct Line<'a> {
    pub(super) number: usize,
    bytes: &'a [u8],
}

/// A part of a line with its place.
pub(super) struct Cell<'a> {
    line: Line<'a>,
    /// Where in the line it begins, bytes.
    start: usize,
    pub(super) text: Cow<'a, str>,
}

/// The lines of a file, less empty ones at its end.
pub(super) fn lines(content: &[u8]) -> Vec<Line<'_>> {
    let content = content.strip_prefix(BYTE_ORDER_MARK).unwrap_or(content);
    let mut lines: Vec<_> = content
        .split(|&byte| byte == b'\n')
        .enumerate()
        .map(|(index, bytes)| Line {
            number: index + 1,
            bytes: bytes.strip_suffix(b"\r").unwrap_or(bytes),
        })
        .collect();
    while lines.last().is_some_and(Line::is_blank) {
        lines.pop();
    }
    lines
}

impl<'a> Line<'a> {
    fn is_blank(&self) -> bool {
        self.bytes.iter().all(u8::is_ascii_whitespace)
    }

    /// Whether the line begins with a word, in capitals or not.
    pub(super) fn begins_with(&self, word: &str) -> bool {
        self.bytes
            .get(..word.len())
            .is_some_and(|start| start.eq_ignore_ascii_case(word.as_bytes()))
    }

    /// The byte at a column, from 1.
    pub(super) fn byte_at(&self, column: usize) -> Option<u8> {
        self.bytes.get(column.checked_sub(1)?).copied()
    }

    /// The cells between commas; commas within double quotes do not count.
    pub(super) fn cells(&self) -> Vec<Cell<'a>> {
        let mut cells = Vec::new();
        let mut quoted = false;
        let mut start = 0;
        for (index, &byte) in self.bytes.iter().enumerate() {
            match byte {
                b'"' => quoted = !quoted,
                b',' if !quoted => {
                    cells.push(self.cell(start, index));
                    start = index + 1;
                }
                _ => {}
            }
        }
        cells.push(self.cell(start, self.bytes.len()));
        cells
    }

    /// The cell between two columns, both included and counted from 1 as the manuals do.
    pub(super) fn columns(&self, first: usize, last: usize) -> Cell<'a> {
        let end = last.min(self.bytes.len());
        self.cell(first.saturating_sub(1).min(end), end)
    }

    /// The whole line.
    pub(super) fn whole(&self) -> Cell<'a> {
        self.cell(0, self.bytes.len())
    }

    /// The empty cell after the last column, where something is absent.
    pub(super) fn end(&self) -> Cell<'a> {
        self.cell(self.bytes.len(), self.bytes.len())
    }

    fn cell(&self, start: usize, end: usize) -> Cell<'a> {
        let leading = self.bytes[start..end]
            .iter()
            .take_while(|byte| byte.is_ascii_whitespace())
            .count();
        let within = self.bytes[start..end].trim_ascii();
        let unquoted = within
            .strip_prefix(b"\"")
            .and_then(|rest| rest.strip_suffix(b"\""))
            .unwrap_or(within);
        Cell {
            line: *self,
            start: start + leading,
            text: String::from_utf8_lossy(unquoted),
        }
    }
}

impl Cell<'_> {
    /// This cell is not what it should be.
    pub(super) fn fault(&self, expected: impl Into<String>) -> Fault {
        let before = String::from_utf8_lossy(&self.line.bytes[..self.start]);
        let column = before.chars().count() + 1;
        Fault::new(self.line.number, column, &self.text, expected.into())
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
