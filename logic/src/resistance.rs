//! Resistance, held as its base-2 logarithm.
//!
//! A thermistor's equation asks for the logarithm of its resistance and for
//! nothing else, and a divider multiplies and divides resistances, which is
//! addition and subtraction of logarithms. So no division is left on the way
//! from counts to temperature.

use crate::conversion::{u16_from_u32, u32_from_u64, u64_from_u32};

/// Steps of [`Resistance`] in one octave (a factor of two).
pub(crate) const OCTAVE: i32 = 65_536;

/// Base-2 logarithm of 1000, in steps.
const LOG2_OF_1000: i32 = log2(1_000);

/// A resistance above zero, as a logarithm in 65536ths of an octave of one ohm.
///
/// One step is 11 millionths of the resistance, which for a thermistor is less
/// than a thousandth of a kelvin. Ordered like the resistance itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Resistance(i32);

impl Resistance {
    /// A resistance of `ohms`; `None` for zero, which has no logarithm.
    #[must_use]
    pub const fn from_ohms(ohms: u32) -> Option<Self> {
        if ohms == 0 {
            return None;
        }
        Some(Self(log2(u64_from_u32(ohms))))
    }

    /// A resistance of `milliohms` thousandths of an ohm; `None` for zero.
    #[must_use]
    pub const fn from_milliohms(milliohms: u64) -> Option<Self> {
        if milliohms == 0 {
            return None;
        }
        Some(Self(log2(milliohms).wrapping_sub(LOG2_OF_1000)))
    }

    /// The resistance whose base-2 logarithm is `steps` 65536ths of an octave above one ohm.
    #[must_use]
    pub const fn from_log2_steps(steps: i32) -> Self {
        Self(steps)
    }

    /// The base-2 logarithm in 65536ths of an octave above one ohm.
    #[must_use]
    pub const fn log2_steps(self) -> i32 {
        self.0
    }

    /// The resistance to the nearest whole ohm, for people; `u32::MAX` for more than that.
    ///
    /// Right within 20 millionths or half an ohm, whichever is more.
    #[must_use]
    pub const fn ohms(self) -> u32 {
        let octaves = self.0.div_euclid(OCTAVE);
        if octaves >= 32 {
            return u32::MAX;
        }
        // Between 1 and 2, in units of 2^-31, one factor for each bit of the fraction.
        let mut mantissa: u64 = 1 << 31;
        let mut fraction = self.0.rem_euclid(OCTAVE);
        let mut roots: &[u64] = &ROOTS_OF_TWO;
        while let [root, smaller @ ..] = roots {
            fraction = fraction.wrapping_mul(2);
            if fraction >= OCTAVE {
                fraction = fraction.wrapping_sub(OCTAVE);
                mantissa = mantissa.wrapping_mul(*root) >> 31;
            }
            roots = smaller;
        }
        let places = 31_i32.saturating_sub(octaves);
        if places <= 0 {
            return u32_from_u64(mantissa);
        }
        // The last bit shifted out decides the rounding.
        let halves = match mantissa.checked_shr(places.unsigned_abs().wrapping_sub(1)) {
            Some(halves) => halves,
            None => 0,
        };
        u32_from_u64(halves.wrapping_add(1) >> 1)
    }
}

/// `2^(1/2)`, `2^(1/4)`, ... `2^(1/65536)` in units of `2^-31`, rounded down.
const ROOTS_OF_TWO: [u64; 16] = {
    let mut roots = [0; 16];
    let mut rest: &mut [u64] = &mut roots;
    let mut square: u64 = 1 << 32;
    while let [root, after @ ..] = rest {
        square = (square << 31).isqrt();
        *root = square;
        rest = after;
    }
    roots
};

/// Base-2 logarithm of `value` in 65536ths, to the nearest; 0 for 0.
///
/// Squaring a number doubles its logarithm, so each squaring yields one more
/// binary digit of the fraction. For tables and settings: some thousands of
/// cycles on a small processor.
pub(crate) const fn log2(value: u64) -> i32 {
    let Some(octaves) = value.checked_ilog2() else {
        return 0;
    };
    // Between 1 and 2 in units of 2^-31.
    let mut mantissa = if octaves <= 31 {
        value << (31_u32.wrapping_sub(octaves))
    } else {
        value >> (octaves.wrapping_sub(31))
    };
    // One digit more than wanted, for the rounding.
    let mut steps = octaves;
    let mut digits = 17_u32;
    while digits > 0 {
        mantissa = mantissa.wrapping_mul(mantissa) >> 31;
        steps = steps.wrapping_mul(2);
        if mantissa >= 1 << 32 {
            mantissa >>= 1;
            steps = steps.wrapping_add(1);
        }
        digits = digits.wrapping_sub(1);
    }
    (steps.wrapping_add(1) >> 1).cast_signed()
}

/// The fraction of the base-2 logarithm of `value`, in 65536ths.
pub(crate) const fn log2_of_fraction(value: u64) -> u16 {
    u16_from_u32(log2(value).rem_euclid(OCTAVE).unsigned_abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn logarithm_agrees_with_double_precision() {
        for exponent in 0..640 {
            let value = 1.071_773_5_f64.powi(exponent).round();
            if value >= 1.8e19 {
                break;
            }
            let exact = (value as u64 as f64).log2() * f64::from(OCTAVE);
            let error = f64::from(log2(value as u64)) - exact;
            assert!(error.abs() <= 0.6, "{value}: {error} steps");
        }
    }

    #[test]
    fn ohms_come_back() {
        for ohms in (1..=3_000).chain((1..4_000).map(|n| n * 1_000_003)) {
            let back = Resistance::from_ohms(ohms).unwrap().ohms();
            let allowed = 0.5 + f64::from(ohms) * 20e-6;
            let error = f64::from(back) - f64::from(ohms);
            assert!(error.abs() <= allowed, "{ohms} came back as {back}");
        }
    }

    #[test]
    fn ends_hold() {
        assert_eq!(Resistance::from_ohms(0), None);
        assert_eq!(Resistance::from_milliohms(0), None);
        assert_eq!(Resistance::from_ohms(1).unwrap().log2_steps(), 0);
        assert_eq!(
            Resistance::from_milliohms(1_000).unwrap(),
            Resistance::from_ohms(1).unwrap()
        );
        assert_eq!(Resistance::from_milliohms(1).unwrap().ohms(), 0);
        assert_eq!(
            Resistance::from_milliohms(u64::MAX).unwrap().ohms(),
            u32::MAX
        );
        assert_eq!(Resistance::from_log2_steps(i32::MAX).ohms(), u32::MAX);
        assert_eq!(Resistance::from_log2_steps(i32::MIN).ohms(), 0);
    }
}
