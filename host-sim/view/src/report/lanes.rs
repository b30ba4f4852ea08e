//! What one strip shows of many spells: pieces that the eye can tell apart, side by side in
//! lanes where they overlap.
//!
//! However long the run, a strip keeps no more pieces than its width has room for.

use std::borrow::Cow;

use hysteron_logic::time::Duration;

use super::frame::Frame;
use crate::words::number::counted;
use hysteron_bench::scenario::quantity_text::moment_text;

/// Pieces drawn one by one; of more the whole is one shape.
pub const MOST_SINGLE: usize = 120;

/// What lies closer together is one piece.
const INDISTINCT_PX: f64 = 0.8;

/// Half the width of the mark of a moment.
pub const HALF_MARK_PX: f64 = 4.0;

const DAY: Duration = Duration::from_hours(24);

/// A fact that a strip tells of.
pub trait Fact {
    /// Whether both are told in the same words.
    fn is_alike(&self, other: &Self) -> bool;
    /// In words.
    fn words(&self) -> Cow<'_, str>;
}

/// Whether it lasts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Over at once.
    Moment,
    /// From one moment to a later one.
    Spell,
}

/// What is drawn as one: a spell, a moment, or several of either that nobody could tell apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece<F> {
    /// Which of the two.
    pub shape: Shape,
    /// When the first of them begins.
    pub from: Duration,
    /// When the last of them ends.
    pub until: Duration,
    facts: Vec<(F, u64)>,
}

/// The pieces of a strip.
#[derive(Debug, Clone, PartialEq)]
pub struct Lanes<F> {
    lanes: Vec<Vec<Piece<F>>>,
    totals: Vec<Total<F>>,
}

/// How often something happened in all.
#[derive(Debug, Clone, PartialEq)]
struct Total<F> {
    fact: F,
    times: u64,
    /// The last day on which it began, and how often.
    day: (u64, u64),
    most_a_day: u64,
}

impl<F> Default for Lanes<F> {
    /// An empty strip.
    fn default() -> Self {
        Self {
            lanes: Vec::new(),
            totals: Vec::new(),
        }
    }
}

impl<F: Fact + Clone> Lanes<F> {
    /// Adds a spell, or a moment where both times are the same; spells are given in the order of their ends.
    pub fn add(&mut self, fact: &F, (from, until): (Duration, Duration), frame: &Frame) {
        self.count(fact, from);
        let shape = if from == until {
            Shape::Moment
        } else {
            Shape::Spell
        };
        let has_room = |lane: &Vec<Piece<F>>| {
            let last = lane.last();
            last.is_none_or(|last| last.leaves_room_to(shape, from, frame))
        };
        let place = self.lanes.iter().position(has_room).unwrap_or_else(|| {
            self.lanes.push(Vec::new());
            self.lanes.len() - 1
        });
        let lane = &mut self.lanes[place];
        match lane.last_mut() {
            Some(last)
                if last.shape == shape && frame.x(from) - frame.x(last.until) < INDISTINCT_PX =>
            {
                last.take(fact, until);
            }
            Some(_) | None => lane.push(Piece {
                shape,
                from,
                until,
                facts: vec![(fact.clone(), 1)],
            }),
        }
    }

    fn count(&mut self, fact: &F, from: Duration) {
        let day = from.millis() / DAY.millis();
        let known = self
            .totals
            .iter_mut()
            .find(|total| total.fact.is_alike(fact));
        let Some(total) = known else {
            self.totals.push(Total {
                fact: fact.clone(),
                times: 1,
                day: (day, 1),
                most_a_day: 1,
            });
            return;
        };
        total.times += 1;
        total.day = match total.day {
            (known, times) if known == day => (day, times + 1),
            _ => (day, 1),
        };
        total.most_a_day = total.most_a_day.max(total.day.1);
    }

    /// How many lanes there are.
    #[must_use]
    pub const fn count_of_lanes(&self) -> usize {
        self.lanes.len()
    }

    /// Every piece with its lane, from 0.
    pub fn pieces(&self) -> impl Iterator<Item = (usize, &Piece<F>)> {
        let lanes = self.lanes.iter().enumerate();
        lanes.flat_map(|(place, lane)| lane.iter().map(move |piece| (place, piece)))
    }

    /// Whether there are too many pieces to draw and to tell each.
    #[must_use]
    pub fn is_crowded(&self) -> bool {
        self.pieces().count() > MOST_SINGLE
    }

