//! When and where a person measures.

use hysteron_installation::Installation;
use hysteron_installation::pump_down::ruled_by_valve;
use hysteron_installation::readings::{Probing, probings};
use hysteron_installation::terminal::{PartSet, Role, TerminalId};

/// A reading at or above this many ohms is no continuity: the meter shows it as open.
pub const NO_CONTINUITY_OHM: f64 = 1e7;

/// An occasion to measure that a mechanic can bring about.
///
/// Breakers that tripped are reset, and blown fuses renewed, before it; what opens
/// then again stays open in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Occasion {
    /// The control is set so that it has no reason to call, and everything has come to rest.
    Satisfied,
    /// The control is set so that it calls, its holds have run, and everything has come to rest.
    Calling,
    /// The supplies are on, and every breaker, fuse and switch is open.
    BreakersOpen,
    /// The supplies are disconnected ahead of the installation, and every breaker, fuse and
    /// switch is open; neutral and ground stay.
    PowerOff,
}

/// What the meter is set to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum MeterFunction {
    /// Alternating voltage.
    Volts,
    /// Resistance.
    Ohms,
}

impl Occasion {
    /// Every occasion, with the words it is written by.
    pub const ALL: [(&'static str, Self); 4] = [
        ("satisfied", Self::Satisfied),
        ("calling", Self::Calling),
        ("breakers open", Self::BreakersOpen),
        ("power off", Self::PowerOff),
    ];

    /// The words it is written by.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Satisfied => "satisfied",
            Self::Calling => "calling",
            Self::BreakersOpen => "breakers open",
            Self::PowerOff => "power off",
        }
    }

    /// How to bring it about.
    #[must_use]
    pub fn how(self, installation: &Installation) -> &'static str {
        let pumps_down = !ruled_by_valve(installation).is_empty();
        let controlled = installation.control().is_some();
        match self {
            Self::Satisfied | Self::Calling if !controlled => "put the power on",
            Self::Satisfied if pumps_down => {
                "set the control so that it has no reason to call, and wait until it has pumped down \
                 (or clearly will not)"
            }
            Self::Satisfied => "set the control so that it has no reason to call",
            Self::Calling => "set the control so that it calls, and wait for its off-time to run",
            Self::BreakersOpen => "open every breaker, fuse and switch",
            Self::PowerOff => {
                "disconnect every supply ahead of the installation, and open every breaker, fuse \
                 and switch"
            }
        }
    }

    /// What to be careful about (common practice).
    #[must_use]
    pub fn caution(self) -> &'static str {
        match self.meter() {
            MeterFunction::Volts => {
                "live work: mains voltage kills. For people trained, equipped and licensed for it, \
                 under local codes"
            }
            MeterFunction::Ohms => {
                "needs power off: lock out, measure that it is dead, and let capacitors discharge \
                 before the meter is set to ohms"
            }
        }
    }

    /// What the meter is set to.
    #[must_use]
    pub fn meter(self) -> MeterFunction {
        match self {
            Self::Satisfied | Self::Calling | Self::BreakersOpen => MeterFunction::Volts,
            Self::PowerOff => MeterFunction::Ohms,
        }
    }
}

impl MeterFunction {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Volts => "volts",
            Self::Ohms => "ohms",
        }
    }
}

/// One measurement: when, and where the leads go. Volts with power on, ohms with power off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Measurement {
    /// When.
    pub occasion: Occasion,
    /// Where.
    pub probing: Probing,
}

/// A measurement and what the meter showed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeterReading {
    /// The measurement.
    pub measurement: Measurement,
    /// What the meter showed: volts, or ohms with power off (infinite for no continuity).
    pub shown: f64,
}

impl Measurement {
    /// In the words that a reading is typed with, as in
    /// "calling: compressor.line1 to compressor.line2".
    #[must_use]
    pub fn words(self, installation: &Installation) -> String {
        format!(
            "{}: {}",
            self.occasion.words(),
            self.probing.words(installation)
        )
    }
}

impl MeterReading {
    /// In the words that it is typed with.
    #[must_use]
    pub fn words(self, installation: &Installation) -> String {
        let shown = value_words(self.measurement.occasion, self.shown);
        format!("{} = {shown}", self.measurement.words(installation))
    }
}

/// A value as the meter shows it.
#[must_use]
pub fn value_words(occasion: Occasion, shown: f64) -> String {
    match occasion.meter() {
        MeterFunction::Volts => format!("{} V", rounded(shown)),
        MeterFunction::Ohms if shown >= NO_CONTINUITY_OHM => "open".to_owned(),
        MeterFunction::Ohms => format!("{} ohms", rounded(shown)),
    }
}

fn rounded(value: f64) -> f64 {
    let digits = if value < 10.0 { 100.0 } else { 10.0 };
    (value * digits).round() / digits
}

/// Every measurement that a mechanic would think of: volts wherever the table of readings has
/// them, ohms across parts, along conductors, and to ground.
#[must_use]
pub fn measurements(installation: &Installation) -> Vec<Measurement> {
    let live = probings(installation);
    let mut all: Vec<Measurement> = [Occasion::Calling, Occasion::Satisfied]
        .into_iter()
        .flat_map(|occasion| {
            live.iter()
                .map(move |&probing| Measurement { occasion, probing })
        })
        .collect();
    if !isolators(installation).is_empty() {
        let occasion = Occasion::BreakersOpen;
        all.extend(
            live.iter()
                .map(|&probing| Measurement { occasion, probing }),
        );
    }
    let occasion = Occasion::PowerOff;
    let dead = across_parts(installation)
        .chain(along_conductors(installation))
        .chain(to_ground(installation));
    all.extend(dead.map(|probing| Measurement { occasion, probing }));
    all
}

/// Every breaker, fuse and switch that a person can open.
#[must_use]
pub fn isolators(installation: &Installation) -> PartSet {
    installation
        .parts()
        .filter(|(_, part)| part.kind.is_isolator())
        .map(|(id, _)| id)
        .collect()
}

fn across_parts(installation: &Installation) -> impl Iterator<Item = Probing> {
    installation
        .parts()
        .flat_map(|(_, part)| part.test_points())
        .map(|(one, other)| Probing::Between(one, other))
}

fn along_conductors(installation: &Installation) -> impl Iterator<Item = Probing> {
    installation.conductors().map(|(_, conductor)| {
        let [from, to] = conductor.ends;
        Probing::Between(from, to)
    })
}

fn to_ground(installation: &Installation) -> impl Iterator<Item = Probing> {
    let wired = |terminal: &TerminalId| installation.conductors_at(*terminal).next().is_some();
    installation
        .terminals()
        .filter(wired)
        .filter(|&terminal| installation.terminal(terminal).1 != Role::Ground)
        .map(Probing::ToGround)
}
