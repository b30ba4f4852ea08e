//! Temperatures of counts that a board has seen before.
//!
//! A day has 86,400 samples and far fewer different counts. What the control's own
//! arithmetic made of a count is remembered, so that it is worked out once.

use hysteron_logic::divider::{Counts, Element};
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::Settings;
use hysteron_logic::units::Temperature;

/// What is not known yet. A temperature of exactly 0 °C is worked out each time.
const UNKNOWN: i32 = 0;

/// Temperatures by counts, under one choice of divider and curve.
#[derive(Debug, Clone)]
pub struct KnownReadings {
    millicelsius: Vec<i32>,
}

/// Nothing is known yet.
impl Default for KnownReadings {
    fn default() -> Self {
        Self {
            millicelsius: vec![UNKNOWN; usize::from(Counts::FULL.sum()) + 1],
        }
    }
}

impl KnownReadings {
    /// The sample that means to a control under `settings` what `counts` would.
    ///
    /// The settings must have the same divider and curve from call to call.
    #[inline]
    pub fn sample(&mut self, counts: Counts, settings: &Settings) -> Sample {
        match self.millicelsius[usize::from(counts.sum())] {
            UNKNOWN => self.work_out(counts, settings),
            known => Sample::Temperature(Temperature::from_millicelsius(known)),
        }
    }

    #[cold]
    fn work_out(&mut self, counts: Counts, settings: &Settings) -> Sample {
        if let Element::Resistance(resistance) = settings.divider().element(counts)
            && let Ok(temperature) = settings.draft().curve.temperature(resistance)
        {
            self.millicelsius[usize::from(counts.sum())] = temperature.millicelsius();
        }
        Sample::Counts(counts)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_count_means_what_it_means_to_the_control() {
        let settings = Settings::DEFAULT;
        let mut known = KnownReadings::default();
        let mut remembered = 0;
        for sum in 0..=Counts::FULL.sum() {
            let counts = Counts::from_oversampled(sum);
            let measured = Sample::Counts(counts).measured(&settings);
            for _ in 0..2 {
                let sample = known.sample(counts, &settings);
                assert_eq!(sample.measured(&settings), measured, "{sum}");
                remembered += u32::from(matches!(sample, Sample::Temperature(_)));
            }
        }
        assert!(remembered > 50_000, "{remembered}");
    }
}
