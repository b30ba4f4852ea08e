//! The relay's strip: where it stood and why.
//!
//! Height tells the state (closed is the full height and dark), the pattern tells the reason.

use std::ops::Range;

use hysteron_logic::control::Reason;
use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;
use maud::{Markup, html};

use super::frame::{DrawingSize, Frame};
use super::hatching::Hatching;
use super::spells::{Spell, span_shares};
use super::svg::{Px, rule, told_box};
use super::view::{CaseView, Trouble};
use hysteron_bench::record::runs::Runner;
use hysteron_bench::record::trace::Standing;
use hysteron_bench::scenario::quantity_text::moment_text;

/// What the pattern of a stretch tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// Closed because the space calls.
    Running,
    /// Closed, though nobody calls, for the minimum on-time.
    HeldClosed,
    /// Closed by the fallback.
    FallbackRun,
    /// Open because nobody calls.
    Resting,
    /// Open, though it would close: a hold.
    HeldOpen,
    /// Open for want of a probe to believe.
    Fault,
    /// Open for the coil's sake.
    Defrost,
    /// Open until a person comes.
    LockedOut,
    /// Open because a person wants it so.
    SwitchedOff,
    /// Dropped out.
    Unpowered,
}

impl Look {
    /// The look of a standing.
    #[must_use]
    pub const fn of(standing: Standing) -> Self {
        match standing {
            Standing::Unpowered => Self::Unpowered,
            Standing::Because(reason) => match reason {
                Reason::Calling => Self::Running,
                Reason::FallbackRun => Self::FallbackRun,
                Reason::MinimumOnTime => Self::HeldClosed,
                Reason::Satisfied => Self::Resting,
                Reason::NoReading
                | Reason::FallbackRest
                | Reason::FallbackOpen
                | Reason::VoltageLost => Self::Fault,
                Reason::Defrost => Self::Defrost,
                Reason::PowerUpHold
                | Reason::MinimumOffTime
                | Reason::StartsPerHour
                | Reason::HeatCeiling => Self::HeldOpen,
                Reason::ModeChanged | Reason::SwitchedOff => Self::SwitchedOff,
                Reason::LockedOut(_) => Self::LockedOut,
            },
        }
    }

    const fn class(self) -> &'static str {
        match self {
            Self::Running => "k-run",
            Self::HeldClosed => "k-held-closed",
            Self::FallbackRun => "k-fallback-run",
            Self::Resting => "k-rest",
            Self::HeldOpen => "k-held-open",
            Self::Fault => "k-fault",
            Self::Defrost => "k-defrost",
            Self::LockedOut => "k-locked-out",
            Self::SwitchedOff => "k-off",
            Self::Unpowered => "k-dead",
        }
    }

    /// The lines over the box, and what they are drawn with.
    const fn hatching(self) -> Option<(Hatching, &'static str)> {
        match self {
            Self::HeldClosed => Some((Hatching::Upright, "on-run")),
            Self::FallbackRun => Some((Hatching::Level { pitch: 5 }, "on-run dotted")),
            Self::HeldOpen => Some((Hatching::Rising, "on-paper")),
            Self::Fault => Some((Hatching::Level { pitch: 2 }, "on-paper dotted")),
            Self::Defrost => Some((Hatching::Level { pitch: 3 }, "on-paper")),
            Self::LockedOut => Some((Hatching::Crossed, "on-paper")),
            Self::Unpowered => Some((Hatching::Level { pitch: 8 }, "on-paper dashed")),
            Self::Running | Self::Resting | Self::SwitchedOff => None,
        }
    }
}

/// A sample of the pattern.
#[must_use]
pub fn swatch(standing: Standing) -> Markup {
    let look = Look::of(standing);
    html! {
        svg class="swatch" viewBox="0 0 28 12" aria-hidden="true" {
            (piece(look, 0.0, 28.0, 0.0, 12.0, ""))
        }
    }
}

/// Beyond this many pieces for each unit of width, shares of time are drawn instead.
const MOST_PIECES_A_PX: f64 = 1.0;

/// A run of seconds in a day is still to be seen.
const NARROWEST_PX: f64 = 0.6;

