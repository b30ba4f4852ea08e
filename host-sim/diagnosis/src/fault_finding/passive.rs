//! An installation without power, as an ohmmeter sees it: resistances that are known as bands.
//!
//! The direct-current resistance of a winding follows from its plate only roughly, so each
//! element has a lowest and a highest resistance. That between two terminals rises with every
//! one of them (Rayleigh's monotonicity law), so two solves, all lowest and all highest, bound
//! what the meter may show.

use nalgebra::Complex;

use super::measurement::isolators;
use super::tolerance::Interval;
use hysteron_installation::Installation;
use hysteron_installation::element::{Branch, Element, Node};
use hysteron_installation::fault::Trouble;
use hysteron_installation::network::{ElectricalNetwork, OPEN_OHM};
use hysteron_installation::part::{Actuator, Kind, Part};
use hysteron_installation::readings::Probing;
use hysteron_installation::solved::{Solved, Sparsity};
use hysteron_installation::state::{Contacts, State};
use hysteron_installation::terminal::Role;

/// Insulation of every terminal to ground, in ohms.
const INSULATION_OHM: f64 = 1e9;

/// A winding measures between a fifth and the whole of what its voltage and its current with
/// the rotor held or the armature open make (from memory: the rest is reactance, and the rotor).
const WINDING: (f64, f64) = (0.2, 1.0);

/// A heater measures cold within a tenth of its resistance when hot, a lamp between a
/// twentieth and the whole (from memory: a filament's resistance rises twelve- to fifteenfold).
const HEATER: (f64, f64) = (0.9, 1.1);
const LAMP: (f64, f64) = (0.05, 1.1);

/// An installation without power.
#[derive(Debug, Clone)]
pub struct Passive {
    sparsity: Sparsity,
    lowest: ElectricalNetwork,
    highest: ElectricalNetwork,
}

impl Passive {
    /// The installation with every supply disconnected from its legs, and every breaker, fuse
    /// and switch open.
    #[must_use]
    pub fn of(installation: &Installation) -> Self {
        let lowest = network(installation, 0.0);
        Self {
            sparsity: Sparsity::of(&lowest),
            highest: network(installation, 1.0),
            lowest,
        }
    }

    /// What the resistance may be at each pair of places, in ohms.
    #[must_use]
    pub fn ohms(&self, probings: &[Probing]) -> Vec<Interval> {
        let lowest = self.sparsity.solve(self.lowest.clone());
        let highest = self.sparsity.solve(self.highest.clone());
        probings
            .iter()
            .map(|&probing| Interval {
                lowest: ohm(&lowest, probing),
                highest: ohm(&highest, probing),
            })
            .collect()
    }
}

/// The resistance at a pair of places, with every element at this place in its band: 0 is its
/// lowest resistance, 1 its highest, in ohms.
#[must_use]
pub fn ohm_at(installation: &Installation, probing: Probing, place: f64) -> f64 {
    let network = network(installation, place);
    let sparsity = Sparsity::of(&network);
    ohm(&sparsity.solve(network), probing)
}

fn ohm(solved: &Solved<'_>, probing: Probing) -> f64 {
    let (one, other) = match probing {
        Probing::Between(one, other) => (one.into(), other.into()),
        Probing::ToGround(one) => (one.into(), Node::Earth),
    };
    solved.behind_ohm(one, other).norm()
}

fn network(installation: &Installation, place: f64) -> ElectricalNetwork {
    let isolated = State::default().with_open(isolators(installation));
    let powered = ElectricalNetwork::of(installation, &isolated, &Contacts::default());
    let mut branches: Vec<Branch> = powered
        .branches
        .iter()
        .filter_map(|branch| {
            let part = installation.part(branch.part?);
            let (a, b, (lowest, highest)) = band(part, branch)?;
            let ohm = lowest * (highest / lowest).powf(place);
            let element = Element::Impedance {
                a,
                b,
                ohm: Complex::from(ohm),
            };
            Some(Branch {
                element,
                ..branch.clone()
            })
        })
        .collect();
    branches.extend((0..powered.nodes).map(|index| Branch {
        part: None,
        role: Role::Ground,
        element: Element::Impedance {
            a: Node::At(index),
            b: Node::Earth,
            ohm: Complex::from(INSULATION_OHM),
        },
    }));
    ElectricalNetwork {
        branches,
        ..powered
    }
}

/// Where an element's resistance lies, from end to end; absent for what conducts no direct current.
fn band(part: &Part, branch: &Branch) -> Option<(Node, Node, (f64, f64))> {
    let of_magnitude = |ohm: f64, (lowest, highest): (f64, f64)| (ohm * lowest, ohm * highest);
    match branch.element {
        Element::Impedance { a, b, ohm } => {
            let known = (ohm.re, ohm.re);
            let band = match &part.kind {
                Kind::Control(_) if branch.role == Role::PowerCommon => return None,
                Kind::Supply(_) | Kind::Conductor(_) | Kind::Overcurrent(_) | Kind::Control(_) => {
                    known
                }
                // Where suction pressure stands with the power off, nobody knows beforehand.
                Kind::Device(device) if device.actuator == Actuator::LowPressure => {
                    let stuck =
                        part.suffers(Trouble::StuckOpen) || part.suffers(Trouble::StuckClosed);
                    if stuck { known } else { (ohm.re, OPEN_OHM) }
                }
                Kind::Device(_) => known,
                Kind::Contactor(_) if branch.role != Role::Coil1 => known,
                _ if part.is_winding_broken() => known,
                Kind::Contactor(contactor) => {
                    let coil = &contactor.coil;
                    of_magnitude(coil.rated_v * coil.rated_v / coil.inrush_va, WINDING)
                }
                Kind::Valve(coil) => {
                    of_magnitude(coil.rated_v * coil.rated_v / coil.inrush_va, WINDING)
                }
                Kind::Motor(motor) => of_magnitude(motor.rated_v / motor.locked_rotor_a, WINDING),
                Kind::Heater(_) => of_magnitude(ohm.re, HEATER),
                Kind::Lamp(_) => of_magnitude(ohm.re, LAMP),
                // The winding's copper: a few percent of the rated impedance (from memory).
                Kind::Transformer(transformer) => {
                    let rated = transformer.primary_v * transformer.primary_v;
                    of_magnitude(rated / transformer.rated_va, (0.01, 0.3))
                }
            };
            Some((a, b, band))
        }
        Element::Coupling { secondary, ohm, .. } => {
            let [a, b] = secondary;
            let band = if matches!(part.kind, Kind::Control(_)) {
                // A small transformer's primary, or electronics that block a meter's volt.
                (ohm, OPEN_OHM)
            } else {
                of_magnitude(ohm, (0.1, 1.0))
            };
            Some((a, b, band))
        }
        Element::Capacitance { .. } | Element::Source { .. } => None,
    }
}
