//! The value of each setting, in words.

use hysteron_logic::alarm::AlarmLimit;
use hysteron_logic::call::Mode;
use hysteron_logic::defrost::DefrostPlan;
use hysteron_logic::fallback::{Cycle, Fallback};
use hysteron_logic::field::Field;
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::lockout::RepeatLimit;
use hysteron_logic::probe::FrozenCheck;
use hysteron_logic::settings::{Draft, Load, Scale};

use super::degrees::{Degrees, trimmed};

/// The value of `field`; none where it has no bearing, as the heat ceiling in cool mode.
#[must_use]
pub fn value(field: Field, draft: &Draft) -> Option<String> {
    let degrees = Degrees::of(draft.scale);
    Some(match field {
        Field::Mode => mode(draft.mode).to_owned(),
        Field::Load => match draft.load {
            Load::Compressor => "compressor".to_owned(),
            Load::Other => "other".to_owned(),
        },
        Field::Setpoint => degrees.chosen(draft.setpoint),
        Field::Differential => degrees.difference(draft.differential),
        Field::LowestSetpoint => degrees.chosen(draft.lowest_setpoint),
        Field::HighestSetpoint => degrees.chosen(draft.highest_setpoint),
        Field::MinimumOffTime => draft.minimum_off_time.to_string(),
        Field::MinimumOnTime => draft.minimum_on_time.to_string(),
        Field::StartsPerHour => match draft.starts_per_hour {
            StartsLimit::Unlimited => "no limit".to_owned(),
            StartsLimit::PerHour(starts) => starts.to_string(),
        },
        Field::PowerUpStagger => draft.power_up_stagger.to_string(),
        Field::Curve => draft.curve.name().to_owned(),
        Field::FixedResistor => format!("{} Ω", trimmed(f64::from(draft.fixed_resistor_ohms), 0)),
        Field::ProbeOffset => degrees.difference(draft.probe_offset),
        Field::ProbeFaultDelay => draft.probe_fault_delay.to_string(),
        Field::ProbeRecoveryTime => draft.probe_recovery_time.to_string(),
        Field::ProbeFrozenAfter => match draft.probe_frozen {
            FrozenCheck::Off => "off".to_owned(),
            FrozenCheck::After(still) => still.to_string(),
        },
        Field::Fallback => fallback(draft.fallback).to_owned(),
        Field::FallbackOn => cycle(draft.fallback)?.on.to_string(),
        Field::FallbackOff => cycle(draft.fallback)?.off.to_string(),
        Field::ProbeFaultsToLockout => match draft.probe_fault_lockout {
            RepeatLimit::Unlimited => "never".to_owned(),
            RepeatLimit::Faults { count, .. } => count.to_string(),
        },
        Field::ProbeFaultWindow => match draft.probe_fault_lockout {
            RepeatLimit::Unlimited => return None,
            RepeatLimit::Faults { window, .. } => window.to_string(),
        },
        Field::HeatCeiling => match draft.mode {
            Mode::Cool => return None,
            Mode::Heat => degrees.chosen(draft.heat_ceiling),
        },
        Field::HeatCeilingConfirmation => match draft.mode {
            Mode::Cool => return None,
            Mode::Heat => draft.heat_ceiling_confirmation.to_string(),
        },
        Field::HighAlarm => alarm_limit(draft.high_alarm, degrees),
        Field::HighAlarmDelay => alarm_delay(draft.high_alarm)?,
        Field::LowAlarm => alarm_limit(draft.low_alarm, degrees),
        Field::LowAlarmDelay => alarm_delay(draft.low_alarm)?,
        Field::PullDownGrace => draft.pull_down_grace.to_string(),
        Field::GraceAfterDefrost => match draft.defrost {
            DefrostPlan::Off => return None,
            DefrostPlan::Every { .. } => draft.grace_after_defrost.to_string(),
        },
        Field::DefrostInterval => match draft.defrost {
            DefrostPlan::Off => "no defrost".to_owned(),
            DefrostPlan::Every { interval, .. } => interval.to_string(),
        },
        Field::DefrostLength => match draft.defrost {
            DefrostPlan::Off => return None,
            DefrostPlan::Every { length, .. } => length.to_string(),
        },
        Field::Scale => match draft.scale {
            Scale::Celsius => "degrees Celsius".to_owned(),
            Scale::Fahrenheit => "degrees Fahrenheit".to_owned(),
        },
    })
}

/// The mode in a word.
#[must_use]
pub const fn mode(mode: Mode) -> &'static str {
    match mode {
        Mode::Cool => "cool",
        Mode::Heat => "heat",
    }
}

/// The kind of fallback.
#[must_use]
pub const fn fallback(fallback: Fallback) -> &'static str {
    match fallback {
        Fallback::Open => "open",
        Fallback::Closed => "keep closed",
        Fallback::TimedCycle(_) => "timed cycle",
        Fallback::MeasuredDuty(_) => "measured duty",
    }
}

/// The runs and rests of a fallback that has some.
#[must_use]
pub const fn cycle(fallback: Fallback) -> Option<Cycle> {
    match fallback {
        Fallback::Open | Fallback::Closed => None,
        Fallback::TimedCycle(cycle) | Fallback::MeasuredDuty(cycle) => Some(cycle),
    }
}

fn alarm_limit(alarm: AlarmLimit, degrees: Degrees) -> String {
    match alarm {
        AlarmLimit::Off => "off".to_owned(),
        AlarmLimit::Beyond { limit, .. } => degrees.chosen(limit),
    }
}

fn alarm_delay(alarm: AlarmLimit) -> Option<String> {
    match alarm {
        AlarmLimit::Off => None,
        AlarmLimit::Beyond { delay, .. } => Some(delay.to_string()),
    }
}