/// The strip of the relay from `top` on.
#[must_use]
pub fn relay_strip(view: &CaseView<'_>, frame: &Frame, top: f64, height: f64) -> Markup {
    let spells = merged(&view.spells);
    if is_crowded(spells.len(), frame) {
        return crowded(view, frame, top, height);
    }
    html! {
        (rule("base", (frame.left, top + height), (frame.right, top + height)))
        @for spell in spells {
            @let (from, until) = (frame.x(spell.stretch.from), frame.x(spell.until));
            @let told = if frame.size == DrawingSize::Wide { told(&spell) } else { String::new() };
            (piece(Look::of(spell.stretch.standing), from, until, top, height, &told))
        }
    }
}

/// The strip of a runner from `top` on: when it was fed.
#[must_use]
pub fn fed_strip(
    view: &CaseView<'_>,
    runner: Runner,
    frame: &Frame,
    top: f64,
    height: f64,
) -> Markup {
    if is_crowded(view.spells.len(), frame) {
        let (slot, slots) = slots(frame);
        let shares = view.fed_shares(runner, slot, slots);
        return columns(
            &Columns {
                slot,
                shares: &shares,
                class: "k-load",
            },
            frame,
            top,
            height,
        );
    }
    let fed = view
        .spells
        .iter()
        .filter(|spell| spell.stretch.feeds.energise(runner));
    html! {
        (rule("base", (frame.left, top + height), (frame.right, top + height)))
        @for spell in fed {
            @let (from, until) = (frame.x(spell.stretch.from), frame.x(spell.until));
            (told_box("k-load", (from, top + height * 0.3), ((until - from).max(NARROWEST_PX), height * 0.7), ""))
        }
    }
}

/// Whether the load was ever fed while the relay was open, or not fed while it was closed.
#[must_use]
pub fn load_differs(view: &CaseView<'_>) -> bool {
    let hours = view.trace().map_or(&[][..], |trace| trace.tally().hours());
    hours
        .iter()
        .any(|hour| hour.closed != hour.of(Runner::Load).fed)
        || view.spells.iter().any(|spell| {
            (spell.stretch.relay == Relay::Closed) != spell.stretch.feeds.energise(Runner::Load)
        })
}

fn is_crowded(pieces: usize, frame: &Frame) -> bool {
    pieces as f64 > frame.plot_width() * MOST_PIECES_A_PX
}

fn told(spell: &Spell) -> String {
    let state = match spell.stretch.relay {
        Relay::Open => "open",
        Relay::Closed => "closed",
    };
    format!(
        "{} to {} ({}): {state}, {}",
        moment_text(spell.stretch.from),
        moment_text(spell.until),
        spell.length(),
        spell.stretch.standing.text()
    )
}

fn piece(look: Look, from: f64, until: f64, top: f64, height: f64, told: &str) -> Markup {
    let width = (until - from).max(0.4);
    match look {
        // A rest is the plain ground: nothing is drawn over the base line.
        Look::Resting => html! {
            (rule("base", (from, top + height), (until, top + height)))
        },
        Look::Running
        | Look::HeldClosed
        | Look::FallbackRun
        | Look::HeldOpen
        | Look::Fault
        | Look::Defrost
        | Look::LockedOut
        | Look::SwitchedOff
        | Look::Unpowered => {
            let (corner, size) = ((from, top), (width, height));
            let Some((hatching, lines)) = look.hatching() else {
                return told_box(look.class(), corner, size, told);
            };
            html! {
                (told_box(look.class(), corner, size, told))
                path class=(lines) d=(hatching.path(corner, size)) {}
            }
        }
    }
}

/// Neighbours of the same look as one: what only the load did is not the relay's.
fn merged(spells: &[Spell]) -> Vec<Spell> {
    let mut merged: Vec<Spell> = Vec::new();
    for spell in spells {
        match merged.last_mut() {
            Some(last)
                if (last.stretch.relay, last.stretch.standing)
                    == (spell.stretch.relay, spell.stretch.standing) =>
            {
                last.until = spell.until;
            }
            Some(_) | None => merged.push(*spell),
        }
    }
    merged
}

