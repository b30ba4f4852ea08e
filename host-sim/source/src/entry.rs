//! Entries of a table, a row for each: key, what the value may be, whether it has to be there, what
//! it means.
//!
//! The reader reads by these rows, and [`Row`]s for schema and help are made of them, so that none
//! can say what another does not.

use crate::form::{Form, Presence, Row};
use crate::item::Item;
use crate::table::{Document, Table};
use crate::text::{Problems, SourceText};

/// What a value may be, for people.
pub trait Formed {
    /// What it may be.
    fn form(&self) -> Form;
}

/// What a value may be, for the reader.
pub trait Reads: Formed {
    /// What it is read into.
    type Value;

    /// The value; none after noting what is wrong with it.
    fn read(&self, item: &Item<'_>) -> Option<Self::Value>;
}

/// An entry that has to be there.
#[derive(Debug, Clone, Copy)]
pub struct Required<F> {
    /// Its key.
    pub key: &'static str,
    /// How it is written, as TOML; told where it is missing.
    pub example: &'static str,
    /// What it may be.
    pub form: F,
    /// What it means.
    pub sentence: &'static str,
}

/// An entry that stands for something where it is left out.
#[derive(Debug, Clone, Copy)]
pub struct Defaulted<F> {
    /// Its key.
    pub key: &'static str,
    /// What it is where it is left out, as TOML.
    pub default: &'static str,
    /// What it may be.
    pub form: F,
    /// What it means.
    pub sentence: &'static str,
}

/// An entry that may be left out.
#[derive(Debug, Clone, Copy)]
pub struct Optional<F> {
    /// Its key.
    pub key: &'static str,
    /// What it may be.
    pub form: F,
    /// What it means, and what follows where it is left out.
    pub sentence: &'static str,
}

impl<F> Required<F> {
    /// The entry as it stands; its absence is noted.
    pub fn item<'d>(&self, table: &mut Table<'d>) -> Option<Item<'d>> {
        table.required(self.key, self.example)
    }
}

impl<F: Reads> Required<F> {
    /// The value; none after noting that it is missing or what is wrong with it.
    pub fn read(&self, table: &mut Table<'_>) -> Option<F::Value> {
        self.item(table).and_then(|item| self.form.read(&item))
    }
}

impl<F: Formed> Required<F> {
    /// The same, described.
    pub fn row(&self) -> Row {
        row(
            self.key,
            &self.form,
            Presence::Required(self.example),
            self.sentence,
        )
    }
}

impl<F: Reads> Defaulted<F> {
    /// The value, or what it is where nothing is written; none after noting what is wrong with it.
    pub fn read(&self, table: &mut Table<'_>) -> Option<F::Value> {
        match table.optional(self.key) {
            Some(item) => self.form.read(&item),
            None => self.otherwise(),
        }
    }

    /// What it is where nothing is written; none only where this row itself is wrong.
    #[must_use]
    pub fn otherwise(&self) -> Option<F::Value> {
        let text = format!("{} = {}", self.key, self.default);
        let source = SourceText::new(self.key, text).ok()?;
        let document = Document::parse(&source).ok()?;
        let problems = Problems::default();
        let item = document.table(&problems).optional(self.key)?;
        self.form.read(&item)
    }
}

impl<F: Formed> Defaulted<F> {
    /// The same, described.
    pub fn row(&self) -> Row {
        row(
            self.key,
            &self.form,
            Presence::Defaults(self.default.into()),
            self.sentence,
        )
    }
}

impl<F> Optional<F> {
    /// The entry as it stands, if it is there.
    pub fn item<'d>(&self, table: &mut Table<'d>) -> Option<Item<'d>> {
        table.optional(self.key)
    }
}

impl<F: Reads> Optional<F> {
    /// The value, if one is written; none after noting what is wrong with it.
    pub fn read(&self, table: &mut Table<'_>) -> Option<Option<F::Value>> {
        self.item(table)
            .map_or(Some(None), |item| self.form.read(&item).map(Some))
    }
}

impl<F: Formed> Optional<F> {
    /// The same, described.
    pub fn row(&self) -> Row {
        row(self.key, &self.form, Presence::Optional, self.sentence)
    }
}

fn row(key: &'static str, form: &impl Formed, presence: Presence, sentence: &str) -> Row {
    Row {
        key,
        form: form.form(),
        presence,
        sentence: sentence.to_owned(),
    }
}

/// Any text.
#[derive(Debug, Clone, Copy)]
pub struct Text;

impl Formed for Text {
    fn form(&self) -> Form {
        Form::Text
    }
}

impl Reads for Text {
    type Value = String;

    fn read(&self, item: &Item<'_>) -> Option<String> {
        item.text().map(toml::Spanned::into_inner)
    }
}

/// True or false.
#[derive(Debug, Clone, Copy)]
pub struct Flag;

impl Formed for Flag {
    fn form(&self) -> Form {
        Form::Flag
    }
}

impl Reads for Flag {
    type Value = bool;

    fn read(&self, item: &Item<'_>) -> Option<bool> {
        item.flag().map(toml::Spanned::into_inner)
    }
}

/// A number from one bound to the other, measured in the unit that the key names.
#[derive(Debug, Clone, Copy)]
pub struct Number {
    /// The least.
    pub least: f64,
    /// The most.
    pub most: f64,
}

impl Formed for Number {
    fn form(&self) -> Form {
        Form::Number {
            least: self.least,
            most: self.most,
            unit: "",
        }
    }
}

impl Reads for Number {
    type Value = f64;

    fn read(&self, item: &Item<'_>) -> Option<f64> {
        item.number(self.least, self.most)
            .map(toml::Spanned::into_inner)
    }
}

/// A whole number from one bound to the other.
#[derive(Debug, Clone, Copy)]
pub struct Whole {
    /// The least.
    pub least: i64,
    /// The most.
    pub most: i64,
}

impl Formed for Whole {
    fn form(&self) -> Form {
        Form::Whole {
            least: self.least,
            most: self.most,
        }
    }
}

impl Reads for Whole {
    type Value = i64;

    fn read(&self, item: &Item<'_>) -> Option<i64> {
        item.whole(self.least, self.most)
            .map(toml::Spanned::into_inner)
    }
}

/// One of a few words, each with what it means.
#[derive(Debug, Clone, Copy)]
pub struct Words<T: 'static>(pub &'static [(&'static str, T)]);

impl<T> Formed for Words<T> {
    fn form(&self) -> Form {
        Form::Words(self.0.iter().map(|(word, _)| *word).collect())
    }
}

impl<T: Copy> Reads for Words<T> {
    type Value = T;

    fn read(&self, item: &Item<'_>) -> Option<T> {
        item.one_of(self.0).map(toml::Spanned::into_inner)
    }
}

/// A form that has one entry only: how it is read, and how it is described.
#[derive(Debug, Clone, Copy)]
pub struct Own<T> {
    /// The value; none after noting what is wrong with it.
    pub read: fn(&Item<'_>) -> Option<T>,
    /// What it may be.
    pub form: fn() -> Form,
}

impl<T> Formed for Own<T> {
    fn form(&self) -> Form {
        (self.form)()
    }
}

impl<T> Reads for Own<T> {
    type Value = T;

    fn read(&self, item: &Item<'_>) -> Option<T> {
        (self.read)(item)
    }
}

/// What its owner reads by itself, described.
#[derive(Debug, Clone, Copy)]
pub struct Described(pub fn() -> Form);

impl Formed for Described {
    fn form(&self) -> Form {
        (self.0)()
    }
}
