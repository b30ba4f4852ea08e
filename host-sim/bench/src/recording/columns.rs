//! Which column holds the time, which the value, and in what unit.

use std::borrow::Cow;
use std::ops::Range;

use super::format::{ColumnChoice, RecordingFormat};
use super::time_column::{TimeColumn, is_time};
use super::value::{ValueUnit, shortened, unit_in_cell};
use hysteron_source::cells::{Cell, Line, Separator};
use hysteron_source::text::{Problem, nearest};

/// The columns that matter.
#[derive(Debug, Clone, Copy)]
pub struct Columns {
    time: TimeColumn,
    value: usize,
    unit: Option<ValueUnit>,
    separator: Separator,
}

/// The line that tells the columns, and the first row.
#[derive(Debug, Clone)]
pub struct Told<'l> {
    /// The heading, or the first row where there is none; problems are its own.
    pub line: Line<'l>,
    /// Cells of the heading; none without one.
    pub headings: Vec<Cell<'l>>,
    /// Cells of the first row; none where none was found.
    pub row: Vec<Cell<'l>>,
}

impl Columns {
    /// What heading and first row tell, with what a person says.
    pub fn told_by(
        told: &Told<'_>,
        separator: Separator,
        reading: &RecordingFormat,
    ) -> Result<Self, Problem> {
        let Told {
            line,
            headings,
            row,
        } = told;
        let cells = if headings.is_empty() { row } else { headings };
        if cells.len() < 2 {
            return Err(Problem::at(line.end(), "the line has only one column")
                .expected("a time and a value")
                .remedy("part the columns by commas, semicolons or tabs"));
        }
        let time = match &reading.time {
            Some(choice) => Some(chosen(choice, "--time", cells, line)?),
            None => None,
        };
        let format = reading.time_format.as_ref();
        let time = TimeColumn::in_cells(row, headings, time, format).unwrap_or_else(|| {
            let headed = headings.iter().position(|cell| is_time(cell.text));
            TimeColumn::One(time.or(headed).unwrap_or(0))
        });
        if reading.time.is_none() {
            let mut places = (0..headings.len()).filter(|place| time.has(*place));
            if let Some(problem) = places.find_map(|place| twice(place, "--time", headings)) {
                return Err(problem);
            }
        }
        let value = match &reading.value {
            Some(choice) => chosen(choice, "--value", cells, line)?,
            None => likely_value(told, time)?,
        };
        let named = headings
            .get(value)
            .and_then(|cell| ValueUnit::named_in(cell.text));
        let unit = reading.unit.or(named);
        let in_cell = row.get(value).and_then(|cell| unit_in_cell(cell.text));
        if unit.or(in_cell).is_none() {
            let place = cells
                .get(value)
                .map_or(line.end(), |cell| cell.place.clone());
            return Err(Problem::at(place, "the unit is not known")
                .expected("a heading such as \"box °C\"")
                .remedy("name the unit with --unit: C, F, ohm or kohm"));
        }
        Ok(Self {
            time,
            value,
            unit,
            separator,
        })
    }

    /// Unit of the values, where it is not in each cell.
    pub const fn unit(&self) -> Option<ValueUnit> {
        self.unit
    }

    /// What stands between the columns.
    pub const fn separator(&self) -> Separator {
        self.separator
    }

    /// The columns of the time.
    pub const fn time(&self) -> TimeColumn {
        self.time
    }

    /// The time in a line with its place, and the cell of the value.
    pub fn cells_of<'l>(
        &self,
        line: &Line<'l>,
    ) -> Result<(Cow<'l, str>, Range<usize>, Cell<'l>), Problem> {
        match (self.time.of(line), line.cell(self.value)) {
            (Some((time, place)), Some(value)) => Ok((time, place, value)),
            (None, _) | (_, None) => Err(Problem::at(line.end(), "the line ends too early")
                .expected(format!(
                    "at least {} columns",
                    self.time.last().max(self.value) + 1
                ))
                .remedy("mend the line, or leave all such lines out with --skip-bad-lines")),
        }
    }
}

/// The only other column, or the only one with a unit.
fn likely_value(told: &Told<'_>, time: TimeColumn) -> Result<usize, Problem> {
    let Told {
        line,
        headings,
        row,
    } = told;
    let columns = if headings.is_empty() { row } else { headings };
    let others: Vec<usize> = (0..columns.len())
        .filter(|place| !time.has(*place))
        .collect();
    let has_unit = |place: &usize| {
        let headed = headings.get(*place);
        let in_cell = row.get(*place);
        headed.is_some_and(|cell| ValueUnit::named_in(cell.text).is_some())
            || in_cell.is_some_and(|cell| unit_in_cell(cell.text).is_some())
    };
    let with_unit: Vec<usize> = others.iter().copied().filter(has_unit).collect();
    match (others.as_slice(), with_unit.as_slice()) {
        ([only], _) | (_, [only]) => Ok(*only),
        (others, with_unit) => {
            let mut likely = if with_unit.is_empty() {
                others
            } else {
                with_unit
            }
            .iter();
            let repeated = likely.find_map(|place| twice(*place, "--value", headings));
            Err(repeated.unwrap_or_else(|| {
                Problem::at(line.end(), "several columns may hold the values")
                    .remedy("name one with --value, by its heading or its number from 1")
            }))
        }
    }
}

