//! Expectations, judged while a run goes on.
//!
//! A judge sees every step and keeps only what its answer needs, so a year can
//! be judged in flat memory. What was never reached is no success: a limit on
//! the shortest rest fails where no rest was seen.

use std::collections::VecDeque;

use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;

use crate::record::runs::{Fed, Runner};
use crate::record::watch::Seen;
use crate::scenario::expectation::{
    Counted, Expectation, Limits, Observable, Occurrence, Subject, Window,
};

/// How an expectation came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// As expected.
    Holds,
    /// Otherwise.
    Fails,
    /// The situation never arose, so nothing was shown. Counts as a failure.
    NeverReached,
}

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub enum Evidence {
    /// The lowest and highest value seen, each with its time.
    Extremes {
        /// Lowest value and when it was first seen.
        lowest: Seen,
        /// Highest value and when it was first seen.
        highest: Seen,
    },
    /// A count, seconds or a share.
    Count(f64),
    /// The shortest run or rest and when it ended.
    Shortest(Duration, Duration),
    /// When the relay was first elsewhere.
    RelayMoved(Duration),
    /// When each occurrence was seen, as far as the order went.
    Times(Vec<Duration>),
    /// Nothing to tell.
    Nothing,
}

/// An expectation with its answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// What was expected.
    pub expectation: Expectation,
    /// How it came out.
    pub outcome: Outcome,
    /// What was found.
    pub finding: Evidence,
}

/// Judges one expectation.
#[derive(Debug, Clone)]
pub struct Judge {
    expectation: Expectation,
    progress: Progress,
}

/// What a judge wants to be shown of every step; movements and occurrences it is told anyway.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Follows {
    /// Nothing more.
    Nothing,
    /// The extremes of this, through this window.
    Extremes(Observable, Window),
    /// Where the relay is.
    Relay,
}

/// What a judge keeps, one kind for each subject.
#[derive(Debug, Clone)]
enum Progress {
    Stays {
        observable: Observable,
        limits: Limits,
    },
    Starts {
        limits: Limits,
        count: u64,
    },
    StartsInAnyHour {
        limits: Limits,
        recent: VecDeque<Duration>,
        most: usize,
    },
    RunTime {
        limits: Limits,
        running: Running,
    },
    Duty {
        limits: Limits,
        running: Running,
    },
    Occurrences {
        occurrence: Occurrence,
        limits: Limits,
        count: u64,
    },
    RelayIs {
        expected: Relay,
        seen: bool,
        moved: Option<Duration>,
    },
    Order {
        expected: Vec<Occurrence>,
        times: Vec<Duration>,
    },
    /// The shortest spell of one state: runs are spells of a fed load, rests of a dead one.
    Shortest {
        spells_of: Fed,
        least: Duration,
        since: Option<Duration>,
        shortest: Option<(Duration, Duration)>,
    },
}

/// How long the load ran within a window.
#[derive(Debug, Clone, Default)]
struct Running {
    since: Option<Duration>,
    so_far: Duration,
}

impl Running {
    fn turn(&mut self, at: Duration, fed: Fed, window: Window) {
        match fed {
            Fed::Energised => self.since = Some(at),
            Fed::Dead => {
                if let Some(since) = self.since.take() {
                    let ran = at.min(window.until).less(since.max(window.from));
                    self.so_far = self.so_far.and(ran);
                }
            }
        }
    }

    fn until_s(mut self, end: Duration, window: Window) -> f64 {
        self.turn(end, Fed::Dead, window);
        seconds(self.so_far)
    }
}

impl Judge {
    /// A judge who has seen nothing yet.
    #[must_use]
    pub fn new(expectation: Expectation) -> Self {
        let progress = match &expectation.subject {
            Subject::Stays(observable, limits) => Progress::Stays {
                observable: *observable,
                limits: *limits,
            },
            Subject::Counts(counted, limits) => Progress::counting(*counted, *limits),
            Subject::RelayIs(expected) => Progress::RelayIs {
                expected: *expected,
                seen: false,
                moved: None,
            },
            Subject::Order(expected) => Progress::Order {
                expected: expected.clone(),
                times: Vec::new(),
            },
            Subject::ShortestRest(_, least) => Progress::shortest(Fed::Dead, *least),
            Subject::ShortestRun(_, least) => Progress::shortest(Fed::Energised, *least),
        };
        Self {
            expectation,
            progress,
        }
    }

    fn is_in_window(&self, at: Duration) -> bool {
        self.expectation.window.from <= at && at <= self.expectation.window.until
    }

    /// What it wants to be shown of every step.
    #[must_use]
    pub const fn follows(&self) -> Follows {
        match self.progress {
            Progress::Stays { observable, .. } => {
                Follows::Extremes(observable, self.expectation.window)
            }
            Progress::RelayIs { .. } => Follows::Relay,
            Progress::Starts { .. }
            | Progress::StartsInAnyHour { .. }
            | Progress::RunTime { .. }
            | Progress::Duty { .. }
            | Progress::Occurrences { .. }
            | Progress::Order { .. }
            | Progress::Shortest { .. } => Follows::Nothing,
        }
    }

    /// Sees where the relay is in one step.
    pub fn see_relay(&mut self, at: Duration, relay: Relay) {
        if !self.is_in_window(at) {
            return;
        }
        match &mut self.progress {
            Progress::RelayIs {
                expected,
                seen,
                moved,
            } => {
                *seen = true;
                if relay != *expected {
                    moved.get_or_insert(at);
                }
            }
            Progress::Stays { .. }
            | Progress::Starts { .. }
            | Progress::StartsInAnyHour { .. }
            | Progress::RunTime { .. }
            | Progress::Duty { .. }
            | Progress::Occurrences { .. }
            | Progress::Order { .. }
            | Progress::Shortest { .. } => {}
        }
    }

