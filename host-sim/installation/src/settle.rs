//! The circuit come to rest: armatures that pull in or let go, fuses that a short opens.

use super::circuit::{Circuit, Solution};
use super::mover::{Cause, Move};
use super::state::{Contacts, RelayArmature, State};
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
                RelayArmature::Released => RelayArmature::Released,
                RelayArmature::Energised => contacts.relay,
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
        let control = self.installation().control().map(|(id, _)| id);
        let mut chattering = PartSet::EMPTY;
        for _ in 0..MOVES_LIMIT {
            let Some(moved) = self.moved(state, &contacts, &solution) else {
                break;
            };
            let differing = moved.moved_from(&contacts, control);
            chattering = chattering.with_all(differing);
            contacts = moved;
            solution = self.solve(state, &contacts);
        }
        Settled {
            contacts,
            solution,
            chattering,
        }
    }

    /// Where the contacts go from here; absent when they rest.
    ///
    /// What opens on too much current goes first and alone: the one furthest beyond what it
    /// holds takes the current off the others. Everything else moves at once.
    fn moved(
        &self,
        state: &State,
        contacts: &Contacts,
        solution: &Solution<'_>,
    ) -> Option<Contacts> {
        let cause = Cause {
            state,
            contacts,
            solution,
        };
        let moves: Vec<(PartId, Move)> = self
            .installation()
            .parts()
            .filter_map(|(id, part)| Some((id, part.mover()?.next((id, part), cause))))
            .collect();
        let opens = |&(id, moved): &(PartId, Move)| match moved {
            Move::Opens { multiple } => Some((id, moved, multiple)),
            Move::Stays | Move::Changes(_) | Move::PullsIn | Move::LetsGo => None,
        };
        let first = moves
            .iter()
            .filter_map(opens)
            .max_by(|(.., one), (.., other)| one.total_cmp(other));
        let moved = match first {
            Some((id, opens, _)) => contacts.after(id, opens),
            None => moves
                .into_iter()
                .fold(*contacts, |contacts, (id, moved)| contacts.after(id, moved)),
        };
        (moved != *contacts).then_some(moved)
    }
}
