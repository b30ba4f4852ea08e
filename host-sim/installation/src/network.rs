//! The network of impedances, sources and couplings that an installation is in a state.
//!
//! Open contacts stay in the network as insulation, so that its shape never changes and a
//! floating terminal has the voltage that insulation and stray capacitance give it.

use std::f64::consts::PI;

use nalgebra::Complex;

use super::Installation;
use super::conductor::Conductor;
use super::connection::{Connection, Winding, WindingEnd};
use super::element::{Branch, Element, Node};
use super::fault::Trouble;
use super::load::lagging_ohm;
use super::part::{ControlPart, Kind, Part, PoleSides, Transformer};
use super::state::{Contacts, State};
use super::supply::Supply;
use super::terminal::{PartId, Pole, Role};

/// Insulation of an open contact or a broken winding, in ohms.
pub const OPEN_OHM: f64 = 1e10;
/// A winding short-circuited within, in ohms.
const SHORTED_OHM: f64 = 0.1;
/// Bond between a supply's neutral or ground bar and the earth, in ohms.
const BOND_OHM: f64 = 1e-3;
/// Capacitance of a terminal to the grounded metal around it, in farads.
const TERMINAL_FARAD: f64 = 20e-12;
/// Capacitance between half a winding and its frame, in farads.
const WINDING_FARAD: f64 = 50e-12;
/// Apparent power that a transformer draws with nothing connected, as a fraction of its rating.
const NO_LOAD_FRACTION: f64 = 0.1;
/// Power factor of that.
const NO_LOAD_POWER_FACTOR: f64 = 0.3;
/// Power factor of a control's power input.
const CONTROL_POWER_FACTOR: f64 = 0.7;
/// Voltage lost in the winding behind a control's tap at rated power, as a fraction.
const TAP_DROOP: f64 = 0.02;

/// The network.
#[derive(Debug, Clone, PartialEq)]
pub struct ElectricalNetwork {
    /// How many nodes there are, the earth not counted.
    pub nodes: usize,
    /// Its elements.
    pub branches: Vec<Branch>,
    /// Frequency, in hertz.
    pub frequency_hz: f64,
}

/// The nominal voltage of the point inside a control that stands for its supply.
pub const CORE_V: f64 = 100.0;

impl ElectricalNetwork {
    /// The network of `installation` with its contacts so.
    #[must_use]
    pub fn of(installation: &Installation, state: &State, contacts: &Contacts) -> Self {
        let mut gathering = Gathering::new(installation, state, contacts);
        for (id, part) in installation.parts() {
            gathering.add(id, part);
        }
        gathering.finish(installation.frequency_hz())
    }

    /// Its frequency as a speed of rotation, in radians a second.
    pub(super) fn radians_per_s(&self) -> f64 {
        2.0 * PI * self.frequency_hz
    }
}

impl Installation {
    /// The node for a point inside a part: these come after the terminals, in the order of the
    /// parts. A part has [`Kind::inner_points`] of them, numbered from 0.
    #[must_use]
    pub fn inner_node(&self, part: PartId, point: usize) -> Node {
        let before = self.parts().take_while(|(id, _)| *id != part);
        let before: usize = before.map(|(_, part)| part.kind.inner_points()).sum();
        Node::At(self.terminal_count() + before + point)
    }
}

/// The elements of all parts, being gathered.
pub(super) struct Gathering<'s> {
    state: &'s State,
    contacts: &'s Contacts,
    nodes: usize,
    stray_farad: Vec<f64>,
    supplies_seen: usize,
    branches: Vec<Branch>,
}

impl<'s> Gathering<'s> {
    pub(super) fn new(
        installation: &Installation,
        state: &'s State,
        contacts: &'s Contacts,
    ) -> Self {
        Self {
            state,
            contacts,
            nodes: installation.terminal_count(),
            stray_farad: vec![TERMINAL_FARAD; installation.terminal_count()],
            supplies_seen: 0,
            branches: Vec::with_capacity(3 * installation.terminal_count()),
        }
    }

