//! What conducts in a part: where its contacts stand, and how far its load has got.

use super::load::Phase;
use super::part::{Kind, Part};
use super::state::{Contacts, RelayArmature, State};
use super::terminal::{PartId, Role, TerminalId};
use super::trouble::{RelayContact, Trouble};

impl Part {
    /// Whether this contact of the control's relay conducts with its armature so.
    #[must_use]
    pub fn relay_conducts(&self, contact: RelayContact, relay: RelayArmature) -> bool {
        let rests_on = if self.suffers(Trouble::RelayWelded(RelayContact::NormallyOpen)) {
            RelayContact::NormallyOpen
        } else if self.suffers(Trouble::RelayWelded(RelayContact::NormallyClosed)) {
            RelayContact::NormallyClosed
        } else {
            match relay {
                RelayArmature::Energised => RelayContact::NormallyOpen,
                RelayArmature::Released => RelayContact::NormallyClosed,
            }
        };
        rests_on == contact && !self.suffers(Trouble::RelayBurntOpen(contact))
    }

    /// Each contact of the control's relay, from the common to its own terminal; none in any
    /// other part.
    pub fn relay_contacts(&self) -> impl Iterator<Item = (RelayContact, TerminalId, TerminalId)> {
        let common = self.terminal(Role::RelayCommon);
        [RelayContact::NormallyOpen, RelayContact::NormallyClosed]
            .into_iter()
            .filter_map(move |contact| Some((contact, common?, self.terminal(contact.role())?)))
    }

    /// Whether its poles conduct, with the world and what the electricity has moved so; never
    /// where it has none.
    #[must_use]
    pub fn poles_conduct(&self, own: PartId, state: &State, contacts: &Contacts) -> bool {
        match &self.kind {
            Kind::Overcurrent(_) => {
                !state.open.contains(own)
                    && !contacts.tripped.contains(own)
                    && !self.suffers(Trouble::Blown)
                    && !self.suffers(Trouble::Tripped)
            }
            Kind::Device(_) => {
                self.suffers(Trouble::StuckClosed)
                    || (!state.open.contains(own) && !self.suffers(Trouble::StuckOpen))
            }
            Kind::Contactor(_) => {
                self.suffers(Trouble::Welded)
                    || (contacts.pulled_in.contains(own) && !self.suffers(Trouble::BurntOpen))
            }
            Kind::Supply(_)
            | Kind::Transformer(_)
            | Kind::Conductor(_)
            | Kind::Control(_)
            | Kind::Motor(_)
            | Kind::Valve(_)
            | Kind::Heater(_)
            | Kind::Lamp(_) => false,
        }
    }

    /// Whether it has settled into its work as a load.
    #[must_use]
    pub fn phase(&self, own: PartId, state: &State, contacts: &Contacts) -> Phase {
        let starting = match &self.kind {
            Kind::Motor(_) => state.starting.contains(own),
            Kind::Valve(_) | Kind::Contactor(_) => !contacts.pulled_in.contains(own),
            Kind::Supply(_)
            | Kind::Transformer(_)
            | Kind::Conductor(_)
            | Kind::Overcurrent(_)
            | Kind::Device(_)
            | Kind::Control(_)
            | Kind::Heater(_)
            | Kind::Lamp(_) => false,
        };
        if starting {
            Phase::Starting
        } else {
            Phase::Running
        }
    }
}
