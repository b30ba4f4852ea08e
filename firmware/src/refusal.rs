//! Why the board does not do what a line asks for, in words.

use hysteron_logic::codec::Unreadable;
use hysteron_logic::control::CommandRefused;
use hysteron_logic::settings::Reason;

/// What is wrong with a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotUnderstood {
    /// Not one of the commands.
    NoSuchCommand,
    /// Not an even number of hexadecimal digits.
    NotHexadecimal,
    /// The bytes are no settings.
    NoSettings(Unreadable),
}

impl NotUnderstood {
    /// What is wrong, in words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::NoSuchCommand => "no such command",
            Self::NotHexadecimal => "the settings are not in hexadecimal",
            Self::NoSettings(Unreadable::Refused(refused)) => settings_refusal_text(refused.reason),
            Self::NoSettings(
                Unreadable::Length
                | Unreadable::Kind
                | Unreadable::Checksum
                | Unreadable::Choice
                | Unreadable::Coefficients,
            ) => "the settings are damaged",
        }
    }
}

/// Why settings were refused, in fewer words than a board with more flash would use.
const fn settings_refusal_text(reason: Reason) -> &'static str {
    match reason {
        Reason::OutOfRange => "a value is out of range",
        Reason::LimitsCrossed => "lowest setpoint above highest",
        Reason::OutsideUserLimits => "setpoint outside its limits",
        Reason::CutInBeyondProbe => "cut-in beyond the probe",
        Reason::ShortOffTimeUnconfirmed => "short off-time not confirmed",
        Reason::CurveDoesNotFitResistor => "probe and resistor do not fit",
        Reason::ClosedFallbackInHeat => "closed fallback in heat",
        Reason::HeatCycleUnconfirmed => "heat cycle not confirmed",
        Reason::HeatCycleOverHalf => "heat cycle on for over half",
        Reason::RunShorterThanMinimum => "fallback run too short",
        Reason::RestShorterThanMinimum => "fallback rest too short",
        Reason::StillReadingInHeat => "still reading in heat not confirmed",
        Reason::CeilingWithinDifferential => "heat ceiling within the differential",
        Reason::CeilingBeyondProbe => "heat ceiling beyond the probe",
        Reason::AlarmOnWrongSide => "alarm on the wrong side of the setpoint",
        Reason::AlarmBeyondProbe => "alarm beyond the probe",
        Reason::DefrostInHeat => "defrost in heat",
        Reason::DefrostLongerThanInterval => "defrost longer than its interval",
        Reason::GraceFillsInterval => "grace fills the defrost interval",
    }
}

/// Why a command was refused, in words.
#[must_use]
pub const fn refusal_text(refused: CommandRefused) -> &'static str {
    match refused {
        CommandRefused::SettingsLocked => "settings locked",
        CommandRefused::NotLockedOut => "there is no lockout",
        CommandRefused::CauseStands(_) => "the cause of the lockout still stands",
    }
}
