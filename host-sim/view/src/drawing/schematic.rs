//! What there is to draw: symbols with two ends, and the nets that join them.
//!
//! A ladder diagram shows a part with several circuits as several symbols that bear the
//! same name: each pole of a breaker, the power input and the contacts of a control, the
//! coil and the poles of a contactor (common practice).

use hysteron_installation::Installation;
use hysteron_installation::conductor::Sort;
use hysteron_installation::fault::{RelayContact, Trouble};
use hysteron_installation::load::Duty;
use hysteron_installation::part::{Actuator, Kind, Part, Poles, Protection};
use hysteron_installation::terminal::{Ordinal, PartId, Pole, Role, TerminalId};

/// A net, by its place in [`Schematic::nets`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NetId(pub usize);

/// Terminals that wires alone join.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Net {
    /// Its terminals, in the order of the file.
    pub terminals: Vec<TerminalId>,
    /// Its whole wires, in the order of the file.
    pub wires: Vec<PartId>,
    /// The ground bar in it, by its place in [`Schematic::bars`].
    pub bar: Option<usize>,
}

/// Where a symbol is joined to a net.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Port {
    /// The terminal.
    pub terminal: TerminalId,
    /// Its role, to be written beside it; a conductor has no terminals of its own.
    pub role: Option<Role>,
    /// The net, where anything is wired to the terminal.
    pub net: Option<NetId>,
}

/// What a symbol stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Where the electricity comes from.
    Supply,
    /// The primary of a transformer.
    Primary,
    /// The secondary of a transformer.
    Secondary,
    /// A fuse.
    Fuse,
    /// One pole of a breaker.
    Breaker,
    /// One pole of what something outside moves.
    Device(Actuator),
    /// The power input of a control.
    PowerInput,
    /// A contact of a control's relay.
    Relay(RelayContact),
    /// A contactor's coil.
    Coil,
    /// One pole of a contactor.
    Pole,
    /// A motor.
    Motor(Duty),
    /// A liquid-line solenoid valve.
    Valve,
    /// A heater.
    Heater,
    /// A lamp.
    Lamp,
    /// A jumper, fitted or missing.
    Jumper,
    /// A wire with an end off.
    BrokenWire,
}

impl Shape {
    /// Whether it only leads electricity on, or stops it, and does no work with it.
    pub fn leads_on(self) -> bool {
        match self {
            Self::Fuse
            | Self::Breaker
            | Self::Device(_)
            | Self::Relay(_)
            | Self::Pole
            | Self::Jumper
            | Self::BrokenWire => true,
            Self::Supply
            | Self::Primary
            | Self::Secondary
            | Self::PowerInput
            | Self::Coil
            | Self::Motor(_)
            | Self::Valve
            | Self::Heater
            | Self::Lamp => false,
        }
    }
}

/// A symbol: one circuit of a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Symbol {
    /// The part.
    pub part: PartId,
    /// What it looks like.
    pub shape: Shape,
    /// Which element of the part carries its current; all of them where absent.
    pub branch: Option<Role>,
    /// Which pole it is, where there are several.
    pub pole: Option<Ordinal>,
    /// The two ends of its rung.
    pub ends: [Port; 2],
    /// What is joined from below: a frame, a ground bar, a neutral between two legs, any
    /// terminal beyond the second.
    pub under: Vec<Port>,
}

/// Symbols and nets.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Schematic {
    /// The symbols, in the order of the file.
    pub symbols: Vec<Symbol>,
    /// The nets, in the order of their first terminals.
    pub nets: Vec<Net>,
    /// Ground bars that are wired to something; bars wired to one another count as the first.
    pub bars: Vec<TerminalId>,
}

impl Schematic {
    /// What there is to draw of an installation.
    pub fn of(installation: &Installation) -> Self {
        let mut schematic = Self::nets_of(installation);
        let net_of = schematic.net_of_each(installation);
        for (id, part) in installation.parts() {
            let found = match part.kind.as_conductor() {
                None => choose(circuits(id, part, &net_of)),
                Some(conductor) => {
                    let shape = match (conductor.sort, part.suffers(Trouble::Off)) {
                        (Sort::Jumper, _) => Shape::Jumper,
                        (Sort::Wire, true) => Shape::BrokenWire,
                        (Sort::Wire, false) => continue,
                    };
                    let ends = conductor.ends.map(|terminal| Port {
                        terminal,
                        role: None,
                        net: net_of[terminal.index()],
                    });
                    vec![Symbol {
                        part: id,
                        shape,
                        branch: None,
                        pole: None,
                        ends,
                        under: Vec::new(),
                    }]
                }
            };
            schematic.symbols.extend(found);
        }
        schematic
    }

