//! Where the table begins: loggers write lines about themselves before it.
//!
//! The first line with a time and a value in it is a row. Its heading is the line before it, if
//! that has words alone and a time or a unit among them, or else the last one that tells of a
//! time, or else the last of words alone.

use std::io::Read;

use super::format::{ColumnChoice, RecordingFormat};
use super::lines::{Ahead, Lines};
use super::moment::{TimePart, part_of_time};
use super::time_column::{TimeColumn, is_time};
use super::value::{ValueUnit, is_value};
use hysteron_source::cells::{Cell, Line, Separator};

/// The table, by lines from the first on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Table {
    pub heading: Option<usize>,
    pub row: usize,
    pub separator: Separator,
}

/// A heading comes within as many lines.
const MOST_LINES: usize = 1_000;
/// Time and value stand in one of as many columns.
const MOST_COLUMNS: usize = 256;

/// The cells of a line, as far as anything is looked for in them.
pub fn cells_of(text: &str, separator: Separator) -> Vec<Cell<'_>> {
    let line = Line::new(text, separator);
    line.cells().take(MOST_COLUMNS).collect()
}

/// Lines of one separator that may be headings.
#[derive(Debug, Clone, Copy, Default)]
struct Candidates {
    last: Option<usize>,
    /// The last with a time or a unit among its words.
    last_telling: Option<usize>,
    last_of_times: Option<usize>,
}

impl Candidates {
    fn add(&mut self, place: usize, cells: &[Cell<'_>]) {
        let of_times = cells.iter().any(|cell| is_time(cell.text));
        let with_unit = || {
            let mut cells = cells.iter();
            cells.any(|cell| ValueUnit::named_in(cell.text).is_some())
        };
        self.last = Some(place);
        if of_times || with_unit() {
            self.last_telling = Some(place);
        }
        if of_times {
            self.last_of_times = Some(place);
        }
    }

    fn before(self, row: usize) -> Option<usize> {
        let direct = self.last_telling.filter(|last| last + 1 == row);
        direct.or(self.last_of_times).or(self.last)
    }
}

/// Finds the table; `None` where no line has a time and a value.
pub fn find_table<R: Read>(lines: &mut Lines<R>, reading: &RecordingFormat) -> Option<Table> {
    let mut candidates = [Candidates::default(); Separator::ALL.len()];
    for row in 0..MOST_LINES {
        let Ahead::Line(_) = lines.look(row) else {
            return None;
        };
        let text = &lines.kept(row)?.text;
        for (separator, candidates) in Separator::ALL.into_iter().zip(&mut candidates) {
            let cells = cells_of(text, separator);
            if cells.len() < 2 {
                continue;
            }
            let heading = candidates.before(row);
            let headed = heading.and_then(|heading| lines.kept(heading));
            let headings = headed.map_or_else(Vec::new, |line| cells_of(&line.text, separator));
            if is_row(&cells, &headings, reading) {
                return Some(Table {
                    heading,
                    row,
                    separator,
                });
            }
            if may_head(&cells, reading) {
                candidates.add(row, &cells);
            }
        }
    }
    None
}

/// The line that tells most about a table that was not found.
pub fn likely_heading<R: Read>(lines: &mut Lines<R>) -> usize {
    let mut of_two_cells = None;
    for place in 0..MOST_LINES {
        let Ahead::Line(line) = lines.look(place) else {
            break;
        };
        let cells = cells_of(&line.text, Separator::of(&line.text));
        if cells.len() < 2 {
            continue;
        }
        if cells.iter().any(|cell| is_time(cell.text)) {
            return place;
        }
        of_two_cells = of_two_cells.or(Some(place));
    }
    of_two_cells.unwrap_or(0)
}

fn is_row(cells: &[Cell<'_>], headings: &[Cell<'_>], reading: &RecordingFormat) -> bool {
    let chosen = match &reading.time {
        Some(choice) => match choice.place_in(headings) {
            Some(place) => Some(place),
            None => return false,
        },
        None => None,
    };
    if reading
        .value
        .as_ref()
        .is_some_and(|choice| choice.place_in(headings).is_none())
    {
        return false;
    }
    let time = TimeColumn::in_cells(cells, headings, chosen, reading.time_format.as_ref());
    time.is_some_and(|time| {
        let mut others = cells
            .iter()
            .enumerate()
            .filter(|(place, _)| !time.has(*place));
        others.any(|(_, cell)| is_value(cell.text))
    })
}

fn may_head(cells: &[Cell<'_>], reading: &RecordingFormat) -> bool {
    let names = [&reading.time, &reading.value].into_iter().flatten();
    let mut missing = names.filter(|choice| match choice {
        ColumnChoice::Headed(_) => choice.place_in(cells).is_none(),
        ColumnChoice::Number(_) => false,
    });
    if missing.next().is_some() {
        return false;
    }
    let dated = |cell: &Cell<'_>| {
        matches!(
            part_of_time(cell.text),
            TimePart::Whole | TimePart::Date | TimePart::TimeOfDay
        )
    };
    let of_times = cells.iter().any(|cell| is_time(cell.text));
    let of_words = !cells.iter().any(|cell| is_value(cell.text));
    cells.iter().any(|cell| !cell.text.is_empty())
        && !cells.iter().any(dated)
        && (of_words || of_times)
}
