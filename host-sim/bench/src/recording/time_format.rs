//! A format of times that a person tells.

use std::fmt;
use std::str::FromStr;

use jiff::civil::datetime;
use jiff::fmt::strtime;
use jiff::tz::Offset;

use super::written_time::WrittenTime;

/// How times are written, as `strptime` knows it: "%d/%m/%Y %H:%M".
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TimeFormat(String);

impl TimeFormat {
    /// The moment that a text tells in this format.
    pub(super) fn read(&self, text: &str) -> Option<WrittenTime> {
        read(&self.0, text).ok()
    }
}

fn read(format: &str, text: &str) -> Result<WrittenTime, jiff::Error> {
    let parts = strtime::parse(format, text)?;
    if parts.offset().is_some() || parts.timestamp().is_some() {
        parts.to_timestamp().map(WrittenTime::Offset)
    } else {
        parts.to_datetime().map(WrittenTime::Local)
    }
}

impl FromStr for TimeFormat {
    type Err = String;

    /// A format is one that can read a moment to the minute back from what it writes.
    fn from_str(format: &str) -> Result<Self, String> {
        let evening = datetime(2025, 12, 31, 18, 5, 0, 0);
        let refused = |error: jiff::Error| error.to_string();
        let sample = Offset::UTC.to_timestamp(evening).map_err(refused)?;
        let written = strtime::format(format, sample).map_err(refused)?;
        let back = read(format, &written).map_err(refused)?;
        if [WrittenTime::Local(evening), WrittenTime::Offset(sample)].contains(&back) {
            return Ok(Self(format.to_owned()));
        }
        Err(format!(
            "written so, the 31 December 2025, 18:05, is \"{written}\", and day, time or half of \
             the day cannot be told from that"
        ))
    }
}

impl fmt::Display for TimeFormat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formats_that_tell_a_moment_and_others() {
        for format in [
            "%d/%m/%Y %H:%M",
            "%m/%d/%y %I:%M %p",
            "%d-%b-%Y %H:%M:%S%.f",
            "%d.%m.%Y %H.%M",
            "%Y%m%d%H%M%S",
            "%Y-%m-%d %H:%M %z",
            "%s",
        ] {
            assert!(format.parse::<TimeFormat>().is_ok(), "{format}");
        }
        for format in [
            "",
            "time",
            "%H:%M",
            "%d/%m/%Y",
            "%d/%m/%Y %I:%M",
            "%d/%m %H:%M",
            "%!",
            "%",
        ] {
            assert!(format.parse::<TimeFormat>().is_err(), "{format}");
        }
    }

    #[test]
    fn an_offset_makes_a_moment_of_the_world() {
        let format: TimeFormat = "%Y-%m-%d %H:%M %z".parse().expect("a format");
        let moment = "2025-12-31T17:05:00Z".parse().expect("a moment");
        assert_eq!(
            format.read("2025-12-31 18:05 +0100"),
            Some(WrittenTime::Offset(moment))
        );
        assert_eq!(format.read("2025-12-31 18:05"), None);
    }
}
