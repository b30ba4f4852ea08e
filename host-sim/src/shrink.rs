//! A failing scenario made smaller while the same expectation still fails.
//!
//! In turn: changed entries go back to what they were, happenings go, the end
//! comes earlier. A smaller scenario is taken only if the expectation fails in
//! the same way: not because it was never reached, and not because less of what
//! it counts could happen in less time.

use hysteron_logic::time::Duration;

use crate::bench::{Bench, Recording};
use crate::scenario::ambient_table::WeatherSource;
use crate::scenario::edit::{Edit, edited};
use crate::scenario::expectation::{Expectation, Limits, Subject};
use crate::scenario::plan::Plan;
use crate::scenario::quantity_text::{duration_text, moment_text, read_moment};
use crate::source_text::SourceText;
use crate::verdict::{Finding, Outcome, Verdict};

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
    /// Where its weather comes from.
    pub weather: &'a WeatherSource,
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
    /// How many changes went back.
    pub changes_undone: usize,
    /// How many happenings went.
    pub happenings_gone: usize,
    /// How many scenarios were tried.
    pub trials: u32,
}

/// How much a person is ready to wait for a smaller scenario.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effort {
    /// None: one case alone, and nothing made smaller.
    None,
    /// As much as this many runs of the whole.
    Runs(u32),
}

impl Failing<'_> {
    /// The smallest failing scenario found; `None` where this one does not fail.
    #[must_use]
    pub fn shrunk(&self, effort: Effort) -> Option<Shrunk> {
        let whole = self.alone(&self.changes)?;
        let (plan, verdict) = judged(&whole, self.weather)?;
        if verdict.outcome == Outcome::Holds {
            return None;
        }
        let mut search = Search {
            weather: self.weather,
            like: verdict.clone(),
            left_ms: match effort {
                Effort::None => 0,
                Effort::Runs(runs) => plan.duration.millis().saturating_mul(u64::from(runs)),
            },
            best: Best {
                candidate: whole,
                plan,
                verdict,
            },
            trials: 0,
        };
        let changes_undone = self.undo_changes(&mut search);
        let before = happenings(&search.best.candidate.text);
        search.drop_happenings();
        search.end_earlier();
        search.drop_happenings();
        let after = happenings(&search.best.candidate.text);
        Some(Shrunk {
            text: search.best.without_other_failures()?,
            verdict: search.best.verdict,
            duration: search.best.plan.duration,
            changes_undone,
            happenings_gone: before.saturating_sub(after),
            trials: search.trials,
        })
    }

    fn undo_changes(&self, search: &mut Search<'_>) -> usize {
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
        self.changes.len() - changes.len()
    }

    /// The scenario with these changes and the failing case alone.
    fn alone(&self, changes: &[Edit]) -> Option<Candidate> {
        let text = edited(self.original, changes).ok()?;
        let source = SourceText::new("", text.clone()).ok()?;
        let plan = Plan::read(&source, self.weather).ok()?;
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

fn remove(table: &str, place: usize) -> Edit {
    Edit::Remove {
        path: format!("{table}.{}", place + 1),
    }
}

/// A text with the place of the expectation that matters.
#[derive(Debug, Clone)]
struct Candidate {
    text: String,
    expectation: usize,
}

struct Best {
    candidate: Candidate,
    plan: Plan,
    verdict: Verdict,
}

impl Best {
    /// The text without expectations that fail only because it was made smaller.
    fn without_other_failures(&self) -> Option<String> {
        let bench = Bench::prepare(self.plan.clone()).ok()?;
        let run = bench.run(bench.plan().cases.first()?, Recording::VerdictsOnly);
        let verdicts = run.verdicts.iter().enumerate().rev();
        let others = verdicts.filter(|(place, verdict)| {
            *place != self.candidate.expectation && verdict.outcome != Outcome::Holds
        });
        let removals: Vec<Edit> = others.map(|(place, _)| remove("expect", place)).collect();
        edited(&self.candidate.text, &removals).ok()
    }
}

struct Search<'a> {
    weather: &'a WeatherSource,
    /// How it failed at first.
    like: Verdict,
    left_ms: u64,
    best: Best,
    trials: u32,
}

