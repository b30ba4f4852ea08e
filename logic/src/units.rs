//! Temperatures and their differences, in thousandths of a degree Celsius.
//!
//! A point on the scale ([`Temperature`]) and a distance on it ([`Difference`])
//! are different types: adding two points means nothing, and a differential
//! given as a point is a compile error.

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

#[cfg(test)]
mod tests {
    use super::*;

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
