//! Times of a recording: seconds, moments with their offset, or local date and time.

use hysteron_logic::time::Duration;
use jiff::civil::DateTime;
use jiff::{SignedDuration, Timestamp};

use super::date::{DateOrder, NumericDate, time_of_day};
use super::time_format::TimeFormat;
use super::value::shortened;
use super::written_time::WrittenTime;
use crate::scenario::quantity_text::moment_text;
use hysteron_source::text::Misread;

/// How the times of a recording are written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TimeStyle {
    /// As seconds, as RFC 3339 has it, or as the time of a place with the year first.
    Standard,
    /// With the year last, in this order.
    Numeric(DateOrder),
    /// As a person says.
    Told(TimeFormat),
}

/// What a cell may be of a time, as far as it shows by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimePart {
    Whole,
    Seconds,
    Date,
    TimeOfDay,
    None,
}

/// Seconds beyond this are no time of a recording; the year 5138 in Unix time.
const LARGEST_S: f64 = 1e11;
/// No time is longer.
const LONGEST: usize = 64;

/// What a cell may be of a time.
pub fn part_of_time(text: &str) -> TimePart {
    if text.len() > LONGEST || !text.bytes().any(|byte| byte.is_ascii_digit()) {
        return TimePart::None;
    }
    if seconds(text).is_some() {
        return TimePart::Seconds;
    }
    match NumericDate::of(text) {
        Some(date) if date.is_alone() => TimePart::Date,
        Some(_) => TimePart::Whole,
        None if standard(text).is_some() => TimePart::Whole,
        None if time_of_day(text).is_some() => TimePart::TimeOfDay,
        None => TimePart::None,
    }
}

impl TimeStyle {
    /// The moment that a text tells in this style.
    pub fn read(&self, text: &str) -> Option<WrittenTime> {
        match self {
            Self::Standard => standard(text),
            Self::Numeric(order) => NumericDate::of(text)
                .and_then(|date| date.moment(*order))
                .map(WrittenTime::Local),
            Self::Told(format) => format.read(text),
        }
    }

    fn misread(&self, text: &str) -> Misread {
        let (expected, remedy) = match self {
            Self::Standard if NumericDate::of(text).is_some_and(|date| date.has_short_year()) => (
                "a year of four digits".to_owned(),
                Some("say what is what with --time-format, such as \"%d.%m.%y %H:%M\"".to_owned()),
            ),
            Self::Standard => (
                "seconds, \"2026-07-01 14:30:00\", \"2026-07-01T14:30:00Z\" or a date such as \
                 31.12.2026 18:05"
                    .to_owned(),
                Some("say how other times are written with --time-format".to_owned()),
            ),
            Self::Numeric(order) => (
                format!("{}, time, as in the lines before", order.words()),
                None,
            ),
            Self::Told(format) => (format!("\"{format}\", as --time-format says"), None),
        };
        Misread {
            what: format!("\"{}\" is no time", shortened(text)),
            expected,
            remedy,
        }
    }
}

fn standard(text: &str) -> Option<WrittenTime> {
    if let Some(seconds) = seconds(text) {
        return Some(WrittenTime::Seconds(seconds));
    }
    // A date and time reads as that of the place even where an offset follows.
    if let Ok(moment) = text.parse::<Timestamp>() {
        return Some(WrittenTime::Offset(moment));
    }
    let local = text.parse::<DateTime>().ok();
    let local = local.or_else(|| NumericDate::of(text)?.year_first());
    local.map(WrittenTime::Local)
}

/// The clock of a recording: how it is written, its first moment, and where it was put back.
#[derive(Debug, Clone)]
pub struct Clock {
    style: TimeStyle,
    first: WrittenTime,
    /// Times from the first moment on at which it showed an hour less from then on.
    put_back: Vec<Duration>,
}

impl Clock {
    /// The clock of a recording that begins with this time.
    pub fn set_by(text: &str, style: TimeStyle) -> Result<Self, Misread> {
        match style.read(text) {
            Some(first) => Ok(Self {
                style,
                first,
                put_back: Vec::new(),
            }),
            None => Err(style.misread(text)),
        }
    }

    /// Time from the first moment to that of `text`, which may be earlier.
    pub fn read(&self, text: &str) -> Result<SignedDuration, Misread> {
        let wrong = |expected: &str| Misread {
            what: format!("\"{}\" is no time", shortened(text)),
            expected: expected.to_owned(),
            remedy: None,
        };
        match (self.first, self.style.read(text)) {
            (WrittenTime::Seconds(first), Some(WrittenTime::Seconds(now))) => {
                // A float becomes an integer by saturating, and both are bounded.
                Ok(SignedDuration::from_millis(
                    ((now - first) * 1e3).round() as i64
                ))
            }
            (WrittenTime::Seconds(_), _) => Err(wrong("seconds, as in the first line")),
            (WrittenTime::Offset(first), Some(WrittenTime::Offset(now))) => {
                Ok(now.duration_since(first))
            }
            (WrittenTime::Local(first), Some(WrittenTime::Local(now))) => {
                Ok(now.duration_since(first).saturating_add(self.put_back()))
            }
            (_, None) if self.style != TimeStyle::Standard => Err(self.style.misread(text)),
            (WrittenTime::Offset(_), _) => {
                Err(wrong("date, time and offset, as in the first line"))
            }
            (WrittenTime::Local(_), _) => Err(wrong(
                "date and time without an offset, as in the first line",
            )),
        }
    }

