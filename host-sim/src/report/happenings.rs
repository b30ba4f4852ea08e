//! What was done to the installation, in rows under the chart.

use hysteron_logic::time::Duration;
use maud::{Markup, html};

use super::frame::{Frame, Room};
use super::svg::{Anchor, Px, rule, text, told_box};
use crate::scenario::happening::{Edge, Happening, Hold, Lasting, TimedEdge};
use crate::scenario::quantity_text::moment_text;

/// Height of a row.
pub const ROW: f64 = 16.0;

/// One row: everything that took hold of one thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Row<'a> {
    name: &'static str,
    spans: Vec<Span<'a>>,
}

/// From when until when, and what.
type Span<'a> = (Duration, Duration, &'a str);

/// The rows of a timeline, each in the order of time.
#[must_use]
pub fn rows(timeline: &[TimedEdge], end: Duration) -> Vec<Row<'_>> {
    let mut rows: Vec<Row<'_>> = Vec::new();
    let mut open: Vec<(Hold, Duration, &str)> = Vec::new();
    let mut add = |name, span| match rows.iter_mut().find(|row| row.name == name) {
        Some(row) => row.spans.push(span),
        None => rows.push(Row {
            name,
            spans: vec![span],
        }),
    };
    for edge in timeline.iter().filter(|edge| edge.at <= end) {
        match &edge.edge {
            Edge::Begins(happening) => match happening.lasting() {
                Lasting::Moment => add(
                    moment_name(happening),
                    (edge.at, edge.at, happening.words()),
                ),
                Lasting::ForATime(hold) | Lasting::UntilMended(hold) => {
                    open.push((hold, edge.at, happening.words()));
                }
            },
            Edge::Ends(hold) => {
                if let Some(place) = open.iter().position(|(held, ..)| held == hold) {
                    let (hold, from, words) = open.remove(place);
                    add(hold_name(&hold), (from, edge.at, words));
                }
            }
        }
    }
    for (hold, from, words) in open {
        add(hold_name(&hold), (from, end, words));
    }
    rows
}

/// The rows from `top` on, [`ROW`] high each.
#[must_use]
pub fn draw(rows: &[Row<'_>], frame: &Frame, top: f64) -> Markup {
    html! {
        @for (place, row) in rows.iter().enumerate() {
            @let y = top + ROW * place as f64;
            (rule("grid", (frame.left, y + ROW - 2.0), (frame.right, y + ROW - 2.0)))
            @for (from, until, words) in thinned(&row.spans, frame) {
                @let (x, width) = (frame.x(from), frame.x(until) - frame.x(from));
                @let told = format!("{}: {words}", moment_text(from));
                @if from == until {
                    path class="k-moment" d={ "M" (Px(x)) " " (Px(y + ROW - 2.0)) "l-4 -8h8z" } { title { (told) } }
                } @else {
                    (told_box("k-happening", (x, y + 4.0), (width.max(1.0), ROW - 6.0), &told))
                }
            }
            @match frame.room {
                Room::Wide => (text("label", Anchor::Start, (frame.right + 8.0, y + ROW - 3.0), row.name)),
                Room::Narrow | Room::Small => (text("tick", Anchor::End, (frame.left - 4.0, y + ROW - 3.0), row.name)),
            }
        }
    }
}

/// Spans closer together than the eye can tell apart are one.
fn thinned<'a>(spans: &[Span<'a>], frame: &Frame) -> Vec<Span<'a>> {
    let mut thinned: Vec<Span<'a>> = Vec::new();
    for span in spans {
        match thinned.last_mut() {
            Some(last) if frame.x(span.0) - frame.x(last.1) < 0.8 => last.1 = last.1.max(span.1),
            Some(_) | None => thinned.push(*span),
        }
    }
    thinned
}

const fn hold_name(hold: &Hold) -> &'static str {
    match hold {
        Hold::Door => "door",
        Hold::Ambient => "ambient",
        Hold::Heat => "heat",
        Hold::Draw => "draw",
        Hold::Probe => "probe",
        Hold::Supply => "supply",
        Hold::Contact => "contact",
        Hold::Valve => "valve",
        Hold::Lock => "lock",
        Hold::Switch => "switch",
        Hold::Clock => "clock",
        Hold::Part(_) => "wiring",
    }
}

const fn moment_name(happening: &Happening) -> &'static str {
    match happening {
        Happening::ProductLoaded { .. } => "loading",
        Happening::SettingsChange(_) => "settings",
        Happening::LockoutReleased => "reset",
        Happening::ClockJumps(_) => "clock",
        Happening::ProtectionRestored(_) => "wiring",
        Happening::DoorOpens
        | Happening::AmbientIs(_)
        | Happening::AmbientShifts(_)
        | Happening::HeatAdded(_)
        | Happening::WaterDrawn(_)
        | Happening::ProbeOpens
        | Happening::ProbeShorts
        | Happening::ProbeFreezes
        | Happening::ProbeDrifts(_)
        | Happening::ProbeJumps(_)
        | Happening::SupplyDips(_)
        | Happening::PowerCut
        | Happening::SettingsLocked
        | Happening::SwitchedOff
        | Happening::ValveLeaks(_)
        | Happening::ContactWelds
        | Happening::ContactBurns
        | Happening::PartFails(_)
        | Happening::ClockStops => "other",
    }
}
