//! How much of the time it is told the control may believe.
//!
//! Every hold in this crate runs on credited time: time that surely passed.
//! A board's clock may stand still, jump back, or jump ahead; none of these
//! may shorten a hold.
//!
//! - A step ahead by [`LONGEST_STEP`] or less is credited whole, a longer one not at all.
//! - A clock that went back pays back, before it is believed again, what it may
//!   make up for by coming right.
//! - A step at an equal time credits nothing and owes nothing: a caller may step
//!   more often than its clock ticks, and what the next tick credits has passed since
//!   the tick before. Only what moved in between came later than that tick, so its
//!   hold counts from the next one ([`crate::guard::Guard::count_from_next`]), however
//!   long the clock stood.
//!
//! One thing cannot be told from a late step: a clock that gains ten seconds or less
//! in one step beyond what has passed since the step before. A clock that stood still
//! and later makes up for it in one such step is no exception.
//!
//! Fault delays are no holds: a probe that turns bad while the clock stands is
//! declared up to [`LONGEST_STEP`] early.
//!
//! A clock that never moves again leaves every hold standing and every fault
//! undeclared: ending that is the work of the board's watchdog.

use crate::time::{Duration, Instant};

/// A step longer than this is not believed and credits nothing.
///
/// A caller that follows [`crate::control::Decision::wake`] comes at least
/// once a second; ten seconds leave room for a slow board.
pub const LONGEST_STEP: Duration = Duration::from_seconds(10);

/// The most time that has to be paid back after the clock jumped back.
///
/// Bounds how long the control stands still after a clock was set back for good.
pub const LARGEST_DEBT: Duration = Duration::from_hours(1);

/// Credited time starts here rather than at zero, so that starts of the last
/// hour before power-up can be told as moments.
pub const ORIGIN: Instant = Instant::from_millis(3_600_000);

/// What the last step of the clock that moved it looked like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ClockCondition {
    /// Time ran forward by a believable step.
    Running,
    /// Time went back, or ahead by more than [`LONGEST_STEP`].
    Doubtful,
}

/// What one step of the clock came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockStep {
    /// The clock is where the step before left it.
    Stands,
    /// It is believed, and so much of the time is credited.
    Credited(Duration),
    /// It is not, and nothing is credited.
    Doubted {
        /// What the step before looked like.
        before: ClockCondition,
    },
}

impl ClockStep {
    /// The time that is credited.
    #[must_use]
    pub const fn credited(self) -> Duration {
        match self {
            Self::Credited(stretch) => stretch,
            Self::Stands | Self::Doubted { .. } => Duration::ZERO,
        }
    }
}

/// Turns the caller's instants into credited time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CreditedClock {
    told: Option<Instant>,
    debt: Duration,
    now: Instant,
    condition: ClockCondition,
}

impl CreditedClock {
    /// A clock at power-up; credited time is [`ORIGIN`].
    #[must_use]
    pub const fn at_power_up() -> Self {
        Self {
            told: None,
            debt: Duration::ZERO,
            now: ORIGIN,
            condition: ClockCondition::Running,
        }
    }

    /// Credited time so far.
    #[must_use]
    pub const fn now(&self) -> Instant {
        self.now
    }

    /// What the last step that moved the clock looked like.
    #[must_use]
    pub const fn condition(&self) -> ClockCondition {
        self.condition
    }

    /// Whether less time may have been credited lately than has passed.
    #[must_use]
    pub const fn withholds(&self) -> bool {
        !self.debt.is_zero() || matches!(self.condition, ClockCondition::Doubtful)
    }

    /// How far a step to `told` is ahead where nothing about it is doubtful and
    /// nothing is left to be paid back; `None` otherwise.
    #[inline]
    pub(crate) fn plain_step(&self, told: Instant) -> Option<Duration> {
        let ahead = told.since(self.told?);
        let plain = !ahead.is_zero() && ahead <= LONGEST_STEP && self.debt.is_zero();
        plain.then_some(ahead)
    }

    /// Credits a [`Self::plain_step`] whole.
    #[inline]
    pub(crate) fn go_on(&mut self, told: Instant, ahead: Duration) {
        self.told = Some(told);
        self.now = self.now.after(ahead);
    }

