//! The drawings of one case: temperatures over the relay's strip, and what else was recorded.

use hysteron_logic::time::Duration;
use maud::{Markup, html};

use super::frame::{DrawingSize, Frame};
use super::happenings::{self, rows};
use super::hatching::Hatching;
use super::lanes::{Lanes, Piece};
use super::slots::{duty_panel, starts_panel};
use super::strip::{fed_strip, load_differs, relay_strip};
use super::svg::{Anchor, box_path, text, told_box};
use super::topic::{Topic, further_lines, space_lines};
use super::view::{CaseView, Trouble};
use crate::words::number::counted;
use hysteron_bench::record::runs::Runner;

/// The first drawing of a case: temperatures, relay, load, happenings, starts and duty.
#[must_use]
pub fn space_drawing(view: &CaseView<'_>, id: &str, size: DrawingSize) -> Option<Markup> {
    const STRIP: f64 = 22.0;
    const THIN: f64 = STRIP - 6.0;
    const BARS: f64 = 46.0;
    /// Where names of troubles stand: above the plot, where no curve and no limit comes.
    const HEAD: f64 = 16.0;
    let frame = Frame::new(size, view.plan.duration);
    let lines = space_lines(view, &frame)?;
    let rows = rows(&view.run.case.timeline, view.plan.wiring.as_ref(), &frame);
    let strips = strips(view);
    let runners = view.plan.plant.runners();
    let names = trouble_names(view.troubles(), &frame);
    let head = if names.is_empty() { 0.0 } else { HEAD };
    let (top, plot) = (
        10.0 + head,
        if size == DrawingSize::Wide {
            300.0
        } else {
            220.0
        },
    );
    let bottom = top + plot;
    let strip_top = bottom + 24.0;
    let apart = strip_gap(size);
    let fed_top = |place: usize| strip_top + STRIP + apart + (THIN + apart) * place as f64;
    let rows_top = match strips.len() {
        0 => strip_top + STRIP + 2.0,
        some => fed_top(some) - apart + 6.0,
    };
    let starts_top = rows_top + happenings::height(&rows, &frame) + 22.0;
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
pub fn further_drawing(
    view: &CaseView<'_>,
    id: &str,
    size: DrawingSize,
    topic: Topic,
) -> Option<Markup> {
    let frame = Frame::new(size, view.plan.duration);
    let lines = further_lines(view, &frame, topic)?;
    let (top, plot) = (10.0, 170.0);
    let bottom = top + plot;
    let (strip_top, strip) = (bottom + 18.0 + strip_gap(size), 16.0);
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
const fn strip_gap(size: DrawingSize) -> f64 {
    match size {
        DrawingSize::Wide => 6.0,
        DrawingSize::Narrow | DrawingSize::Small => 18.0,
    }
}

/// The name of a strip, for which there is no room at its left edge.
fn strip_name(frame: &Frame, top: f64, height: f64, name: &str) -> Markup {
    match frame.size {
        DrawingSize::Wide => beside(frame, top + height - 5.0, name),
        DrawingSize::Narrow | DrawingSize::Small => {
            text("mark", Anchor::Start, (frame.left, top - 3.0), name)
        }
    }
}

fn beside(frame: &Frame, y: f64, words: &str) -> Markup {
    match frame.size {
        DrawingSize::Wide => text("label", Anchor::Start, (frame.right + 8.0, y), words),
        DrawingSize::Narrow | DrawingSize::Small => {
            text("tick", Anchor::End, (frame.left - 4.0, y), words)
        }
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
        @for trouble in Trouble::ALL { (trouble_shades(view, trouble, frame, (top, bottom))) }
    }
}

/// The ground behind one kind of trouble; kinds that overlap lie over one another.
fn trouble_shades(
    view: &CaseView<'_>,
    trouble: Trouble,
    frame: &Frame,
    (top, bottom): (f64, f64),
) -> Markup {
    /// Slivers among many have no room for lines.
    const NARROWEST_HATCHED: f64 = 2.0;
    let mut lanes = Lanes::default();
    for (kind, from, until) in view.troubles() {
        if kind == trouble {
            lanes.add(&trouble, (from, until), frame);
        }
    }
    let place = |piece: &Piece<Trouble>| {
        let (x, width) = (
            frame.x(piece.from),
            frame.x(piece.until) - frame.x(piece.from),
        );
        ((x, top), (width.max(1.0), bottom - top))
    };
    if lanes.is_crowded() {
        let (mut boxes, mut lines) = (String::new(), String::new());
        for (_, piece) in lanes.pieces() {
            let (corner, size) = place(piece);
            boxes.push_str(&box_path(corner, size));
            if size.0 >= NARROWEST_HATCHED {
                lines.push_str(&Hatching::Level { pitch: 24 }.path(corner, size));
            }
        }
        return html! {
            path class="shade-trouble" d=(boxes) { title { (lanes.told()) } }
            @if !lines.is_empty() { path class="shade-lines" d=(lines) {} }
        };
    }
    html! {
        @for (_, piece) in lanes.pieces() {
            @let (corner, size) = place(piece);
            @let told = format!("{}: {}", piece.span_words(), piece.words());
            (told_box("shade-trouble", corner, size, &told))
            path class="shade-lines" d=(Hatching::Level { pitch: 8 }.path(corner, size)) {}
        }
    }
}

/// The troubles that are long enough to hold their own name, each with its place.
fn trouble_names(
    mut troubles: Vec<(Trouble, Duration, Duration)>,
    frame: &Frame,
) -> Vec<(f64, &'static str)> {
    const MARGIN: f64 = 4.0;
    troubles.sort_by_key(|(_, from, _)| *from);
    let mut free_from = frame.left;
    let mut names = Vec::new();
    for (trouble, from, until) in troubles {
        // Of two at once the later one is named beside the first, while it lasts.
        let (x, name) = ((frame.x(from) + MARGIN).max(free_from), trouble.text());
        let end = x + widest(name);
        if end + MARGIN <= frame.x(until) {
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
                    hysteron_source::letters::capitalised(series.observable.name()),
                    view.degrees.reading(series.observable, all.lowest),
                    view.degrees.reading(series.observable, all.highest)
                ));
            }
        }
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_troubles_at_once_are_both_named_where_both_last() {
        let frame = Frame::new(DrawingSize::Wide, Duration::from_hours(24));
        let hour = Duration::from_hours;
        let names = |second_ends| {
            let troubles = vec![
                (Trouble::NoPower, hour(3), hour(second_ends)),
                (Trouble::ProbeFault, hour(2), hour(12)),
            ];
            trouble_names(troubles, &frame)
        };
        let [(first, fault), (second, power)] = names(12)[..] else {
            panic!("{:?}", names(12));
        };
        assert_eq!(
            (fault, power),
            (Trouble::ProbeFault.text(), Trouble::NoPower.text())
        );
        assert!(first >= frame.x(hour(2)) && first + widest(fault) < second);
        assert!(second + widest(power) < frame.x(hour(12)));
        // The second is over where its name would stand.
        assert_eq!(names(5).len(), 1);
    }
}
