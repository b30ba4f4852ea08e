//! A run as structured data (RFC 8259).
//!
//! The shape is stable: within one `version` members are only added. Times are in
//! seconds from the beginning; temperatures in °C whatever scale the settings ask
//! for; a series gives extremes for each interval, `null` where nothing could be seen.

use std::io::{self, Write};

use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;
use serde::Serialize;

use crate::report::view::CaseView;
use crate::words::event;
use crate::words::finding::finding;
use crate::words::subject::expectation;
use hysteron_bench::record::runs::{Fed, RunTotals};
use hysteron_bench::record::trace::{Bucket, Entry, Trace};
use hysteron_bench::record::verdict::{Outcome, Verdict};
use hysteron_bench::run::bench::CaseRun;
use hysteron_bench::scenario::plan::Plan;

/// What `format`, the first member, says; the file is known by it.
pub const FORMAT: &str = "hysteron run";

/// Version of the shape.
pub const VERSION: u32 = 1;

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    version: u32,
    title: &'a str,
    seed: u64,
    duration_s: f64,
    step_s: f64,
    /// Whether every expectation of every case holds.
    holds: bool,
    cases: Vec<Case<'a>>,
}

#[derive(Serialize)]
struct Case<'a> {
    name: Option<&'a str>,
    expectations: Vec<Expected<'a>>,
    load: LoadTotals,
    /// Of a compressor that a low-pressure control starts.
    #[serde(skip_serializing_if = "Option::is_none")]
    compressor: Option<LoadTotals>,
    trace: Option<Recorded<'a>>,
}

#[derive(Serialize)]
struct Expected<'a> {
    /// Line of the scenario file.
    line: usize,
    expected: String,
    because: Option<&'a str>,
    from_s: f64,
    until_s: f64,
    /// `holds`, `fails` or `never reached`.
    outcome: &'static str,
    found: String,
}

#[derive(Serialize)]
struct LoadTotals {
    starts: u64,
    most_starts_in_an_hour: u64,
    run_s: f64,
    duty: f64,
    longest_run_s: f64,
    shortest_run_s: Option<f64>,
    shortest_rest_s: Option<f64>,
}

#[derive(Serialize)]
struct Recorded<'a> {
    interval_s: f64,
    series: Vec<Series<'a>>,
    stretches: Vec<Stretch>,
    stretches_left_out: u64,
    log: Vec<LogEntry>,
    log_left_out: u64,
}

#[derive(Serialize)]
struct Series<'a> {
    name: &'a str,
    unit: &'a str,
    lowest: Vec<Option<f64>>,
    highest: Vec<Option<f64>>,
}

#[derive(Serialize)]
struct Stretch {
    from_s: f64,
    /// `open` or `closed`.
    relay: &'static str,
    reason: &'static str,
    /// `fed` or `dead`.
    load: &'static str,
    /// The same of a compressor that a low-pressure control starts.
    #[serde(skip_serializing_if = "Option::is_none")]
    compressor: Option<&'static str>,
}

#[derive(Serialize)]
struct LogEntry {
    at_s: f64,
    /// `control`, `power up`, `power lost`, `happening`, `circuit` or `load`.
    kind: &'static str,
    /// The stable number of an event of the control.
    #[serde(skip_serializing_if = "Option::is_none")]
    number: Option<u8>,
    what: String,
}

/// Writes all `runs` of `plan` as one document.
///
/// # Errors
/// When `to` fails.
pub fn write(plan: &Plan, runs: &[CaseRun], mut to: impl Write) -> io::Result<()> {
    let document = Document {
        format: FORMAT,
        version: VERSION,
        title: &plan.title,
        seed: plan.seed,
        duration_s: seconds(plan.duration),
        step_s: seconds(plan.step),
        holds: runs
            .iter()
            .flat_map(|run| &run.verdicts)
            .all(|verdict| verdict.outcome == Outcome::Holds),
        cases: runs.iter().map(|run| case(plan, run)).collect(),
    };
    serde_json::to_writer(&mut to, &document)?;
    to.write_all(b"\n")?;
    to.flush()
}

