//! Every setting of the control: name, unit, range, defaults and what it does, in the degrees that
//! the reader wants.
use hysteron_bench::scenario::setting::{SETTINGS, Setting, Takes};
use hysteron_logic::field::{Field, Unit};
use hysteron_logic::settings::{Draft, Scale};
use hysteron_logic::time::Duration;
use hysteron_logic::units::{Difference, Temperature};

use super::page::{paragraph, title};
use crate::words::degrees::Degrees;
use crate::words::setting::value;
use hysteron_source::text::any_of;

/// The page, within so many columns.
#[must_use]
pub fn settings(scale: Scale, width: usize) -> String {
    let mut page = String::new();
    for setting in SETTINGS {
        let Some(field) = setting.field() else {
            let heading = format!("{}: true or false; else false", setting.key);
            page += &title(&heading, 2, width);
            page += &paragraph(setting.sentence(), 6, width);
            continue;
        };
        let about = field.about();
        let defaults =
            [Draft::COOLING, Draft::HEATING].map(|draft| value(field, &Draft { scale, ..draft }));
        let defaults = match defaults {
            // A control that is told nothing cools; the degrees of this page are not its own.
            _ if field == Field::Mode => "else cool".to_owned(),
            _ if field == Field::Scale => "else degrees Celsius".to_owned(),
            [Some(cool), Some(heat)] if cool == heat => format!("else {cool}"),
            [Some(cool), Some(heat)] => format!("else {cool} to cool, {heat} to heat"),
            [None, Some(heat)] => format!("else {heat}, to heat"),
            [Some(cool), None] => format!("else {cool}, to cool"),
            [None, None] => "used only beside another".to_owned(),
        };
        let heading = format!(
            "{}: {}; {defaults}",
            setting.key,
            takes(setting, field, scale)
        );
        page += &title(&heading, 2, width);
        page += &paragraph(about.sentence, 6, width);
        if !about.because.is_empty() {
            let because = format!("Why this range: {}", about.because);
            page += &paragraph(&because, 6, width);
        }
    }
    page
}

/// What may be written, with the range that the control accepts.
fn takes(setting: &Setting, field: Field, scale: Scale) -> String {
    let range = range(field, scale);
    match setting.takes {
        Takes::Word(words) => {
            let words: Vec<String> = words
                .iter()
                .map(|(word, _)| format!("\"{word}\""))
                .collect();
            any_of(&words.iter().map(String::as_str).collect::<Vec<_>>())
        }
        Takes::TimeOr(word, ..) | Takes::TemperatureOr(word, ..) | Takes::CountOr(word, _) => {
            format!("{range}, or \"{word}\"")
        }
        Takes::Curve(_) => "a published curve (`hysteron curve` knows them), or coefficients \
                            { a = …, b = …, c = … }"
            .to_owned(),
        Takes::Time(..)
        | Takes::Temperature(..)
        | Takes::Difference(..)
        | Takes::Resistance(..)
        | Takes::Confirmation(_) => range,
    }
}

/// From the lowest value to the highest, in the degrees of the reader.
fn range(field: Field, scale: Scale) -> String {
    let about = field.about();
    let degrees = Degrees::of(scale);
    let small = |value: i64| i32::try_from(value).unwrap_or(i32::MAX);
    let written = |value: i64| match about.unit {
        Unit::Choice | Unit::Count => value.to_string(),
        Unit::Temperature => degrees.chosen(Temperature::from_millicelsius(small(value))),
        Unit::Difference => degrees.difference(Difference::from_millikelvin(small(value))),
        Unit::Time => Duration::from_millis(value.unsigned_abs()).to_string(),
        Unit::Ohms => format!("{value} Ω"),
    };
    format!("{} to {}", written(about.lowest), written(about.highest))
}
