//! The installation: what is wired to the control, and the electricity in it.
//!
//! ```text
//! text -> Installation -> ElectricalNetwork (in a State) -> Solution -> readings
//!              |                  ^                            |
//!              +-> with_fault     +--------- Contacts <--------+-> check, Supplied loads
//! ```
//!
//! [`Installation`] is parts and conductors as a person wrote them in TOML.
//! [`state::State`] says what the world does to it: what the control asks of its
//! relay, which contacts stand open, how high the supplies are.
//! [`network::ElectricalNetwork`] is the elements that parts make of themselves (a load by its
//! [`connection::Connection`]: any number of terminals, and windings between them),
//! [`solved::Solved`] their voltages, and [`circuit::Circuit`] puts it all in the installation's
//! own terms. What the voltages and currents move moves in [`settle`] until it rests.
//! [`readings::Readings`] is what a meter should show. [`bank::LoadBank`] answers the bench, which only asks who is energised.

pub mod arrangements;
pub mod bank;
pub mod circuit;
mod conduction;
pub mod conductor;
pub mod connection;
pub mod element;
mod elimination;
pub mod fault;
pub mod file;
mod file_parts;
mod file_rows;
pub mod graph;
pub mod load;
mod mover;
pub mod netlist;
pub mod network;
pub mod part;
mod part_fields;
mod part_terminals;
pub mod plant_roles;
pub mod pump_down;
mod purpose;
pub mod readings;
mod readings_table;
pub mod settle;
#[cfg(test)]
mod several_phases;
pub mod solved;
pub mod state;
pub mod supply;
pub mod terminal;
pub mod trouble;

use std::collections::HashMap;

use conductor::Conductor;
use part::Part;
use terminal::{PartId, Role, TerminalId};

/// A whole installation.
#[derive(Debug, Clone, PartialEq)]
pub struct Installation {
    title: String,
    about: String,
    frequency_hz: f64,
    parts: Vec<Part>,
    terminals: Vec<(PartId, Role)>,
}

/// A load of an installation, with the terminals that feed it.
#[derive(Debug, Clone, PartialEq)]
pub struct RatedLoad {
    /// Its part.
    pub part: PartId,
    /// Its terminals, the frame left out.
    pub terminals: Vec<TerminalId>,
    /// Every two of them that its rated voltage stands between.
    pub across: Vec<(TerminalId, TerminalId)>,
    /// Its rated voltage, in volts.
    pub rated_v: f64,
}

