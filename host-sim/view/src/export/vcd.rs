//! The waveforms of a run as a value change dump (IEEE 1364-2005, clause 18), time in milliseconds.
//!
//! Each case is a module. Wires: `power` (the board has its supply), `call`, `relay`,
//! `load`, `compressor` (where a low-pressure control starts one), `probe_fault`,
//! `lockout`. Everything measured is a real; where the trace
//! has merged several samples it is two, `…_lowest` and `…_highest`. What cannot
//! be seen for a time keeps its last value, as the format has no gaps.

use std::io::{self, Write};

use ::vcd::{IdCode, SimulationCommand, TimescaleUnit, Value, VarType, Writer};
use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;

use super::identifier;
use hysteron_bench::record::runs::{Feeds, Runner};
use hysteron_bench::record::trace::{Entry, Standing, Trace};
use hysteron_bench::run::bench::CaseRun;
use hysteron_bench::scenario::plan::Plan;

/// One change of one signal.
#[derive(Debug, Clone, Copy)]
enum Change {
    Wire(IdCode, Value),
    Real(IdCode, f64),
}

/// The wires of one case.
#[derive(Debug, Clone, Copy)]
struct Wires {
    power: IdCode,
    call: IdCode,
    relay: IdCode,
    load: IdCode,
    /// Of a compressor that a low-pressure control starts.
    compressor: Option<IdCode>,
    probe_fault: IdCode,
    lockout: IdCode,
}

/// Writes the waveforms of all `runs` on one axis of time.
///
/// # Errors
/// When `to` fails, or when a run has no trace.
pub fn write(plan: &Plan, runs: &[CaseRun], to: impl Write) -> io::Result<()> {
    let mut writer = Writer::new(to);
    writer.version(concat!("hysteron ", env!("CARGO_PKG_VERSION")))?;
    writer.comment(&format!(
        "{}, seed {}",
        plan.title.replace("$end", "end"),
        plan.seed
    ))?;
    writer.timescale(1, TimescaleUnit::MS)?;
    writer.add_module("bench")?;
    let mut changes: Vec<(Duration, Change)> = Vec::new();
    for (place, run) in runs.iter().enumerate() {
        let trace = run
            .trace
            .as_ref()
            .ok_or_else(|| io::Error::other("a run without a trace has no waveforms"))?;
        writer.add_module(&scope_name(run, place))?;
        let wires = Wires {
            power: writer.add_wire(1, "power")?,
            call: writer.add_wire(1, "call")?,
            relay: writer.add_wire(1, "relay")?,
            load: writer.add_wire(1, "load")?,
            compressor: match plan.plant.pump_down() {
                Some(_) => Some(writer.add_wire(1, "compressor")?),
                None => None,
            },
            probe_fault: writer.add_wire(1, "probe_fault")?,
            lockout: writer.add_wire(1, "lockout")?,
        };
        strip_changes(trace, wires, &mut changes);
        log_changes(trace, wires, &mut changes);
        series_changes(trace, &mut writer, &mut changes)?;
        writer.upscope()?;
    }
    writer.upscope()?;
    writer.enddefinitions()?;
    // Stable, so that what one case tells of one moment stays in its order.
    changes.sort_by_key(|(at, _)| *at);
    write_changes(&mut writer, &changes, plan.duration)?;
    writer.flush()
}

fn scope_name(run: &CaseRun, place: usize) -> String {
    let name = run.case.name.as_deref().unwrap_or("case");
    let name: String = name
        .chars()
        .map(|sign| {
            if sign.is_ascii_alphanumeric() {
                sign
            } else {
                '_'
            }
        })
        .collect();
    match run.case.name {
        Some(_) => format!("case_{}_{name}", place + 1),
        None => name,
    }
}

fn write_changes<W: Write>(
    writer: &mut Writer<W>,
    changes: &[(Duration, Change)],
    end: Duration,
) -> io::Result<()> {
    let mut told = None;
    for (at, change) in changes {
        if told != Some(*at) {
            if told == Some(Duration::ZERO) {
                writer.end()?;
            }
            writer.timestamp(at.millis())?;
            if told.is_none() && at.is_zero() {
                writer.begin(SimulationCommand::Dumpvars)?;
            }
            told = Some(*at);
        }
        match change {
            Change::Wire(id, value) => writer.change_scalar(*id, *value)?,
            Change::Real(id, value) => writer.change_real(*id, *value)?,
        }
    }
    if told == Some(Duration::ZERO) {
        writer.end()?;
    }
    writer.timestamp(end.millis())
}

fn fed(feeds: Feeds, runner: Runner) -> Value {
    level(feeds.energise(runner))
}

const fn level(high: bool) -> Value {
    if high { Value::V1 } else { Value::V0 }
}

