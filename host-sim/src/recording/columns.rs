//! Which column holds the time, which the value, and in what unit.

use std::fmt;
use std::str::FromStr;

use super::Reading;
use super::cells::{Cell, Line};
use super::moment::Clock;
use super::value::{ValueUnit, shortened};
use crate::source_text::{Problem, nearest};

/// A column as a person names it: by its heading, or by its number from 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ColumnChoice {
    /// Its heading.
    Headed(String),
    /// Its number, from 1.
    Number(usize),
}

impl FromStr for ColumnChoice {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text.trim().parse::<usize>() {
            Ok(0) => Err("columns are counted from 1".to_owned()),
            Ok(number) => Ok(Self::Number(number)),
            Err(_) if text.trim().is_empty() => Err("a heading, or a number from 1".to_owned()),
            Err(_) => Ok(Self::Headed(text.trim().to_owned())),
        }
    }
}

impl fmt::Display for ColumnChoice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Headed(heading) => f.write_str(heading),
            Self::Number(number) => number.fmt(f),
        }
    }
}

/// The two columns that matter, from 0.
#[derive(Debug, Clone, Copy)]
pub struct Columns {
    time: usize,
    value: usize,
    unit: ValueUnit,
    headed: bool,
}

impl Default for Columns {
    fn default() -> Self {
        Self {
            time: 0,
            value: 1,
            unit: ValueUnit::Celsius,
            headed: false,
        }
    }
}

/// Headings of times begin with one of these.
const TIMES: [&str; 6] = ["time", "date", "timestamp", "seconds", "elapsed", "moment"];

impl Columns {
    /// What the first line tells, a heading or the first reading, with what a person says.
    pub fn told_by(line: &Line<'_>, reading: &Reading) -> Result<Self, Problem> {
        let cells: Vec<Cell<'_>> = line.cells().collect();
        if cells.len() < 2 {
            return Err(Problem::at(line.end(), "the line has only one column")
                .expected("a time and a value")
                .remedy("part the columns by commas, semicolons or tabs"));
        }
        let time = match &reading.time {
            Some(choice) => chosen(choice, &cells, line)?,
            None => cells
                .iter()
                .position(|cell| is_time(cell.text))
                .unwrap_or(0),
        };
        let headed = cells
            .get(time)
            .is_some_and(|cell| Clock::set_by(cell.text).is_err());
        let value = match &reading.value {
            Some(choice) => chosen(choice, &cells, line)?,
            None => likely_value(&cells, time, line)?,
        };
        let heading = cells.get(value).filter(|_| headed);
        let named = heading.and_then(|cell| ValueUnit::named_in(cell.text));
        let Some(unit) = reading.unit.or(named) else {
            let place = cells
                .get(value)
                .map_or(line.end(), |cell| cell.place.clone());
            return Err(Problem::at(place, "the unit is not known")
                .expected("a heading such as \"box °C\"")
                .remedy("name the unit with --unit: C, F, ohm or kohm"));
        };
        Ok(Self {
            time,
            value,
            unit,
            headed,
        })
    }

    /// Whether the first line was a heading.
    pub const fn are_headed(&self) -> bool {
        self.headed
    }

    /// Unit of the values.
    pub const fn unit(&self) -> ValueUnit {
        self.unit
    }

    /// The cells of time and value in a line.
    pub fn cells_of<'l>(&self, line: &Line<'l>) -> Result<(Cell<'l>, Cell<'l>), Problem> {
        match (line.cell(self.time), line.cell(self.value)) {
            (Some(time), Some(value)) => Ok((time, value)),
            (None, _) | (_, None) => Err(Problem::at(line.end(), "the line ends too early")
                .expected(format!(
                    "at least {} columns",
                    self.time.max(self.value) + 1
                ))
                .remedy("mend the line, or leave all such lines out with --skip-bad-lines")),
        }
    }
}

fn is_time(heading: &str) -> bool {
    let heading = heading.to_lowercase();
    TIMES.iter().any(|time| heading.starts_with(time))
}

/// The only other column, or the only one whose heading has a unit.
fn likely_value(cells: &[Cell<'_>], time: usize, line: &Line<'_>) -> Result<usize, Problem> {
    let others = (0..cells.len()).filter(|place| *place != time);
    let others: Vec<usize> = others.collect();
    let with_unit = others.iter().copied().filter(|place| {
        cells
            .get(*place)
            .is_some_and(|cell| ValueUnit::named_in(cell.text).is_some())
    });
    let with_unit: Vec<usize> = with_unit.collect();
    match (others.as_slice(), with_unit.as_slice()) {
        ([only], _) | (_, [only]) => Ok(*only),
        _ => Err(
            Problem::at(line.end(), "several columns may hold the values")
                .remedy("name one with --value, by its heading or its number from 1"),
        ),
    }
}

fn chosen(choice: &ColumnChoice, cells: &[Cell<'_>], line: &Line<'_>) -> Result<usize, Problem> {
    match choice {
        ColumnChoice::Number(number) if *number <= cells.len() => Ok(number - 1),
        ColumnChoice::Number(number) => Err(Problem::at(
            line.end(),
            format!("there is no column {number}"),
        )
        .expected(format!("the last is column {}", cells.len()))),
        ColumnChoice::Headed(name) => {
            let found = cells.iter().position(|cell| cell.text == name);
            found.ok_or_else(|| {
                let problem = Problem::at(
                    line.end(),
                    format!("no column is headed \"{}\"", shortened(name)),
                );
                match nearest(name, cells.iter().map(|cell| cell.text)) {
                    Some(meant) => {
                        problem.remedy(format!("did you mean \"{}\"?", shortened(meant)))
                    }
                    None => problem.remedy("give a heading of this line, or a number from 1"),
                }
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::recording::Unreadable;
    use hysteron_logic::time::Duration;

    fn reading() -> Reading {
        Reading {
            time: None,
            value: None,
            unit: None,
            longest_gap: Duration::from_hours(1),
            unreadable: Unreadable::Refused,
        }
    }

    fn places(line: &str, reading: &Reading) -> Option<(usize, usize, bool)> {
        let columns = Columns::told_by(&Line::new(line), reading).ok()?;
        Some((columns.time, columns.value, columns.headed))
    }

    #[test]
    fn the_heading_tells_the_columns() {
        let told = |line| places(line, &reading());
        assert_eq!(told("time,box °C"), Some((0, 1, true)));
        assert_eq!(told("door;coil_f;timestamp"), Some((2, 1, true)));
        assert_eq!(told("time,box °C,coil °C"), None);
        assert_eq!(told("time,box"), None);
        assert_eq!(told("0,4.5"), None);
        assert_eq!(told("time"), None);
    }

    #[test]
    fn a_person_may_tell_them() {
        let of = |time: &str, value: &str| Reading {
            time: Some(time.parse().expect("a column")),
            value: Some(value.parse().expect("a column")),
            unit: Some(ValueUnit::Fahrenheit),
            ..reading()
        };
        assert_eq!(places("4.5,0", &of("2", "1")), Some((1, 0, false)));
        assert_eq!(places("t,box,coil", &of("t", "coil")), Some((0, 2, true)));
        assert_eq!(places("t,box,coil", &of("t", "4")), None);
        assert_eq!(places("t,box,coil", &of("t", "fan")), None);
        assert!("0".parse::<ColumnChoice>().is_err());
    }
}
