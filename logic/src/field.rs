//! Every setting by name: its unit, range and a sentence for a person.

use crate::time::Duration;

/// One setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Field {
    /// Cool or heat.
    Mode,
    /// What the relay switches.
    Load,
    /// Where the call ends.
    Setpoint,
    /// From the setpoint to where the call begins.
    Differential,
    /// Lowest setpoint a user may choose.
    LowestSetpoint,
    /// Highest setpoint a user may choose.
    HighestSetpoint,
    /// Shortest rest.
    MinimumOffTime,
    /// Shortest run.
    MinimumOnTime,
    /// Starts in any sliding hour.
    StartsPerHour,
    /// Added to the rest after power-up.
    PowerUpStagger,
    /// Which thermistor.
    Curve,
    /// The resistor above the thermistor.
    FixedResistor,
    /// Added to what the probe reads.
    ProbeOffset,
    /// Bad spell until a fault is declared.
    ProbeFaultDelay,
    /// Good spell until it is withdrawn.
    ProbeRecoveryTime,
    /// Still spell that counts as bad.
    ProbeFrozenAfter,
    /// What the relay does meanwhile.
    Fallback,
    /// Length of a fallback run.
    FallbackOn,
    /// Length of a fallback rest.
    FallbackOff,
    /// Declared faults that lock out.
    ProbeFaultsToLockout,
    /// The window in which they are counted.
    ProbeFaultWindow,
    /// Temperature that locks heating out.
    HeatCeiling,
    /// High alarm limit.
    HighAlarm,
    /// High alarm delay.
    HighAlarmDelay,
    /// Low alarm limit.
    LowAlarm,
    /// Low alarm delay.
    LowAlarmDelay,
    /// Grace of the alarm on the load's side.
    PullDownGrace,
    /// From defrost to defrost.
    DefrostInterval,
    /// Length of a defrost.
    DefrostLength,
    /// Degrees shown to people.
    Scale,
}

/// What a value is measured in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Unit {
    /// One of a few words.
    Choice,
    /// A plain number.
    Count,
    /// A point on the Celsius scale, in thousandths of a degree.
    Temperature,
    /// A distance on it, in thousandths of a kelvin.
    Difference,
    /// Milliseconds.
    Time,
    /// Ohms.
    Ohms,
}

/// What a person should know of a setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct About {
    /// Its name, in the trade's words.
    pub name: &'static str,
    /// What its value is measured in.
    pub unit: Unit,
    /// Lowest value, in thousandths of a degree, milliseconds, ohms or as a count.
    pub lowest: i64,
    /// Highest value.
    pub highest: i64,
    /// What it does.
    pub sentence: &'static str,
}

const fn about(
    name: &'static str,
    unit: Unit,
    lowest: i64,
    highest: i64,
    sentence: &'static str,
) -> About {
    About {
        name,
        unit,
        lowest,
        highest,
        sentence,
    }
}

const fn choice(name: &'static str, sentence: &'static str) -> About {
    about(name, Unit::Choice, 0, 0, sentence)
}

const fn time(
    name: &'static str,
    lowest: Duration,
    highest: Duration,
    sentence: &'static str,
) -> About {
    about(
        name,
        Unit::Time,
        lowest.millis().cast_signed(),
        highest.millis().cast_signed(),
        sentence,
    )
}

const fn seconds(seconds: u32) -> Duration {
    Duration::from_seconds(seconds)
}

const fn minutes(minutes: u32) -> Duration {
    Duration::from_minutes(minutes)
}

const fn hours(hours: u32) -> Duration {
    Duration::from_hours(hours)
}

impl Field {
    /// Every setting, in the order in which people meet them.
    pub const ALL: [Self; 30] = [
        Self::Mode,
        Self::Load,
        Self::Setpoint,
        Self::Differential,
        Self::LowestSetpoint,
        Self::HighestSetpoint,
        Self::MinimumOffTime,
        Self::MinimumOnTime,
        Self::StartsPerHour,
        Self::PowerUpStagger,
        Self::Curve,
        Self::FixedResistor,
        Self::ProbeOffset,
        Self::ProbeFaultDelay,
        Self::ProbeRecoveryTime,
        Self::ProbeFrozenAfter,
        Self::Fallback,
        Self::FallbackOn,
        Self::FallbackOff,
        Self::ProbeFaultsToLockout,
        Self::ProbeFaultWindow,
        Self::HeatCeiling,
        Self::HighAlarm,
        Self::HighAlarmDelay,
        Self::LowAlarm,
        Self::LowAlarmDelay,
        Self::PullDownGrace,
        Self::DefrostInterval,
        Self::DefrostLength,
        Self::Scale,
    ];