/// Shares of time in columns: closed from below, trouble as a mark on top.
fn crowded(view: &CaseView<'_>, frame: &Frame, top: f64, height: f64) -> Markup {
    let (slot, slots) = slots(frame);
    let shares = view.closed_shares(slot, slots);
    let width = frame.plot_width() / slots as f64;
    html! {
        (columns(&Columns { slot, shares: &shares, class: "k-run" }, frame, top + 6.0, height - 6.0))
        @for run in troubled(&view.troubles(), slot, slots) {
            @let x = frame.left + width * run.columns.start as f64;
            @let across = (width * run.columns.len() as f64).max(1.5);
            @let lane = MARK / run.troubles.len() as f64;
            @let apart = if run.troubles.len() > 1 { 0.5 } else { 0.0 };
            @for (place, trouble) in run.troubles.iter().enumerate() {
                (told_box("k-mark", (x, top + lane * place as f64), (across, lane - apart), trouble.text()))
            }
        }
    }
}

/// Height of the marks over crowded columns.
const MARK: f64 = 4.0;

/// Columns side by side in which there were the same troubles.
#[derive(Debug, PartialEq)]
struct Troubled {
    columns: Range<usize>,
    troubles: Vec<Trouble>,
}

fn troubled(
    troubles: &[(Trouble, Duration, Duration)],
    slot: Duration,
    slots: usize,
) -> Vec<Troubled> {
    let shares = Trouble::ALL.map(|kind| {
        let spans = troubles.iter().filter(|(trouble, ..)| *trouble == kind);
        let spans = spans.map(|(_, from, until)| (*from, *until, 1.0));
        (kind, span_shares(spans, slot, slots))
    });
    let mut runs: Vec<Troubled> = Vec::new();
    for column in 0..slots {
        let here = shares.iter().filter(|(_, shares)| shares[column] > 0.0);
        let here: Vec<Trouble> = here.map(|(kind, _)| *kind).collect();
        match runs.last_mut() {
            Some(last) if last.columns.end == column && last.troubles == here => {
                last.columns.end += 1;
            }
            Some(_) | None if here.is_empty() => {}
            Some(_) | None => runs.push(Troubled {
                columns: column..column + 1,
                troubles: here,
            }),
        }
    }
    runs
}

fn slots(frame: &Frame) -> (Duration, usize) {
    let days = (frame.length.millis() / 86_400_000) as usize;
    let size = (frame.plot_width() / 2.0) as usize;
    let slots = if days > 60 && days <= size {
        days
    } else {
        size
    };
    let slots = slots.max(1);
    let slot_ms = frame.length.millis().div_ceil(slots as u64).max(1);
    (Duration::from_millis(slot_ms), slots)
}

struct Columns<'a> {
    slot: Duration,
    shares: &'a [f64],
    class: &'static str,
}

fn columns(columns: &Columns<'_>, frame: &Frame, top: f64, height: f64) -> Markup {
    let bottom = top + height;
    let mut path = format!("M{} {}", Px(frame.left), Px(bottom));
    let slot = columns.slot;
    for (place, share) in columns.shares.iter().enumerate() {
        let from = frame.x(Duration::from_millis(slot.millis() * place as u64));
        let until = frame.x(Duration::from_millis(slot.millis() * (place as u64 + 1)));
        let y = Px(bottom - height * share.min(1.0));
        path.push_str(&format!("L{} {y}H{}", Px(from), Px(until.min(frame.right))));
    }
    path.push_str(&format!("L{} {}Z", Px(frame.right), Px(bottom)));
    html! {
        (rule("base", (frame.left, bottom), (frame.right, bottom)))
        path class=(columns.class) d=(path) {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_troubles_at_once_are_both_marked() {
        let hour = Duration::from_hours;
        let troubles = [
            (Trouble::ProbeFault, hour(1), hour(4)),
            (Trouble::NoPower, hour(3), hour(5)),
            (Trouble::NoPower, hour(8), hour(9)),
        ];
        let of = |columns, troubles: &[Trouble]| Troubled {
            columns,
            troubles: troubles.to_vec(),
        };
        assert_eq!(
            troubled(&troubles, hour(1), 10),
            [
                of(1..3, &[Trouble::ProbeFault]),
                of(3..4, &[Trouble::ProbeFault, Trouble::NoPower]),
                of(4..5, &[Trouble::NoPower]),
                of(8..9, &[Trouble::NoPower]),
            ]
        );
    }
}
