//! The key figures of a case.

use hysteron_logic::event::Event;
use hysteron_logic::time::Duration;
use maud::{Markup, html};

use super::columns::extremes;
use super::strip::swatch;
use super::topic::Topic;
use super::view::CaseView;
use crate::words::degrees::{fixed, percent};
use crate::words::no_break_space::unbroken;
use crate::words::span::rounded;
use crate::words::subject::relay_word;
use hysteron_bench::record::trace::{Entry, Trace};
use hysteron_bench::scenario::expectation::Occurrence;
use hysteron_source::letters::capitalised;

/// One figure: its name and its value.
pub type Figure = (String, String);

/// The share of the scenario for which the load ran.
#[must_use]
pub fn duty(view: &CaseView<'_>) -> f64 {
    view.run.runs.duty(view.plan.duration)
}

/// How long the load ran, as a person says it.
#[must_use]
pub fn run_text(view: &CaseView<'_>) -> String {
    rounded(view.run.runs.run)
}

/// The shortest rest, or that none was seen.
#[must_use]
pub fn rounded_shortest_rest(view: &CaseView<'_>) -> String {
    seen(view.run.runs.shortest_rest)
}

/// A length of time, or that none was seen.
#[must_use]
pub fn seen(duration: Option<Duration>) -> String {
    duration.map_or_else(|| "none seen".to_owned(), rounded)
}

/// The figures of a case, in the order in which people ask for them.
#[must_use]
pub fn figures(view: &CaseView<'_>) -> Vec<Figure> {
    let runs = view.run.runs;
    let mut figures = vec![
        ("starts".to_owned(), runs.starts.to_string()),
        (
            "most starts in any hour".to_owned(),
            runs.most_starts_in_an_hour.to_string(),
        ),
        ("duty".to_owned(), percent(duty(view))),
        ("run time".to_owned(), run_text(view)),
        ("longest run".to_owned(), rounded(runs.longest_run)),
        ("shortest run".to_owned(), seen(runs.shortest_run)),
        ("shortest rest".to_owned(), rounded_shortest_rest(view)),
    ];
    figures.extend(compressor(view));
    figures.extend(extremes_of_space(view));
    figures.extend(occurrences(view));
    figures
}

/// The same of a compressor that a low-pressure control starts.
fn compressor(view: &CaseView<'_>) -> Vec<Figure> {
    let Some(runs) = view.run.compressor else {
        return Vec::new();
    };
    vec![
        ("compressor starts".to_owned(), runs.starts.to_string()),
        (
            "most compressor starts in any hour".to_owned(),
            runs.most_starts_in_an_hour.to_string(),
        ),
        (
            "compressor duty".to_owned(),
            percent(runs.duty(view.plan.duration)),
        ),
        (
            "shortest compressor run".to_owned(),
            seen(runs.shortest_run),
        ),
        (
            "shortest compressor rest".to_owned(),
            seen(runs.shortest_rest),
        ),
    ]
}

fn extremes_of_space(view: &CaseView<'_>) -> Vec<Figure> {
    let series = view.trace().map_or(&[][..], Trace::series);
    series
        .iter()
        .filter(|series| Topic::of(series.observable) == Topic::Space)
        .filter_map(|series| {
            let all = extremes(&series.buckets);
            (!all.is_empty()).then(|| {
                let tell = |value| fixed(view.degrees.shown(series.observable, value), 1);
                (
                    series.observable.name().to_owned(),
                    format!(
                        "{} to {} {}",
                        tell(all.lowest),
                        tell(all.highest),
                        view.degrees.unit(series.observable)
                    ),
                )
            })
        })
        .collect()
}

fn occurrences(view: &CaseView<'_>) -> Vec<Figure> {
    let Some(trace) = view.trace() else {
        return Vec::new();
    };
    let count = |counts: &dyn Fn(Event) -> bool| {
        let occurred = trace.tally().occurred().iter();
        let events = occurred.filter(|kind| match kind.entry {
            Entry::Control(event) => counts(event),
            Entry::DutyNotKnown { .. }
            | Entry::PowerUp
            | Entry::PowerLost
            | Entry::Happened(_)
            | Entry::Circuit(_)
            | Entry::LoadOnItsOwn(_) => false,
        });
        events.map(|kind| kind.times).sum::<u64>()
    };
    let alarms = count(&|event| matches!(event, Event::HighAlarmRaised | Event::LowAlarmRaised));
    let faults = count(&|event| Occurrence::AnyProbeFault.includes(event));
    let lockouts = count(&|event| Occurrence::AnyLockout.includes(event));
    [
        ("alarms", alarms),
        ("probe faults", faults),
        ("lockouts", lockouts),
    ]
    .into_iter()
    .map(|(name, count)| (name.to_owned(), count.to_string()))
    .collect()
}

/// The figures as a list.
#[must_use]
pub fn list(view: &CaseView<'_>) -> Markup {
    html! {
        dl class="figures" {
            @for (name, value) in figures(view) {
                div { dt { (name) } dd { (unbroken(&value)) } }
            }
        }
    }
}

/// Where the time went: every reason with its pattern, how often and how long.
#[must_use]
pub fn reasons(view: &CaseView<'_>) -> Markup {
    let mut shares = view
        .trace()
        .map_or_else(Vec::new, |trace| trace.tally().shares().to_vec());
    shares.sort_by_key(|share| std::cmp::Reverse(share.total));
    html! {
        table {
            caption { "Why the relay stood where it stood" }
            thead { tr {
                th scope="col" { "Reason" } th scope="col" { "Relay" }
                th scope="col" class="number" { "Times" } th scope="col" class="number" { "Time" }
                th scope="col" class="number" { "Share" }
            } }
            tbody {
                @for share in &shares {
                    tr {
                        th scope="row" { (swatch(share.standing)) (capitalised(share.standing.text())) }
                        td { (relay_word(share.relay)) }
                        td class="number" { (share.times) }
                        td class="number" { (rounded(share.total)) }
                        td class="number" { (percent(share.total.millis() as f64 / view.plan.duration.millis().max(1) as f64)) }
                    }
                }
            }
        }
    }
}
