//! Is it wired right? Asked before power is put on.
//!
//! The rules look at the metal (what is joined to what in every position of the contacts)
//! and at the solved circuit (what gets which voltage and carries which current). Nothing
//! here refuses to run: a short circuit is a finding like any other.

mod bands;
mod context;
mod finding;
mod grounding;
mod paths;
mod protection;
mod ratings;
mod supplied;
mod switching;
mod text;

use context::Context;
use hysteron_installation::Installation;
use hysteron_installation::circuit::Circuit;

pub use finding::{Finding, Rule, Severity};
pub use text::as_text;

/// Everything that the rules find, the worst first.
#[must_use]
pub fn check(installation: &Installation) -> Vec<Finding> {
    let circuit = Circuit::new(installation.clone());
    let context = Context::of(&circuit);
    let rules: [fn(&Context<'_>) -> Vec<Finding>; 7] = [
        paths::findings,
        protection::findings,
        grounding::findings,
        supplied::findings,
        switching::findings,
        ratings::findings,
        bands::findings,
    ];
    let mut findings: Vec<Finding> = rules.iter().flat_map(|rule| rule(&context)).collect();
    findings.sort_by_key(|finding| (finding.severity, finding.rule));
    findings
}
