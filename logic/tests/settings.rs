//! Drafts of settings: what is accepted, and what is refused for which reason.

use hysteron_logic::alarm::AlarmLimit;
use hysteron_logic::defrost::DefrostPlan;
use hysteron_logic::fallback::{Cycle, Fallback};
use hysteron_logic::field::Field;
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::lockout::RepeatLimit;
use hysteron_logic::probe::FrozenCheck;
use hysteron_logic::settings::{Confirmation, Draft, Load, Reason, Settings};
use hysteron_logic::time::Duration;
use hysteron_logic::units::{Difference, Temperature};

fn celsius(degrees: i32) -> Temperature {
    Temperature::from_millicelsius(degrees * 1_000)
}

#[test]
fn defaults_make_sense() {
    assert_eq!(Draft::COOLING.check(), Ok(Settings::DEFAULT));
    assert!(Draft::HEATING.check().is_ok());
}

fn alarm(millicelsius: i32) -> AlarmLimit {
    AlarmLimit::Beyond {
        limit: Temperature::from_millicelsius(millicelsius),
        delay: Duration::ZERO,
    }
}

fn refused(change: impl FnOnce(&mut Draft), draft: Draft) -> Option<(Field, Reason)> {
    let mut draft = draft;
    change(&mut draft);
    draft
        .check()
        .err()
        .map(|refused| (refused.field, refused.reason))
}

const CYCLE: Cycle = Cycle {
    on: Duration::from_minutes(10),
    off: Duration::from_minutes(10),
};

#[test]
fn cooling_that_makes_no_sense_is_refused_with_the_reason() {
    type Change = fn(&mut Draft);
    let cases: [(Change, Field, Reason); 20] = [
        (
            |d| d.setpoint = celsius(101),
            Field::Setpoint,
            Reason::OutOfRange,
        ),
        (
            |d| d.differential = Difference::from_millikelvin(199),
            Field::Differential,
            Reason::OutOfRange,
        ),
        (
            |d| d.lowest_setpoint = celsius(5),
            Field::Setpoint,
            Reason::OutsideUserLimits,
        ),
        (
            |d| (d.lowest_setpoint, d.highest_setpoint) = (celsius(5), celsius(4)),
            Field::LowestSetpoint,
            Reason::LimitsCrossed,
        ),
        (
            |d| {
                (d.setpoint, d.differential) = (celsius(100), Difference::from_millikelvin(20_000));
                d.probe_offset = Difference::from_millikelvin(-1);
            },
            Field::Differential,
            Reason::CutInBeyondProbe,
        ),
        (
            |d| d.minimum_off_time = Duration::from_seconds(179),
            Field::MinimumOffTime,
            Reason::ShortOffTimeUnconfirmed,
        ),
        (
            |d| d.starts_per_hour = StartsLimit::PerHour(0),
            Field::StartsPerHour,
            Reason::OutOfRange,
        ),
        (
            |d| d.starts_per_hour = StartsLimit::PerHour(31),
            Field::StartsPerHour,
            Reason::OutOfRange,
        ),
        (
            |d| d.fixed_resistor_ohms = 1,
            Field::FixedResistor,
            Reason::OutOfRange,
        ),
        (
            |d| d.fixed_resistor_ohms = 1_000_000,
            Field::FixedResistor,
            Reason::CurveDoesNotFitResistor,
        ),
        (
            |d| {
                d.minimum_on_time = Duration::from_minutes(10);
                d.fallback = Fallback::TimedCycle(Cycle {
                    on: Duration::from_minutes(9),
                    ..CYCLE
                });
            },
            Field::FallbackOn,
            Reason::RunShorterThanMinimum,
        ),
        (
            |d| {
                d.fallback = Fallback::TimedCycle(Cycle {
                    off: Duration::from_minutes(4),
                    ..CYCLE
                })
            },
            Field::FallbackOff,
            Reason::RestShorterThanMinimum,
        ),
        (
            |d| d.high_alarm = alarm(2_000),
            Field::HighAlarm,
            Reason::AlarmOnWrongSide,
        ),
        (
            |d| d.low_alarm = alarm(2_000),
            Field::LowAlarm,
            Reason::AlarmOnWrongSide,
        ),
        (
            |d| d.high_alarm = alarm(119_001),
            Field::HighAlarm,
            Reason::AlarmBeyondProbe,
        ),
        (
            |d| d.low_alarm = alarm(-49_001),
            Field::LowAlarm,
            Reason::AlarmBeyondProbe,
        ),
        (
            |d| {
                d.high_alarm = alarm(115_000);
                d.probe_offset = Difference::from_millikelvin(-4_001);
            },
            Field::HighAlarm,
            Reason::AlarmBeyondProbe,
        ),
        (
            |d| {
                // Hotter than 104 °C this reads as a short.
                d.high_alarm = alarm(105_000);
                d.fixed_resistor_ohms = 300_000;
            },
            Field::HighAlarm,
            Reason::AlarmBeyondProbe,
        ),
        (
            |d| {
                let (interval, length) = (Duration::from_hours(1), Duration::from_minutes(60));
                d.defrost = DefrostPlan::Every { interval, length };
            },
            Field::DefrostLength,
            Reason::DefrostLongerThanInterval,
        ),
        (
            |d| {
                let (interval, length) = (Duration::from_hours(1), Duration::from_minutes(30));
                d.defrost = DefrostPlan::Every { interval, length };
                d.grace_after_defrost = interval;
            },
            Field::GraceAfterDefrost,
            Reason::GraceFillsInterval,
        ),
    ];
    for (change, field, reason) in cases {
        assert_eq!(refused(change, Draft::COOLING), Some((field, reason)));
    }
}