    /// What a person should know of this setting.
    #[must_use]
    pub const fn about(self) -> About {
        use Unit::{Count, Difference, Ohms, Temperature};
        match self {
            Self::Mode => choice("mode", "Whether the load cools or heats."),
            Self::Load => choice(
                "load",
                "What the relay switches; a compressor needs its rest between runs.",
            ),
            Self::Setpoint => about(
                "setpoint",
                Temperature,
                -40_000,
                105_000,
                "The temperature at which the space is satisfied.",
            ),
            Self::Differential => about(
                "differential",
                Difference,
                300,
                17_000,
                "How far the temperature may move from the setpoint before the space calls.",
            ),
            Self::LowestSetpoint => about(
                "lowest setpoint",
                Temperature,
                -40_000,
                105_000,
                "A user cannot choose a setpoint below this.",
            ),
            Self::HighestSetpoint => about(
                "highest setpoint",
                Temperature,
                -40_000,
                105_000,
                "A user cannot choose a setpoint above this.",
            ),
            Self::MinimumOffTime => time(
                "minimum off-time",
                Duration::ZERO,
                minutes(15),
                "Once open, the relay stays open at least this long, so that pressures equalise.",
            ),
            Self::MinimumOnTime => time(
                "minimum on-time",
                Duration::ZERO,
                minutes(10),
                "Once closed, the relay stays closed at least this long, so that oil returns.",
            ),
            Self::StartsPerHour => about(
                "starts per hour",
                Count,
                1,
                30,
                "The load starts no more often than this in any hour.",
            ),
            Self::PowerUpStagger => time(
                "power-up stagger",
                Duration::ZERO,
                seconds(120),
                "Added to the minimum off-time after power-up, so that many controls do not start together.",
            ),
            Self::Curve => choice("probe curve", "Which thermistor is connected."),
            Self::FixedResistor => about(
                "fixed resistor",
                Ohms,
                500,
                1_000_000,
                "The resistor above the thermistor, from the converter's reference to its input.",
            ),
            Self::ProbeOffset => about(
                "probe offset",
                Difference,
                -5_000,
                5_000,
                "Added to what the probe reads, to agree with a thermometer that is trusted more.",
            ),
            Self::ProbeFaultDelay => time(
                "probe-fault delay",
                Duration::ZERO,
                minutes(10),
                "Bad samples for this long are declared a probe fault.",
            ),
            Self::ProbeRecoveryTime => time(
                "probe recovery time",
                Duration::ZERO,
                minutes(60),
                "A declared fault is withdrawn after good samples for this long.",
            ),
            Self::ProbeFrozenAfter => time(
                "probe frozen after",
                minutes(5),
                hours(24),
                "A reading that has not moved at all for this long is not believed.",
            ),
            Self::Fallback => choice(
                "fallback",
                "What the relay does while a probe fault is declared.",
            ),
            Self::FallbackOn => time(
                "fallback on",
                minutes(1),
                minutes(60),
                "Length of a run while the fallback cycles.",
            ),
            Self::FallbackOff => time(
                "fallback off",
                minutes(1),
                minutes(240),
                "Length of a rest while the fallback cycles.",
            ),
            Self::ProbeFaultsToLockout => about(
                "probe faults to lockout",
                Count,
                2,
                10,
                "This many declared probe faults within the window lock the load out.",
            ),
            Self::ProbeFaultWindow => time(
                "probe-fault window",
                minutes(10),
                hours(24),
                "The window in which declared probe faults are counted.",
            ),
            Self::HeatCeiling => about(
                "heat ceiling",
                Temperature,
                -40_000,
                115_000,
                "In heat mode, reaching this temperature locks the load out.",
            ),
            Self::HighAlarm => about(
                "high alarm",
                Temperature,
                -50_000,
                120_000,
                "Warmer than this for the delay raises the high alarm.",
            ),
            Self::HighAlarmDelay => time(
                "high alarm delay",
                Duration::ZERO,
                hours(24),
                "How long the temperature may lie above the high alarm.",
            ),
            Self::LowAlarm => about(
                "low alarm",
                Temperature,
                -50_000,
                120_000,
                "Colder than this for the delay raises the low alarm.",
            ),
            Self::LowAlarmDelay => time(
                "low alarm delay",
                Duration::ZERO,
                hours(24),
                "How long the temperature may lie below the low alarm.",
            ),
            Self::PullDownGrace => time(
                "pull-down grace",
                Duration::ZERO,
                hours(48),
                "After power-up, a change of mode or a defrost the load is given this long to get there.",
            ),
            Self::DefrostInterval => time(
                "defrost interval",
                hours(1),
                hours(48),
                "From the end of one off-cycle defrost to the beginning of the next.",
            ),
            Self::DefrostLength => time(
                "defrost length",
                minutes(1),
                minutes(120),
                "How long the load rests for the coil to clear.",
            ),
            Self::Scale => choice("scale", "Degrees Celsius or Fahrenheit, for people."),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_field_is_told_once() {
        for (index, field) in Field::ALL.iter().enumerate() {
            let about = field.about();
            assert!(about.lowest <= about.highest, "{}", about.name);
            assert!(about.sentence.ends_with('.'), "{}", about.name);
            for other in &Field::ALL[index + 1..] {
                assert_ne!(about.name, other.about().name);
            }
        }
    }
}
