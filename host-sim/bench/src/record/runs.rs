//! Runs and rests of the load, as the load itself has them, and of a compressor behind it.
//!
//! Counted at the load, not at the relay: a loss of power ends a run just as
//! the control does, and a welded contact starts one without it.

use std::collections::VecDeque;

use hysteron_logic::time::Duration;

const HOUR: Duration = Duration::from_hours(1);

/// Whether the load is fed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fed {
    /// It has its supply.
    Energised,
    /// It has none.
    Dead,
}

/// What runs and rests.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Runner {
    /// What the relay's contact feeds.
    Load,
    /// A compressor that a low-pressure control starts and stops, while the load is a valve.
    Compressor,
}

/// What is fed in a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Feeds {
    /// The load.
    pub load: Fed,
    /// The compressor, where a low-pressure control has the say over it.
    pub compressor: Option<Fed>,
}

impl Feeds {
    /// The load alone, as where it is the compressor itself.
    #[must_use]
    pub const fn load(load: Fed) -> Self {
        Self {
            load,
            compressor: None,
        }
    }

    /// Whether this runner is energised.
    #[must_use]
    pub fn energise(self, runner: Runner) -> bool {
        match runner {
            Runner::Load => self.load == Fed::Energised,
            Runner::Compressor => self.compressor == Some(Fed::Energised),
        }
    }
}

/// A start or a stop of the load.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Movement {
    /// It started, after a rest of this length; `None` where its last stop was not seen.
    Started {
        /// Length of the rest that ended.
        rest: Option<Duration>,
    },
    /// It stopped, after a run of this length.
    Stopped {
        /// Length of the run that ended.
        run: Duration,
    },
}

/// What the load has done so far.
#[derive(Debug, Clone)]
pub struct Runs {
    fed: Fed,
    since: Option<Duration>,
    counted_to: Duration,
    recent: VecDeque<Duration>,
    totals: RunTotals,
}

/// Totals of runs and rests.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct RunTotals {
    /// How often the load started.
    pub starts: u64,
    /// How long it ran.
    pub run: Duration,
    /// The longest single run, the last one included.
    pub longest_run: Duration,
    /// The shortest run that ended.
    pub shortest_run: Option<Duration>,
    /// The shortest rest between two runs.
    pub shortest_rest: Option<Duration>,
    /// The most starts in any sliding hour.
    pub most_starts_in_an_hour: u64,
}

impl RunTotals {
    /// The share of this length of time for which it ran.
    #[must_use]
    pub fn duty(&self, length: Duration) -> f64 {
        self.run.millis() as f64 / length.millis().max(1) as f64
    }
}

impl Default for Runs {
    /// The load is dead, and nobody knows since when.
    fn default() -> Self {
        Self {
            fed: Fed::Dead,
            since: None,
            counted_to: Duration::ZERO,
            recent: VecDeque::new(),
            totals: RunTotals::default(),
        }
    }
}

impl Runs {
    /// Totals so far.
    #[must_use]
    pub const fn totals(&self) -> RunTotals {
        self.totals
    }

    /// Whether the load is fed now.
    #[must_use]
    pub const fn fed(&self) -> Fed {
        self.fed
    }

    /// From `at` on the load is `fed`; says whether that is a start or a stop.
    #[inline]
    pub fn note(&mut self, at: Duration, fed: Fed) -> Option<Movement> {
        if fed == self.fed {
            return None;
        }
        self.pass_time(at);
        Some(self.turn(at, fed))
    }

    /// Counts the time up to `at`, through which nothing has moved.
    pub fn pass_time(&mut self, at: Duration) {
        if self.fed == Fed::Energised {
            self.totals.run = self.totals.run.and(at.less(self.counted_to));
            let run = at.less(self.since.unwrap_or_default());
            self.totals.longest_run = self.totals.longest_run.max(run);
        }
        self.counted_to = at;
    }

    fn turn(&mut self, at: Duration, fed: Fed) -> Movement {
        let lasted = self.since.map(|since| at.less(since));
        self.fed = fed;
        self.since = Some(at);
        let totals = &mut self.totals;
        match fed {
            Fed::Energised => {
                totals.starts += 1;
                totals.shortest_rest = shorter(totals.shortest_rest, lasted);
                self.recent.push_back(at);
                while self
                    .recent
                    .front()
                    .is_some_and(|start| at.less(*start) >= HOUR)
                {
                    self.recent.pop_front();
                }
                let recent = self.recent.len() as u64;
                totals.most_starts_in_an_hour = totals.most_starts_in_an_hour.max(recent);
                Movement::Started { rest: lasted }
            }
            Fed::Dead => {
                totals.shortest_run = shorter(totals.shortest_run, lasted);
                Movement::Stopped {
                    run: lasted.unwrap_or_default(),
                }
            }
        }
    }
}

fn shorter(known: Option<Duration>, new: Option<Duration>) -> Option<Duration> {
    match (known, new) {
        (Some(known), Some(new)) => Some(known.min(new)),
        (known, new) => known.or(new),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn minutes(minutes: u32) -> Duration {
        Duration::from_minutes(minutes)
    }

    #[test]
    fn runs_and_rests_are_told_apart() {
        let mut runs = Runs::default();
        assert_eq!(runs.note(minutes(0), Fed::Dead), None);
        assert_eq!(
            runs.note(minutes(5), Fed::Energised),
            Some(Movement::Started { rest: None })
        );
        assert_eq!(
            runs.note(minutes(15), Fed::Dead),
            Some(Movement::Stopped { run: minutes(10) })
        );
        assert_eq!(
            runs.note(minutes(22), Fed::Energised),
            Some(Movement::Started {
                rest: Some(minutes(7))
            })
        );
        runs.pass_time(minutes(100));
        assert_eq!(
            runs.totals(),
            RunTotals {
                starts: 2,
                run: minutes(88),
                longest_run: minutes(78),
                shortest_run: Some(minutes(10)),
                shortest_rest: Some(minutes(7)),
                most_starts_in_an_hour: 2,
            }
        );
    }

    #[test]
    fn starts_leave_the_sliding_hour() {
        let mut runs = Runs::default();
        for start in [0, 20, 40, 60, 80] {
            runs.note(minutes(start), Fed::Energised);
            runs.note(minutes(start + 10), Fed::Dead);
        }
        assert_eq!(runs.totals().most_starts_in_an_hour, 3);
    }
}
