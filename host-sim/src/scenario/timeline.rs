//! All happenings of one case in the order of their times.

use std::collections::BTreeMap;
use std::ops::Range;

use hysteron_logic::time::Duration;

use super::happening::{Edge, Happening, Hold, Lasting, NamedPart, TimedEdge};
use super::happening_table::{WrittenHappening, WrittenWhat};
use super::written_settings::Written;
use crate::installation::Installation;
use crate::installation::part::Kind;
use crate::source_text::{Problem, Problems};

/// At one moment, what ends comes before what begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Turn {
    Ends,
    Mends,
    Begins,
}

/// The timeline of a case that begins with these settings; what contradicts is noted.
pub fn timeline(
    settings: &Written,
    happenings: &[WrittenHappening<'_>],
    installation: Option<&Installation>,
    problems: &Problems,
) -> Vec<TimedEdge> {
    let mut turns: Vec<(Duration, Turn, usize)> = Vec::new();
    for (index, happening) in happenings.iter().enumerate() {
        let begins = match happening.what {
            WrittenWhat::Mended(_) => Turn::Mends,
            WrittenWhat::Plain(_) | WrittenWhat::SettingsChange(_) => Turn::Begins,
        };
        for stretch in &happening.schedule.times {
            turns.push((stretch.begins, begins, index));
            turns.extend(stretch.ends.map(|end| (end, Turn::Ends, index)));
        }
    }
    turns.sort_unstable();
    let mut walk = Walk {
        happenings,
        installation,
        problems,
        settings: settings.clone(),
        held: BTreeMap::new(),
        edges: Vec::with_capacity(turns.len()),
    };
    for (at, turn, index) in turns {
        walk.take(at, turn, index);
    }
    walk.edges
}

struct Walk<'w, 'd> {
    happenings: &'w [WrittenHappening<'d>],
    installation: Option<&'w Installation>,
    problems: &'w Problems,
    settings: Written,
    /// What is held, and by which happening.
    held: BTreeMap<Hold, usize>,
    edges: Vec<TimedEdge>,
}

impl Walk<'_, '_> {
    fn take(&mut self, at: Duration, turn: Turn, index: usize) {
        let happening = &self.happenings[index];
        let place = || happening.schedule.place.clone();
        match (&happening.what, happening.what.lasting()) {
            (WrittenWhat::Mended(hold), _) => self.mend(at, hold, place()),
            (WrittenWhat::SettingsChange(item), _) => {
                let changed = self.settings.clone().changed_by(item, "settings");
                if let Some(settings) = changed.check(self.problems) {
                    self.push(
                        at,
                        Edge::Begins(Happening::SettingsChange(Box::new(settings))),
                    );
                }
                self.refuse_without_power("settings change", place());
                if !self.held.contains_key(&Hold::Lock) {
                    self.settings = changed;
                }
            }
            (WrittenWhat::Plain(plain), Lasting::Moment) => {
                if *plain == Happening::LockoutReleased {
                    self.refuse_without_power(plain.words(), place());
                }
                self.push(at, Edge::Begins(plain.clone()));
            }
            (WrittenWhat::Plain(plain), Lasting::ForATime(hold) | Lasting::UntilMended(hold)) => {
                match turn {
                    Turn::Ends if self.held.get(&hold) == Some(&index) => {
                        self.held.remove(&hold);
                        self.push(at, Edge::Ends(hold));
                    }
                    Turn::Ends | Turn::Mends => {}
                    Turn::Begins => self.begin(at, plain, hold, index),
                }
            }
        }
    }

    fn push(&mut self, at: Duration, edge: Edge) {
        self.edges.push(TimedEdge { at, edge });
    }

    fn begin(&mut self, at: Duration, plain: &Happening, hold: Hold, index: usize) {
        let Some(other) = self.held.get(&hold) else {
            self.held.insert(hold, index);
            self.push(at, Edge::Begins(plain.clone()));
            return;
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
        self.problems.add(
            Problem::at(self.happenings[index].schedule.place.clone(), what)
                .because_of(
                    other.schedule.place.clone(),
                    format!("\"{}\" from here on", other.what.words()),
                )
                .remedy(remedy),
        );
    }

    fn mend(&mut self, at: Duration, hold: &Hold, place: Range<usize>) {
        if self.held.remove(hold).is_some() {
            self.push(at, Edge::Ends(hold.clone()));
            return;
        }
        if let Hold::Part(part) = hold
            && self.opens_by_itself(part)
        {
            self.push(
                at,
                Edge::Begins(Happening::ProtectionRestored(part.clone())),
            );
            return;
        }
        let mended = hold.mended_by().unwrap_or_default();
        self.problems.add(
            Problem::at(
                place,
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
    }

    /// Whether nobody but the electricity may know that the part wants mending.
    fn opens_by_itself(&self, part: &NamedPart) -> bool {
        self.installation.is_some_and(|installation| {
            matches!(installation.part(part.id).kind, Kind::Overcurrent(_))
        })
    }

    fn refuse_without_power(&self, words: &str, place: Range<usize>) {
        let Some(cut) = self.held.get(&Hold::Supply) else {
            return;
        };
        let cut = &self.happenings[*cut];
        if let WrittenWhat::Plain(Happening::PowerCut) = cut.what {
            self.problems.add(
                Problem::at(place, format!("\"{words}\" while the power is cut"))
                    .expected("a control without power hears nobody")
                    .because_of(cut.schedule.place.clone(), "\"power is cut\" from here on"),
            );
        }
    }
}
