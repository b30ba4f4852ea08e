//! What may stand in a file, described: for schemas, for help, for whoever writes one.
//!
//! A [`Shape`] is a table, a [`Row`] one of its entries, a [`Form`] what the entry's value may be.
//! They are made of the same rows that the reader goes by: see [`crate::entry`].

use std::borrow::Cow;

/// What a value may be.
#[derive(Debug, Clone, PartialEq)]
pub enum Form {
    /// Any text.
    Text,
    /// A text on one line, of so many characters at most.
    Line {
        /// The most characters.
        longest: usize,
    },
    /// True or false.
    Flag,
    /// A number within these bounds.
    Number {
        /// The least.
        least: f64,
        /// The most.
        most: f64,
        /// What it is measured in; empty for a pure number.
        unit: &'static str,
    },
    /// A whole number within these bounds.
    Whole {
        /// The least.
        least: i64,
        /// The most.
        most: i64,
    },
    /// One of these whole numbers.
    OneOf(Vec<i64>),
    /// One of these words.
    Words(Vec<&'static str>),
    /// A text with a number and its unit, or a moment.
    Quantity {
        /// What is measured, in words: "a length of time".
        what: &'static str,
        /// How it may be written, as a regular expression (ECMA-262).
        pattern: String,
        /// One that would be read.
        example: String,
        /// The least and the most, as a person writes them, where they are the same for everybody.
        range: Option<(String, String)>,
    },
    /// Any of several.
    Either(Vec<Self>),
    /// A list.
    List {
        /// Of what.
        of: Box<Self>,
        /// The fewest elements.
        least: usize,
        /// The most elements.
        most: usize,
    },
    /// A table.
    Table(Shape),
    /// A list of tables, `[[...]]`, of so many at most.
    Tables {
        /// What each is.
        of: Shape,
        /// The most.
        most: usize,
    },
    /// A table of tables under names that are the writer's own to choose.
    Named(Shape),
}

impl Form {
    /// The table that stands there, or each of those that do; none where no table can.
    #[must_use]
    pub fn table(&self) -> Option<&Shape> {
        match self {
            Self::Table(shape) | Self::Tables { of: shape, .. } | Self::Named(shape) => Some(shape),
            Self::Either(forms) => forms.iter().find_map(Self::table),
            Self::Text
            | Self::Line { .. }
            | Self::Flag
            | Self::Number { .. }
            | Self::Whole { .. }
            | Self::OneOf(_)
            | Self::Words(_)
            | Self::Quantity { .. }
            | Self::List { .. } => None,
        }
    }

    /// The same quantity, from `least` to `most` as a person writes them.
    #[must_use]
    pub fn within(mut self, least: String, most: String) -> Self {
        if let Self::Quantity { range, .. } = &mut self {
            *range = Some((least, most));
        }
        self
    }
}

/// Whether an entry has to be there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Presence {
    /// It has; this shows how it is written, as TOML.
    Required(&'static str),
    /// It may be left out, and is then this, as TOML.
    Defaults(Cow<'static, str>),
    /// It may be left out, and its sentence says what that means.
    Optional,
}

/// One entry of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its key.
    pub key: &'static str,
    /// What its value may be.
    pub form: Form,
    /// Whether it has to be there.
    pub presence: Presence,
    /// What it means.
    pub sentence: String,
}

/// What a table may hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// What it is called; two of the same name are alike.
    pub name: &'static str,
    /// What it is for.
    pub sentence: &'static str,
    /// Entries that it may have in every case.
    pub rows: Vec<Row>,
    /// Exactly one of these applies, where there are any.
    pub cases: Vec<Case>,
}

/// What else a table may hold where one of its entries decides it.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// When it applies.
    pub when: When,
    /// What it means.
    pub sentence: String,
    /// Entries that it may have then.
    pub rows: Vec<Row>,
}

/// What decides what a table may hold.
#[derive(Debug, Clone, PartialEq)]
pub enum When {
    /// The entry under `key` is one of these words.
    Says {
        /// The key.
        key: &'static str,
        /// The words.
        words: Vec<&'static str>,
    },
    /// This entry is there, and none that another case wants.
    Has(Row),
}

impl Shape {
    /// A table with the same entries in every case.
    #[must_use]
    pub const fn of(name: &'static str, sentence: &'static str, rows: Vec<Row>) -> Self {
        Self {
            name,
            sentence,
            rows,
            cases: Vec::new(),
        }
    }
}

impl Case {
    /// What a table holds besides where its `key` says `word`.
    #[must_use]
    pub fn says(
        key: &'static str,
        word: &'static str,
        sentence: impl Into<String>,
        rows: Vec<Row>,
    ) -> Self {
        Self {
            when: When::Says {
                key,
                words: vec![word],
            },
            sentence: sentence.into(),
            rows,
        }
    }
    /// The words that it applies to.
    pub fn words(&self) -> impl Iterator<Item = &'static str> {
        match &self.when {
            When::Says { words, .. } => words.as_slice(),
            When::Has(_) => &[],
        }
        .iter()
        .copied()
    }
}
