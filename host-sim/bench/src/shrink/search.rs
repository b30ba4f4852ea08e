//! The search for a smaller scenario: what is tried in turn, and what counts as the same failure.

use hysteron_logic::time::Duration;

use super::effort::Effort;
use crate::record::verdict::{Evidence, Outcome, Verdict};
use crate::run::bench::{Bench, Recording};
use crate::scenario::edit::{Edit, edited};
use crate::scenario::expectation::{Limits, Subject};
use crate::scenario::plan::Plan;
use crate::scenario::quantity_text::{moment_text, read_duration, read_moment};
use crate::scenario::search_paths::SearchPaths;
use hysteron_source::text::SourceText;

pub fn remove(table: &str, place: usize) -> Edit {
    Edit::Remove {
        path: format!("{table}.{}", place + 1),
    }
}

/// A text with the place of the expectation that matters.
#[derive(Debug, Clone)]
pub struct Candidate {
    pub text: String,
    pub expectation: usize,
}

/// The smallest that failed so far.
pub struct Best {
    pub candidate: Candidate,
    pub plan: Plan,
    pub verdict: Verdict,
}

impl Best {
    /// The text without expectations that fail only because it was made smaller.
    pub fn without_other_failures(&self, search_paths: &SearchPaths) -> Option<String> {
        let bench = Bench::prepare(self.plan.clone(), &*search_paths.files).ok()?;
        let run = bench
            .run(bench.plan().cases.first()?, Recording::VerdictsOnly)
            .ok()?;
        let verdicts = run.verdicts.iter().enumerate().rev();
        let others = verdicts.filter(|(place, verdict)| {
            *place != self.candidate.expectation && verdict.outcome != Outcome::Holds
        });
        let removals: Vec<Edit> = others.map(|(place, _)| remove("expect", place)).collect();
        edited(&self.candidate.text, &removals).ok()
    }
}

/// Tries smaller scenarios for as long as there is time.
pub struct Search<'a> {
    pub best: Best,
    pub trials: u32,
    search_paths: &'a SearchPaths,
    /// How it failed at first.
    like: Verdict,
    left_ms: u64,
}

impl<'a> Search<'a> {
    /// A search from `whole` on, with this much effort.
    pub fn from(whole: Best, effort: Effort, search_paths: &'a SearchPaths) -> Self {
        Self {
            search_paths,
            like: whole.verdict.clone(),
            left_ms: match effort {
                Effort::None => 0,
                Effort::Runs(runs) => whole.plan.duration.millis().saturating_mul(runs.into()),
            },
            best: whole,
            trials: 0,
        }
    }

    /// Takes the candidate for the best so far if it still fails, and in the same way.
    pub fn takes(&mut self, candidate: Candidate) -> bool {
        let costs_ms = self.best.plan.duration.millis();
        if costs_ms > self.left_ms {
            return false;
        }
        self.left_ms -= costs_ms;
        self.trials += 1;
        let Some((plan, verdict)) = judged(&candidate, self.search_paths) else {
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
    pub fn drop_happenings(&mut self) {
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
    pub fn end_earlier(&mut self) {
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
    let mut edits = vec![set("duration", end.to_string())];
    let mut removals = Vec::new();
    let mut gone_before = 0;
    let last = end.less(step);
    for name in ["happening", "expect"] {
        let entries = tables.get(name).and_then(toml::Value::as_array);
        for (place, entry) in entries.into_iter().flatten().enumerate() {
            let moment = |key: &str| {
                entry
                    .get(key)?
                    .as_str()
                    .and_then(|text| read_moment(text).ok())
            };
            let length = |key: &str| {
                entry
                    .get(key)?
                    .as_str()
                    .and_then(|text| read_duration(text).ok())
            };
            let begins = moment("at").or(moment("from")).unwrap_or_default();
            if begins > last {
                if name == "expect" && place == candidate.expectation {
                    return None;
                }
                gone_before += usize::from(name == "expect" && place < candidate.expectation);
                removals.push(remove(name, place));
            } else if length("for").is_some_and(|length| begins.and(length) > end) {
                edits.push(set(
                    &format!("{name}.{}.for", place + 1),
                    end.less(begins).to_string(),
                ));
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

pub fn set(path: &str, value: String) -> Edit {
    Edit::Set {
        path: path.to_owned(),
        value,
    }
}

pub fn judged(candidate: &Candidate, search_paths: &SearchPaths) -> Option<(Plan, Verdict)> {
    let source = SourceText::new("", candidate.text.clone()).ok()?;
    let plan = Plan::read(&source, search_paths).ok()?;
    let bench = Bench::prepare(plan, &*search_paths.files).ok()?;
    let case = bench.plan().cases.first()?;
    let run = bench.run(case, Recording::VerdictsOnly).ok()?;
    let verdict = run.verdicts.into_iter().nth(candidate.expectation)?;
    Some((bench.plan().clone(), verdict))
}

pub fn happenings(text: &str) -> usize {
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
        (Evidence::Count(now), Evidence::Count(before)) => {
            !is_below(&like.expectation.subject, *before) || now >= before
        }
        (Evidence::Times(now), Evidence::Times(before)) => now.len() >= before.len(),
        (Evidence::Extremes { .. }, _)
        | (Evidence::Shortest(..), _)
        | (Evidence::RelayMoved(_), _)
        | (Evidence::Nothing, _)
        | (Evidence::Count(_), _)
        | (Evidence::Times(_), _) => true,
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
        (Evidence::Extremes { lowest, highest }, Subject::Stays(_, limits)) => {
            if limits.hold(highest.0) {
                Some(lowest.1)
            } else {
                Some(highest.1)
            }
        }
        (Evidence::Shortest(_, at), _) | (Evidence::RelayMoved(at), _) => Some(*at),
        (
            Evidence::Extremes { .. } | Evidence::Count(_) | Evidence::Times(_) | Evidence::Nothing,
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
