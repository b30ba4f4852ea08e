//! What the log of a run tells.

use hysteron_logic::event::Event;

use crate::record::runs::Fed;

/// What the log tells.
#[derive(Debug, Clone, PartialEq, Eq)]
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
    /// Something happened to the installation.
    Happened(String),
    /// Something in the circuit is not as it should be.
    Circuit(String),
    /// The load started or stopped though the relay had not moved.
    LoadOnItsOwn(Fed),
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
            Self::Happened(words) => words.contains("door") || words.contains("water"),
            Self::Control(_)
            | Self::DutyNotKnown { .. }
            | Self::PowerUp
            | Self::PowerLost
            | Self::Circuit(_)
            | Self::LoadOnItsOwn(_) => false,
        }
    }
}
