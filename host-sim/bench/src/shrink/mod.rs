//! A failing scenario made smaller while the same expectation still fails.
//!
//! In turn: changed entries go back to what they were, happenings go, the end
//! comes earlier. A smaller scenario is taken only if the expectation fails in
//! the same way: not because it was never reached, and not because less of what
//! it counts could happen in less time.

mod effort;
mod search;

use hysteron_logic::time::Duration;

pub use self::effort::Effort;
use self::search::{Best, Candidate, Search, happenings, judged, remove};
use crate::record::verdict::{Outcome, Verdict};
use crate::scenario::edit::{Edit, edited};
use crate::scenario::expectation::Expectation;
use crate::scenario::plan::Plan;
use crate::scenario::search_paths::SearchPaths;
use hysteron_source::text::SourceText;

/// A scenario of which one case fails.
#[derive(Debug, Clone)]
pub struct Failing<'a> {
    /// The scenario before anything was changed.
    pub original: &'a str,
    /// The changes, made one after the other; each may turn out not to matter.
    pub changes: Vec<Edit>,
    /// Which case fails, from 0.
    pub case: usize,
    /// Which expectation fails, from 0 in the order of the scenario.
    pub expectation: usize,
    /// Where the files that it names are looked for.
    pub search_paths: &'a SearchPaths,
}

/// What was made of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Shrunk {
    /// The scenario: one case, failing.
    pub text: String,
    /// The verdict that makes it fail.
    pub verdict: Verdict,
    /// Length of the scenario.
    pub duration: Duration,
    /// The changes that are left.
    pub changes: Vec<Edit>,
    /// How many changes went back.
    pub changes_undone: usize,
    /// How many happenings went.
    pub happenings_gone: usize,
    /// How many scenarios were tried.
    pub trials: u32,
}

impl Failing<'_> {
    /// The smallest failing scenario found; `None` where this one does not fail.
    #[must_use]
    pub fn shrunk(&self, effort: Effort) -> Option<Shrunk> {
        let whole = self.alone(&self.changes)?;
        let (plan, verdict) = judged(&whole, self.search_paths)?;
        if verdict.outcome == Outcome::Holds {
            return None;
        }
        let whole = Best {
            candidate: whole,
            plan,
            verdict,
        };
        let mut search = Search::from(whole, effort, self.search_paths);
        let changes = self.undo_changes(&mut search);
        let before = happenings(&search.best.candidate.text);
        search.drop_happenings();
        search.end_earlier();
        search.drop_happenings();
        let after = happenings(&search.best.candidate.text);
        Some(Shrunk {
            text: search.best.without_other_failures(self.search_paths)?,
            verdict: search.best.verdict,
            duration: search.best.plan.duration,
            changes_undone: self.changes.len() - changes.len(),
            changes,
            happenings_gone: before.saturating_sub(after),
            trials: search.trials,
        })
    }

    fn undo_changes(&self, search: &mut Search<'_>) -> Vec<Edit> {
        let mut changes = self.changes.clone();
        let mut place = 0;
        while place < changes.len() {
            let mut fewer = changes.clone();
            fewer.remove(place);
            if self
                .alone(&fewer)
                .is_some_and(|candidate| search.takes(candidate))
            {
                changes = fewer;
            } else {
                place += 1;
            }
        }
        changes
    }

    /// The scenario with these changes and the failing case alone.
    fn alone(&self, changes: &[Edit]) -> Option<Candidate> {
        let text = edited(self.original, changes).ok()?;
        let source = SourceText::new("", text.clone()).ok()?;
        let plan = Plan::read(&source, self.search_paths).ok()?;
        let case = plan.cases.get(self.case)?;
        let others =
            |expectation: &Expectation| expectation.case.is_some() && expectation.case != case.name;
        let mut removals = Vec::new();
        for place in (0..plan.expectations.len()).rev() {
            if others(&plan.expectations[place]) {
                removals.push(remove("expect", place));
            }
        }
        if case.name.is_some() {
            let other_cases = (0..plan.cases.len())
                .rev()
                .filter(|place| *place != self.case);
            removals.extend(other_cases.map(|place| remove("variant", place)));
        }
        let before = plan.expectations.get(..self.expectation)?;
        Some(Candidate {
            text: edited(&text, &removals).ok()?,
            expectation: before.iter().filter(|one| !others(one)).count(),
        })
    }
}

