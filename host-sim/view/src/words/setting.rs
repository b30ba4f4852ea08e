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
use hysteron_bench::scenario::quantity_text::duration_text;

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
        Field::MinimumOffTime => duration_text(draft.minimum_off_time),
        Field::MinimumOnTime => duration_text(draft.minimum_on_time),
        Field::StartsPerHour => match draft.starts_per_hour {
            StartsLimit::Unlimited => "no limit".to_owned(),
            StartsLimit::PerHour(starts) => starts.to_string(),
        },
        Field::PowerUpStagger => duration_text(draft.power_up_stagger),
        Field::Curve => draft.curve.name().to_owned(),
        Field::FixedResistor => format!("{} Ω", trimmed(f64::from(draft.fixed_resistor_ohms), 0)),
        Field::ProbeOffset => degrees.difference(draft.probe_offset),
        Field::ProbeFaultDelay => duration_text(draft.probe_fault_delay),
        Field::ProbeRecoveryTime => duration_text(draft.probe_recovery_time),
        Field::ProbeFrozenAfter => match draft.probe_frozen {
            FrozenCheck::Off => "off".to_owned(),
            FrozenCheck::After(still) => duration_text(still),
        },
        Field::Fallback => fallback(draft.fallback).to_owned(),
        Field::FallbackOn => duration_text(cycle(draft.fallback)?.on),
        Field::FallbackOff => duration_text(cycle(draft.fallback)?.off),
        Field::ProbeFaultsToLockout => match draft.probe_fault_lockout {
            RepeatLimit::Unlimited => "never".to_owned(),
            RepeatLimit::Faults { count, .. } => count.to_string(),
        },
        Field::ProbeFaultWindow => match draft.probe_fault_lockout {
            RepeatLimit::Unlimited => return None,
            RepeatLimit::Faults { window, .. } => duration_text(window),
        },
        Field::HeatCeiling => match draft.mode {
            Mode::Cool => return None,
            Mode::Heat => degrees.chosen(draft.heat_ceiling),
        },
        Field::HeatCeilingConfirmation => match draft.mode {
            Mode::Cool => return None,
            Mode::Heat => duration_text(draft.heat_ceiling_confirmation),
        },
        Field::HighAlarm => alarm_limit(draft.high_alarm, degrees),
        Field::HighAlarmDelay => alarm_delay(draft.high_alarm)?,
        Field::LowAlarm => alarm_limit(draft.low_alarm, degrees),
        Field::LowAlarmDelay => alarm_delay(draft.low_alarm)?,
        Field::PullDownGrace => duration_text(draft.pull_down_grace),
        Field::GraceAfterDefrost => match draft.defrost {
            DefrostPlan::Off => return None,
            DefrostPlan::Every { .. } => duration_text(draft.grace_after_defrost),
        },
        Field::DefrostInterval => match draft.defrost {
            DefrostPlan::Off => "no defrost".to_owned(),
            DefrostPlan::Every { interval, .. } => duration_text(interval),
        },
        Field::DefrostLength => match draft.defrost {
            DefrostPlan::Off => return None,
            DefrostPlan::Every { length, .. } => duration_text(length),
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
        AlarmLimit::Beyond { delay, .. } => Some(duration_text(delay)),
    }
}
