//! What happened, as tables that stay short: what repeats is counted, what is rare is told.

use std::cmp::Reverse;

use hysteron_logic::time::Duration;
use maud::{Markup, html};

use super::view::CaseView;
use crate::words::event;
use hysteron_bench::record::tally::Occurred;
use hysteron_bench::record::trace::{Entry, Trace};
use hysteron_bench::scenario::quantity_text::moment_text;
use hysteron_source::letters::capitalised;

/// Rows of the table.
pub const MOST_ROWS: usize = 80;

/// Rows of the table of what repeats, where there is only routine to tell beyond them.
const MOST_REPEATED: usize = 20;

/// Rows of that table, whatever there is to tell.
const MOST_KINDS: usize = 300;

/// What came of a log that had to be made short.
#[derive(Debug, Clone, PartialEq)]
pub struct Selection<'a> {
    /// The entries that are shown.
    pub shown: Vec<&'a (Duration, Entry)>,
    /// What is not shown one by one, the most frequent first.
    pub repeated: Vec<&'a Occurred>,
}

/// The log of `trace` in at most `most` entries: all of it, or what is rare and no routine.
#[must_use]
pub fn select(trace: &Trace, most: usize) -> Selection<'_> {
    let entries = trace.entries();
    let mut shown: Vec<&(Duration, Entry)> = entries.iter().collect();
    let mut repeated = Vec::new();
    if entries.len() > most {
        let mut kinds: Vec<&Occurred> = trace.tally().occurred().iter().collect();
        kinds.sort_by_key(|kind| (kind.entry.is_routine(), kind.times));
        let mut room = most as u64;
        let fitting = kinds.iter().take_while(|kind| {
            let rest = room.checked_sub(kind.times);
            room = rest.unwrap_or_default();
            rest.is_some() && !kind.entry.is_routine()
        });
        repeated = kinds.split_off(fitting.count());
        shown.retain(|(_, entry)| kinds.iter().any(|kind| kind.entry.is_alike(entry)));
        // Where the log was full, only the count knows.
        repeated.extend(kinds.into_iter().filter(|kind| {
            let kept = shown.iter().filter(|(_, entry)| kind.entry.is_alike(entry));
            (kept.count() as u64) < kind.times
        }));
        repeated.sort_by_key(|kind| Reverse(kind.times));
    }
    Selection { shown, repeated }
}

/// The table.
#[must_use]
pub fn table(view: &CaseView<'_>) -> Markup {
    let Some(trace) = view.trace() else {
        return html! {};
    };
    let selection = select(trace, MOST_ROWS);
    html! {
        @if !selection.shown.is_empty() {
            table class="events" {
                caption { "What happened" }
                thead { tr { th scope="col" { "When" } th scope="col" { "What" } th scope="col" { "Told by" } } }
                tbody {
                    @for (at, entry) in &selection.shown {
                        tr {
                            td class="when" { (moment_text(*at)) }
                            td { (capitalised(&event::entry(entry))) }
                            td { (event::told_by(entry)) }
                        }
                    }
                }
            }
        }
        @if !selection.repeated.is_empty() { (repeated(&selection.repeated)) }
    }
}

