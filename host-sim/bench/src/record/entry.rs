//! What the log of a run tells: facts with their parts and figures, and no sentences.

use hysteron_logic::event::Event;

use crate::record::runs::Fed;
use crate::scenario::happening::{Edge, Hold, NamedPart};

/// What the log tells.
#[derive(Debug, Clone, PartialEq)]
pub enum Entry {
    /// An edge that the control told of.
    Control(Event),
    /// As [`Event::DutyNotKnown`], with the whole hours that are known.
    DutyNotKnown {
        /// How many.
        hours: u8,
    },
    /// The board was powered up.
    PowerUp,
    /// The board lost its power.
    PowerLost,
    /// The scenario did something to the installation, or let it go again.
    Happened(Edge),
    /// Something in the circuit is not as it should be.
    Circuit(Amiss),
    /// The load started or stopped though the relay had not moved.
    LoadOnItsOwn(Fed),
}

/// What in a circuit is not as it should be, with the parts that it was first seen of together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Amiss {
    /// Fuses and breakers that too much current has opened.
    Opened(Vec<NamedPart>),
    /// Loads that would work in the sound installation and do not.
    Idle(Vec<NamedPart>),
    /// Loads that would not work in the sound installation and do.
    Unasked(Vec<NamedPart>),
}

impl Entry {
    /// Whether it repeats all day in a sound installation.
    #[must_use]
    pub fn is_routine(&self) -> bool {
        match self {
            Self::Control(
                Event::RelayClosed
                | Event::RelayOpened
                | Event::CallBegan
                | Event::CallEnded
                | Event::DefrostBegan
                | Event::DefrostEnded,
            ) => true,
            Self::Happened(edge) => edge.hold().as_ref().is_some_and(is_held_all_day),
            Self::Control(_)
            | Self::DutyNotKnown { .. }
            | Self::PowerUp
            | Self::PowerLost
            | Self::Circuit(_)
            | Self::LoadOnItsOwn(_) => false,
        }
    }

    /// Whether both tell the same, figures of a happening aside.
    #[must_use]
    pub fn is_alike(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Happened(one), Self::Happened(other)) => one.is_alike(other),
            (one, other) => one == other,
        }
    }
}

/// Whether people take hold of this again and again, as a matter of course.
const fn is_held_all_day(hold: &Hold) -> bool {
    match hold {
        Hold::Door | Hold::Draw => true,
        Hold::Ambient
        | Hold::Heat
        | Hold::Probe
        | Hold::Supply
        | Hold::Contact
        | Hold::Valve
        | Hold::Lock
        | Hold::Switch
        | Hold::Clock
        | Hold::Part(_) => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::happening::Happening;
    use hysteron_installation::arrangements::named;
    use hysteron_installation::file;
    use hysteron_source::text::SourceText;

    /// A part whose names speak of doors and water.
    fn breaker() -> NamedPart {
        let text = named("compressor-120").expect("ships").text;
        let source = SourceText::new("compressor-120", text).expect("short");
        let installation = file::read(&source).expect("sound");
        let id = installation.part_named("breaker").expect("it has one");
        NamedPart {
            id,
            name: "door-heater-breaker".into(),
            words: "water-valve of the door".into(),
        }
    }

    #[test]
    fn no_name_makes_a_routine() {
        let happened = |edge| Entry::Happened(edge);
        let part = breaker();
        let news = [
            happened(Edge::Ends(Hold::Part(part.clone()))),
            happened(Edge::Begins(Happening::ProtectionRestored(part.clone()))),
            Entry::Circuit(Amiss::Opened(vec![part])),
            happened(Edge::Begins(Happening::PowerCut)),
        ];
        assert!(news.iter().all(|entry| !entry.is_routine()));
        let routine = [
            happened(Edge::Begins(Happening::DoorOpens)),
            happened(Edge::Ends(Hold::Door)),
            happened(Edge::Begins(Happening::WaterDrawn(0.1))),
            happened(Edge::Ends(Hold::Draw)),
        ];
        assert!(routine.iter().all(Entry::is_routine));
    }

    #[test]
    fn figures_make_no_other_kind_and_parts_do() {
        let begins = |happening| Entry::Happened(Edge::Begins(happening));
        let alike = |one: &Entry, other: &Entry| one.is_alike(other) && other.is_alike(one);
        let jumps = begins(Happening::ProbeJumps(1.0));
        assert!(alike(&jumps, &begins(Happening::ProbeJumps(2.0))));
        assert!(!alike(&jumps, &begins(Happening::ProbeDrifts(1.0))));
        assert!(alike(
            &begins(Happening::AmbientIs(1.0)),
            &begins(Happening::AmbientShifts(1.0))
        ));
        let part = breaker();
        let other = NamedPart {
            name: "fan".into(),
            words: "fan".into(),
            ..part.clone()
        };
        let restored = begins(Happening::ProtectionRestored(part.clone()));
        let ends = |part| Entry::Happened(Edge::Ends(Hold::Part(part)));
        assert!(alike(&restored, &ends(part.clone())));
        assert!(!alike(&restored, &ends(other.clone())));
        assert!(!alike(
            &Entry::Circuit(Amiss::Idle(vec![part])),
            &Entry::Circuit(Amiss::Idle(vec![other]))
        ));
    }
}
