//! May the relay change now? The only place that closes it.
//!
//! ```text
//!            wish to close, rest done, a start left this hour
//!   Open ------------------------------------------------------> Closed
//!     ^                                                             |
//!     +---- wish to open: at once if overriding, else when the -----+
//!           minimum on-time has run
//! ```

use heapless::Deque;

use crate::time::{Duration, Instant};

/// Starts of the last hour that are remembered; also the highest limit.
pub const MOST_STARTS: usize = 30;

/// The window in which starts are counted.
pub const STARTS_WINDOW: Duration = Duration::from_hours(1);

/// The state the relay's coil is driven to. A dead board is `Open`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Relay {
    /// Coil without current: common to normally closed.
    Open,
    /// Coil with current: common to normally open.
    Closed,
}

/// What the rest of the control asks of the relay.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Wish {
    /// Close as soon as every hold allows it.
    Close,
    /// Open once the minimum on-time has run.
    Open,
    /// Open at once: somebody or something may be harmed by waiting.
    OpenAtOnce,
}

/// How many starts an hour may see.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum StartsLimit {
    /// No limit.
    Unlimited,
    /// At most this many in any sliding hour, 1 to 30.
    PerHour(u8),
}

/// The limits in force; they may change from step to step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// The relay stays open at least this long.
    pub minimum_off_time: Duration,
    /// The relay stays closed at least this long, unless something overrides it.
    pub minimum_on_time: Duration,
    /// Starts in any sliding hour.
    pub starts: StartsLimit,
    /// Added to the off-time after power-up, so that many controls do not start together.
    pub power_up_stagger: Duration,
}

/// Time left of each hold; zero where it does not hold.
///
/// Of `power_up`, `off_time` and `on_time` one at most is not zero: the load has
/// never run, or it rests, or it runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Holds {
    /// Until the load may start for the first time after power-up.
    pub power_up: Duration,
    /// Until the minimum off-time has run.
    pub off_time: Duration,
    /// Until a start is left in this hour.
    pub starts: Duration,
    /// Until the minimum on-time has run.
    pub on_time: Duration,
}

impl Holds {
    /// What is left of each when `spent` has passed.
    #[inline]
    #[must_use]
    pub const fn less(self, spent: Duration) -> Self {
        Self {
            power_up: self.power_up.less(spent),
            off_time: self.off_time.less(spent),
            starts: self.starts.less(spent),
            on_time: self.on_time.less(spent),
        }
    }

    /// Time until the first of those that hold ends; no hold, no end.
    #[must_use]
    #[inline]
    pub fn next_end(&self) -> Duration {
        // One less and round the end of the numbers, so that no hold at all comes last.
        let last = |left: Duration| left.millis().wrapping_sub(1);
        // One of the three at most is not zero.
        let rest_or_run = last(Duration::from_millis(
            self.power_up.millis() | self.off_time.millis() | self.on_time.millis(),
        ));
        let least = rest_or_run.min(last(self.starts));
        Duration::from_millis(least.saturating_add(1))
    }
}

/// Since when the load has been at rest, as far as the control can know.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Since {
    /// Never closed yet: the load may have stopped at the moment of power-up.
    PowerUp(Instant),
    Opened(Instant),
    Closed(Instant),
}

/// Whether the moment of the last movement is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Moment {
    Known,
    /// The clock stood: the movement came at some time before it goes on.
    UntilClockGoesOn,
}

/// Remembers when the relay last moved and rules on the next movement.
#[derive(Debug, Clone)]
pub struct Guard {
    since: Since,
    moment: Moment,
    starts: Deque<Instant, MOST_STARTS>,
}

impl Guard {
    /// Open, as if the load had stopped at `power_up`; `earlier_starts` are
    /// those of the hour before it, oldest first.
    #[must_use]
    pub fn at_power_up(power_up: Instant, earlier_starts: impl Iterator<Item = Instant>) -> Self {
        let mut guard = Self {
            since: Since::PowerUp(power_up),
            moment: Moment::Known,
            starts: Deque::new(),
        };
        earlier_starts.for_each(|start| guard.remember_start(start));
        guard
    }

    /// What the relay is driven to.
    #[must_use]
    pub const fn relay(&self) -> Relay {
        match self.since {
            Since::PowerUp(_) | Since::Opened(_) => Relay::Open,
            Since::Closed(_) => Relay::Closed,
        }
    }

    /// How long the relay has been where it is.
    #[must_use]
    pub const fn unchanged_for(&self, now: Instant) -> Duration {
        match self.since {
            Since::PowerUp(then) | Since::Opened(then) | Since::Closed(then) => now.since(then),
        }
    }

