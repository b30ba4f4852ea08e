//! The divider: from counts of the converter to resistance.
//!
//! The thermistor lies between the converter's input and ground, a fixed
//! resistor between the input and the converter's reference. The reference
//! cancels out: the input stands at `R / (R + fixed)` of it, whatever it is.

use core::fmt;

use crate::conversion::{i32_from_u16, u32_from_u16, usize_from_u32};
use crate::resistance::{OCTAVE, Resistance, log2_of_fraction};

/// The sum of 16 readings of a 12-bit converter.
///
/// A converter truncates: a reading of `c` means an input between `c` and
/// `c + 1` codes, `c + 1/2` on average. Over 16 readings that is half a code
/// each, 8 in the sum, so a sum of `s` stands for `(s + 8) / 65536` of the
/// reference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Counts(u16);

impl Counts {
    /// The most that 16 readings of a 12-bit converter can add up to.
    pub const FULL: Self = Self(16 * 4_095);
    /// From here up the thermistor counts as open: 0.998 of the reference.
    pub const OPEN: Self = Self(65_405);
    /// From here down the thermistor counts as shorted: 0.002 of the reference.
    pub const SHORTED: Self = Self(131);

    /// The sum of 16 readings; what no converter can yield is held at [`Self::FULL`].
    #[must_use]
    pub const fn from_oversampled(sum: u16) -> Self {
        if sum > Self::FULL.0 {
            Self::FULL
        } else {
            Self(sum)
        }
    }

    /// The sum of the 16 readings.
    #[must_use]
    pub const fn sum(self) -> u16 {
        self.0
    }
}

/// What hangs on the probe's terminals, judged by one sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Element {
    /// No current flows: a broken lead, or nothing connected.
    Open,
    /// The terminals are joined.
    Shorted,
    /// A resistance between the two.
    Resistance(Resistance),
}

/// A fixed resistor above the thermistor, across the converter's reference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Divider {
    fixed_ohms: u32,
    fixed: Resistance,
}

/// Why a fixed resistor is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum FixedResistorRefused {
    /// Smaller than [`Divider::SMALLEST_OHMS`].
    TooSmall {
        /// What was asked for.
        ohms: u32,
    },
    /// Larger than [`Divider::LARGEST_OHMS`].
    TooLarge {
        /// What was asked for.
        ohms: u32,
    },
}

impl Divider {
    /// Below this the thermistor would be heated by its own current.
    pub const SMALLEST_OHMS: u32 = 500;
    /// Above this a converter's input current would shift the reading.
    pub const LARGEST_OHMS: u32 = 1_000_000;

    /// A divider with a fixed resistor of `fixed_ohms`.
    ///
    /// # Errors
    ///
    /// Outside [`Self::SMALLEST_OHMS`] to [`Self::LARGEST_OHMS`].
    pub const fn new(fixed_ohms: u32) -> Result<Self, FixedResistorRefused> {
        if fixed_ohms > Self::LARGEST_OHMS {
            return Err(FixedResistorRefused::TooLarge { ohms: fixed_ohms });
        }
        match Resistance::from_ohms(fixed_ohms) {
            Some(fixed) if fixed_ohms >= Self::SMALLEST_OHMS => Ok(Self { fixed_ohms, fixed }),
            Some(_) | None => Err(FixedResistorRefused::TooSmall { ohms: fixed_ohms }),
        }
    }

    /// The fixed resistor in ohms.
    #[must_use]
    pub const fn fixed_ohms(self) -> u32 {
        self.fixed_ohms
    }

    /// What the converter saw on the terminals.
    #[must_use]
    pub fn element(self, counts: Counts) -> Element {
        if counts >= Counts::OPEN {
            Element::Open
        } else if counts <= Counts::SHORTED {
            Element::Shorted
        } else {
            Element::Resistance(self.resistance(counts))
        }
    }

    /// The smallest resistance that is told from a short.
    #[must_use]
    pub fn smallest(self) -> Resistance {
        self.resistance(Counts(Counts::SHORTED.0.saturating_add(1)))
    }

    /// The largest resistance that is told from an open circuit.
    #[must_use]
    pub fn largest(self) -> Resistance {
        self.resistance(Counts(Counts::OPEN.0.saturating_sub(1)))
    }

    /// `fixed * ratio / (1 - ratio)`, in logarithms.
    fn resistance(self, counts: Counts) -> Resistance {
        let below = u32_from_u16(counts.0).wrapping_add(8);
        let above = 65_536_u32.wrapping_sub(below);
        let fixed = self.fixed.log2_steps();
        // No term exceeds 20 octaves, which is 21 bits.
        Resistance::from_log2_steps(if below < above {
            fixed.wrapping_sub(excess_log2(above, below))
        } else {
            fixed.wrapping_add(excess_log2(below, above))
        })
    }
}

/// Base-2 logarithm of `larger / smaller`, two parts of 65536, in 65536ths of an
/// octave. The parts add up to 65536 and neither is zero.
fn excess_log2(larger: u32, smaller: u32) -> i32 {
    // The larger part has its top bit at place 15 already; the smaller is shifted
    // there, which is eight places at most between the thresholds and one on average.
    let mut mantissa = smaller;
    let mut shifted = 0_i32;
    if mantissa < 1 << 11 {
        mantissa <<= 4;
        shifted = 4 * OCTAVE;
    }
    while mantissa < 1 << 15 {
        mantissa <<= 1;
        shifted = shifted.wrapping_add(OCTAVE);
    }
    shifted
        .wrapping_add(mantissa_log2(larger))
        .wrapping_sub(mantissa_log2(mantissa))
}

