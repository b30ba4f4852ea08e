//! A panel of series over time, in one unit.

use hysteron_logic::time::Duration;
use maud::{Markup, html};

use super::axis::{decimals, round_values};
use super::columns::{columns, extremes};
use super::frame::{DrawingSize, Frame};
use super::svg::{Anchor, Px, band_path, line_path, rule, text};
use super::view::CaseView;
use crate::words::degrees::fixed;
use hysteron_bench::record::trace::{Bucket, Series};
use hysteron_bench::scenario::expectation::Observable;
use hysteron_plant::Quantity;

/// How a series is drawn: each differs from its neighbours in weight or dash as well as in colour.
#[must_use]
pub const fn style(observable: Observable) -> &'static str {
    match observable {
        Observable::ProbeReading => "s-probe",
        Observable::Ambient => "s-ambient",
        Observable::Plant(quantity) => match quantity {
            Quantity::Air | Quantity::Room | Quantity::Reference => "s-space",
            Quantity::Product | Quantity::Water => "s-contents",
            Quantity::Coil | Quantity::Element => "s-coil",
            Quantity::Walls | Quantity::Fabric => "s-walls",
            Quantity::EvaporatingTemperature | Quantity::SuctionPressure => "s-low-side",
            Quantity::CondensingTemperature | Quantity::DischargePressure => "s-high-side",
            Quantity::LoadPower => "s-probe",
            Quantity::LoadHeat => "s-contents",
            Quantity::DoorHeat => "s-space",
            Quantity::RejectedHeat => "s-coil",
            Quantity::FanPower => "s-walls",
            Quantity::CompressorPower => "s-high-side",
            Quantity::EvaporatorLiquid => "s-low-side",
        },
    }
}

/// A place for labels beside a plot, each at its own height.
#[derive(Debug, Clone)]
pub struct Label {
    /// Where it belongs.
    pub y: f64,
    /// Its class.
    pub class: String,
    /// What it says.
    pub words: String,
}

/// A horizontal mark that the series are judged by.
#[derive(Debug, Clone)]
pub struct Threshold {
    /// Its value, shown; each from a moment on.
    pub steps: Vec<(Duration, f64)>,
    /// Until when.
    pub until: Duration,
    /// Its class.
    pub class: &'static str,
    /// What it is, with its last value.
    pub words: String,
}

/// Series of one unit, ready to be drawn.
#[derive(Debug, Clone)]
pub struct Lines<'a> {
    view: &'a CaseView<'a>,
    series: Vec<&'a Series>,
    thresholds: Vec<Threshold>,
    values: Vec<f64>,
}

/// From this length of a column on, a line through its middle says nothing and only the envelope is drawn.
const ENVELOPE_FROM: Duration = Duration::from_minutes(40);

impl<'a> Lines<'a> {
    /// These series against these thresholds; none where nothing could be seen.
    #[must_use]
    pub fn new(
        view: &'a CaseView<'a>,
        series: Vec<&'a Series>,
        thresholds: Vec<Threshold>,
    ) -> Option<Self> {
        let range = range(view, &series, &thresholds)?;
        Some(Self {
            view,
            series,
            thresholds,
            values: round_values(range.lowest, range.highest, 6),
        })
    }

    /// With the same values along the edge as other panels, to be compared by eye.
    #[must_use]
    pub fn on_scale_of(mut self, range: Bucket) -> Self {
        self.values = round_values(range.lowest, range.highest, 4);
        self
    }

    /// Lowest and highest value that is to be shown.
    #[must_use]
    pub fn range(&self) -> Bucket {
        range(self.view, &self.series, &self.thresholds).unwrap_or(Bucket::EMPTY)
    }

