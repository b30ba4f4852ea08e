//! A small chart: the probe's extremes as a shaded band, the contents as a line through it.

use anstyle::{AnsiColor, Style};

use super::screen::{Charset, Screen};
use super::style::QUIET;
use hysteron_bench::record::trace::{Bucket, Series};
use hysteron_bench::scenario::expectation::Observable;
use hysteron_plant::Quantity;
use hysteron_view::report::axis::{decimals, round_values};
use hysteron_view::report::columns::{columns, extremes};
use hysteron_view::report::lines::short_name;
use hysteron_view::report::view::CaseView;
use hysteron_view::words::degrees::fixed;

const ROWS: usize = 8;
/// Dots of a cell: two across, four down.
const DOTS_DOWN: usize = 4;

const PROBE: Style = AnsiColor::Cyan.on_default();
const CONTENTS: Style = AnsiColor::Yellow.on_default().bold();

/// Who made a mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ink {
    Nothing,
    Probe,
    Contents,
}

#[derive(Debug, Clone, Copy)]
struct Cell {
    dots: u8,
    ink: Ink,
}

/// Dots on a grid of cells.
struct Plot {
    width: usize,
    cells: Vec<Cell>,
}

impl Plot {
    fn new(width: usize) -> Self {
        let empty = Cell {
            dots: 0,
            ink: Ink::Nothing,
        };
        Self {
            width,
            cells: vec![empty; width * ROWS],
        }
    }

    /// Sets the dots of column `x` from `upper` down to `lower`, counted from the top.
    fn stroke(&mut self, x: usize, upper: usize, lower: usize, ink: Ink) {
        // Bits of a braille cell, by column and row (Unicode 16.0, section 21.1).
        const BITS: [[u8; DOTS_DOWN]; 2] = [[0x01, 0x02, 0x04, 0x40], [0x08, 0x10, 0x20, 0x80]];
        for y in upper..=lower.min(ROWS * DOTS_DOWN - 1) {
            let place = (y / DOTS_DOWN) * self.width + x / 2;
            if let Some(cell) = self.cells.get_mut(place) {
                if ink == Ink::Contents && cell.ink == Ink::Probe {
                    cell.dots = 0;
                }
                if !(ink == Ink::Probe && cell.ink == Ink::Contents) {
                    cell.ink = ink;
                }
                cell.dots |= BITS[x % 2][y % DOTS_DOWN];
            }
        }
    }
}

/// The chart with its labels, [`ROWS`] lines; nothing without a trace.
pub(super) fn chart(view: &CaseView<'_>, screen: Screen) -> Vec<String> {
    let Some((probe, contents)) = shown_series(view) else {
        return Vec::new();
    };
    let width = screen.plot_width();
    let bands = [
        ("cut-in", view.run.case.settings.band().cut_in),
        ("cut-out", view.run.case.settings.band().cut_out),
    ]
    .map(|(name, at)| {
        let value = view
            .degrees
            .from_celsius(f64::from(at.millicelsius()) / 1e3);
        (name, value, view.degrees.chosen(at))
    });
    let mut seen: Vec<Bucket> = bands
        .iter()
        .map(|(_, value, _)| Bucket {
            lowest: *value,
            highest: *value,
        })
        .collect();
    let probe_columns = shown(view, probe, width * 2);
    let contents_columns = contents.map(|series| shown(view, series, width * 2));
    seen.push(extremes(&probe_columns));
    seen.extend(contents_columns.as_deref().map(extremes));
    let range = extremes(&seen);
    let values = round_values(range.lowest, range.highest, 4);
    let (Some(lowest), Some(highest)) = (values.first(), values.last()) else {
        return Vec::new();
    };
    let dot = |value: f64| {
        let share = ((highest - value) / (highest - lowest)).clamp(0.0, 1.0);
        (share * (ROWS * DOTS_DOWN - 1) as f64).round() as usize
    };
    let mut plot = Plot::new(width);
    draw(&mut plot, &probe_columns, Ink::Probe, &dot);
    if let Some(columns) = &contents_columns {
        draw(&mut plot, columns, Ink::Contents, &dot);
    }
    let labels = Labels {
        values: &values,
        marks: bands
            .iter()
            .map(|(name, value, words)| (dot(*value) / DOTS_DOWN, format!("{name} {words}")))
            .chain(end_label(contents, contents_columns.as_deref(), &dot))
            .chain(end_label(Some(probe), Some(&probe_columns), &dot))
            .collect(),
        rules: bands
            .iter()
            .map(|(_, value, _)| dot(*value) / DOTS_DOWN)
            .collect(),
    };
    (0..ROWS)
        .map(|row| labels.line(row, &plot, screen, &|value| dot(value) / DOTS_DOWN))
        .collect()
}

/// The row in which a series ends, with its name.
fn end_label(
    series: Option<&Series>,
    columns: Option<&[Bucket]>,
    dot: &impl Fn(f64) -> usize,
) -> Option<(usize, String)> {
    let last = columns?.iter().rev().find(|column| !column.is_empty())?;
    let row = dot(f64::midpoint(last.lowest, last.highest)) / DOTS_DOWN;
    Some((row, short_name(series?.observable).to_owned()))
}

