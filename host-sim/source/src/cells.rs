//! One line of a table of somebody else's, cut into cells: recordings, weather files.

use std::ops::Range;

use crate::text::{Misread, Problem};

/// What stands between cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Separator {
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// The tabulator.
    Tab,
}

impl Separator {
    /// Those that are seldom part of a cell first.
    pub const ALL: [Self; 3] = [Self::Tab, Self::Semicolon, Self::Comma];

    /// The first of all that this line has; a comma where it has none.
    #[must_use]
    pub fn of(text: &str) -> Self {
        let mut all = Self::ALL.into_iter();
        all.find(|separator| text.contains(separator.character()))
            .unwrap_or(Self::Comma)
    }

    /// How it is written.
    #[must_use]
    pub const fn character(self) -> char {
        match self {
            Self::Comma => ',',
            Self::Semicolon => ';',
            Self::Tab => '\t',
        }
    }
}

/// A cell: its text without blanks and quotation marks around it, and its place in the line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cell<'l> {
    /// The text.
    pub text: &'l str,
    /// Where it stands in the line, in bytes.
    pub place: Range<usize>,
}

/// A line and what parts its cells.
#[derive(Debug, Clone, Copy)]
pub struct Line<'l> {
    text: &'l str,
    separator: Separator,
}

impl<'l> Line<'l> {
    /// A line whose cells are parted by `separator`.
    #[must_use]
    pub const fn new(text: &'l str, separator: Separator) -> Self {
        Self { text, separator }
    }

    /// All cells. Separators within double quotes do not count, and a line always ends where it
    /// ends, whether its quotes are balanced or not.
    pub fn cells(&self) -> impl Iterator<Item = Cell<'l>> {
        let text = self.text;
        let separator = self.separator.character();
        let mut from = Some(0);
        std::iter::from_fn(move || {
            let start = from?;
            let mut quoted = false;
            let end = text[start..].find(|c: char| {
                quoted ^= c == '"';
                c == separator && !quoted
            });
            from = end.map(|length| start + length + 1);
            let end = end.map_or(text.len(), |length| start + length);
            Some(trimmed(text, start..end))
        })
    }

    /// The cell at this place, from 0.
    #[must_use]
    pub fn cell(&self, place: usize) -> Option<Cell<'l>> {
        self.cells().nth(place)
    }

    /// The end of the line, where something is missing.
    #[must_use]
    pub fn end(&self) -> Range<usize> {
        self.text.len()..self.text.len()
    }

    /// What is wrong with the text of a place.
    #[must_use]
    pub fn problem(&self, place: Range<usize>, misread: Misread) -> Problem {
        let problem = Problem::at(place, misread.what).expected(misread.expected);
        match misread.remedy {
            Some(remedy) => problem.remedy(remedy),
            None => problem,
        }
    }
}

fn trimmed(text: &str, place: Range<usize>) -> Cell<'_> {
    let whole = &text[place.clone()];
    let around = |c: char| c.is_whitespace() || c == '"';
    let inner = whole.trim_matches(around);
    let start = place.start + (whole.len() - whole.trim_start_matches(around).len());
    if inner.is_empty() {
        return Cell { text: "", place };
    }
    Cell {
        text: inner,
        place: start..start + inner.len(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(line: &str) -> Vec<&str> {
        let line = Line::new(line, Separator::of(line));
        line.cells().map(|cell| cell.text).collect()
    }

    #[test]
    fn cells_are_parted_by_what_the_line_has() {
        assert_eq!(texts("0,4.5"), ["0", "4.5"]);
        assert_eq!(texts("0 ; 4,5;"), ["0", "4,5", ""]);
        assert_eq!(texts("\"time, s\",\"box °C\""), ["time, s", "box °C"]);
        assert_eq!(texts("0\t\"x"), ["0", "x"]);
        assert_eq!(texts(""), [""]);
        assert_eq!(texts("\"a,b"), ["a,b"]);
    }

    #[test]
    fn a_place_points_at_the_text_it_is_of() {
        for line in ["0, \"4.5\" ,°,", " ;; \"\" ;", "\"\"", "ä\tö\t"] {
            for cell in Line::new(line, Separator::of(line)).cells() {
                if !cell.text.is_empty() {
                    assert_eq!(&line[cell.place.clone()], cell.text);
                }
                assert!(line.get(cell.place).is_some(), "{line}");
            }
        }
    }
}
