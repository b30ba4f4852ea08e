//! The Steinhart-Hart equation and its published coefficients.
//!
//! `1/T = A + B ln R + C (ln R)^3`, with `T` in kelvin and `R` in ohms
//! (Steinhart and Hart, Deep-Sea Research 15, 1968). The coefficients are held
//! as whole numbers of 10^-15, which writes every published digit exactly, and
//! the equation is worked in integers, so that the compiler and the chip make
//! the very same table.
//!
//! The published sets are those of the BetaTherm list of interchangeable NTC
//! thermistors (no year; read where others reprint it), fitted at 0, 25 and 70 °C.

use crate::conversion::i64_from_i32;

/// The three coefficients of a thermistor's Steinhart-Hart equation.
///
/// Any three numbers can be held; [`CustomCurve`](crate::curve::CustomCurve)
/// judges whether they describe a thermistor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Coefficients {
    a_femto: i64,
    b_femto: i64,
    c_femto: i64,
}

impl Coefficients {
    /// 10 k type II: part 10K3A of that list.
    pub const TYPE_II: Self = Self::new(1_129_241_000_000, 234_107_700_000, 87_754_680);
    /// 10 k type III: part 10K4A of that list.
    pub const TYPE_III: Self = Self::new(1_028_444_000_000, 239_243_500_000, 156_221_600);
    /// 2.2 k: part 2.2K3A of that list.
    pub const R2K2: Self = Self::new(1_471_388_000_000, 237_613_800_000, 105_105_800);
    /// 3 k: part 3K3A of that list.
    pub const R3K: Self = Self::new(1_405_027_000_000, 236_938_600_000, 101_266_000);
    /// 5 k: part 5K3A of that list.
    pub const R5K: Self = Self::new(1_287_450_000_000, 235_739_400_000, 95_052_000);
    /// 100 k: part 100K6A of that list.
    pub const R100K: Self = Self::new(827_111_100_000, 208_802_000_000, 80_592_000);

    /// The largest size of a coefficient that the equation is worked with: 0.01.
    pub const LIMIT_FEMTO: i64 = 10_000_000_000_000;

    /// Coefficients `A`, `B` and `C`, each in units of 10^-15.
    #[must_use]
    pub const fn new(a_femto: i64, b_femto: i64, c_femto: i64) -> Self {
        Self {
            a_femto,
            b_femto,
            c_femto,
        }
    }

    /// `A`, the constant term, in units of 10^-15 per kelvin.
    #[must_use]
    pub const fn a_femto(self) -> i64 {
        self.a_femto
    }

    /// `B`, the factor of `ln R`, in units of 10^-15 per kelvin.
    #[must_use]
    pub const fn b_femto(self) -> i64 {
        self.b_femto
    }

    /// `C`, the factor of `(ln R)^3`, in units of 10^-15 per kelvin.
    #[must_use]
    pub const fn c_femto(self) -> i64 {
        self.c_femto
    }

    /// Whether every coefficient is at most [`Self::LIMIT_FEMTO`] in size.
    pub(crate) const fn are_bounded(self) -> bool {
        const LIMIT: u64 = Coefficients::LIMIT_FEMTO.unsigned_abs();
        self.a_femto.unsigned_abs() <= LIMIT
            && self.b_femto.unsigned_abs() <= LIMIT
            && self.c_femto.unsigned_abs() <= LIMIT
    }

    /// `1/T` in units of 10^-15 per kelvin at `log2_steps` 65536ths of an octave.
    ///
    /// For bounded coefficients and 0 to 27 octaves; right within 2^-24 of the slope.
    pub(crate) const fn reciprocal(self, log2_steps: i32) -> i64 {
        let x = natural_log(log2_steps);
        let cubic = times(times(self.c_femto, x), x);
        let slope = self.b_femto.saturating_add(cubic);
        self.a_femto.saturating_add(times(slope, x))
    }

    /// How steeply `1/T` rises with `ln R`: `B + 3 C (ln R)^2`, in units of 10^-15 per kelvin.
    pub(crate) const fn slope(self, log2_steps: i32) -> i64 {
        let x = natural_log(log2_steps);
        let cubic = times(times(self.c_femto, x), x);
        self.b_femto.saturating_add(cubic.saturating_mul(3))
    }
}

/// Natural logarithm, in units of 2^-24, of a number whose base-2 logarithm is
/// `log2_steps` 65536ths, which must not be negative.
const fn natural_log(log2_steps: i32) -> i64 {
    /// `ln 2` in units of 2^-32.
    const LN_2: i64 = 2_977_044_472;
    i64_from_i32(log2_steps).wrapping_mul(LN_2) >> 24
}

/// `coefficient * x`, with `x` in units of 2^-24; rounded down.
///
/// Multiplied in two halves, so that 64 bits suffice: within the bounds of
/// [`Coefficients::reciprocal`] no term exceeds 2^56, no half of a product 2^61.
const fn times(coefficient: i64, x: i64) -> i64 {
    let upper = (coefficient >> 24).wrapping_mul(x);
    let lower = (coefficient & 0xff_ffff).wrapping_mul(x) >> 24;
    upper.wrapping_add(lower)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn integers_agree_with_double_precision() {
        for coefficients in [
            Coefficients::TYPE_II,
            Coefficients::R100K,
            Coefficients::new(-3_000_000_000_000, 500_000_000_000, -90_000_000),
        ] {
            let [a, b, c] = [
                coefficients.a_femto(),
                coefficients.b_femto(),
                coefficients.c_femto(),
            ]
            .map(|femto| femto as f64);
            for log2_steps in (0..=27 * 65_536).step_by(1_021) {
                let x = f64::from(log2_steps) / 65_536.0 * std::f64::consts::LN_2;
                let error =
                    coefficients.reciprocal(log2_steps) as f64 - (a + b * x + c * x.powi(3));
                // The logarithm is good to 2^-24; the slope says what that costs.
                let allowed = 400.0 + (b.abs() + 3.0 * c.abs() * x * x) / 16_777_216.0;
                assert!(error.abs() < allowed, "{error} at {x}");
                let error = coefficients.slope(log2_steps) as f64 - (b + 3.0 * c * x * x);
                assert!(error.abs() < 4_000.0, "{error} at {x}");
            }
        }
    }

    #[test]
    fn bounds_are_symmetric() {
        let limit = Coefficients::LIMIT_FEMTO;
        assert!(Coefficients::new(limit, -limit, limit).are_bounded());
        assert!(!Coefficients::new(limit + 1, 0, 0).are_bounded());
        assert!(!Coefficients::new(0, -limit - 1, 0).are_bounded());
        assert!(!Coefficients::new(0, 0, i64::MIN).are_bounded());
    }
}
