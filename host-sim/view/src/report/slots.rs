//! Small bars over time: starts and duty of each hour or day.

use hysteron_logic::guard::StartsLimit;
use hysteron_logic::time::Duration;
use maud::{Markup, html};

use super::frame::{DrawingSize, Frame};
use super::lanes::MOST_SINGLE;
use super::svg::{Anchor, box_path, rule, text, told_box};
use super::view::CaseView;
use crate::words::degrees::percent;
use hysteron_bench::record::runs::Runner;

/// The length of a bar's time: an hour for some days, a day for more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slot {
    /// Sixty minutes.
    Hour,
    /// Twenty-four hours.
    Day,
}

impl Slot {
    /// What suits this length.
    #[must_use]
    pub fn suiting(length: Duration) -> Self {
        if length <= Duration::from_hours(96) {
            Self::Hour
        } else {
            Self::Day
        }
    }

    /// Its length.
    #[must_use]
    pub const fn length(self) -> Duration {
        match self {
            Self::Hour => Duration::from_hours(1),
            Self::Day => Duration::from_hours(24),
        }
    }

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Hour => "hour",
            Self::Day => "day",
        }
    }

    fn count(self, length: Duration) -> usize {
        usize::try_from(length.millis().div_ceil(self.length().millis())).unwrap_or(usize::MAX)
    }
}

/// Starts of each hour or day, with the limit where there is one.
#[must_use]
pub fn starts_panel(
    view: &CaseView<'_>,
    runner: Runner,
    frame: &Frame,
    top: f64,
    height: f64,
) -> Markup {
    let slot = Slot::suiting(frame.length);
    let counts = starts(view, runner, slot, slot.count(frame.length));
    let limit = match (runner, slot, view.run.case.settings.draft().starts_per_hour) {
        (Runner::Load, Slot::Hour, StartsLimit::PerHour(limit)) => Some(f64::from(limit)),
        (Runner::Load, Slot::Hour, StartsLimit::Unlimited)
        | (Runner::Load, Slot::Day, _)
        | (Runner::Compressor, ..) => None,
    };
    let most = counts.iter().copied().max().unwrap_or(0);
    let full = f64::from(most.max(1)).max(limit.unwrap_or(0.0));
    let shares: Vec<f64> = counts
        .iter()
        .map(|count| f64::from(*count) / full)
        .collect();
    let named = match runner {
        Runner::Load => format!("starts each {}", slot.name()),
        Runner::Compressor => "compressor starts".to_owned(),
    };
    html! {
        (bars(&Bars { slot, shares: &shares, class: "k-starts" }, frame, top, height))
        @if let Some(limit) = limit {
            (rule("limit", (frame.left, top + height * (1.0 - limit / full)), (frame.right, top + height * (1.0 - limit / full))))
        }
        (edge(frame, top, height, &format!("{full}"), &named))
    }
}

/// The share of each hour or day for which the load was fed.
#[must_use]
pub fn duty_panel(view: &CaseView<'_>, frame: &Frame, top: f64, height: f64) -> Markup {
    let slot = Slot::suiting(frame.length);
    let shares = view.fed_shares(Runner::Load, slot.length(), slot.count(frame.length));
    let named = format!("duty each {}", slot.name());
    html! {
        (bars(&Bars { slot, shares: &shares, class: "k-duty" }, frame, top, height))
        (edge(frame, top, height, &percent(1.0), &named))
    }
}

fn starts(view: &CaseView<'_>, runner: Runner, slot: Slot, slots: usize) -> Vec<u32> {
    let hours_a_slot = slot.length().millis() / Slot::Hour.length().millis();
    let mut starts = vec![0; slots];
    let hours = view.trace().map_or(&[][..], |trace| trace.tally().hours());
    for (hour, told) in (0u64..).zip(hours) {
        let place = usize::try_from(hour / hours_a_slot).ok();
        if let Some(count) = place.and_then(|place| starts.get_mut(place)) {
            *count += told.of(runner).starts;
        }
    }
    starts
}

struct Bars<'a> {
    slot: Slot,
    shares: &'a [f64],
    class: &'static str,
}

fn bars(bars: &Bars<'_>, frame: &Frame, top: f64, height: f64) -> Markup {
    let bottom = top + height;
    let slot_ms = bars.slot.length().millis();
    let seen = bars.shares.iter().enumerate();
    let boxes = seen
        .filter(|(_, share)| **share > 0.0)
        .map(|(place, share)| {
            let from = frame.x(Duration::from_millis(slot_ms * place as u64));
            let until = frame.x(Duration::from_millis(slot_ms * (place as u64 + 1)));
            let until = until.min(frame.right);
            let gap = if until - from > 6.0 { 1.5 } else { 0.0 };
            let tall = height * share.min(1.0);
            let wide = (until - from - 2.0 * gap).max(0.5);
            ((from + gap, bottom - tall), (wide, tall))
        });
    let boxes: Vec<_> = boxes.collect();
    html! {
        (rule("grid", (frame.left, top), (frame.right, top)))
        @if boxes.len() > MOST_SINGLE {
            path class=(bars.class) d=(boxes.iter().map(|(corner, size)| box_path(*corner, *size)).collect::<String>()) {}
        } @else {
            @for (corner, size) in boxes { (told_box(bars.class, corner, size, "")) }
        }
        (rule("base", (frame.left, bottom), (frame.right, bottom)))
    }
}

fn edge(frame: &Frame, top: f64, height: f64, full: &str, named: &str) -> Markup {
    html! {
        (text("tick", Anchor::End, (frame.left - 6.0, top + 5.0), full))
        (text("tick", Anchor::End, (frame.left - 6.0, top + height + 1.0), "0"))
        @match frame.size {
            DrawingSize::Wide => (text("label", Anchor::Start, (frame.right + 8.0, top + height / 2.0 + 4.0), named)),
            DrawingSize::Narrow | DrawingSize::Small => (text("mark", Anchor::Start, (frame.left, top - 4.0), named)),
        }
    }
}
