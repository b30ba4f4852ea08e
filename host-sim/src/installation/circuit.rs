//! Voltages and currents: complex nodal analysis of an installation at its supply frequency.

use std::f64::consts::PI;

use nalgebra::Complex;

use super::Installation;
use super::elimination::{Equations, Factors, Plan};
use super::load::Supplied;
use super::network::{Branch, CORE_V, Element, Network, Node, core_node};
use super::part::Kind;
use super::state::{Contacts, State};
use super::terminal::{PartId, Role, TerminalId};

/// Input resistance of a meter on its voltage range, in ohms (common practice).
pub const METER_OHM: f64 = 10e6;

/// An installation made ready to be solved in any state.
#[derive(Debug, Clone)]
pub struct Circuit {
    installation: Installation,
    plan: Plan,
}

impl Circuit {
    /// Makes `installation` ready.
    #[must_use]
    pub fn new(installation: Installation) -> Self {
        let network = Network::of(&installation, &State::default(), &Contacts::default());
        let pairs = network
            .branches
            .iter()
            .flat_map(|branch| pairs_of(&branch.element));
        let plan = Plan::new(network.nodes, pairs);
        Self { installation, plan }
    }

    /// The installation.
    #[must_use]
    pub fn installation(&self) -> &Installation {
        &self.installation
    }

    /// The voltages and currents in a state with its contacts in given positions.
    ///
    /// Nothing moves by itself here; see [`Circuit::settle`].
    #[must_use]
    pub fn solve(&self, state: &State, contacts: &Contacts) -> Solution<'_> {
        let network = Network::of(&self.installation, state, contacts);
        let mut equations = Equations::new(&self.plan);
        let mut amps = vec![Complex::ZERO; network.nodes];
        let radians_per_s = 2.0 * PI * network.frequency_hz;
        for branch in &network.branches {
            stamp(&mut equations, &mut amps, &branch.element, radians_per_s);
        }
        let factors = equations.factor();
        let volts = factors.solve(&amps);
        Solution {
            circuit: self,
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

/// The voltages and currents in one state.
#[derive(Debug, Clone)]
pub struct Solution<'c> {
    circuit: &'c Circuit,
    network: Network,
    factors: Factors<'c>,
    volts: Vec<Complex<f64>>,
}

impl Solution<'_> {
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

    /// Voltage from one terminal to another with no meter there, as a phasor of effective value.
    #[must_use]
    pub fn between_v(&self, one: TerminalId, other: TerminalId) -> Complex<f64> {
        self.node_v(one.into()) - self.node_v(other.into())
    }

    /// Voltage from a terminal to earth with no meter there, as a phasor of effective value.
    #[must_use]
    pub fn to_earth_v(&self, terminal: TerminalId) -> Complex<f64> {
        self.node_v(terminal.into())
    }

    /// What a meter of [`METER_OHM`] shows between two terminals, in volts.
    #[must_use]
    pub fn meter_v(&self, one: TerminalId, other: TerminalId) -> f64 {
        self.metered(one.into(), other.into())
    }

    /// What a meter of [`METER_OHM`] shows from a terminal to earth, in volts.
    #[must_use]
    pub fn meter_to_earth_v(&self, terminal: TerminalId) -> f64 {
        self.metered(terminal.into(), Node::Earth)
    }

    /// The voltage without the meter, divided between the meter and what stands behind the two nodes.
    fn metered(&self, one: Node, other: Node) -> f64 {
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
        let behind_ohm = of(one) - of(other);
        let open_v = self.node_v(one) - self.node_v(other);
        (open_v * METER_OHM / (behind_ohm + METER_OHM)).norm()
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

    /// Current in a part, in amperes: the largest of its poles, legs or contacts.
    #[must_use]
    pub fn current_a(&self, part: PartId) -> f64 {
        self.network
            .branches
            .iter()
            .filter(|branch| branch.part == Some(part) && branch.role != Role::PowerCommon)
            .map(|branch| self.branch_a(branch).norm())
            .fold(0.0, f64::max)
    }

    /// Current in one pole, leg or contact of a part, in amperes; zero when it has none of that role.
    #[must_use]
    pub fn pole_a(&self, part: PartId, role: Role) -> Complex<f64> {
        self.network
            .branches
            .iter()
            .find(|branch| branch.part == Some(part) && branch.role == role)
            .map_or(Complex::ZERO, |branch| self.branch_a(branch))
    }

    /// Voltage across a load or the power input of the control, as a fraction of the rated one;
    /// zero for a part that is neither.
    #[must_use]
    pub fn fraction(&self, part: PartId) -> f64 {
        let installation = &self.circuit.installation;
        let spec = installation.part(part);
        if let Kind::Control(_) = spec.kind {
            return self.node_v(core_node(installation)).norm() / CORE_V;
        }
        let Some((one, other, rated_v)) = spec.kind.load() else {
            return 0.0;
        };
        match (spec.terminal(one), spec.terminal(other)) {
            (Some(one), Some(other)) => self.between_v(one, other).norm() / rated_v,
            _ => 0.0,
        }
    }

    /// How a load or the power input of the control fares.
    #[must_use]
    pub fn supplied(&self, part: PartId) -> Supplied {
        let fraction = self.fraction(part);
        self.circuit.installation.part(part).kind.supplied(fraction)
    }

    /// Power that a part turns into heat or work, in watts; for a supply, what it delivers.
    #[must_use]
    pub fn power_w(&self, part: PartId) -> f64 {
        let own = |branch: &&Branch| branch.part == Some(part);
        self.network
            .branches
            .iter()
            .filter(own)
            .map(|branch| {
                let amps = self.branch_a(branch);
                match branch.element {
                    Element::Impedance { ohm, .. } => {
                        let bond = matches!(branch.role, Role::Neutral | Role::Ground);
                        if bond { 0.0 } else { amps.norm_sqr() * ohm.re }
                    }
                    Element::Capacitance { .. } => 0.0,
                    Element::Source { volts, ohm, .. } => {
                        (volts * amps.conj()).re - amps.norm_sqr() * ohm
                    }
                    Element::Coupling { ohm, .. } => amps.norm_sqr() * ohm,
                }
            })
            .sum()
    }
}
