//! The thermistor and its divider in double precision, both ways.
//!
//! What the probe's model uses to turn a temperature into counts, and the
//! reference that the control's integers are judged by.

use hysteron_logic::coefficients::Coefficients;
use hysteron_logic::divider::Counts;

/// The ice point in kelvin.
const ICE_POINT_K: f64 = 273.15;

/// A thermistor after Steinhart and Hart: `1/T = A + B ln R + C (ln R)^3`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SteinhartHart {
    a: f64,
    b: f64,
    c: f64,
}

impl SteinhartHart {
    /// A thermistor with these coefficients, for kelvin and ohms.
    #[must_use]
    pub const fn new(a: f64, b: f64, c: f64) -> Self {
        Self { a, b, c }
    }

    /// The coefficients as the control holds them, to the nearest 10^-15.
    #[must_use]
    pub fn coefficients(&self) -> Coefficients {
        let [a, b, c] = [self.a, self.b, self.c].map(|value| (value * 1e15).round() as i64);
        Coefficients::new(a, b, c)
    }

    /// The temperature in °C at `resistance_ohm`, which must be above zero.
    #[must_use]
    pub fn temperature_c(&self, resistance_ohm: f64) -> f64 {
        let x = resistance_ohm.ln();
        (self.a + x * (self.b + x * x * self.c)).recip() - ICE_POINT_K
    }

    /// The resistance in ohms at `temperature_c`, which must be above absolute zero.
    ///
    /// The closed form of the cubic in its hyperbolic shape (its trigonometric
    /// one for a negative `C`), which loses no digits when `C` is small. For a
    /// negative `C` beyond the point where the curve turns round, the
    /// resistance of the turning point.
    #[must_use]
    pub fn resistance_ohm(&self, temperature_c: f64) -> f64 {
        let rest = (temperature_c + ICE_POINT_K).recip() - self.a;
        // C x^3 + B x = rest
        let x = if self.c == 0.0 {
            rest / self.b
        } else {
            let scale = (self.b / (3.0 * self.c)).abs().sqrt();
            let sine = 1.5 * rest / (self.b * scale);
            if self.c > 0.0 {
                2.0 * scale * (sine.asinh() / 3.0).sinh()
            } else {
                2.0 * scale * (sine.clamp(-1.0, 1.0).asin() / 3.0).sin()
            }
        };
        x.exp()
    }
}

impl From<Coefficients> for SteinhartHart {
    fn from(coefficients: Coefficients) -> Self {
        let [a, b, c] = [
            coefficients.a_femto(),
            coefficients.b_femto(),
            coefficients.c_femto(),
        ]
        .map(|femto| femto as f64 / 1e15);
        Self { a, b, c }
    }
}

/// Where the converter's input stands, as a part of its reference, with
/// `resistance_ohm` below a fixed resistor of `fixed_ohm`.
///
/// Infinite resistance, an open thermistor, gives 1.
#[must_use]
pub fn ratio(resistance_ohm: f64, fixed_ohm: f64) -> f64 {
    (1.0 + fixed_ohm / resistance_ohm).recip()
}

/// The resistance in ohms that puts the input at `ratio` of the reference;
/// infinite for 1.
#[must_use]
pub fn resistance_at_ratio_ohm(ratio: f64, fixed_ohm: f64) -> f64 {
    fixed_ohm * ratio / (1.0 - ratio)
}

/// The sum of 16 readings of a 12-bit converter whose input stands at `ratio`
/// of its reference with just enough noise to spread the readings evenly.
///
/// A ratio outside 0 to 1 is held at the nearer end, as a converter does.
#[must_use]
pub fn oversampled(ratio: f64) -> Counts {
    // Each reading truncates, which takes half a code from it on average.
    // A float becomes an integer by saturating, so both ends hold.
    Counts::from_oversampled((ratio * 65_536.0 - 8.0).round() as u16)
}

/// The ratio that the control takes `counts` to stand for.
#[must_use]
pub fn ratio_of_counts(counts: Counts) -> f64 {
    (f64::from(counts.sum()) + 8.0) / 65_536.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `C` above zero, below zero, zero and vanishing.
    const SHAPES: [SteinhartHart; 4] = [
        SteinhartHart::new(1.129_241e-3, 2.341_077e-4, 8.775_468e-8),
        SteinhartHart::new(0.9e-3, 2.6e-4, -3.0e-8),
        SteinhartHart::new(0.9e-3, 2.5e-4, 0.0),
        SteinhartHart::new(0.9e-3, 2.5e-4, 1e-15),
    ];

    #[test]
    fn both_directions_agree() {
        for shape in SHAPES {
            for step in -500..=1_200 {
                let temperature_c = f64::from(step) / 10.0;
                let back_c = shape.temperature_c(shape.resistance_ohm(temperature_c));
                assert!(
                    (back_c - temperature_c).abs() < 1e-9,
                    "{shape:?} {temperature_c}"
                );
            }
        }
    }

    #[test]
    fn ratio_and_counts_come_back() {
        for resistance_ohm in [30.0, 1e3, 1e4, 3.3e5] {
            let ratio = ratio(resistance_ohm, 10_000.0);
            let back_ohm = resistance_at_ratio_ohm(ratio, 10_000.0);
            assert!((back_ohm / resistance_ohm - 1.0).abs() < 1e-12);
            assert!((ratio_of_counts(oversampled(ratio)) - ratio).abs() <= 0.5 / 65_536.0);
        }
    }

    #[test]
    fn ends_of_the_converter_hold() {
        assert_eq!(ratio(f64::INFINITY, 10_000.0), 1.0);
        assert_eq!(ratio(0.0, 10_000.0), 0.0);
        assert_eq!(oversampled(1.0), Counts::FULL);
        assert_eq!(oversampled(0.0).sum(), 0);
        assert_eq!(resistance_at_ratio_ohm(1.0, 10_000.0), f64::INFINITY);
    }
}
