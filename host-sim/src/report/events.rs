//! What happened, as a table that stays short: what repeats all day gives way to what matters.

use std::collections::BTreeMap;

use hysteron_logic::time::Duration;
use maud::{Markup, html};

use super::view::CaseView;
use crate::runs::Fed;
use crate::scenario::quantity_text::moment_text;
use crate::trace::{Entry, Trace};
use crate::words::installation::capitalised;

/// Rows of the table.
pub const MOST_ROWS: usize = 80;

/// What came of a log that had to be made short.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Selection<'a> {
    /// The entries that are shown.
    pub shown: Vec<&'a (Duration, Entry)>,
    /// Entries left out, by what they say.
    pub left_out: BTreeMap<String, u64>,
    /// Entries that the trace had no room for.
    pub never_kept: u64,
}

/// The log of `trace` in at most `most` entries: all of it, or what is no daily routine.
#[must_use]
pub fn select(trace: &Trace, most: usize) -> Selection<'_> {
    let entries = trace.entries();
    let takes_all = entries.len() <= most;
    let mut shown = Vec::new();
    let mut left_out = BTreeMap::new();
    for pair in entries {
        if shown.len() < most && (takes_all || !pair.1.is_routine()) {
            shown.push(pair);
        } else {
            *left_out.entry(words(&pair.1)).or_insert(0) += 1;
        }
    }
    Selection {
        shown,
        left_out,
        never_kept: trace.entries_left_out(),
    }
}

/// An entry in words.
#[must_use]
pub fn words(entry: &Entry) -> String {
    match entry {
        Entry::Control(event) => event.text().to_owned(),
        Entry::PowerUp => "the board starts".to_owned(),
        Entry::PowerLost => "the board stops".to_owned(),
        Entry::Happened(words) | Entry::Circuit(words) => words.clone(),
        Entry::LoadOnItsOwn(Fed::Energised) => "load starts without the relay".to_owned(),
        Entry::LoadOnItsOwn(Fed::Dead) => "load stops without the relay".to_owned(),
    }
}

const fn told_by(entry: &Entry) -> &'static str {
    match entry {
        Entry::Control(_) | Entry::PowerUp => "control",
        Entry::PowerLost | Entry::Circuit(_) | Entry::LoadOnItsOwn(_) => "installation",
        Entry::Happened(_) => "scenario",
    }
}

/// The table.
#[must_use]
pub fn table(view: &CaseView<'_>) -> Markup {
    let Some(trace) = view.trace() else {
        return html! {};
    };
    let selection = select(trace, MOST_ROWS);
    html! {
        table class="events" {
            caption { "What happened" }
            thead { tr { th scope="col" { "When" } th scope="col" { "What" } th scope="col" { "Told by" } } }
            tbody {
                @for (at, entry) in &selection.shown {
                    tr {
                        td class="when" { (moment_text(*at)) }
                        td { (capitalised(&words(entry))) }
                        td { (told_by(entry)) }
                    }
                }
            }
        }
        @if let Some(words) = left_out_words(&selection) { p class="note" { (words) } }
    }
}

fn left_out_words(selection: &Selection<'_>) -> Option<String> {
    let total: u64 = selection.left_out.values().sum();
    if total == 0 && selection.never_kept == 0 {
        return None;
    }
    let mut kinds: Vec<(&String, &u64)> = selection.left_out.iter().collect();
    kinds.sort_by_key(|(_, count)| std::cmp::Reverse(**count));
    let kinds: Vec<String> = kinds
        .iter()
        .take(8)
        .map(|(words, count)| format!("{words} ({count})"))
        .collect();
    let mut words = format!("Left out: {total} entries");
    if !kinds.is_empty() {
        words.push_str(&format!(", most of all {}", kinds.join(", ")));
    }
    words.push('.');
    if selection.never_kept > 0 {
        words.push_str(&format!(
            " The record was full before the end: {} more were not kept.",
            selection.never_kept
        ));
    }
    Some(words)
}

#[cfg(test)]
mod tests {
    use super::*;
    use hysteron_logic::event::Event;

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
        assert_eq!(selection.left_out.get("relay closed"), Some(&200));
        let words = left_out_words(&selection).expect("something was left out");
        assert_eq!(
            words,
            "Left out: 200 entries, most of all relay closed (200)."
        );
    }
}
