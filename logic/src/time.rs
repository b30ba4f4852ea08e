//! Time as an argument: instants since power-up and the durations between them.
//!
//! Nothing in this crate reads a clock. The caller passes the time in with
//! every step; [`crate::clock`] decides how much of it may be believed.

use core::fmt;
use core::time;

use crate::conversion::u64_from_u32;

/// A moment, in milliseconds since power-up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Instant(u64);

/// A length of time, in milliseconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Duration(u64);

impl Instant {
    /// The moment of power-up.
    pub const POWER_UP: Self = Self(0);

    /// The moment `millis` milliseconds after power-up.
    #[must_use]
    pub const fn from_millis(millis: u64) -> Self {
        Self(millis)
    }

    /// Milliseconds since power-up.
    #[must_use]
    pub const fn millis(self) -> u64 {
        self.0
    }

    /// The moment `duration` later; stays at the end of time rather than wrapping.
    #[must_use]
    pub const fn after(self, duration: Duration) -> Self {
        Self(self.0.saturating_add(duration.0))
    }

    /// The moment `duration` earlier; stays at power-up rather than wrapping.
    #[must_use]
    pub const fn before(self, duration: Duration) -> Self {
        Self(self.0.saturating_sub(duration.0))
    }

    /// Whether `length` has passed since `earlier`, which does not lie ahead.
    ///
    /// As comparing [`Self::since`] with it, at half the price: without a saturation, which
    /// is dear on a processor of 32 bits. Neither is longer than 2^63 ms.
    #[must_use]
    pub const fn is_past(self, earlier: Self, length: Duration) -> bool {
        self.0.wrapping_sub(earlier.0).cast_signed() >= length.0.cast_signed()
    }

    /// What is left of a `length` that began at `earlier`, which does not lie ahead; zero
    /// once it has passed. At the price of [`Self::is_past`], and for lengths as there.
    #[must_use]
    pub const fn left_of(self, length: Duration, earlier: Self) -> Duration {
        let left = length.0.wrapping_sub(self.0.wrapping_sub(earlier.0));
        if left.cast_signed() < 0 {
            Duration::ZERO
        } else {
            Duration(left)
        }
    }

    /// How long ago `earlier` was; zero if it lies ahead.
    #[must_use]
    pub const fn since(self, earlier: Self) -> Duration {
        Duration(self.0.saturating_sub(earlier.0))
    }
}

impl Duration {
    /// No time at all.
    pub const ZERO: Self = Self(0);

    /// A length of `millis` milliseconds.
    #[must_use]
    pub const fn from_millis(millis: u64) -> Self {
        Self(millis)
    }

    /// A length of `seconds` seconds.
    #[must_use]
    pub const fn from_seconds(seconds: u32) -> Self {
        Self(u64_from_u32(seconds).saturating_mul(1_000))
    }

    /// A length of `minutes` minutes.
    #[must_use]
    pub const fn from_minutes(minutes: u32) -> Self {
        Self(u64_from_u32(minutes).saturating_mul(60_000))
    }

    /// A length of `hours` hours.
    #[must_use]
    pub const fn from_hours(hours: u32) -> Self {
        Self(u64_from_u32(hours).saturating_mul(3_600_000))
    }

    /// This length in milliseconds.
    #[must_use]
    pub const fn millis(self) -> u64 {
        self.0
    }

    /// This length in whole seconds, rounded down.
    #[must_use]
    pub const fn whole_seconds(self) -> u64 {
        self.0 / 1_000
    }

    /// Both lengths one after the other; stays at the longest length rather than wrapping.
    #[must_use]
    pub const fn and(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }

    /// What is left of this length after `spent`; zero once it is used up.
    #[must_use]
    pub const fn less(self, spent: Self) -> Self {
        Self(self.0.saturating_sub(spent.0))
    }

    /// Whether nothing is left.
    #[must_use]
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }
}

/// Rounded down to milliseconds; a length beyond 584 million years is the longest there is.
impl From<time::Duration> for Duration {
    fn from(length: time::Duration) -> Self {
        Self(u64::try_from(length.as_millis()).unwrap_or(u64::MAX))
    }
}

impl From<Duration> for time::Duration {
    fn from(length: Duration) -> Self {
        Self::from_millis(length.0)
    }
}

