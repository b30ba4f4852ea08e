//! Times of a recording: seconds, moments with their offset, or local date and time.

use hysteron_logic::time::Duration;
use jiff::civil::DateTime;
use jiff::{SignedDuration, Timestamp};

use super::value::shortened;
use crate::scenario::quantity_text::moment_text;
use crate::source_text::Misread;

/// How a recording tells the time, and its first moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Clock {
    /// Seconds from any beginning.
    Seconds(f64),
    /// A date and time with its offset from UTC (RFC 3339).
    Offset(Timestamp),
    /// A date and time of the place.
    Local(DateTime),
}

/// Seconds beyond this are no time of a recording; the year 5138 in Unix time.
const LARGEST_S: f64 = 1e11;

impl Clock {
    /// The clock of a recording that begins with this time.
    pub fn set_by(text: &str) -> Result<Self, Misread> {
        if let Some(seconds) = seconds(text) {
            return Ok(Self::Seconds(seconds));
        }
        // A date and time reads as that of the place even where an offset follows.
        if let Ok(moment) = text.parse::<Timestamp>() {
            return Ok(Self::Offset(moment));
        }
        if let Ok(moment) = text.parse::<DateTime>() {
            return Ok(Self::Local(moment));
        }
        Err(wrong(
            text,
            "seconds, \"2026-07-01 14:30:00\" or \"2026-07-01T14:30:00Z\"",
        ))
    }

    /// Time from the first moment to that of `text`; zero for anything earlier.
    pub fn read(&self, text: &str) -> Result<Duration, Misread> {
        match self {
            Self::Seconds(first) => seconds(text)
                .map(|now| duration_of_seconds(now - first))
                .ok_or_else(|| wrong(text, "seconds, as in the first line")),
            Self::Offset(first) => text
                .parse::<Timestamp>()
                .map(|now| duration(now.duration_since(*first)))
                .map_err(|_| wrong(text, "date, time and offset, as in the first line")),
            Self::Local(first) => match (text.parse::<Timestamp>(), text.parse::<DateTime>()) {
                (Err(_), Ok(now)) => Ok(duration(now.duration_since(*first))),
                (Ok(_), _) | (_, Err(_)) => Err(wrong(
                    text,
                    "date and time without an offset, as in the first line",
                )),
            },
        }
    }

    /// The moment `at` from the first one on.
    pub fn text(&self, at: Duration) -> String {
        let since = SignedDuration::from_millis(i64::try_from(at.millis()).unwrap_or(i64::MAX));
        let dated = match self {
            Self::Seconds(_) => None,
            Self::Offset(first) => first
                .checked_add(since)
                .ok()
                .map(|now| now.strftime("%Y-%m-%d %H:%M:%SZ").to_string()),
            Self::Local(first) => first
                .checked_add(since)
                .ok()
                .map(|now| now.strftime("%Y-%m-%d %H:%M:%S").to_string()),
        };
        dated.unwrap_or_else(|| moment_text(at))
    }
}

fn seconds(text: &str) -> Option<f64> {
    text.parse::<f64>()
        .ok()
        .filter(|seconds| seconds.abs() <= LARGEST_S)
}

fn duration_of_seconds(seconds: f64) -> Duration {
    // A float becomes an integer by saturating, so what is below zero becomes zero.
    Duration::from_millis((seconds * 1e3).round() as u64)
}

fn duration(signed: SignedDuration) -> Duration {
    Duration::from_millis(u64::try_from(signed.as_millis()).unwrap_or(0))
}

fn wrong(text: &str, expected: &str) -> Misread {
    Misread {
        what: format!("\"{}\" is no time", shortened(text)),
        expected: expected.to_owned(),
        remedy: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_ways_to_tell_the_time() {
        for (first, later) in [
            ("100", "3700"),
            ("0.5", "3600.5"),
            ("1751373000", "1751376600"),
            ("2026-07-01T14:30:00Z", "2026-07-01T17:30:00+02:00"),
            ("2026-07-01 14:30:00", "2026-07-01 15:30:00"),
            ("2026-07-01 23:30", "2026-07-02T00:30"),
            ("2024-02-28 23:30:00", "2024-02-29 00:30:00"),
        ] {
            let clock = Clock::set_by(first).expect("a time");
            assert_eq!(clock.read(later), Ok(Duration::from_hours(1)), "{first}");
            assert_eq!(clock.read(first), Ok(Duration::ZERO));
        }
    }

    #[test]
    fn a_clock_that_changes_its_ways_is_refused() {
        for (first, later) in [
            ("0", "2026-07-01 14:30:00"),
            ("2026-07-01 14:30:00", "60"),
            ("2026-07-01T14:30:00Z", "2026-07-01 14:31:00"),
            ("2026-07-01 14:30:00", "2026-07-01T14:31:00Z"),
            ("2026-07-01 14:30:00", "2026-07-01T14:31:00+02:00"),
        ] {
            let clock = Clock::set_by(first).expect("a time");
            assert!(clock.read(later).is_err(), "{first} {later}");
        }
        for text in [
            "",
            "noon",
            "nan",
            "inf",
            "1e300",
            "2026-02-30 00:00:00",
            "14:30",
        ] {
            assert!(Clock::set_by(text).is_err(), "{text}");
        }
    }

    #[test]
    fn the_ends_of_time_are_told_without_a_panic() {
        let clock = Clock::set_by("9999-12-30T00:00:00Z").expect("a time");
        assert_eq!(
            clock.text(Duration::from_hours(100_000)),
            moment_text(Duration::from_hours(100_000))
        );
        let clock = Clock::set_by("-009999-01-02 00:00:00").expect("a time");
        assert!(clock.read("9999-12-31 00:00:00").is_ok());
    }
}
