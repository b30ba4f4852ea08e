//! A thermistor's curve as a table of temperatures over the logarithm of resistance.
//!
//! On that axis the curve is nearly straight, so one temperature every half
//! octave is enough: Everett's interpolation through the four nodes around a
//! point is a cubic that stays within a few thousandths of a kelvin of the
//! equation. The same constant function makes the tables of the published
//! curves at compile time and of a custom one on the chip.

use core::fmt;
use core::ops::RangeInclusive;

use crate::coefficients::Coefficients;
use crate::conversion::{i32_from_i64, u8_from_i32, u32_from_u8, usize_from_u32};
use crate::resistance::{OCTAVE, Resistance};
use crate::units::Temperature;

/// The lowest temperature that a thermistor is believed to read: −50 °C.
pub const COLDEST: Temperature = Temperature::from_millicelsius(-50_000);
/// The highest temperature that a thermistor is believed to read: +120 °C.
pub const HOTTEST: Temperature = Temperature::from_millicelsius(120_000);

/// Steps of [`Resistance`] between two nodes: half an octave.
const PITCH: i32 = OCTAVE / 2;
/// Bits of a place between two nodes.
const PITCH_BITS: u32 = 15;
/// Nodes that a table has room for.
const ROOM: usize = 32;
/// Spans between nodes, less the one beyond each end that only bends the last span inside.
const MOST_SPANS: i32 = 29;
/// The highest node: 27 octaves, 134 megohms.
const LAST: i32 = 54;
/// The most by which neighbouring nodes may differ, so that 32 bits hold every product.
const WIDEST: i32 = 65_535;
/// The most by which neighbouring differences may differ, for the same reason.
const MOST_BEND: i32 = 16_383;
/// The largest error of interpolation that is accepted, in halves of a millikelvin: 4 mK.
const LARGEST_ERROR: u32 = 8;

/// Why coefficients are refused as a thermistor's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CoefficientsRefused {
    /// A coefficient is larger than 0.01 in size.
    Unbounded,
    /// The resistance does not fall throughout as the temperature rises from −50 to +120 °C.
    NotFalling,
    /// At +120 °C the resistance would be below 2 ohms.
    HotEndTooLow,
    /// At −50 °C the resistance would be above 134 megohms.
    ColdEndTooHigh,
    /// Half an octave of resistance spans more than 32 K: too little to measure by.
    TooFlat,
    /// From −50 to +120 °C the resistance changes by more than 14 octaves.
    TooSteep,
    /// The curve bends more than a table can follow within 4 mK.
    TooCurved,
}

/// On which side a reading leaves the believable range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Beyond {
    /// Colder than [`COLDEST`].
    Cold,
    /// Hotter than [`HOTTEST`].
    Hot,
}

/// Temperatures at every half octave of resistance over the believable range.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct Table {
    /// Twice the thousandths of a degree Celsius; falling. The second one belongs to `first`.
    nodes: [i32; ROOM],
    /// Logarithm of the resistance at the hot end.
    first: i32,
    /// Spans between nodes, from the hot end to the cold one.
    spans: u8,
}

impl Table {
    /// The table of `coefficients` from [`HOTTEST`] to [`COLDEST`].
    pub(crate) const fn new(coefficients: Coefficients) -> Result<Self, CoefficientsRefused> {
        if !coefficients.are_bounded() {
            return Err(CoefficientsRefused::Unbounded);
        }
        let (hot, cold) = match ends(coefficients) {
            Ok(ends) => ends,
            Err(refusal) => return Err(refusal),
        };
        let spans = cold.wrapping_sub(hot);
        if spans > MOST_SPANS {
            return Err(CoefficientsRefused::TooSteep);
        }
        let mut table = Self {
            nodes: [0; ROOM],
            first: hot.wrapping_mul(PITCH),
            spans: u8_from_i32(spans),
        };
        let mut rest: &mut [i32] = &mut table.nodes;
        let mut place = table.first.wrapping_sub(PITCH);
        let last = cold.wrapping_add(1).wrapping_mul(PITCH);
        let mut reached = 0;
        while let [node, after @ ..] = rest {
            // Past the cold end nothing is read; the last node is repeated.
            if place <= last {
                reached = doubled_millicelsius(coefficients.reciprocal(place));
            }
            *node = reached;
            place = place.wrapping_add(PITCH);
            rest = after;
        }
        match table.check(coefficients) {
            Ok(()) => Ok(table),
            Err(refusal) => Err(refusal),
        }
    }

