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

/// Counts as the relay moves; a run that goes on is added up only when somebody asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counters {
    ended: Totals,
    running_since: Option<Instant>,
}

impl Counters {
    /// Carries on from `totals`, with the relay open.
    #[must_use]
    pub const fn carried_on(totals: Totals) -> Self {
        Self {
            ended: totals,
            running_since: None,
        }
    }

    /// Totals up to `now`, the run that goes on included.
    #[must_use]
    pub fn totals(&self, now: Instant) -> Totals {
        let run = match self.running_since {
            Some(since) => now.since(since),
            None => Duration::ZERO,
        };
        Totals {
            starts: self.ended.starts,
            run: self.ended.run.and(run),
            longest_run: self.ended.longest_run.max(run),
        }
    }

    /// Counts a start, or the run that ends, as the relay moves to `relay`.
    pub fn count_movement(&mut self, now: Instant, relay: Relay) {
        match relay {
            Relay::Closed => {
                self.ended.starts = self.ended.starts.saturating_add(1);
                self.running_since = Some(now);
            }
            Relay::Open => {
                self.ended = self.totals(now);
                self.running_since = None;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_add_up_and_the_longest_is_kept() {
        let at = |seconds| Instant::POWER_UP.after(Duration::from_seconds(seconds));
        let mut counters = Counters::carried_on(Totals::default());
        counters.count_movement(at(10), Relay::Closed);
        counters.count_movement(at(40), Relay::Open);
        counters.count_movement(at(50), Relay::Closed);
        assert_eq!(
            counters.totals(at(60)),
            Totals {
                starts: 2,
                run: Duration::from_seconds(40),
                longest_run: Duration::from_seconds(30),
            }
        );
        assert_eq!(
            counters.totals(at(95)).longest_run,
            Duration::from_seconds(45)
        );
    }
}
