//! Must the load stay off until a person comes?
//!
//! Latched on by a cause, released by a deliberate reset only. The first cause
//! stays on record; a store keeps it across a loss of power.

use heapless::Deque;

use crate::time::{Duration, Instant};

/// Why the load is locked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Cause {
    /// In heat mode the temperature reached the ceiling, and that was confirmed.
    HeatCeiling,
    /// Too many probe faults were declared within the window.
    RepeatedProbeFaults,
    /// The contact was proven closed while the relay was released.
    WeldedContact,
    /// The stored settings could not be read.
    UnreadableSettings,
}

/// The most declared faults a window can count.
pub const MOST_REPEATS: usize = 10;

/// How many declared probe faults within how long lock the load out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum RepeatLimit {
    /// Probe faults never lock out.
    Unlimited,
    /// This many declared faults, 2 to 10, within the window lock out.
    Faults {
        /// How many.
        count: u8,
        /// Within how long.
        window: Duration,
    },
}

/// The latch.
#[derive(Debug, Clone)]
pub struct Lockout {
    cause: Option<Cause>,
    declared: Deque<Instant, MOST_REPEATS>,
}

impl Lockout {
    /// The latch as the store remembers it.
    #[must_use]
    pub const fn at_power_up(remembered: Option<Cause>) -> Self {
        Self {
            cause: remembered,
            declared: Deque::new(),
        }
    }

    /// Why the load is locked out, if it is.
    #[must_use]
    pub const fn cause(&self) -> Option<Cause> {
        self.cause
    }

    /// Latches; the first cause stays.
    pub fn latch(&mut self, cause: Cause) {
        self.cause.get_or_insert(cause);
    }

    /// Releases the latch and forgets the faults counted so far.
    pub fn release(&mut self) {
        self.cause = None;
        self.declared.clear();
    }

    /// Counts a probe fault declared `now`; latches when there were too many.
    pub fn count_fault(&mut self, now: Instant, limit: RepeatLimit) {
        if self.declared.is_full() {
            self.declared.pop_front();
        }
        // A place was made above.
        let _ = self.declared.push_back(now);
        let RepeatLimit::Faults { count, window } = limit else {
            return;
        };
        // They lie in the order in which they were declared.
        let first_of_them = self.declared.len().checked_sub(usize::from(count));
        let first_of_them = first_of_them.and_then(|index| self.declared.get(index));
        if first_of_them.is_some_and(|then| !now.is_past(*then, window)) {
            self.latch(Cause::RepeatedProbeFaults);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMIT: RepeatLimit = RepeatLimit::Faults {
        count: 3,
        window: Duration::from_hours(1),
    };

    fn after_faults_at(minutes: &[u32]) -> Lockout {
        let mut lockout = Lockout::at_power_up(None);
        for &minute in minutes {
            let now = Instant::POWER_UP.after(Duration::from_minutes(minute));
            lockout.count_fault(now, LIMIT);
        }
        lockout
    }

    #[test]
    fn the_first_cause_stays_until_released() {
        let mut lockout = Lockout::at_power_up(None);
        lockout.latch(Cause::HeatCeiling);
        lockout.latch(Cause::WeldedContact);
        assert_eq!(lockout.cause(), Some(Cause::HeatCeiling));
        lockout.release();
        assert_eq!(lockout.cause(), None);
    }

    #[test]
    fn faults_within_the_window_latch() {
        assert_eq!(after_faults_at(&[0, 30]).cause(), None);
        assert_eq!(after_faults_at(&[0, 30, 60]).cause(), None);
        assert_eq!(
            after_faults_at(&[0, 30, 59]).cause(),
            Some(Cause::RepeatedProbeFaults)
        );
    }
}