    /// The relay has moved while the clock stood, so how long ago nobody can say: its
    /// holds count from when the clock goes on, see [`Guard::clock_goes_on`].
    pub const fn count_from_next(&mut self) {
        self.moment = Moment::UntilClockGoesOn;
    }

    /// The clock goes on after it stood, and says `now`.
    pub fn clock_goes_on(&mut self, now: Instant) {
        if self.moment_is_known() {
            return;
        }
        self.moment = Moment::Known;
        let stood_at = match self.since {
            Since::PowerUp(then) | Since::Opened(then) | Since::Closed(then) => then,
        };
        self.since = match self.since {
            Since::PowerUp(then) => Since::PowerUp(then),
            Since::Opened(_) => Since::Opened(now),
            Since::Closed(_) => Since::Closed(now),
        };
        // The last ones, since starts are remembered in their order.
        for start in self.starts.iter_mut().rev() {
            if *start != stood_at {
                break;
            }
            *start = now;
        }
    }

    /// Whether the holds count from a moment that is known.
    #[must_use]
    pub const fn moment_is_known(&self) -> bool {
        matches!(self.moment, Moment::Known)
    }

    /// Remembered starts, oldest first.
    pub fn starts(&self) -> impl Iterator<Item = Instant> + '_ {
        self.starts.iter().copied()
    }

    /// Time left of each hold at `now` under `limits`.
    #[inline]
    #[must_use]
    pub fn holds(&self, now: Instant, limits: Limits) -> Holds {
        let [power_up, off_time, on_time] = match self.since {
            Since::PowerUp(then) => {
                let rest = limits.minimum_off_time.and(limits.power_up_stagger);
                [now.left_of(rest, then), Duration::ZERO, Duration::ZERO]
            }
            Since::Opened(then) => {
                let rest = now.left_of(limits.minimum_off_time, then);
                [Duration::ZERO, rest, Duration::ZERO]
            }
            Since::Closed(then) => {
                let run = now.left_of(limits.minimum_on_time, then);
                [Duration::ZERO, Duration::ZERO, run]
            }
        };
        let starts = match self.relay() {
            Relay::Open => self.wait_for_start(now, limits.starts),
            Relay::Closed => Duration::ZERO,
        };
        Holds {
            power_up,
            off_time,
            starts,
            on_time,
        }
    }

    /// Moves the relay as far as `wish` and every hold allow.
    ///
    /// The holds must come from [`Guard::holds`] at the same `now`.
    #[inline]
    pub fn rule(&mut self, now: Instant, wish: Wish, holds: Holds) -> Relay {
        match (self.relay(), wish) {
            (Relay::Open, Wish::Close) => {
                let rested = holds.power_up.is_zero() && holds.off_time.is_zero();
                if rested && holds.starts.is_zero() {
                    self.since = Since::Closed(now);
                    self.remember_start(now);
                }
            }
            (Relay::Closed, Wish::Open) => {
                if holds.on_time.is_zero() {
                    self.since = Since::Opened(now);
                }
            }
            (Relay::Closed, Wish::OpenAtOnce) => self.since = Since::Opened(now),
            (Relay::Open, Wish::Open | Wish::OpenAtOnce) | (Relay::Closed, Wish::Close) => {}
        }
        self.relay()
    }

    fn remember_start(&mut self, start: Instant) {
        if self.starts.is_full() {
            self.starts.pop_front();
        }
        // A place was made above.
        let _ = self.starts.push_back(start);
    }

    fn wait_for_start(&self, now: Instant, limit: StartsLimit) -> Duration {
        let StartsLimit::PerHour(limit) = limit else {
            return Duration::ZERO;
        };
        if limit == 0 {
            return STARTS_WINDOW;
        }
        let oldest_that_counts = self.starts.len().checked_sub(usize::from(limit));
        match oldest_that_counts.and_then(|index| self.starts.get(index)) {
            Some(start) => now.left_of(STARTS_WINDOW, *start),
            None => Duration::ZERO,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMITS: Limits = Limits {
        minimum_off_time: Duration::from_minutes(5),
        minimum_on_time: Duration::from_minutes(2),
        starts: StartsLimit::PerHour(2),
        power_up_stagger: Duration::from_seconds(30),
    };

    fn at(seconds: u32) -> Instant {
        Instant::POWER_UP.after(Duration::from_seconds(seconds))
    }

    fn rule(guard: &mut Guard, seconds: u32, wish: Wish) -> Relay {
        let holds = guard.holds(at(seconds), LIMITS);
        guard.rule(at(seconds), wish, holds)
    }

    fn rested() -> Guard {
        Guard::at_power_up(Instant::POWER_UP, core::iter::empty())
    }

    #[test]
    fn the_next_end_is_that_of_the_hold_that_ends_first() {
        let next = |hold: fn(&mut Holds)| {
            let mut holds = Holds::default();
            hold(&mut holds);
            holds.next_end()
        };
        const FIVE: Duration = Duration::from_seconds(5);
        const SIX: Duration = Duration::from_seconds(6);
        assert_eq!(next(|_| ()), Duration::from_millis(u64::MAX));
        assert_eq!(next(|holds| holds.power_up = FIVE), FIVE);
        assert_eq!(next(|holds| holds.off_time = FIVE), FIVE);
        assert_eq!(next(|holds| holds.on_time = FIVE), FIVE);
        assert_eq!(next(|holds| holds.starts = FIVE), FIVE);
        assert_eq!(
            next(|holds| (holds.off_time, holds.starts) = (FIVE, SIX)),
            FIVE
        );
        assert_eq!(
            next(|holds| (holds.off_time, holds.starts) = (SIX, FIVE)),
            FIVE
        );
    }

    #[test]
    fn starts_are_told_oldest_first() {
        let mut guard = rested();
        assert_eq!(guard.starts().count(), 0);
        rule(&mut guard, 330, Wish::Close);
        rule(&mut guard, 450, Wish::Open);
        rule(&mut guard, 750, Wish::Close);
        assert!(guard.starts().eq([at(330), at(750)]));
    }

    #[test]
    fn power_up_waits_for_off_time_and_stagger() {
        let mut guard = rested();
        assert_eq!(rule(&mut guard, 329, Wish::Close), Relay::Open);
        assert_eq!(rule(&mut guard, 330, Wish::Close), Relay::Closed);
    }

    #[test]
    fn satisfied_waits_for_the_on_time_and_lockout_does_not() {
        let mut guard = rested();
        rule(&mut guard, 330, Wish::Close);
        assert_eq!(rule(&mut guard, 449, Wish::Open), Relay::Closed);
        assert_eq!(rule(&mut guard, 449, Wish::OpenAtOnce), Relay::Open);
        assert_eq!(rule(&mut guard, 748, Wish::Close), Relay::Open);
        assert_eq!(rule(&mut guard, 749, Wish::Close), Relay::Closed);
        assert_eq!(rule(&mut guard, 869, Wish::Open), Relay::Open);
    }

    #[test]
    fn the_third_start_waits_for_the_first_to_leave_the_hour() {
        let mut guard = rested();
        rule(&mut guard, 330, Wish::Close);
        rule(&mut guard, 450, Wish::Open);
        rule(&mut guard, 750, Wish::Close);
        rule(&mut guard, 870, Wish::Open);
        assert_eq!(rule(&mut guard, 3_929, Wish::Close), Relay::Open);
        assert_eq!(
            guard.holds(at(3_929), LIMITS).starts,
            Duration::from_seconds(1)
        );
        assert_eq!(rule(&mut guard, 3_930, Wish::Close), Relay::Closed);
    }

    #[test]
    fn what_moves_while_the_clock_stands_counts_from_when_it_goes_on() {
        let mut guard = rested();
        rule(&mut guard, 330, Wish::Close);
        guard.count_from_next();
        guard.clock_goes_on(at(340));
        assert_eq!(rule(&mut guard, 459, Wish::Open), Relay::Closed);
        assert_eq!(rule(&mut guard, 460, Wish::Open), Relay::Open);
        guard.count_from_next();
        guard.clock_goes_on(at(465));
        guard.clock_goes_on(at(470));
        assert_eq!(rule(&mut guard, 764, Wish::Close), Relay::Open);
        assert_eq!(rule(&mut guard, 765, Wish::Close), Relay::Closed);
        rule(&mut guard, 885, Wish::Open);
        assert_eq!(rule(&mut guard, 3_939, Wish::Close), Relay::Open);
        assert_eq!(rule(&mut guard, 3_940, Wish::Close), Relay::Closed);
    }

    #[test]
    fn starts_before_power_up_count() {
        let earlier = [at(3_000), at(3_500)];
        let mut guard = Guard::at_power_up(at(3_600), earlier.into_iter());
        assert_eq!(rule(&mut guard, 6_599, Wish::Close), Relay::Open);
        assert_eq!(rule(&mut guard, 6_600, Wish::Close), Relay::Closed);
    }
}
