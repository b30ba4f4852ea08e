//! From what came in to a measurement: counts -> resistance -> temperature.

use crate::curve::{COLDEST, HOTTEST};
use crate::divider::{Counts, Element};
use crate::probe::Measurement;
use crate::resistance::Resistance;
use crate::settings::Settings;
use crate::units::Temperature;

/// One sample, at whichever step of the way of data it comes in.
///
/// A board gives counts. A recording may give resistance or temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Sample {
    /// What the converter read.
    Counts(Counts),
    /// What an ohmmeter read.
    Resistance(Resistance),
    /// What a thermometer read.
    Temperature(Temperature),
}

impl Sample {
    /// The sample as a measurement under `settings`: their divider, curve and offset.
    #[inline]
    #[must_use]
    pub fn measured(&self, settings: &Settings) -> Measurement {
        let element = match self {
            Self::Counts(counts) => settings.divider().element(*counts),
            Self::Resistance(resistance) => Element::Resistance(*resistance),
            Self::Temperature(temperature) if (COLDEST..=HOTTEST).contains(temperature) => {
                return offset(*temperature, settings);
            }
            Self::Temperature(_) => return Measurement::OutOfRange,
        };
        match element {
            Element::Open => Measurement::Open,
            Element::Shorted => Measurement::Shorted,
            Element::Resistance(resistance) => {
                match settings.draft().curve.temperature(resistance) {
                    Ok(temperature) => offset(temperature, settings),
                    Err(_) => Measurement::OutOfRange,
                }
            }
        }
    }
}

fn offset(temperature: Temperature, settings: &Settings) -> Measurement {
    Measurement::At(temperature.raised_by(settings.draft().probe_offset))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_temperature_no_probe_can_have_is_out_of_range() {
        let measured = |temperature| Sample::Temperature(temperature).measured(&Settings::DEFAULT);
        for edge in [COLDEST, HOTTEST] {
            assert_eq!(measured(edge), Measurement::At(edge));
        }
        let step = crate::units::Difference::from_millikelvin(1);
        for beyond in [COLDEST.lowered_by(step), HOTTEST.raised_by(step)] {
            assert_eq!(measured(beyond), Measurement::OutOfRange);
        }
    }
}