#[test]
fn heating_that_makes_no_sense_is_refused_with_the_reason() {
    type Change = fn(&mut Draft);
    let cases: [(Change, Field, Reason); 7] = [
        (
            |d| d.fallback = Fallback::Closed,
            Field::Fallback,
            Reason::ClosedFallbackInHeat,
        ),
        (
            |d| d.fallback = Fallback::TimedCycle(CYCLE),
            Field::Fallback,
            Reason::HeatCycleUnconfirmed,
        ),
        (
            |d| {
                d.heat_without_probe = Confirmation::Given;
                d.fallback = Fallback::MeasuredDuty(Cycle {
                    on: Duration::from_minutes(11),
                    ..CYCLE
                });
            },
            Field::FallbackOn,
            Reason::HeatCycleOverHalf,
        ),
        (
            |d| d.heat_ceiling = celsius(58),
            Field::HeatCeiling,
            Reason::CeilingWithinDifferential,
        ),
        (
            |d| {
                d.heat_ceiling = celsius(104);
                d.fixed_resistor_ohms = 300_000;
            },
            Field::HeatCeiling,
            Reason::CeilingBeyondProbe,
        ),
        (
            |d| d.probe_frozen = FrozenCheck::Off,
            Field::ProbeFrozenAfter,
            Reason::StillReadingInHeat,
        ),
        (
            |d| {
                let (interval, length) = (Duration::from_hours(6), Duration::from_minutes(30));
                d.defrost = DefrostPlan::Every { interval, length };
            },
            Field::DefrostInterval,
            Reason::DefrostInHeat,
        ),
    ];
    for (change, field, reason) in cases {
        assert_eq!(refused(change, Draft::HEATING), Some((field, reason)));
    }
}

#[test]
fn what_can_just_be_read_is_accepted() {
    let near = |draft: Draft| draft.check().map(|_| ());
    let (high_alarm, low_alarm) = (alarm(119_000), alarm(-49_000));
    let alarms = Draft {
        high_alarm,
        low_alarm,
        ..Draft::COOLING
    };
    assert_eq!(near(alarms), Ok(()));
    let hottest_cut_in = Draft {
        setpoint: celsius(100),
        differential: Difference::from_millikelvin(20_000),
        ..Draft::COOLING
    };
    assert_eq!(near(hottest_cut_in), Ok(()));
    let ceiling = Draft {
        heat_ceiling: Temperature::from_millicelsius(58_001),
        ..Draft::HEATING
    };
    assert_eq!(near(ceiling), Ok(()));
}

