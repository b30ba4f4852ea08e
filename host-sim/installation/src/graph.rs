//! What is joined to what by metal alone: conductors and closed contacts, no loads.

use std::collections::VecDeque;

use super::Installation;
use super::element::{Element, Node};
use super::network::ElectricalNetwork;
use super::part::Kind;
use super::state::{Contacts, State};
use super::terminal::{PartId, Role, TerminalId};

/// Less than this joins two terminals for practical purposes, in ohms.
const JOINED_OHM: f64 = 2.0;

/// One piece of metal between two terminals.
#[derive(Debug, Clone, Copy)]
struct Link {
    ends: [TerminalId; 2],
    part: PartId,
}

/// The metal of an installation with its contacts in given positions.
#[derive(Debug, Clone)]
pub struct Graph {
    links: Vec<Link>,
    terminals: usize,
}

impl Graph {
    /// The metal with contacts so; `counts` says which parts may conduct.
    #[must_use]
    pub fn of(
        installation: &Installation,
        state: &State,
        contacts: &Contacts,
        counts: impl Fn(PartId) -> bool,
    ) -> Self {
        let network = ElectricalNetwork::of(installation, state, contacts);
        let terminal = |node: Node| match node {
            Node::Earth => None,
            Node::At(index) => TerminalId::from_index(index),
        };
        let links = network
            .branches
            .iter()
            .filter_map(|branch| {
                let part = branch.part.filter(|&part| counts(part))?;
                let Element::Impedance { a, b, ohm } = branch.element else {
                    return None;
                };
                let metal = installation.part(part).kind.is_metal(branch.role);
                let ends = [terminal(a)?, terminal(b)?];
                (metal && ohm.norm() < JOINED_OHM).then_some(Link { ends, part })
            })
            .collect();
        Self {
            links,
            terminals: installation.terminal_count(),
        }
    }

    /// The shortest way between two terminals, as the parts it leads through.
    #[must_use]
    pub fn path(&self, from: TerminalId, to: TerminalId) -> Option<Vec<PartId>> {
        let came_by = self.spread(from);
        let mut parts = Vec::new();
        let mut at = to;
        while at != from {
            let link = self.links[came_by[at.index()]?];
            parts.push(link.part);
            let [one, other] = link.ends;
            at = if at == one { other } else { one };
        }
        parts.reverse();
        Some(parts)
    }

    /// Every terminal joined to this one, itself included, in the order of the file.
    #[must_use]
    pub fn joined(&self, from: TerminalId) -> Vec<TerminalId> {
        let came_by = self.spread(from);
        (0..self.terminals)
            .filter_map(TerminalId::from_index)
            .filter(|&terminal| terminal == from || came_by[terminal.index()].is_some())
            .collect()
    }

    /// For each terminal the link it was first reached by.
    fn spread(&self, from: TerminalId) -> Vec<Option<usize>> {
        let mut came_by = vec![None; self.terminals];
        let mut waiting = VecDeque::from([from]);
        while let Some(at) = waiting.pop_front() {
            for (index, link) in self.links.iter().enumerate() {
                let [one, other] = link.ends;
                let next = if one == at {
                    other
                } else if other == at {
                    one
                } else {
                    continue;
                };
                if next != from && came_by[next.index()].is_none() {
                    came_by[next.index()] = Some(index);
                    waiting.push_back(next);
                }
            }
        }
        came_by
    }
}

impl Kind {
    /// Whether its element of that role is metal that opens and closes, and no winding.
    fn is_metal(&self, role: Role) -> bool {
        match self {
            Self::Conductor(_) | Self::Overcurrent(_) | Self::Device(_) => true,
            Self::Control(_) => matches!(role, Role::NormallyOpen | Role::NormallyClosed),
            Self::Contactor(_) => matches!(role, Role::Line(_)),
            Self::Supply(_)
            | Self::Transformer(_)
            | Self::Motor(_)
            | Self::Valve(_)
            | Self::Heater(_)
            | Self::Lamp(_) => false,
        }
    }
}
