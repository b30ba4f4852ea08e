//! What happens in one case, in the order of time.
//!
//! Nothing is laid out beforehand: each happening knows its next time only, so a year of
//! days that are alike takes no more room than one of them.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};
use std::ops::Range;
use std::sync::Arc;

use hysteron_logic::time::Duration;

use super::happening::{Edge, Happening, Hold, Lasting, NamedPart, TimedEdge};
use super::happening_table::{WrittenHappening, WrittenWhat};
use super::schedule::{Stretch, Times};
use super::written_settings::Written;
use hysteron_source::text::{Problem, Problems};

/// What happens in a case that begins with certain settings.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Timeline {
    settings: Written,
    happenings: Arc<[WrittenHappening]>,
    end: Duration,
}

impl Timeline {
    /// What happens until `end` where the settings at the beginning are these.
    #[must_use]
    pub const fn new(
        settings: Written,
        happenings: Arc<[WrittenHappening]>,
        end: Duration,
    ) -> Self {
        Self {
            settings,
            happenings,
            end,
        }
    }

    /// Notes all that contradicts what holds when it happens.
    pub fn check(&self, problems: &Problems) {
        let mut edges = self.edges();
        while let Some(turn) = edges.turn() {
            let _ = edges.follow(turn, &|problem| problems.add(problem));
        }
    }

    /// What begins and ends, in the order of time.
    #[must_use]
    pub fn edges(&self) -> Edges<'_> {
        let all = self.happenings.iter();
        let pending: Vec<Pending<'_>> = all.map(Pending::first).collect();
        let mut edges = Edges {
            happenings: &self.happenings,
            end: self.end,
            settings: self.settings.clone(),
            held: BTreeMap::new(),
            turns: BinaryHeap::new(),
            pending,
        };
        for index in 0..edges.pending.len() {
            edges.await_beginning(index);
        }
        edges
    }
}

/// At one moment, what ends comes before what begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Way {
    Ends,
    Mends,
    Begins,
}

/// When, which way, and which happening.
type Turn = (Duration, Way, usize);

/// A happening's times that are still to come.
#[derive(Debug, Clone)]
struct Pending<'t> {
    next: Option<Stretch>,
    times: Times<'t>,
}

impl<'t> Pending<'t> {
    fn first(happening: &'t WrittenHappening) -> Self {
        let mut times = happening.schedule.times();
        Self {
            next: times.next(),
            times,
        }
    }
}

/// The entries of a [`Timeline`], in the order of time.
#[derive(Debug, Clone)]
pub struct Edges<'t> {
    happenings: &'t [WrittenHappening],
    end: Duration,
    settings: Written,
    /// What is held, and by which happening.
    held: BTreeMap<Hold, usize>,
    turns: BinaryHeap<Reverse<Turn>>,
    /// For each happening.
    pending: Vec<Pending<'t>>,
}

impl Iterator for Edges<'_> {
    type Item = TimedEdge;

    fn next(&mut self) -> Option<TimedEdge> {
        loop {
            let turn = self.turn()?;
            // What contradicts was told when the scenario was read.
            if let Some(edge) = self.follow(turn, &|_| {}) {
                return Some(TimedEdge { at: turn.0, edge });
            }
        }
    }
}

