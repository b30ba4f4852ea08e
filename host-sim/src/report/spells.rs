//! Stretches of a trace with their ends, gathered and counted.

use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;

use crate::runs::Fed;
use crate::trace::{Standing, Stretch, Trace};

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
/// Where stretches were left out, the last one kept ends where it began: what came after is not known.
#[must_use]
pub fn spells(trace: &Trace) -> Vec<Spell> {
    let stretches = trace.stretches();
    let followers = stretches.iter().skip(1).map(|next| next.from);
    let end = match (trace.stretches_left_out(), stretches.last()) {
        (0, _) | (_, None) => trace.length(),
        (_, Some(last)) => last.from,
    };
    stretches
        .iter()
        .zip(followers.chain([end]))
        .map(|(stretch, until)| Spell {
            stretch: *stretch,
            until,
        })
        .collect()
}

/// The time spent for one reason.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Share {
    /// The relay.
    pub relay: Relay,
    /// Why it was there.
    pub standing: Standing,
    /// How many stretches of it there were.
    pub times: u64,
    /// How long they lasted together.
    pub total: Duration,
}

/// The time spent for each reason, in the order in which they first arose.
#[must_use]
pub fn shares(spells: &[Spell]) -> Vec<Share> {
    let mut shares: Vec<Share> = Vec::new();
    let mut before: Option<(Relay, Standing)> = None;
    for spell in spells {
        let Stretch {
            relay, standing, ..
        } = spell.stretch;
        let place = shares
            .iter()
            .position(|share| (share.relay, share.standing) == (relay, standing));
        let place = place.unwrap_or_else(|| {
            shares.push(Share {
                relay,
                standing,
                times: 0,
                total: Duration::ZERO,
            });
            shares.len() - 1
        });
        let share = &mut shares[place];
        share.total = share.total.and(spell.length());
        // A stretch in which only the load changed is no new one for the relay.
        share.times += u64::from(before != Some((relay, standing)));
        before = Some((relay, standing));
    }
    shares
}

/// How often the load started in each of `slots` equal parts of `length`.
#[must_use]
pub fn starts(spells: &[Spell], slot: Duration, slots: usize) -> Vec<u32> {
    let mut starts = vec![0; slots];
    let mut before = Fed::Dead;
    for spell in spells {
        let load = spell.stretch.load;
        if load == Fed::Energised && before == Fed::Dead {
            let place = spell.stretch.from.millis() / slot.millis().max(1);
            if let Some(count) = usize::try_from(place)
                .ok()
                .and_then(|at| starts.get_mut(at))
            {
                *count += 1;
            }
        }
        before = load;
    }
    starts
}

/// The share of each of `slots` parts of length `slot` for which `counts` held, 0 to 1.
#[must_use]
pub fn time_shares(
    spells: &[Spell],
    slot: Duration,
    slots: usize,
    counts: impl Fn(&Stretch) -> bool,
) -> Vec<f64> {
    let slot_ms = slot.millis().max(1);
    let mut sums = vec![0.0; slots];
    for spell in spells.iter().filter(|spell| counts(&spell.stretch)) {
        let (from, until) = (spell.stretch.from.millis(), spell.until.millis());
        let first = from / slot_ms;
        let last = until.saturating_sub(1) / slot_ms;
        for place in first..=last {
            let begins = from.max(place * slot_ms);
            let ends = until.min((place + 1) * slot_ms);
            if let Some(sum) = usize::try_from(place).ok().and_then(|at| sums.get_mut(at)) {
                *sum += ends.saturating_sub(begins) as f64 / slot_ms as f64;
            }
        }
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::*;
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
                load,
            },
            until: Duration::from_minutes(until),
        }
    }

    #[test]
    fn time_and_starts_fall_into_their_hours() {
        let spells = [
            spell(0, 50, Fed::Dead),
            spell(50, 90, Fed::Energised),
            spell(90, 120, Fed::Dead),
        ];
        let hour = Duration::from_hours(1);
        assert_eq!(starts(&spells, hour, 2), [1, 0]);
        let shares = time_shares(&spells, hour, 2, |stretch| stretch.load == Fed::Energised);
        assert!((shares[0] - 10.0 / 60.0).abs() < 1e-12, "{shares:?}");
        assert!((shares[1] - 30.0 / 60.0).abs() < 1e-12, "{shares:?}");
        let shares = super::shares(&spells);
        assert_eq!(shares.len(), 2);
        assert_eq!(
            (shares[0].times, shares[0].total),
            (2, Duration::from_minutes(80))
        );
    }
}
