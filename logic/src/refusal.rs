//! Why settings are refused, in words that say what to do.

use core::fmt;

use crate::field::Field;

/// Why a draft was refused: which setting, and what is wrong with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Refused {
    /// The setting to change.
    pub field: Field,
    /// What is wrong with it.
    pub reason: Reason,
}

/// What is wrong with a setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Reason {
    /// Outside its range; [`Field::about`] tells the range.
    OutOfRange,
    /// The lowest setpoint lies above the highest.
    LimitsCrossed,
    /// The setpoint lies outside the limits set for users.
    OutsideUserLimits,
    /// The cut-in lies beyond what this probe can be read as.
    CutInBeyondProbe,
    /// A compressor needs three minutes of rest unless a person confirms less.
    ShortOffTimeUnconfirmed,
    /// The curve and the fixed resistor do not fit together from −40 to +100 °C.
    CurveDoesNotFitResistor,
    /// Heat must not be kept on without a probe.
    ClosedFallbackInHeat,
    /// Heat that cycles without a probe needs a person's confirmation.
    HeatCycleUnconfirmed,
    /// Heat that cycles without a probe must be off for at least as long as it is on.
    HeatCycleOverHalf,
    /// A fallback run shorter than the minimum on-time.
    RunShorterThanMinimum,
    /// A fallback rest shorter than the minimum off-time.
    RestShorterThanMinimum,
    /// In heat mode a reading that never moves must not be believed for ever.
    StillReadingInHeat,
    /// In heat mode the ceiling must lie above the setpoint by more than the differential.
    CeilingWithinDifferential,
    /// The ceiling lies beyond what this probe can be read as.
    CeilingBeyondProbe,
    /// The high alarm lies at or below the setpoint, or the low alarm at or above it.
    AlarmOnWrongSide,
    /// The alarm could never sound: it lies beyond what this probe can be read as.
    AlarmBeyondProbe,
    /// Off-cycle defrost is for cooling.
    DefrostInHeat,
    /// The defrost is as long as its interval, or longer.
    DefrostLongerThanInterval,
    /// The grace after a defrost lasts until the next one: the high alarm could never sound.
    GraceFillsInterval,
}

impl Reason {
    /// The reason as a sentence that says what to do.
    #[must_use]
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::OutOfRange => "The value lies outside its range.",
            Self::LimitsCrossed => "The lowest setpoint must not lie above the highest.",
            Self::OutsideUserLimits => {
                "The setpoint must lie between the lowest and the highest setpoint."
            }
            Self::CutInBeyondProbe => {
                "Setpoint and differential put the cut-in beyond what this probe, resistor and offset can read; choose a smaller differential."
            }
            Self::ShortOffTimeUnconfirmed => {
                "A compressor needs at least 3 min of rest; choose more, or confirm the short off-time."
            }
            Self::CurveDoesNotFitResistor => {
                "With this fixed resistor the probe would read as open or shorted between -40 and +100 °C; choose a resistor near the probe's resistance at 25 °C."
            }
            Self::ClosedFallbackInHeat => {
                "Heat must not stay on without a probe; choose open, or a timed cycle and confirm it."
            }
            Self::HeatCycleUnconfirmed => {
                "Heat that cycles without a probe needs a person's confirmation."
            }
            Self::HeatCycleOverHalf => {
                "Heat that cycles without a probe must be off for at least as long as it is on."
            }
            Self::RunShorterThanMinimum => {
                "The fallback's run must not be shorter than the minimum on-time."
            }
            Self::RestShorterThanMinimum => {
                "The fallback's rest must not be shorter than the minimum off-time."
            }
            Self::StillReadingInHeat => {
                "Heat on a reading that never moves has no end; set a time, or confirm heat without a probe."
            }
            Self::CeilingWithinDifferential => {
                "The heat ceiling must lie above the setpoint by more than the differential."
            }
            Self::CeilingBeyondProbe => {
                "The ceiling would never be seen: it must lie 1 K within what this probe, resistor and offset can read."
            }
            Self::AlarmOnWrongSide => {
                "The high alarm must lie above the setpoint, the low alarm below it."
            }
            Self::AlarmBeyondProbe => {
                "The alarm could never sound: it must lie 1 K within what this probe, resistor and offset can read."
            }
            Self::DefrostInHeat => "Off-cycle defrost is for cooling; switch it off in heat mode.",
            Self::DefrostLongerThanInterval => "The defrost must be shorter than its interval.",
            Self::GraceFillsInterval => {
                "The high alarm could never sound: the grace after a defrost must be shorter than the defrost interval."
            }
        }
    }
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.field.about().name, self.reason.sentence())
    }
}

impl core::error::Error for Refused {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refusal_names_the_setting_and_says_what_to_do() {
        let refused = Refused {
            field: Field::HighAlarm,
            reason: Reason::AlarmOnWrongSide,
        };
        assert_eq!(
            refused.to_string(),
            format!(
                "{}: The high alarm must lie above the setpoint, the low alarm below it.",
                Field::HighAlarm.about().name
            )
        );
    }
}
