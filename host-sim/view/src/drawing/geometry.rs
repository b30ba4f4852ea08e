//! Where everything comes to lie, in pixels from the upper left corner.

use nalgebra::Complex;

use super::columns::Columns;
use super::flow::{Flow, Look};
use super::rail::{Join, PortAt, Purpose, Rail, Way};
use super::rows::Placed;
use super::schematic::{NetId, Schematic, Symbol};
use super::symbols::{self, HALF_HEIGHT, UNDER_Y, under_x};
use super::wiring::{Level, Wiring};
use super::words::{self, Line, TEXT_PX, Tells};

/// From one track to the next.
const TRACK: i32 = 22;
/// From the side of a channel to its first track.
const CHANNEL_SIDE: i32 = 18;
/// From a symbol to the label of a terminal.
pub const LABEL_GAP: i32 = 6;
/// From the middle of a terminal below a symbol to its name, clear of an earth symbol.
pub const UNDER_LABEL_GAP: i32 = 15;
/// From one line of text to the next.
pub const LINE: i32 = 15;
/// Half the width of the bow with which a wire passes over another.
pub const BOW: i32 = 6;
/// Height of a level that holds a single wire.
const WIRE_LEVEL: i32 = 20;
/// Height of a level that holds the earth symbol of a rail.
const EARTH_LEVEL: i32 = 38;
/// From a port below a symbol, or the end of a rail, to the foot of its earth symbol.
pub const EARTH_HEIGHT: i32 = 18;
/// From the foot of an earth symbol to the number below it.
pub const TAG: i32 = 11;

/// A point.
pub type Point = (i32, i32);

/// A symbol with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Its place in [`Schematic::symbols`].
    pub symbol: usize,
    /// Which of its ends is on the left.
    pub left: usize,
    /// Its centre.
    pub centre: Point,
    /// The lines above it.
    pub lines: Vec<Line>,
}

/// A straight piece of wire.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Piece {
    /// Its net.
    pub net: NetId,
    /// Its upper or left end.
    pub from: Point,
    /// Its lower or right end.
    pub to: Point,
    /// How it is drawn.
    pub look: Look,
    /// Where it passes over other wires, from the left.
    pub bows: Vec<i32>,
}

/// Where wires of a net are joined.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dot {
    /// The net.
    pub net: NetId,
    /// Its place.
    pub at: Point,
    /// How it is drawn.
    pub look: Look,
}

/// The whole.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Geometry {
    /// The symbols.
    pub figures: Vec<Figure>,
    /// The wires.
    pub pieces: Vec<Piece>,
    /// Where wires of a net are joined.
    pub dots: Vec<Dot>,
    /// Earth symbols of rails, with their bars.
    pub earths: Vec<(usize, Point)>,
    /// Width and height.
    pub size: Point,
}

struct Grid {
    channel_x: Vec<i32>,
    slot_x: Vec<i32>,
    level_y: Vec<i32>,
    size: Point,
}

/// The half of a symbol's room to one side: to its edge, and with the label of its terminal.
fn half_room(symbol: &Symbol, end: usize) -> i32 {
    let label = symbol.ends[end].role.map_or(0, |role| {
        LABEL_GAP + words::width(&role.name(), TEXT_PX, false)
    });
    symbols::half_width(symbol.shape) + label
}

fn slot_room(symbol: &Symbol, lines: &[Line]) -> i32 {
    let line = |line: &Line| match line.tells {
        Tells::Name => words::width(&line.text, words::NAME_PX, true),
        Tells::Kind | Tells::Status | Tells::Trouble => words::width(&line.text, TEXT_PX, true),
    };
    let text = lines.iter().map(line).max().unwrap_or(0);
    let under = symbol.under.iter().enumerate().map(|(index, port)| {
        let label = port
            .role
            .map_or(0, |role| words::width(&role.name(), TEXT_PX, false));
        2 * (under_x(symbol, index).abs() + UNDER_LABEL_GAP + label)
    });
    let ends = 2 * half_room(symbol, 0).max(half_room(symbol, 1));
    text.max(under.max().unwrap_or(0)).max(ends)
}

