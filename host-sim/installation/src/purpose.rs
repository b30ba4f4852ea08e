//! What a part is there for.

use super::load::Duty;
use super::part::{Actuator, Kind};

impl Kind {
    /// Whether it is a motor.
    #[must_use]
    pub fn is_motor(&self) -> bool {
        matches!(self, Self::Motor(_))
    }

    /// Whether it is a motor that does this.
    #[must_use]
    pub fn is_motor_for(&self, duty: Duty) -> bool {
        matches!(self, Self::Motor(motor) if motor.duty == duty)
    }

    /// Whether it is a liquid-line solenoid valve.
    #[must_use]
    pub fn is_valve(&self) -> bool {
        matches!(self, Self::Valve(_))
    }

    /// Whether it is a heater.
    #[must_use]
    pub fn is_heater(&self) -> bool {
        matches!(self, Self::Heater(_))
    }

    /// Whether it is a contact that this moves.
    #[must_use]
    pub fn is_moved_by(&self, actuator: Actuator) -> bool {
        matches!(self, Self::Device(device) if device.actuator == actuator)
    }

    /// Whether it is a breaker, fuse or switch, which a person can open.
    #[must_use]
    pub fn is_isolator(&self) -> bool {
        matches!(self, Self::Overcurrent(_)) || self.is_moved_by(Actuator::Switch)
    }

    /// Whether it is a load that is there to cool or heat, so that the control should rule it.
    #[must_use]
    pub fn does_the_work(&self) -> bool {
        match self {
            Self::Motor(motor) => match motor.duty {
                Duty::Compressor => true,
                Duty::CondenserFan | Duty::EvaporatorFan => false,
            },
            Self::Valve(_) | Self::Heater(_) | Self::Contactor(_) => true,
            Self::Supply(_)
            | Self::Transformer(_)
            | Self::Conductor(_)
            | Self::Overcurrent(_)
            | Self::Device(_)
            | Self::Control(_)
            | Self::Lamp(_) => false,
        }
    }

    /// What it takes from the line at its rated voltage, in watts; absent for what has no such
    /// figure.
    #[must_use]
    pub fn rated_power_w(&self) -> Option<f64> {
        match self {
            Self::Motor(motor) => Some(motor.rated_v * motor.running_a * motor.power_factor),
            Self::Heater(resistance) | Self::Lamp(resistance) => Some(resistance.power_w),
            Self::Valve(_)
            | Self::Contactor(_)
            | Self::Supply(_)
            | Self::Transformer(_)
            | Self::Conductor(_)
            | Self::Overcurrent(_)
            | Self::Device(_)
            | Self::Control(_) => None,
        }
    }
}
