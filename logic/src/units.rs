//! Temperatures and their differences, in thousandths of a degree Celsius.
//!
//! A point on the scale ([`Temperature`]) and a distance on it ([`Difference`])
//! are different types: adding two points means nothing, and a differential
//! given as a point is a compile error.

use core::fmt;

/// A point on the Celsius scale, held in thousandths of a degree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Temperature(i32);

/// A distance between two points on the Celsius scale, in thousandths of a kelvin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Difference(i32);

impl Temperature {
    /// The point `millicelsius` thousandths of a degree Celsius above the ice point.
    #[must_use]
    pub const fn from_millicelsius(millicelsius: i32) -> Self {
        Self(millicelsius)
    }

    /// This point in thousandths of a degree Celsius.
    #[must_use]
    pub const fn millicelsius(self) -> i32 {
        self.0
    }

    /// The point `difference` higher; stays at the end of the scale rather than wrapping.
    #[must_use]
    pub const fn raised_by(self, difference: Difference) -> Self {
        Self(self.0.saturating_add(difference.0))
    }

    /// The point `difference` lower; stays at the end of the scale rather than wrapping.
    #[must_use]
    pub const fn lowered_by(self, difference: Difference) -> Self {
        Self(self.0.saturating_sub(difference.0))
    }

    /// How far this point lies above `other`; negative when it lies below.
    #[must_use]
    pub const fn above(self, other: Self) -> Difference {
        Difference(self.0.saturating_sub(other.0))
    }
}

impl Difference {
    /// A distance of `millikelvin` thousandths of a kelvin.
    #[must_use]
    pub const fn from_millikelvin(millikelvin: i32) -> Self {
        Self(millikelvin)
    }

    /// This distance in thousandths of a kelvin.
    #[must_use]
    pub const fn millikelvin(self) -> i32 {
        self.0
    }

    /// The distance without its sign.
    #[must_use]
    pub const fn size(self) -> Self {
        Self(self.0.saturating_abs())
    }

    /// The distance in the other direction.
    #[must_use]
    pub const fn reversed(self) -> Self {
        Self(self.0.saturating_neg())
    }
}

/// Writes thousandths with as many decimals as they need.
fn write_thousandths(f: &mut fmt::Formatter<'_>, thousandths: i32, unit: &str) -> fmt::Result {
    let sign = if thousandths < 0 { "-" } else { "" };
    let size = thousandths.unsigned_abs();
    let (whole, part) = (size / 1_000, size % 1_000);
    if part == 0 {
        write!(f, "{sign}{whole} {unit}")
    } else if part % 100 == 0 {
        write!(f, "{sign}{whole}.{} {unit}", part / 100)
    } else if part % 10 == 0 {
        write!(f, "{sign}{whole}.{:02} {unit}", part / 10)
    } else {
        write!(f, "{sign}{whole}.{part:03} {unit}")
    }
}

/// With as many decimals as it needs: "-18 °C", "3.25 °C".
impl fmt::Display for Temperature {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_thousandths(f, self.0, "°C")
    }
}

/// With as many decimals as it needs: "2 K", "-0.5 K".
impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_thousandths(f, self.0, "K")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_are_told_with_the_decimals_they_need() {
        for (thousandths, said) in [
            (0, "0 °C"),
            (-18_000, "-18 °C"),
            (3_250, "3.25 °C"),
            (4_500, "4.5 °C"),
            (-7, "-0.007 °C"),
            (1_020, "1.02 °C"),
            (i32::MIN, "-2147483.648 °C"),
        ] {
            let point = Temperature::from_millicelsius(thousandths);
            assert_eq!(point.to_string(), said);
        }
        assert_eq!(Difference::from_millikelvin(-500).to_string(), "-0.5 K");
    }

    #[test]
    fn ends_of_the_scale_hold() {
        let top = Temperature::from_millicelsius(i32::MAX);
        let step = Difference::from_millikelvin(1);
        assert_eq!(top.raised_by(step), top);
        let bottom = Temperature::from_millicelsius(i32::MIN);
        assert_eq!(bottom.lowered_by(step), bottom);
        assert_eq!(top.above(bottom), Difference::from_millikelvin(i32::MAX));
        assert_eq!(
            Difference::from_millikelvin(i32::MIN).size(),
            Difference::from_millikelvin(i32::MAX)
        );
    }

    #[test]
    fn a_point_raised_lies_above_by_as_much() {
        let setpoint = Temperature::from_millicelsius(2_000);
        let differential = Difference::from_millikelvin(1_500);
        let cut_in = setpoint.raised_by(differential);
        assert_eq!(cut_in.above(setpoint), differential);
        assert_eq!(setpoint.above(cut_in), differential.reversed());
    }
}
