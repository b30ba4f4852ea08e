//! From single conversions to one trustworthy reading of the probe.
//!
//! A pass takes [`CONVERSIONS`] conversions. Those far from their median are
//! spikes, picked up from switching mains, and the median stands in for them.
//! The sum of sixteen 12-bit conversions is a reading of 16 bits: noise and
//! the converter's own dither make the added bits mean something.
//!
//! The reading is a ratio of the converter's reference. Since that also feeds
//! the divider, its drift cancels.

use crate::ports::Converter;

/// Conversions that make one reading.
pub const CONVERSIONS: usize = 16;

/// A conversion farther than this from the median is a spike, in 12-bit counts.
///
/// About half a kelvin in the middle of a 10 k curve; a quiet converter stays
/// within two counts.
pub const SPIKE: u16 = 16;

/// More spikes than this make the whole reading worthless.
pub const MOST_SPIKES: usize = 5;

/// What one pass read from the converter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Conversions {
    /// The sum of all conversions, 0 to 65520.
    Sum(u16),
    /// The converter failed, or the conversions contradict one another.
    Worthless,
}

/// Takes one reading.
pub fn read(converter: &mut impl Converter) -> Conversions {
    let mut sorted = [0_u16; CONVERSIONS];
    for taken in 0..CONVERSIONS {
        let Some(counts) = converter.convert() else {
            return Conversions::Worthless;
        };
        let counts = counts.min(4_095);
        let mut place = taken;
        while place > 0 && sorted[place - 1] > counts {
            sorted[place] = sorted[place - 1];
            place -= 1;
        }
        sorted[place] = counts;
    }
    let median = sorted[CONVERSIONS / 2];
    let mut spikes = 0;
    let mut sum = 0;
    for counts in sorted {
        if counts.abs_diff(median) > SPIKE {
            spikes += 1;
            sum += median;
        } else {
            sum += counts;
        }
    }
    if spikes > MOST_SPIKES {
        Conversions::Worthless
    } else {
        Conversions::Sum(sum)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    struct Scripted(std::vec::IntoIter<Option<u16>>);

    impl Converter for Scripted {
        fn convert(&mut self) -> Option<u16> {
            self.0.next().expect("no more than sixteen conversions")
        }
    }

    fn reading(conversions: impl IntoIterator<Item = u16>) -> Conversions {
        let script: Vec<_> = conversions.into_iter().map(Some).collect();
        assert_eq!(script.len(), CONVERSIONS);
        read(&mut Scripted(script.into_iter()))
    }

    #[test]
    fn quiet_conversions_add_up() {
        assert_eq!(reading([2_048; 16]), Conversions::Sum(32_768));
        assert_eq!(reading([0; 16]), Conversions::Sum(0));
        assert_eq!(reading([4_095; 16]), Conversions::Sum(65_520));
    }

    #[test]
    fn dither_between_two_counts_is_kept() {
        for above in 0..=16_u16 {
            let conversions = (0..16).map(|n| 1_000 + u16::from(n % 16 < above));
            assert_eq!(reading(conversions), Conversions::Sum(16_000 + above));
        }
    }

    #[test]
    fn five_spikes_leave_no_trace_and_six_spoil_the_reading() {
        let with_spikes = |count: usize| {
            let mut conversions = [1_234; 16];
            for (n, place) in [3, 4, 9, 0, 15, 7].into_iter().take(count).enumerate() {
                conversions[place] = if n % 2 == 0 { 4_095 } else { 0 };
            }
            reading(conversions)
        };
        assert_eq!(with_spikes(5), Conversions::Sum(1_234 * 16));
        assert_eq!(with_spikes(6), Conversions::Worthless);
    }

    #[test]
    fn a_failed_conversion_spoils_the_reading() {
        let mut script = vec![Some(1_000); 15];
        script.push(None);
        assert_eq!(
            read(&mut Scripted(script.into_iter())),
            Conversions::Worthless
        );
    }

    proptest! {
        #[test]
        fn a_reading_stays_near_the_median(mut conversions in prop::collection::vec(0_u16..=5_000, 16)) {
            let answer = reading(conversions.iter().copied());
            conversions.sort_unstable();
            let median = conversions[8].min(4_095);
            if let Conversions::Sum(sum) = answer {
                prop_assert!(sum.abs_diff(median * 16) <= SPIKE * 16);
            }
        }

        #[test]
        fn few_spikes_never_move_a_reading(base in 20_u16..4_000, noise in prop::collection::vec(0_u16..=4, 16), spikes in prop::collection::vec((0_usize..16, 0_u16..=4_095), 0..=5)) {
            let quiet: Vec<_> = noise.iter().map(|n| base + n).collect();
            let mut hit = quiet.clone();
            for (place, counts) in spikes {
                hit[place] = counts;
            }
            let (Conversions::Sum(before), Conversions::Sum(after)) = (reading(quiet), reading(hit)) else {
                return Err(TestCaseError::fail("worthless"));
            };
            prop_assert!(before.abs_diff(after) <= 5 * (SPIKE + 4));
        }
    }
}
