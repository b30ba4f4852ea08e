//! A counter of microseconds that wraps, made into time that does not.

use hysteron_logic::time::Instant;

/// Extends a 32-bit counter of microseconds to 64 bits of milliseconds.
///
/// The counter wraps every 71 minutes and 35 seconds. Nothing is lost as long
/// as [`BoardClock::observe`] is called more often than that; a pass calls it
/// ten times a second.
#[derive(Debug, Clone)]
pub struct BoardClock {
    counter: u32,
    /// Microseconds that do not make a whole millisecond yet.
    left: u32,
    millis: u64,
}

impl BoardClock {
    /// A clock that stands at power-up while the counter stands at `counter`.
    #[must_use]
    pub const fn at_power_up(counter: u32) -> Self {
        Self::resumed(counter, Instant::POWER_UP)
    }

    /// A clock that stands at `now` while the counter stands at `counter`.
    #[must_use]
    pub const fn resumed(counter: u32, now: Instant) -> Self {
        Self {
            counter,
            left: 0,
            millis: now.millis(),
        }
    }

    /// The time, given what the counter stands at now.
    ///
    /// Stays at the end of 64-bit time rather than starting anew.
    pub fn observe(&mut self, counter: u32) -> Instant {
        let passed = counter.wrapping_sub(self.counter);
        self.counter = counter;
        let whole = passed / 1_000;
        self.left += passed % 1_000;
        let carried = if self.left >= 1_000 {
            self.left -= 1_000;
            1
        } else {
            0
        };
        self.millis = self.millis.saturating_add(u64::from(whole + carried));
        Instant::from_millis(self.millis)
    }

    /// Microseconds from the time that was last told to the moment at which the counter
    /// stands at `counter`. Right for 71 minutes.
    #[must_use]
    pub const fn micros_past_told(&self, counter: u32) -> u32 {
        counter.wrapping_sub(self.counter).saturating_add(self.left)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_wrap_of_the_counter_loses_nothing() {
        let mut clock = BoardClock::at_power_up(u32::MAX - 1_499);
        assert_eq!(clock.observe(u32::MAX).millis(), 1);
        assert_eq!(clock.observe(0).millis(), 1);
        assert_eq!(clock.observe(500).millis(), 2);
    }

    #[test]
    fn what_is_past_the_told_time_counts_what_the_millisecond_left_out() {
        let mut clock = BoardClock::at_power_up(u32::MAX - 1_499);
        assert_eq!(clock.observe(u32::MAX).millis(), 1);
        assert_eq!(clock.micros_past_told(u32::MAX), 499);
        assert_eq!(clock.micros_past_told(19_999), 20_499);
    }

    #[test]
    fn the_end_of_time_holds() {
        let mut clock = BoardClock::resumed(0, Instant::from_millis(u64::MAX - 1));
        assert_eq!(clock.observe(1_000).millis(), u64::MAX);
        assert_eq!(clock.observe(900_000_000).millis(), u64::MAX);
    }

    proptest! {
        #[test]
        fn time_is_the_sum_of_the_steps(start: u32, steps in prop::collection::vec(0_u32..=u32::MAX, 1..200)) {
            let mut clock = BoardClock::at_power_up(start);
            let mut counter = start;
            let mut micros: u64 = 0;
            for step in steps {
                counter = counter.wrapping_add(step);
                micros += u64::from(step);
                prop_assert_eq!(clock.observe(counter).millis(), micros / 1_000);
            }
        }
    }
}