    fn nets_of(installation: &Installation) -> Self {
        let mut joined: Vec<usize> = (0..installation.terminal_count()).collect();
        let mut wired = vec![false; installation.terminal_count()];
        for (id, conductor) in installation.conductors() {
            let [one, other] = conductor.ends.map(TerminalId::index);
            wired[one] = true;
            wired[other] = true;
            if is_whole_wire(installation, id) {
                let (keep, lose) = (
                    joined[one].min(joined[other]),
                    joined[one].max(joined[other]),
                );
                for root in &mut joined {
                    if *root == lose {
                        *root = keep;
                    }
                }
            }
        }
        let mut nets: Vec<Net> = Vec::new();
        let mut bars = Vec::new();
        for root in installation.terminals().filter(|terminal| {
            wired[terminal.index()] && joined[terminal.index()] == terminal.index()
        }) {
            let terminals: Vec<TerminalId> = installation
                .terminals()
                .filter(|terminal| joined[terminal.index()] == root.index())
                .collect();
            let wires = installation
                .conductors()
                .filter(|(id, conductor)| {
                    is_whole_wire(installation, *id) && terminals.contains(&conductor.ends[0])
                })
                .map(|(id, _)| id)
                .collect();
            let bar = terminals
                .iter()
                .find(|&&terminal| installation.terminal(terminal).1 == Role::Ground)
                .map(|&terminal| {
                    bars.push(terminal);
                    bars.len() - 1
                });
            nets.push(Net {
                terminals,
                wires,
                bar,
            });
        }
        Self {
            symbols: Vec::new(),
            nets,
            bars,
        }
    }

    fn net_of_each(&self, installation: &Installation) -> Vec<Option<NetId>> {
        let mut net_of = vec![None; installation.terminal_count()];
        for (index, net) in self.nets.iter().enumerate() {
            for terminal in &net.terminals {
                net_of[terminal.index()] = Some(NetId(index));
            }
        }
        net_of
    }

    /// Whether a port is drawn with an earth symbol instead of a wire: metal on a ground bar.
    pub fn earthed(&self, port: &Port) -> Option<usize> {
        let bar = self.nets[port.net?.0].bar?;
        matches!(port.role, Some(Role::Frame | Role::Ground)).then_some(bar)
    }
}

fn is_whole_wire(installation: &Installation, id: PartId) -> bool {
    let part = installation.part(id);
    part.kind
        .as_conductor()
        .is_some_and(|conductor| conductor.sort == Sort::Wire)
        && !part.suffers(Trouble::Off)
}

