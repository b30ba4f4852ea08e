//! Temperatures and plain numbers as people read them, in the scale that the settings ask for.

use hysteron_logic::settings::Scale;
use hysteron_logic::units::{Difference, Temperature};

use crate::scenario::expectation::Observable;

/// Writes temperatures in one scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Degrees(Scale);

impl Degrees {
    /// For this scale.
    #[must_use]
    pub const fn of(scale: Scale) -> Self {
        Self(scale)
    }

    /// The symbol of the scale.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self.0 {
            Scale::Celsius => "°C",
            Scale::Fahrenheit => "°F",
        }
    }

    /// A point in this scale, from °C.
    #[must_use]
    pub fn from_celsius(self, celsius: f64) -> f64 {
        match self.0 {
            Scale::Celsius => celsius,
            Scale::Fahrenheit => celsius.mul_add(1.8, 32.0),
        }
    }

    /// A measured temperature, given in °C: always one decimal.
    #[must_use]
    pub fn measured(self, celsius: f64) -> String {
        format!("{} {}", fixed(self.from_celsius(celsius), 1), self.symbol())
    }

    /// A temperature that somebody chose.
    #[must_use]
    pub fn chosen(self, temperature: Temperature) -> String {
        self.limit(f64::from(temperature.millicelsius()) / 1e3)
    }

    /// A limit that somebody chose, given in °C: no more decimals than it needs.
    #[must_use]
    pub fn limit(self, celsius: f64) -> String {
        format!(
            "{} {}",
            trimmed(self.from_celsius(celsius), 2),
            self.symbol()
        )
    }

    /// A distance between two temperatures, in K or in degrees Fahrenheit.
    #[must_use]
    pub fn difference(self, difference: Difference) -> String {
        let kelvin = f64::from(difference.millikelvin()) / 1e3;
        match self.0 {
            Scale::Celsius => format!("{} K", trimmed(kelvin, 2)),
            Scale::Fahrenheit => format!("{} °F", trimmed(kelvin * 1.8, 2)),
        }
    }

    /// The unit in which values of `observable` are shown.
    #[must_use]
    pub fn unit(self, observable: Observable) -> &'static str {
        match observable.unit() {
            "°C" => self.symbol(),
            other => other,
        }
    }

    /// A value of `observable` as it is shown, from its own unit.
    #[must_use]
    pub fn shown(self, observable: Observable, value: f64) -> f64 {
        match observable.unit() {
            "°C" => self.from_celsius(value),
            _ => value,
        }
    }

    /// A measured value with its unit.
    #[must_use]
    pub fn reading(self, observable: Observable, value: f64) -> String {
        let decimals = match observable.unit() {
            "°C" => 1,
            _ => 0,
        };
        format!(
            "{} {}",
            fixed(self.shown(observable, value), decimals),
            self.unit(observable)
        )
    }
}

/// A number with exactly so many decimals and a true minus sign; never "−0".
#[must_use]
pub fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(size) if size.chars().all(|c| matches!(c, '0' | '.')) => size.to_owned(),
        Some(size) => format!("\u{2212}{size}"),
        None => text,
    }
}

/// A number with at most so many decimals.
#[must_use]
pub fn trimmed(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A share from 0 to 1 in per cent.
#[must_use]
pub fn percent(share: f64) -> String {
    format!("{} %", trimmed(share * 100.0, 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_scales_tell_the_same_temperature() {
        let (celsius, fahrenheit) = (Degrees::of(Scale::Celsius), Degrees::of(Scale::Fahrenheit));
        // FDA Food Code 2022, 3-501.16(A)(2): "5ºC (41ºF)".
        assert_eq!(celsius.limit(5.0), "5 °C");
        assert_eq!(fahrenheit.limit(5.0), "41 °F");
        assert_eq!(celsius.measured(-0.04), "0.0 °C");
        assert_eq!(celsius.measured(-18.0), "\u{2212}18.0 °C");
        let two_kelvin = Difference::from_millikelvin(2_000);
        assert_eq!(celsius.difference(two_kelvin), "2 K");
        assert_eq!(fahrenheit.difference(two_kelvin), "3.6 °F");
    }
}