#[test]
fn a_confirmed_short_rest_and_a_confirmed_heat_cycle_are_accepted() {
    let mut draft = Draft::COOLING;
    draft.minimum_off_time = Duration::ZERO;
    draft.short_off_time = Confirmation::Given;
    assert!(draft.check().is_ok());
    let mut draft = Draft::HEATING;
    draft.heat_without_probe = Confirmation::Given;
    draft.fallback = Fallback::TimedCycle(CYCLE);
    assert!(draft.check().is_ok());
}

/// Puts `value` into a draft, in the unit of its setting's range.
type Put = fn(&mut Draft, i64);

fn point(value: i64) -> Temperature {
    Temperature::from_millicelsius(i32::try_from(value).unwrap())
}

fn distance(value: i64) -> Difference {
    Difference::from_millikelvin(i32::try_from(value).unwrap())
}

/// What is shorter than nothing cannot be put into any draft.
fn length(value: i64) -> Duration {
    Duration::from_millis(u64::try_from(value).unwrap_or(u64::MAX))
}

fn count(value: i64) -> u8 {
    u8::try_from(value).unwrap()
}

fn cycle(draft: &mut Draft, change: impl FnOnce(&mut Cycle)) {
    let mut cycle = CYCLE;
    change(&mut cycle);
    draft.fallback = Fallback::TimedCycle(cycle);
}

fn delayed(delay: Duration) -> AlarmLimit {
    AlarmLimit::Beyond {
        limit: celsius(3),
        delay,
    }
}

const FAULTS: Duration = Duration::from_hours(1);

#[test]
fn every_range_is_kept_at_both_ends() {
    let puts: [(Field, Put); 27] = [
        (Field::Setpoint, |d, to| d.setpoint = point(to)),
        (Field::Differential, |d, to| d.differential = distance(to)),
        (Field::LowestSetpoint, |d, to| d.lowest_setpoint = point(to)),
        (Field::HighestSetpoint, |d, to| {
            d.highest_setpoint = point(to)
        }),
        (Field::MinimumOffTime, |d, to| {
            d.minimum_off_time = length(to)
        }),
        (Field::MinimumOnTime, |d, to| d.minimum_on_time = length(to)),
        (Field::StartsPerHour, |d, to| {
            d.starts_per_hour = StartsLimit::PerHour(count(to));
        }),
        (Field::PowerUpStagger, |d, to| {
            d.power_up_stagger = length(to)
        }),
        (Field::FixedResistor, |d, to| {
            d.fixed_resistor_ohms = u32::try_from(to).unwrap();
        }),
        (Field::ProbeOffset, |d, to| d.probe_offset = distance(to)),
        (Field::ProbeFaultDelay, |d, to| {
            d.probe_fault_delay = length(to)
        }),
        (Field::ProbeRecoveryTime, |d, to| {
            d.probe_recovery_time = length(to)
        }),
        (Field::ProbeFrozenAfter, |d, to| {
            d.probe_frozen = FrozenCheck::After(length(to));
        }),
        (Field::FallbackOn, |d, to| {
            cycle(d, |cycle| cycle.on = length(to))
        }),
        (Field::FallbackOff, |d, to| {
            cycle(d, |cycle| cycle.off = length(to))
        }),
        (Field::ProbeFaultsToLockout, |d, to| {
            let (count, window) = (count(to), FAULTS);
            d.probe_fault_lockout = RepeatLimit::Faults { count, window };
        }),
        (Field::ProbeFaultWindow, |d, to| {
            let (count, window) = (2, length(to));
            d.probe_fault_lockout = RepeatLimit::Faults { count, window };
        }),
        (Field::HeatCeiling, |d, to| d.heat_ceiling = point(to)),
        (Field::HeatCeilingConfirmation, |d, to| {
            d.heat_ceiling_confirmation = length(to);
        }),
        (Field::HighAlarm, |d, to| {
            let (limit, delay) = (point(to), Duration::ZERO);
            d.high_alarm = AlarmLimit::Beyond { limit, delay };
        }),
        (Field::HighAlarmDelay, |d, to| {
            d.high_alarm = delayed(length(to))
        }),
        (Field::LowAlarm, |d, to| {
            let (limit, delay) = (point(to), Duration::ZERO);
            d.low_alarm = AlarmLimit::Beyond { limit, delay };
        }),
        (Field::LowAlarmDelay, |d, to| {
            d.low_alarm = delayed(length(to))
        }),
        (Field::PullDownGrace, |d, to| d.pull_down_grace = length(to)),
        (Field::GraceAfterDefrost, |d, to| {
            d.grace_after_defrost = length(to)
        }),
        (Field::DefrostInterval, |d, to| {
            let (interval, length) = (length(to), Duration::from_minutes(1));
            d.defrost = DefrostPlan::Every { interval, length };
        }),
        (Field::DefrostLength, |d, to| {
            let (interval, length) = (Duration::from_hours(48), length(to));
            d.defrost = DefrostPlan::Every { interval, length };
        }),
    ];
    for (field, put) in puts {
        let about = field.about();
        let out_of_range =
            |value| refused(|d| put(d, value), Draft::COOLING) == Some((field, Reason::OutOfRange));
        assert!(out_of_range(about.lowest - 1), "{}", about.name);
        assert!(!out_of_range(about.lowest), "{}", about.name);
        assert!(!out_of_range(about.highest), "{}", about.name);
        assert!(out_of_range(about.highest + 1), "{}", about.name);
    }
}

