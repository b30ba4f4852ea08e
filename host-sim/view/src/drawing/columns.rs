//! Which column each net stands in: from what is hot on the left to where it returns on the right.
//!
//! ```text
//! channel 0   slot 0   channel 1   slot 1   channel 2
//!    hot ----[fuse]------- a -----(load)----- neutral
//! ```
//!
//! Nets run down channels, symbols sit in slots. Fuses, switches and contacts lead from
//! either side towards the loads, which all stand in one slot.

use std::collections::VecDeque;

use super::schematic::{NetId, Schematic, Shape, Symbol};

/// The columns of a diagram.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Columns {
    channel_of: Vec<usize>,
    /// How many channels there are; one more than there are slots.
    pub channels: usize,
    /// The slot of the loads.
    pub load_slot: usize,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    /// So many channels from the left.
    Left(usize),
    /// So many channels from the right.
    Right(usize),
}

impl Place {
    fn further_in(self) -> Self {
        match self {
            Self::Left(depth) => Self::Left(depth + 1),
            Self::Right(depth) => Self::Right(depth + 1),
        }
    }
}

struct Placing<'s> {
    schematic: &'s Schematic,
    places: Vec<Option<Place>>,
}

impl Columns {
    /// Columns for all nets of a schematic.
    pub fn of(schematic: &Schematic) -> Self {
        let mut placing = Placing {
            schematic,
            places: vec![None; schematic.nets.len()],
        };
        placing.place_rails();
        placing.place_secondaries();
        placing.place_the_rest();
        let depth = |place: fn(Place) -> Option<usize>| {
            let depths = placing.places.iter().flatten();
            depths.filter_map(|&at| place(at)).max()
        };
        let lefts = depth(left).map_or(1, |deepest| deepest + 1);
        let rights = depth(right).map_or(1, |deepest| deepest + 1);
        let channels = lefts + rights;
        let channel_of = placing
            .places
            .iter()
            .map(|place| match place {
                Some(Place::Left(depth)) => *depth,
                Some(Place::Right(depth)) => channels - 1 - depth,
                None => 0,
            })
            .collect();
        Self {
            channel_of,
            channels,
            load_slot: lefts - 1,
        }
    }

    /// The channel of a net.
    pub fn channel(&self, net: NetId) -> usize {
        self.channel_of[net.0]
    }

    /// The slot for a symbol between two different channels, the first further left.
    pub fn slot_between(&self, left: usize, right: usize) -> usize {
        if (left..right).contains(&self.load_slot) {
            self.load_slot
        } else {
            left
        }
    }

    /// Whether a channel lies left of the loads.
    pub fn is_left(&self, channel: usize) -> bool {
        channel <= self.load_slot
    }
}

fn left(place: Place) -> Option<usize> {
    match place {
        Place::Left(depth) => Some(depth),
        Place::Right(_) => None,
    }
}

fn right(place: Place) -> Option<usize> {
    match place {
        Place::Right(depth) => Some(depth),
        Place::Left(_) => None,
    }
}

impl Placing<'_> {
    fn place_rails(&mut self) {
        let supplies = || self.schematic.symbols.iter().filter(is(Shape::Supply));
        let legs: Vec<(NetId, Place)> = supplies().flat_map(rails).collect();
        let neutrals: Vec<NetId> = supplies()
            .flat_map(|supply| &supply.under)
            .filter(|port| self.schematic.earthed(port).is_none())
            .filter_map(|port| port.net)
            .collect();
        self.spread(legs);
        // A neutral between two legs has a column of its own, with room for loads on either side.
        let inner = self
            .places
            .iter()
            .flatten()
            .filter_map(|&place| right(place))
            .max()
            .map_or(0, |deepest| deepest + 1);
        self.spread(neutrals.into_iter().map(|net| (net, Place::Right(inner))));
    }

    fn place_secondaries(&mut self) {
        let secondaries = self.schematic.symbols.iter().filter(is(Shape::Secondary));
        let ends: Vec<(NetId, Place)> = secondaries.flat_map(rails).collect();
        self.spread(ends);
    }

    /// Nets that no metal joins to a source: between loads in series, or cut off.
    fn place_the_rest(&mut self) {
        while let Some(lost) = self.places.iter().position(Option::is_none) {
            let beside = |net: usize| {
                let symbols = self.schematic.symbols.iter();
                let around = symbols.filter(move |symbol| touches(symbol, NetId(net)));
                around
                    .flat_map(|symbol| &symbol.ends)
                    .filter_map(|port| self.places[port.net?.0])
            };
            let beside_left = |net: usize| beside(net).filter_map(left).max();
            let next = (0..self.places.len())
                .filter(|&net| self.places[net].is_none())
                .find_map(|net| beside_left(net).map(|depth| (net, depth + 1)));
            let (net, depth) = next.unwrap_or_else(|| {
                let all = self.places.iter().flatten();
                let deepest = all.filter_map(|&place| left(place)).max();
                match beside(lost).next() {
                    Some(_) => (lost, deepest.unwrap_or(0)),
                    None => (lost, 0),
                }
            });
            self.spread([(NetId(net), Place::Left(depth))]);
        }
    }

    /// Places nets, and everything that fuses, switches and contacts lead on to from them.
    fn spread(&mut self, from: impl IntoIterator<Item = (NetId, Place)>) {
        let mut waiting: VecDeque<(NetId, Place)> = from.into_iter().collect();
        while let Some((net, place)) = waiting.pop_front() {
            if self.places[net.0].is_some() {
                continue;
            }
            self.places[net.0] = Some(place);
            let symbols = self.schematic.symbols.iter();
            for symbol in symbols.filter(|symbol| symbol.shape.leads_on()) {
                if touches(symbol, net) {
                    let nets = symbol.ends.iter().filter_map(|port| port.net);
                    waiting.extend(nets.map(|net| (net, place.further_in())));
                }
            }
        }
    }
}

fn is(shape: Shape) -> impl Fn(&&Symbol) -> bool {
    move |symbol| symbol.shape == shape
}

fn rails(source: &Symbol) -> impl Iterator<Item = (NetId, Place)> {
    let places = [Place::Left(0), Place::Right(0)];
    let ends = source.ends.iter().zip(places);
    ends.filter_map(|(port, place)| Some((port.net?, place)))
}

fn touches(symbol: &Symbol, net: NetId) -> bool {
    symbol.ends.iter().any(|port| port.net == Some(net))
}

#[cfg(test)]
mod tests {
    use super::super::samples::installation;
    use super::*;

    #[test]
    fn contacts_lead_from_the_left_and_loads_share_a_slot() {
        let schematic = Schematic::of(&installation("compressor-208"));
        let columns = Columns::of(&schematic);
        let mut loads = 0;
        for symbol in &schematic.symbols {
            let [Some(one), Some(other)] = symbol.ends.each_ref().map(|port| port.net) else {
                panic!("all ends are wired");
            };
            let (one, other) = (columns.channel(one), columns.channel(other));
            assert!(one != other, "{symbol:?}");
            if matches!(symbol.shape, Shape::Motor(_)) {
                loads += 1;
                let slot = columns.slot_between(one.min(other), one.max(other));
                assert_eq!(slot, columns.load_slot);
            }
        }
        assert_eq!(loads, 3);
    }
}
