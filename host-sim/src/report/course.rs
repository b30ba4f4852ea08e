//! The drawings of one case: temperatures over the relay's strip, and what else was recorded.

use hysteron_logic::alarm::AlarmLimit;
use hysteron_logic::time::Duration;
use hysteron_logic::units::Temperature;
use maud::{Markup, html};

use super::frame::{Frame, Room};
use super::happenings::{self, ROW, rows};
use super::hatching::Hatching;
use super::lines::{Lines, Threshold, is_envelope};
use super::slots::{duty_panel, starts_panel};
use super::strip::{fed_strip, load_differs, relay_strip};
use super::svg::{Anchor, text, told_box};
use super::view::CaseView;
use crate::plant::Quantity;
use crate::runs::Runner;
use crate::scenario::expectation::{Expectation, Observable, Subject};
use crate::scenario::quantity_text::moment_text;
use crate::trace::Series;
use crate::words::degrees::trimmed;
use crate::words::number::counted;

/// What a chart shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Topic {
    /// What the control works on: probe, space, contents.
    Space,
    /// Every other temperature.
    Surroundings,
    /// Suction pressure against the pressure control that starts the compressor.
    Suction,
    /// Pressures.
    Pressure,
    /// Powers and heat flows.
    Power,
    /// Refrigerant in the evaporator.
    Refrigerant,
}

impl Topic {
    /// The charts that follow the first.
    pub const FURTHER: [Self; 5] = [
        Self::Suction,
        Self::Surroundings,
        Self::Pressure,
        Self::Power,
        Self::Refrigerant,
    ];

    /// What a chart of it is called.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::Space => "Temperature, relay and load",
            Self::Surroundings => "Around the space and inside the machine",
            Self::Suction => "Suction pressure, kPa absolute, and compressor",
            Self::Pressure => "Pressures, kPa absolute",
            Self::Power => "Power and heat, W",
            Self::Refrigerant => "Liquid refrigerant in the evaporator, kg",
        }
    }

    /// What an observable belongs to.
    #[must_use]
    pub const fn of(observable: Observable) -> Self {
        match observable {
            Observable::ProbeReading => Self::Space,
            Observable::Ambient => Self::Surroundings,
            Observable::Plant(quantity) => match quantity {
                Quantity::Air
                | Quantity::Product
                | Quantity::Water
                | Quantity::Room
                | Quantity::Reference => Self::Space,
                Quantity::Coil
                | Quantity::Walls
                | Quantity::Element
                | Quantity::Fabric
                | Quantity::EvaporatingTemperature
                | Quantity::CondensingTemperature => Self::Surroundings,
                Quantity::SuctionPressure | Quantity::DischargePressure => Self::Pressure,
                Quantity::LoadPower
                | Quantity::LoadHeat
                | Quantity::CompressorPower
                | Quantity::DoorHeat
                | Quantity::RejectedHeat
                | Quantity::FanPower => Self::Power,
                Quantity::EvaporatorLiquid => Self::Refrigerant,
            },
        }
    }
}

/// The series of a topic. Over a long time the air says no more than the probe, and hides it.
fn series<'a>(view: &CaseView<'a>, topic: Topic, frame: &Frame) -> Option<Vec<&'a Series>> {
    let trace = view.trace()?;
    let is_long = is_envelope(frame, frame.plot_width() as usize);
    let mut series: Vec<&Series> = trace
        .series()
        .iter()
        .filter(|series| belongs(view, series.observable, topic))
        .filter(|series| !(is_long && series.observable == Observable::Plant(Quantity::Air)))
        .collect();
    // What the control sees is drawn last, over the others.
    series.sort_by_key(|series| series.observable == Observable::ProbeReading);
    Some(series)
}

fn belongs(view: &CaseView<'_>, observable: Observable, topic: Topic) -> bool {
    match topic {
        Topic::Suction => {
            view.plan.plant.pump_down().is_some()
                && observable == Observable::Plant(Quantity::SuctionPressure)
        }
        Topic::Space
        | Topic::Surroundings
        | Topic::Pressure
        | Topic::Power
        | Topic::Refrigerant => Topic::of(observable) == topic,
    }
}

