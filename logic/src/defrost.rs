//! Off-cycle defrost: the coil's frost melts in the box's own air while the load rests.

use crate::guard::Relay;
use crate::time::{Duration, Instant};

/// Whether and how the load rests for the coil to clear. Cool mode only.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum DefrostPlan {
    /// No defrost.
    Off,
    /// A rest of fixed length at fixed intervals.
    Every {
        /// From the end of one rest, or power-up, to the beginning of the next.
        interval: Duration,
        /// Length of the rest, counted from when the relay is open.
        length: Duration,
    },
}

/// Whether the load rests for the coil's sake now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Defrost {
    /// Until the next one at `since` + interval.
    Waiting {
        /// End of the last defrost, or power-up.
        since: Instant,
    },
    /// The load rests.
    Resting {
        /// When the relay was first open for it.
        since: Instant,
    },
}

impl Defrost {
    /// The first interval runs from power-up.
    #[must_use]
    pub const fn at_power_up(now: Instant) -> Self {
        Self::Waiting { since: now }
    }

    /// Nothing to rest for any more; a plan that begins later begins with [`Self::at_power_up`].
    const fn ended(self, now: Instant) -> Self {
        match self {
            Self::Waiting { .. } => self,
            Self::Resting { .. } => Self::Waiting { since: now },
        }
    }

    /// The state at `now`, given what the relay has done so far.
    #[must_use]
    pub fn judged(self, now: Instant, plan: DefrostPlan, relay: Relay) -> Self {
        let (interval, length) = match plan {
            DefrostPlan::Off => return self.ended(now),
            DefrostPlan::Every { interval, length } => (interval, length),
        };
        match (self, relay) {
            (Self::Waiting { since }, _) if now.is_past(since, interval) => {
                Self::Resting { since: now }
            }
            (Self::Resting { .. }, Relay::Closed) => Self::Resting { since: now },
            (Self::Resting { since }, Relay::Open) if now.is_past(since, length) => {
                Self::Waiting { since: now }
            }
            (Self::Waiting { .. }, _) | (Self::Resting { .. }, Relay::Open) => self,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLAN: DefrostPlan = DefrostPlan::Every {
        interval: Duration::from_hours(6),
        length: Duration::from_minutes(30),
    };

    fn at(minutes: u32) -> Instant {
        Instant::POWER_UP.after(Duration::from_minutes(minutes))
    }

    #[test]
    fn the_rest_is_counted_from_the_open_relay() {
        let defrost = Defrost::at_power_up(at(0)).judged(at(359), PLAN, Relay::Closed);
        assert_eq!(defrost, Defrost::Waiting { since: at(0) });
        let defrost = defrost.judged(at(360), PLAN, Relay::Closed);
        assert_eq!(defrost, Defrost::Resting { since: at(360) });
        let defrost = defrost.judged(at(363), PLAN, Relay::Closed);
        assert_eq!(defrost, Defrost::Resting { since: at(363) });
        let defrost = defrost.judged(at(392), PLAN, Relay::Open);
        assert_eq!(defrost, Defrost::Resting { since: at(363) });
        let defrost = defrost.judged(at(393), PLAN, Relay::Open);
        assert_eq!(defrost, Defrost::Waiting { since: at(393) });
    }

    #[test]
    fn a_plan_taken_back_ends_the_rest() {
        let resting = Defrost::Resting { since: at(5) };
        let ended = resting.judged(at(9), DefrostPlan::Off, Relay::Open);
        assert_eq!(ended, Defrost::Waiting { since: at(9) });
        assert_eq!(ended.judged(at(10), DefrostPlan::Off, Relay::Open), ended);
    }
}
