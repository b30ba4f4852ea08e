//! What a trace knows in full however long the run: the time spent for each reason, starts
//! and run time of every hour, and how often each thing happened.

use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;

use crate::record::entry::Entry;
use crate::record::runs::Runner;
use crate::record::stretch::{Standing, Stretch};

/// Hours that are told apart: ten leap years, the longest scenario.
pub const MOST_HOURS: usize = 10 * 366 * 24;

/// One hour of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Hour {
    /// How long the relay was closed.
    pub closed: Duration,
    load: Ran,
    compressor: Ran,
}

/// What one runner did in an hour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Ran {
    /// How often it started.
    pub starts: u32,
    /// How long it was fed.
    pub fed: Duration,
}

impl Ran {
    fn add(&mut self, more: Self) {
        self.starts += more.starts;
        self.fed = self.fed.and(more.fed);
    }
}

impl Hour {
    /// What this runner did in it.
    #[must_use]
    pub const fn of(&self, runner: Runner) -> Ran {
        match runner {
            Runner::Load => self.load,
            Runner::Compressor => self.compressor,
        }
    }
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

/// Entries of the log that are [alike](Entry::is_alike).
#[derive(Debug, Clone, PartialEq)]
pub struct Occurred {
    /// The first of them.
    pub entry: Entry,
    /// How many there were.
    pub times: u64,
    /// When the first one was.
    pub first: Duration,
    /// When the last one was.
    pub last: Duration,
}

/// Adds up as a run goes on.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tally {
    hours: Vec<Hour>,
    shares: Vec<Share>,
    occurred: Vec<Occurred>,
    before: Option<(Stretch, usize)>,
}

impl Tally {
    /// Every hour from the beginning on; a step counts in the hour in which it begins.
    #[must_use]
    pub fn hours(&self) -> &[Hour] {
        &self.hours
    }

    /// The time spent for each reason, in the order in which they first arose.
    #[must_use]
    pub fn shares(&self) -> &[Share] {
        &self.shares
    }

    /// How often each thing happened, in the order in which they first did.
    #[must_use]
    pub fn occurred(&self) -> &[Occurred] {
        &self.occurred
    }

    /// Counts an entry of the log.
    pub fn count(&mut self, at: Duration, entry: &Entry) {
        let mut known = self.occurred.iter_mut();
        match known.find(|kind| kind.entry.is_alike(entry)) {
            Some(kind) => {
                kind.times += 1;
                kind.last = at;
            }
            None => self.occurred.push(Occurred {
                entry: entry.clone(),
                times: 1,
                first: at,
                last: at,
            }),
        }
    }

    /// Sees where relay and load stand for one step.
    pub fn see(&mut self, now: Stretch, step: Duration) {
        let before = self.before.map(|(before, _)| before.feeds);
        let ran = |runner| {
            let is_fed = now.feeds.energise(runner);
            let was_fed = before.is_some_and(|before| before.energise(runner));
            Ran {
                starts: u32::from(is_fed && !was_fed),
                fed: if is_fed { step } else { Duration::ZERO },
            }
        };
        let (load, compressor) = (ran(Runner::Load), ran(Runner::Compressor));
        let place = match self.before {
            Some((before, place))
                if (before.relay, before.standing) == (now.relay, now.standing) =>
            {
                place
            }
            Some(_) | None => self.enter(now),
        };
        self.before = Some((now, place));
        if let Some(share) = self.shares.get_mut(place) {
            share.total = share.total.and(step);
        }
        let hour = now.from.millis() / Duration::from_hours(1).millis();
        let hour = usize::try_from(hour).unwrap_or(usize::MAX);
        if hour >= self.hours.len() && hour < MOST_HOURS {
            self.hours.resize(hour + 1, Hour::default());
        }
        if let Some(hour) = self.hours.get_mut(hour) {
            if now.relay == Relay::Closed {
                hour.closed = hour.closed.and(step);
            }
            hour.load.add(load);
            hour.compressor.add(compressor);
        }
    }

    fn enter(&mut self, now: Stretch) -> usize {
        let known = self
            .shares
            .iter()
            .position(|share| (share.relay, share.standing) == (now.relay, now.standing));
        let place = known.unwrap_or_else(|| {
            self.shares.push(Share {
                relay: now.relay,
                standing: now.standing,
                times: 0,
                total: Duration::ZERO,
            });
            self.shares.len() - 1
        });
        self.shares[place].times += 1;
        place
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::runs::{Fed, Feeds};
    use hysteron_logic::control::Reason;

    #[test]
    fn time_and_starts_fall_into_their_hours() {
        let mut tally = Tally::default();
        // Runs from 00:50 to 01:30.
        for minute in 0..120 {
            let runs = (50..90).contains(&minute);
            tally.see(
                Stretch {
                    from: Duration::from_minutes(minute),
                    relay: if runs { Relay::Closed } else { Relay::Open },
                    standing: Standing::Because(if runs {
                        Reason::Calling
                    } else {
                        Reason::Satisfied
                    }),
                    feeds: Feeds::load(if runs { Fed::Energised } else { Fed::Dead }),
                },
                Duration::from_minutes(1),
            );
        }
        let told: Vec<(u32, u64)> = tally
            .hours()
            .iter()
            .map(|hour| hour.of(Runner::Load))
            .map(|ran| (ran.starts, ran.fed.whole_seconds() / 60))
            .collect();
        assert_eq!(told, [(1, 10), (0, 30)]);
        let [satisfied, calling] = tally.shares() else {
            panic!("two reasons: {:?}", tally.shares());
        };
        assert_eq!(
            (satisfied.times, satisfied.total),
            (2, Duration::from_minutes(80))
        );
        assert_eq!(
            (calling.times, calling.total),
            (1, Duration::from_minutes(40))
        );
    }
}