/// The lines of the first chart: the space with cut-in, cut-out, alarms and what is expected.
#[must_use]
pub fn space_lines<'a>(view: &'a CaseView<'a>, frame: &Frame) -> Option<Lines<'a>> {
    let series = series(view, Topic::Space, frame)?;
    let mut thresholds = bands(view);
    thresholds.extend(alarms(view));
    let observables: Vec<Observable> = series.iter().map(|series| series.observable).collect();
    thresholds.extend(
        view.run
            .verdicts
            .iter()
            .flat_map(|verdict| limits(view, &verdict.expectation, &observables)),
    );
    Lines::new(view, series, thresholds)
}

/// The lines of a further chart, if there is anything to see.
#[must_use]
pub fn further_lines<'a>(view: &'a CaseView<'a>, frame: &Frame, topic: Topic) -> Option<Lines<'a>> {
    let series = series(view, topic, frame)?;
    let observables: Vec<Observable> = series.iter().map(|series| series.observable).collect();
    let verdicts = view.run.verdicts.iter();
    let limits = verdicts.flat_map(|verdict| limits(view, &verdict.expectation, &observables));
    let mut thresholds: Vec<Threshold> = limits.collect();
    if topic == Topic::Suction {
        thresholds.extend(pressure_settings(view));
    }
    Lines::new(view, series, thresholds)
}

/// Where the pressure control closes and opens, absolute and as a gauge shows it.
fn pressure_settings(view: &CaseView<'_>) -> Vec<Threshold> {
    let Some(pump_down) = view.plan.plant.pump_down() else {
        return Vec::new();
    };
    let control = &pump_down.control;
    [
        ("cut-in", control.cut_in_kpa),
        ("cut-out", control.cut_out_kpa),
    ]
    .map(|(word, kpa)| Threshold {
        steps: vec![(Duration::ZERO, kpa)],
        until: view.plan.duration,
        class: word,
        words: format!("{word} {} kPa", trimmed(kpa, 0)),
    })
    .into()
}

fn bands(view: &CaseView<'_>) -> Vec<Threshold> {
    let bands = view.bands();
    let of = |class, word: &str, value: fn(&hysteron_logic::call::Band) -> Temperature| {
        let last = bands.last().map(|(_, band)| value(band));
        Threshold {
            steps: bands
                .iter()
                .map(|(from, band)| (*from, shown(view, value(band))))
                .collect(),
            until: view.plan.duration,
            class,
            words: format!(
                "{word} {}",
                last.map(|last| view.degrees.chosen(last))
                    .unwrap_or_default()
            ),
        }
    };
    vec![
        of("cut-in", "cut-in", |band| band.cut_in),
        of("cut-out", "cut-out", |band| band.cut_out),
    ]
}

fn alarms(view: &CaseView<'_>) -> Vec<Threshold> {
    let draft = view.run.case.settings.draft();
    [
        ("high alarm", draft.high_alarm),
        ("low alarm", draft.low_alarm),
    ]
    .into_iter()
    .filter_map(|(word, alarm)| match alarm {
        AlarmLimit::Off => None,
        AlarmLimit::Beyond { limit, .. } => Some(Threshold {
            steps: vec![(Duration::ZERO, shown(view, limit))],
            until: view.plan.duration,
            class: "alarm",
            words: format!("{word} {}", view.degrees.chosen(limit)),
        }),
    })
    .collect()
}

fn shown(view: &CaseView<'_>, temperature: Temperature) -> f64 {
    view.degrees
        .from_celsius(f64::from(temperature.millicelsius()) / 1e3)
}

/// The limits that an expectation sets to one of these observables.
fn limits(
    view: &CaseView<'_>,
    expectation: &Expectation,
    observables: &[Observable],
) -> Vec<Threshold> {
    let Subject::Stays(observable, limits) = expectation.subject else {
        return Vec::new();
    };
    if !observables.contains(&observable) {
        return Vec::new();
    }
    let name = super::lines::short_name(observable);
    [("≥", limits.at_least()), ("≤", limits.at_most())]
        .into_iter()
        .filter_map(|(sign, value)| {
            let value = view.degrees.shown(observable, value?);
            let number = trimmed(value, 1);
            Some(Threshold {
                steps: vec![(expectation.window.from, value)],
                until: expectation.window.until.min(view.plan.duration),
                class: "limit",
                words: format!("{name} {sign} {number} {}", view.degrees.unit(observable)),
            })
        })
        .collect()
}

