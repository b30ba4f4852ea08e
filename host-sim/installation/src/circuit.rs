//! Voltages and currents of an installation in its terms: terminals, parts, loads.

use nalgebra::Complex;

use super::Installation;
use super::element::{Branch, Node};
use super::load::Supplied;
use super::network::{CORE_V, ElectricalNetwork};
use super::part::Kind;
use super::solved::{Solved, Sparsity};
use super::state::{Contacts, State};
use super::terminal::{PartId, Role, TerminalId};

/// Input resistance of a meter on its voltage range, in ohms (common practice).
pub const METER_OHM: f64 = 10e6;

/// An installation made ready to be solved in any state.
#[derive(Debug, Clone)]
pub struct Circuit {
    installation: Installation,
    sparsity: Sparsity,
}

impl Circuit {
    /// Makes `installation` ready.
    #[must_use]
    pub fn new(installation: Installation) -> Self {
        let network = ElectricalNetwork::of(&installation, &State::default(), &Contacts::default());
        let sparsity = Sparsity::of(&network);
        Self {
            installation,
            sparsity,
        }
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
        let network = ElectricalNetwork::of(&self.installation, state, contacts);
        Solution {
            installation: &self.installation,
            solved: self.sparsity.solve(network),
        }
    }
}

/// The voltages and currents in one state.
#[derive(Debug, Clone)]
pub struct Solution<'c> {
    installation: &'c Installation,
    solved: Solved<'c>,
}

impl<'c> Solution<'c> {
    /// The solved network behind it.
    #[must_use]
    pub fn solved(&self) -> &Solved<'c> {
        &self.solved
    }

    /// Voltage from one terminal to another with no meter there, as a phasor of effective value.
    #[must_use]
    pub fn between_v(&self, one: TerminalId, other: TerminalId) -> Complex<f64> {
        self.solved.node_v(one.into()) - self.solved.node_v(other.into())
    }

    /// Voltage from a terminal to earth with no meter there, as a phasor of effective value.
    #[must_use]
    pub fn to_earth_v(&self, terminal: TerminalId) -> Complex<f64> {
        self.solved.node_v(terminal.into())
    }

    /// What a meter of [`METER_OHM`] shows between two terminals, in volts.
    #[must_use]
    pub fn meter_v(&self, one: TerminalId, other: TerminalId) -> f64 {
        self.solved.metered_v(one.into(), other.into(), METER_OHM)
    }

    /// What a meter of [`METER_OHM`] shows from a terminal to earth, in volts.
    #[must_use]
    pub fn meter_to_earth_v(&self, terminal: TerminalId) -> f64 {
        self.solved
            .metered_v(terminal.into(), Node::Earth, METER_OHM)
    }

    /// Current in a part, in amperes: the largest of its poles, legs or contacts.
    #[must_use]
    pub fn current_a(&self, part: PartId) -> f64 {
        self.solved
            .network()
            .branches
            .iter()
            .filter(|branch| branch.part == Some(part) && branch.role != Role::PowerCommon)
            .map(|branch| self.solved.branch_a(branch).norm())
            .fold(0.0, f64::max)
    }

    /// Current in one pole, leg or contact of a part, in amperes; zero when it has none of that role.
    #[must_use]
    pub fn pole_a(&self, part: PartId, role: Role) -> Complex<f64> {
        self.solved
            .network()
            .branches
            .iter()
            .find(|branch| branch.part == Some(part) && branch.role == role)
            .map_or(Complex::ZERO, |branch| self.solved.branch_a(branch))
    }

    /// Voltage across a load or the power input of the control, as a fraction of the rated one;
    /// zero for a part that is neither, and that of the worst fed phase for one with several.
    #[must_use]
    pub fn fraction(&self, part: PartId) -> f64 {
        let installation = self.installation;
        let spec = installation.part(part);
        if let Kind::Control(_) = spec.kind {
            return self.solved.node_v(installation.inner_node(part, 0)).norm() / CORE_V;
        }
        let (Some(connection), Some(rated_v)) = (spec.kind.connection(), spec.kind.rated_v())
        else {
            return 0.0;
        };
        connection.fraction(rated_v, |one, other| {
            Some(self.between_v(spec.terminal(one)?, spec.terminal(other)?))
        })
    }

    /// How a load or the power input of the control fares.
    #[must_use]
    pub fn supplied(&self, part: PartId) -> Supplied {
        let fraction = self.fraction(part);
        self.installation.part(part).kind.supplied(fraction)
    }

    /// Power that a part turns into heat or work, in watts; for a supply, what it delivers.
    #[must_use]
    pub fn power_w(&self, part: PartId) -> f64 {
        let own = |branch: &&Branch| branch.part == Some(part);
        // What a supply's bonds turn into heat is not what it delivers.
        let bond = |branch: &&Branch| matches!(branch.role, Role::Neutral | Role::Ground);
        self.solved
            .network()
            .branches
            .iter()
            .filter(own)
            .filter(|branch| !bond(branch))
            .map(|branch| branch.element.power_w(self.solved.branch_a(branch)))
            .sum()
    }
}
