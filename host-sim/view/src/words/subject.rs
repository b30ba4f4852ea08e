//! What is expected, in words.

use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;

use super::degrees::{Degrees, percent, trimmed};
use hysteron_bench::record::runs::Runner;
use hysteron_bench::scenario::expectation::{
    Counted, Expectation, Limits, Observable, Occurrence, Subject, Window,
};
use hysteron_bench::scenario::quantity_text::moment_text;

/// An expectation in one phrase; `duration` is that of the scenario.
#[must_use]
pub fn expectation(expectation: &Expectation, duration: Duration, degrees: Degrees) -> String {
    let subject = subject(&expectation.subject, degrees);
    match window(expectation.window, duration) {
        Some(window) => format!("{subject}, {window}"),
        None => subject,
    }
}

/// The subject alone, without its window.
#[must_use]
pub fn subject(subject: &Subject, degrees: Degrees) -> String {
    match subject {
        Subject::Stays(observable, limits) => {
            format!(
                "{} {}",
                observable.name(),
                stays(*observable, *limits, degrees)
            )
        }
        Subject::Counts(counted, limits) => {
            let is_never =
                matches!(counted, Counted::Occurrences(_)) && limits.at_most() == Some(0.0);
            let limits = match is_never {
                true => "never".to_owned(),
                false => between(*limits, |value| amount(*counted, value)),
            };
            match counted {
                Counted::Occurrences(occurrence) => format!("{}: {limits}", occurrence.name()),
                Counted::Starts(_)
                | Counted::StartsInAnyHour(_)
                | Counted::RunTime(_)
                | Counted::Duty(_) => {
                    format!("{} {limits}", counted.name())
                }
            }
        }
        Subject::RelayIs(relay) => format!("relay stays {}", relay_word(*relay)),
        Subject::Order(occurrences) => {
            let names: Vec<&str> = occurrences.iter().copied().map(Occurrence::name).collect();
            names.join(", then ")
        }
        Subject::ShortestRest(runner, least) => {
            format!("no {}rest shorter than {}", whose(*runner), least)
        }
        Subject::ShortestRun(runner, least) => {
            format!("no {}run shorter than {}", whose(*runner), least)
        }
    }
}

const fn whose(runner: Runner) -> &'static str {
    match runner {
        Runner::Load => "",
        Runner::Compressor => "compressor ",
    }
}

/// Limits of an observable: "at most 5 °C".
#[must_use]
pub fn stays(observable: Observable, limits: Limits, degrees: Degrees) -> String {
    between(limits, |value| match observable.unit() {
        "°C" => degrees.limit(value),
        unit => format!("{} {unit}", trimmed(value, 2)),
    })
}

/// A count, a time or a share with its unit.
#[must_use]
pub fn amount(counted: Counted, value: f64) -> String {
    match counted {
        Counted::Starts(_) | Counted::StartsInAnyHour(_) => trimmed(value, 0),
        Counted::Occurrences(_) => match trimmed(value, 0).as_str() {
            "1" => "once".to_owned(),
            "0" => "never".to_owned(),
            times => format!("{times} times"),
        },
        Counted::RunTime(_) => Duration::from_millis((value * 1e3).round() as u64).to_string(),
        Counted::Duty(_) => percent(value),
    }
}

/// The relay's state in a word.
#[must_use]
pub const fn relay_word(relay: Relay) -> &'static str {
    match relay {
        Relay::Open => "open",
        Relay::Closed => "closed",
    }
}

fn between(limits: Limits, value: impl Fn(f64) -> String) -> String {
    match (limits.at_least(), limits.at_most()) {
        (Some(low), Some(high)) if low == high => format!("exactly {}", value(low)),
        (Some(low), Some(high)) => format!("{} to {}", value(low), value(high)),
        (Some(low), None) => format!("at least {}", value(low)),
        (None, Some(high)) => format!("at most {}", value(high)),
        (None, None) => "anything".to_owned(),
    }
}

fn window(window: Window, duration: Duration) -> Option<String> {
    if window.from == window.until {
        return Some(format!("at {}", moment_text(window.from)));
    }
    let from = (!window.from.is_zero()).then(|| format!("from {}", moment_text(window.from)));
    let until = (window.until < duration).then(|| format!("until {}", moment_text(window.until)));
    match (from, until) {
        (Some(from), Some(until)) => Some(format!("{from} {until}")),
        (from, until) => from.or(until),
    }
}
