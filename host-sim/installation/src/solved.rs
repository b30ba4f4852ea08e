//! A network solved: complex nodal analysis at its frequency.

use std::f64::consts::PI;

use nalgebra::Complex;

use super::elimination::{Equations, Factors, Plan};
use super::network::{Branch, Element, Network, Node};

/// Which nodes of a network touch which; worked out once for all networks of that shape.
#[derive(Debug, Clone)]
pub struct Shape(Plan);

impl Shape {
    /// The shape of a network.
    #[must_use]
    pub fn of(network: &Network) -> Self {
        let pairs = network
            .branches
            .iter()
            .flat_map(|branch| pairs_of(&branch.element));
        Self(Plan::new(network.nodes, pairs))
    }

    /// Solves a network of this shape.
    ///
    /// # Panics
    /// When the network has another number of nodes. One whose elements join other nodes
    /// than those the shape was made of is solved wrongly.
    #[must_use]
    pub fn solve(&self, network: Network) -> Solved<'_> {
        let mut equations = Equations::new(&self.0);
        let mut amps = vec![Complex::ZERO; network.nodes];
        let radians_per_s = 2.0 * PI * network.frequency_hz;
        for branch in &network.branches {
            stamp(&mut equations, &mut amps, &branch.element, radians_per_s);
        }
        let factors = equations.factor();
        let volts = factors.solve(&amps);
        Solved {
            network,
            factors,
            volts,
        }
    }
}

fn pairs_of(element: &Element) -> Vec<(usize, usize)> {
    let nodes: Vec<usize> = match element {
        Element::Impedance { a, b, .. } | Element::Capacitance { a, b, .. } => vec![*a, *b],
        Element::Source { .. } => Vec::new(),
        Element::Coupling {
            primary, secondary, ..
        } => primary.iter().chain(secondary).copied().collect(),
    }
    .into_iter()
    .filter_map(|node| match node {
        Node::Earth => None,
        Node::At(index) => Some(index),
    })
    .collect();
    let mut pairs = Vec::new();
    for (at, &one) in nodes.iter().enumerate() {
        pairs.extend(nodes[at + 1..].iter().map(|&other| (one, other)));
    }
    pairs
}

fn stamp(
    equations: &mut Equations<'_>,
    amps: &mut [Complex<f64>],
    element: &Element,
    radians_per_s: f64,
) {
    match *element {
        Element::Impedance { a, b, ohm } => between(equations, a, b, ohm.inv()),
        Element::Capacitance { a, b, farad } => {
            between(equations, a, b, Complex::new(0.0, radians_per_s * farad));
        }
        Element::Source { node, volts, ohm } => {
            between(equations, node, Node::Earth, Complex::from(1.0 / ohm));
            if let Node::At(index) = node {
                amps[index] += volts / ohm;
            }
        }
        Element::Coupling {
            primary,
            secondary,
            ratio,
            ohm,
        } => {
            // Current into the secondary is (v_s - ratio v_p) / ohm, and the primary gives
            // ratio times as much: the product of a column of weights and its transpose.
            // The four ends are different nodes, as different terminals always are.
            let weighted = [
                (secondary[0], 1.0),
                (secondary[1], -1.0),
                (primary[0], -ratio),
                (primary[1], ratio),
            ];
            for (at, &(one, own)) in weighted.iter().enumerate() {
                for &(other, others) in &weighted[at..] {
                    if let (Node::At(row), Node::At(column)) = (one, other) {
                        equations.add(row, column, Complex::from(own * others / ohm));
                    }
                }
            }
        }
    }
}

fn between(equations: &mut Equations<'_>, a: Node, b: Node, siemens: Complex<f64>) {
    for node in [a, b] {
        if let Node::At(index) = node {
            equations.add(index, index, siemens);
        }
    }
    if let (Node::At(one), Node::At(other)) = (a, b) {
        equations.add(one, other, -siemens);
    }
}

/// The voltages of a network.
#[derive(Debug, Clone)]
pub struct Solved<'s> {
    network: Network,
    factors: Factors<'s>,
    volts: Vec<Complex<f64>>,
}

impl Solved<'_> {
    /// The network that was solved.
    #[must_use]
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// Voltage of a node to earth, as a phasor of effective value.
    #[must_use]
    pub fn node_v(&self, node: Node) -> Complex<f64> {
        match node {
            Node::Earth => Complex::ZERO,
            Node::At(index) => self.volts.get(index).copied().unwrap_or_default(),
        }
    }

    /// What a meter of that resistance shows between two nodes, in volts: the voltage without
    /// it, divided between the meter and what stands behind the nodes.
    #[must_use]
    pub fn metered_v(&self, one: Node, other: Node, meter_ohm: f64) -> f64 {
        let open_v = self.node_v(one) - self.node_v(other);
        (open_v * meter_ohm / (self.behind_ohm(one, other) + meter_ohm)).norm()
    }

    /// The impedance that two nodes show to whatever is put between them, in ohms, every source
    /// replaced by the resistance behind it (Thevenin's).
    #[must_use]
    pub fn behind_ohm(&self, one: Node, other: Node) -> Complex<f64> {
        let mut amps = vec![Complex::ZERO; self.network.nodes];
        for (node, amp) in [(one, 1.0), (other, -1.0)] {
            if let Node::At(index) = node {
                amps[index] += Complex::from(amp);
            }
        }
        let response = self.factors.solve(&amps);
        let of = |node: Node| match node {
            Node::Earth => Complex::ZERO,
            Node::At(index) => response[index],
        };
        of(one) - of(other)
    }

    /// Current through one element, in amperes: into a source's node, out of a coupling's
    /// secondary at its first end, otherwise from `a` to `b`.
    #[must_use]
    pub fn branch_a(&self, branch: &Branch) -> Complex<f64> {
        match branch.element {
            Element::Impedance { a, b, ohm } => (self.node_v(a) - self.node_v(b)) / ohm,
            Element::Capacitance { a, b, farad } => {
                let radians_per_s = 2.0 * PI * self.network.frequency_hz;
                (self.node_v(a) - self.node_v(b)) * Complex::new(0.0, radians_per_s * farad)
            }
            Element::Source { node, volts, ohm } => (volts - self.node_v(node)) / ohm,
            Element::Coupling {
                primary,
                secondary,
                ratio,
                ohm,
            } => {
                let inside = (self.node_v(primary[0]) - self.node_v(primary[1])) * ratio;
                (inside - (self.node_v(secondary[0]) - self.node_v(secondary[1]))) / ohm
            }
        }
    }
}
