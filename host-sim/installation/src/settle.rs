//! The circuit come to rest: armatures that pull in or let go, fuses that a short opens.

use super::circuit::{Circuit, Solution};
use super::fault::Trouble;
use super::load::Coil;
use super::part::Kind;
use super::state::{Contacts, Relay, State};
use super::terminal::{PartId, PartSet};

/// More moves than this and the armatures will never rest.
const MOVES_LIMIT: usize = 24;

/// A circuit at rest, or one that chatters.
#[derive(Debug, Clone)]
pub struct Settled<'c> {
    /// Where the contacts came to rest, or were when the search ended.
    pub contacts: Contacts,
    /// The voltages and currents then.
    pub solution: Solution<'c>,
    /// What keeps moving: closes, drops the voltage it closed on, and opens again.
    pub chattering: PartSet,
}

impl Circuit {
    /// Solves, lets everything that the electricity moves move, and solves again until it rests.
    ///
    /// The relay follows the state's wish only while its control is powered and sound. A
    /// contactor or valve pulls in at its pull-in voltage, with the inrush it draws, and lets
    /// go below its drop-out voltage. Of the fuses and breakers that carry more than
    /// [`opens_at_once_a`](super::part::Overcurrent::opens_at_once_a), the one furthest beyond opens first.
    #[must_use]
    pub fn settle(&self, state: &State) -> Settled<'_> {
        self.settle_from(state, Contacts::default())
    }

    /// As [`Circuit::settle`], from contacts that stand elsewhere already.
    #[must_use]
    pub fn settle_from(&self, state: &State, contacts: Contacts) -> Settled<'_> {
        let mut contacts = Contacts {
            relay: match state.relay {
                Relay::Released => Relay::Released,
                Relay::Energised => contacts.relay,
            },
            ..contacts
        };
        let mut solution = self.solve(state, &contacts);
        for _ in 0..MOVES_LIMIT {
            let Some(moved) = self.moved(state, &contacts, &solution) else {
                return Settled {
                    contacts,
                    solution,
                    chattering: PartSet::EMPTY,
                };
            };
            contacts = moved;
            solution = self.solve(state, &contacts);
        }
        let mut chattering = PartSet::EMPTY;
        for _ in 0..MOVES_LIMIT {
            let Some(moved) = self.moved(state, &contacts, &solution) else {
                break;
            };
            chattering = self.differing(chattering, &contacts, &moved);
            contacts = moved;
            solution = self.solve(state, &contacts);
        }
        Settled {
            contacts,
            solution,
            chattering,
        }
    }

    fn differing(&self, known: PartSet, before: &Contacts, after: &Contacts) -> PartSet {
        let mut differing = known;
        for (id, _) in self.installation().parts() {
            if before.pulled_in.contains(id) != after.pulled_in.contains(id) {
                differing = differing.with(id);
            }
        }
        match self.installation().control() {
            Some((id, _)) if before.relay != after.relay => differing.with(id),
            Some(_) | None => differing,
        }
    }

    /// Where the contacts go from here; absent when they rest.
    fn moved(
        &self,
        state: &State,
        contacts: &Contacts,
        solution: &Solution<'_>,
    ) -> Option<Contacts> {
        if let Some(overloaded) = self.shorted_protection(state, contacts, solution) {
            return Some(Contacts {
                tripped: contacts.tripped.with(overloaded),
                ..*contacts
            });
        }
        let mut moved = Contacts {
            relay: self.relay(state, solution),
            ..*contacts
        };
        for (id, part) in self.installation().parts() {
            let Some(coil) = part.kind.coil() else {
                continue;
            };
            let broken =
                part.suffers(Trouble::WindingOpen) || part.suffers(Trouble::WindingShorted);
            let fraction = if broken { 0.0 } else { solution.fraction(id) };
            moved.pulled_in = armature(moved.pulled_in, id, coil, fraction);
        }
        (moved != *contacts).then_some(moved)
    }

    fn relay(&self, state: &State, solution: &Solution<'_>) -> Relay {
        let Some((id, control)) = self.installation().control() else {
            return Relay::Released;
        };
        let part = self.installation().part(id);
        let unable = [
            Trouble::BoardDead,
            Trouble::ProbeOpen,
            Trouble::ProbeShorted,
        ]
        .into_iter()
        .any(|trouble| part.suffers(trouble));
        if unable || solution.fraction(id) < control.least_fraction {
            Relay::Released
        } else {
            state.relay
        }
    }

    /// The closed fuse or breaker that is furthest beyond tripping at once.
    fn shorted_protection(
        &self,
        state: &State,
        contacts: &Contacts,
        solution: &Solution<'_>,
    ) -> Option<PartId> {
        self.installation()
            .parts()
            .filter_map(|(id, part)| {
                let Kind::Overcurrent(overcurrent) = &part.kind else {
                    return None;
                };
                let closed = !state.open.contains(id) && !contacts.tripped.contains(id);
                let multiple = solution.current_a(id) / overcurrent.opens_at_once_a();
                (closed && multiple > 1.0).then_some((id, multiple))
            })
            .max_by(|(_, one), (_, other)| one.total_cmp(other))
            .map(|(id, _)| id)
    }
}

fn armature(pulled_in: PartSet, id: PartId, coil: &Coil, fraction: f64) -> PartSet {
    if fraction >= coil.pull_in_fraction {
        pulled_in.with(id)
    } else if fraction < coil.drop_out_fraction {
        pulled_in.without(id)
    } else {
        pulled_in
    }
}