    /// The network of what was gathered, with what each terminal has to earth.
    pub(super) fn finish(mut self, frequency_hz: f64) -> ElectricalNetwork {
        let strays = self.stray_farad.into_iter().enumerate();
        self.branches.extend(strays.map(|(index, farad)| Branch {
            part: None,
            role: Role::Ground,
            element: Element::Capacitance {
                a: Node::At(index),
                b: Node::Earth,
                farad,
            },
        }));
        ElectricalNetwork {
            nodes: self.nodes,
            branches: self.branches,
            frequency_hz,
        }
    }

    /// The nodes for the points inside a part, from the first of them on.
    fn inner_nodes(&mut self, count: usize) -> usize {
        let first = self.nodes;
        self.nodes += count;
        first
    }

    fn impedance(
        &mut self,
        part: PartId,
        role: Role,
        a: impl Into<Node>,
        b: impl Into<Node>,
        ohm: impl Into<Complex<f64>>,
    ) {
        self.branches.push(Branch {
            part: Some(part),
            role,
            element: Element::Impedance {
                a: a.into(),
                b: b.into(),
                ohm: ohm.into(),
            },
        });
    }

    pub(super) fn add(&mut self, id: PartId, part: &Part) {
        let phase = part.phase(id, self.state, self.contacts);
        match &part.kind {
            Kind::Supply(supply) => self.supply(id, part, supply),
            Kind::Transformer(transformer) => self.transformer(id, part, transformer),
            Kind::Conductor(conductor) => self.conductor(id, part, conductor),
            // A tenth of a volt at rated current (from memory, for fuses and small breakers).
            Kind::Overcurrent(overcurrent) => self.poles(id, part, 0.1 / overcurrent.rating_a),
            Kind::Device(device) => self.poles(id, part, device.contact_ohm),
            Kind::Control(control) => self.control(id, part, control),
            Kind::Contactor(contactor) => {
                self.load(id, part, contactor.coil.ohm(phase));
                self.poles(id, part, contactor.contact_ohm);
            }
            Kind::Motor(motor) => self.load(id, part, motor.ohm(phase)),
            Kind::Valve(coil) => self.load(id, part, coil.ohm(phase)),
            Kind::Heater(resistance) | Kind::Lamp(resistance) => {
                self.load(id, part, resistance.ohm().into());
            }
        }
    }

    fn supply(&mut self, id: PartId, part: &Part, supply: &Supply) {
        let level = self
            .state
            .supply_permille
            .get(self.supplies_seen)
            .map_or(1.0, |&permille| f64::from(permille) / 1000.0);
        self.supplies_seen += 1;
        for (role, volts) in supply.service.legs() {
            let Some(terminal) = part.terminal(role) else {
                continue;
            };
            let ohm = if part.suffers(Trouble::LegLost(role)) {
                OPEN_OHM
            } else {
                supply.source_ohm()
            };
            self.branches.push(Branch {
                part: Some(id),
                role,
                element: Element::Source {
                    node: terminal.into(),
                    volts: volts * level,
                    ohm,
                },
            });
        }
        for role in [Role::Neutral, Role::Ground] {
            if let Some(terminal) = part.terminal(role) {
                self.impedance(id, role, terminal, Node::Earth, BOND_OHM);
            }
        }
    }

    fn transformer(&mut self, id: PartId, part: &Part, transformer: &Transformer) {
        let ends = [
            Role::Primary1,
            Role::Primary2,
            Role::Secondary1,
            Role::Secondary2,
        ]
        .map(|role| part.terminal(role).map(Node::from));
        let [Some(p1), Some(p2), Some(s1), Some(s2)] = ends else {
            return;
        };
        let Transformer {
            primary_v,
            secondary_v,
            rated_va,
            droop,
        } = *transformer;
        let no_load = lagging_ohm(primary_v, rated_va * NO_LOAD_FRACTION, NO_LOAD_POWER_FACTOR);
        let open = part.suffers(Trouble::WindingOpen);
        let primary = if open {
            OPEN_OHM.into()
        } else if part.suffers(Trouble::WindingShorted) {
            SHORTED_OHM.into()
        } else {
            no_load
        };
        self.impedance(id, Role::Primary1, p1, p2, primary);
        self.branches.push(Branch {
            part: Some(id),
            role: Role::Secondary1,
            element: Element::Coupling {
                primary: [p1, p2],
                secondary: [s1, s2],
                ratio: if open {
                    0.0
                } else {
                    secondary_v * (1.0 + droop) / primary_v
                },
                ohm: droop * secondary_v * secondary_v / rated_va,
            },
        });
    }