    /// Sees the load or the compressor start ([`Fed::Energised`]) or stop.
    pub fn see_movement(&mut self, at: Duration, runner: Runner, fed: Fed) {
        if runner != self.expectation.subject.runner() {
            return;
        }
        let in_window = self.is_in_window(at);
        let started = in_window && fed == Fed::Energised;
        let window = self.expectation.window;
        match &mut self.progress {
            Progress::Starts { count, .. } => *count += u64::from(started),
            Progress::StartsInAnyHour { recent, most, .. } if started => {
                recent.push_back(at);
                while recent.front().is_some_and(|start| at.less(*start) >= HOUR) {
                    recent.pop_front();
                }
                *most = recent.len().max(*most);
            }
            Progress::RunTime { running, .. } | Progress::Duty { running, .. } => {
                running.turn(at, fed, window);
            }
            Progress::Shortest {
                spells_of,
                since,
                shortest,
                ..
            } => {
                if fed == *spells_of {
                    *since = in_window.then_some(at);
                } else if let Some(since) = since.take()
                    && in_window
                    && shortest.is_none_or(|(known, _)| at.less(since) < known)
                {
                    *shortest = Some((at.less(since), at));
                }
            }
            Progress::Stays { .. }
            | Progress::StartsInAnyHour { .. }
            | Progress::Occurrences { .. }
            | Progress::RelayIs { .. }
            | Progress::Order { .. } => {}
        }
    }

    /// Sees something occur; `is` tells whether it is what is waited for.
    pub fn see_occurrence(&mut self, at: Duration, is: impl Fn(Occurrence) -> bool) {
        if !self.is_in_window(at) {
            return;
        }
        match &mut self.progress {
            Progress::Occurrences {
                occurrence, count, ..
            } => *count += u64::from(is(*occurrence)),
            Progress::Order { expected, times } => {
                if expected.get(times.len()).is_some_and(|next| is(*next)) {
                    times.push(at);
                }
            }
            Progress::Stays { .. }
            | Progress::Starts { .. }
            | Progress::StartsInAnyHour { .. }
            | Progress::RunTime { .. }
            | Progress::Duty { .. }
            | Progress::RelayIs { .. }
            | Progress::Shortest { .. } => {}
        }
    }

    /// The answer, now that the run has ended at `end` and what it
    /// [follows](Self::follows) has shown these extremes.
    #[must_use]
    pub fn verdict(self, end: Duration, extremes: Option<(Seen, Seen)>) -> Verdict {
        let window = self.expectation.window;
        let (outcome, finding) = self.progress.judged(end, window, extremes);
        Verdict {
            expectation: self.expectation,
            outcome,
            finding,
        }
    }
}

impl Progress {
    fn counting(counted: Counted, limits: Limits) -> Self {
        match counted {
            Counted::Starts(_) => Self::Starts { limits, count: 0 },
            Counted::StartsInAnyHour(_) => Self::StartsInAnyHour {
                limits,
                recent: VecDeque::new(),
                most: 0,
            },
            Counted::RunTime(_) => Self::RunTime {
                limits,
                running: Running::default(),
            },
            Counted::Duty(_) => Self::Duty {
                limits,
                running: Running::default(),
            },
            Counted::Occurrences(occurrence) => Self::Occurrences {
                occurrence,
                limits,
                count: 0,
            },
        }
    }

    fn shortest(spells_of: Fed, least: Duration) -> Self {
        Self::Shortest {
            spells_of,
            least,
            since: None,
            shortest: None,
        }
    }

    fn judged(
        self,
        end: Duration,
        window: Window,
        extremes: Option<(Seen, Seen)>,
    ) -> (Outcome, Evidence) {
        match self {
            Self::Stays { limits, .. } => extremes.map_or(NEVER, |(lowest, highest)| {
                (
                    Outcome::of(limits.hold(lowest.0) && limits.hold(highest.0)),
                    Evidence::Extremes { lowest, highest },
                )
            }),
            Self::Starts { limits, count } | Self::Occurrences { limits, count, .. } => {
                counted(count as f64, limits)
            }
            Self::StartsInAnyHour { limits, most, .. } => counted(most as f64, limits),
            Self::RunTime { limits, running } => counted(running.until_s(end, window), limits),
            Self::Duty { limits, running } => {
                let length_s = seconds(window.until.min(end).less(window.from));
                if length_s > 0.0 {
                    counted(running.until_s(end, window) / length_s, limits)
                } else {
                    NEVER
                }
            }
            Self::RelayIs { seen: false, .. } => NEVER,
            Self::RelayIs { moved: None, .. } => (Outcome::Holds, Evidence::Nothing),
            Self::RelayIs {
                moved: Some(at), ..
            } => (Outcome::Fails, Evidence::RelayMoved(at)),
            Self::Order { expected, times } => (
                Outcome::of(times.len() == expected.len()),
                Evidence::Times(times),
            ),
            Self::Shortest {
                least, shortest, ..
            } => shortest.map_or(NEVER, |(lasted, at)| {
                (Outcome::of(lasted >= least), Evidence::Shortest(lasted, at))
            }),
        }
    }
}

impl Outcome {
    fn of(holds: bool) -> Self {
        if holds { Self::Holds } else { Self::Fails }
    }
}

const HOUR: Duration = Duration::from_hours(1);
const NEVER: (Outcome, Evidence) = (Outcome::NeverReached, Evidence::Nothing);

fn counted(value: f64, limits: Limits) -> (Outcome, Evidence) {
    (Outcome::of(limits.hold(value)), Evidence::Count(value))
}

fn seconds(duration: Duration) -> f64 {
    duration.millis() as f64 / 1e3
}
