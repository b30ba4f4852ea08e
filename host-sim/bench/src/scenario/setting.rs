//! The settings as a file gives them, one row for each.
//!
//! A row says under which key a setting is written, what the control calls it, what may be written
//! there and what comes of it. Name, unit, range and sentence are the control's own:
//! [`Field::about`].

use hysteron_logic::call::Mode;
use hysteron_logic::curve::Curve;
use hysteron_logic::field::Field;
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::probe::FrozenCheck;
use hysteron_logic::settings::{Confirmation, Load, Reason, Scale};
use hysteron_logic::time::Duration;
use hysteron_logic::units::{Difference, Temperature};

use super::dormant::{Drafted, FallbackKind};

/// One key of a table of settings.
#[derive(Debug)]
pub struct Setting {
    /// The key: the setting's name with `_` between its words.
    pub key: &'static str,
    /// What it sets.
    pub sets: Sets,
    /// What may be written, and what comes of it.
    pub takes: Takes,
}

/// What a key of a table of settings is for.
#[derive(Debug)]
pub enum Sets {
    /// A setting of the control.
    Field(Field),
    /// The confirmation that an unusual choice is meant.
    Confirmation {
        /// What the control says where it is not confirmed.
        asked_by: &'static [Reason],
        /// What is confirmed.
        sentence: &'static str,
    },
}