#[cfg(test)]
mod tests {
    use std::sync::LazyLock;

    use super::search::set;
    use super::*;
    use crate::record::verdict::Evidence;
    use crate::run::bench::{Bench, Recording};
    use crate::scenario::search_paths::NoFiles;

    const TEXT: &str = "\
title = \"x\"
duration = \"24 h\"
seed = 3
[plant]
kind = \"refrigerated box\"
[control]
mode = \"cool\"
[[variant]]
name = \"open\"
settings = { fallback = \"open\" }
[[variant]]
name = \"cycle\"
settings = { fallback = \"timed cycle\" }
[[happening]]
at = \"02:00\"
every = \"1 h\"
for = \"2 min\"
until = \"20:00\"
what = \"door opens\"
[[happening]]
at = \"06:00\"
what = \"probe opens\"
for = \"8 h\"
[[happening]]
at = \"22:00\"
for = \"5 min\"
what = \"door opens\"
[[expect]]
variant = \"cycle\"
quantity = \"air temperature\"
at_most = \"40 °C\"
[[expect]]
variant = \"open\"
quantity = \"product temperature\"
at_most = \"5.5 °C\"
[[expect]]
count = \"starts\"
at_least = 1000
";

    fn failing(changes: Vec<Edit>, case: usize, expectation: usize) -> Failing<'static> {
        static NOWHERE: LazyLock<SearchPaths> = LazyLock::new(SearchPaths::default);
        Failing {
            original: TEXT,
            changes,
            case,
            expectation,
            search_paths: &NOWHERE,
        }
    }

    fn changes() -> Vec<Edit> {
        vec![
            set("control.differential", "3 K".to_owned()),
            set("seed", "8".to_owned()),
        ]
    }

    #[test]
    fn only_what_makes_it_fail_is_left() {
        let shrunk = failing(changes(), 0, 1).shrunk(Effort::Runs(60));
        let shrunk = shrunk.expect("it fails");
        assert_eq!(shrunk.changes_undone, 2, "{}", shrunk.text);
        assert_eq!(shrunk.happenings_gone, 2, "{}", shrunk.text);
        assert!(shrunk.text.contains("probe opens"), "{}", shrunk.text);
        assert!(!shrunk.text.contains("\"cycle\""), "{}", shrunk.text);
        assert!(
            shrunk.duration < Duration::from_hours(16),
            "{}",
            shrunk.text
        );
        // What was written fails alone.
        let source = SourceText::new("", shrunk.text.clone()).expect("a text");
        let plan = Plan::read(&source, &SearchPaths::default()).expect("a plan");
        let bench = Bench::prepare(plan, &NoFiles).expect("a bench");
        let run = bench.run(&bench.plan().cases[0], Recording::VerdictsOnly);
        let run = run.expect("within its model");
        assert!(run.verdicts.contains(&shrunk.verdict), "{:?}", run.verdicts);
        assert_eq!(shrunk.verdict.outcome, Outcome::Fails);
    }

    #[test]
    fn too_few_starts_are_not_made_fewer_by_an_early_end() {
        let shrunk = failing(changes(), 0, 2).shrunk(Effort::Runs(60));
        let shrunk = shrunk.expect("it fails");
        assert!(shrunk.trials > 0);
        let count = |verdict: &Verdict| match verdict.finding {
            Evidence::Count(count) => count,
            Evidence::Extremes { .. }
            | Evidence::Shortest(..)
            | Evidence::RelayMoved(_)
            | Evidence::Times(_)
            | Evidence::Nothing => panic!("a count of starts finds a count"),
        };
        let whole = failing(changes(), 0, 2).shrunk(Effort::None);
        let whole = whole.expect("it fails");
        assert_eq!(whole.trials, 0);
        assert_eq!(whole.duration, Duration::from_hours(24));
        assert!(count(&shrunk.verdict) >= count(&whole.verdict));
    }

    #[test]
    fn what_holds_is_not_shrunk() {
        assert_eq!(failing(changes(), 1, 0).shrunk(Effort::Runs(10)), None);
    }
}
