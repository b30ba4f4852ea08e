//! What a network is made of: elements, each of which knows its nodes, what it adds to the
//! nodal equations, and what flows in it.
//!
//! An element has one current and any number of nodes: out of each comes so much of it. A part
//! with several currents is several elements, which may meet at nodes inside it.

use nalgebra::Complex;

use super::terminal::{PartId, Role, TerminalId};

/// A node of the network; the terminals come first, in their own order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Node {
    /// The reference.
    Earth,
    /// The node with this number, from 0.
    At(usize),
}

impl From<TerminalId> for Node {
    fn from(terminal: TerminalId) -> Self {
        Self::At(terminal.index())
    }
}

/// One element between nodes.
#[derive(Debug, Clone, PartialEq)]
pub enum Element {
    /// A series resistance and reactance, in ohms.
    Impedance {
        /// From here.
        a: Node,
        /// To here.
        b: Node,
        /// Resistance and reactance.
        ohm: Complex<f64>,
    },
    /// A capacitance between two nodes, in farads.
    Capacitance {
        /// From here.
        a: Node,
        /// To here.
        b: Node,
        /// How much.
        farad: f64,
    },
    /// A voltage to earth behind a resistance.
    Source {
        /// The node.
        node: Node,
        /// The voltage, as a phasor of effective value.
        volts: Complex<f64>,
        /// The resistance.
        ohm: f64,
    },
    /// An ideal transformer with a resistance in its secondary.
    Coupling {
        /// The primary's ends.
        primary: [Node; 2],
        /// The secondary's ends.
        secondary: [Node; 2],
        /// Secondary volts for each primary volt, with no load.
        ratio: f64,
        /// The resistance.
        ohm: f64,
    },
}

/// An element, and the part and terminal that it belongs to.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch {
    /// The part; absent for stray capacitance.
    pub part: Option<PartId>,
    /// The terminal or pole that tells the part's elements apart.
    pub role: Role,
    /// The element.
    pub element: Element,
}

/// Nodal equations being gathered.
pub(super) trait Stamp {
    /// Adds to the admittance between two nodes, by symmetry either way round, or to that of one.
    fn siemens(&mut self, one: usize, other: usize, siemens: Complex<f64>);

    /// Adds to the current driven into a node.
    fn amps(&mut self, node: usize, amps: Complex<f64>);
}

impl Element {
    /// Tells `hear` the nodes, and how much of the element's current comes out of it at each:
    /// less than nothing where it goes in. The nodes differ, as different terminals always do.
    fn tell<T>(&self, hear: impl FnOnce(&[(Node, f64)]) -> T) -> T {
        match *self {
            Self::Impedance { a, b, .. } | Self::Capacitance { a, b, .. } => {
                hear(&[(a, -1.0), (b, 1.0)])
            }
            Self::Source { node, .. } => hear(&[(node, 1.0)]),
            Self::Coupling {
                primary: [p1, p2],
                secondary: [s1, s2],
                ratio,
                ..
            } => hear(&[(s1, 1.0), (s2, -1.0), (p1, -ratio), (p2, ratio)]),
        }
    }

    /// Every two nodes that it joins, the earth left out.
    pub(super) fn pairs(&self) -> Vec<(usize, usize)> {
        self.tell(|shares| {
            let mut pairs = Vec::new();
            for (at, &(one, _)) in shares.iter().enumerate() {
                for &(other, _) in &shares[at + 1..] {
                    if let (Node::At(one), Node::At(other)) = (one, other) {
                        pairs.push((one, other));
                    }
                }
            }
            pairs
        })
    }

    /// Adds what it means for the equations: its current is what its nodes drive through its
    /// admittance, each by its share, so that every two of them meet in the product of theirs.
    pub(super) fn stamp(&self, equations: &mut impl Stamp, radians_per_s: f64) {
        match *self {
            Self::Impedance { ohm, .. } => {
                let siemens = ohm.inv();
                self.stamp_shares(equations, |share| siemens * share);
            }
            Self::Capacitance { farad, .. } => {
                let siemens = radians_per_s * farad;
                self.stamp_shares(equations, |share| Complex::new(0.0, siemens * share));
            }
            Self::Source { node, volts, ohm } => {
                self.stamp_shares(equations, |share| Complex::from(share / ohm));
                if let Node::At(index) = node {
                    equations.amps(index, volts / ohm);
                }
            }
            Self::Coupling { ohm, .. } => {
                self.stamp_shares(equations, |share| Complex::from(share / ohm));
            }
        }
    }

    fn stamp_shares(&self, equations: &mut impl Stamp, siemens: impl Fn(f64) -> Complex<f64>) {
        self.tell(|shares| {
            for (at, &(one, own)) in shares.iter().enumerate() {
                for &(other, others) in &shares[at..] {
                    if let (Node::At(one), Node::At(other)) = (one, other) {
                        equations.siemens(one, other, siemens(own * others));
                    }
                }
            }
        });
    }

    /// Its current, in amperes, with the nodes at these voltages: into a source's node, out of a
    /// coupling's secondary at its first end, otherwise from `a` to `b`.
    pub(super) fn current_a(
        &self,
        node_v: impl Fn(Node) -> Complex<f64>,
        radians_per_s: f64,
    ) -> Complex<f64> {
        match *self {
            Self::Impedance { a, b, ohm } => (node_v(a) - node_v(b)) / ohm,
            Self::Capacitance { a, b, farad } => {
                (node_v(a) - node_v(b)) * Complex::new(0.0, radians_per_s * farad)
            }
            Self::Source { node, volts, ohm } => (volts - node_v(node)) / ohm,
            Self::Coupling {
                primary: [p1, p2],
                secondary: [s1, s2],
                ratio,
                ohm,
            } => {
                let inside = (node_v(p1) - node_v(p2)) * ratio;
                (inside - (node_v(s1) - node_v(s2))) / ohm
            }
        }
    }

    /// How much comes out of it at a node while it carries this current, in amperes.
    #[must_use]
    pub fn out_of_a(&self, at: Node, current_a: Complex<f64>) -> Complex<f64> {
        self.tell(|shares| {
            let here = shares.iter().filter(|(node, _)| *node == at);
            here.map(|&(_, share)| current_a * share).sum()
        })
    }

    /// The power that it turns into heat or work while it carries this current, in watts; for a
    /// source, what it delivers.
    #[must_use]
    pub fn power_w(&self, current_a: Complex<f64>) -> f64 {
        match *self {
            Self::Impedance { ohm, .. } => current_a.norm_sqr() * ohm.re,
            Self::Capacitance { .. } => 0.0,
            Self::Source { volts, ohm, .. } => {
                (volts * current_a.conj()).re - current_a.norm_sqr() * ohm
            }
            Self::Coupling { ohm, .. } => current_a.norm_sqr() * ohm,
        }
    }
}
