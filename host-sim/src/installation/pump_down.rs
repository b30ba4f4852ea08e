//! What suction pressure does to a circuit: with every liquid-line valve shut, the compressor
//! empties the evaporator until its low-pressure control opens.

use super::Installation;
use super::circuit::Circuit;
use super::part::{Actuator, Device, Kind};
use super::settle::Settled;
use super::state::State;
use super::terminal::PartId;

/// The low-pressure control that a liquid-line valve rules by pump-down, if there is one.
pub(super) fn ruled_by_valve(installation: &Installation) -> Option<PartId> {
    let mut parts = installation.parts();
    let has_valve = parts.any(|(_, part)| matches!(part.kind, Kind::Valve(_)));
    let low_pressure = |kind: &Kind| {
        matches!(
            kind,
            Kind::Device(Device {
                actuator: Actuator::LowPressure,
                ..
            })
        )
    };
    let mut controls = installation
        .parts()
        .filter(|(_, part)| low_pressure(&part.kind));
    controls.next().filter(|_| has_valve).map(|(id, _)| id)
}

impl Circuit {
    /// This state some minutes later: with every valve shut, and low-pressure controls to follow
    /// them, those stand open.
    ///
    /// Which valves are shut is this circuit's own matter: the state of a sound one does not hold
    /// for one with a burnt coil.
    #[must_use]
    pub fn pumped_down(&self, state: State) -> State {
        let Some(low_pressure) = ruled_by_valve(self.installation()) else {
            return state;
        };
        let pulled_in = self.settle(&state).contacts.pulled_in;
        let mut parts = self.installation().parts();
        let flows =
            parts.any(|(id, part)| matches!(part.kind, Kind::Valve(_)) && pulled_in.contains(id));
        if flows {
            state
        } else {
            state.with_open(state.open.with(low_pressure))
        }
    }

    /// As [`Circuit::settle`], some minutes later, when suction pressure has followed the valves.
    #[must_use]
    pub fn settle_pumped_down(&self, state: &State) -> Settled<'_> {
        self.settle(&self.pumped_down(*state))
    }
}
