//! Temperatures and plain numbers as people read them, in the scale that the settings ask for.

use hysteron_logic::settings::Scale;
use hysteron_logic::units::{Difference, Temperature};

use hysteron_bench::scenario::expectation::{Limits, Observable};

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
        let decimals = usual_decimals(observable);
        self.with_decimals(observable, value, decimals)
    }

    /// The same with digits enough to see on which side of these limits, given in the
    /// observable's own unit, it lies.
    #[must_use]
    pub fn reading_against(self, observable: Observable, value: f64, limits: Limits) -> String {
        let shown = self.shown(observable, value);
        let limits = limits.map(|limit| self.shown(observable, limit));
        let decimals = telling_decimals(shown, limits, usual_decimals(observable));
        self.with_decimals(observable, value, decimals)
    }

    fn with_decimals(self, observable: Observable, value: f64, decimals: usize) -> String {
        let shown = self.shown(observable, value);
        format!("{} {}", fixed(shown, decimals), self.unit(observable))
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

/// Decimals of a measured value that stands for itself.
fn usual_decimals(observable: Observable) -> usize {
    match observable.unit() {
        "°C" => 1,
        _ => 0,
    }
}

/// So many decimals, and no fewer than `fewest`, that the rounded value lies within the limits
/// if and only if the value does.
fn telling_decimals(value: f64, limits: Limits, fewest: usize) -> usize {
    const MOST: usize = 12;
    let tells = |decimals: &usize| {
        let rounded: f64 = format!("{value:.decimals$}").parse().unwrap_or(value);
        limits.hold(rounded) == limits.hold(value)
    };
    (fewest..MOST).find(tells).unwrap_or(MOST)
}

/// A share from 0 to 1 in per cent, with digits enough to see on which side of these limits it lies.
#[must_use]
pub fn percent_against(share: f64, limits: Limits) -> String {
    let (shown, limits) = (share * 100.0, limits.map(|limit| limit * 100.0));
    let decimals = telling_decimals(shown, limits, 1);
    format!("{} %", trimmed(shown, decimals))
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

    /// "At most 5 °C, highest 5.0 °C" would be no reason to fail.
    #[test]
    fn what_is_just_beyond_a_limit_is_told_with_digits_enough() {
        let air = Observable::Plant(hysteron_plant::Quantity::Air);
        let at_most = |most| Limits::new(None, Some(most)).expect("sensible");
        let celsius = |value| Degrees::of(Scale::Celsius).reading_against(air, value, at_most(5.0));
        assert_eq!(celsius(5.04), "5.04 °C");
        assert_eq!(celsius(5.000_04), "5.00004 °C");
        assert_eq!(celsius(4.96), "5.0 °C");
        assert_eq!(celsius(5.3), "5.3 °C");
        let fahrenheit = Degrees::of(Scale::Fahrenheit);
        assert_eq!(
            fahrenheit.reading_against(air, 5.02, at_most(5.0)),
            "41.04 °F"
        );
        let at_least = Limits::new(Some(-18.0), None).expect("sensible");
        let cold = Degrees::of(Scale::Celsius).reading_against(air, -18.01, at_least);
        assert_eq!(cold, "\u{2212}18.01 °C");
        let pressure = Observable::Plant(hysteron_plant::Quantity::SuctionPressure);
        let told = Degrees::of(Scale::Celsius).reading_against(pressure, 300.2, at_most(300.0));
        assert_eq!(told, "300.2 kPa");
        assert_eq!(percent_against(0.500_02, at_most(0.5)), "50.002 %");
        assert_eq!(percent_against(0.499_99, at_most(0.5)), "50 %");
    }

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