/// What may be written for a setting, and what it does to a draft.
#[derive(Debug)]
pub enum Takes {
    /// One of these words.
    Word(&'static [Choice]),
    /// A length of time, such as this one.
    Time(&'static str, fn(&mut Drafted, Duration)),
    /// A length of time, or the word that switches it off.
    TimeOr(
        &'static str,
        &'static str,
        fn(&mut Drafted, Option<Duration>),
    ),
    /// A temperature, such as this one.
    Temperature(&'static str, fn(&mut Drafted, Temperature)),
    /// A temperature, or the word that switches it off.
    TemperatureOr(
        &'static str,
        &'static str,
        fn(&mut Drafted, Option<Temperature>),
    ),
    /// A difference of temperatures, such as this one.
    Difference(&'static str, fn(&mut Drafted, Difference)),
    /// A whole number, or the word that switches it off.
    CountOr(&'static str, fn(&mut Drafted, Option<u8>)),
    /// A resistance, such as this one, in ohms.
    Resistance(&'static str, fn(&mut Drafted, u32)),
    /// A published curve by its name, or coefficients.
    Curve(fn(&mut Drafted, Curve)),
    /// True or false.
    Confirmation(fn(&mut Drafted, Confirmation)),
}

/// A word, and what it does to a draft.
pub type Choice = (&'static str, fn(&mut Drafted));

const fn field(key: &'static str, field: Field, takes: Takes) -> Setting {
    Setting {
        key,
        sets: Sets::Field(field),
        takes,
    }
}

use Takes::{CountOr, Resistance, TemperatureOr, Time, TimeOr, Word};

/// Every key, in the order in which messages list them.
pub static SETTINGS: &[Setting] = &[
    field(
        "mode",
        Field::Mode,
        Word(&[
            (mode_word(Mode::Cool), |to| to.draft.mode = Mode::Cool),
            (mode_word(Mode::Heat), |to| to.draft.mode = Mode::Heat),
        ]),
    ),
    field(
        "load",
        Field::Load,
        Word(&[
            ("compressor", |to| to.draft.load = Load::Compressor),
            ("other", |to| to.draft.load = Load::Other),
        ]),
    ),
    field(
        "setpoint",
        Field::Setpoint,
        Takes::Temperature("2 °C", |to, point| to.draft.setpoint = point),
    ),
    field(
        "differential",
        Field::Differential,
        Takes::Difference("2 K", |to, difference| to.draft.differential = difference),
    ),
    field(
        "lowest_setpoint",
        Field::LowestSetpoint,
        Takes::Temperature("2 °C", |to, point| to.draft.lowest_setpoint = point),
    ),
    field(
        "highest_setpoint",
        Field::HighestSetpoint,
        Takes::Temperature("2 °C", |to, point| to.draft.highest_setpoint = point),
    ),
    field(
        "heat_ceiling",
        Field::HeatCeiling,
        Takes::Temperature("2 °C", |to, point| to.draft.heat_ceiling = point),
    ),
    field(
        "heat_ceiling_confirmation",
        Field::HeatCeilingConfirmation,
        Time("5 min", |to, time| {
            to.draft.heat_ceiling_confirmation = time
        }),
    ),
    field(
        "scale",
        Field::Scale,
        Word(&[
            ("celsius", |to| to.draft.scale = Scale::Celsius),
            ("fahrenheit", |to| to.draft.scale = Scale::Fahrenheit),
        ]),
    ),
    field(
        "minimum_off_time",
        Field::MinimumOffTime,
        Time("5 min", |to, time| to.draft.minimum_off_time = time),
    ),
    field(
        "minimum_on_time",
        Field::MinimumOnTime,
        Time("5 min", |to, time| to.draft.minimum_on_time = time),
    ),
    field(
        "starts_per_hour",
        Field::StartsPerHour,
        CountOr("no limit", |to, starts| {
            to.draft.starts_per_hour = starts.map_or(StartsLimit::Unlimited, StartsLimit::PerHour);
        }),
    ),
    field(
        "power_up_stagger",
        Field::PowerUpStagger,
        Time("5 min", |to, time| to.draft.power_up_stagger = time),
    ),
    Setting {
        key: "confirm_short_off_time",
        sets: Sets::Confirmation {
            asked_by: &[Reason::ShortOffTimeUnconfirmed],
            sentence: "Takes responsibility for a compressor that rests less than three minutes.",
        },
        takes: Takes::Confirmation(|to, confirmation| to.draft.short_off_time = confirmation),
    },
    field(
        "probe_curve",
        Field::Curve,
        Takes::Curve(|to, curve| to.draft.curve = curve),
    ),
    field(
        "fixed_resistor",
        Field::FixedResistor,
        Resistance("10 kΩ", |to, ohms| to.draft.fixed_resistor_ohms = ohms),
    ),
    field(
        "probe_offset",
        Field::ProbeOffset,
        Takes::Difference("0.5 K", |to, difference| to.draft.probe_offset = difference),
    ),
    field(
        "probe_fault_delay",
        Field::ProbeFaultDelay,
        Time("5 min", |to, time| to.draft.probe_fault_delay = time),
    ),
    field(
        "probe_recovery_time",
        Field::ProbeRecoveryTime,
        Time("5 min", |to, time| to.draft.probe_recovery_time = time),
    ),
    field(
        "probe_frozen_after",
        Field::ProbeFrozenAfter,
        TimeOr("never", "4 h", |to, after| {
            to.draft.probe_frozen = after.map_or(FrozenCheck::Off, FrozenCheck::After);
        }),
    ),
    field(
        "fallback",
        Field::Fallback,
        Word(&[
            ("open", |to| to.dormant.fallback = FallbackKind::Open),
            ("keep closed", |to| {
                to.dormant.fallback = FallbackKind::Closed
            }),
            ("timed cycle", |to| {
                to.dormant.fallback = FallbackKind::TimedCycle
            }),
            ("measured duty", |to| {
                to.dormant.fallback = FallbackKind::MeasuredDuty
            }),
        ]),
    ),
    field(
        "fallback_on",
        Field::FallbackOn,
        Time("5 min", |to, time| to.dormant.cycle.on = time),
    ),
    field(
        "fallback_off",
        Field::FallbackOff,
        Time("5 min", |to, time| to.dormant.cycle.off = time),
    ),
    Setting {
        key: "confirm_heat_without_probe",
        sets: Sets::Confirmation {
            asked_by: &[Reason::HeatCycleUnconfirmed, Reason::StillReadingInHeat],
            sentence: "Takes responsibility for a load that heats without a probe that is believed.",
        },
        takes: Takes::Confirmation(|to, confirmation| to.draft.heat_without_probe = confirmation),
    },
    field(
        "probe_faults_to_lockout",
        Field::ProbeFaultsToLockout,
        CountOr("never", |to, faults| to.dormant.faults = faults),
    ),
    field(
        "probe_fault_window",
        Field::ProbeFaultWindow,
        Time("5 min", |to, time| to.dormant.fault_window = time),
    ),
    field(
        "high_alarm",
        Field::HighAlarm,
        TemperatureOr("off", "8 °C", |to, limit| to.dormant.high = limit),
    ),
    field(
        "high_alarm_delay",
        Field::HighAlarmDelay,
        Time("5 min", |to, time| to.dormant.high_delay = time),
    ),
    field(
        "low_alarm",
        Field::LowAlarm,
        TemperatureOr("off", "-1 °C", |to, limit| to.dormant.low = limit),
    ),
    field(
        "low_alarm_delay",
        Field::LowAlarmDelay,
        Time("5 min", |to, time| to.dormant.low_delay = time),
    ),
    field(
        "pull_down_grace",
        Field::PullDownGrace,
        Time("5 min", |to, time| to.draft.pull_down_grace = time),
    ),
    field(
        "grace_after_defrost",
        Field::GraceAfterDefrost,
        Time("5 min", |to, time| to.draft.grace_after_defrost = time),
    ),
    field(
        "defrost_interval",
        Field::DefrostInterval,
        TimeOr("off", "6 h", |to, interval| to.dormant.defrost = interval),
    ),
    field(
        "defrost_length",
        Field::DefrostLength,
        Time("5 min", |to, time| to.dormant.defrost_length = time),
    ),
];

impl Setting {
    /// The setting of the control, unless the key confirms something.
    #[must_use]
    pub const fn field(&self) -> Option<Field> {
        match self.sets {
            Sets::Field(field) => Some(field),
            Sets::Confirmation { .. } => None,
        }
    }

    /// What it does, in a sentence.
    #[must_use]
    pub const fn sentence(&self) -> &'static str {
        match self.sets {
            Sets::Field(field) => field.about().sentence,
            Sets::Confirmation { sentence, .. } => sentence,
        }
    }
}

/// What a file calls a mode.
#[must_use]
pub const fn mode_word(mode: Mode) -> &'static str {
    match mode {
        Mode::Cool => "cool",
        Mode::Heat => "heat",
    }
}

/// The key that confirms an unusual choice, if that is what the control asks for.
#[must_use]
pub fn confirmed_by(reason: Reason) -> Option<&'static str> {
    let confirms = |setting: &&Setting| match setting.sets {
        Sets::Confirmation { asked_by, .. } => asked_by.contains(&reason),
        Sets::Field(_) => false,
    };
    SETTINGS.iter().find(confirms).map(|setting| setting.key)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_setting_has_its_key_and_is_called_by_its_name() {
        for field in Field::ALL {
            let mut keys = SETTINGS
                .iter()
                .filter(|setting| setting.field() == Some(field));
            let setting = keys.next().expect("a key");
            assert!(keys.next().is_none(), "{field:?} twice");
            assert_eq!(setting.key, field.about().name.replace([' ', '-'], "_"));
        }
    }
}
