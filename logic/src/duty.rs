//! How hard the load has worked: the share of good running it was on.
//!
//! Good running is time with a good probe in which the control was free to run: switched
//! on, not locked out, not in a defrost, and past a change of mode.

use heapless::Deque;

use crate::guard::Relay;
use crate::time::Duration;

/// Hours of good running that are remembered.
pub const HOURS: usize = 24;

const HOUR: Duration = Duration::from_hours(1);

/// A share of time, in thousandths, 0 to 1,000.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Permille(u16);

impl Permille {
    /// Half of the time.
    pub const HALF: Self = Self(500);

    /// `thousandths` of the time; more than the whole is taken for the whole.
    #[must_use]
    pub const fn new(thousandths: u16) -> Self {
        if thousandths > 1_000 {
            Self(1_000)
        } else {
            Self(thousandths)
        }
    }

    /// This share in thousandths.
    #[must_use]
    pub const fn thousandths(self) -> u16 {
        self.0
    }
}

/// Measures the duty over the last 24 hours of good running.
#[derive(Debug, Clone, Default)]
pub struct DutyMeter {
    /// Seconds closed in each whole hour of good running, oldest first.
    hours: Deque<u16, HOURS>,
    good: Duration,
    closed: Duration,
}

impl DutyMeter {
    /// Nothing measured yet.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            hours: Deque::new(),
            good: Duration::ZERO,
            closed: Duration::ZERO,
        }
    }

    /// Forgets what was measured.
    pub fn forget(&mut self) {
        self.hours.clear();
        self.good = Duration::ZERO;
        self.closed = Duration::ZERO;
    }

    /// Adds a stretch of good running during which the relay was in one state.
    #[inline]
    pub fn add(&mut self, stretch: Duration, relay: Relay) {
        self.good = self.good.and(stretch);
        match relay {
            Relay::Closed => self.closed = self.closed.and(stretch),
            Relay::Open => {}
        }
        if self.good >= HOUR {
            self.close_hour();
        }
    }

    #[cold]
    fn close_hour(&mut self) {
        if self.hours.is_full() {
            self.hours.pop_front();
        }
        let seconds = u16::try_from(self.closed.whole_seconds()).unwrap_or(u16::MAX);
        // A place was made above.
        let _ = self.hours.push_back(seconds.min(3_600));
        self.good = Duration::ZERO;
        self.closed = Duration::ZERO;
    }

    /// Whole hours of good running that are known, [`HOURS`] at most.
    #[must_use]
    pub fn known_hours(&self) -> u8 {
        u8::try_from(self.hours.len()).unwrap_or(u8::MAX)
    }

    /// The duty, once 24 hours of good running are known.
    #[must_use]
    pub fn known(&self) -> Option<Permille> {
        if !self.hours.is_full() {
            return None;
        }
        let seconds: u32 = self
            .hours
            .iter()
            .fold(0, |sum, &hour| sum.saturating_add(u32::from(hour)));
        // 86,400 s are 1,000 thousandths.
        let thousandths = seconds.saturating_mul(5).checked_div(432)?;
        u16::try_from(thousandths).ok().map(Permille::new)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(meter: &mut DutyMeter, hours: u32, on_minutes: u32) {
        for _ in 0..hours {
            for minute in 0..60 {
                let relay = if minute < on_minutes {
                    Relay::Closed
                } else {
                    Relay::Open
                };
                meter.add(Duration::from_minutes(1), relay);
            }
        }
    }

    #[test]
    fn nothing_is_said_before_a_whole_day() {
        let mut meter = DutyMeter::new();
        run(&mut meter, 23, 30);
        assert_eq!((meter.known(), meter.known_hours()), (None, 23));
        run(&mut meter, 1, 30);
        assert_eq!(meter.known(), Some(Permille::HALF));
        assert_eq!(meter.known_hours(), 24);
    }

    #[test]
    fn old_hours_are_forgotten() {
        let mut meter = DutyMeter::new();
        run(&mut meter, 30, 60);
        assert_eq!(meter.known(), Some(Permille::new(1_000)));
        assert_eq!(meter.known_hours(), 24);
        run(&mut meter, 24, 15);
        assert_eq!(meter.known(), Some(Permille::new(250)));
    }
}
