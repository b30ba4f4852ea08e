//! The order of the hours of a year.

use std::fmt;

use super::fault::Fault;
use super::text::{Cell, Line};

/// One hour of a year, named by its end: hour 1 is 00:00 to 01:00, hour 24 ends at midnight.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct HourOfYear {
    pub(super) month: u8,
    pub(super) day: u8,
    pub(super) hour: u8,
}

impl fmt::Display for HourOfYear {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "month {}, day {}, hour {}",
            self.month, self.day, self.hour
        )
    }
}

const FIRST: HourOfYear = HourOfYear {
    month: 1,
    day: 1,
    hour: 1,
};

impl HourOfYear {
    /// What may follow: one hour, or two where a 29 February is optional; none after the last.
    fn successors(self) -> [Option<Self>; 2] {
        let Self { month, day, hour } = self;
        let first_hour_of = |month, day| {
            Some(Self {
                month,
                day,
                hour: 1,
            })
        };
        if hour < 24 {
            let next = Self {
                month,
                day,
                hour: hour + 1,
            };
            return [Some(next), None];
        }
        match (month, day) {
            (2, 28) => [first_hour_of(3, 1), first_hour_of(2, 29)],
            (2, 29) => [first_hour_of(3, 1), None],
            (12, 31) => [None, None],
            (4 | 6 | 9 | 11, 30) | (_, 31) => [first_hour_of(month + 1, 1), None],
            _ => [first_hour_of(month, day + 1), None],
        }
    }
}

/// Watches that hours come one after the other, from the first of a year to the last.
pub(super) struct Calendar {
    latest: Option<HourOfYear>,
}

impl Calendar {
    pub(super) fn new() -> Self {
        Self { latest: None }
    }

    /// Takes the next hour; `cell` is where it is written.
    pub(super) fn accept(&mut self, hour: HourOfYear, cell: &Cell<'_>) -> Result<(), Fault> {
        let allowed = self.allowed();
        if allowed.contains(&Some(hour)) {
            self.latest = Some(hour);
            return Ok(());
        }
        let [next, _] = allowed;
        Err(cell.fault(match next {
            Some(next) => format!("{next}: the hours of a whole year in order"),
            None => "the end of the file, as the year is complete".to_owned(),
        }))
    }

    /// The file ends here.
    pub(super) fn finish(&self, lines: &[Line<'_>]) -> Result<(), Fault> {
        match self.allowed() {
            [Some(next), _] => Err(Fault::new(
                lines.len() + 1,
                1,
                "",
                format!("{next}: a whole year, and the file ends early"),
            )),
            [None, _] => Ok(()),
        }
    }

    fn allowed(&self) -> [Option<HourOfYear>; 2] {
        self.latest
            .map_or([Some(FIRST), None], HourOfYear::successors)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_year_has_its_hours_with_and_without_a_leap_day() {
        for (choice, expected) in [(0, 8760), (1, 8784)] {
            let mut hour = FIRST;
            let mut count = 1;
            while let Some(next) = hour.successors()[choice].or(hour.successors()[0]) {
                hour = next;
                count += 1;
            }
            assert_eq!(count, expected);
            assert_eq!((hour.month, hour.day, hour.hour), (12, 31, 24));
        }
    }
}
