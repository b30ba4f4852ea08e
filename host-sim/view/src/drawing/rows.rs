//! Which row each symbol sits in: one rung under another, and what follows on, on the same rung.

use super::columns::Columns;
use super::schematic::{NetId, Port, Schematic, Shape, Symbol};

/// A symbol in its slot and row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placed {
    /// Its place in [`Schematic::symbols`].
    pub symbol: usize,
    /// Which of its ends is on the left.
    pub left: usize,
    /// The slot it sits in.
    pub slot: usize,
    /// The row it sits in, from 0.
    pub row: usize,
    /// The end whose wire turns back below the symbol, as both nets stand on one side of it.
    pub returning: Option<Returning>,
}

/// A wire that turns back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Returning {
    /// The end of the symbol it comes from.
    pub end: usize,
    /// The channel it turns in.
    pub channel: usize,
}

/// What part of a row is taken, in half columns: channel c is 2c, slot s is 2s + 1.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    from: usize,
    to: usize,
    nets: [Option<NetId>; 2],
}

impl Stretch {
    /// Whether both fit into one row: apart, or meeting in the column of the same net.
    fn fits_with(&self, other: &Self) -> bool {
        let after = |one: &Self, next: &Self| {
            one.to < next.from
                || (one.to == next.from && one.nets[1].is_some() && one.nets[1] == next.nets[0])
        };
        after(self, other) || after(other, self)
    }
}

/// Puts every symbol into a row; the answer is in the order of [`Schematic::symbols`].
pub fn place(schematic: &Schematic, columns: &Columns) -> Vec<Placed> {
    let mut rows = Rows {
        schematic,
        columns,
        taken: Vec::new(),
        placed: vec![None; schematic.symbols.len()],
    };
    for (index, symbol) in schematic.symbols.iter().enumerate() {
        if symbol.shape == Shape::Supply {
            rows.section(index);
        }
    }
    for index in 0..schematic.symbols.len() {
        if rows.placed[index].is_none() {
            rows.section(index);
        }
    }
    rows.placed.into_iter().flatten().collect()
}

struct Rows<'s> {
    schematic: &'s Schematic,
    columns: &'s Columns,
    taken: Vec<Vec<Stretch>>,
    placed: Vec<Option<Placed>>,
}