    /// Whether the table can be read without overflow, and agrees with the
    /// equation half-way between its nodes, where interpolation is worst.
    const fn check(&self, coefficients: Coefficients) -> Result<(), CoefficientsRefused> {
        let mut rest: &[i32] = &self.nodes;
        let mut place = self.first;
        let mut spans = self.spans;
        while let [_, after @ ..] = rest
            && let Some(four) = rest.first_chunk::<4>()
            && spans > 0
        {
            let [a, b, c, d] = *four;
            let falls = [
                a.saturating_sub(b),
                b.saturating_sub(c),
                c.saturating_sub(d),
            ];
            let [one, two, three] = falls;
            if one <= 0 || two <= 0 || three <= 0 {
                return Err(CoefficientsRefused::NotFalling);
            }
            if one > WIDEST || two > WIDEST || three > WIDEST {
                return Err(CoefficientsRefused::TooFlat);
            }
            let bends = [
                one.saturating_sub(two).saturating_abs(),
                two.saturating_sub(three).saturating_abs(),
            ];
            let [near, far] = bends;
            if near > MOST_BEND || far > MOST_BEND {
                return Err(CoefficientsRefused::TooCurved);
            }
            let half_way = place.wrapping_add(PITCH / 2);
            let exact = doubled_millicelsius(coefficients.reciprocal(half_way));
            if interpolate(four, PITCH / 2).abs_diff(exact) > LARGEST_ERROR {
                return Err(CoefficientsRefused::TooCurved);
            }
            place = place.wrapping_add(PITCH);
            spans = spans.wrapping_sub(1);
            rest = after;
        }
        Ok(())
    }

    /// The temperature at `resistance`.
    pub(crate) fn temperature(&self, resistance: Resistance) -> Result<Temperature, Beyond> {
        let doubled = self.doubled_millicelsius(resistance.log2_steps());
        let temperature = Temperature::from_millicelsius(doubled.saturating_add(1) >> 1);
        if temperature < COLDEST {
            Err(Beyond::Cold)
        } else if temperature > HOTTEST {
            Err(Beyond::Hot)
        } else {
            Ok(temperature)
        }
    }

    /// Twice the thousandths of a degree Celsius at `log2_steps`; the end of the
    /// scale outside the table.
    fn doubled_millicelsius(&self, log2_steps: i32) -> i32 {
        if log2_steps < self.first {
            return i32::MAX;
        }
        let along = log2_steps.wrapping_sub(self.first).cast_unsigned();
        let span = along >> PITCH_BITS;
        let four = self.nodes.get(usize_from_u32(span)..);
        match four.and_then(<[i32]>::first_chunk) {
            Some(four) if span < u32_from_u8(self.spans) => {
                interpolate(four, (along & 0x7fff).cast_signed())
            }
            Some(_) | None => i32::MIN,
        }
    }

    /// The temperatures of the resistances from `least` to `most`, as far as they lie from
    /// [`COLDEST`] to [`HOTTEST`]: those that [`Self::resistance`] puts between the two.
    pub(crate) fn temperatures(
        &self,
        least: Resistance,
        most: Resistance,
    ) -> RangeInclusive<Temperature> {
        let too_cold = self.doubled_millicelsius(most.log2_steps().saturating_add(1));
        let coldest = Temperature::from_millicelsius((too_cold >> 1).saturating_add(1));
        let warmest = self.doubled_millicelsius(least.log2_steps()) >> 1;
        let warmest = Temperature::from_millicelsius(warmest);
        coldest.max(COLDEST)..=warmest.min(HOTTEST)
    }

    /// The resistance at `temperature`; `None` outside [`COLDEST`] to [`HOTTEST`].
    ///
    /// The table read backwards: the span by its nodes, then 15 halvings.
    pub(crate) fn resistance(&self, temperature: Temperature) -> Option<Resistance> {
        if temperature < COLDEST || temperature > HOTTEST {
            return None;
        }
        let doubled = temperature.millicelsius().saturating_mul(2);
        let mut warmer = self.first;
        let inner = usize::from(self.spans).saturating_sub(1);
        for node in self.nodes.iter().skip(2).take(inner) {
            if *node < doubled {
                break;
            }
            warmer = warmer.saturating_add(PITCH);
        }
        let mut colder = warmer.saturating_add(PITCH);
        while colder.saturating_sub(warmer) > 1 {
            let middle = warmer.saturating_add(colder) >> 1;
            if self.doubled_millicelsius(middle) < doubled {
                colder = middle;
            } else {
                warmer = middle;
            }
        }
        Some(Resistance::from_log2_steps(warmer))
    }
}

