//! Stretches of a trace with their ends, and the shares of time they take.

use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;

use hysteron_bench::record::runs::Runner;
use hysteron_bench::record::tally::Hour;
use hysteron_bench::record::trace::{Stretch, Trace};

/// A stretch with its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spell {
    /// When it began and why.
    pub stretch: Stretch,
    /// When it ended.
    pub until: Duration,
}

impl Spell {
    /// How long it lasted.
    #[must_use]
    pub const fn length(self) -> Duration {
        self.until.less(self.stretch.from)
    }
}

/// Every stretch of the trace with its end.
///
/// Where stretches were left out, the last one kept ends where the first of those begins.
#[must_use]
pub fn spells(trace: &Trace) -> Vec<Spell> {
    let stretches = trace.stretches();
    let followers = stretches.iter().skip(1).map(|next| next.from);
    let end = trace.strip_known_until();
    stretches
        .iter()
        .zip(followers.chain([end]))
        .map(|(stretch, until)| Spell {
            stretch: *stretch,
            until,
        })
        .collect()
}

/// The share of each of `slots` parts of length `slot` for which `counts` held, 0 to 1.
#[must_use]
pub fn time_shares(
    spells: &[Spell],
    slot: Duration,
    slots: usize,
    counts: impl Fn(&Stretch) -> bool,
) -> Vec<f64> {
    let counted = spells.iter().filter(|spell| counts(&spell.stretch));
    let spans = counted.map(|spell| (spell.stretch.from, spell.until, 1.0));
    span_shares(spans, slot, slots)
}

/// The share of each slot that these spans take, each filled to a part of 0 to 1.
#[must_use]
pub fn span_shares(
    spans: impl Iterator<Item = (Duration, Duration, f64)>,
    slot: Duration,
    slots: usize,
) -> Vec<f64> {
    let slot_ms = slot.millis().max(1);
    let mut sums = vec![0.0; slots];
    for (from, until, part) in spans {
        let (from, until) = (from.millis(), until.millis());
        let first = from / slot_ms;
        let last = until.saturating_sub(1) / slot_ms;
        for place in first..=last {
            let begins = from.max(place * slot_ms);
            let ends = until.min((place + 1) * slot_ms);
            if let Some(sum) = usize::try_from(place).ok().and_then(|at| sums.get_mut(at)) {
                *sum += part * ends.saturating_sub(begins) as f64 / slot_ms as f64;
            }
        }
    }
    sums
}

/// The share of each of `slots` parts of length `slot` for which the relay was closed.
///
/// From the stretches where all were kept, from the tally of each hour where they were not.
#[must_use]
pub fn closed_shares(trace: &Trace, spells: &[Spell], slot: Duration, slots: usize) -> Vec<f64> {
    match trace.stretches_left_out() {
        0 => time_shares(spells, slot, slots, |stretch| {
            stretch.relay == Relay::Closed
        }),
        _ => span_shares(hours(trace, |hour| hour.closed), slot, slots),
    }
}

/// The share of each part for which a runner was fed, from the same sources.
#[must_use]
pub fn fed_shares(
    trace: &Trace,
    spells: &[Spell],
    runner: Runner,
    slot: Duration,
    slots: usize,
) -> Vec<f64> {
    match trace.stretches_left_out() {
        0 => time_shares(spells, slot, slots, |stretch| {
            stretch.feeds.energise(runner)
        }),
        _ => span_shares(hours(trace, |hour| hour.of(runner).fed), slot, slots),
    }
}

fn hours(
    trace: &Trace,
    of: impl Fn(&Hour) -> Duration,
) -> impl Iterator<Item = (Duration, Duration, f64)> {
    const HOUR: Duration = Duration::from_hours(1);
    let hours = trace.tally().hours().iter().enumerate();
    hours.map(move |(place, hour)| {
        let from = Duration::from_millis(HOUR.millis() * place as u64);
        let part = of(hour).millis() as f64 / HOUR.millis() as f64;
        (from, from.and(HOUR), part)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use hysteron_bench::record::runs::{Fed, Feeds};
    use hysteron_bench::record::trace::Standing;
    use hysteron_logic::control::Reason;

    fn spell(from: u32, until: u32, load: Fed) -> Spell {
        Spell {
            stretch: Stretch {
                from: Duration::from_minutes(from),
                relay: match load {
                    Fed::Energised => Relay::Closed,
                    Fed::Dead => Relay::Open,
                },
                standing: Standing::Because(match load {
                    Fed::Energised => Reason::Calling,
                    Fed::Dead => Reason::Satisfied,
                }),
                feeds: Feeds::load(load),
            },
            until: Duration::from_minutes(until),
        }
    }

    #[test]
    fn time_falls_into_its_hours() {
        let spells = [
            spell(0, 50, Fed::Dead),
            spell(50, 90, Fed::Energised),
            spell(90, 120, Fed::Dead),
        ];
        let hour = Duration::from_hours(1);
        let shares = time_shares(&spells, hour, 2, |stretch| {
            stretch.feeds.energise(Runner::Load)
        });
        assert!((shares[0] - 10.0 / 60.0).abs() < 1e-12, "{shares:?}");
        assert!((shares[1] - 30.0 / 60.0).abs() < 1e-12, "{shares:?}");
    }
}