/// The first drawing of a case: temperatures, relay, load, happenings, starts and duty.
#[must_use]
pub fn space_drawing(view: &CaseView<'_>, id: &str, room: Room) -> Option<Markup> {
    const STRIP: f64 = 22.0;
    const THIN: f64 = STRIP - 6.0;
    const BARS: f64 = 46.0;
    /// Where names of troubles stand: above the plot, where no curve and no limit comes.
    const HEAD: f64 = 16.0;
    let frame = Frame::new(room, view.plan.duration);
    let lines = space_lines(view, &frame)?;
    let rows = rows(&view.run.case.timeline, &frame);
    let strips = strips(view);
    let runners = view.plan.plant.runners();
    let names = trouble_names(view, &frame);
    let head = if names.is_empty() { 0.0 } else { HEAD };
    let (top, plot) = (10.0 + head, if room == Room::Wide { 300.0 } else { 220.0 });
    let bottom = top + plot;
    let strip_top = bottom + 24.0;
    let apart = strip_gap(room);
    let fed_top = |place: usize| strip_top + STRIP + apart + (THIN + apart) * place as f64;
    let rows_top = match strips.len() {
        0 => strip_top + STRIP + 2.0,
        some => fed_top(some) - apart + 6.0,
    };
    let starts_top = rows_top + ROW * rows.len() as f64 + 22.0;
    let bars_top = |place: usize| starts_top + (BARS + 22.0) * place as f64;
    let end = bars_top(runners.len()) + BARS;
    let content = html! {
        (shades(view, &frame, top - head, strip_top + STRIP))
        @for (x, name) in names { (text("mark", Anchor::Start, (x, top - 5.0), name)) }
        (lines.panel(&frame, top, plot))
        (frame.time_labels(bottom + 1.0))
        (relay_strip(view, &frame, strip_top, STRIP))
        (beside(&frame, strip_top + STRIP - 7.0, "relay"))
        @for (place, (runner, name)) in strips.iter().enumerate() {
            (fed_strip(view, *runner, &frame, fed_top(place), THIN))
            (strip_name(&frame, fed_top(place), THIN, name))
        }
        (happenings::draw(&rows, &frame, rows_top))
        (frame.grid(starts_top, end))
        @for (place, runner) in runners.iter().enumerate() {
            (starts_panel(view, *runner, &frame, bars_top(place), BARS))
        }
        (duty_panel(view, &frame, bars_top(runners.len()), BARS))
        (frame.time_labels(end + 1.0))
    };
    Some(frame.drawing(
        &format!("{id}-space"),
        end + 22.0,
        &format!("{} over time, {}", Topic::Space.title(), view.name()),
        &told(view),
        &content,
    ))
}

/// What has a strip of its own: a load that does not follow the relay, and a compressor behind it.
fn strips(view: &CaseView<'_>) -> Vec<(Runner, &'static str)> {
    view.plan
        .plant
        .runners()
        .iter()
        .filter_map(|runner| match runner {
            Runner::Load => load_differs(view).then_some((Runner::Load, "load")),
            Runner::Compressor => Some((Runner::Compressor, "compressor")),
        })
        .collect()
}

/// A drawing of a further topic.
#[must_use]
pub fn further_drawing(view: &CaseView<'_>, id: &str, room: Room, topic: Topic) -> Option<Markup> {
    let frame = Frame::new(room, view.plan.duration);
    let lines = further_lines(view, &frame, topic)?;
    let (top, plot) = (10.0, 170.0);
    let bottom = top + plot;
    let (strip_top, strip) = (bottom + 18.0 + strip_gap(room), 16.0);
    let end = match topic {
        Topic::Suction => strip_top + strip + 4.0,
        Topic::Space
        | Topic::Surroundings
        | Topic::Pressure
        | Topic::Power
        | Topic::Refrigerant => bottom + 22.0,
    };
    let content = html! {
        (lines.panel(&frame, top, plot))
        (frame.time_labels(bottom + 1.0))
        @if topic == Topic::Suction {
            (fed_strip(view, Runner::Compressor, &frame, strip_top, strip))
            (strip_name(&frame, strip_top, strip, "compressor"))
        }
    };
    let name = match topic {
        Topic::Space => "space",
        Topic::Surroundings => "surroundings",
        Topic::Suction => "suction",
        Topic::Pressure => "pressure",
        Topic::Power => "power",
        Topic::Refrigerant => "refrigerant",
    };
    Some(frame.drawing(
        &format!("{id}-{name}"),
        end,
        &format!("{} over time, {}", topic.title(), view.name()),
        "The key figures stand in the tables below.",
        &content,
    ))
}

