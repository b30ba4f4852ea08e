//! The quantities of a scenario as rows speak of them: each with its unit, its range, and how it
//! may be written.

use hysteron_logic::time::Duration;
use hysteron_logic::units::{Difference, Temperature};
use toml::Spanned;

use super::quantity_text::{
    read_difference, read_duration, read_in_unit, read_moment, read_temperature,
};
use super::unit::{Dimension, Unit};
use hysteron_source::entry::{Formed, Reads};
use hysteron_source::form::Form;
use hysteron_source::item::Item;

/// A number as [`super::quantity_text`] reads it, as a regular expression.
const NUMBER: &str = r"[0-9]+\.?[0-9]*|\.[0-9]+";

/// A quantity in one unit, which may be written in any unit of the same dimension.
#[derive(Debug, Clone, Copy)]
pub struct Measure {
    /// The unit it is read into, such as "kg"; "" for a share.
    pub unit: &'static str,
    /// One that would be read.
    pub example: &'static str,
    /// The least and the most, as a person writes them.
    pub range: Option<(&'static str, &'static str)>,
}

impl Formed for Measure {
    fn form(&self) -> Form {
        let range = self
            .range
            .map(|(least, most)| (least.to_owned(), most.to_owned()));
        measured(self.unit, self.example, range)
    }
}

/// A quantity that is read into the unit of this symbol.
pub fn written_in(symbol: &str, example: &str) -> Form {
    measured(symbol, example, None)
}

fn measured(symbol: &str, example: &str, range: Option<(String, String)>) -> Form {
    let Some(unit) = Unit::all_written(symbol).next() else {
        // What is measured in no unit cannot be written.
        return Form::Words(Vec::new());
    };
    Form::Quantity {
        what: unit.dimension.name(),
        pattern: one_number(unit.dimension),
        example: example.to_owned(),
        range,
    }
}

impl Measure {
    /// The number, if it lies in the range; messages add what else may stand there.
    pub fn within(&self, item: &Item<'_>, number: Spanned<f64>, or_else: &str) -> Option<f64> {
        let Some((least, most)) = self.range else {
            return Some(number.into_inner());
        };
        let bound = |text| read_in_unit(text, self.unit).unwrap_or(f64::NAN);
        let expected = format!("{least} to {most}{or_else}");
        item.within(number, bound(least)..=bound(most), &expected)
    }
}

impl Reads for Measure {
    type Value = f64;

    fn read(&self, item: &Item<'_>) -> Option<f64> {
        let number = item.read(self.example, |text| read_in_unit(text, self.unit))?;
        self.within(item, number, "")
    }
}

/// A length of time.
#[derive(Debug, Clone, Copy)]
pub struct Time {
    /// One that would be read.
    pub example: &'static str,
}

impl Formed for Time {
    fn form(&self) -> Form {
        quantity(Dimension::Time, self.example)
    }
}

impl Reads for Time {
    type Value = Duration;

    fn read(&self, item: &Item<'_>) -> Option<Duration> {
        item.read(self.example, read_duration)
            .map(Spanned::into_inner)
    }
}

/// A moment, as the time since the scenario began.
#[derive(Debug, Clone, Copy)]
pub struct Moment {
    /// One that would be read.
    pub example: &'static str,
}

impl Formed for Moment {
    fn form(&self) -> Form {
        let clock = r"0*(?:1?[0-9]|2[0-4])\s*:\s*0*[1-5]?[0-9](?:\s*:\s*0*[1-5]?[0-9])?";
        Form::Quantity {
            what: "a moment",
            pattern: format!(
                r"^\s*(?:(?:day\s*0*[1-9][0-9]*\s+)?{clock}|{})\s*$",
                lengths_of_time()
            ),
            example: self.example.to_owned(),
            range: None,
        }
    }
}

impl Reads for Moment {
    type Value = Duration;

    fn read(&self, item: &Item<'_>) -> Option<Duration> {
        item.read(self.example, read_moment)
            .map(Spanned::into_inner)
    }
}

/// A point on the temperature scale, to the thousandth of a degree.
#[derive(Debug, Clone, Copy)]
pub struct Point {
    /// One that would be read.
    pub example: &'static str,
}

impl Formed for Point {
    fn form(&self) -> Form {
        quantity(Dimension::Temperature, self.example)
    }
}

impl Reads for Point {
    type Value = Temperature;

    fn read(&self, item: &Item<'_>) -> Option<Temperature> {
        item.read(self.example, read_temperature)
            .map(Spanned::into_inner)
    }
}

/// A distance between two temperatures, to the thousandth of a kelvin.
#[derive(Debug, Clone, Copy)]
pub struct Distance {
    /// One that would be read.
    pub example: &'static str,
}

impl Formed for Distance {
    fn form(&self) -> Form {
        quantity(Dimension::TemperatureDifference, self.example)
    }
}

impl Reads for Distance {
    type Value = Difference;

    fn read(&self, item: &Item<'_>) -> Option<Difference> {
        item.read(self.example, read_difference)
            .map(Spanned::into_inner)
    }
}

/// A quantity of this dimension, written in any of its units.
pub fn quantity(dimension: Dimension, example: &str) -> Form {
    Form::Quantity {
        what: dimension.name(),
        pattern: match dimension {
            Dimension::Time => format!(r"^\s*{}\s*$", lengths_of_time()),
            Dimension::Temperature
            | Dimension::TemperatureDifference
            | Dimension::Power
            | Dimension::Voltage
            | Dimension::Resistance
            | Dimension::Mass
            | Dimension::Length
            | Dimension::Area
            | Dimension::Volume
            | Dimension::AirFlow
            | Dimension::Flow
            | Dimension::Speed
            | Dimension::Pressure
            | Dimension::HeatCapacity
            | Dimension::SpecificHeat
            | Dimension::Conductance
            | Dimension::Transmittance
            | Dimension::TemperatureRate
            | Dimension::Share => one_number(dimension),
        },
        example: example.to_owned(),
        range: None,
    }
}

/// A single number with a unit of this dimension.
fn one_number(dimension: Dimension) -> String {
    let units = dimension.pattern();
    format!(r"^\s*[-+−]?(?:{NUMBER})\s*{units}\s*$")
}

/// One length of time after the other: "1 h 30 min".
fn lengths_of_time() -> String {
    let units = Dimension::Time.pattern();
    format!(r"(?:\+?(?:{NUMBER})\s*{units}\s*)+")
}
