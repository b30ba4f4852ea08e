//! Everybody who watches a run: judges, the counts of runs and rests, the trace.

use hysteron_logic::control::Decision;
use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;

use crate::record::runs::{Fed, Feeds, Movement, RunTotals, Runner, Runs};
use crate::record::trace::{Entry, Standing, Stretch, Trace};
use crate::record::verdict::{Follows, Judge, Verdict};
use crate::record::watch::Watch;
use crate::scenario::expectation::{Expectation, Observable, Occurrence};

/// What was seen of a run.
#[derive(Debug, Clone)]
pub struct Watched {
    /// Every expectation, judged.
    pub verdicts: Vec<Verdict>,
    /// What the load has done.
    pub runs: RunTotals,
    /// What the compressor has done that a low-pressure control starts, if there is one.
    pub compressor: Option<RunTotals>,
    /// The trace, if there is one.
    pub trace: Option<Trace>,
}

/// Watches a run without touching it.
#[derive(Debug, Clone)]
pub struct Recorder {
    judges: Vec<Judge>,
    /// What any of them wants watched.
    watches: Vec<Watch>,
    /// Which of them follow the relay.
    followers: Vec<usize>,
    runs: Runs,
    compressor: Option<Runs>,
    trace: Option<Trace>,
}

impl Recorder {
    /// Watches for these expectations, and into `trace` if there is one.
    #[must_use]
    pub fn new(expectations: impl Iterator<Item = Expectation>, trace: Option<Trace>) -> Self {
        let judges: Vec<Judge> = expectations.map(Judge::new).collect();
        let mut watches: Vec<Watch> = Vec::new();
        let mut followers = Vec::new();
        for (index, judge) in judges.iter().enumerate() {
            match judge.follows() {
                Follows::Nothing => {}
                Follows::Relay => followers.push(index),
                Follows::Extremes(observable, window) => {
                    if !watches
                        .iter()
                        .any(|known| known.is_over(observable, window))
                    {
                        watches.push(Watch::new(observable, window));
                    }
                }
            }
        }
        Self {
            followers,
            judges,
            watches,
            runs: Runs::default(),
            compressor: None,
            trace,
        }
    }

    /// Adds to the log of the trace, if there is one.
    pub fn log(&mut self, at: Duration, entry: impl FnOnce() -> Entry) {
        if let Some(trace) = &mut self.trace {
            trace.log(at, entry());
        }
    }

    /// Sees the board start.
    pub fn see_power_up(&mut self, at: Duration) {
        self.log(at, || Entry::PowerUp);
        for judge in &mut self.judges {
            judge.see_occurrence(at, |occurrence| occurrence == Occurrence::PowerUp);
        }
    }

    /// Sees a step: what was decided, unless the board was dead, and what is fed.
    #[inline]
    pub fn see_step(
        &mut self,
        at: Duration,
        decision: Option<&Decision>,
        feeds: Feeds,
        observe: impl Fn(Observable) -> Option<f64>,
    ) {
        let relay = decision.map_or(Relay::Open, |decided| decided.relay);
        if let Some(movement) = self.runs.note(at, feeds.load) {
            self.see_movement(at, movement, decision);
        }
        if let Some(fed) = feeds.compressor {
            let runs = self.compressor.get_or_insert_default();
            if runs.note(at, fed).is_some() {
                for judge in &mut self.judges {
                    judge.see_movement(at, Runner::Compressor, fed);
                }
            }
        }
        if let Some(decided) = decision
            && !decided.events.is_empty()
        {
            self.see_events(at, decided);
        }
        for watch in &mut self.watches {
            watch.see(at, &observe);
        }
        for &index in &self.followers {
            self.judges[index].see_relay(at, relay);
        }
        if let Some(trace) = &mut self.trace {
            trace.note_stretch(Stretch {
                from: at,
                relay,
                standing: decision.map_or(Standing::Unpowered, |decided| {
                    Standing::Because(decided.reason)
                }),
                feeds,
            });
            trace.record(observe);
        }
    }

    #[cold]
    fn see_movement(&mut self, at: Duration, movement: Movement, decision: Option<&Decision>) {
        let fed = match movement {
            Movement::Started { .. } => Fed::Energised,
            Movement::Stopped { .. } => Fed::Dead,
        };
        for judge in &mut self.judges {
            judge.see_movement(at, Runner::Load, fed);
        }
        let commanded = decision.is_some_and(|decided| {
            let moved = |event: &_| matches!(event, Event::RelayClosed | Event::RelayOpened);
            decided.events.iter().any(moved)
        });
        if !commanded {
            self.log(at, || Entry::LoadOnItsOwn(fed));
        }
    }

    #[cold]
    fn see_events(&mut self, at: Duration, decision: &Decision) {
        for event in &decision.events {
            for judge in &mut self.judges {
                judge.see_occurrence(at, |occurrence| occurrence.includes(*event));
            }
            self.log(at, || {
                if *event == Event::DutyNotKnown {
                    Entry::DutyNotKnown {
                        hours: decision.known_duty_hours,
                    }
                } else {
                    Entry::Control(*event)
                }
            });
        }
    }

    /// Ends the watch.
    #[must_use]
    pub fn finish(mut self, end: Duration) -> Watched {
        self.runs.pass_time(end);
        if let Some(compressor) = &mut self.compressor {
            compressor.pass_time(end);
        }
        let watches = &self.watches;
        let verdicts = self.judges.into_iter().map(|judge| {
            let extremes = match judge.follows() {
                Follows::Extremes(observable, window) => watches
                    .iter()
                    .find(|watch| watch.is_over(observable, window))
                    .and_then(Watch::extremes),
                Follows::Nothing | Follows::Relay => None,
            };
            judge.verdict(end, extremes)
        });
        Watched {
            verdicts: verdicts.collect(),
            runs: self.runs.totals(),
            compressor: self.compressor.as_ref().map(Runs::totals),
            trace: self.trace,
        }
    }
}
