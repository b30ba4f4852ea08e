//! What the bench asks of an installation: who is energised, and at what voltage.

use std::collections::HashMap;

use super::Installation;
use super::circuit::Circuit;
use super::fault::RelayContact;
use super::load::Supplied;
use super::part::Kind;
use super::settle::Settled;
use super::state::{Contacts, State};
use super::terminal::{PartId, PartSet, Role};

/// One load, or the control's power input, in one state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Energised {
    /// Its part.
    pub part: PartId,
    /// How it fares.
    pub supplied: Supplied,
    /// Voltage as a fraction of the rated one.
    pub fraction: f64,
    /// Current, in amperes.
    pub current_a: f64,
    /// Power, in watts.
    pub power_w: f64,
}

/// All that the bench wants to know of one state.
#[derive(Debug, Clone, PartialEq)]
pub struct Electrical {
    /// The loads in the order of the file; the control, if there is one, comes among them.
    pub loads: Vec<Energised>,
    /// Voltage from the control's normally open terminal to its power common, as an isolated
    /// input sees it through the contact, in volts; none while the contact does not conduct.
    pub load_side_v: f64,
    /// What the electricity has moved: the relay, coils, and what a short has opened.
    pub contacts: Contacts,
    /// Contactors and valves that cannot come to rest.
    pub chattering: PartSet,
}

impl Electrical {
    /// How one part fares; absent for a part that is neither a load nor the control.
    #[must_use]
    pub fn of(&self, part: PartId) -> Option<&Energised> {
        self.loads.iter().find(|load| load.part == part)
    }

    /// Whether a load has what it needs to work.
    #[must_use]
    pub fn works(&self, part: PartId) -> bool {
        self.of(part)
            .is_some_and(|load| matches!(load.supplied, Supplied::Right | Supplied::High))
    }

    /// Power of all loads and of the control, in watts.
    #[must_use]
    pub fn power_w(&self) -> f64 {
        self.loads.iter().map(|load| load.power_w).sum()
    }
}

/// An installation that answers quickly because it remembers.
///
/// A year of simulation visits a handful of states. Each is solved once; asking again
/// costs a look into a table, and asking for the state asked for last costs a comparison.
///
/// Coils and protections have a history: a coil that is held in survives a dip that would
/// not have let it pull in, and what a short has opened stays open until
/// [`LoadBank::restore`].
#[derive(Debug, Clone)]
pub struct LoadBank {
    circuit: Circuit,
    answers: Vec<Electrical>,
    known: HashMap<(State, Contacts), usize>,
    last: Option<(State, usize)>,
    contacts: Contacts,
    solved: usize,
}

/// A supply that drifts through more levels than this starts the table anew.
const REMEMBERED_LIMIT: usize = 4096;

impl LoadBank {
    /// The loads of `installation`, with all coils let go and nothing tripped.
    #[must_use]
    pub fn new(installation: Installation) -> Self {
        Self {
            circuit: Circuit::new(installation),
            answers: Vec::new(),
            known: HashMap::new(),
            last: None,
            contacts: Contacts::default(),
            solved: 0,
        }
    }

    /// The installation.
    #[must_use]
    pub fn installation(&self) -> &Installation {
        self.circuit.installation()
    }

    /// How many states were solved so far; the others were remembered.
    #[must_use]
    pub fn solved(&self) -> usize {
        self.solved
    }

    /// Who is energised in this state, coming from the one asked for before.
    pub fn energised(&mut self, state: &State) -> &Electrical {
        let index = match self.last {
            Some((last, index)) if last == *state => index,
            Some(_) | None => self.index_of(state),
        };
        self.last = Some((*state, index));
        self.contacts = self.answers[index].contacts;
        &self.answers[index]
    }

    /// A part fails, or the installation is repaired or rewired, from now on; coils stay where they are if they can.
    ///
    /// Its parts must be those of the one before, in the same order.
    pub fn become_installation(&mut self, installation: Installation) {
        self.circuit = Circuit::new(installation);
        self.answers.clear();
        self.known.clear();
        self.last = None;
    }

    /// Closes what a short circuit has opened: one breaker reset, or one fuse replaced.
    pub fn restore(&mut self, part: PartId) {
        self.contacts.tripped = self.contacts.tripped.without(part);
        self.last = None;
    }

    fn index_of(&mut self, state: &State) -> usize {
        let key = (*state, self.contacts);
        if let Some(&index) = self.known.get(&key) {
            return index;
        }
        if self.answers.len() >= REMEMBERED_LIMIT {
            self.answers.clear();
            self.known.clear();
        }
        let index = self.answers.len();
        self.answers
            .push(answer(&self.circuit, state, self.contacts));
        self.known.insert(key, index);
        self.solved += 1;
        index
    }
}

fn answer(circuit: &Circuit, state: &State, before: Contacts) -> Electrical {
    let settled = circuit.settle_from(state, before);
    let loads = circuit
        .installation()
        .parts()
        .filter(|(_, part)| {
            part.kind.connection().is_some() || matches!(part.kind, Kind::Control(_))
        })
        .map(|(id, _)| Energised {
            part: id,
            supplied: settled.solution.supplied(id),
            fraction: settled.solution.fraction(id),
            current_a: settled.solution.current_a(id),
            power_w: settled.solution.power_w(id),
        })
        .collect();
    Electrical {
        loads,
        load_side_v: load_side_v(circuit.installation(), &settled),
        contacts: settled.contacts,
        chattering: settled.chattering,
    }
}

fn load_side_v(installation: &Installation, settled: &Settled<'_>) -> f64 {
    let Some((id, _)) = installation.control() else {
        return 0.0;
    };
    let part = installation.part(id);
    let open = RelayContact::NormallyOpen;
    let ends = (part.terminal(open.role()), part.terminal(Role::PowerCommon));
    match ends {
        (Some(load_side), Some(common)) if part.relay_conducts(open, settled.contacts.relay) => {
            settled.solution.between_v(load_side, common).norm()
        }
        (Some(_) | None, Some(_) | None) => 0.0,
    }
}