/// As people say it: "1 h 30 min", "2.5 s"; "0 s" for no time at all.
///
/// ```
/// use hysteron_logic::prelude::*;
///
/// assert_eq!(Duration::from_seconds(90).to_string(), "1 min 30 s");
/// assert_eq!(Duration::from_hours(49).to_string(), "2 d 1 h");
/// ```
impl fmt::Display for Duration {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let minutes = self.0 / 60_000;
        let mut gap = "";
        for (number, unit) in [
            (minutes / 1_440, "d"),
            (minutes / 60 % 24, "h"),
            (minutes % 60, "min"),
        ] {
            if number > 0 {
                write!(f, "{gap}{number} {unit}")?;
                gap = " ";
            }
        }
        let rest = self.0 % 60_000;
        match (rest / 1_000, rest % 1_000) {
            (0, 0) if !gap.is_empty() => Ok(()),
            (seconds, 0) => write!(f, "{gap}{seconds} s"),
            (seconds, millis) if millis % 100 == 0 => {
                write!(f, "{gap}{seconds}.{} s", millis / 100)
            }
            (seconds, millis) if millis % 10 == 0 => {
                write!(f, "{gap}{seconds}.{:02} s", millis / 10)
            }
            (seconds, millis) => write!(f, "{gap}{seconds}.{millis:03} s"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_is_told_as_people_say_it() {
        for (millis, said) in [
            (0, "0 s"),
            (1, "0.001 s"),
            (250, "0.25 s"),
            (1_500, "1.5 s"),
            (59_999, "59.999 s"),
            (60_000, "1 min"),
            (61_000, "1 min 1 s"),
            (3_600_000, "1 h"),
            (3_600_030, "1 h 0.03 s"),
            (5_400_000, "1 h 30 min"),
            (86_400_000, "1 d"),
            (176_400_000, "2 d 1 h"),
        ] {
            assert_eq!(Duration::from_millis(millis).to_string(), said);
        }
    }

    #[test]
    fn lengths_of_the_language_are_taken_and_given_back() {
        let length = time::Duration::from_micros(1_234_567);
        assert_eq!(Duration::from(length), Duration::from_millis(1_234));
        assert_eq!(
            time::Duration::from(Duration::from_minutes(3)),
            time::Duration::from_secs(180)
        );
        let longest = Duration::from(time::Duration::MAX);
        assert_eq!(longest, Duration::from_millis(u64::MAX));
    }

    #[test]
    fn lengths_are_told_in_milliseconds() {
        assert_eq!(Instant::POWER_UP.millis(), 0);
        assert_eq!(Instant::from_millis(4_321).millis(), 4_321);
        assert_eq!(Duration::from_seconds(7).millis(), 7_000);
        assert_eq!(Duration::from_minutes(7).millis(), 420_000);
        assert_eq!(Duration::from_hours(7).millis(), 25_200_000);
        assert_eq!(Duration::from_millis(7_999).whole_seconds(), 7);
        assert!(Duration::ZERO.is_zero());
        assert!(!Duration::from_millis(1).is_zero());
        let three = Duration::from_millis(3);
        let five = Instant::from_millis(2).after(three);
        assert_eq!(five, Instant::from_millis(5));
        assert_eq!(five.since(Instant::from_millis(1)).millis(), 4);
        assert_eq!(three.and(three).less(Duration::from_millis(2)).millis(), 4);
        assert_eq!(three.less(Duration::from_millis(4)), Duration::ZERO);
    }

    #[test]
    fn a_moment_ahead_is_no_time_ago() {
        let now = Instant::from_millis(5);
        assert_eq!(now.since(Instant::from_millis(9)), Duration::ZERO);
    }

    #[test]
    fn what_is_past_and_what_is_left_is_as_by_comparing() {
        let then = Instant::from_millis(3_600_000);
        for passed in [0, 1, 4_999, 5_000, 5_001, u64::from(u32::MAX) + 7] {
            for millis in [0, 1, 5_000, u64::from(u32::MAX) + 7] {
                let (now, length) = (Instant::from_millis(3_600_000 + passed), Duration(millis));
                assert_eq!(now.is_past(then, length), now.since(then) >= length);
                assert_eq!(now.left_of(length, then), length.less(now.since(then)));
            }
        }
    }

    #[test]
    fn the_end_of_time_holds() {
        let end = Instant::from_millis(u64::MAX);
        assert_eq!(end.after(Duration::from_millis(1)), end);
        assert_eq!(
            Duration::from_millis(u64::MAX).and(Duration::from_hours(1)),
            Duration::from_millis(u64::MAX)
        );
    }
}