fn case<'a>(plan: &Plan, run: &'a CaseRun) -> Case<'a> {
    let view = CaseView::new(plan, run);
    Case {
        name: run.case.name.as_deref(),
        expectations: run
            .verdicts
            .iter()
            .map(|verdict| expected(&view, verdict))
            .collect(),
        load: totals(&run.runs, plan),
        compressor: run.compressor.as_ref().map(|runs| totals(runs, plan)),
        trace: run.trace.as_ref().map(recorded),
    }
}

fn totals(runs: &RunTotals, plan: &Plan) -> LoadTotals {
    LoadTotals {
        starts: runs.starts,
        most_starts_in_an_hour: runs.most_starts_in_an_hour,
        run_s: seconds(runs.run),
        duty: runs.duty(plan.duration),
        longest_run_s: seconds(runs.longest_run),
        shortest_run_s: runs.shortest_run.map(seconds),
        shortest_rest_s: runs.shortest_rest.map(seconds),
    }
}

const fn fed(fed: Fed) -> &'static str {
    match fed {
        Fed::Energised => "fed",
        Fed::Dead => "dead",
    }
}

fn expected<'a>(view: &CaseView<'_>, verdict: &'a Verdict) -> Expected<'a> {
    let stated = &verdict.expectation;
    Expected {
        line: stated.line,
        expected: expectation(stated, view.plan.duration, view.degrees),
        because: stated.because.as_deref(),
        from_s: seconds(stated.window.from),
        until_s: seconds(stated.window.until),
        outcome: crate::words::finding::outcome(verdict.outcome),
        found: finding(verdict, view.degrees),
    }
}

fn recorded(trace: &Trace) -> Recorded<'_> {
    let values = |buckets: &[Bucket], of: fn(&Bucket) -> f64| {
        let value = |bucket: &Bucket| (!bucket.is_empty()).then(|| rounded(of(bucket)));
        buckets.iter().map(value).collect()
    };
    Recorded {
        interval_s: seconds(trace.interval()),
        series: trace
            .series()
            .iter()
            .map(|series| Series {
                name: series.observable.name(),
                unit: series.observable.unit(),
                lowest: values(&series.buckets, |bucket| bucket.lowest),
                highest: values(&series.buckets, |bucket| bucket.highest),
            })
            .collect(),
        stretches: trace
            .stretches()
            .iter()
            .map(|stretch| Stretch {
                from_s: seconds(stretch.from),
                relay: match stretch.relay {
                    Relay::Open => "open",
                    Relay::Closed => "closed",
                },
                reason: stretch.standing.text(),
                load: fed(stretch.feeds.load),
                compressor: stretch.feeds.compressor.map(fed),
            })
            .collect(),
        stretches_left_out: trace.stretches_left_out(),
        log: trace
            .entries()
            .iter()
            .map(|(at, entry)| log_entry(*at, entry))
            .collect(),
        log_left_out: trace.entries_left_out(),
    }
}

fn log_entry(at: Duration, entry: &Entry) -> LogEntry {
    let (kind, number) = match entry {
        Entry::Control(event) => ("control", Some(event.number())),
        Entry::DutyNotKnown { .. } => ("control", Some(Event::DutyNotKnown.number())),
        Entry::PowerUp => ("power up", None),
        Entry::PowerLost => ("power lost", None),
        Entry::Happened(_) => ("happening", None),
        Entry::Circuit(_) => ("circuit", None),
        Entry::LoadOnItsOwn(_) => ("load", None),
    };
    LogEntry {
        at_s: seconds(at),
        kind,
        number,
        what: event::entry(entry).into_owned(),
    }
}

fn seconds(duration: Duration) -> f64 {
    duration.millis() as f64 / 1e3
}

/// Four decimals: a tenth of a millikelvin is finer than any probe.
fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}
