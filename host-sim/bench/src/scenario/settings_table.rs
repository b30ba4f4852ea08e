//! Tables of settings: `[control]`, those of a variant, those of a change.

use std::fmt;
use std::ops::Range;
use std::sync::Arc;

use hysteron_logic::coefficients::Coefficients;
use hysteron_logic::curve::{Curve, CustomCurve};
use hysteron_logic::field::Field;
use hysteron_logic::settings::Confirmation;

use super::dormant::Drafted;
use super::measure::{Distance, Point, Time, quantity};
use super::quantity_text::{read_difference, read_duration, read_quantity, read_temperature};
use super::setting::{SETTINGS, Setting, Takes};
use super::unit::Dimension;
use hysteron_source::entry::{Flag, Formed, Number, Required, Words};
use hysteron_source::form::{Form, Presence, Row, Shape};
use hysteron_source::item::Item;
use hysteron_source::text::Misread;

/// What a table says of the settings.
#[derive(Debug, Clone, PartialEq)]
pub struct SettingsTable {
    /// Each setting that it gives.
    pub given: Vec<Given>,
    /// Where the table stands.
    pub place: Range<usize>,
}

/// A setting that a table gives.
#[derive(Clone)]
pub struct Given {
    /// Which.
    pub setting: &'static Setting,
    /// Where its value stands.
    pub place: Range<usize>,
    change: Change,
}

/// What a value does to a draft.
type Change = Arc<dyn Fn(&mut Drafted) + Send + Sync>;

impl Given {
    /// Gives the setting its value, whether or not anything uses it yet.
    pub fn give(&self, to: &mut Drafted) {
        (self.change)(to);
    }
}

impl fmt::Debug for Given {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Given")
            .field("key", &self.setting.key)
            .field("place", &self.place)
            .finish_non_exhaustive()
    }
}

impl PartialEq for Given {
    /// The same setting at the same place, and the same comes of it.
    fn eq(&self, other: &Self) -> bool {
        let given = |one: &Self| {
            let mut drafted = Drafted::default();
            one.give(&mut drafted);
            drafted
        };
        self.setting.key == other.setting.key
            && self.place == other.place
            && given(self) == given(other)
    }
}

impl SettingsTable {
    /// Reads a table, which messages call `name`.
    pub fn read(item: &Item<'_>, name: &str) -> Option<Self> {
        let mut table = item.table(name)?;
        let mut given = Vec::new();
        for setting in SETTINGS {
            if let Some(item) = table.optional(setting.key)
                && let Some(change) = setting.takes.read(&item)
            {
                given.push(Given {
                    setting,
                    place: item.span(),
                    change,
                });
            }
        }
        let place = table.span();
        table.finish();
        Some(Self { given, place })
    }

    /// What such a table may hold.
    pub fn shape() -> Shape {
        let rows = SETTINGS.iter().map(|setting| Row {
            key: setting.key,
            form: setting.form(),
            presence: Presence::Optional,
            sentence: setting.sentence().to_owned(),
        });
        Shape::of(
            "settings",
            "Settings of the control; what is left out stays as it is.",
            rows.collect(),
        )
    }
}

fn change(with: impl Fn(&mut Drafted) + Send + Sync + 'static) -> Change {
    Arc::new(with)
}

impl Takes {
    fn read(&'static self, item: &Item<'_>) -> Option<Change> {
        Some(match self {
            Self::Word(words) => {
                let give = item.one_of(words)?.into_inner();
                change(give)
            }
            Self::Time(example, give) => {
                let time = read(item, example, read_duration)?;
                change(move |to| give(to, time))
            }
            Self::TimeOr(word, example, give) => {
                let time = word_or(item, word, example, read_duration)?;
                change(move |to| give(to, time))
            }
            Self::Temperature(example, give) => {
                let point = read(item, example, read_temperature)?;
                change(move |to| give(to, point))
            }
            Self::TemperatureOr(word, example, give) => {
                let point = word_or(item, word, example, read_temperature)?;
                change(move |to| give(to, point))
            }
            Self::Difference(example, give) => {
                let difference = read(item, example, read_difference)?;
                change(move |to| give(to, difference))
            }
            Self::CountOr(word, give) => {
                let number = count_or(item, word)?;
                change(move |to| give(to, number))
            }
            Self::Resistance(example, give) => {
                let ohms = read(item, example, |text| {
                    read_quantity(text, Dimension::Resistance)
                })?;
                let ohms = ohms.round() as u32;
                change(move |to| give(to, ohms))
            }
            Self::Curve(give) => {
                let curve = read_curve(item)?;
                change(move |to| give(to, curve))
            }
            Self::Confirmation(give) => {
                let confirmation = if item.flag()?.into_inner() {
                    Confirmation::Given
                } else {
                    Confirmation::NotGiven
                };
                change(move |to| give(to, confirmation))
            }
        })
    }
}

