//! How hard the load has worked: the share of good running it was on.
//!
//! Good running is time with a good probe in which the control was free to run: switched
//! on, not locked out, not in a defrost, and past a change of mode.

use heapless::Deque;

use crate::guard::Relay;
use crate::time::Duration;

/// Hours of good running that are remembered.
pub const HOURS: usize = 24;

const HOUR_MS: u32 = 3_600_000;

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
    /// The sum of those, since adding them up is dear on the chip.
    closed_s: u32,
    good_ms: u32,
    closed_ms: u32,
}

impl DutyMeter {
    /// Nothing measured yet.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            hours: Deque::new(),
            closed_s: 0,
            good_ms: 0,
            closed_ms: 0,
        }
    }

    /// Forgets what was measured.
    pub fn forget(&mut self) {
        self.hours.clear();
        self.closed_s = 0;
        self.good_ms = 0;
        self.closed_ms = 0;
    }

    /// Adds a stretch of good running during which the relay was in one state.
    #[inline]
    pub fn add(&mut self, stretch: Duration, relay: Relay) {
        let millis = u32::try_from(stretch.millis()).unwrap_or(u32::MAX);
        self.good_ms = self.good_ms.saturating_add(millis);
        match relay {
            Relay::Closed => self.closed_ms = self.closed_ms.saturating_add(millis),
            Relay::Open => {}
        }
        if self.good_ms >= HOUR_MS {
            self.close_hour();
        }
    }

    #[cold]
    fn close_hour(&mut self) {
        if self.hours.is_full() {
            let oldest = self.hours.pop_front().map_or(0, u32::from);
            self.closed_s = self.closed_s.saturating_sub(oldest);
        }
        let seconds = u16::try_from(self.closed_ms.min(HOUR_MS) / 1_000).unwrap_or(u16::MAX);
        // A place was made above.
        let _ = self.hours.push_back(seconds);
        self.closed_s = self.closed_s.saturating_add(u32::from(seconds));
        self.good_ms = 0;
        self.closed_ms = 0;
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
        // 86,400 s are 1,000 thousandths, so 432 s are 5: a sixteenth of them, and of that
        // the 27th part, as 77,673 / 2^21, which is exact below 27,000 and no division.
        let thousandths = (self.closed_s.wrapping_mul(5) >> 4).wrapping_mul(77_673) >> 21;
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
    fn thousandths_are_those_of_the_seconds_rounded_down() {
        let mut meter = DutyMeter::new();
        run(&mut meter, 24, 0);
        for closed_s in 0..=86_400 {
            meter.closed_s = closed_s;
            let thousandths = u16::try_from(closed_s * 5 / 432).unwrap();
            assert_eq!(meter.known(), Some(Permille(thousandths)));
        }
    }

    #[test]
    fn what_was_forgotten_counts_no_more() {
        let mut meter = DutyMeter::new();
        run(&mut meter, 25, 60);
        meter.add(Duration::from_minutes(59), Relay::Closed);
        meter.forget();
        assert_eq!((meter.known(), meter.known_hours()), (None, 0));
        run(&mut meter, 24, 30);
        assert_eq!(meter.known(), Some(Permille::HALF));
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