#[test]
fn what_just_goes_together_is_accepted() {
    type Change = fn(&mut Draft);
    let cooling: [Change; 12] = [
        |d| d.lowest_setpoint = d.setpoint,
        |d| d.highest_setpoint = d.setpoint,
        |d| (d.lowest_setpoint, d.highest_setpoint) = (d.setpoint, d.setpoint),
        |d| d.minimum_off_time = Duration::from_minutes(3),
        |d| (d.minimum_off_time, d.load) = (Duration::ZERO, Load::Other),
        |d| {
            d.minimum_on_time = CYCLE.on;
            d.fallback = Fallback::TimedCycle(CYCLE);
        },
        |d| {
            d.minimum_off_time = CYCLE.off;
            d.fallback = Fallback::MeasuredDuty(CYCLE);
        },
        |d| d.probe_frozen = FrozenCheck::Off,
        // Nothing is heated, so no ceiling matters.
        |d| d.heat_ceiling = d.setpoint,
        |d| d.high_alarm = alarm(2_001),
        |d| d.low_alarm = alarm(1_999),
        |d| {
            let (interval, length) = (Duration::from_hours(1), Duration::from_minutes(59));
            d.defrost = DefrostPlan::Every { interval, length };
            d.grace_after_defrost = length;
        },
    ];
    for (place, change) in cooling.into_iter().enumerate() {
        assert_eq!(refused(change, Draft::COOLING), None, "case {place}");
    }
    let heating: [Change; 3] = [
        |d| {
            d.probe_frozen = FrozenCheck::Off;
            d.heat_without_probe = Confirmation::Given;
        },
        |d| {
            d.fallback = Fallback::TimedCycle(CYCLE);
            d.heat_without_probe = Confirmation::Given;
        },
        |d| d.heat_ceiling = Temperature::from_millicelsius(58_001),
    ];
    for (place, change) in heating.into_iter().enumerate() {
        assert_eq!(refused(change, Draft::HEATING), None, "case {place}");
    }
}
