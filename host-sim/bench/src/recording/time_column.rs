//! Where in a line the time stands: in one column, or the date in one and the time of day in another.

use std::borrow::Cow;
use std::ops::Range;

use super::moment::{TimePart, part_of_time};
use super::time_format::TimeFormat;
use hysteron_source::cells::{Cell, Line};

/// The columns of the time, from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeColumn {
    One(usize),
    Two { date: usize, time_of_day: usize },
}

/// With one of these words headings of times begin.
const TIMES: [&str; 7] = [
    "time",
    "date",
    "datetime",
    "timestamp",
    "seconds",
    "elapsed",
    "moment",
];

/// Whether a heading is one of times.
pub fn is_time(heading: &str) -> bool {
    let heading = heading.to_lowercase();
    let word = heading.split(|c: char| !c.is_alphanumeric()).next();
    word.is_some_and(|word| TIMES.contains(&word))
}

impl TimeColumn {
    /// Where the time stands in a line of cells, as far as they show it: in the column that was
    /// `chosen`, in one that is headed so, in one that holds a date, or in the first.
    pub fn in_cells(
        cells: &[Cell<'_>],
        headings: &[Cell<'_>],
        chosen: Option<usize>,
        format: Option<&TimeFormat>,
    ) -> Option<Self> {
        if let Some(chosen) = chosen {
            return Self::around(cells, chosen, format);
        }
        let headed = headings.iter().enumerate();
        let headed = headed.filter(|(_, heading)| is_time(heading.text));
        let dated = cells.iter().enumerate().filter(|(_, cell)| {
            matches!(part_of_time(cell.text), TimePart::Whole | TimePart::Date)
        });
        let likely = headed.map(|(place, _)| place);
        let mut likely = likely.chain(dated.map(|(place, _)| place)).chain([0]);
        likely.find_map(|place| Self::around(cells, place, format))
    }

    /// The column at `place`, with another where only both together are a time.
    fn around(cells: &[Cell<'_>], place: usize, format: Option<&TimeFormat>) -> Option<Self> {
        let text = cells.get(place)?.text;
        let other = |fits: &dyn Fn(&str) -> bool| {
            let mut others = cells.iter().enumerate();
            others
                .find(|(other, cell)| *other != place && fits(cell.text))
                .map(|(other, _)| other)
        };
        if let Some(format) = format {
            if format.read(text).is_some() {
                return Some(Self::One(place));
            }
            let behind = other(&|cell| format.read(&joined(text, cell)).is_some());
            let before = other(&|cell| format.read(&joined(cell, text)).is_some());
            return match (behind, before) {
                (Some(time_of_day), _) => Some(Self::Two {
                    date: place,
                    time_of_day,
                }),
                (None, Some(date)) => Some(Self::Two {
                    date,
                    time_of_day: place,
                }),
                (None, None) => None,
            };
        }
        match part_of_time(text) {
            TimePart::Whole | TimePart::Seconds => Some(Self::One(place)),
            TimePart::Date => {
                let found = other(&|cell| part_of_time(cell) == TimePart::TimeOfDay);
                Some(found.map_or(Self::One(place), |time_of_day| Self::Two {
                    date: place,
                    time_of_day,
                }))
            }
            TimePart::TimeOfDay => {
                let found = other(&|cell| part_of_time(cell) == TimePart::Date);
                found.map(|date| Self::Two {
                    date,
                    time_of_day: place,
                })
            }
            TimePart::None => None,
        }
    }

    /// Whether the time stands in this column.
    pub const fn has(self, place: usize) -> bool {
        match self {
            Self::One(one) => one == place,
            Self::Two { date, time_of_day } => date == place || time_of_day == place,
        }
    }

    /// The last of its columns.
    pub fn last(self) -> usize {
        match self {
            Self::One(one) => one,
            Self::Two { date, time_of_day } => date.max(time_of_day),
        }
    }

    /// The time in a line, and its place there.
    pub fn of<'l>(self, line: &Line<'l>) -> Option<(Cow<'l, str>, Range<usize>)> {
        match self {
            Self::One(one) => {
                let cell = line.cell(one)?;
                Some((Cow::Borrowed(cell.text), cell.place))
            }
            Self::Two { date, time_of_day } => {
                let (date, time) = (line.cell(date)?, line.cell(time_of_day)?);
                let from = date.place.start.min(time.place.start);
                let to = date.place.end.max(time.place.end);
                Some((Cow::Owned(joined(date.text, time.text)), from..to))
            }
        }
    }
}

fn joined(date: &str, time_of_day: &str) -> String {
    format!("{date} {time_of_day}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use hysteron_source::cells::Separator;

    fn column(headings: &str, cells: &str, format: Option<&str>) -> Option<TimeColumn> {
        let cells_of = |text| {
            let line = Line::new(text, Separator::Semicolon);
            line.cells().collect::<Vec<_>>()
        };
        let format = format.map(|format| format.parse().expect("a format"));
        TimeColumn::in_cells(&cells_of(cells), &cells_of(headings), None, format.as_ref())
    }

    #[test]
    fn the_time_is_found_in_one_column_or_two() {
        use TimeColumn::{One, Two};
        let two = |date, time_of_day| Some(Two { date, time_of_day });
        let found = |headings, cells| column(headings, cells, None);
        assert_eq!(found("s;°C", "0;4"), Some(One(0)));
        assert_eq!(found("no;elapsed;°C", "1;60;4"), Some(One(1)));
        assert_eq!(
            found("Nr;Zeitpunkt;°C", "1;31.12.2025 18:05;4"),
            Some(One(1))
        );
        assert_eq!(found("Date;Time;°C", "31.12.2025;18:05;4"), two(0, 1));
        assert_eq!(found("Time;Date;°C", "18:05;31.12.2025;4"), two(1, 0));
        assert_eq!(
            found("Nr;Datum;°C;Uhrzeit", "1;31.12.2025;4;6:05 PM"),
            two(1, 3)
        );
        assert_eq!(found("Date;°C", "2025-12-31;4"), Some(One(0)));
        assert_eq!(found("time;°C", "18:05;4"), None);
        assert_eq!(found("time;°C", "noon;4"), None);
    }

    #[test]
    fn a_format_may_span_two_columns() {
        use TimeColumn::{One, Two};
        let format = Some("%d-%b-%y %H.%M");
        let one = column("t;°C", "31-Dec-25 18.05;4", format);
        assert_eq!(one, Some(One(0)));
        let two = column("Date;x;Time;°C", "31-Dec-25;1;18.05;4", format);
        assert_eq!(
            two,
            Some(Two {
                date: 0,
                time_of_day: 2
            })
        );
    }
}
