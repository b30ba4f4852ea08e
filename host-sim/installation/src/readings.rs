//! What a meter should show: in every situation that matters, between the terminals that a
//! mechanic would probe, and from each terminal to ground.

use super::Installation;
use super::circuit::Circuit;
use super::fault::{Fault, Trouble};
use super::part::Kind;
use super::pump_down::ruled_by_valve;
use super::state::{RelayArmature, State};
use super::terminal::{PartSet, Role, TerminalId};

/// A moment at which a person stands there with a meter.
#[derive(Debug, Clone, PartialEq)]
pub struct Situation {
    /// What it is called.
    pub name: String,
    /// What to know about it; may be empty.
    pub remark: String,
    /// What the world does, suction pressure included: this holds for the installation that the
    /// situation was made for, and for no other.
    pub state: State,
    /// What is wrong, if anything.
    pub fault: Option<Fault>,
}

/// Where the two leads of a meter go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Probing {
    /// From one terminal to another.
    Between(TerminalId, TerminalId),
    /// From a terminal to ground.
    ToGround(TerminalId),
}

/// What the meter shows at one pair of places, in each situation.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingRow {
    /// Where the leads go.
    pub probing: Probing,
    /// What the meter shows in each situation, in volts.
    pub volts: Vec<f64>,
}

/// The table of readings of an installation.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// The columns.
    pub situations: Vec<Situation>,
    /// The rows: first between terminals, then to ground.
    pub rows: Vec<ReadingRow>,
}

impl Probing {
    /// In words, as in "control.relay_common to control.normally_open".
    #[must_use]
    pub fn words(self, installation: &Installation) -> String {
        match self {
            Self::Between(one, other) => format!(
                "{} to {}",
                installation.terminal_name(one),
                installation.terminal_name(other)
            ),
            Self::ToGround(one) => format!("{} to ground", installation.terminal_name(one)),
        }
    }
}

impl Readings {
    /// The readings of a sound installation and of its usual troubles.
    #[must_use]
    pub fn of(installation: &Installation) -> Self {
        let situations = situations(installation);
        let mut rows: Vec<ReadingRow> = probings(installation)
            .into_iter()
            .map(|probing| ReadingRow {
                probing,
                volts: Vec::with_capacity(situations.len()),
            })
            .collect();
        for situation in &situations {
            let circuit = Circuit::new(installation.with_faults(situation.fault));
            let solution = circuit.settle(&situation.state).solution;
            for row in &mut rows {
                row.volts.push(match row.probing {
                    Probing::Between(one, other) => solution.meter_v(one, other),
                    Probing::ToGround(one) => solution.meter_to_earth_v(one),
                });
            }
        }
        Self { situations, rows }
    }
}

/// Every situation that matters for this installation, with whatever faults it has.
#[must_use]
pub fn situations(installation: &Installation) -> Vec<Situation> {
    let satisfied = State::default();
    let calling = satisfied.with_relay(RelayArmature::Energised);
    let mut situations = Vec::new();
    let low_pressure = ruled_by_valve(installation);
    let pumped_down = match low_pressure.iter().count() {
        0 | 1 => "pumped down, the low-pressure control has opened",
        _ => "pumped down, the low-pressure controls have opened",
    };
    let mut add = |name: &str, remark: &str, state: State, fault: Option<Fault>| {
        let circuit = Circuit::new(installation.with_faults(fault));
        let state = circuit.pumped_down(state);
        let mut remark = remark.to_owned();
        let opened = low_pressure
            .iter()
            .any(|control| state.open.contains(control));
        if opened {
            remark = [remark.as_str(), pumped_down]
                .into_iter()
                .filter(|words| !words.is_empty())
                .collect::<Vec<_>>()
                .join("; ");
        }
        situations.push(Situation {
            name: name.to_owned(),
            remark,
            state,
            fault,
        });
    };
    add("satisfied", "", satisfied, None);
    add("calling", "", calling, None);
    if let Some((control, _)) = installation.control() {
        let fault = |trouble| {
            Some(Fault {
                part: control,
                trouble,
            })
        };
        add(
            "probe fault",
            "the relay follows the fallback \"open\"",
            calling,
            fault(Trouble::ProbeOpen),
        );
        add(
            "dead board",
            "powered, and the relay stays released",
            calling,
            fault(Trouble::BoardDead),
        );
    }
    for (id, part) in installation.parts() {
        if let Kind::Overcurrent(_) = part.kind {
            let state = calling.with_open(PartSet::EMPTY.with(id));
            add(&format!("{} open", part.name), "while calling", state, None);
        }
    }
    situations
}

/// Where a mechanic would put the leads: along each supply, across each contact, coil and
/// load, and from each wired terminal to ground.
#[must_use]
pub fn probings(installation: &Installation) -> Vec<Probing> {
    let wired = |terminal: TerminalId| installation.conductors_at(terminal).next().is_some();
    let mut probings = Vec::new();
    for (_, part) in installation.parts() {
        for (one, other) in part.test_points() {
            if wired(one) || wired(other) {
                probings.push(Probing::Between(one, other));
            }
        }
    }
    let to_ground = installation
        .terminals()
        .filter(|&terminal| wired(terminal))
        .filter(|&terminal| installation.terminal(terminal).1 != Role::Ground)
        .map(Probing::ToGround);
    probings.extend(to_ground);
    probings
}
