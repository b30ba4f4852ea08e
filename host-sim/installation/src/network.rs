//! The network of impedances, sources and couplings that an installation is in a state.
//!
//! Open contacts stay in the network as insulation, so that its shape never changes and a
//! floating terminal has the voltage that insulation and stray capacitance give it.

use nalgebra::Complex;

use super::Installation;
use super::conductor::Conductor;
use super::fault::{RelayContact, Trouble};
use super::load::{Phase, lagging_ohm};
use super::part::{Control, Kind, Part, Transformer};
use super::state::{Contacts, Relay, State};
use super::supply::Supply;
use super::terminal::{PartId, Role, TerminalId};

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

/// The network.
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    /// How many nodes there are, the earth not counted.
    pub nodes: usize,
    /// Its elements.
    pub branches: Vec<Branch>,
    /// Frequency, in hertz.
    pub frequency_hz: f64,
}

/// The nominal voltage of the node that stands for a control's supply inside.
pub const CORE_V: f64 = 100.0;

impl Network {
    /// The network of `installation` with its contacts so.
    #[must_use]
    pub fn of(installation: &Installation, state: &State, contacts: &Contacts) -> Self {
        let mut drawing = Drawing {
            state,
            contacts,
            nodes: installation.terminal_count(),
            stray_farad: vec![TERMINAL_FARAD; installation.terminal_count()],
            supplies_seen: 0,
            branches: Vec::with_capacity(3 * installation.terminal_count()),
        };
        for (id, part) in installation.parts() {
            drawing.add(id, part);
        }
        let strays = drawing.stray_farad.into_iter().enumerate();
        drawing.branches.extend(strays.map(|(index, farad)| Branch {
            part: None,
            role: Role::Ground,
            element: Element::Capacitance {
                a: Node::At(index),
                b: Node::Earth,
                farad,
            },
        }));
        Self {
            nodes: drawing.nodes,
            branches: drawing.branches,
            frequency_hz: installation.frequency_hz(),
        }
    }
}

/// The node inside a control, of which an installation has at most one: after the terminals.
#[must_use]
pub fn core_node(installation: &Installation) -> Node {
    Node::At(installation.terminal_count())
}

struct Drawing<'s> {
    state: &'s State,
    contacts: &'s Contacts,
    nodes: usize,
    stray_farad: Vec<f64>,
    supplies_seen: usize,
    branches: Vec<Branch>,
}

impl Drawing<'_> {
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

    fn add(&mut self, id: PartId, part: &Part) {
        match &part.kind {
            Kind::Supply(supply) => self.supply(id, part, supply),
            Kind::Transformer(transformer) => self.transformer(id, part, transformer),
            Kind::Conductor(conductor) => self.conductor(id, part, conductor),
            Kind::Overcurrent(overcurrent) => {
                let closed = !self.state.open.contains(id)
                    && !self.contacts.tripped.contains(id)
                    && !part.suffers(Trouble::Blown)
                    && !part.suffers(Trouble::Tripped);
                // A tenth of a volt at rated current (from memory, for fuses and small breakers).
                self.poles(id, part, closed, 0.1 / overcurrent.rating_a);
            }
            Kind::Device(device) => {
                let closed = part.suffers(Trouble::StuckClosed)
                    || (!self.state.open.contains(id) && !part.suffers(Trouble::StuckOpen));
                self.poles(id, part, closed, device.contact_ohm);
            }
            Kind::Control(control) => self.control(id, part, control),
            Kind::Contactor(contactor) => {
                let seated = self.contacts.pulled_in.contains(id);
                let phase = if seated {
                    Phase::Running
                } else {
                    Phase::Starting
                };
                let ohm = contactor.coil.ohm(phase);
                self.winding(id, part, (Role::Coil1, Role::Coil2), ohm);
                let closed =
                    part.suffers(Trouble::Welded) || (seated && !part.suffers(Trouble::BurntOpen));
                self.poles(id, part, closed, contactor.contact_ohm);
            }
            Kind::Motor(motor) => {
                let phase = if self.state.starting.contains(id) {
                    Phase::Starting
                } else {
                    Phase::Running
                };
                self.load(id, part, motor.ohm(phase));
            }
            Kind::Valve(coil) => {
                let phase = if self.contacts.pulled_in.contains(id) {
                    Phase::Running
                } else {
                    Phase::Starting
                };
                self.load(id, part, coil.ohm(phase));
            }
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
        self.impedance(id, Role::Line, from, to, ohm);
        for end in conductor.ends {
            self.stray_farad[end.index()] += Conductor::FARAD_PER_M * conductor.length_m / 2.0;
        }
    }

    fn poles(&mut self, id: PartId, part: &Part, closed: bool, contact_ohm: f64) {
        let ohm = if closed { contact_ohm } else { OPEN_OHM };
        for (index, (line, load)) in part.poles().into_iter().enumerate() {
            let role = if index == 0 { Role::Line1 } else { Role::Line2 };
            self.impedance(id, role, line, load, ohm);
        }
    }

    fn control(&mut self, id: PartId, part: &Part, control: &Control) {
        let core = Node::At(self.nodes);
        self.nodes += 1;
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
        let Some(common) = part.terminal(Role::RelayCommon) else {
            return;
        };
        for contact in [RelayContact::NormallyOpen, RelayContact::NormallyClosed] {
            let Some(terminal) = part.terminal(contact.role()) else {
                continue;
            };
            let ohm = if conducts(part, contact, self.contacts.relay) {
                control.contact_ohm
            } else {
                OPEN_OHM
            };
            self.impedance(id, contact.role(), common, terminal, ohm);
        }
    }

    fn winding(&mut self, id: PartId, part: &Part, ends: (Role, Role), ohm: Complex<f64>) {
        let (Some(one), Some(other)) = (part.terminal(ends.0), part.terminal(ends.1)) else {
            return;
        };
        let ohm = if part.suffers(Trouble::WindingOpen) {
            OPEN_OHM.into()
        } else if part.suffers(Trouble::WindingShorted) {
            SHORTED_OHM.into()
        } else {
            ohm
        };
        self.impedance(id, ends.0, one, other, ohm);
    }

    fn load(&mut self, id: PartId, part: &Part, ohm: Complex<f64>) {
        self.winding(id, part, (Role::Line1, Role::Line2), ohm);
        for role in [Role::Line1, Role::Line2] {
            if let (Some(end), Some(frame)) = (part.terminal(role), part.terminal(Role::Frame)) {
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

/// Whether this contact of a control conducts with its armature so.
#[must_use]
pub fn conducts(control: &Part, contact: RelayContact, relay: Relay) -> bool {
    touches(control, contact, relay) && !control.suffers(Trouble::RelayBurntOpen(contact))
}

/// Whether the armature rests on this contact; a welded contact keeps it there.
fn touches(part: &Part, contact: RelayContact, relay: Relay) -> bool {
    let rests_on = if part.suffers(Trouble::RelayWelded(RelayContact::NormallyOpen)) {
        RelayContact::NormallyOpen
    } else if part.suffers(Trouble::RelayWelded(RelayContact::NormallyClosed)) {
        RelayContact::NormallyClosed
    } else {
        match relay {
            Relay::Energised => RelayContact::NormallyOpen,
            Relay::Released => RelayContact::NormallyClosed,
        }
    };
    rests_on == contact
}