    fn put_back(&self) -> SignedDuration {
        SignedDuration::from_hours(i64::try_from(self.put_back.len()).unwrap_or(i64::MAX))
    }

    /// Whether the end of summer time explains that `text`, which reads as `at`, is not after
    /// `latest`: the clock is of a place, it is the dead of night, and an hour later it would go
    /// on in its rhythm. If so, the clock is put back; the true time from the first moment on.
    pub fn put_back_by(
        &mut self,
        text: &str,
        at: SignedDuration,
        latest: Duration,
        rhythm: Duration,
    ) -> Option<Duration> {
        /// No place ends its summer time twice in this time.
        const SEASON: Duration = Duration::from_hours(180 * 24);
        let Some(WrittenTime::Local(shown)) = self.style.read(text) else {
            return None;
        };
        let truly = duration(at.checked_add(SignedDuration::from_hours(1))?);
        let goes_on = truly > latest && truly.less(latest) <= rhythm.and(rhythm);
        let at_night = matches!(shown.hour(), 23 | 0..=3);
        let before = self.put_back.last();
        let in_season = before.is_none_or(|before| truly.less(*before) >= SEASON);
        if !(goes_on && at_night && in_season) {
            return None;
        }
        self.put_back.push(truly);
        Some(truly)
    }

    /// The moment `at` from the first one on, as the recording shows it.
    pub fn text(&self, at: Duration) -> String {
        let since = SignedDuration::from_millis(i64::try_from(at.millis()).unwrap_or(i64::MAX));
        let dated = match self.first {
            WrittenTime::Seconds(_) => None,
            WrittenTime::Offset(first) => first
                .checked_add(since)
                .ok()
                .map(|now| now.strftime("%Y-%m-%d %H:%M:%SZ").to_string()),
            WrittenTime::Local(first) => {
                let times = self.put_back.iter().filter(|put_back| **put_back <= at);
                let hours = i64::try_from(times.count()).unwrap_or(i64::MAX);
                first
                    .checked_add(since.saturating_sub(SignedDuration::from_hours(hours)))
                    .ok()
                    .map(|now| now.strftime("%Y-%m-%d %H:%M:%S").to_string())
            }
        };
        dated.unwrap_or_else(|| moment_text(at))
    }
}

fn seconds(text: &str) -> Option<f64> {
    text.parse::<f64>()
        .ok()
        .filter(|seconds| seconds.abs() <= LARGEST_S)
}

/// The time that has passed; none where it is negative.
pub fn duration(signed: SignedDuration) -> Duration {
    Duration::from_millis(u64::try_from(signed.as_millis()).unwrap_or(0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn clock(first: &str) -> Result<Clock, Misread> {
        Clock::set_by(first, TimeStyle::Standard)
    }

    #[test]
    fn three_ways_to_tell_the_time() {
        for (first, later) in [
            ("100", "3700"),
            ("0.5", "3600.5"),
            ("1751373000", "1751376600"),
            ("2026-07-01T14:30:00Z", "2026-07-01T17:30:00+02:00"),
            ("2026-07-01 14:30:00", "2026-07-01 15:30:00"),
            ("2026-07-01 23:30", "2026-07-02T00:30"),
            ("2026-07-01 23:30", "2026-7-2 0:30"),
            ("2024-02-28 23:30:00", "2024-02-29 00:30:00"),
        ] {
            let clock = clock(first).expect("a time");
            let hour = SignedDuration::from_hours(1);
            assert_eq!(clock.read(later), Ok(hour), "{first}");
            assert_eq!(clock.read(first), Ok(SignedDuration::ZERO));
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
            let clock = clock(first).expect("a time");
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
            assert!(clock(text).is_err(), "{text}");
        }
    }

    #[test]
    fn cells_show_what_part_of_a_time_they_are() {
        for (text, part) in [
            ("31.12.2025 18:05", TimePart::Whole),
            ("2025-12-31T18:05:00Z", TimePart::Whole),
            ("2025-12-31", TimePart::Date),
            ("12/31/25", TimePart::Date),
            ("6:05 PM", TimePart::TimeOfDay),
            ("60", TimePart::Seconds),
            ("nan", TimePart::None),
            ("", TimePart::None),
            ("18 °C", TimePart::None),
        ] {
            assert_eq!(part_of_time(text), part, "{text}");
        }
    }

    #[test]
    fn the_ends_of_time_are_told_without_a_panic() {
        let ends = clock("9999-12-30T00:00:00Z").expect("a time");
        assert_eq!(
            ends.text(Duration::from_hours(100_000)),
            moment_text(Duration::from_hours(100_000))
        );
        let begins = clock("-009999-01-02 00:00:00").expect("a time");
        assert!(begins.read("9999-12-31 00:00:00").is_ok());
    }
}