/// Base-2 logarithm of `mantissa / 32768`, from 1 to 2, in 65536ths of an octave.
///
/// Right within 1.4 steps: the chords of [`MANTISSA_LOG2`] lie up to 0.7 below
/// the curve, its entries are rounded, and so is the place on the chord.
fn mantissa_log2(mantissa: u32) -> i32 {
    // Seven bits below the top one choose the chord, eight more the place on it.
    let chord = usize_from_u32((mantissa >> 8) & 0x7f);
    let Some([left, right]) = MANTISSA_LOG2.get(chord..).and_then(<[u16]>::first_chunk) else {
        return 0;
    };
    let rise = u32_from_u16(right.wrapping_sub(*left));
    // A chord lies below the curve, so what is rounded is rounded up more often than down.
    let along = rise.wrapping_mul(mantissa & 0xff).wrapping_add(192) >> 8;
    i32_from_u16(*left).wrapping_add(along.cast_signed())
}

/// Base-2 logarithm of 128/128, 129/128, ... 256/128 in 65536ths; the last, 65536, wraps to 0.
static MANTISSA_LOG2: [u16; 129] = {
    let mut table = [0; 129];
    let mut rest: &mut [u16] = &mut table;
    let mut numerator = 128;
    while let [entry, after @ ..] = rest {
        *entry = log2_of_fraction(numerator);
        numerator = numerator.wrapping_add(1);
        rest = after;
    }
    table
};

impl fmt::Display for FixedResistorRefused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (ohms, fault) = match self {
            Self::TooSmall { ohms } => (ohms, "too small"),
            Self::TooLarge { ohms } => (ohms, "too large"),
        };
        write!(
            f,
            "a fixed resistor of {ohms} ohm is {fault}: choose one from {} to {} ohm, \
             best near the thermistor's own resistance in the middle of its use",
            Divider::SMALLEST_OHMS,
            Divider::LARGEST_OHMS,
        )
    }
}

impl core::error::Error for FixedResistorRefused {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn logarithms_agree_with_double_precision() {
        let exact = |value: u32| f64::from(value).log2() * f64::from(OCTAVE);
        let worst = (32_768..=65_535)
            .map(|mantissa| {
                let above_one = exact(mantissa) - 15.0 * f64::from(OCTAVE);
                (f64::from(mantissa_log2(mantissa)) - above_one).abs()
            })
            .fold(0.0, f64::max);
        assert!(worst < 1.4, "{worst} steps");

        let worst = (1..=32_768)
            .map(|smaller| {
                let larger = 65_536 - smaller;
                let excess = f64::from(excess_log2(larger, smaller));
                (excess - (exact(larger) - exact(smaller))).abs()
            })
            .fold(0.0, f64::max);
        assert!(worst < 2.5, "{worst} steps");
    }

    #[test]
    fn a_sum_is_kept_up_to_the_most_that_a_converter_yields() {
        for sum in [0, 1, 40_000, 65_519, 65_520] {
            assert_eq!(Counts::from_oversampled(sum).sum(), sum);
        }
        assert_eq!(Counts::FULL.sum(), 65_520);
        for sum in [65_521, u16::MAX] {
            assert_eq!(Counts::from_oversampled(sum), Counts::FULL);
        }
    }

    #[test]
    fn every_count_is_one_kind_of_element() {
        let divider = Divider::new(10_000).unwrap();
        let (mut open, mut shorted, mut between) = (0, 0, 0);
        let mut last = divider.smallest();
        for sum in 0..=u16::MAX {
            match divider.element(Counts::from_oversampled(sum)) {
                Element::Open => open += 1,
                Element::Shorted => shorted += 1,
                Element::Resistance(resistance) => {
                    assert!(resistance >= last, "{sum}");
                    last = resistance;
                    between += 1;
                }
            }
        }
        assert_eq!(last, divider.largest());
        assert_eq!((open, shorted, between), (131, 132, 65_273));
    }

    #[test]
    fn a_divider_tells_its_fixed_resistor() {
        for ohms in [Divider::SMALLEST_OHMS, 10_000, Divider::LARGEST_OHMS] {
            assert_eq!(Divider::new(ohms).map(Divider::fixed_ohms), Ok(ohms));
        }
    }

    #[test]
    fn half_way_reads_the_fixed_resistor() {
        let divider = Divider::new(10_000).unwrap();
        let half = Counts::from_oversampled(32_760);
        assert_eq!(
            divider.element(half),
            Element::Resistance(Resistance::from_ohms(10_000).unwrap())
        );
    }

    #[test]
    fn fixed_resistor_has_its_limits() {
        assert_eq!(
            Divider::new(0),
            Err(FixedResistorRefused::TooSmall { ohms: 0 })
        );
        assert!(Divider::new(499).is_err());
        assert!(Divider::new(500).is_ok());
        assert!(Divider::new(1_000_000).is_ok());
        let refusal = Divider::new(1_000_001).unwrap_err();
        assert!(
            refusal
                .to_string()
                .starts_with("a fixed resistor of 1000001 ohm is too large")
        );
    }
}
