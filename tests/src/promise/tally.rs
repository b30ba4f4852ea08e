//! Which situations were reached, and how often.

use std::collections::BTreeMap;
use std::fmt;

/// Counts situations by name.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tally(BTreeMap<&'static str, u64>);

impl Tally {
    /// Counts one situation.
    pub fn count(&mut self, situation: &'static str) {
        *self.0.entry(situation).or_default() += 1;
    }

    /// Counts one situation if it was reached.
    pub fn count_if(&mut self, reached: bool, situation: &'static str) {
        if reached {
            self.count(situation);
        }
    }

    /// How often a situation was reached.
    #[must_use]
    pub fn of(&self, situation: &str) -> u64 {
        self.0.get(situation).copied().unwrap_or(0)
    }

    /// Adds what another tally counted.
    pub fn add(&mut self, other: &Self) {
        for (situation, times) in &other.0 {
            *self.0.entry(situation).or_default() += times;
        }
    }

    /// Asserts that each situation was reached at least `floor` times.
    ///
    /// # Panics
    /// With the whole tally, if one was not.
    pub fn assert_reached(&self, floor: u64, situations: &[&str]) {
        for situation in situations {
            let times = self.of(situation);
            assert!(
                times >= floor,
                "\"{situation}\" was reached {times} times, expected {floor} or more; all that was reached:\n{self}"
            );
        }
    }
}

impl fmt::Display for Tally {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (situation, times) in &self.0 {
            writeln!(f, "{times:>9}  {situation}")?;
        }
        Ok(())
    }
}
