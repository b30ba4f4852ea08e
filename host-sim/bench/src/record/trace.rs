//! A bounded record of a run, for charts and exports.
//!
//! Series are kept in buckets of equal length with the lowest and the highest
//! value of each. When the buckets run out, neighbours are merged and their
//! length doubles: memory stays bounded however long the run, and no extreme is lost.

use hysteron_logic::time::Duration;

pub use crate::record::entry::{Amiss, Entry};
pub use crate::record::stretch::{Standing, Stretch};
use crate::record::tally::Tally;
use crate::scenario::expectation::Observable;

/// Buckets in each series.
pub const MOST_BUCKETS: usize = 4_096;
/// Stretches of the relay's strip.
pub const MOST_STRETCHES: usize = 50_000;
/// Entries of the log.
pub const MOST_ENTRIES: usize = 50_000;
/// Entries after which routine is left out, so that what matters still finds room.
pub const MOST_ROUTINE: usize = 40_000;

/// Lowest and highest value of one bucket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bucket {
    /// Lowest value.
    pub lowest: f64,
    /// Highest value.
    pub highest: f64,
}

impl Bucket {
    /// A bucket in which nothing could be seen, as while the board is dead.
    pub const EMPTY: Self = Self {
        lowest: f64::INFINITY,
        highest: f64::NEG_INFINITY,
    };

    /// Whether nothing could be seen in it.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.lowest > self.highest
    }

    fn take(&mut self, value: f64) {
        self.lowest = self.lowest.min(value);
        self.highest = self.highest.max(value);
    }

    fn merged(self, other: Self) -> Self {
        Self {
            lowest: self.lowest.min(other.lowest),
            highest: self.highest.max(other.highest),
        }
    }
}

/// One observable over time.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// What is recorded.
    pub observable: Observable,
    /// Buckets of equal length from the beginning on; the last may be only partly filled.
    pub buckets: Vec<Bucket>,
}

/// The record.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    step: Duration,
    steps_per_bucket: u64,
    steps: u64,
    series: Vec<Series>,
    stretches: Vec<Stretch>,
    stretches_left_out: u64,
    /// When the first of something was left out.
    strip_full_at: Option<Duration>,
    routine_full_at: Option<Duration>,
    log_full_at: Option<Duration>,
    last: Option<Stretch>,
    tally: Tally,
    log: Vec<(Duration, Entry)>,
    log_left_out: u64,
}

impl Trace {
    /// An empty record of these observables, taken every `step`.
    #[must_use]
    pub fn new(step: Duration, observables: impl IntoIterator<Item = Observable>) -> Self {
        Self {
            step,
            steps_per_bucket: 1,
            steps: 0,
            series: observables
                .into_iter()
                .map(|observable| Series {
                    observable,
                    buckets: Vec::new(),
                })
                .collect(),
            stretches: Vec::new(),
            stretches_left_out: 0,
            strip_full_at: None,
            routine_full_at: None,
            log_full_at: None,
            last: None,
            tally: Tally::default(),
            log: Vec::new(),
            log_left_out: 0,
        }
    }

    /// Records one step; `observe` tells the value of an observable, if it has one now.
    pub fn record(&mut self, observe: impl Fn(Observable) -> Option<f64>) {
        if self.steps.is_multiple_of(self.steps_per_bucket) {
            if self.steps / self.steps_per_bucket >= MOST_BUCKETS as u64 {
                self.halve();
            }
            for series in &mut self.series {
                series.buckets.push(Bucket::EMPTY);
            }
        }
        self.steps += 1;
        for series in &mut self.series {
            if let (Some(bucket), Some(value)) =
                (series.buckets.last_mut(), observe(series.observable))
            {
                bucket.take(value);
            }
        }
    }

    /// Records where relay and load stand for the step that begins at `stretch.from`.
    pub fn note_stretch(&mut self, stretch: Stretch) {
        self.tally.see(stretch, self.step);
        let news = self.last.is_none_or(|last| {
            (last.relay, last.standing, last.feeds)
                != (stretch.relay, stretch.standing, stretch.feeds)
        });
        if !news {
            return;
        }
        self.last = Some(stretch);
        if self.stretches.len() < MOST_STRETCHES {
            self.stretches.push(stretch);
        } else {
            self.stretches_left_out += 1;
            self.strip_full_at.get_or_insert(stretch.from);
        }
    }

    /// Adds to the log.
    pub fn log(&mut self, at: Duration, entry: Entry) {
        self.tally.count(at, &entry);
        let most = if entry.is_routine() {
            MOST_ROUTINE
        } else {
            MOST_ENTRIES
        };
        if self.log.len() < most {
            self.log.push((at, entry));
        } else {
            self.log_left_out += 1;
            let full_at = if entry.is_routine() {
                &mut self.routine_full_at
            } else {
                &mut self.log_full_at
            };
            full_at.get_or_insert(at);
        }
    }

