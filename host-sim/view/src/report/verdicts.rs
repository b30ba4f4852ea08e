//! What was expected and how it came out.

use maud::{Markup, html};

use super::view::CaseView;
use crate::words::finding::{finding, outcome};
use crate::words::no_break_space::unbroken;
use crate::words::subject::expectation;
use hysteron_bench::record::verdict::{Outcome, Verdict};
use hysteron_bench::run::bench::CaseRun;
use hysteron_source::letters::capitalised;

/// Expectations that hold, and how many there are.
#[must_use]
pub fn tally(runs: &[CaseRun]) -> (usize, usize) {
    let verdicts = runs.iter().flat_map(|run| &run.verdicts);
    let held = verdicts
        .clone()
        .filter(|verdict| verdict.outcome == Outcome::Holds);
    (held.count(), verdicts.count())
}

/// An outcome as a sign and a word.
#[must_use]
pub fn badge(of: Outcome) -> Markup {
    let (class, sign) = match of {
        Outcome::Holds => ("holds", "✓"),
        Outcome::Fails => ("fails", "✗"),
        Outcome::NeverReached => ("never", "○"),
    };
    html! { span class={ "badge " (class) } { span aria-hidden="true" { (sign) } " " (outcome(of)) } }
}

/// The expectations of a case in words, each with what was found and why it is expected.
#[must_use]
pub fn table(view: &CaseView<'_>) -> Markup {
    html! {
        table class="verdicts" {
            caption { "What was expected and what was found" }
            thead { tr {
                th scope="col" { "Outcome" } th scope="col" { "Expected" }
                th scope="col" { "Found" } th scope="col" { "Because" }
            } }
            tbody { @for verdict in &view.run.verdicts { (row(view, verdict)) } }
        }
    }
}

fn row(view: &CaseView<'_>, verdict: &Verdict) -> Markup {
    let expected = expectation(&verdict.expectation, view.plan.duration, view.degrees);
    let because = verdict.expectation.because.as_deref();
    html! {
        tr {
            td { (badge(verdict.outcome)) }
            th scope="row" { (unbroken(&capitalised(&expected))) }
            td data-name="Found: " { (unbroken(&finding(verdict, view.degrees))) }
            td class="because" data-name="Because: " { (unbroken(because.unwrap_or("no reason given"))) }
        }
    }
}
