//! Parts: what stands between the fuse and the product.

use std::ops::Range;

use super::conductor::Conductor;
use super::load::{Coil, Duty, Motor, Resistance, Supplied};
use super::supply::Supply;
use super::terminal::{Ordinal, Pole, Role, Tap, TerminalId};
use super::trouble::Trouble;

/// What a contact may switch, up to a voltage.
#[derive(Debug, Clone, PartialEq)]
pub struct Rating {
    /// Applies up to this voltage, in volts.
    pub up_to_v: f64,
    /// Resistive load, in amperes.
    pub resistive_a: f64,
    /// Motor, full-load current, in amperes.
    pub full_load_a: f64,
    /// Motor, locked-rotor current, in amperes.
    pub locked_rotor_a: f64,
    /// Coils, apparent power when sealed, in volt-amperes.
    pub pilot_duty_va: f64,
}

/// A transformer for a control circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct Transformer {
    /// Rated primary voltage, in volts.
    pub primary_v: f64,
    /// Rated secondary voltage, reached at rated load, in volts.
    pub secondary_v: f64,
    /// Rated apparent power, in volt-amperes.
    pub rated_va: f64,
    /// How far the secondary voltage falls from no load to rated load, as a fraction of the rated one.
    pub droop: f64,
}

/// What opens on too much current.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Protection {
    /// Melts.
    Fuse,
    /// Trips, all its poles together.
    Breaker,
}

/// A fuse or a breaker.
#[derive(Debug, Clone, PartialEq)]
pub struct Overcurrent {
    /// Fuse or breaker.
    pub protection: Protection,
    /// Current it carries for good, in amperes.
    pub rating_a: f64,
    /// Poles that open together.
    pub poles: Poles,
}

impl Overcurrent {
    /// Above this current it opens within a second, in amperes.
    ///
    /// Small thermal-magnetic breakers trip at five to ten times their rating (common
    /// practice), and a time-delay fuse, which holds five times its rating for ten seconds,
    /// melts soon above that (from memory). Less takes its time, and a motor must be able to
    /// start.
    #[must_use]
    pub fn opens_at_once_a(&self) -> f64 {
        match self.protection {
            Protection::Fuse => 6.0 * self.rating_a,
            Protection::Breaker => 10.0 * self.rating_a,
        }
    }
}

/// How many conductors a device opens at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Poles {
    /// One.
    One,
    /// Two.
    Two,
    /// Three.
    Three,
}

impl Poles {
    /// Each of them.
    #[must_use]
    pub fn each(self) -> &'static [Pole] {
        const NUMBERED: [Pole; 3] = [
            Pole::Nth(Ordinal::FIRST),
            Pole::Nth(Ordinal::SECOND),
            Pole::Nth(Ordinal::THIRD),
        ];
        match self {
            Self::One => &[Pole::Only],
            Self::Two => &NUMBERED[..2],
            Self::Three => &NUMBERED,
        }
    }
}

/// A pole of a part, and its two sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PoleSides {
    /// Which one.
    pub pole: Pole,
    /// The side of the supply.
    pub line: TerminalId,
    /// The side of the load.
    pub load: TerminalId,
}

/// What makes a contact move that neither the control nor a coil moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Actuator {
    /// A hand.
    Switch,
    /// Suction pressure; opens when it is low.
    LowPressure,
    /// Discharge pressure; opens when it is high.
    HighPressure,
    /// Temperature; opens when it is too high.
    HighLimit,
    /// A door; opens with it.
    Door,
}

/// A contact moved by something outside the circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct Device {
    /// What moves it.
    pub actuator: Actuator,
    /// Poles that open together.
    pub poles: Poles,
    /// Resistance of a closed pole, in ohms.
    pub contact_ohm: f64,
    /// What a pole may switch, in the order of rising voltage; empty when not given.
    pub ratings: Vec<Rating>,
}

/// The control: its power input and its relay.
#[derive(Debug, Clone, PartialEq)]
pub struct ControlPart {
    /// The taps, in the order of rising voltage.
    pub taps: Vec<Tap>,
    /// What it draws at rated voltage, in volt-amperes.
    pub power_va: f64,
    /// Works at this fraction of the rated voltage and above.
    pub least_fraction: f64,
    /// Resistance of a closed relay contact, in ohms.
    pub contact_ohm: f64,
    /// What a relay contact may switch, in the order of rising voltage.
    pub ratings: Vec<Rating>,
}

/// A contactor: a coil, and contacts that close with it.
#[derive(Debug, Clone, PartialEq)]
pub struct Contactor {
    /// The coil.
    pub coil: Coil,
    /// Contacts that close together.
    pub poles: Poles,
    /// Resistance of a closed pole, in ohms.
    pub contact_ohm: f64,
    /// What a pole may switch, in the order of rising voltage.
    pub ratings: Vec<Rating>,
}

/// What a part is.
#[derive(Debug, Clone, PartialEq)]
pub enum Kind {
    /// Where the electricity comes from.
    Supply(Supply),
    /// A transformer for a control circuit.
    Transformer(Transformer),
    /// A wire or a jumper.
    Conductor(Conductor),
    /// A fuse or a breaker.
    Overcurrent(Overcurrent),
    /// A switch, a pressure control, a limit.
    Device(Device),
    /// The control.
    Control(ControlPart),
    /// A contactor.
    Contactor(Contactor),
    /// A compressor or a fan.
    Motor(Motor),
    /// A liquid-line solenoid valve.
    Valve(Coil),
    /// A heater.
    Heater(Resistance),
    /// A lamp.
    Lamp(Resistance),
}