    /// The whole in words: what, how often, and how often in a day at most.
    #[must_use]
    pub fn told(&self) -> String {
        let told = self.totals.iter().map(|total| {
            format!(
                "{} {}, at most {} in a day",
                total.fact.words(),
                counted(total.times, "time"),
                total.most_a_day
            )
        });
        told.collect::<Vec<_>>().join("; ")
    }
}

impl<F: Fact + Clone> Piece<F> {
    /// Whether something of this shape that begins later can be drawn in the same lane.
    fn leaves_room_to(&self, shape: Shape, from: Duration, frame: &Frame) -> bool {
        let apart = frame.x(from) - frame.x(self.until);
        self.until <= from && (self.shape == shape || apart >= HALF_MARK_PX)
    }

    fn take(&mut self, fact: &F, until: Duration) {
        self.until = until;
        match self
            .facts
            .iter_mut()
            .find(|(known, _)| known.is_alike(fact))
        {
            Some((_, times)) => *times += 1,
            None => self.facts.push((fact.clone(), 1)),
        }
    }

    /// How many it stands for.
    #[must_use]
    pub fn times(&self) -> u64 {
        self.facts.iter().map(|(_, times)| times).sum()
    }

    /// What it stands for, in words.
    #[must_use]
    pub fn words(&self) -> String {
        let words = self.facts.iter().map(|(fact, times)| match times {
            1 => fact.words(),
            times => format!("{} {}", fact.words(), counted(*times, "time")).into(),
        });
        words.collect::<Vec<_>>().join(", ")
    }

    /// From when until when.
    #[must_use]
    pub fn span_words(&self) -> String {
        if self.from == self.until {
            return moment_text(self.from);
        }
        format!("{} to {}", moment_text(self.from), moment_text(self.until))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::frame::DrawingSize;

    impl Fact for &'static str {
        fn is_alike(&self, other: &Self) -> bool {
            self == other
        }

        fn words(&self) -> Cow<'_, str> {
            (*self).into()
        }
    }

    fn lanes(hours: u32, spells: &[(&'static str, u32, u32)]) -> Lanes<&'static str> {
        let frame = Frame::new(DrawingSize::Wide, Duration::from_hours(hours));
        let mut lanes = Lanes::default();
        for (fact, from, until) in spells {
            let minutes = Duration::from_minutes;
            lanes.add(fact, (minutes(*from), minutes(*until)), &frame);
        }
        lanes
    }

    fn told(lanes: &Lanes<&'static str>) -> Vec<(usize, String)> {
        let pieces = lanes.pieces();
        pieces
            .map(|(lane, piece)| (lane, format!("{}: {}", piece.span_words(), piece.words())))
            .collect()
    }

    #[test]
    fn what_overlaps_has_a_lane_of_its_own() {
        // In the order of their ends, as they become known.
        let spells = [
            ("jumps", 90, 90),
            ("stops", 60, 120),
            ("jumps", 600, 600),
            ("stops", 700, 800),
        ];
        let lanes = lanes(24, &spells);
        assert_eq!(lanes.count_of_lanes(), 2);
        assert_eq!(
            told(&lanes),
            [
                (0, "01:30: jumps".to_owned()),
                (0, "10:00: jumps".to_owned()),
                (0, "11:40 to 13:20: stops".to_owned()),
                (1, "01:00 to 02:00: stops".to_owned()),
            ]
        );
    }

    #[test]
    fn what_nobody_can_tell_apart_is_one_piece_that_names_all() {
        let spells = [
            ("opens", 600, 610),
            ("shorts", 610, 620),
            ("opens", 621, 630),
        ];
        let lanes = lanes(24 * 30, &spells);
        assert_eq!(
            told(&lanes),
            [(0, "10:00 to 10:30: opens 2 times, shorts".to_owned())]
        );
    }

    #[test]
    fn a_year_of_doors_keeps_few_pieces_and_counts_all() {
        let mut spells = Vec::new();
        for day in 0..365 {
            for door in 0..60 {
                let from = day * 1_440 + 450 + door * 15;
                spells.push(("door opens", from, from + 1));
            }
        }
        let lanes = lanes(24 * 365, &spells);
        let pieces = lanes.pieces().count();
        assert!(pieces <= 935, "{pieces} pieces on 748 units");
        let times: u64 = lanes.pieces().map(|(_, piece)| piece.times()).sum();
        assert_eq!(times, 365 * 60);
        assert_eq!(lanes.told(), "door opens 21900 times, at most 60 in a day");
    }
}
