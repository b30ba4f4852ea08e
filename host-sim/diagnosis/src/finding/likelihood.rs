//! How well one hypothesis explains the readings.

use super::foreseen::{Expected, Foreseen, Levels};
use super::moment::{Moment, NO_CONTINUITY_OHM, Reading, Setting};
use super::tolerance::{Range, Tolerance};
use hysteron_installation::file::SUPPLIES_LIMIT;

/// What a hypothesis has come to under the readings so far.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// For each course of the hypothesis: what it leaves of the supplies, absent once a reading
    /// has ruled it out.
    levels: Vec<Option<Levels>>,
    /// How likely the readings are under it, up to a factor that all hypotheses share.
    pub likelihood: f64,
}

impl Standing {
    /// Before any reading.
    #[must_use]
    pub fn fresh(foreseen: &Foreseen, tolerance: Tolerance) -> Self {
        let level = Range {
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
        reading: Reading,
        tolerance: Tolerance,
    ) {
        let moment = reading.measurement.moment;
        let shown = match moment.setting() {
            Setting::Ohms => reading.shown.min(10.0 * NO_CONTINUITY_OHM),
            Setting::Volts => reading.shown,
        };
        if let Some(range) = self.foreseen_range(foreseen, number, moment, tolerance) {
            self.likelihood /= even(moment, range).width();
        }
        let seen = tolerance.behind(moment, shown);
        for (course, levels) in foreseen.courses.iter().zip(&mut self.levels) {
            let expected = course.expected[number];
            *levels = levels.and_then(|levels| {
                if tolerance
                    .shown(moment, expected.range(&levels))
                    .holds(shown)
                {
                    narrowed(moment, expected, &levels, seen)
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
        moment: Moment,
        tolerance: Tolerance,
    ) -> Option<Range> {
        foreseen
            .courses
            .iter()
            .zip(&self.levels)
            .filter_map(|(course, levels)| {
                let true_value = course.expected[number].range(levels.as_ref()?);
                Some(tolerance.shown(moment, true_value))
            })
            .reduce(Range::joined)
    }
}

fn narrowed(moment: Moment, expected: Expected, levels: &Levels, seen: Range) -> Option<Levels> {
    match moment.setting() {
        Setting::Volts => expected.narrowed(levels, seen),
        Setting::Ohms => Some(*levels),
    }
}

/// A range on the scale on which its values are taken as equally likely: volts as they are,
/// ohms by their logarithm.
#[must_use]
pub fn even(moment: Moment, range: Range) -> Range {
    match moment.setting() {
        Setting::Volts => range,
        Setting::Ohms => {
            let place = |ohm: f64| (ohm.min(10.0 * NO_CONTINUITY_OHM) + 0.5).log2();
            Range {
                lowest: place(range.lowest),
                highest: place(range.highest),
            }
        }
    }
}

impl Range {
    /// How wide it is; at least a thousandth.
    fn width(self) -> f64 {
        (self.highest - self.lowest).max(1e-3)
    }
}