impl Rows<'_> {
    /// Starts a new row with a symbol, and goes on from its ends.
    fn section(&mut self, index: usize) {
        self.put(index, None);
        let symbol = &self.schematic.symbols[index];
        for port in symbol.ends.iter().chain(&symbol.under) {
            if let Some(net) = port.net {
                self.follow(net, None);
            }
        }
    }

    /// Places everything that leads on to the right from a net, the first of it in `row`.
    fn follow(&mut self, net: NetId, row: Option<usize>) {
        let mut row = row;
        let mut onward: Vec<usize> = (0..self.schematic.symbols.len())
            .filter(|&index| self.left_net(index) == Some(net))
            .collect();
        onward.sort_by_key(|&index| {
            let symbol = &self.schematic.symbols[index];
            (self.leads_to_primary(index), symbol.shape.leads_on(), index)
        });
        for index in onward {
            let shape = self.schematic.symbols[index].shape;
            if self.placed[index].is_some() || shape == Shape::Supply {
                continue;
            }
            let in_row = self.put(index, row.take());
            if let Some(right) = self.right_net(index) {
                self.follow(right, Some(in_row));
            }
            if shape == Shape::Primary {
                self.secondary_of(index);
            }
        }
    }

    fn secondary_of(&mut self, primary: usize) {
        let symbols = &self.schematic.symbols;
        let part = symbols[primary].part;
        let secondary = symbols
            .iter()
            .position(|symbol| symbol.part == part && symbol.shape == Shape::Secondary);
        if let Some(secondary) = secondary.filter(|&index| self.placed[index].is_none()) {
            self.section(secondary);
        }
    }

    /// Puts a symbol into that row if it fits there, otherwise into a new one.
    fn put(&mut self, index: usize, row: Option<usize>) -> usize {
        let (stretch, mut placed) = self.stretch(index);
        let fits = |row: &usize| {
            self.taken[*row]
                .iter()
                .all(|other| stretch.fits_with(other))
        };
        placed.row = row.filter(fits).unwrap_or(self.taken.len());
        if placed.row == self.taken.len() {
            self.taken.push(Vec::new());
        }
        let row = placed.row;
        self.taken[row].push(stretch);
        self.placed[index] = Some(placed);
        row
    }

    fn stretch(&self, index: usize) -> (Stretch, Placed) {
        let symbol = &self.schematic.symbols[index];
        let last = self.columns.channels - 1;
        let left = self.left_end(symbol);
        let nets = [&symbol.ends[left], &symbol.ends[1 - left]].map(|port| port.net);
        let channels = nets.map(|net| net.map(|net| self.columns.channel(net)));
        let mut placed = Placed {
            symbol: index,
            left,
            slot: self.columns.load_slot,
            row: 0,
            returning: None,
        };
        let (from, to, nets) = match channels {
            [Some(one), Some(other)] if one != other => {
                placed.slot = self.columns.slot_between(one, other);
                (2 * one, 2 * other, nets)
            }
            [Some(one), Some(_)] if one < last => {
                placed.slot = one;
                placed.returning = Some(Returning {
                    end: 1 - left,
                    channel: one + 1,
                });
                (2 * one, 2 * one + 2, [nets[0], None])
            }
            [Some(one), Some(_)] => {
                placed.slot = one - 1;
                placed.returning = Some(Returning {
                    end: left,
                    channel: one - 1,
                });
                (2 * one - 2, 2 * one, [None, nets[1]])
            }
            [Some(one), None] => {
                placed.slot = self.slot_right_of(symbol, one);
                (2 * one, 2 * placed.slot + 1, nets)
            }
            [None, Some(other)] => {
                placed.slot = other - 1;
                (2 * placed.slot + 1, 2 * other, nets)
            }
            [None, None] => (2 * placed.slot + 1, 2 * placed.slot + 1, nets),
        };
        (Stretch { from, to, nets }, placed)
    }

    fn slot_right_of(&self, symbol: &Symbol, channel: usize) -> usize {
        if symbol.shape.leads_on() {
            channel
        } else {
            self.columns.load_slot.max(channel)
        }
    }

    /// Which end goes left: the one whose net stands further left; a loose end points away.
    fn left_end(&self, symbol: &Symbol) -> usize {
        let channel = |port: &Port| port.net.map(|net| self.columns.channel(net));
        match symbol.ends.each_ref().map(channel) {
            [Some(one), Some(other)] => usize::from(one > other),
            [Some(one), None] => usize::from(!self.columns.is_left(one)),
            [None, Some(other)] => usize::from(self.columns.is_left(other)),
            [None, None] => 0,
        }
    }

    fn left_net(&self, index: usize) -> Option<NetId> {
        let symbol = &self.schematic.symbols[index];
        let left = self.left_end(symbol);
        symbol.ends[left].net.or(symbol.ends[1 - left].net)
    }

    fn right_net(&self, index: usize) -> Option<NetId> {
        let symbol = &self.schematic.symbols[index];
        symbol.ends[1 - self.left_end(symbol)].net
    }

    /// Whether the way to the right from a symbol comes to a transformer: then it goes last,
    /// and what the transformer feeds comes right below it.
    fn leads_to_primary(&self, index: usize) -> bool {
        let mut seen = vec![false; self.schematic.symbols.len()];
        let mut waiting = vec![index];
        while let Some(at) = waiting.pop() {
            if std::mem::replace(&mut seen[at], true) {
                continue;
            }
            let shape = self.schematic.symbols[at].shape;
            if shape == Shape::Primary {
                return true;
            }
            let Some(net) = self.right_net(at).filter(|_| shape.leads_on()) else {
                continue;
            };
            let onward = (0..seen.len()).filter(|&next| self.left_net(next) == Some(net));
            waiting.extend(onward);
        }
        false
    }
}