impl Geometry {
    /// Lays everything out.
    pub fn of(
        schematic: &Schematic,
        columns: &Columns,
        placed: &[Placed],
        flow: &Flow<'_>,
        lines: &[Vec<Line>],
    ) -> Self {
        let wiring = Wiring::of(schematic, columns, placed);
        let grid = Grid::of(schematic, columns, placed, &wiring, lines);
        let row_level: Vec<usize> = (0..wiring.levels.len())
            .filter(|&level| matches!(wiring.levels[level], Level::Row(_)))
            .collect();
        let mut geometry = Self {
            size: grid.size,
            ..Self::default()
        };
        for at in placed {
            geometry.figures.push(Figure {
                symbol: at.symbol,
                left: at.left,
                centre: (grid.slot_x[at.slot], grid.level_y[row_level[at.row]]),
                lines: lines[at.symbol].clone(),
            });
        }
        geometry.figures.sort_by_key(|figure| figure.symbol);
        for rail in &wiring.rails {
            if let Purpose::Line(joins) = &rail.purpose {
                geometry.draw_line(schematic, &wiring, &grid, flow, rail, joins);
            }
        }
        geometry.add_bows();
        geometry
    }

    fn draw_line(
        &mut self,
        schematic: &Schematic,
        wiring: &Wiring,
        grid: &Grid,
        flow: &Flow<'_>,
        rail: &Rail,
        joins: &[Join],
    ) {
        let net = rail.net;
        let x = grid.rail_x(rail);
        let mut levels: Vec<usize> = joins.iter().map(|join| join.level).collect();
        levels.extend(rail.earth.map(|_| rail.to));
        levels.dedup();
        let mut down_a = Complex::ZERO;
        for (place, &level) in levels.iter().enumerate() {
            let y = grid.level_y[level];
            let here = joins.iter().filter(|join| join.level == level);
            let arms = usize::from(place > 0) + usize::from(place + 1 < levels.len());
            let mut joint_a = vec![down_a];
            for join in here {
                let symbol = &schematic.symbols[join.symbol];
                let amps = flow.current_a(symbol, join.port.of(symbol));
                down_a += amps;
                joint_a.push(amps);
                self.draw_join(
                    wiring,
                    grid,
                    symbol,
                    join,
                    (x, y),
                    (net, flow.look(net.0, amps)),
                );
            }
            if arms + joint_a.len() > 3 {
                let look = flow.joint(net.0, &joint_a);
                let at = (x, y);
                self.dots.push(Dot { net, at, look });
            }
            if let Some(&next) = levels.get(place + 1) {
                let look = flow.look(net.0, down_a);
                self.piece(net, (x, y), (x, grid.level_y[next]), look);
            }
        }
        if let Some(bar) = rail.earth {
            self.earths.push((bar, (x, grid.level_y[rail.to])));
        }
    }

    fn draw_join(
        &mut self,
        wiring: &Wiring,
        grid: &Grid,
        symbol: &Symbol,
        join: &Join,
        at: Point,
        (net, look): (NetId, Look),
    ) {
        let Some(figure) = self
            .figures
            .binary_search_by_key(&join.symbol, |figure| figure.symbol)
            .ok()
            .map(|index| &self.figures[index])
        else {
            return;
        };
        let port = port_place(symbol, figure, join.port);
        match join.way {
            Way::Straight => self.piece(net, port, at, look),
            Way::Drop => {
                let corner = (port.0, at.1);
                self.piece(net, port, corner, look);
                self.piece(net, corner, at, look);
            }
            Way::Return { rail } => {
                let turn = grid.rail_x(&wiring.rails[rail]);
                self.piece(net, port, (turn, port.1), look);
                self.piece(net, (turn, port.1), (turn, at.1), look);
                self.piece(net, (turn, at.1), at, look);
            }
        }
    }

