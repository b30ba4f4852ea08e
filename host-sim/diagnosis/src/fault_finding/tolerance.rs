//! How far a reading may lie from what was foreseen.

use super::measurement::{MeterFunction, NO_CONTINUITY_OHM, Occasion};

/// The meter's and the supply's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// The meter's error, as a fraction of the reading.
    pub meter: f64,
    /// How far every supply may lie from its nominal voltage, as a fraction of it.
    pub supply: f64,
}

impl Default for Tolerance {
    /// One percent for the meter (common practice), five for the supply (ANSI C84.1, Range A
    /// at the service, from memory).
    fn default() -> Self {
        Self {
            meter: 0.01,
            supply: 0.05,
        }
    }
}

/// From one value to another, both included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// The lowest.
    pub lowest: f64,
    /// The highest.
    pub highest: f64,
}

impl Interval {
    /// Whether the value lies in it.
    #[must_use]
    pub fn holds(self, value: f64) -> bool {
        (self.lowest..=self.highest).contains(&value)
    }

    /// Whether the two have no value in common.
    #[must_use]
    pub fn is_apart_from(self, other: Self) -> bool {
        self.highest < other.lowest || other.highest < self.lowest
    }

    /// The smallest range that holds both.
    #[must_use]
    pub fn joined(self, other: Self) -> Self {
        Self {
            lowest: self.lowest.min(other.lowest),
            highest: self.highest.max(other.highest),
        }
    }
}

impl Tolerance {
    /// What the meter's last digits and its leads add to its error: a volt, or 0.2 ohms
    /// (common practice: shorted leads read 0.1 to 0.3 ohms).
    fn floor(occasion: Occasion) -> f64 {
        match occasion.meter() {
            MeterFunction::Volts => 1.0,
            MeterFunction::Ohms => 0.2,
        }
    }

    /// What the meter may show of true values in that range.
    #[must_use]
    pub fn shown(self, occasion: Occasion, true_value: Interval) -> Interval {
        let floor = Self::floor(occasion);
        let shown = Interval {
            lowest: (true_value.lowest * (1.0 - self.meter) - floor).max(0.0),
            highest: true_value.highest * (1.0 + self.meter) + floor,
        };
        match occasion.meter() {
            MeterFunction::Volts => shown,
            MeterFunction::Ohms => Interval {
                lowest: shown.lowest.min(NO_CONTINUITY_OHM),
                highest: if true_value.highest >= NO_CONTINUITY_OHM {
                    f64::INFINITY
                } else {
                    shown.highest
                },
            },
        }
    }

    /// The true values that the meter may show as `shown`.
    #[must_use]
    pub fn behind(self, occasion: Occasion, shown: f64) -> Interval {
        let floor = Self::floor(occasion);
        Interval {
            lowest: ((shown - floor) / (1.0 + self.meter)).max(0.0),
            highest: (shown + floor) / (1.0 - self.meter),
        }
    }
}