struct Labels<'a> {
    values: &'a [f64],
    marks: Vec<(usize, String)>,
    rules: Vec<usize>,
}

impl Labels<'_> {
    fn line(
        &self,
        row: usize,
        plot: &Plot,
        screen: Screen,
        row_of: &impl Fn(f64) -> usize,
    ) -> String {
        let value = self.values.iter().find(|value| row_of(**value) == row);
        let places = decimals(self.values);
        let edge = value.map_or_else(String::new, |value| fixed(*value, places));
        let cells = &plot.cells[row * plot.width..(row + 1) * plot.width];
        let room = screen.width() - screen.margin() - plot.width - 1;
        let mut label = String::new();
        for (_, words) in self.marks.iter().filter(|(at, _)| *at == row) {
            let longer = match label.is_empty() {
                true => words.clone(),
                false => format!("{label}, {words}"),
            };
            // What finds no room beside a threshold is left out: the threshold matters more.
            if screen.width_of(&longer) <= room || label.is_empty() {
                label = screen.fitted(&longer, room);
            }
        }
        format!(
            "{QUIET}{edge:>5}{QUIET:#} {} {label}",
            painted(cells, self.rules.contains(&row), screen.charset())
        )
        .trim_end()
        .to_owned()
    }
}

fn painted(cells: &[Cell], has_rule: bool, charset: Charset) -> String {
    let mut painted = String::new();
    let mut before = Ink::Nothing;
    for cell in cells {
        if cell.ink != before {
            painted.push_str(&format!("{:#}{}", style(before), style(cell.ink)));
            before = cell.ink;
        }
        painted.push(match (cell.ink, charset) {
            (Ink::Nothing, Charset::Unicode) if has_rule => '╌',
            (Ink::Nothing, Charset::Ascii) if has_rule => '-',
            (Ink::Nothing, Charset::Unicode | Charset::Ascii) => ' ',
            (Ink::Probe, Charset::Ascii) => ':',
            (Ink::Contents, Charset::Ascii) => 'o',
            (Ink::Probe | Ink::Contents, Charset::Unicode) => {
                char::from_u32(0x2800 + u32::from(cell.dots)).unwrap_or(' ')
            }
        });
    }
    painted.push_str(&format!("{:#}", style(before)));
    painted
}

const fn style(ink: Ink) -> Style {
    match ink {
        Ink::Nothing => Style::new(),
        Ink::Probe => PROBE,
        Ink::Contents => CONTENTS,
    }
}

fn draw(plot: &mut Plot, columns: &[Bucket], ink: Ink, dot: &impl Fn(f64) -> usize) {
    let count = columns.len().max(1);
    for x in 0..plot.width * 2 {
        let Some(column) = columns.get(x * count / (plot.width * 2)) else {
            continue;
        };
        if column.is_empty() {
            continue;
        }
        let (upper, lower) = (dot(column.highest), dot(column.lowest));
        match ink {
            Ink::Nothing => {}
            Ink::Contents => plot.stroke(x, upper, lower, ink),
            // A band of sparse dots between two edges leaves the line in it to be seen.
            Ink::Probe => {
                plot.stroke(x, upper, upper, ink);
                plot.stroke(x, lower, lower, ink);
                for y in upper..=lower {
                    if x.is_multiple_of(2) && y.is_multiple_of(2) {
                        plot.stroke(x, y, y, ink);
                    }
                }
            }
        }
    }
}

fn shown(view: &CaseView<'_>, series: &Series, most: usize) -> Vec<Bucket> {
    let value = |value| view.degrees.shown(series.observable, value);
    columns(&series.buckets, most)
        .into_iter()
        .map(|column| match column.is_empty() {
            true => Bucket::EMPTY,
            false => Bucket {
                lowest: value(column.lowest),
                highest: value(column.highest),
            },
        })
        .collect()
}

/// Lowest and highest of the contents: "product 2.5 to 4.0 °C".
pub(super) fn contents_range(view: &CaseView<'_>) -> Option<String> {
    let (_, contents) = shown_series(view)?;
    let series = contents?;
    let all = extremes(&series.buckets);
    let tell = |value| fixed(view.degrees.shown(series.observable, value), 1);
    (!all.is_empty()).then(|| {
        format!(
            "{} {} to {} {}",
            short_name(series.observable),
            tell(all.lowest),
            tell(all.highest),
            view.degrees.unit(series.observable)
        )
    })
}

/// The probe's series, and that of the contents where there are some.
fn shown_series<'a>(view: &CaseView<'a>) -> Option<(&'a Series, Option<&'a Series>)> {
    let trace = view.trace()?;
    let of = |wanted: Observable| {
        let mut series = trace.series().iter();
        series.find(|series| series.observable == wanted)
    };
    let contents = of(Observable::Plant(Quantity::Product))
        .or_else(|| of(Observable::Plant(Quantity::Water)))
        .or_else(|| of(Observable::Plant(Quantity::Room)));
    Some((of(Observable::ProbeReading)?, contents))
}