impl Search<'_> {
    /// Takes the candidate for the best so far if it still fails, and in the same way.
    fn takes(&mut self, candidate: Candidate) -> bool {
        let costs_ms = self.best.plan.duration.millis();
        if costs_ms > self.left_ms {
            return false;
        }
        self.left_ms -= costs_ms;
        self.trials += 1;
        let Some((plan, verdict)) = judged(&candidate, self.weather) else {
            return false;
        };
        let fails = fails_like(&verdict, &self.like);
        if fails {
            self.best = Best {
                candidate,
                plan,
                verdict,
            };
        }
        fails
    }

    /// Drops half of the happenings, then a quarter, and so on down to single ones.
    fn drop_happenings(&mut self) {
        let mut size = happenings(&self.best.candidate.text);
        while size > 0 {
            let mut from = 0;
            while from < happenings(&self.best.candidate.text) {
                let until = (from + size).min(happenings(&self.best.candidate.text));
                let removals: Vec<Edit> = (from..until)
                    .rev()
                    .map(|place| remove("happening", place))
                    .collect();
                if !self.tries(&removals) {
                    from = until;
                }
            }
            size /= 2;
        }
    }

    /// Lets the scenario end soon after what fails, or halfway, as long as it fails.
    fn end_earlier(&mut self) {
        let step = self.best.plan.step;
        if let Some(seen) = seen_at(&self.best.verdict) {
            self.ends_at(rounded_up(seen.and(step).and(step)));
        }
        let mut fails_not = Duration::ZERO;
        loop {
            let fails = self.best.plan.duration;
            let between = Duration::from_millis((fails_not.millis() + fails.millis()) / 2);
            let middle = rounded_up(between);
            if middle >= fails || middle <= fails_not {
                break;
            }
            if !self.ends_at(middle) {
                fails_not = middle;
            }
        }
    }

    fn ends_at(&mut self, end: Duration) -> bool {
        if end >= self.best.plan.duration {
            return false;
        }
        let Some((edits, gone_before)) = ending(&self.best.candidate, end, self.best.plan.step)
        else {
            return false;
        };
        let candidate = edited(&self.best.candidate.text, &edits).map(|text| Candidate {
            text,
            expectation: self.best.candidate.expectation - gone_before,
        });
        candidate.is_ok_and(|candidate| self.takes(candidate))
    }

    fn tries(&mut self, edits: &[Edit]) -> bool {
        let candidate = edited(&self.best.candidate.text, edits).map(|text| Candidate {
            text,
            expectation: self.best.candidate.expectation,
        });
        candidate.is_ok_and(|candidate| self.takes(candidate))
    }
}

/// The changes that let a scenario end at `end`, and how many expectations before the one that
/// matters they take away.
fn ending(candidate: &Candidate, end: Duration, step: Duration) -> Option<(Vec<Edit>, usize)> {
    let tables: toml::Table = candidate.text.parse().ok()?;
    let mut edits = vec![set("duration", duration_text(end))];
    let mut removals = Vec::new();
    let mut gone_before = 0;
    for (name, last) in [("happening", end), ("expect", end.less(step))] {
        let entries = tables.get(name).and_then(toml::Value::as_array);
        for (place, entry) in entries.into_iter().flatten().enumerate() {
            let moment = |key: &str| {
                entry
                    .get(key)?
                    .as_str()
                    .and_then(|text| read_moment(text).ok())
            };
            let begins = moment("at").or(moment("from")).unwrap_or_default();
            if begins > last {
                if name == "expect" && place == candidate.expectation {
                    return None;
                }
                gone_before += usize::from(name == "expect" && place < candidate.expectation);
                removals.push(remove(name, place));
            } else if moment("until").is_some_and(|until| until > end) {
                edits.push(set(
                    &format!("{name}.{}.until", place + 1),
                    moment_text(end),
                ));
            }
        }
    }
    // From the back, so that the places of the others stay.
    edits.extend(removals.into_iter().rev());
    Some((edits, gone_before))
}

fn set(path: &str, value: String) -> Edit {
    Edit::Set {
        path: path.to_owned(),
        value,
    }
}

