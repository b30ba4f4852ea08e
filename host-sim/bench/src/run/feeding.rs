//! Feeding: who gets power, by what relay, pressure control and supply make of it.
//!
//! Without an installation the relay's contact is the whole circuit ([`crate::run::supply`]). With
//! one the circuit is solved, and control, load, fans and the contact's feedback have what it
//! gives them (`fed_by_circuit`). Either way the answer stands until
//! relay, pressure control or conditions change, so that a step without change asks nothing.

use hysteron_logic::contact::Feedback;
use hysteron_logic::guard::Relay;
use hysteron_logic::settings::Load as LoadKind;

use crate::record::entry::Amiss;
use crate::run::conditions::{Conditions, ContactCondition};
use crate::run::fed_by_circuit::FedByCircuit;
use crate::run::feed::{BoardSupply, Feed, PressureContacts};
use crate::run::supply::{board_works, feedback_at, load_at};
use crate::scenario::installation_name::Wiring;
use hysteron_installation::terminal::PartId;
use hysteron_plant::{FanSupply, Load, PressureContact};

/// Whether anybody's power changed hands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// Nothing has moved.
    Same,
    /// Something has, and who is fed was found anew.
    Turned,
}

/// The way from the supply to board and plant.
#[derive(Debug, Clone)]
pub struct Feeding {
    way: Way,
    relay: Relay,
    pressures: PressureContacts,
    feed: Feed,
}

#[derive(Debug, Clone)]
enum Way {
    Directly(Directly),
    ByCircuit(Box<FedByCircuit>),
}

#[derive(Debug, Clone)]
struct Directly {
    load: LoadKind,
    supply: f64,
    contact: ContactCondition,
}

impl Feeding {
    /// Through `wiring`, or directly to a load of that kind; the relay is open.
    #[must_use]
    pub fn new(wiring: Option<&Wiring>, load: LoadKind) -> Self {
        let way = match wiring {
            None => Way::Directly(Directly {
                load,
                supply: 1.0,
                contact: ContactCondition::Sound,
            }),
            Some(wiring) => Way::ByCircuit(Box::new(FedByCircuit::new(wiring))),
        };
        let mut feeding = Self {
            way,
            relay: Relay::Open,
            pressures: PressureContacts::CLOSED,
            feed: Feed {
                board: BoardSupply::Fails,
                load: Load::Off,
                condensing_unit: Load::Off,
                evaporator_fan: FanSupply::Energised,
                condenser_fan: FanSupply::Energised,
                feedback: Feedback::Open,
            },
        };
        feeding.look(|_| ());
        feeding
    }

    /// Whether head pressure opens anything.
    #[must_use]
    pub const fn watches_head_pressure(&self) -> bool {
        match &self.way {
            Way::Directly(_) => false,
            Way::ByCircuit(circuit) => circuit.watches_head_pressure(),
        }
    }

    /// What everybody is fed.
    #[must_use]
    #[inline]
    pub const fn feed(&self) -> &Feed {
        &self.feed
    }

    /// Follows the relay's coil and the pressure controls' contacts; `tell` hears what of the
    /// circuit is not as it should be.
    #[inline]
    pub fn follow(
        &mut self,
        relay: Relay,
        pressures: PressureContacts,
        tell: impl FnMut(Amiss),
    ) -> Turn {
        if self.relay == relay && self.pressures == pressures {
            return Turn::Same;
        }
        self.relay = relay;
        self.pressures = pressures;
        self.look(tell);
        Turn::Turned
    }

    /// Suffers what has happened to supply, contact and parts.
    pub fn suffer(&mut self, conditions: &Conditions, tell: impl FnMut(Amiss)) {
        let changed = match &mut self.way {
            Way::Directly(way) => {
                let changed = way.supply != conditions.supply || way.contact != conditions.contact;
                way.supply = conditions.supply;
                way.contact = conditions.contact;
                changed
            }
            Way::ByCircuit(circuit) => circuit.suffer(conditions),
        };
        if changed {
            self.look(tell);
        }
    }

    /// A part was mended: what opened by itself is closed again, from the next look at the conditions on.
    pub fn mend(&mut self, part: PartId) {
        if let Way::ByCircuit(circuit) = &mut self.way {
            circuit.mend(part);
        }
    }

    #[cold]
    fn look(&mut self, tell: impl FnMut(Amiss)) {
        self.feed = match &mut self.way {
            Way::Directly(way) => way.feed(self.relay, self.pressures.low),
            Way::ByCircuit(circuit) => circuit.feed(self.relay, self.pressures, tell),
        };
    }
}

impl Directly {
    fn feed(&self, relay: Relay, pressure: PressureContact) -> Feed {
        let contact = match self.contact {
            ContactCondition::Sound => relay,
            ContactCondition::Welded => Relay::Closed,
            ContactCondition::Burnt => Relay::Open,
        };
        let (load, feedback) = match contact {
            Relay::Open => (Load::Off, Feedback::Open),
            Relay::Closed => (load_at(self.supply, self.load), feedback_at(self.supply)),
        };
        Feed {
            board: if board_works(self.supply) {
                BoardSupply::Works
            } else {
                BoardSupply::Fails
            },
            load,
            condensing_unit: match pressure {
                PressureContact::Open => Load::Off,
                PressureContact::Closed => load_at(self.supply, LoadKind::Compressor),
            },
            evaporator_fan: match load_at(self.supply, LoadKind::Compressor) {
                Load::Off => FanSupply::Dead,
                Load::Running { .. } => FanSupply::Energised,
            },
            condenser_fan: FanSupply::Energised,
            feedback,
        }
    }
}
