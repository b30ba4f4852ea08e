//! What comes first in the dates of a recording, told by all of them together.

use std::io::Read;

use super::columns::Columns;
use super::date::{DateOrder, NumericDate, Tells};
use super::lines::{Ahead, Lines, NumberedLine};
use super::moment::TimeStyle;
use hysteron_source::cells::Line;
use hysteron_source::text::{Problem, Rejected};

/// How the times of a table are written whose first row is the line at `row`.
///
/// # Errors
/// When all its dates together leave open which number is the day and which the month.
pub fn style_of<R: Read>(
    lines: &mut Lines<R>,
    row: usize,
    columns: &Columns,
) -> Result<TimeStyle, Rejected> {
    let mut open: Option<(NumberedLine, Problem)> = None;
    let mut numeric = false;
    for place in row.. {
        let Ahead::Line(numbered) = lines.look(place) else {
            break;
        };
        let line = Line::new(&numbered.text, columns.separator());
        let Some((time, span)) = columns.time().of(&line) else {
            continue;
        };
        if place == row && TimeStyle::Standard.read(&time).is_some() {
            return Ok(TimeStyle::Standard);
        }
        let Some(date) = NumericDate::of(&time) else {
            continue;
        };
        match date.tells() {
            Tells::Order(order) if date.moment(order).is_some() => {
                return Ok(TimeStyle::Numeric(order));
            }
            // Not in this way, so it is for whoever reads the line to say what is wrong with it.
            Tells::Order(_) => {}
            Tells::Nothing => numeric |= date.moment(DateOrder::DayFirst).is_some(),
            Tells::DayOrMonth if open.is_none() => {
                if let Some(problem) = left_open(&date, span) {
                    open = Some((numbered.clone(), problem));
                }
            }
            Tells::DayOrMonth => {}
        }
    }
    match open {
        Some((line, problem)) => Err(lines.rejected(&line, problem)),
        None if numeric => Ok(TimeStyle::Numeric(DateOrder::DayFirst)),
        None => Ok(TimeStyle::Standard),
    }
}

fn left_open(date: &NumericDate<'_>, span: std::ops::Range<usize>) -> Option<Problem> {
    let orders = [DateOrder::DayFirst, DateOrder::MonthFirst];
    // A year of two digits is told as such where the line is read.
    let [day_first, month_first] = orders.map(|order| date.in_words(order));
    let [by_day, by_month] = orders.map(|order| date.format(order));
    Some(
        Problem::at(
            span,
            format!("the date may be {} or {}", day_first?, month_first?),
        )
        .expected("no date in the recording tells day from month")
        .remedy(format!(
            "say which comes first: --time-format \"{by_day}\" or --time-format \"{by_month}\""
        )),
    )
}
