//! What a part is to the circuit: its terminals, its poles, and how it is connected.

use super::connection::Connection;
use super::part::{Kind, Part, PoleSides, Poles};
use super::terminal::{Role, TerminalId};

impl Part {
    /// Its poles; none where it opens no circuit.
    pub fn poles(&self) -> impl Iterator<Item = PoleSides> {
        let poles = self.kind.poles().map_or(&[][..], Poles::each);
        poles.iter().filter_map(|&pole| {
            Some(PoleSides {
                pole,
                line: self.terminal(Role::Line(pole))?,
                load: self.terminal(Role::Load(pole))?,
            })
        })
    }

    /// Every two of its terminals that a mechanic would measure between.
    #[must_use]
    pub fn test_points(&self) -> Vec<(TerminalId, TerminalId)> {
        let between =
            |&(one, other): &(Role, Role)| Some((self.terminal(one)?, self.terminal(other)?));
        let pairs = self.kind.test_points();
        let pairs = pairs.iter().filter_map(between);
        pairs
            .chain(self.poles().map(|sides| (sides.line, sides.load)))
            .collect()
    }
}

impl Kind {
    /// The roles of its terminals; empty for a conductor.
    #[must_use]
    pub fn roles(&self) -> Vec<Role> {
        let mut roles = match self {
            Self::Supply(supply) => {
                let legs = supply.service.legs();
                let mut roles: Vec<Role> = legs.into_iter().map(|(role, _)| role).collect();
                roles.extend([Role::Neutral, Role::Ground]);
                roles
            }
            Self::Transformer(_) => vec![
                Role::Primary1,
                Role::Primary2,
                Role::Secondary1,
                Role::Secondary2,
            ],
            Self::Control(control) => {
                let mut roles = vec![Role::PowerCommon];
                roles.extend(control.taps.iter().map(|tap| tap.role()));
                roles.extend([Role::RelayCommon, Role::NormallyOpen, Role::NormallyClosed]);
                roles
            }
            Self::Conductor(_)
            | Self::Overcurrent(_)
            | Self::Device(_)
            | Self::Contactor(_)
            | Self::Motor(_)
            | Self::Valve(_)
            | Self::Heater(_)
            | Self::Lamp(_) => Vec::new(),
        };
        if let Some(connection) = self.connection() {
            roles.extend(connection.terminals);
        }
        for &pole in self.poles().map_or(&[][..], Poles::each) {
            roles.extend([Role::Line(pole), Role::Load(pole)]);
        }
        if self.has_frame() {
            roles.push(Role::Frame);
        }
        roles
    }

    /// Whether it has metal that is to be grounded.
    fn has_frame(&self) -> bool {
        match self {
            Self::Motor(_) | Self::Valve(_) | Self::Heater(_) | Self::Lamp(_) => true,
            Self::Supply(_)
            | Self::Transformer(_)
            | Self::Conductor(_)
            | Self::Overcurrent(_)
            | Self::Device(_)
            | Self::Control(_)
            | Self::Contactor(_) => false,
        }
    }

    /// The poles that it opens a circuit with; absent for a part that opens none, and for the
    /// control, whose relay changes over.
    #[must_use]
    pub fn poles(&self) -> Option<Poles> {
        match self {
            Self::Overcurrent(overcurrent) => Some(overcurrent.poles),
            Self::Device(device) => Some(device.poles),
            Self::Contactor(contactor) => Some(contactor.poles),
            Self::Supply(_)
            | Self::Transformer(_)
            | Self::Conductor(_)
            | Self::Control(_)
            | Self::Motor(_)
            | Self::Valve(_)
            | Self::Heater(_)
            | Self::Lamp(_) => None,
        }
    }

    /// How it is connected as a load; absent for a part that is none. A contactor's coil is one.
    #[must_use]
    pub fn connection(&self) -> Option<&'static Connection> {
        match self {
            Self::Motor(_) | Self::Valve(_) | Self::Heater(_) | Self::Lamp(_) => {
                Some(&Connection::SINGLE_PHASE)
            }
            Self::Contactor(_) => Some(&Connection::COIL),
            Self::Supply(_)
            | Self::Transformer(_)
            | Self::Conductor(_)
            | Self::Overcurrent(_)
            | Self::Device(_)
            | Self::Control(_) => None,
        }
    }

    /// How many points it has inside that are brought out nowhere and yet have a voltage.
    #[must_use]
    pub fn inner_points(&self) -> usize {
        match self {
            // What stands for its supply inside, which every tap drives.
            Self::Control(_) => 1,
            Self::Supply(_)
            | Self::Transformer(_)
            | Self::Conductor(_)
            | Self::Overcurrent(_)
            | Self::Device(_)
            | Self::Contactor(_)
            | Self::Motor(_)
            | Self::Valve(_)
            | Self::Heater(_)
            | Self::Lamp(_) => self
                .connection()
                .map_or(0, |connection| connection.inner_points),
        }
    }

    /// The terminals that a mechanic would measure between, poles left out.
    fn test_points(&self) -> Vec<(Role, Role)> {
        match self {
            Self::Supply(supply) => match supply.service.legs().as_slice() {
                [] => Vec::new(),
                [(hot, _)] => vec![(*hot, Role::Neutral)],
                several => {
                    let mut pairs = Vec::new();
                    for (at, &(one, _)) in several.iter().enumerate() {
                        pairs.extend(several[at + 1..].iter().map(|&(other, _)| (one, other)));
                    }
                    pairs
                }
            },
            Self::Transformer(_) => vec![
                (Role::Primary1, Role::Primary2),
                (Role::Secondary1, Role::Secondary2),
            ],
            Self::Control(control) => control
                .taps
                .iter()
                .map(|tap| (tap.role(), Role::PowerCommon))
                .chain([
                    (Role::RelayCommon, Role::NormallyOpen),
                    (Role::RelayCommon, Role::NormallyClosed),
                ])
                .collect(),
            Self::Conductor(_)
            | Self::Overcurrent(_)
            | Self::Device(_)
            | Self::Contactor(_)
            | Self::Motor(_)
            | Self::Valve(_)
            | Self::Heater(_)
            | Self::Lamp(_) => self
                .connection()
                .map_or_else(Vec::new, |connection| connection.across.to_vec()),
        }
    }
}