impl Edges<'_> {
    /// The next turn; what goes on at the end of the scenario does not end in it.
    fn turn(&mut self) -> Option<Turn> {
        let Reverse(turn) = self.turns.pop().filter(|turn| turn.0.0 <= self.end)?;
        let (_, way, index) = turn;
        match way {
            Way::Ends => {}
            Way::Mends | Way::Begins => {
                let pending = &mut self.pending[index];
                let ends = pending.next.and_then(|stretch| stretch.ends);
                pending.next = pending.times.next();
                let ends = ends.map(|end| Reverse((end, Way::Ends, index)));
                self.turns.extend(ends);
                self.await_beginning(index);
            }
        }
        Some(turn)
    }

    fn await_beginning(&mut self, index: usize) {
        let way = match self.happenings[index].what {
            WrittenWhat::Mended { .. } => Way::Mends,
            WrittenWhat::Plain(_) | WrittenWhat::SettingsChange(_) => Way::Begins,
        };
        let next = self.pending[index].next;
        self.turns
            .extend(next.map(|stretch| Reverse((stretch.begins, way, index))));
    }

    /// What comes of a turn; what contradicts is told to `note`.
    fn follow(&mut self, (_, way, index): Turn, note: &dyn Fn(Problem)) -> Option<Edge> {
        let happening = &self.happenings[index];
        let place = || happening.schedule.place.clone();
        match (&happening.what, happening.what.lasting()) {
            (WrittenWhat::Mended { hold, restores }, _) => {
                self.mend(hold, restores.as_ref(), note, place)
            }
            (WrittenWhat::SettingsChange(table), _) => {
                let changed = self.settings.clone().changed_by(table);
                let settings = changed.check().map_err(note).ok();
                self.refuse_without_power("settings change", note, place);
                if !self.held.contains_key(&Hold::Lock) {
                    self.settings = changed;
                }
                settings.map(|settings| Edge::Begins(Happening::SettingsChange(Box::new(settings))))
            }
            (WrittenWhat::Plain(plain), Lasting::Moment) => {
                if *plain == Happening::LockoutReleased {
                    self.refuse_without_power(plain.words(), note, place);
                }
                Some(Edge::Begins(plain.clone()))
            }
            (WrittenWhat::Plain(plain), Lasting::ForATime(hold) | Lasting::UntilMended(hold)) => {
                match way {
                    Way::Ends => {
                        if self.held.get(&hold) != Some(&index) {
                            return None;
                        }
                        self.held.remove(&hold);
                        Some(Edge::Ends(hold))
                    }
                    Way::Mends => None,
                    Way::Begins => self.begin(plain, hold, index, note),
                }
            }
        }
    }

    fn begin(
        &mut self,
        plain: &Happening,
        hold: Hold,
        index: usize,
        note: &dyn Fn(Problem),
    ) -> Option<Edge> {
        let Some(other) = self.held.get(&hold) else {
            self.held.insert(hold, index);
            return Some(Edge::Begins(plain.clone()));
        };
        let other = &self.happenings[*other];
        let what = format!(
            "\"{}\" begins while {} is still held",
            plain.words(),
            hold.words()
        );
        let remedy = match hold.mended_by() {
            Some(mended) => format!("let the other end first, by `for`, `until` or \"{mended}\""),
            None => "let the other end first".to_owned(),
        };
        note(
            Problem::at(self.happenings[index].schedule.place.clone(), what)
                .because_of(
                    other.schedule.place.clone(),
                    format!("\"{}\" from here on", other.what.words()),
                )
                .remedy(remedy),
        );
        None
    }

    fn mend(
        &mut self,
        hold: &Hold,
        restores: Option<&NamedPart>,
        note: &dyn Fn(Problem),
        place: impl Fn() -> Range<usize>,
    ) -> Option<Edge> {
        if self.held.remove(hold).is_some() {
            return Some(Edge::Ends(hold.clone()));
        }
        if let Some(part) = restores {
            return Some(Edge::Begins(Happening::ProtectionRestored(part.clone())));
        }
        let mended = hold.mended_by().unwrap_or_default();
        note(
            Problem::at(
                place(),
                match hold {
                    Hold::Part(part) => {
                        format!(
                            "\"{mended}\", but nothing is wrong with {} then",
                            part.words
                        )
                    }
                    Hold::Door
                    | Hold::Ambient
                    | Hold::Heat
                    | Hold::Draw
                    | Hold::Probe
                    | Hold::Supply
                    | Hold::Contact
                    | Hold::Valve
                    | Hold::Lock
                    | Hold::Switch
                    | Hold::Clock => {
                        format!("\"{mended}\", but nothing holds {} then", hold.words())
                    }
                },
            )
            .remedy("give what is to be ended an earlier time, or leave this out"),
        );
        None
    }

    fn refuse_without_power(
        &self,
        words: &str,
        note: &dyn Fn(Problem),
        place: impl Fn() -> Range<usize>,
    ) {
        let Some(cut) = self.held.get(&Hold::Supply) else {
            return;
        };
        let cut = &self.happenings[*cut];
        if let WrittenWhat::Plain(Happening::PowerCut) = cut.what {
            note(
                Problem::at(place(), format!("\"{words}\" while the power is cut"))
                    .expected("a control without power hears nobody")
                    .because_of(cut.schedule.place.clone(), "\"power is cut\" from here on"),
            );
        }
    }
}