    fn conductor(&mut self, id: PartId, part: &Part, conductor: &Conductor) {
        let whole = !part.suffers(Trouble::Off) && !part.suffers(Trouble::Missing);
        let ohm = if whole { conductor.ohm() } else { OPEN_OHM };
        let [from, to] = conductor.ends;
        self.impedance(id, Role::Line(Pole::Only), from, to, ohm);
        for end in conductor.ends {
            self.stray_farad[end.index()] += Conductor::FARAD_PER_M * conductor.length_m / 2.0;
        }
    }

    fn poles(&mut self, id: PartId, part: &Part, contact_ohm: f64) {
        let ohm = if part.poles_conduct(id, self.state, self.contacts) {
            contact_ohm
        } else {
            OPEN_OHM
        };
        for PoleSides { pole, line, load } in part.poles() {
            self.impedance(id, Role::Line(pole), line, load, ohm);
        }
    }

    fn control(&mut self, id: PartId, part: &Part, control: &ControlPart) {
        let core = Node::At(self.inner_nodes(part.kind.inner_points()));
        let inside = lagging_ohm(CORE_V, control.power_va, CONTROL_POWER_FACTOR);
        self.impedance(id, Role::PowerCommon, core, Node::Earth, inside);
        if let Some(common) = part.terminal(Role::PowerCommon) {
            for tap in &control.taps {
                let Some(terminal) = part.terminal(tap.role()) else {
                    continue;
                };
                self.branches.push(Branch {
                    part: Some(id),
                    role: tap.role(),
                    element: Element::Coupling {
                        primary: [core, Node::Earth],
                        secondary: [terminal.into(), common.into()],
                        ratio: tap.rated_v() / CORE_V,
                        ohm: TAP_DROOP * tap.rated_v() * tap.rated_v() / control.power_va,
                    },
                });
            }
        }
        for (contact, common, terminal) in part.relay_contacts() {
            let ohm = if part.relay_conducts(contact, self.contacts.relay) {
                control.contact_ohm
            } else {
                OPEN_OHM
            };
            self.impedance(id, contact.role(), common, terminal, ohm);
        }
    }

    /// A load whose windings are all alike.
    fn load(&mut self, id: PartId, part: &Part, ohm: Complex<f64>) {
        if let Some(connection) = part.kind.connection() {
            self.windings(id, part, connection, |_| ohm);
        }
    }

    /// The windings of a part, each with its own impedance, and what they have to its frame.
    pub(super) fn windings(
        &mut self,
        id: PartId,
        part: &Part,
        connection: &Connection,
        ohm: impl Fn(&Winding) -> Complex<f64>,
    ) {
        let inner = self.inner_nodes(connection.inner_points);
        for winding in connection.windings {
            let to = match winding.to {
                WindingEnd::Terminal(role) => part.terminal(role).map(Node::from),
                WindingEnd::Inside(point) => Some(Node::At(inner + point)),
            };
            let (Some(from), Some(to)) = (part.terminal(winding.from), to) else {
                continue;
            };
            let ohm = if part.suffers(Trouble::WindingOpen) {
                OPEN_OHM.into()
            } else if part.suffers(Trouble::WindingShorted) {
                SHORTED_OHM.into()
            } else {
                ohm(winding)
            };
            self.impedance(id, winding.from, from, to, ohm);
        }
        let Some(frame) = part.terminal(Role::Frame) else {
            return;
        };
        for &role in connection.terminals {
            if let Some(end) = part.terminal(role) {
                self.branches.push(Branch {
                    part: None,
                    role,
                    element: Element::Capacitance {
                        a: end.into(),
                        b: frame.into(),
                        farad: WINDING_FARAD,
                    },
                });
            }
        }
    }
}
