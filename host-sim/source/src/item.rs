//! One entry of a TOML table, read as the kind of value that was wanted.
//!
//! Each reader answers `None` for a wrong entry, after noting what is wrong.

use std::ops::{Range, RangeInclusive};

use toml::Spanned;
use toml::de::DeValue;

use crate::text::{Misread, Problem, Problems, any_of, nearest};

/// One entry of a table.
#[derive(Debug, Clone)]
pub struct Item<'d> {
    pub(crate) key: &'static str,
    key_span: Range<usize>,
    pub(crate) value: &'d Spanned<DeValue<'d>>,
    pub(crate) problems: &'d Problems,
}

impl<'d> Item<'d> {
    /// The entry `value` under `key`, which stands at `key_span`.
    pub(crate) fn under(
        key: &'static str,
        key_span: Range<usize>,
        value: &'d Spanned<DeValue<'d>>,
        problems: &'d Problems,
    ) -> Self {
        Self {
            key,
            key_span,
            value,
            problems,
        }
    }

    /// Where the value stands.
    #[must_use]
    pub fn span(&self) -> Range<usize> {
        self.value.span()
    }

    /// Where the key stands.
    #[must_use]
    pub fn key_span(&self) -> Range<usize> {
        self.key_span.clone()
    }

    /// The key.
    #[must_use]
    pub fn key(&self) -> &'static str {
        self.key
    }

    /// What kind of value it is, as a person would say.
    fn kind(&self) -> &'static str {
        match self.value.get_ref() {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date or time without quotes",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        }
    }

    /// Whether the value is a text.
    #[must_use]
    pub fn is_text(&self) -> bool {
        self.value.get_ref().is_str()
    }

    /// Whether the value is this very text.
    #[must_use]
    pub fn is_word(&self, word: &str) -> bool {
        self.value.get_ref().as_str() == Some(word)
    }

    /// Notes that this entry is of the wrong kind.
    pub fn wrong_kind<T>(&self, expected: &str) -> Option<T> {
        self.problems.add(
            Problem::at(self.span(), format!("`{}` is {}", self.key, self.kind()))
                .expected(format!("expected {expected}")),
        );
        None
    }

    /// Notes what is wrong with this entry.
    pub fn refuse<T>(&self, misread: Misread) -> Option<T> {
        let mut problem = Problem::at(self.span(), format!("`{}`: {}", self.key, misread.what))
            .expected(format!("expected {}", misread.expected));
        if let Some(remedy) = misread.remedy {
            problem = problem.remedy(remedy);
        }
        self.problems.add(problem);
        None
    }

    /// A text as it stands.
    #[must_use]
    pub fn text(&self) -> Option<Spanned<String>> {
        match self.value.get_ref().as_str() {
            Some(text) => Some(Spanned::new(self.span(), text.to_owned())),
            None => self.wrong_kind("a text in quotes"),
        }
    }

    /// Notes a problem that has to do with this entry.
    pub fn note(&self, problem: Problem) {
        self.problems.add(problem);
    }

    /// The number, if it lies in the range, which messages show as `expected`.
    #[must_use]
    pub fn within(
        &self,
        number: Spanned<f64>,
        range: RangeInclusive<f64>,
        expected: &str,
    ) -> Option<f64> {
        if range.contains(number.get_ref()) {
            return Some(number.into_inner());
        }
        self.out_of_range(expected.to_owned())
    }

    /// A text that `read` makes sense of; `example` is one that it would.
    pub fn read<T>(
        &self,
        example: &str,
        read: impl FnOnce(&str) -> Result<T, Misread>,
    ) -> Option<Spanned<T>> {
        let Some(text) = self.value.get_ref().as_str() else {
            return self.wrong_kind(&format!("a text in quotes, such as \"{example}\""));
        };
        match read(text) {
            Ok(value) => Some(Spanned::new(self.span(), value)),
            Err(misread) => self.refuse(misread),
        }
    }

    /// One of the named choices.
    #[must_use]
    pub fn one_of<T: Copy>(&self, choices: &[(&'static str, T)]) -> Option<Spanned<T>> {
        let names: Vec<&str> = choices.iter().map(|(name, _)| *name).collect();
        let Some(text) = self.value.get_ref().as_str() else {
            return self.wrong_kind(&quoted(&names));
        };
        match choices.iter().find(|(name, _)| *name == text) {
            Some((_, value)) => Some(Spanned::new(self.span(), *value)),
            None => self.refuse(Misread {
                what: format!("\"{text}\" is none of the choices"),
                expected: quoted(&names),
                remedy: nearest(text, names.iter().copied())
                    .map(|meant| format!("did you mean \"{meant}\"?")),
            }),
        }
    }

    /// True or false.
    #[must_use]
    pub fn flag(&self) -> Option<Spanned<bool>> {
        match self.value.get_ref().as_bool() {
            Some(flag) => Some(Spanned::new(self.span(), flag)),
            None => self.wrong_kind("true or false, without quotes"),
        }
    }

    /// A number from `least` to `most`.
    #[must_use]
    pub fn number(&self, least: f64, most: f64) -> Option<Spanned<f64>> {
        let expected = format!("a number from {least} to {most}, without quotes");
        let number = self.finite(&expected)?;
        self.within(number, least..=most, &expected)
            .map(|value| Spanned::new(self.span(), value))
    }

    /// Any number but infinity; messages say what is `expected`.
    #[must_use]
    pub fn finite(&self, expected: &str) -> Option<Spanned<f64>> {
        let value = self.value.get_ref();
        let number: Option<f64> = if let Some(integer) = value.as_integer() {
            let whole = i64::from_str_radix(integer.as_str(), integer.radix());
            whole.ok().map(|whole| whole as f64)
        } else if let Some(float) = value.as_float() {
            float.as_str().parse().ok()
        } else {
            return self.wrong_kind(expected);
        };
        match number {
            Some(number) if number.is_finite() => Some(Spanned::new(self.span(), number)),
            Some(_) | None => self.out_of_range(expected.to_owned()),
        }
    }

    /// A whole number from `least` to `most`.
    #[must_use]
    pub fn whole(&self, least: i64, most: i64) -> Option<Spanned<i64>> {
        let expected = format!("a whole number from {least} to {most}, without quotes");
        let Some(integer) = self.value.get_ref().as_integer() else {
            return self.wrong_kind(&expected);
        };
        match i64::from_str_radix(integer.as_str(), integer.radix()) {
            Ok(whole) if (least..=most).contains(&whole) => Some(Spanned::new(self.span(), whole)),
            Ok(_) | Err(_) => self.out_of_range(expected),
        }
    }

    fn out_of_range<T>(&self, expected: String) -> Option<T> {
        self.refuse(Misread {
            what: "out of range".to_owned(),
            expected,
            remedy: None,
        })
    }

    /// The elements of a list, each under this entry's key.
    #[must_use]
    pub fn list(&self) -> Option<Vec<Self>> {
        let Some(elements) = self.value.get_ref().as_array() else {
            return self.wrong_kind("a list in square brackets");
        };
        Some(
            elements
                .iter()
                .map(|value| Self {
                    value,
                    ..self.clone()
                })
                .collect(),
        )
    }
}

fn quoted(names: &[&str]) -> String {
    let names: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
    any_of(&names.iter().map(String::as_str).collect::<Vec<_>>())
}
