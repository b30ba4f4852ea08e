//! A table of a run, a row for each interval of its trace (RFC 4180).
//!
//! | column | meaning |
//! | --- | --- |
//! | `case` | name of the case; empty where a scenario has only one |
//! | `elapsed_s` | when the interval begins |
//! | `…_lowest_c`, `…_highest_c` | extremes within the interval; the ending is the unit; empty where nothing could be seen |
//! | `relay_closed`, `load_fed` | share of the interval, 0 to 1 |
//! | `compressor_fed` | the same of a compressor that a low-pressure control starts; left out where there is none |
//! | `reason` | why the relay stood where it stood when the interval began; empty once the record of stretches was full |

use std::io::{self, Write};

use super::{identifier, unit_identifier};
use crate::report::spells::{closed_shares, fed_shares, spells};
use ::csv::Writer;
use hysteron_bench::record::runs::Runner;
use hysteron_bench::record::trace::{Bucket, Trace};
use hysteron_bench::run::bench::CaseRun;

/// How the first line begins, by which the file is known.
pub const FIRST_COLUMNS: &str = "case,elapsed_s,";

/// Writes the traces of all `runs` one below the other.
///
/// # Errors
/// When `to` fails, or when a run has no trace.
pub fn write(runs: &[CaseRun], to: impl Write) -> io::Result<()> {
    let mut writer = Writer::from_writer(to);
    for (place, run) in runs.iter().enumerate() {
        let trace = run
            .trace
            .as_ref()
            .ok_or_else(|| io::Error::other("a run without a trace has no table"))?;
        if place == 0 {
            writer.write_record(header(trace))?;
        }
        write_case(
            run.case.name.as_deref().unwrap_or_default(),
            trace,
            &mut writer,
        )?;
    }
    writer.flush()
}

fn header(trace: &Trace) -> Vec<String> {
    let columns = FIRST_COLUMNS.split_terminator(',');
    let mut header: Vec<String> = columns.map(str::to_owned).collect();
    for series in trace.series() {
        let (name, unit) = (
            identifier(series.observable),
            unit_identifier(series.observable),
        );
        header.push(format!("{name}_lowest_{unit}"));
        header.push(format!("{name}_highest_{unit}"));
    }
    header.extend(["relay_closed", "load_fed"].map(str::to_owned));
    header.extend(has_compressor(trace).then(|| "compressor_fed".to_owned()));
    header.push("reason".to_owned());
    header
}

fn write_case<W: Write>(case: &str, trace: &Trace, writer: &mut Writer<W>) -> io::Result<()> {
    let interval = trace.interval();
    let rows = trace
        .series()
        .first()
        .map_or(0, |series| series.buckets.len());
    let spells = spells(trace);
    let closed = closed_shares(trace, &spells, interval, rows);
    let fed = fed_shares(trace, &spells, Runner::Load, interval, rows);
    let compressed = fed_shares(trace, &spells, Runner::Compressor, interval, rows);
    // What the last stretch kept says of later times is not known.
    let known_until = trace.strip_known_until();
    let mut reasons = spells.iter().peekable();
    let mut reason = "";
    for row in 0..rows {
        let at_ms = interval.millis() * row as u64;
        while let Some(spell) = reasons.next_if(|spell| spell.stretch.from.millis() <= at_ms) {
            reason = spell.stretch.standing.text();
        }
        if at_ms > known_until.millis() {
            reason = "";
        }
        let mut record = vec![case.to_owned(), number(at_ms as f64 / 1e3)];
        for series in trace.series() {
            let bucket = series.buckets.get(row).copied().unwrap_or(Bucket::EMPTY);
            if bucket.is_empty() {
                record.extend([String::new(), String::new()]);
            } else {
                record.extend([number(bucket.lowest), number(bucket.highest)]);
            }
        }
        record.extend([
            number(share(&closed, interval.millis(), row, trace)),
            number(share(&fed, interval.millis(), row, trace)),
        ]);
        if has_compressor(trace) {
            record.push(number(share(&compressed, interval.millis(), row, trace)));
        }
        record.push(reason.to_owned());
        writer.write_record(&record)?;
    }
    Ok(())
}

fn has_compressor(trace: &Trace) -> bool {
    let first = trace.stretches().first();
    first.is_some_and(|stretch| stretch.feeds.compressor.is_some())
}

/// The last interval may be cut short by the end of the run; its share counts what there is of it.
fn share(shares: &[f64], interval_ms: u64, row: usize, trace: &Trace) -> f64 {
    let from_ms = interval_ms * row as u64;
    let there = trace
        .length()
        .millis()
        .saturating_sub(from_ms)
        .min(interval_ms)
        .max(1);
    let share = shares.get(row).copied().unwrap_or(0.0);
    (share * interval_ms as f64 / there as f64).min(1.0)
}

/// At most four decimals: a tenth of a millikelvin is finer than any probe.
fn number(value: f64) -> String {
    let rounded = (value * 1e4).round() / 1e4;
    format!("{}", rounded + 0.0)
}
