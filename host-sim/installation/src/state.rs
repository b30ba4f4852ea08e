//! What the world does to an installation, and what the electricity in it does then.

use super::file::SUPPLIES_LIMIT;
use super::terminal::PartSet;

/// The armature of the control's relay, or what the control asks of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum RelayArmature {
    /// Common rests on the normally closed contact.
    #[default]
    Released,
    /// Common is pulled to the normally open contact.
    Energised,
}

/// What the world does to an installation: everything that decides its voltages from outside.
///
/// The default is a healthy moment between calls: supplies at their nominal voltage, all
/// switches, limits and pressure controls closed, nothing blown, every motor up to speed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct State {
    /// What the control asks of its relay.
    pub relay: RelayArmature,
    /// Fuses, breakers, switches, limits and pressure controls whose contacts stand open.
    pub open: PartSet,
    /// Motors whose rotors still stand.
    pub starting: PartSet,
    /// Each supply's voltage, in thousandths of its nominal one, in the order of the file.
    pub supply_permille: [u16; SUPPLIES_LIMIT],
}

impl Default for State {
    fn default() -> Self {
        Self {
            relay: RelayArmature::Released,
            open: PartSet::EMPTY,
            starting: PartSet::EMPTY,
            supply_permille: [1000; SUPPLIES_LIMIT],
        }
    }
}

impl State {
    /// This state with the relay asked to be so.
    #[must_use]
    pub fn with_relay(self, relay: RelayArmature) -> Self {
        Self { relay, ..self }
    }

    /// This state with these contacts open and no others.
    #[must_use]
    pub fn with_open(self, open: PartSet) -> Self {
        Self { open, ..self }
    }

    /// This state with these rotors standing and no others.
    #[must_use]
    pub fn with_starting(self, starting: PartSet) -> Self {
        Self { starting, ..self }
    }

    /// This state with all supplies at this many thousandths of their nominal voltage.
    #[must_use]
    pub fn with_supplies(self, permille: u16) -> Self {
        Self {
            supply_permille: [permille; SUPPLIES_LIMIT],
            ..self
        }
    }
}

/// What the electricity has moved: the relay's armature, coils, and what tripped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Contacts {
    /// The armature of the control's relay.
    pub relay: RelayArmature,
    /// Contactors and valves whose armatures are seated.
    pub pulled_in: PartSet,
    /// Fuses and breakers that a short circuit has opened.
    pub tripped: PartSet,
}