fn judged(candidate: &Candidate, weather: &WeatherSource) -> Option<(Plan, Verdict)> {
    let source = SourceText::new("", candidate.text.clone()).ok()?;
    let bench = Bench::prepare(Plan::read(&source, weather).ok()?).ok()?;
    let case = bench.plan().cases.first()?;
    let run = bench.run(case, Recording::VerdictsOnly);
    let verdict = run.verdicts.into_iter().nth(candidate.expectation)?;
    Some((bench.plan().clone(), verdict))
}

fn happenings(text: &str) -> usize {
    let tables: Option<toml::Table> = text.parse().ok();
    tables
        .as_ref()
        .and_then(|tables| tables.get("happening"))
        .and_then(toml::Value::as_array)
        .map_or(0, Vec::len)
}

/// Whether it fails, and not for a lesser reason: what was too few stays as many.
fn fails_like(verdict: &Verdict, like: &Verdict) -> bool {
    if verdict.outcome == Outcome::Holds || verdict.outcome != like.outcome {
        return false;
    }
    match (&verdict.finding, &like.finding) {
        (Finding::Count(now), Finding::Count(before)) => {
            !is_below(&like.expectation.subject, *before) || now >= before
        }
        (Finding::Times(now), Finding::Times(before)) => now.len() >= before.len(),
        (Finding::Extremes { .. }, _)
        | (Finding::Shortest(..), _)
        | (Finding::RelayMoved(_), _)
        | (Finding::Nothing, _)
        | (Finding::Count(_), _)
        | (Finding::Times(_), _) => true,
    }
}

fn is_below(subject: &Subject, value: f64) -> bool {
    match subject {
        Subject::Counts(_, limits) => Limits::at_least(*limits).is_some_and(|least| value < least),
        Subject::Stays(..)
        | Subject::RelayIs(_)
        | Subject::Order(_)
        | Subject::ShortestRest(..)
        | Subject::ShortestRun(..) => false,
    }
}

/// When the failure was seen, where that is one moment.
fn seen_at(verdict: &Verdict) -> Option<Duration> {
    match (&verdict.finding, &verdict.expectation.subject) {
        (Finding::Extremes { lowest, highest }, Subject::Stays(_, limits)) => {
            if limits.hold(highest.0) {
                Some(lowest.1)
            } else {
                Some(highest.1)
            }
        }
        (Finding::Shortest(_, at), _) | (Finding::RelayMoved(at), _) => Some(*at),
        (
            Finding::Extremes { .. } | Finding::Count(_) | Finding::Times(_) | Finding::Nothing,
            _,
        ) => None,
    }
}

/// The next whole ten minutes; the next whole minute of a short time.
fn rounded_up(time: Duration) -> Duration {
    const MINUTE_MS: u64 = 60_000;
    let unit_ms = if time > Duration::from_hours(1) {
        10 * MINUTE_MS
    } else {
        MINUTE_MS
    };
    Duration::from_millis(time.millis().div_ceil(unit_ms) * unit_ms)
}

#[cfg(test)]
mod tests {
    use super::*;

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
        static WEATHER: WeatherSource = WeatherSource {
            given: None,
            relative_to: std::path::PathBuf::new(),
        };
        Failing {
            original: TEXT,
            changes,
            case,
            expectation,
            weather: &WEATHER,
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
        let plan = Plan::read(&source, &WeatherSource::default()).expect("a plan");
        let bench = Bench::prepare(plan).expect("a bench");
        let run = bench.run(&bench.plan().cases[0], Recording::VerdictsOnly);
        assert!(run.verdicts.contains(&shrunk.verdict), "{:?}", run.verdicts);
        assert_eq!(shrunk.verdict.outcome, Outcome::Fails);
    }

    #[test]
    fn too_few_starts_are_not_made_fewer_by_an_early_end() {
        let shrunk = failing(changes(), 0, 2).shrunk(Effort::Runs(60));
        let shrunk = shrunk.expect("it fails");
        assert!(shrunk.trials > 0);
        let count = |verdict: &Verdict| match verdict.finding {
            Finding::Count(count) => count,
            Finding::Extremes { .. }
            | Finding::Shortest(..)
            | Finding::RelayMoved(_)
            | Finding::Times(_)
            | Finding::Nothing => panic!("a count of starts finds a count"),
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
