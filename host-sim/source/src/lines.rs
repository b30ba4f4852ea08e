//! A named text and the places in it.

use std::ops::Range;

/// A named text of at most [`SourceText::LIMIT_BYTES`] bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourceText {
    name: String,
    text: String,
    first_line: usize,
}

impl SourceText {
    /// A text from its first line on.
    pub(crate) const fn whole(name: String, text: String) -> Self {
        Self {
            name,
            text,
            first_line: 1,
        }
    }

    /// A part of a longer text, for a message about it; it begins at this line, from 1.
    #[must_use]
    pub fn excerpt(name: impl Into<String>, first_line: usize, text: impl Into<String>) -> Self {
        Self {
            first_line,
            ..Self::whole(name.into(), text.into())
        }
    }

    /// The name that messages give this text.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The text itself.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// How many signs stand before `offset`.
    pub(crate) fn signs_before(&self, offset: usize) -> usize {
        let before = self.text.char_indices().take_while(|(at, _)| *at < offset);
        before.count()
    }

    /// The text with a question mark for every sign that is not ASCII; its name as `written` puts it.
    pub(crate) fn in_ascii(&self, written: impl Fn(&str) -> String) -> Self {
        let plain = |sign: char| if sign.is_ascii() { sign } else { '?' };
        Self {
            name: written(&self.name),
            text: self.text.chars().map(plain).collect(),
            first_line: self.first_line,
        }
    }

    /// The number of the line that holds `offset`, from 1.
    #[must_use]
    pub fn line_at(&self, offset: usize) -> usize {
        self.line_around(offset).0
    }

    /// The line that holds `offset`: its number (from 1) and its range, without the line's end.
    fn line_around(&self, offset: usize) -> (usize, Range<usize>) {
        let bytes = self.text.as_bytes();
        let offset = offset.min(bytes.len());
        let before = &bytes[..offset];
        let start = before
            .iter()
            .rposition(|&b| b == b'\n')
            .map_or(0, |newline| newline + 1);
        let end = bytes[offset..]
            .iter()
            .position(|&b| b == b'\n')
            .map_or(bytes.len(), |length| offset + length);
        let number = self.first_line + before.iter().filter(|&&b| b == b'\n').count();
        (number, start..end)
    }

    /// The part of `span` that lies in its first line, cut back to whole characters.
    pub(crate) fn first_line_of(&self, span: &Range<usize>) -> (usize, Range<usize>, Range<usize>) {
        let whole = |mut offset: usize| {
            offset = offset.min(self.text.len());
            while !self.text.is_char_boundary(offset) {
                offset -= 1;
            }
            offset
        };
        let start = whole(span.start);
        let (number, line) = self.line_around(start);
        let end = whole(span.end).clamp(start, line.end.max(start));
        (number, line.clone(), start - line.start..end - line.start)
    }
}