    /// Length of a bucket.
    #[must_use]
    pub fn interval(&self) -> Duration {
        Duration::from_millis(self.step.millis() * self.steps_per_bucket)
    }

    /// Time recorded.
    #[must_use]
    pub fn length(&self) -> Duration {
        Duration::from_millis(self.step.millis() * self.steps)
    }

    /// All series, in the order in which they were asked for.
    #[must_use]
    pub fn series(&self) -> &[Series] {
        &self.series
    }

    /// The strip of relay and load; each stretch lasts until the next begins.
    #[must_use]
    pub fn stretches(&self) -> &[Stretch] {
        &self.stretches
    }

    /// How many stretches found no more room.
    #[must_use]
    pub const fn stretches_left_out(&self) -> u64 {
        self.stretches_left_out
    }

    /// Until when [`Trace::stretches`] tell where relay and load stood.
    #[must_use]
    pub fn strip_known_until(&self) -> Duration {
        self.strip_full_at.unwrap_or_else(|| self.length())
    }

    /// Until when [`Trace::entries`] hold all that is routine.
    #[must_use]
    pub fn routine_known_until(&self) -> Duration {
        self.routine_full_at.unwrap_or_else(|| self.length())
    }

    /// Until when [`Trace::entries`] hold all that is no routine.
    #[must_use]
    pub fn log_known_until(&self) -> Duration {
        self.log_full_at.unwrap_or_else(|| self.length())
    }

    /// What happened, in order.
    #[must_use]
    pub fn entries(&self) -> &[(Duration, Entry)] {
        &self.log
    }

    /// What is known in full however long the run.
    #[must_use]
    pub const fn tally(&self) -> &Tally {
        &self.tally
    }

    /// How many entries found no more room.
    #[must_use]
    pub const fn entries_left_out(&self) -> u64 {
        self.log_left_out
    }

    fn halve(&mut self) {
        for series in &mut self.series {
            series.buckets = series
                .buckets
                .chunks(2)
                .map(|pair| pair.iter().copied().fold(Bucket::EMPTY, Bucket::merged))
                .collect();
        }
        self.steps_per_bucket *= 2;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::runs::{Fed, Feeds};
    use crate::scenario::happening::{Edge, Happening};
    use hysteron_logic::guard::Relay;

    #[test]
    fn memory_is_bounded_and_extremes_survive() {
        let mut trace = Trace::new(Duration::from_seconds(1), [Observable::Ambient]);
        let steps = 10 * MOST_BUCKETS;
        for step in 0..steps {
            let value = if step == 12_345 {
                99.0
            } else {
                step as f64 / steps as f64
            };
            trace.record(|_| Some(value));
        }
        let buckets = &trace.series()[0].buckets;
        assert!(buckets.len() <= MOST_BUCKETS);
        assert_eq!(trace.interval(), Duration::from_seconds(16));
        assert_eq!(trace.length(), Duration::from_seconds(steps as u32));
        let peak = buckets.iter().position(|bucket| bucket.highest == 99.0);
        assert_eq!(peak, Some(12_345 / 16));
        let filled = buckets.len() * 16;
        assert!(filled >= steps && filled < steps + 16);
    }

    #[test]
    fn what_was_not_there_leaves_a_gap() {
        let mut trace = Trace::new(Duration::from_seconds(1), [Observable::ProbeReading]);
        trace.record(|_| Some(3.0));
        trace.record(|_| None);
        let empty: Vec<bool> = trace.series()[0]
            .buckets
            .iter()
            .map(|b| b.is_empty())
            .collect();
        assert_eq!(empty, [false, true]);
    }

    #[test]
    fn only_news_makes_a_stretch() {
        let mut trace = Trace::new(Duration::from_seconds(1), []);
        for second in 0..10 {
            trace.note_stretch(Stretch {
                from: Duration::from_seconds(second),
                relay: if second < 5 {
                    Relay::Open
                } else {
                    Relay::Closed
                },
                standing: Standing::Unpowered,
                feeds: Feeds::load(Fed::Dead),
            });
        }
        assert_eq!(trace.stretches().len(), 2);
        assert_eq!(trace.stretches()[1].from, Duration::from_seconds(5));
    }

    #[test]
    fn routine_leaves_room_for_what_is_none() {
        let mut trace = Trace::new(Duration::from_seconds(1), []);
        let at = Duration::from_seconds;
        for second in 0..=MOST_ROUTINE as u32 {
            trace.log(
                at(second),
                Entry::Happened(Edge::Begins(Happening::DoorOpens)),
            );
        }
        assert_eq!(trace.entries_left_out(), 1);
        let cut = Entry::Happened(Edge::Begins(Happening::PowerCut));
        trace.log(at(50_000), cut.clone());
        assert_eq!(trace.entries().last(), Some(&(at(50_000), cut)));
    }
}
