//! A vertical line, and the wires that join ports to it.

use super::schematic::{NetId, Port, Symbol};

/// A port of a symbol.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PortAt {
    /// One of its ends.
    End(usize),
    /// One of the ports below it.
    Under(usize),
}

impl PortAt {
    /// The port itself.
    pub fn of(self, symbol: &Symbol) -> &Port {
        match self {
            Self::End(index) => &symbol.ends[index],
            Self::Under(index) => &symbol.under[index],
        }
    }
}

/// Which way a wire leaves a rail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Toward {
    /// To the left.
    Left,
    /// To the right.
    Right,
}

/// A wire that joins a port to a rail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Join {
    /// The symbol.
    pub symbol: usize,
    /// The port.
    pub port: PortAt,
    /// The level at which it reaches the rail.
    pub level: usize,
    /// The side on which it does.
    pub toward: Toward,
    /// The way it takes.
    pub way: Way,
}

/// The way of a wire from a port to its rail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Along the row.
    Straight,
    /// Down from below the symbol, then along a level of its own.
    Drop,
    /// Along the row to a rail of its own, down it, then back along a level of its own.
    Return {
        /// The rail of its own.
        rail: usize,
    },
}

/// What a rail is there for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Purpose {
    /// The line of a net, with all that joins it.
    Line(Vec<Join>),
    /// Where the wire of one port turns back.
    Turn,
}

/// A vertical line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rail {
    /// The net it belongs to.
    pub net: NetId,
    /// The channel it stands in.
    pub channel: usize,
    /// Its uppermost level.
    pub from: usize,
    /// Its lowest level.
    pub to: usize,
    /// Its place in the channel, from the left.
    pub track: usize,
    /// What it is there for.
    pub purpose: Purpose,
    /// Where wires leave it, for counting crossings.
    pub leaves: Vec<(usize, Toward)>,
    /// The ground bar whose earth symbol it ends in.
    pub earth: Option<usize>,
}
