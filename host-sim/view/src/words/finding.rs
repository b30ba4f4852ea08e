//! What was found, in words.

use super::degrees::{Degrees, percent_against};
use super::subject::amount;
use hysteron_bench::record::verdict::{Evidence, Outcome, Verdict};
use hysteron_bench::scenario::expectation::{Counted, Subject};
use hysteron_bench::scenario::quantity_text::moment_text;

/// An outcome in a word or two.
#[must_use]
pub const fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Holds => "holds",
        Outcome::Fails => "fails",
        Outcome::NeverReached => "never reached",
    }
}

/// What a run showed of one expectation: "highest 4.6 °C at 14:32".
#[must_use]
pub fn finding(verdict: &Verdict, degrees: Degrees) -> String {
    match (&verdict.finding, &verdict.expectation.subject) {
        (Evidence::Nothing, _) => match verdict.outcome {
            Outcome::Holds => "throughout".to_owned(),
            Outcome::Fails => "not so".to_owned(),
            Outcome::NeverReached => "the situation never arose, so nothing was shown".to_owned(),
        },
        (Evidence::Extremes { lowest, highest }, Subject::Stays(observable, limits)) => {
            let tell = |word: &str, (value, at): (f64, _)| {
                let value = degrees.reading_against(*observable, value, *limits);
                format!("{word} {value} at {}", moment_text(at))
            };
            match (limits.at_least(), limits.at_most()) {
                (Some(_), None) => tell("lowest", *lowest),
                (None, Some(_)) => tell("highest", *highest),
                (Some(_), Some(_)) | (None, None) => {
                    format!("{}, {}", tell("lowest", *lowest), tell("highest", *highest))
                }
            }
        }
        (Evidence::Count(share), Subject::Counts(Counted::Duty(_), limits)) => {
            percent_against(*share, *limits)
        }
        (Evidence::Count(value), Subject::Counts(counted, _)) => amount(*counted, *value),
        (Evidence::Shortest(lasted, ended), _) => {
            format!("shortest {}, ended at {}", lasted, moment_text(*ended))
        }
        (Evidence::RelayMoved(at), _) => format!("moved at {}", moment_text(*at)),
        (Evidence::Times(times), Subject::Order(expected)) => {
            let seen: Vec<String> = times.iter().map(|at| moment_text(*at)).collect();
            let missing = expected.get(times.len()).map(|next| next.name());
            match (seen.is_empty(), missing) {
                (_, None) => format!("at {}", seen.join(", ")),
                (true, Some(missing)) => format!("{missing} did not come"),
                (false, Some(missing)) => {
                    format!("at {}; then {missing} did not come", seen.join(", "))
                }
            }
        }
        // A judge pairs findings with their own kind of subject only.
        (Evidence::Extremes { .. } | Evidence::Count(_) | Evidence::Times(_), _) => String::new(),
    }
}
