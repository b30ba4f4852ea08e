//! What the electricity moves: armatures that pull in or let go, and what opens on too much current.
//!
//! Each is an element that [settles](super::settle): given the voltages and currents with
//! everything where it is, it says where it goes next.

use super::circuit::Solution;
use super::fault::Trouble;
use super::load::Coil;
use super::part::{ControlPart, Kind, Overcurrent, Part};
use super::state::{Contacts, RelayArmature, State};
use super::terminal::{PartId, PartSet};

/// Something in a part that the electricity moves.
#[derive(Debug, Clone, Copy)]
pub(super) enum Mover<'p> {
    /// The relay of the control.
    Relay(&'p ControlPart),
    /// The electromagnet of a contactor or a valve.
    Electromagnet(&'p Coil),
    /// The trip or the wire of a breaker or a fuse.
    Protection(&'p Overcurrent),
}

/// Everything that decides where something goes next.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cause<'c> {
    pub state: &'c State,
    pub contacts: &'c Contacts,
    pub solution: &'c Solution<'c>,
}

/// Where something goes next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Move {
    /// It stays where it is.
    Stays,
    /// The relay's armature goes, or stays, there.
    Changes(RelayArmature),
    /// An armature seats itself.
    PullsIn,
    /// An armature lets go.
    LetsGo,
    /// It opens for good, having got so many times what it holds.
    Opens { multiple: f64 },
}

impl Part {
    /// What the electricity moves in it, if anything.
    pub(super) fn mover(&self) -> Option<Mover<'_>> {
        match &self.kind {
            Kind::Control(control) => Some(Mover::Relay(control)),
            Kind::Contactor(contactor) => Some(Mover::Electromagnet(&contactor.coil)),
            Kind::Valve(coil) => Some(Mover::Electromagnet(coil)),
            Kind::Overcurrent(overcurrent) => Some(Mover::Protection(overcurrent)),
            Kind::Supply(_)
            | Kind::Transformer(_)
            | Kind::Conductor(_)
            | Kind::Device(_)
            | Kind::Motor(_)
            | Kind::Heater(_)
            | Kind::Lamp(_) => None,
        }
    }
}

impl Mover<'_> {
    /// Where it goes next, in the part that it belongs to.
    pub(super) fn next(self, (id, part): (PartId, &Part), cause: Cause<'_>) -> Move {
        match self {
            Self::Relay(control) => Move::Changes(relay((id, part), control, cause)),
            Self::Electromagnet(coil) => electromagnet((id, part), coil, cause),
            Self::Protection(overcurrent) => protection(id, overcurrent, cause),
        }
    }
}

/// The relay follows the state's wish only while its control is powered and sound.
fn relay((id, part): (PartId, &Part), control: &ControlPart, cause: Cause<'_>) -> RelayArmature {
    let unable = [
        Trouble::BoardDead,
        Trouble::ProbeOpen,
        Trouble::ProbeShorted,
    ]
    .into_iter()
    .any(|trouble| part.suffers(trouble));
    if unable || cause.solution.fraction(id) < control.least_fraction {
        RelayArmature::Released
    } else {
        cause.state.relay
    }
}

fn electromagnet((id, part): (PartId, &Part), coil: &Coil, cause: Cause<'_>) -> Move {
    let fraction = if part.is_winding_broken() {
        0.0
    } else {
        cause.solution.fraction(id)
    };
    if fraction >= coil.pull_in_fraction {
        Move::PullsIn
    } else if fraction < coil.drop_out_fraction {
        Move::LetsGo
    } else {
        Move::Stays
    }
}

fn protection(id: PartId, overcurrent: &Overcurrent, cause: Cause<'_>) -> Move {
    let closed = !cause.state.open.contains(id) && !cause.contacts.tripped.contains(id);
    let multiple = cause.solution.current_a(id) / overcurrent.opens_at_once_a();
    if closed && multiple > 1.0 {
        Move::Opens { multiple }
    } else {
        Move::Stays
    }
}

impl Contacts {
    /// These contacts after what moved in a part.
    pub(super) fn after(self, id: PartId, moved: Move) -> Self {
        match moved {
            Move::Stays => self,
            Move::Changes(relay) => Self { relay, ..self },
            Move::PullsIn => Self {
                pulled_in: self.pulled_in.with(id),
                ..self
            },
            Move::LetsGo => Self {
                pulled_in: self.pulled_in.without(id),
                ..self
            },
            Move::Opens { .. } => Self {
                tripped: self.tripped.with(id),
                ..self
            },
        }
    }

    /// The parts in which something stands elsewhere than in `others`; what has tripped is left
    /// out, since it does not come back.
    pub(super) fn moved_from(&self, others: &Self, control: Option<PartId>) -> PartSet {
        let differing = self.pulled_in.differing(others.pulled_in);
        match control {
            Some(id) if self.relay != others.relay => differing.with(id),
            Some(_) | None => differing,
        }
    }
}
