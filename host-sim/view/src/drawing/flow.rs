//! What the electricity does in a drawing: which nets are live, and the current at every port.

use nalgebra::Complex;

use super::schematic::{Net, Port, Schematic, Shape, Symbol};
use hysteron_installation::Installation;
use hysteron_installation::circuit::Solution;
use hysteron_installation::element::{Element, Node};
use hysteron_installation::fault::{RelayContact, Trouble};
use hysteron_installation::network::OPEN_OHM;
use hysteron_installation::terminal::TerminalId;

/// More than this between a net and ground, as a meter shows it, makes the net live, in volts.
const LIVE_V: f64 = 5.0;

/// More than this is a current, and not what stray capacitance draws, in amperes.
const CURRENT_A: f64 = 1e-3;

/// Whether a contact, fuse or jumper conducts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Position {
    /// It conducts.
    Closed,
    /// It does not.
    Open,
}

/// How a wire is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// Nothing is known: drawn without power.
    Plain,
    /// No voltage to ground, no current.
    Dead,
    /// Voltage to ground, no current.
    Live,
    /// Voltage to ground and current.
    LiveCarrying,
    /// Current on its way back at the voltage of ground.
    ReturnCarrying,
}

impl Look {
    /// All that a legend has to explain.
    pub const KNOWN: [(Self, &'static str); 4] = [
        (Self::Dead, "no voltage to ground"),
        (Self::Live, "voltage to ground"),
        (Self::LiveCarrying, "voltage to ground, current flows"),
        (Self::ReturnCarrying, "no voltage to ground, current flows"),
    ];
}

/// The electricity in a drawing.
#[derive(Debug, Clone)]
pub struct Flow<'a> {
    installation: &'a Installation,
    solution: Option<&'a Solution<'a>>,
    live: Vec<bool>,
}

impl<'a> Flow<'a> {
    /// That of a solution, or of a drawing without power.
    pub fn of(
        installation: &'a Installation,
        schematic: &Schematic,
        solution: Option<&'a Solution<'a>>,
    ) -> Self {
        let is_live = |net: &Net| {
            solution.is_some_and(|solution| {
                let mut terminals = net.terminals.iter();
                terminals.any(|&terminal| solution.meter_to_earth_v(terminal) > LIVE_V)
            })
        };
        Self {
            installation,
            solution,
            live: schematic.nets.iter().map(is_live).collect(),
        }
    }

    /// The solution, where there is one.
    pub fn solution(&self) -> Option<&'a Solution<'a>> {
        self.solution
    }

    /// How a wire of a net that carries this current is drawn.
    pub fn look(&self, net: usize, current_a: Complex<f64>) -> Look {
        if self.solution.is_none() {
            return Look::Plain;
        }
        match (self.live[net], current_a.norm() > CURRENT_A) {
            (false, false) => Look::Dead,
            (true, false) => Look::Live,
            (true, true) => Look::LiveCarrying,
            (false, true) => Look::ReturnCarrying,
        }
    }

    /// How a joint of a net is drawn: like the wires in it that carry most.
    pub fn joint(&self, net: usize, currents_a: &[Complex<f64>]) -> Look {
        let most = currents_a
            .iter()
            .copied()
            .max_by(|one, other| one.norm().total_cmp(&other.norm()));
        self.look(net, most.unwrap_or_default())
    }

    /// Current out of a symbol into the net at one of its ports, in amperes.
    pub fn current_a(&self, symbol: &Symbol, port: &Port) -> Complex<f64> {
        let Some(solution) = self.solution else {
            return Complex::ZERO;
        };
        let at = Node::from(port.terminal);
        let own = solution
            .solved()
            .network()
            .branches
            .iter()
            .filter(|branch| {
                branch.part == Some(symbol.part)
                    && symbol.branch.is_none_or(|role| branch.role == role)
            });
        own.map(|branch| {
            let amps = solution.solved().branch_a(branch);
            branch.element.out_of_a(at, amps)
        })
        .sum()
    }

    /// Current at the end of a symbol where it is largest, in amperes.
    pub fn through_a(&self, symbol: &Symbol) -> f64 {
        symbol
            .ends
            .iter()
            .map(|port| self.current_a(symbol, port).norm())
            .fold(0.0, f64::max)
    }

    /// Voltage between the ends of a symbol as a meter shows it, in volts.
    pub fn across_v(&self, symbol: &Symbol) -> f64 {
        let [one, other]: [TerminalId; 2] = symbol.ends.each_ref().map(|port| port.terminal);
        self.solution
            .map_or(0.0, |solution| solution.meter_v(one, other))
    }

    /// Whether a contact, fuse or jumper conducts; without power, how it rests.
    pub fn position(&self, symbol: &Symbol) -> Position {
        let Some(solution) = self.solution else {
            let part = self.installation.part(symbol.part);
            let rests_open = match symbol.shape {
                Shape::Relay(RelayContact::NormallyOpen) | Shape::Pole | Shape::BrokenWire => true,
                Shape::Jumper => part.suffers(Trouble::Missing),
                Shape::Relay(RelayContact::NormallyClosed)
                | Shape::Fuse
                | Shape::Breaker
                | Shape::Device(_)
                | Shape::Supply
                | Shape::Primary
                | Shape::Secondary
                | Shape::PowerInput
                | Shape::Coil
                | Shape::Motor(_)
                | Shape::Valve
                | Shape::Heater
                | Shape::Lamp => false,
            };
            return if rests_open {
                Position::Open
            } else {
                Position::Closed
            };
        };
        let open = solution.solved().network().branches.iter().any(|branch| {
            let own = branch.part == Some(symbol.part)
                && symbol.branch.is_none_or(|role| branch.role == role);
            let Element::Impedance { ohm, .. } = branch.element else {
                return false;
            };
            own && ohm.norm() > OPEN_OHM / 2.0
        });
        if open {
            Position::Open
        } else {
            Position::Closed
        }
    }
}
