//! What was done to the installation, in rows under the chart.

use hysteron_logic::time::Duration;
use maud::{Markup, html};

use super::frame::{Frame, Room};
use super::svg::{Anchor, Px, rule, text, told_box};
use hysteron_bench::scenario::happening::{Edge, Happening, Hold, Lasting, TimedEdge};
use hysteron_bench::scenario::quantity_text::moment_text;
use hysteron_bench::scenario::timeline::Timeline;

/// Height of a row.
pub const ROW: f64 = 16.0;

/// One row: everything that took hold of one thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    name: &'static str,
    spans: Vec<Span>,
}

/// From when until when, and what.
type Span = (Duration, Duration, String);

impl Row {
    /// Adds a span; what the eye cannot tell apart from the one before is one with it.
    fn add(&mut self, span: Span, frame: &Frame) {
        match self.spans.last_mut() {
            Some(last) if frame.x(span.0) - frame.x(last.1) < 0.8 => last.1 = last.1.max(span.1),
            Some(_) | None => self.spans.push(span),
        }
    }
}

/// The rows of a timeline, each in the order of time.
#[must_use]
pub fn rows(timeline: &Timeline, frame: &Frame) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    let mut open: Vec<(Hold, Duration, String)> = Vec::new();
    let mut add = |name, span| {
        let place = rows.iter().position(|row| row.name == name);
        let place = place.unwrap_or_else(|| {
            let spans = Vec::new();
            rows.push(Row { name, spans });
            rows.len() - 1
        });
        rows[place].add(span, frame);
    };
    for TimedEdge { at, edge } in timeline.edges() {
        match edge {
            Edge::Begins(happening) => {
                let words = happening.words().to_owned();
                match happening.lasting() {
                    Lasting::Moment => add(moment_name(&happening), (at, at, words)),
                    Lasting::ForATime(hold) | Lasting::UntilMended(hold) => {
                        open.push((hold, at, words));
                    }
                }
            }
            Edge::Ends(hold) => {
                if let Some(place) = open.iter().position(|(held, ..)| *held == hold) {
                    let (hold, from, words) = open.remove(place);
                    add(hold_name(&hold), (from, at, words));
                }
            }
        }
    }
    for (hold, from, words) in open {
        add(hold_name(&hold), (from, frame.length, words));
    }
    rows
}

/// The rows from `top` on, [`ROW`] high each.
#[must_use]
pub fn draw(rows: &[Row], frame: &Frame, top: f64) -> Markup {
    html! {
        @for (place, row) in rows.iter().enumerate() {
            @let y = top + ROW * place as f64;
            (rule("grid", (frame.left, y + ROW - 2.0), (frame.right, y + ROW - 2.0)))
            @for (from, until, words) in &row.spans {
                @let (x, width) = (frame.x(*from), frame.x(*until) - frame.x(*from));
                @let told = format!("{}: {words}", moment_text(*from));
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