/// One part of an installation.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Its name in the file.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// What is wrong with it.
    pub troubles: Vec<Trouble>,
    /// How often it fails, against the usual for its kind: 1 where the file says nothing.
    pub fault_weight: f64,
    pub(crate) terminals: Vec<(Role, TerminalId)>,
    pub(crate) written_at: Range<usize>,
}

impl Part {
    /// Its terminals, in the order of its kind; a conductor has none of its own.
    #[must_use]
    pub fn terminals(&self) -> &[(Role, TerminalId)] {
        &self.terminals
    }

    /// The terminal of that role, if the part has one.
    #[must_use]
    pub fn terminal(&self, role: Role) -> Option<TerminalId> {
        self.terminals
            .iter()
            .find(|(own, _)| *own == role)
            .map(|&(_, id)| id)
    }

    /// Where its name stands in the file, in bytes.
    #[must_use]
    pub fn written_at(&self) -> Range<usize> {
        self.written_at.clone()
    }

    /// Whether it has this trouble.
    #[must_use]
    pub fn suffers(&self, trouble: Trouble) -> bool {
        self.troubles.contains(&trouble)
    }

    /// Whether its winding, coil or element is open or short-circuited, so that it does no work
    /// whatever voltage it gets.
    #[must_use]
    pub fn is_winding_broken(&self) -> bool {
        self.suffers(Trouble::WindingOpen) || self.suffers(Trouble::WindingShorted)
    }
}

impl Kind {
    /// What a person calls it.
    #[must_use]
    pub fn name(&self) -> &'static str {
        match self {
            Self::Supply(_) => "supply",
            Self::Transformer(_) => "transformer",
            Self::Conductor(conductor) => match conductor.sort {
                super::conductor::Sort::Wire => "wire",
                super::conductor::Sort::Jumper => "jumper",
            },
            Self::Overcurrent(overcurrent) => match overcurrent.protection {
                Protection::Fuse => "fuse",
                Protection::Breaker => "breaker",
            },
            Self::Device(device) => match device.actuator {
                Actuator::Switch => "switch",
                Actuator::LowPressure => "low-pressure control",
                Actuator::HighPressure => "high-pressure control",
                Actuator::HighLimit => "high limit",
                Actuator::Door => "door switch",
            },
            Self::Control(_) => "control",
            Self::Contactor(_) => "contactor",
            Self::Motor(motor) => match motor.duty {
                Duty::Compressor => "compressor",
                Duty::CondenserFan => "condenser fan",
                Duty::EvaporatorFan => "evaporator fan",
            },
            Self::Valve(_) => "liquid-line solenoid valve",
            Self::Heater(_) => "heater",
            Self::Lamp(_) => "lamp",
        }
    }

    /// The conductor that it is, if it is one.
    #[must_use]
    pub fn as_conductor(&self) -> Option<&Conductor> {
        if let Self::Conductor(conductor) = self {
            Some(conductor)
        } else {
            None
        }
    }

    /// The control that it is, if it is one.
    #[must_use]
    pub fn as_control(&self) -> Option<&ControlPart> {
        if let Self::Control(control) = self {
            Some(control)
        } else {
            None
        }
    }

    /// The supply that it is, if it is one.
    #[must_use]
    pub fn as_supply(&self) -> Option<&Supply> {
        if let Self::Supply(supply) = self {
            Some(supply)
        } else {
            None
        }
    }

    /// The electromagnet that it is or has, if any: a contactor's coil, or a valve's.
    #[must_use]
    pub fn coil(&self) -> Option<&Coil> {
        if let Self::Valve(coil) | Self::Contactor(Contactor { coil, .. }) = self {
            Some(coil)
        } else {
            None
        }
    }

    /// The voltage that a load is made for, in volts; absent for a part that is none.
    #[must_use]
    pub fn rated_v(&self) -> Option<f64> {
        match self {
            Self::Motor(motor) => Some(motor.rated_v),
            Self::Valve(coil) => Some(coil.rated_v),
            Self::Heater(resistance) | Self::Lamp(resistance) => Some(resistance.rated_v),
            Self::Contactor(contactor) => Some(contactor.coil.rated_v),
            Self::Supply(_)
            | Self::Transformer(_)
            | Self::Conductor(_)
            | Self::Overcurrent(_)
            | Self::Device(_)
            | Self::Control(_) => None,
        }
    }

    /// How a load fares at this fraction of its rated voltage.
    #[must_use]
    pub fn supplied(&self, fraction: f64) -> Supplied {
        let least = match self {
            Self::Motor(_) => Motor::STALL_FRACTION,
            Self::Valve(coil) => coil.pull_in_fraction,
            Self::Contactor(contactor) => contactor.coil.pull_in_fraction,
            Self::Control(control) => control.least_fraction,
            Self::Heater(_)
            | Self::Lamp(_)
            | Self::Supply(_)
            | Self::Transformer(_)
            | Self::Conductor(_)
            | Self::Overcurrent(_)
            | Self::Device(_) => 0.85,
        };
        Supplied::of(fraction, least)
    }

    /// What its contacts may switch; absent for a part without contacts of its own.
    #[must_use]
    pub fn ratings(&self) -> Option<&[Rating]> {
        match self {
            Self::Control(control) => Some(&control.ratings),
            Self::Contactor(contactor) => Some(&contactor.ratings),
            Self::Device(device) => Some(&device.ratings),
            Self::Supply(_)
            | Self::Transformer(_)
            | Self::Conductor(_)
            | Self::Overcurrent(_)
            | Self::Motor(_)
            | Self::Valve(_)
            | Self::Heater(_)
            | Self::Lamp(_) => None,
        }
    }
}