    fn piece(&mut self, net: NetId, one: Point, other: Point, look: Look) {
        self.pieces.push(Piece {
            net,
            from: one.min(other),
            to: one.max(other),
            look,
            bows: Vec::new(),
        });
    }

    /// Level wires pass over upright ones that they only cross.
    fn add_bows(&mut self) {
        let upright: Vec<(Point, Point)> = self
            .pieces
            .iter()
            .filter(|piece| piece.from.0 == piece.to.0)
            .map(|piece| (piece.from, piece.to))
            .collect();
        for piece in self
            .pieces
            .iter_mut()
            .filter(|piece| piece.from.0 < piece.to.0)
        {
            let y = piece.from.1;
            let crossed = upright.iter().filter(|(from, to)| {
                let across = piece.from.0 < from.0 && from.0 < piece.to.0;
                across && from.1 < y && y < to.1
            });
            piece.bows = crossed.map(|(from, _)| from.0).collect();
            piece.bows.sort_unstable();
        }
    }
}

/// Where a port of a symbol is.
pub fn port_place(symbol: &Symbol, figure: &Figure, port: PortAt) -> Point {
    let (x, y) = figure.centre;
    match port {
        PortAt::End(end) => {
            let half = symbols::half_width(symbol.shape);
            (
                if end == figure.left {
                    x - half
                } else {
                    x + half
                },
                y,
            )
        }
        PortAt::Under(index) => (x + under_x(symbol, index), y + UNDER_Y),
    }
}

impl Grid {
    fn of(
        schematic: &Schematic,
        columns: &Columns,
        placed: &[Placed],
        wiring: &Wiring,
        lines: &[Vec<Line>],
    ) -> Self {
        let mut x = 0;
        let (mut channel_x, mut slot_x) = (Vec::new(), Vec::new());
        for channel in 0..columns.channels {
            let own = wiring.rails.iter().filter(|rail| rail.channel == channel);
            let tracks = own.map(|rail| rail.track + 1).max().unwrap_or(1);
            channel_x.push(x + CHANNEL_SIDE);
            x += 2 * CHANNEL_SIDE + TRACK * (i32::try_from(tracks).unwrap_or(i32::MAX) - 1);
            if channel + 1 < columns.channels {
                let own = placed.iter().filter(|at| at.slot == channel);
                let room =
                    own.map(|at| slot_room(&schematic.symbols[at.symbol], &lines[at.symbol]));
                let room = room.max().unwrap_or(0);
                slot_x.push(x + room / 2);
                x += room;
            }
        }
        let mut y = 0;
        let mut level_y = Vec::new();
        for level in &wiring.levels {
            match *level {
                Level::Row(row) => {
                    let own = || placed.iter().filter(|at| at.row == row);
                    let most = own().map(|at| lines[at.symbol].len()).max().unwrap_or(0);
                    let starts = own().any(|at| schematic.symbols[at.symbol].starts_section());
                    let under = own().any(|at| !schematic.symbols[at.symbol].under.is_empty());
                    y += if starts && row > 0 { 2 * LINE } else { 0 };
                    y += LINE * i32::try_from(most).unwrap_or(i32::MAX) + HALF_HEIGHT + 8;
                    level_y.push(y);
                    y += if under {
                        UNDER_Y + EARTH_HEIGHT
                    } else {
                        HALF_HEIGHT
                    } + 10;
                }
                Level::Wire(_) => {
                    level_y.push(y + WIRE_LEVEL / 2);
                    y += WIRE_LEVEL;
                }
                Level::Earth(_) => {
                    level_y.push(y);
                    y += EARTH_LEVEL;
                }
            }
        }
        Self {
            channel_x,
            slot_x,
            level_y,
            size: (x, y),
        }
    }

    fn rail_x(&self, rail: &Rail) -> i32 {
        self.channel_x[rail.channel] + TRACK * i32::try_from(rail.track).unwrap_or(i32::MAX)
    }
}