/// Every circuit that a part has, wired or not.
fn circuits(id: PartId, part: &Part, net_of: &[Option<NetId>]) -> Vec<Symbol> {
    let port = |role: Role| {
        let terminal = part.terminal(role)?;
        Some(Port {
            terminal,
            role: Some(role),
            net: net_of[terminal.index()],
        })
    };
    let symbol = |shape, branch, pole, ends: (Role, Role), under: &[Role]| {
        Some(Symbol {
            part: id,
            shape,
            branch,
            pole,
            ends: [port(ends.0)?, port(ends.1)?],
            under: under
                .iter()
                .filter_map(|&role| port(role).filter(|port| port.net.is_some()))
                .collect(),
        })
    };
    let poles = |shape| {
        let poles = part.kind.poles().map_or(&[][..], Poles::each);
        let pole = |&pole: &Pole| {
            let line = Role::Line(pole);
            let number = match pole {
                Pole::Only => None,
                Pole::Nth(number) => Some(number),
            };
            symbol(shape, Some(line), number, (line, Role::Load(pole)), &[])
        };
        poles.iter().map(pole).collect::<Vec<_>>()
    };
    // A rung has two ends: a third terminal is joined from below.
    let load = |shape| {
        let roles = part
            .kind
            .connection()
            .map_or(&[][..], |connection| connection.terminals);
        match roles {
            [] | [_] => Vec::new(),
            [one, other, further @ ..] => {
                let mut under = further.to_vec();
                under.push(Role::Frame);
                vec![symbol(shape, None, None, (*one, *other), &under)]
            }
        }
    };
    let found: Vec<Option<Symbol>> = match &part.kind {
        Kind::Supply(supply) => match supply.service.legs().as_slice() {
            [] => Vec::new(),
            [(hot, _)] => vec![symbol(
                Shape::Supply,
                None,
                None,
                (*hot, Role::Neutral),
                &[Role::Ground],
            )],
            [(one, _), (other, _), further @ ..] => {
                let mut under: Vec<Role> = further.iter().map(|(role, _)| *role).collect();
                under.extend([Role::Neutral, Role::Ground]);
                vec![symbol(Shape::Supply, None, None, (*one, *other), &under)]
            }
        },
        Kind::Transformer(_) => vec![
            symbol(
                Shape::Primary,
                None,
                None,
                (Role::Primary1, Role::Primary2),
                &[],
            ),
            symbol(
                Shape::Secondary,
                None,
                None,
                (Role::Secondary1, Role::Secondary2),
                &[],
            ),
        ],
        Kind::Conductor(_) => Vec::new(),
        Kind::Overcurrent(overcurrent) => {
            let shape = match overcurrent.protection {
                Protection::Fuse => Shape::Fuse,
                Protection::Breaker => Shape::Breaker,
            };
            poles(shape)
        }
        Kind::Device(device) => poles(Shape::Device(device.actuator)),
        Kind::Control(control) => {
            let taps = control.taps.iter().map(|tap| {
                let ends = (tap.role(), Role::PowerCommon);
                symbol(Shape::PowerInput, Some(tap.role()), None, ends, &[])
            });
            let contacts = [RelayContact::NormallyOpen, RelayContact::NormallyClosed];
            let contacts = contacts.into_iter().map(|contact| {
                let ends = (Role::RelayCommon, contact.role());
                symbol(Shape::Relay(contact), Some(contact.role()), None, ends, &[])
            });
            taps.chain(contacts).collect()
        }
        Kind::Contactor(_) => {
            let coil = symbol(
                Shape::Coil,
                Some(Role::Coil1),
                None,
                (Role::Coil1, Role::Coil2),
                &[],
            );
            let mut all = vec![coil];
            all.extend(poles(Shape::Pole));
            all
        }
        Kind::Motor(motor) => load(Shape::Motor(motor.duty)),
        Kind::Valve(_) => load(Shape::Valve),
        Kind::Heater(_) => load(Shape::Heater),
        Kind::Lamp(_) => load(Shape::Lamp),
    };
    found.into_iter().flatten().collect()
}

/// The circuits that are worth drawing: those wired at both ends, and what it takes beyond
/// them to show every wired terminal, and the part itself.
fn choose(all: Vec<Symbol>) -> Vec<Symbol> {
    let is_wired = |symbol: &Symbol| symbol.ends.iter().all(|port| port.net.is_some());
    let mut chosen: Vec<bool> = all.iter().map(is_wired).collect();
    for (index, symbol) in all.iter().enumerate() {
        let shown = |terminal| {
            let mut pairs = all.iter().zip(&chosen);
            pairs.any(|(other, &chosen)| {
                chosen && other.ends.iter().any(|port| port.terminal == terminal)
            })
        };
        let hidden = symbol
            .ends
            .iter()
            .any(|port| port.net.is_some() && !shown(port.terminal));
        let frame_only = !symbol.under.is_empty() && !chosen[index];
        if hidden || frame_only {
            chosen[index] = true;
        }
    }
    if !chosen.contains(&true)
        && let Some(first) = chosen.first_mut()
    {
        *first = true;
    }
    all.into_iter()
        .zip(chosen)
        .filter_map(|(symbol, chosen)| chosen.then_some(symbol))
        .collect()
}

impl Symbol {
    /// Whether a new part of the diagram starts with it.
    pub fn starts_section(&self) -> bool {
        matches!(self.shape, Shape::Supply | Shape::Secondary)
    }
}