/// Nodes, in half octaves above one ohm, around the believable range: the last
/// not above 120 °C's resistance and the first not below that of −50 °C.
const fn ends(coefficients: Coefficients) -> Result<(i32, i32), CoefficientsRefused> {
    /// `1/T` at 120 °C, in units of 10^-15 per kelvin.
    const HOT: i64 = 2_543_558_438_255;
    /// `1/T` at −50 °C.
    const COLD: i64 = 4_481_290_611_696;

    // One node below the hot end must exist, so the search starts at the second.
    let mut node = 1_i32;
    if coefficients.reciprocal(PITCH) > HOT {
        return Err(if coefficients.slope(PITCH) > 0 {
            CoefficientsRefused::HotEndTooLow
        } else {
            CoefficientsRefused::NotFalling
        });
    }
    let mut hot = node;
    while coefficients.reciprocal(node.wrapping_mul(PITCH)) < COLD {
        if coefficients.reciprocal(node.wrapping_mul(PITCH)) <= HOT {
            hot = node;
        }
        if node == LAST {
            return Err(if coefficients.slope(LAST.wrapping_mul(PITCH)) > 0 {
                CoefficientsRefused::ColdEndTooHigh
            } else {
                CoefficientsRefused::NotFalling
            });
        }
        node = node.wrapping_add(1);
    }
    // The slope is B + 3 C x^2: positive at both ends means positive between them.
    if coefficients.slope(hot.wrapping_mul(PITCH)) > 0
        && coefficients.slope(node.wrapping_mul(PITCH)) > 0
    {
        Ok((hot, node))
    } else {
        Err(CoefficientsRefused::NotFalling)
    }
}

/// Twice the thousandths of a degree Celsius, to the nearest, of a `1/T` in
/// units of 10^-15 per kelvin; the end of the scale where that is not positive.
const fn doubled_millicelsius(reciprocal: i64) -> i32 {
    const ICE_POINT: i64 = 546_300;
    let half = reciprocal / 2;
    match 2_000_000_000_000_000_000_i64
        .saturating_add(half)
        .checked_div(reciprocal)
    {
        Some(kelvin) if reciprocal > 0 => i32_from_i64(kelvin.saturating_sub(ICE_POINT)),
        Some(_) | None => i32::MAX,
    }
}

/// Everett's interpolation to the third difference: `place` 32768ths of the way
/// from the second node to the third.
///
/// `b + t (c - b) - t (1 - t) / 6 * ((2 - t) bend_b + (1 + t) bend_c)`, where a
/// bend is the second difference at a node. With the limits that [`Table::check`]
/// enforces no product exceeds 31 bits, so nothing wraps. Inlined because it is the dearest
/// part of a sample on the chip.
#[inline(always)]
const fn interpolate(nodes: &[i32; 4], place: i32) -> i32 {
    let [a, b, c, d] = *nodes;
    let fall = c.wrapping_sub(b);
    let near = fall.wrapping_sub(b.wrapping_sub(a));
    let far = d.wrapping_sub(c).wrapping_sub(fall);
    let straight = fall.wrapping_mul(place).wrapping_add(PITCH / 2) >> PITCH_BITS;
    // t (1 - t) in 32768ths: at most a quarter.
    let weight = place.wrapping_mul(PITCH.wrapping_sub(place)) >> PITCH_BITS;
    let bend = near
        .wrapping_mul(2)
        .wrapping_add(far)
        .wrapping_add(far.wrapping_sub(near).wrapping_mul(place) >> PITCH_BITS);
    // A sixth is 10923 / 65536.
    let correction = (weight.wrapping_mul(bend) >> 13).wrapping_mul(10_923) >> 18;
    b.wrapping_add(straight).wrapping_sub(correction)
}

impl fmt::Display for CoefficientsRefused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Unbounded => {
                "a coefficient is larger than 0.01: check its power of ten \
                 (A is near 1e-3, B near 2e-4, C near 1e-7)"
            }
            Self::NotFalling => {
                "the resistance does not fall all the way from -50 to +120 °C: these are not \
                 the coefficients of an NTC thermistor; check their order and their signs"
            }
            Self::HotEndTooLow => {
                "at +120 °C the resistance would be below 2 ohm: check that the \
                 coefficients are for ohms, not kilohms"
            }
            Self::ColdEndTooHigh => {
                "at -50 °C the resistance would be above 134 megohm: check the \
                 coefficients, or choose a thermistor of lower resistance"
            }
            Self::TooFlat => {
                "the resistance hardly changes with temperature (32 K or more for each \
                 factor of 1.4): check the coefficients"
            }
            Self::TooSteep => {
                "the resistance changes more than 14 octaves from -50 to +120 °C: \
                 no common thermistor is that steep; check the coefficients"
            }
            Self::TooCurved => {
                "the curve bends more than the table can follow within 4 mK: \
                 check the coefficients, C first"
            }
        })
    }
}

impl core::error::Error for CoefficientsRefused {}

#[cfg(test)]
mod tests;
