//! Alarms: a standing one outlives a defrost, and no accepted settings silence one for good.

use std::cell::Cell;

use hysteron_logic::alarm::{Alarm, AlarmLimit};
use hysteron_logic::defrost::DefrostPlan;
use hysteron_logic::divider::Counts;
use hysteron_logic::event::Event;
use hysteron_logic::probe::Measurement;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::{Draft, Settings};
use hysteron_logic::time::Duration;
use hysteron_tests::promise::drafts;
use hysteron_tests::promise::happening::Reading;
use hysteron_tests::promise::run::runner;
use hysteron_tests::promise::world::World;
use proptest::prelude::*;

const STEP_MS: u64 = 10_000;

/// A box that defrosts and is too warm by a little whenever it calls.
fn defrosting() -> impl Strategy<Value = Settings> {
    (1_u32..=3, 1_u32..=59, 0_u32..=59, 0_u32..=180, 0_u32..=120).prop_map(
        |(interval, length, grace, delay, pull_down)| {
            let cut_in = Draft::COOLING
                .setpoint
                .raised_by(Draft::COOLING.differential);
            let draft = Draft {
                high_alarm: AlarmLimit::Beyond {
                    limit: cut_in,
                    delay: Duration::from_minutes(delay),
                },
                pull_down_grace: Duration::from_minutes(pull_down),
                grace_after_defrost: Duration::from_minutes(grace),
                defrost: DefrostPlan::Every {
                    interval: Duration::from_hours(interval),
                    length: Duration::from_minutes(length),
                },
                ..Draft::COOLING
            };
            draft
                .check()
                .unwrap_or_else(|refused| panic!("{refused}: {draft:?}"))
        },
    )
}

/// Whether a defrost or its grace goes on, by what the control tells of its defrosts.
#[derive(Default)]
struct Defrosts {
    resting: bool,
    ended_ms: Option<u64>,
    begun: u32,
}

impl Defrosts {
    fn hold_back(&mut self, now_ms: u64, events: &[Event], grace: Duration) -> bool {
        if events.contains(&Event::DefrostBegan) {
            self.resting = true;
            self.begun += 1;
        }
        if events.contains(&Event::DefrostEnded) {
            self.resting = false;
            self.ended_ms = Some(now_ms);
        }
        let ended = self.ended_ms;
        self.resting || ended.is_some_and(|ended_ms| now_ms - ended_ms < grace.millis())
    }
}

#[test]
fn an_alarm_counts_up_between_defrosts_and_outlives_them() {
    let outlived = Cell::new(0);
    let outcome = runner(48, "proptest-regressions/alarms.txt").run(&defrosting(), |settings| {
        let draft = settings.draft();
        let AlarmLimit::Beyond { delay, .. } = draft.high_alarm else {
            panic!("there is an alarm");
        };
        let mut world = World::new(settings);
        world.reading = Reading::Calls;
        let (mut defrosts, mut counted_ms, mut raised) = (Defrosts::default(), 0, None);
        // Whatever the delay, this many intervals have more than it between them.
        for now_ms in (STEP_MS..=500 * 3_600_000).step_by(STEP_MS as usize) {
            let decision = world.step(STEP_MS, None).decision;
            let grace = draft.grace_after_defrost;
            let held = defrosts.hold_back(now_ms, &decision.events, grace);
            let pulling_down = now_ms < draft.pull_down_grace.millis();
            if !held && !pulling_down {
                counted_ms += STEP_MS;
            }
            let delay_ms = delay.millis();
            match decision.high_alarm {
                Alarm::Quiet => prop_assert!(counted_ms < delay_ms + 2 * STEP_MS),
                Alarm::Raised => prop_assert!(counted_ms + STEP_MS >= delay_ms),
            }
            if decision.high_alarm == Alarm::Raised {
                let since = *raised.get_or_insert(defrosts.begun);
                if defrosts.begun - since >= 4 {
                    outlived.set(outlived.get() + 4);
                    return Ok(());
                }
            }
            prop_assert!(!decision.events.contains(&Event::HighAlarmEnded));
        }
        prop_assert!(false, "no alarm, or no defrosts to outlive: {draft:?}");
        Ok(())
    });
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    println!("{:>9}  defrosts under a standing alarm", outlived.get());
    assert!(outlived.get() >= 150);
}

#[test]
fn a_standing_alarm_ends_after_a_defrost_only() {
    let minutes = Duration::from_minutes;
    let draft = Draft {
        high_alarm: AlarmLimit::Beyond {
            limit: Draft::COOLING
                .setpoint
                .raised_by(Draft::COOLING.differential),
            delay: minutes(15),
        },
        pull_down_grace: Duration::ZERO,
        grace_after_defrost: minutes(10),
        defrost: DefrostPlan::Every {
            interval: Duration::from_hours(1),
            length: minutes(20),
        },
        ..Draft::COOLING
    };
    let mut world = World::new(draft.check().expect("settings"));
    world.reading = Reading::Calls;
    let mut defrosts = Defrosts::default();
    let (mut kept, mut ended) = (0, None);
    for now_ms in (STEP_MS..=3 * 3_600_000).step_by(STEP_MS as usize) {
        let decision = world.step(STEP_MS, None).decision;
        let held = defrosts.hold_back(now_ms, &decision.events, draft.grace_after_defrost);
        if held {
            // The coil clears, and the air is fine meanwhile.
            world.reading = Reading::Satisfies;
            assert_eq!(decision.high_alarm, Alarm::Raised, "silenced by a defrost");
            kept += 1;
        }
        if decision.events.contains(&Event::HighAlarmEnded) {
            ended = Some(held);
            break;
        }
    }
    assert_eq!(ended, Some(false));
    assert!(kept > 180 - 3, "{kept}");
}

/// Whether any reading of the converter is warmer, or colder, than the limit of an alarm.
fn some_reading(settings: &Settings, beyond: impl Fn(i32) -> bool) -> bool {
    (0..=u16::MAX).step_by(8).any(|sum| {
        let sample = Sample::Counts(Counts::from_oversampled(sum));
        match sample.measured(settings) {
            Measurement::At(reading) => beyond(reading.millicelsius()),
            Measurement::Open | Measurement::Shorted | Measurement::OutOfRange => false,
        }
    })
}

#[test]
fn no_accepted_settings_silence_an_alarm_for_good() {
    let (alarms, defrosts) = (Cell::new(0), Cell::new(0));
    let drafts = drafts::any_draft();
    let outcome = runner(20_000, "proptest-regressions/alarms.txt").run(&drafts, |draft| {
        let Ok(settings) = draft.check() else {
            return Ok(());
        };
        if let AlarmLimit::Beyond { limit, .. } = draft.high_alarm {
            alarms.set(alarms.get() + 1);
            let warmer = |reading| reading > limit.millicelsius();
            prop_assert!(some_reading(&settings, warmer), "never sounds: {draft:?}");
        }
        if let AlarmLimit::Beyond { limit, .. } = draft.low_alarm {
            alarms.set(alarms.get() + 1);
            let colder = |reading| reading < limit.millicelsius();
            prop_assert!(some_reading(&settings, colder), "never sounds: {draft:?}");
        }
        if let DefrostPlan::Every { interval, .. } = draft.defrost {
            defrosts.set(defrosts.get() + 1);
            let watched = draft.grace_after_defrost < interval;
            prop_assert!(watched, "never sounds: {draft:?}");
        }
        Ok(())
    });
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    println!("{:>9}  alarms accepted", alarms.get());
    println!("{:>9}  defrosts accepted", defrosts.get());
    assert!(alarms.get() >= 100 && defrosts.get() >= 100);
}