/// What is wrong where the heading of this column stands over another one, too.
fn twice(place: usize, option: &str, headings: &[Cell<'_>]) -> Option<Problem> {
    let first = headings.get(place).filter(|cell| !cell.text.is_empty())?;
    let mut others = headings.iter().enumerate();
    let (other, second) =
        others.find(|(other, cell)| *other != place && cell.text == first.text)?;
    let [(one, first), (other, second)] = if place < other {
        [(place, first), (other, second)]
    } else {
        [(other, second), (place, first)]
    };
    let what = format!("two columns are headed \"{}\"", shortened(first.text));
    Some(
        Problem::at(second.place.clone(), what)
            .expected(format!("column {}", other + 1))
            .because_of(first.place.clone(), format!("column {}", one + 1))
            .remedy(format!(
                "choose one by its number: {option} {} or {option} {}",
                one + 1,
                other + 1
            )),
    )
}

fn chosen(
    choice: &ColumnChoice,
    option: &str,
    cells: &[Cell<'_>],
    line: &Line<'_>,
) -> Result<usize, Problem> {
    match choice {
        ColumnChoice::Number(number) if *number <= cells.len() => Ok(number - 1),
        ColumnChoice::Number(number) => Err(Problem::at(
            line.end(),
            format!("there is no column {number}"),
        )
        .expected(format!("the last is column {}", cells.len()))),
        ColumnChoice::Headed(name) => {
            let found = choice.place_in(cells);
            if let Some(problem) = found.and_then(|place| twice(place, option, cells)) {
                return Err(problem);
            }
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

    fn reading() -> RecordingFormat {
        RecordingFormat {
            time: None,
            value: None,
            unit: None,
            time_format: None,
            longest_gap: Duration::from_hours(1),
            unreadable: Unreadable::Refused,
        }
    }

    fn told<'l>(heading: &'l str, row: &'l str) -> (Told<'l>, Separator) {
        let text = if heading.is_empty() { row } else { heading };
        let separator = Separator::of(text);
        let cells = |text| Line::new(text, separator).cells().collect::<Vec<_>>();
        let told = Told {
            line: Line::new(text, separator),
            headings: if heading.is_empty() {
                Vec::new()
            } else {
                cells(heading)
            },
            row: cells(row),
        };
        (told, separator)
    }

    fn places(heading: &str, row: &str, reading: &RecordingFormat) -> Option<(TimeColumn, usize)> {
        let (told, separator) = told(heading, row);
        let columns = Columns::told_by(&told, separator, reading).ok()?;
        Some((columns.time, columns.value))
    }

    #[test]
    fn the_heading_tells_the_columns() {
        use TimeColumn::{One, Two};
        let told = |heading, row| places(heading, row, &reading());
        assert_eq!(told("time,box °C", "0,1"), Some((One(0), 1)));
        assert_eq!(told("door;coil_f;timestamp", "0;1;0"), Some((One(2), 1)));
        assert_eq!(told("time,box,coil", "0,1 °C,x"), Some((One(0), 1)));
        let two = Two {
            date: 0,
            time_of_day: 1,
        };
        assert_eq!(
            told("Date;Time;Box", "31.12.2025;18:05;3,0 °C"),
            Some((two, 2))
        );
        assert_eq!(told("time,box °C,coil °C", "0,1,2"), None);
        assert_eq!(told("time,box", "0,1"), None);
        assert_eq!(told("", "0,4.5"), None);
        assert_eq!(told("time", "0"), None);
    }

    #[test]
    fn a_person_may_tell_them() {
        use TimeColumn::One;
        let of = |time: &str, value: &str| RecordingFormat {
            time: Some(time.parse().expect("a column")),
            value: Some(value.parse().expect("a column")),
            unit: Some(ValueUnit::Fahrenheit),
            ..reading()
        };
        assert_eq!(places("", "4.5,0", &of("2", "1")), Some((One(1), 0)));
        let coil = of("t", "coil");
        assert_eq!(places("t,box,coil", "0,1,2", &coil), Some((One(0), 2)));
        assert_eq!(places("t,box,coil", "0,1,2", &of("t", "4")), None);
        assert_eq!(places("t,box,coil", "0,1,2", &of("t", "fan")), None);
        assert!("0".parse::<ColumnChoice>().is_err());
    }

    #[test]
    fn a_heading_that_stands_twice_names_no_column() {
        let value = |choice: &str| RecordingFormat {
            value: Some(choice.parse().expect("a column")),
            ..reading()
        };
        for (heading, reading, first, second) in [
            ("time,°C,time", reading(), 0..4, 9..13),
            ("time,°C,°C", reading(), 5..8, 9..12),
            ("time,°C,°C", value("°C"), 5..8, 9..12),
        ] {
            let (told, separator) = told(heading, "0,1,2");
            let problem = Columns::told_by(&told, separator, &reading).expect_err(heading);
            assert!(problem.what().starts_with("two columns are headed"));
            assert_eq!(problem.place(), Some(second));
            let rejected = hysteron_source::text::SourceText::excerpt("a.csv", 1, heading)
                .rejected(vec![problem])
                .to_string();
            let place = format!("a.csv:1:{}", heading[..first.start].chars().count() + 1);
            assert!(
                rejected.contains("column 1") || first.start > 0,
                "{rejected} {place}"
            );
        }
        let third = places("time,°C,°C", "0,1,2", &value("3"));
        assert_eq!(third, Some((TimeColumn::One(0), 2)));
    }
}
