//! How symbols are wired: rails down the channels, and the wires that join symbols to them.
//!
//! Heights are told in levels: each row has one, and below it each wire that has to pass
//! under a symbol has one of its own, so that no two wires ever lie on one another.

use super::columns::Columns;
use super::rail::{Join, PortAt, Purpose, Rail, Toward, Way};
use super::rows::Placed;
use super::schematic::{NetId, Schematic};

/// What lies at a level.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// The symbols of this row.
    Row(usize),
    /// A single wire below this row.
    Wire(usize),
    /// The earth symbol of a rail that ends below this row.
    Earth(usize),
}

/// Levels and rails.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wiring {
    /// What lies at each level, from the top.
    pub levels: Vec<Level>,
    /// All rails.
    pub rails: Vec<Rail>,
}

impl Wiring {
    /// Wires what is placed.
    pub fn of(schematic: &Schematic, columns: &Columns, placed: &[Placed]) -> Self {
        let mut wiring = Self {
            levels: Vec::new(),
            rails: Vec::new(),
        };
        let mut joins: Vec<Vec<Join>> = vec![Vec::new(); schematic.nets.len()];
        let rows = placed
            .iter()
            .map(|placed| placed.row + 1)
            .max()
            .unwrap_or(0);
        let last_row = |net: usize| {
            let joined = placed
                .iter()
                .filter(|at| is_joined(schematic, at.symbol, NetId(net)));
            joined.map(|at| at.row).max()
        };
        let last_rows: Vec<Option<usize>> = (0..schematic.nets.len()).map(last_row).collect();
        for row in 0..rows {
            let row_level = wiring.levels.len();
            wiring.levels.push(Level::Row(row));
            for at in placed.iter().filter(|placed| placed.row == row) {
                for (net, join) in wiring.joins_of(schematic, columns, at, row_level) {
                    joins[net.0].push(join);
                }
            }
            for (net, spec) in schematic.nets.iter().enumerate() {
                if last_rows[net] == Some(row) {
                    let own = std::mem::take(&mut joins[net]);
                    wiring.finish_line(NetId(net), columns, own, spec.bar, row);
                }
            }
        }
        super::tracks::assign(&mut wiring.rails, columns.channels);
        wiring
    }

    fn finish_line(
        &mut self,
        net: NetId,
        columns: &Columns,
        mut joins: Vec<Join>,
        bar: Option<usize>,
        row: usize,
    ) {
        joins.sort_by_key(|join| join.level);
        let levels = joins.iter().map(|join| join.level);
        let from = levels.clone().min().unwrap_or(0);
        let mut to = levels.max().unwrap_or(0);
        if bar.is_some() {
            to = self.levels.len();
            self.levels.push(Level::Earth(row));
        }
        self.rails.push(Rail {
            net,
            channel: columns.channel(net),
            from,
            to,
            track: 0,
            leaves: joins.iter().map(|join| (join.level, join.toward)).collect(),
            purpose: Purpose::Line(joins),
            earth: bar,
        });
    }

    fn joins_of(
        &mut self,
        schematic: &Schematic,
        columns: &Columns,
        at: &Placed,
        row_level: usize,
    ) -> Vec<(NetId, Join)> {
        let symbol = &schematic.symbols[at.symbol];
        let mut joins = Vec::new();
        for (index, port) in symbol.ends.iter().enumerate() {
            let Some(net) = port.net else { continue };
            let is_left = at.left == index;
            let returning = at.returning.filter(|returning| returning.end == index);
            let (level, way, toward) = match returning {
                None if is_left => (row_level, Way::Straight, Toward::Right),
                None => (row_level, Way::Straight, Toward::Left),
                Some(returning) => {
                    let level = self.levels.len();
                    self.levels.push(Level::Wire(at.row));
                    let (back, out) = if is_left {
                        (Toward::Right, Toward::Left)
                    } else {
                        (Toward::Left, Toward::Right)
                    };
                    let rail = self.rails.len();
                    self.rails.push(Rail {
                        net,
                        channel: returning.channel,
                        from: row_level,
                        to: level,
                        track: 0,
                        purpose: Purpose::Turn,
                        leaves: vec![(row_level, back), (level, back)],
                        earth: None,
                    });
                    (level, Way::Return { rail }, out)
                }
            };
            let port = PortAt::End(index);
            joins.push((
                net,
                Join {
                    symbol: at.symbol,
                    port,
                    level,
                    toward,
                    way,
                },
            ));
        }
        for (index, port) in symbol.under.iter().enumerate() {
            let Some(net) = port.net.filter(|_| schematic.earthed(port).is_none()) else {
                continue;
            };
            let level = self.levels.len();
            self.levels.push(Level::Wire(at.row));
            let toward = if columns.channel(net) <= at.slot {
                Toward::Right
            } else {
                Toward::Left
            };
            joins.push((
                net,
                Join {
                    symbol: at.symbol,
                    port: PortAt::Under(index),
                    level,
                    toward,
                    way: Way::Drop,
                },
            ));
        }
        joins
    }
}

fn is_joined(schematic: &Schematic, symbol: usize, net: NetId) -> bool {
    let symbol = &schematic.symbols[symbol];
    let ends = symbol.ends.iter().any(|port| port.net == Some(net));
    let mut under = symbol.under.iter();
    ends || under.any(|port| port.net == Some(net) && schematic.earthed(port).is_none())
}
