//! What the relay has done in its life.

use crate::guard::Relay;
use crate::time::{Duration, Instant};

/// Life totals; a store keeps them across a loss of power.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Totals {
    /// Times the relay was closed.
    pub starts: u32,
    /// Time the relay was closed.
    pub run: Duration,
    /// The longest single run.
    pub longest_run: Duration,
}

/// Counts as the relay moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counters {
    totals: Totals,
    counted_to: Instant,
    run: Duration,
}

impl Counters {
    /// Carries on from `totals`.
    #[must_use]
    pub const fn at_power_up(now: Instant, totals: Totals) -> Self {
        Self {
            totals,
            counted_to: now,
            run: Duration::ZERO,
        }
    }

    /// Totals so far.
    #[must_use]
    pub const fn totals(&self) -> Totals {
        self.totals
    }

    /// Counts the time since the last call, through which the relay was in
    /// state `during`; returns that time.
    pub fn pass_time(&mut self, now: Instant, during: Relay) -> Duration {
        let stretch = now.since(self.counted_to);
        self.counted_to = now;
        match during {
            Relay::Open => {}
            Relay::Closed => {
                self.run = self.run.and(stretch);
                self.totals.run = self.totals.run.and(stretch);
                self.totals.longest_run = self.totals.longest_run.max(self.run);
            }
        }
        stretch
    }

    /// Counts a start.
    pub fn count_start(&mut self) {
        self.totals.starts = self.totals.starts.saturating_add(1);
        self.run = Duration::ZERO;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_add_up_and_the_longest_is_kept() {
        let at = |seconds| Instant::POWER_UP.after(Duration::from_seconds(seconds));
        let mut counters = Counters::at_power_up(at(0), Totals::default());
        counters.pass_time(at(10), Relay::Open);
        counters.count_start();
        counters.pass_time(at(40), Relay::Closed);
        counters.pass_time(at(50), Relay::Open);
        counters.count_start();
        counters.pass_time(at(60), Relay::Closed);
        assert_eq!(
            counters.totals(),
            Totals {
                starts: 2,
                run: Duration::from_seconds(40),
                longest_run: Duration::from_seconds(30),
            }
        );
    }
}