impl Installation {
    /// What it is, in a line.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.title
    }

    /// What it is for, in a few sentences; may be empty.
    #[must_use]
    pub fn about(&self) -> &str {
        &self.about
    }

    /// Frequency of its supplies, in hertz.
    #[must_use]
    pub fn frequency_hz(&self) -> f64 {
        self.frequency_hz
    }

    /// Its parts, conductors included, in the order of the file.
    pub fn parts(&self) -> impl Iterator<Item = (PartId, &Part)> {
        self.parts
            .iter()
            .enumerate()
            .filter_map(|(index, part)| Some((PartId::from_index(index)?, part)))
    }

    /// One of its parts.
    ///
    /// # Panics
    /// When `id` belongs to another installation with more parts.
    #[must_use]
    pub fn part(&self, id: PartId) -> &Part {
        &self.parts[id.index()]
    }

    /// The part of that name, if there is one.
    #[must_use]
    pub fn part_named(&self, name: &str) -> Option<PartId> {
        self.parts()
            .find(|(_, part)| part.name == name)
            .map(|(id, _)| id)
    }

    /// How many terminals there are.
    #[must_use]
    pub fn terminal_count(&self) -> usize {
        self.terminals.len()
    }

    /// All terminals, in the order of the file.
    pub fn terminals(&self) -> impl Iterator<Item = TerminalId> {
        (0..self.terminals.len()).filter_map(TerminalId::from_index)
    }

    /// The part that a terminal belongs to, and what the terminal is for.
    ///
    /// # Panics
    /// When `id` belongs to another installation with more terminals.
    #[must_use]
    pub fn terminal(&self, id: TerminalId) -> (PartId, Role) {
        self.terminals[id.index()]
    }

    /// The terminal with that name, as in `compressor.line1`.
    #[must_use]
    pub fn terminal_named(&self, name: &str) -> Option<TerminalId> {
        let (part, role) = name.split_once('.')?;
        let part = self.part(self.part_named(part)?);
        let &(_, id) = part.terminals.iter().find(|(own, _)| own.name() == role)?;
        Some(id)
    }

    /// The name of a terminal, as in `compressor.line1`.
    #[must_use]
    pub fn terminal_name(&self, id: TerminalId) -> String {
        let (part, role) = self.terminal(id);
        format!("{}.{role}", self.part(part).name)
    }

    /// What a person calls a part: its name, and for a conductor where it runs.
    #[must_use]
    pub fn part_words(&self, id: PartId) -> String {
        let part = self.part(id);
        let kind = part.kind.name();
        if let Some(conductor) = part.kind.as_conductor() {
            let [from, to] = conductor.ends.map(|end| self.terminal_name(end));
            return format!("{kind} {} ({from} to {to})", part.name);
        }
        if part.name.replace(['-', '_'], " ") == kind.replace('-', " ") {
            kind.to_owned()
        } else {
            format!("{} ({kind})", part.name)
        }
    }

    /// Every conductor.
    pub fn conductors(&self) -> impl Iterator<Item = (PartId, &Conductor)> {
        self.parts()
            .filter_map(|(id, part)| Some((id, part.kind.as_conductor()?)))
    }

    /// The conductors that land on a terminal.
    pub fn conductors_at(&self, terminal: TerminalId) -> impl Iterator<Item = PartId> {
        self.conductors()
            .filter(move |(_, conductor)| conductor.ends.contains(&terminal))
            .map(|(id, _)| id)
    }

    /// The control, if there is one; a file holds at most one.
    #[must_use]
    pub fn control(&self) -> Option<(PartId, &part::ControlPart)> {
        self.parts()
            .find_map(|(id, part)| Some((id, part.kind.as_control()?)))
    }

    /// Every supply, in the order of the file.
    pub fn supplies(&self) -> impl Iterator<Item = (PartId, &supply::Supply)> {
        self.parts()
            .filter_map(|(id, part)| Some((id, part.kind.as_supply()?)))
    }

    /// Every load.
    pub fn loads(&self) -> impl Iterator<Item = RatedLoad> {
        self.parts().filter_map(|(id, part)| {
            let (connection, rated_v) = (part.kind.connection()?, part.kind.rated_v()?);
            let pair =
                |&(one, other): &(Role, Role)| Some((part.terminal(one)?, part.terminal(other)?));
            let terminals = connection.terminals.iter();
            Some(RatedLoad {
                part: id,
                terminals: terminals.filter_map(|&role| part.terminal(role)).collect(),
                across: connection.across.iter().filter_map(pair).collect(),
                rated_v,
            })
        })
    }

    /// Puts parts together and gives each its terminals; conductors name theirs already.
    pub(crate) fn assemble(
        title: String,
        about: String,
        frequency_hz: f64,
        parts: Vec<Part>,
    ) -> Self {
        let mut installation = Self {
            title,
            about,
            frequency_hz,
            parts,
            terminals: Vec::new(),
        };
        for (index, part) in installation.parts.iter_mut().enumerate() {
            let Some(id) = PartId::from_index(index) else {
                break;
            };
            for role in part.kind.roles() {
                if let Some(terminal) = TerminalId::from_index(installation.terminals.len()) {
                    installation.terminals.push((id, role));
                    part.terminals.push((role, terminal));
                }
            }
        }
        installation
    }

    /// Terminals by name.
    pub(crate) fn terminal_names(&self) -> HashMap<String, TerminalId> {
        self.terminals()
            .map(|id| (self.terminal_name(id), id))
            .collect()
    }
}