/// Notes a wire's level where it differs from the last.
struct Wire {
    id: IdCode,
    last: Option<Value>,
}

impl Wire {
    const fn new(id: IdCode) -> Self {
        Self { id, last: None }
    }

    fn set(&mut self, at: Duration, value: Value, changes: &mut Vec<(Duration, Change)>) {
        if self.last != Some(value) {
            self.last = Some(value);
            changes.push((at, Change::Wire(self.id, value)));
        }
    }

    /// Nothing is known of the wire from `known_until` on, if that is not the end.
    fn end(&mut self, known_until: Duration, trace: &Trace, changes: &mut Vec<(Duration, Change)>) {
        if known_until < trace.length() {
            self.set(known_until, Value::X, changes);
        }
    }
}

fn strip_changes(trace: &Trace, wires: Wires, changes: &mut Vec<(Duration, Change)>) {
    let mut power = Wire::new(wires.power);
    let mut relay = Wire::new(wires.relay);
    let mut load = Wire::new(wires.load);
    let mut compressor = wires.compressor.map(Wire::new);
    for stretch in trace.stretches() {
        let at = stretch.from;
        power.set(at, level(stretch.standing != Standing::Unpowered), changes);
        relay.set(at, level(stretch.relay == Relay::Closed), changes);
        if let Some(compressor) = &mut compressor {
            compressor.set(at, fed(stretch.feeds, Runner::Compressor), changes);
        }
        load.set(at, fed(stretch.feeds, Runner::Load), changes);
    }
    let wires = [Some(power), Some(relay), Some(load), compressor];
    for mut wire in wires.into_iter().flatten() {
        wire.end(trace.strip_known_until(), trace, changes);
    }
}

fn log_changes(trace: &Trace, wires: Wires, changes: &mut Vec<(Duration, Change)>) {
    let mut call = Wire::new(wires.call);
    let mut fault = Wire::new(wires.probe_fault);
    let mut lockout = Wire::new(wires.lockout);
    for wire in [&mut call, &mut fault, &mut lockout] {
        wire.set(Duration::ZERO, Value::V0, changes);
    }
    for (at, entry) in trace.entries() {
        match entry {
            Entry::Control(Event::CallBegan) => call.set(*at, Value::V1, changes),
            Entry::Control(Event::CallEnded | Event::ModeChanged) => {
                call.set(*at, Value::V0, changes);
            }
            Entry::Control(Event::ProbeFailed(_)) => fault.set(*at, Value::V1, changes),
            Entry::Control(Event::ProbeRecovered) => fault.set(*at, Value::V0, changes),
            Entry::Control(Event::LockedOut(_)) => lockout.set(*at, Value::V1, changes),
            Entry::Control(Event::LockoutReleased) => lockout.set(*at, Value::V0, changes),
            // A control that starts anew neither calls nor has declared a fault; a lockout is stored.
            Entry::PowerLost => {
                call.set(*at, Value::V0, changes);
                fault.set(*at, Value::V0, changes);
            }
            Entry::Control(_)
            | Entry::DutyNotKnown { .. }
            | Entry::PowerUp
            | Entry::Happened(_)
            | Entry::Circuit(_)
            | Entry::LoadOnItsOwn(_) => {}
        }
    }
    call.end(trace.routine_known_until(), trace, changes);
    for mut wire in [fault, lockout] {
        wire.end(trace.log_known_until(), trace, changes);
    }
}

fn series_changes<W: Write>(
    trace: &Trace,
    writer: &mut Writer<W>,
    changes: &mut Vec<(Duration, Change)>,
) -> io::Result<()> {
    let interval_ms = trace.interval().millis();
    for series in trace.series() {
        let name = identifier(series.observable);
        let mut real = |name: &str| writer.add_var(VarType::Real, 64, name, None);
        let is_exact = series
            .buckets
            .iter()
            .all(|bucket| bucket.is_empty() || bucket.lowest == bucket.highest);
        let (lowest, highest) = if is_exact {
            (real(&name)?, None)
        } else {
            (
                real(&format!("{name}_lowest"))?,
                Some(real(&format!("{name}_highest"))?),
            )
        };
        let mut last = (None, None);
        for (place, bucket) in series
            .buckets
            .iter()
            .enumerate()
            .filter(|(_, bucket)| !bucket.is_empty())
        {
            let at = Duration::from_millis(interval_ms * place as u64);
            if last.0 != Some(bucket.lowest) {
                changes.push((at, Change::Real(lowest, bucket.lowest)));
            }
            if let Some(highest) = highest.filter(|_| last.1 != Some(bucket.highest)) {
                changes.push((at, Change::Real(highest, bucket.highest)));
            }
            last = (Some(bucket.lowest), Some(bucket.highest));
        }
    }
    Ok(())
}