    /// The panel from `top` on, `height` high.
    #[must_use]
    pub fn panel(&self, frame: &Frame, top: f64, height: f64) -> Markup {
        let bottom = top + height;
        let y = |value: f64| self.y(value, top, height);
        let places = decimals(&self.values);
        html! {
            @for value in &self.values {
                (rule("grid", (frame.left, y(*value)), (frame.right, y(*value))))
                (text("tick", Anchor::End, (frame.left - 6.0, y(*value) + 4.0), &fixed(*value, places)))
            }
            (frame.grid(top, bottom))
            @for threshold in &self.thresholds { (threshold_line(threshold, frame, &y)) }
            @for series in &self.series { (self.curve(series, frame, &y)) }
            @match frame.size {
                DrawingSize::Wide => (labels(self.labels(&y), frame, top, bottom)),
                // A legend stands above.
                DrawingSize::Narrow | DrawingSize::Small => {},
            }
        }
    }

    fn y(&self, value: f64, top: f64, height: f64) -> f64 {
        let (lowest, highest) = match (self.values.first(), self.values.last()) {
            (Some(lowest), Some(highest)) => (*lowest, *highest),
            (None, _) | (_, None) => (0.0, 1.0),
        };
        let share = ((value - lowest) / (highest - lowest)).clamp(0.0, 1.0);
        top + height * (1.0 - share)
    }

    fn columns(&self, series: &Series, frame: &Frame) -> Vec<Bucket> {
        let days = (frame.length.millis() / 86_400_000) as usize;
        let size = (frame.plot_width() / 1.5) as usize;
        let most = if days > 60 && days <= size {
            days
        } else {
            size
        };
        let shown = |value| self.view.degrees.shown(series.observable, value);
        columns(&series.buckets, most)
            .into_iter()
            .map(|column| match column.is_empty() {
                true => Bucket::EMPTY,
                false => Bucket {
                    lowest: shown(column.lowest),
                    highest: shown(column.highest),
                },
            })
            .collect()
    }

    fn curve(&self, series: &Series, frame: &Frame, y: &impl Fn(f64) -> f64) -> Markup {
        let columns = self.columns(series, frame);
        let count = columns.len().max(1) as f64;
        let recorded = frame.x(self
            .view
            .trace()
            .map_or(frame.length, |trace| trace.length()));
        let x = |place: usize| frame.left + (recorded - frame.left) * (place as f64 + 0.5) / count;
        let class = style(series.observable);
        let is_envelope = is_envelope(frame, columns.len()) || swings_within_columns(&columns);
        let band = band_path(&columns, x, y);
        let middle = line_path(columns.iter().enumerate().map(|(place, column)| {
            let middle = f64::midpoint(column.lowest, column.highest);
            (!column.is_empty()).then(|| (x(place), y(middle)))
        }));
        html! {
            @if is_envelope {
                path class={ "envelope " (class) } d=(band) {}
            } @else {
                path class={ "band " (class) } d=(band) {}
                path class={ "line " (class) } d=(middle) {}
            }
        }
    }

    fn labels(&self, y: &impl Fn(f64) -> f64) -> Vec<Label> {
        let series = self.series.iter().filter_map(|series| {
            let last = series
                .buckets
                .iter()
                .rev()
                .find(|bucket| !bucket.is_empty())?;
            let middle = f64::midpoint(last.lowest, last.highest);
            Some(Label {
                y: y(self.view.degrees.shown(series.observable, middle)),
                class: format!("label {}", style(series.observable)),
                words: short_name(series.observable).to_owned(),
            })
        });
        let thresholds = self.thresholds_once().into_iter().filter_map(|threshold| {
            Some(Label {
                y: y(threshold.steps.last()?.1),
                class: "label".to_owned(),
                words: threshold.words.clone(),
            })
        });
        series.chain(thresholds).collect()
    }

