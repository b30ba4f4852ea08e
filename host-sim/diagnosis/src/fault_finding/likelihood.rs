//! How well one hypothesis explains the readings.

use super::foreseen::{Expected, Foreseen, Levels};
use super::measurement::{MeterFunction, MeterReading, NO_CONTINUITY_OHM, Occasion};
use super::tolerance::{Interval, Tolerance};
use hysteron_installation::file::SUPPLIES_LIMIT;

/// What a hypothesis has come to under the readings so far.
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation {
    /// For each course of the hypothesis: what it leaves of the supplies, absent once a reading
    /// has ruled it out.
    levels: Vec<Option<Levels>>,
    /// How likely the readings are under it, up to a factor that all hypotheses share.
    pub likelihood: f64,
}

impl Explanation {
    /// Before any reading.
    #[must_use]
    pub fn fresh(foreseen: &Foreseen, tolerance: Tolerance) -> Self {
        let level = Interval {
            lowest: 1.0 - tolerance.supply,
            highest: 1.0 + tolerance.supply,
        };
        Self {
            levels: vec![Some([level; SUPPLIES_LIMIT]); foreseen.courses.len()],
            likelihood: 1.0,
        }
    }

    /// Whether the readings so far are explained.
    #[must_use]
    pub fn explains(&self) -> bool {
        self.levels.iter().any(Option::is_some)
    }

    /// Takes a reading of the measurement with that number into account.
    pub fn take(
        &mut self,
        foreseen: &Foreseen,
        number: usize,
        reading: MeterReading,
        tolerance: Tolerance,
    ) {
        let occasion = reading.measurement.occasion;
        let shown = match occasion.meter() {
            MeterFunction::Ohms => reading.shown.min(10.0 * NO_CONTINUITY_OHM),
            MeterFunction::Volts => reading.shown,
        };
        if let Some(range) = self.foreseen_range(foreseen, number, occasion, tolerance) {
            self.likelihood /= even(occasion, range).width();
        }
        let seen = tolerance.behind(occasion, shown);
        for (course, levels) in foreseen.courses.iter().zip(&mut self.levels) {
            let expected = course.expected[number];
            *levels = levels.and_then(|levels| {
                if tolerance
                    .shown(occasion, expected.range(&levels))
                    .holds(shown)
                {
                    narrowed(occasion, expected, &levels, seen)
                } else {
                    None
                }
            });
        }
    }

    /// What the meter may show, by everything known so far; absent when nothing is left of the
    /// hypothesis.
    #[must_use]
    pub fn foreseen_range(
        &self,
        foreseen: &Foreseen,
        number: usize,
        occasion: Occasion,
        tolerance: Tolerance,
    ) -> Option<Interval> {
        foreseen
            .courses
            .iter()
            .zip(&self.levels)
            .filter_map(|(course, levels)| {
                let true_value = course.expected[number].range(levels.as_ref()?);
                Some(tolerance.shown(occasion, true_value))
            })
            .reduce(Interval::joined)
    }
}

fn narrowed(
    occasion: Occasion,
    expected: Expected,
    levels: &Levels,
    seen: Interval,
) -> Option<Levels> {
    match occasion.meter() {
        MeterFunction::Volts => expected.narrowed(levels, seen),
        MeterFunction::Ohms => Some(*levels),
    }
}

/// A range on the scale on which its values are taken as equally likely: volts as they are,
/// ohms by their logarithm.
#[must_use]
pub fn even(occasion: Occasion, range: Interval) -> Interval {
    match occasion.meter() {
        MeterFunction::Volts => range,
        MeterFunction::Ohms => {
            let place = |ohm: f64| (ohm.min(10.0 * NO_CONTINUITY_OHM) + 0.5).log2();
            Interval {
                lowest: place(range.lowest),
                highest: place(range.highest),
            }
        }
    }
}

impl Interval {
    /// How wide it is; at least a thousandth.
    fn width(self) -> f64 {
        (self.highest - self.lowest).max(1e-3)
    }
}