/// The room above a strip: on a telephone its name stands there.
const fn strip_gap(room: Room) -> f64 {
    match room {
        Room::Wide => 6.0,
        Room::Narrow | Room::Small => 18.0,
    }
}

/// The name of a strip, for which there is no room at its left edge.
fn strip_name(frame: &Frame, top: f64, height: f64, name: &str) -> Markup {
    match frame.room {
        Room::Wide => beside(frame, top + height - 5.0, name),
        Room::Narrow | Room::Small => text("mark", Anchor::Start, (frame.left, top - 3.0), name),
    }
}

fn beside(frame: &Frame, y: f64, words: &str) -> Markup {
    match frame.room {
        Room::Wide => text("label", Anchor::Start, (frame.right + 8.0, y), words),
        Room::Narrow | Room::Small => text("tick", Anchor::End, (frame.left - 4.0, y), words),
    }
}

/// The ground behind the chart: where a fault stood, the load was locked out or a hold kept it back.
fn shades(view: &CaseView<'_>, frame: &Frame, top: f64, bottom: f64) -> Markup {
    use super::strip::Look;
    let holds = view.spells.iter().filter(|spell| {
        Look::of(spell.stretch.standing) == Look::HeldOpen
            && frame.x(spell.until) - frame.x(spell.stretch.from) >= 1.0
    });
    html! {
        @for spell in holds {
            @let (from, until) = (frame.x(spell.stretch.from), frame.x(spell.until));
            (told_box("shade-hold", (from, top), (until - from, bottom - top), ""))
        }
        @for (trouble, from, until) in view.troubles() {
            @let (x, width) = (frame.x(from), frame.x(until) - frame.x(from));
            @let told = format!("{} to {}: {}", moment_text(from), moment_text(until), trouble.text());
            @let (corner, size) = ((x, top), (width.max(1.0), bottom - top));
            (told_box("shade-trouble", corner, size, &told))
            path class="shade-lines" d=(Hatching::Level { pitch: 8 }.path(corner, size)) {}
        }
    }
}

/// The troubles that are long enough to hold their own name, each with its place.
fn trouble_names(view: &CaseView<'_>, frame: &Frame) -> Vec<(f64, &'static str)> {
    const MARGIN: f64 = 4.0;
    let mut troubles = view.troubles();
    troubles.sort_by_key(|(_, from, _)| *from);
    let mut free_from = frame.left;
    let mut names = Vec::new();
    for (trouble, from, until) in troubles {
        let (x, name) = (frame.x(from) + MARGIN, trouble.text());
        let end = x + widest(name);
        if x >= free_from && end + MARGIN <= frame.x(until) {
            free_from = end + MARGIN;
            names.push((x, name));
        }
    }
    names
}

/// More room than these words take as a mark, in any face.
fn widest(words: &str) -> f64 {
    6.0 * words.chars().count() as f64
}

/// The chart for those who do not see it.
fn told(view: &CaseView<'_>) -> String {
    let mut told = format!(
        "The load started {} and ran for {}.",
        counted(view.run.runs.starts, "time"),
        super::figures::run_text(view)
    );
    if let Some(trace) = view.trace() {
        for series in trace.series() {
            if Topic::of(series.observable) != Topic::Space {
                continue;
            }
            let all = super::columns::extremes(&series.buckets);
            if !all.is_empty() {
                told.push_str(&format!(
                    " {}: {} to {}.",
                    crate::words::installation::capitalised(series.observable.name()),
                    view.degrees.reading(series.observable, all.lowest),
                    view.degrees.reading(series.observable, all.highest)
                ));
            }
        }
    }
    told
}