    /// Series and thresholds with their strokes, for drawings without room for labels.
    #[must_use]
    pub fn legend(&self) -> Markup {
        html! {
            ul class="legend" {
                @for series in &self.series {
                    li {
                        svg class="swatch" viewBox="0 0 28 10" aria-hidden="true" {
                            path class={ "line " (style(series.observable)) } d="M0 5L28 5" {}
                        }
                        (series.observable.name())
                    }
                }
                @for threshold in self.thresholds_once() {
                    li {
                        svg class="swatch" viewBox="0 0 28 10" aria-hidden="true" {
                            (rule(threshold.class, (0.0, 5.0), (28.0, 5.0)))
                        }
                        (threshold.words)
                    }
                }
            }
        }
    }

    /// Thresholds, those of the same words once: what holds at several times is one thing to know.
    fn thresholds_once(&self) -> Vec<&Threshold> {
        let mut once: Vec<&Threshold> = Vec::new();
        for threshold in &self.thresholds {
            if once.iter().all(|known| known.words != threshold.words) {
                once.push(threshold);
            }
        }
        once
    }
}

/// Whether the series swings through so much of its range within each column that a line through
/// the middles would only show how columns and cycles beat.
fn swings_within_columns(columns: &[Bucket]) -> bool {
    const MOST_OF_RANGE: f64 = 0.35;
    let all = extremes(columns);
    let filled = columns.iter().filter(|column| !column.is_empty());
    let heights: f64 = filled
        .clone()
        .map(|column| column.highest - column.lowest)
        .sum();
    heights > MOST_OF_RANGE * (all.highest - all.lowest) * filled.count() as f64
}

/// Whether columns are so long that only their extremes are drawn.
#[must_use]
pub fn is_envelope(frame: &Frame, columns: usize) -> bool {
    frame.length.millis() / columns.max(1) as u64 > ENVELOPE_FROM.millis()
}

fn range(view: &CaseView<'_>, series: &[&Series], thresholds: &[Threshold]) -> Option<Bucket> {
    let of_series = series.iter().map(|series| {
        let all = extremes(&series.buckets);
        let shown = |value| view.degrees.shown(series.observable, value);
        match all.is_empty() {
            true => Bucket::EMPTY,
            false => Bucket {
                lowest: shown(all.lowest),
                highest: shown(all.highest),
            },
        }
    });
    let of_thresholds = thresholds.iter().flat_map(|threshold| {
        threshold.steps.iter().map(|(_, value)| Bucket {
            lowest: *value,
            highest: *value,
        })
    });
    let seen: Vec<Bucket> = of_series.chain(of_thresholds).collect();
    Some(extremes(&seen)).filter(|all| !all.is_empty())
}

fn threshold_line(threshold: &Threshold, frame: &Frame, y: &impl Fn(f64) -> f64) -> Markup {
    let ends = threshold.steps.iter().skip(1).map(|(from, _)| *from);
    let pieces = threshold.steps.iter().zip(ends.chain([threshold.until]));
    html! {
        @for ((from, value), until) in pieces {
            (rule(threshold.class, (frame.x(*from), y(*value)), (frame.x(until), y(*value))))
        }
    }
}

/// Labels at the right edge, moved apart where they would overlap.
fn labels(mut labels: Vec<Label>, frame: &Frame, top: f64, bottom: f64) -> Markup {
    const APART: f64 = 14.0;
    labels.sort_by(|one, other| one.y.total_cmp(&other.y));
    let mut floor = top + 4.0;
    for label in &mut labels {
        label.y = label.y.max(floor);
        floor = label.y + APART;
    }
    let mut ceiling = bottom;
    for label in labels.iter_mut().rev() {
        label.y = label.y.min(ceiling);
        ceiling = label.y - APART;
    }
    html! {
        @for label in &labels {
            text class=(label.class) x=(Px(frame.right + 8.0)) y=(Px(label.y + 4.0)) { (label.words) }
        }
    }
}

/// A name without its last word, where that only repeats what the chart shows.
#[must_use]
pub fn short_name(observable: Observable) -> &'static str {
    let name = observable.name();
    name.strip_suffix(" temperature")
        .or_else(|| name.strip_suffix(" pressure"))
        .or_else(|| name.strip_suffix(" in the evaporator"))
        .unwrap_or(name)
}
