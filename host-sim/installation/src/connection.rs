//! How a load is connected: its terminals, and the windings between them.
//!
//! A load is a set of terminals and as many windings (or heating elements, or filaments) as it
//! has, each from a terminal to another or to a point inside the load, where several may meet.

use nalgebra::Complex;

use super::terminal::{Ordinal, Pole, Role};

/// Where a winding ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WindingEnd {
    /// At a terminal of the load.
    Terminal(Role),
    /// At the point inside the load with this number, from 0, which is brought out nowhere.
    Inside(usize),
}

/// One way for current through a load.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Winding {
    /// The terminal that it starts from, which tells it from the others.
    pub from: Role,
    /// Where it ends.
    pub to: WindingEnd,
}

/// How a load is connected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Connection {
    /// Its terminals, the frame left out.
    pub terminals: &'static [Role],
    /// Its windings; each terminal is an end of one.
    pub windings: &'static [Winding],
    /// The terminals that its rated voltage stands between: each of these pairs gets it.
    pub across: &'static [(Role, Role)],
    /// How many points inside it windings meet at.
    pub inner_points: usize,
}

/// The first line terminal of a load.
const LINE1: Role = Role::Line(Pole::Nth(Ordinal::FIRST));
/// The second.
const LINE2: Role = Role::Line(Pole::Nth(Ordinal::SECOND));

impl Connection {
    /// One winding between two line terminals.
    pub const SINGLE_PHASE: Self = Self {
        terminals: &[LINE1, LINE2],
        windings: &[Winding {
            from: LINE1,
            to: WindingEnd::Terminal(LINE2),
        }],
        across: &[(LINE1, LINE2)],
        inner_points: 0,
    };

    /// The coil of a contactor.
    pub const COIL: Self = Self {
        terminals: &[Role::Coil1, Role::Coil2],
        windings: &[Winding {
            from: Role::Coil1,
            to: WindingEnd::Terminal(Role::Coil2),
        }],
        across: &[(Role::Coil1, Role::Coil2)],
        inner_points: 0,
    };

    /// The lowest voltage that it gets across any two terminals, as a fraction of the rated one:
    /// a load is no better off than the worst fed of its phases. `between_v` may know no voltage
    /// for a pair, which then counts as none.
    #[must_use]
    pub fn fraction(
        &self,
        rated_v: f64,
        between_v: impl Fn(Role, Role) -> Option<Complex<f64>>,
    ) -> f64 {
        self.across
            .iter()
            .map(|&(one, other)| between_v(one, other).map_or(0.0, |volts| volts.norm() / rated_v))
            .reduce(f64::min)
            .unwrap_or(0.0)
    }
}