    /// Takes note of what the board's clock says now, and credits what may be
    /// believed of the time since the last call.
    #[inline]
    pub fn observe(&mut self, told: Instant) -> ClockStep {
        let before = match self.told {
            Some(before) if before == told => return ClockStep::Stands,
            Some(before) => before,
            None => Instant::POWER_UP,
        };
        self.told = Some(told);
        let back = before.since(told);
        if !back.is_zero() {
            let debt = self.debt.and(back).max(LONGEST_STEP);
            self.debt = debt.min(LARGEST_DEBT);
            return self.doubt();
        }
        let ahead = told.since(before);
        if ahead > LONGEST_STEP {
            return self.doubt();
        }
        let mut credited = ahead;
        if !self.debt.is_zero() {
            credited = ahead.less(self.debt);
            self.debt = self.debt.less(ahead);
        }
        self.now = self.now.after(credited);
        self.condition = ClockCondition::Running;
        ClockStep::Credited(credited)
    }

    fn doubt(&mut self) -> ClockStep {
        let before = self.condition;
        self.condition = ClockCondition::Doubtful;
        ClockStep::Doubted { before }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(clock: &mut CreditedClock, millis: u64) -> (ClockCondition, u64) {
        clock.observe(Instant::from_millis(millis));
        (clock.condition(), clock.now().since(ORIGIN).millis())
    }

    #[test]
    fn steady_time_is_credited_whole() {
        let mut clock = CreditedClock::at_power_up();
        assert_eq!(told(&mut clock, 40), (ClockCondition::Running, 40));
        assert_eq!(told(&mut clock, 1_040), (ClockCondition::Running, 1_040));
        assert_eq!(told(&mut clock, 11_040), (ClockCondition::Running, 11_040));
    }

    #[test]
    fn the_first_step_may_be_at_power_up() {
        let mut clock = CreditedClock::at_power_up();
        assert_eq!(told(&mut clock, 0), (ClockCondition::Running, 0));
        assert_eq!(told(&mut clock, 1_000), (ClockCondition::Running, 1_000));
    }

    #[test]
    fn a_clock_that_stands_credits_nothing_and_owes_nothing() {
        let mut clock = CreditedClock::at_power_up();
        told(&mut clock, 1_000);
        assert_eq!(told(&mut clock, 1_000), (ClockCondition::Running, 1_000));
        assert_eq!(told(&mut clock, 1_000), (ClockCondition::Running, 1_000));
        assert_eq!(told(&mut clock, 2_000), (ClockCondition::Running, 2_000));
        assert_eq!(told(&mut clock, 2_000), (ClockCondition::Running, 2_000));
        assert_eq!(told(&mut clock, 12_000), (ClockCondition::Running, 12_000));
        assert_eq!(told(&mut clock, 12_000), (ClockCondition::Running, 12_000));
        assert_eq!(told(&mut clock, 22_001), (ClockCondition::Doubtful, 12_000));
        assert_eq!(told(&mut clock, 22_001), (ClockCondition::Doubtful, 12_000));
        assert_eq!(told(&mut clock, 23_001), (ClockCondition::Running, 13_000));
    }

    #[test]
    fn a_debt_stands_while_the_clock_does() {
        let mut clock = CreditedClock::at_power_up();
        told(&mut clock, 5_000);
        told(&mut clock, 2_000);
        assert_eq!(told(&mut clock, 2_000), (ClockCondition::Doubtful, 5_000));
        assert_eq!(told(&mut clock, 12_000), (ClockCondition::Running, 5_000));
        assert_eq!(told(&mut clock, 12_100), (ClockCondition::Running, 5_100));
    }

    #[test]
    fn time_is_withheld_while_the_clock_is_doubted_or_owes() {
        let mut clock = CreditedClock::at_power_up();
        told(&mut clock, 5_000);
        assert!(!clock.withholds());
        told(&mut clock, 905_000);
        assert!(clock.withholds(), "doubted, and owes nothing");
        told(&mut clock, 906_000);
        assert!(!clock.withholds());
        told(&mut clock, 905_000);
        told(&mut clock, 906_000);
        assert_eq!(clock.condition(), ClockCondition::Running);
        assert!(clock.withholds(), "believed, and owes");
        told(&mut clock, 915_000);
        assert!(!clock.withholds());
    }

    #[test]
    fn a_step_says_what_it_came_to() {
        let mut clock = CreditedClock::at_power_up();
        let mut step = |millis| clock.observe(Instant::from_millis(millis));
        let credited = |millis| ClockStep::Credited(Duration::from_millis(millis));
        let doubted = |before| ClockStep::Doubted { before };
        assert_eq!(step(0), credited(0));
        assert_eq!(step(0), ClockStep::Stands);
        assert_eq!(step(10_000), credited(10_000));
        assert_eq!(step(9_000), doubted(ClockCondition::Running));
        assert_eq!(step(8_000), doubted(ClockCondition::Doubtful));
        assert_eq!(step(17_500), credited(0));
        assert_eq!(step(20_500), credited(1_500));
        assert_eq!(step(20_500).credited(), Duration::ZERO);
        assert_eq!(step(21_500).credited(), Duration::from_millis(1_000));
        assert_eq!(step(99_999).credited(), Duration::ZERO);
    }

    #[test]
    fn a_glitch_back_and_return_credits_nothing_twice() {
        let mut clock = CreditedClock::at_power_up();
        told(&mut clock, 5_000);
        assert_eq!(told(&mut clock, 2_000), (ClockCondition::Doubtful, 5_000));
        assert_eq!(told(&mut clock, 5_100), (ClockCondition::Running, 5_000));
        assert_eq!(told(&mut clock, 11_999), (ClockCondition::Running, 5_000));
        assert_eq!(told(&mut clock, 12_100), (ClockCondition::Running, 5_100));
    }

    #[test]
    fn a_glitch_ahead_and_return_credits_nothing() {
        let mut clock = CreditedClock::at_power_up();
        told(&mut clock, 5_000);
        assert_eq!(told(&mut clock, 905_000), (ClockCondition::Doubtful, 5_000));
        assert_eq!(told(&mut clock, 5_100), (ClockCondition::Doubtful, 5_000));
        assert_eq!(told(&mut clock, 6_100), (ClockCondition::Running, 5_000));
    }

    #[test]
    fn a_clock_set_back_for_good_stands_still_for_an_hour_at_most() {
        let mut clock = CreditedClock::at_power_up();
        let mut millis = 0;
        while millis < 90_000_000 {
            millis += 10_000;
            told(&mut clock, millis);
        }
        let before = clock.now();
        told(&mut clock, 0);
        let restarted = (1..10_000).map(|second| second * 1_000).find(|millis| {
            told(&mut clock, *millis);
            clock.now() != before
        });
        assert_eq!(restarted, Some(LARGEST_DEBT.millis() + 1_000));
    }

    #[test]
    fn a_plain_step_is_ahead_believable_and_free_of_debt() {
        let plain = |clock: &CreditedClock, millis| {
            let step = clock.plain_step(Instant::from_millis(millis));
            step.map(Duration::millis)
        };
        let mut clock = CreditedClock::at_power_up();
        assert_eq!(plain(&clock, 40), None);
        told(&mut clock, 20_000);
        told(&mut clock, 30_000);
        assert_eq!(plain(&clock, 29_999), None);
        assert_eq!(plain(&clock, 30_000), None);
        assert_eq!(plain(&clock, 30_001), Some(1));
        assert_eq!(plain(&clock, 40_000), Some(10_000));
        assert_eq!(plain(&clock, 40_001), None);
        told(&mut clock, 25_000);
        assert_eq!(plain(&clock, 30_000), None);
        told(&mut clock, 35_000);
        assert_eq!(plain(&clock, 36_000), Some(1_000));
    }

    #[test]
    fn a_plain_step_is_credited_as_any_other() {
        let mut clock = CreditedClock::at_power_up();
        let mut plainly = clock;
        told(&mut clock, 1_000);
        told(&mut plainly, 1_000);
        told(&mut clock, 3_500);
        plainly.go_on(Instant::from_millis(3_500), Duration::from_millis(2_500));
        assert_eq!(plainly, clock);
        let stood = plainly.observe(Instant::from_millis(3_500));
        assert_eq!(stood, ClockStep::Stands);
    }
}