fn repeated(kinds: &[&Occurred]) -> Markup {
    // What is no routine is told however often the routine was.
    let (mut told, mut untold) = (Vec::new(), Vec::new());
    for kind in kinds {
        let most = if kind.entry.is_routine() {
            MOST_REPEATED
        } else {
            MOST_KINDS
        };
        let rows = if told.len() < most {
            &mut told
        } else {
            &mut untold
        };
        rows.push(*kind);
    }
    html! {
        table class="repeated" {
            caption { "What happened again and again" }
            thead { tr {
                th scope="col" class="number" { "Times" } th scope="col" { "What" }
                th scope="col" { "First" } th scope="col" { "Last" }
                th scope="col" { "Told by" }
            } }
            tbody {
                @for kind in told {
                    tr {
                        td class="number" { (kind.times) }
                        td { (capitalised(&event::entry(&kind.entry))) }
                        td class="when" { (moment_text(kind.first)) }
                        td class="when" { (moment_text(kind.last)) }
                        td { (event::told_by(&kind.entry)) }
                    }
                }
            }
        }
        @if !untold.is_empty() {
            @let entries: u64 = untold.iter().map(|kind| kind.times).sum();
            p class="note" { "Left out: " (entries) " entries of " (untold.len()) " kinds." }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use hysteron_logic::event::Event;
    use hysteron_logic::lockout::Cause;

    use hysteron_bench::record::trace::MOST_ENTRIES;
    use hysteron_bench::scenario::happening::{Edge, Happening};

    #[test]
    fn routine_gives_way_and_is_counted() {
        let mut trace = Trace::new(Duration::from_seconds(1), []);
        for second in 0..200 {
            let at = Duration::from_seconds(second);
            trace.log(at, Entry::Control(Event::RelayClosed));
            if second % 50 == 0 {
                trace.log(at, Entry::Control(Event::HighAlarmRaised));
            }
        }
        let selection = select(&trace, 20);
        assert_eq!(selection.shown.len(), 4);
        let [closed] = &selection.repeated[..] else {
            panic!("{:?}", selection.repeated);
        };
        assert_eq!(closed.entry, Entry::Control(Event::RelayClosed));
        assert_eq!(closed.times, 200);
        assert_eq!(closed.last, Duration::from_seconds(199));
    }

    #[test]
    fn what_is_rare_is_told_though_much_came_before_it() {
        let mut trace = Trace::new(Duration::from_seconds(1), []);
        for second in 0..100 {
            let at = Duration::from_seconds(second);
            trace.log(
                at,
                Entry::Happened(Edge::Begins(Happening::HeatAdded(500.0))),
            );
        }
        let at = Duration::from_seconds(100);
        trace.log(at, Entry::Control(Event::LockedOut(Cause::HeatCeiling)));
        let selection = select(&trace, 80);
        assert_eq!(
            selection.shown,
            [&(at, Entry::Control(Event::LockedOut(Cause::HeatCeiling)))]
        );
        assert_eq!(selection.repeated[0].times, 100);
    }

    #[test]
    fn what_a_full_log_has_no_room_for_is_counted() {
        let mut trace = Trace::new(Duration::from_seconds(1), []);
        let seconds = MOST_ENTRIES as u32;
        for second in 0..seconds {
            let at = Duration::from_seconds(second);
            trace.log(at, Entry::Control(Event::HighAlarmRaised));
        }
        let at = Duration::from_seconds(seconds);
        trace.log(at, Entry::Control(Event::LockedOut(Cause::HeatCeiling)));
        assert_eq!(trace.entries_left_out(), 1);
        let selection = select(&trace, 80);
        assert!(selection.shown.is_empty());
        let [alarms, lockout] = &selection.repeated[..] else {
            panic!("{:?}", selection.repeated);
        };
        assert_eq!(alarms.times, u64::from(seconds));
        assert_eq!((lockout.times, lockout.last), (1, at));
    }

    /// Twenty kinds of routine and more came before it, and more often.
    #[test]
    fn what_is_no_routine_is_told_among_what_repeats() {
        let kinds: Vec<Occurred> = (1..=40)
            .map(|times| Occurred {
                entry: match times {
                    1 => Entry::Control(Event::HighAlarmRaised),
                    2 => Entry::Happened(Edge::Begins(Happening::ClockStops)),
                    _ => Entry::Control(Event::RelayClosed),
                },
                times,
                first: Duration::ZERO,
                last: Duration::ZERO,
            })
            .collect();
        let page = repeated(&kinds.iter().rev().collect::<Vec<_>>()).into_string();
        assert!(page.contains("Clock stops"), "{page}");
        let alarm = event::entry(&kinds[0].entry);
        assert!(page.contains(&capitalised(&alarm)), "{page}");
        let left_out: u64 = (3..=20).sum();
        assert!(
            page.contains(&format!("Left out: {left_out} entries of 18 kinds.")),
            "{page}"
        );
    }
}
