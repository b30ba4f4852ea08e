//! What suction pressure does to a circuit: with every liquid-line valve shut, the compressor
//! empties the evaporator until its low-pressure control opens.

use super::Installation;
use super::circuit::Circuit;
use super::part::Actuator;
use super::settle::Settled;
use super::state::State;
use super::terminal::PartSet;

/// The low-pressure controls that liquid-line valves rule by pump-down; none where there is no valve.
///
/// Every one of them feels the suction pressure that the valves let fall.
pub fn ruled_by_valve(installation: &Installation) -> PartSet {
    if !installation.parts().any(|(_, part)| part.kind.is_valve()) {
        return PartSet::EMPTY;
    }
    installation
        .parts()
        .filter(|(_, part)| part.kind.is_moved_by(Actuator::LowPressure))
        .map(|(id, _)| id)
        .collect()
}

impl Circuit {
    /// This state some minutes later: with every valve shut, and low-pressure controls to follow
    /// them, those stand open.
    ///
    /// Which valves are shut is this circuit's own matter: the state of a sound one does not hold
    /// for one with a burnt coil.
    #[must_use]
    pub fn pumped_down(&self, state: State) -> State {
        let low_pressure = ruled_by_valve(self.installation());
        if low_pressure.is_empty() {
            return state;
        }
        let pulled_in = self.settle(&state).contacts.pulled_in;
        let mut parts = self.installation().parts();
        let flows = parts.any(|(id, part)| part.kind.is_valve() && pulled_in.contains(id));
        if flows {
            state
        } else {
            state.with_open(state.open.with_all(low_pressure))
        }
    }

    /// As [`Circuit::settle`], some minutes later, when suction pressure has followed the valves.
    #[must_use]
    pub fn settle_pumped_down(&self, state: &State) -> Settled<'_> {
        self.settle(&self.pumped_down(*state))
    }
}
