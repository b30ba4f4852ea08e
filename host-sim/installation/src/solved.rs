//! A network solved: complex nodal analysis at its frequency.

use nalgebra::Complex;

use super::element::{Branch, Node, Stamp};
use super::elimination::{Equations, Factors, Plan};
use super::network::ElectricalNetwork;

/// Which nodes of a network touch which; worked out once for all networks of that shape.
#[derive(Debug, Clone)]
pub struct Sparsity(Plan);

impl Sparsity {
    /// The shape of a network.
    #[must_use]
    pub fn of(network: &ElectricalNetwork) -> Self {
        let pairs = network
            .branches
            .iter()
            .flat_map(|branch| branch.element.pairs());
        Self(Plan::new(network.nodes, pairs))
    }

    /// Solves a network of this shape.
    ///
    /// # Panics
    /// When the network has another number of nodes. One whose elements join other nodes
    /// than those the shape was made of is solved wrongly.
    #[must_use]
    pub fn solve(&self, network: ElectricalNetwork) -> Solved<'_> {
        let mut gathered = Gathered {
            equations: Equations::new(&self.0),
            amps: vec![Complex::ZERO; network.nodes],
        };
        let radians_per_s = network.radians_per_s();
        for branch in &network.branches {
            branch.element.stamp(&mut gathered, radians_per_s);
        }
        let factors = gathered.equations.factor();
        let volts = factors.solve(&gathered.amps);
        Solved {
            network,
            factors,
            volts,
        }
    }
}

/// The equations with what is driven into each node.
struct Gathered<'p> {
    equations: Equations<'p>,
    amps: Vec<Complex<f64>>,
}

impl Stamp for Gathered<'_> {
    fn siemens(&mut self, one: usize, other: usize, siemens: Complex<f64>) {
        self.equations.add(one, other, siemens);
    }

    fn amps(&mut self, node: usize, amps: Complex<f64>) {
        self.amps[node] += amps;
    }
}

/// The voltages of a network.
#[derive(Debug, Clone)]
pub struct Solved<'s> {
    network: ElectricalNetwork,
    factors: Factors<'s>,
    volts: Vec<Complex<f64>>,
}

impl Solved<'_> {
    /// The network that was solved.
    #[must_use]
    pub fn network(&self) -> &ElectricalNetwork {
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
        let radians_per_s = self.network.radians_per_s();
        branch
            .element
            .current_a(|node| self.node_v(node), radians_per_s)
    }
}
