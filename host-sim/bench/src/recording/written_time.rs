//! A time of a recording, as it is written there.

use jiff::Timestamp;
use jiff::civil::DateTime;

/// One time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WrittenTime {
    /// Seconds from any beginning.
    Seconds(f64),
    /// A date and time with its offset from UTC (RFC 3339).
    Offset(Timestamp),
    /// A date and time of the place.
    Local(DateTime),
}
