//! Verdicts as a JUnit report: a suite for each case, a test case for each expectation.
//!
//! What was never reached is a failure of type `never reached`. Times are left
//! out, as a simulated day says nothing about how long a test took.

use std::io::{self, Write};

use quick_junit::{NonSuccessKind, Report, TestCase, TestCaseStatus, TestSuite};

use crate::bench::CaseRun;
use crate::report::view::CaseView;
use crate::scenario::plan::Plan;
use crate::verdict::{Outcome, Verdict};
use crate::words::finding::{finding, outcome};
use crate::words::subject::expectation;

/// Writes the verdicts of all `runs` of `plan`.
///
/// # Errors
/// When `to` fails.
pub fn write(plan: &Plan, runs: &[CaseRun], to: impl Write) -> io::Result<()> {
    let mut report = Report::new(plan.title.as_str());
    for run in runs {
        let view = CaseView::new(plan, run);
        let name = run.case.name.as_deref().unwrap_or(plan.title.as_str());
        let mut suite = TestSuite::new(name);
        suite.add_property(("seed", plan.seed.to_string().as_str()));
        suite.add_test_cases(run.verdicts.iter().map(|verdict| test_case(&view, verdict)));
        report.add_test_suite(suite);
    }
    report.serialize(to).map_err(io::Error::other)
}

fn test_case(view: &CaseView<'_>, verdict: &Verdict) -> TestCase {
    let found = finding(verdict, view.degrees);
    let status = match verdict.outcome {
        Outcome::Holds => TestCaseStatus::success(),
        Outcome::Fails | Outcome::NeverReached => {
            let mut status = TestCaseStatus::non_success(NonSuccessKind::Failure);
            status.set_type(outcome(verdict.outcome));
            status.set_message(found.as_str());
            if let Some(because) = &verdict.expectation.because {
                status.set_description(format!("because: {because}"));
            }
            status
        }
    };
    let name = expectation(&verdict.expectation, view.plan.duration, view.degrees);
    let mut test_case = TestCase::new(name.as_str(), status);
    test_case.set_classname(view.plan.title.as_str());
    test_case
        .extra
        .insert("line".into(), verdict.expectation.line.to_string().into());
    if verdict.outcome == Outcome::Holds {
        test_case.set_system_out(found);
    }
    test_case
}