impl Setting {
    fn form(&self) -> Form {
        let or = |word, form| Form::Either(vec![Form::Words(vec![word]), form]);
        match self.takes {
            Takes::Word(words) => Words(words).form(),
            Takes::Time(example, _) => Time { example }.form(),
            Takes::TimeOr(word, example, _) => or(word, Time { example }.form()),
            Takes::Temperature(example, _) => Point { example }.form(),
            Takes::TemperatureOr(word, example, _) => or(word, Point { example }.form()),
            Takes::Difference(example, _) => Distance { example }.form(),
            Takes::CountOr(word, _) => {
                let about = self.field().map(Field::about);
                let (least, most) = about.map_or((0, 0), |about| (about.lowest, about.highest));
                or(word, Form::Whole { least, most })
            }
            Takes::Resistance(example, _) => quantity(Dimension::Resistance, example),
            Takes::Curve(_) => Form::Either(vec![
                Form::Words(Curve::NAMES.to_vec()),
                Form::Table(Shape::of(
                    "curve",
                    "Steinhart-Hart coefficients of an NTC thermistor in ohms and kelvins.",
                    COEFFICIENTS.iter().map(Required::row).collect(),
                )),
            ]),
            Takes::Confirmation(_) => Flag.form(),
        }
    }
}

fn read<T>(
    item: &Item<'_>,
    example: &str,
    reader: impl FnOnce(&str) -> Result<T, Misread>,
) -> Option<T> {
    item.read(example, reader).map(toml::Spanned::into_inner)
}

/// A quantity, or the word that switches it off.
fn word_or<T>(
    item: &Item<'_>,
    word: &str,
    example: &str,
    reader: impl FnOnce(&str) -> Result<T, Misread>,
) -> Option<Option<T>> {
    if item.is_word(word) {
        return Some(None);
    }
    read(item, example, |text| {
        reader(text).map_err(|misread| Misread {
            expected: format!("{}, or \"{word}\"", misread.expected),
            ..misread
        })
    })
    .map(Some)
}

/// A small number, or the word that switches it off; the control judges its range.
fn count_or(item: &Item<'_>, word: &str) -> Option<Option<u8>> {
    if item.is_word(word) {
        return Some(None);
    }
    if item.is_text() {
        return item.wrong_kind(&format!("a whole number without quotes, or \"{word}\""));
    }
    item.whole(0, 255)
        .and_then(|number| u8::try_from(number.into_inner()).ok())
        .map(Some)
}

const fn coefficient(key: &'static str, sentence: &'static str) -> Required<Number> {
    Required {
        key,
        example: "1.129241e-3",
        form: Number {
            least: -0.01,
            most: 0.01,
        },
        sentence,
    }
}

const COEFFICIENTS: [Required<Number>; 3] = [
    coefficient("a", "The constant of 1/T = a + b ln R + c (ln R)³."),
    coefficient("b", "The factor of ln R."),
    coefficient("c", "The factor of (ln R)³."),
];

/// A published curve by its name, or `{ a = …, b = …, c = … }`.
fn read_curve(item: &Item<'_>) -> Option<Curve> {
    if item.is_text() {
        let named: Vec<(&'static str, Curve)> = Curve::PUBLISHED
            .into_iter()
            .zip(Curve::NAMES)
            .map(|(curve, name)| (name, curve))
            .collect();
        return item.one_of(&named).map(toml::Spanned::into_inner);
    }
    let mut table = item.table("probe_curve")?;
    let [a, b, c] = COEFFICIENTS.map(|coefficient| {
        let number = coefficient.read(&mut table)?;
        Some((number * 1e15).round() as i64)
    });
    table.finish();
    match CustomCurve::new(Coefficients::new(a?, b?, c?)) {
        Ok(custom) => Some(Curve::Custom(custom)),
        Err(refused) => item.refuse(Misread {
            what: refused.to_string(),
            expected: "Steinhart-Hart coefficients of an NTC thermistor in ohms and kelvins"
                .to_owned(),
            remedy: None,
        }),
    }
}
