//! P10: the control is deterministic, total and mirror-symmetric.

use std::cell::RefCell;

use hysteron_logic::alarm::AlarmLimit;
use hysteron_logic::call::Mode;
use hysteron_logic::contact::Feedback;
use hysteron_logic::control::{
    Command, Control, Decision, Input, Retained, SettingsLock, StoredSettings,
};
use hysteron_logic::counters::Totals;
use hysteron_logic::curve::{COLDEST, HOTTEST};
use hysteron_logic::defrost::DefrostPlan;
use hysteron_logic::divider::Counts;
use hysteron_logic::event::Event;
use hysteron_logic::fallback::Fallback;
use hysteron_logic::guard::Relay;
use hysteron_logic::lockout::Cause;
use hysteron_logic::probe::Trust;
use hysteron_logic::resistance::Resistance;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::{Draft, Settings};
use hysteron_logic::time::{Duration, Instant};
use hysteron_logic::units::Temperature;
use hysteron_tests::promise::drafts;
use hysteron_tests::promise::happening::{Happening, Order, Weights, happening};
use hysteron_tests::promise::run::{Seen, happen, live_through, runner};
use hysteron_tests::promise::tally::Tally;
use hysteron_tests::promise::world::{Sight, World};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;

/// Every step of one life.
pub(crate) fn witnessed(settings: Settings, happenings: &[Happening]) -> Vec<Sight> {
    let mut world = World::new(settings);
    let mut sights = Vec::new();
    for happening in happenings {
        happen(&mut world, happening, &mut |seen| match seen {
            Seen::Step(sight) => sights.push(sight.clone()),
            Seen::Clock(_) | Seen::PowerBack { .. } => {}
        });
    }
    sights
}

#[test]
fn p10_the_same_life_is_decided_the_same_way() {
    let lives = (drafts::in_motion(), vec(happening(Weights::ALL), 1..80));
    let steps = std::cell::Cell::new(0);
    let outcome = runner(64, "proptest-regressions/lives.txt").run(&lives, |(settings, life)| {
        let once = witnessed(settings, &life);
        let again = witnessed(settings, &life);
        steps.set(steps.get() + once.len());
        for (one, other) in once.iter().zip(&again) {
            prop_assert_eq!(&one.decision, &other.decision);
        }
        Ok(())
    });
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    println!("{:>9}  steps decided twice", steps.get());
    assert!(steps.get() > 10_000);
}

const AGAINST: Duration = Duration::from_seconds(60);

fn mirrored_point(point: Temperature) -> Temperature {
    Temperature::from_millicelsius(-point.millicelsius())
}

fn mirrored_alarm(alarm: AlarmLimit) -> AlarmLimit {
    match alarm {
        AlarmLimit::Off => AlarmLimit::Off,
        AlarmLimit::Beyond { limit, delay } => AlarmLimit::Beyond {
            limit: mirrored_point(limit),
            delay,
        },
    }
}

fn mirrored(settings: &Settings) -> Settings {
    let draft = settings.draft();
    let other = Draft {
        mode: match draft.mode {
            Mode::Cool => Mode::Heat,
            Mode::Heat => Mode::Cool,
        },
        setpoint: mirrored_point(draft.setpoint),
        lowest_setpoint: mirrored_point(draft.highest_setpoint),
        highest_setpoint: mirrored_point(draft.lowest_setpoint),
        probe_offset: draft.probe_offset.reversed(),
        high_alarm: mirrored_alarm(draft.low_alarm),
        low_alarm: mirrored_alarm(draft.high_alarm),
        ..*draft
    };
    other
        .check()
        .unwrap_or_else(|refused| panic!("{refused}: {other:?}"))
}

/// What has no mirror image is left out: the ceiling is put out of reach, and
/// "keep closed" and defrost, which heat has not, are not chosen.
fn with_mirror_image() -> impl Strategy<Value = Settings> {
    (drafts::in_motion(), 1_i32..=4_000).prop_map(|(settings, beyond)| {
        let draft = settings.draft();
        let beyond = hysteron_logic::units::Difference::from_millikelvin(beyond);
        let image = Draft {
            lowest_setpoint: Temperature::from_millicelsius(-40_000),
            highest_setpoint: Temperature::from_millicelsius(40_000),
            heat_ceiling: Temperature::from_millicelsius(110_000),
            high_alarm: AlarmLimit::Beyond {
                limit: draft.setpoint.raised_by(beyond),
                delay: AGAINST,
            },
            low_alarm: AlarmLimit::Beyond {
                limit: draft
                    .setpoint
                    .lowered_by(beyond)
                    .lowered_by(draft.differential),
                delay: Duration::ZERO,
            },
            pull_down_grace: AGAINST,
            defrost: DefrostPlan::Off,
            fallback: if draft.fallback == Fallback::Closed {
                Fallback::Open
            } else {
                draft.fallback
            },
            ..*draft
        };
        image
            .check()
            .unwrap_or_else(|refused| panic!("{refused}: {image:?}"))
    })
}

fn mirrored_input(input: &Input) -> Input {
    let mut input = *input;
    input.sample = match input.sample {
        // Colder than any probe is, in the mirror, hotter than any.
        Sample::Temperature(reading) if reading < COLDEST => {
            Sample::Temperature(HOTTEST.raised_by(COLDEST.above(reading)))
        }
        Sample::Temperature(reading) => Sample::Temperature(mirrored_point(reading)),
        Sample::Counts(counts) => Sample::Counts(counts),
        Sample::Resistance(resistance) => Sample::Resistance(resistance),
    };
    input.command = input.command.map(|command| match command {
        Command::Change(settings) => Command::Change(mirrored(&settings)),
        Command::ReleaseLockout | Command::SwitchOff | Command::SwitchOn => command,
    });
    input
}

fn mirrored_event(event: Event) -> Event {
    let pairs = [
        (Event::HighAlarmRaised, Event::LowAlarmRaised),
        (Event::HighAlarmEnded, Event::LowAlarmEnded),
    ];
    let image = pairs.into_iter().find_map(|(high, low)| {
        if event == high {
            Some(low)
        } else {
            (event == low).then_some(high)
        }
    });
    image.unwrap_or(event)
}

/// The decision with every temperature negated, its events in the order of their numbers.
fn mirrored_decision(decision: &Decision) -> Decision {
    let mut image = decision.clone();
    (image.high_alarm, image.low_alarm) = (decision.low_alarm, decision.high_alarm);
    image.trust = match decision.trust {
        Trust::Good(reading) => Trust::Good(mirrored_point(reading)),
        Trust::Suspect(held) => Trust::Suspect(held.map(mirrored_point)),
        Trust::Fault(fault) => Trust::Fault(fault),
    };
    image.events = decision
        .events
        .iter()
        .copied()
        .map(mirrored_event)
        .collect();
    in_order(image)
}

fn in_order(mut decision: Decision) -> Decision {
    decision.events.sort_by_key(|event| event.number());
    decision
}

#[test]
fn p10_negated_temperatures_turn_cooling_into_heating() {
    let weights = Weights {
        power: 0,
        too_hot: 0,
        // Only temperatures have a mirror image.
        instruments: 0,
        changes: 0,
        ..Weights::ALL
    };
    let change =
        with_mirror_image().prop_map(|settings| Happening::Say(Order::Change(Box::new(settings))));
    let happenings = prop_oneof![20 => happening(weights), 1 => change];
    let lives = (with_mirror_image(), vec(happenings, 1..80));
    let tally = RefCell::new(Tally::default());
    let outcome = runner(200, "proptest-regressions/mirror.txt").run(&lives, |(settings, life)| {
        let stored = StoredSettings::Whole(mirrored(&settings));
        let mut image = Control::at_power_up(stored, &Retained::default());
        let mut tally = tally.borrow_mut();
        let mut closed = false;
        for sight in witnessed(settings, &life) {
            let decision = in_order(image.step(sight.told, &mirrored_input(&sight.input)));
            prop_assert_eq!(&decision, &mirrored_decision(&sight.decision));
            let closes = decision.relay == Relay::Closed;
            let mode = sight.settings.draft().mode;
            tally.count_if(closes && !closed && mode == Mode::Cool, "starts of cooling");
            tally.count_if(closes && !closed && mode == Mode::Heat, "starts of heating");
            closed = closes;
            tally.count_if(
                matches!(decision.trust, Trust::Fault(_)),
                "decided without a probe",
            );
            tally.count_if(
                decision.high_alarm != decision.low_alarm,
                "an alarm on one side",
            );
        }
        Ok(())
    });
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    let tally = tally.into_inner();
    println!("{tally}");
    tally.assert_reached(
        50,
        &[
            "starts of cooling",
            "starts of heating",
            "decided without a probe",
            "an alarm on one side",
        ],
    );
}

fn any_sample() -> impl Strategy<Value = Sample> {
    prop_oneof![
        any::<u16>().prop_map(|sum| Sample::Counts(Counts::from_oversampled(sum))),
        any::<i32>().prop_map(|steps| Sample::Resistance(Resistance::from_log2_steps(steps))),
        any::<i32>().prop_map(|point| Sample::Temperature(Temperature::from_millicelsius(point))),
        (-60_000_i32..130_000)
            .prop_map(|point| Sample::Temperature(Temperature::from_millicelsius(point))),
    ]
}

/// On the heap: the trees of these values are large.
fn any_settings() -> BoxedStrategy<Settings> {
    let any = drafts::any_draft().prop_map(|draft| draft.check().unwrap_or(Settings::DEFAULT));
    prop_oneof![drafts::in_motion().boxed(), any.boxed()].boxed()
}

fn any_input() -> BoxedStrategy<Input> {
    let command = proptest::option::weighted(
        0.2,
        prop_oneof![
            any_settings().prop_map(Command::Change),
            Just(Command::ReleaseLockout),
            Just(Command::SwitchOff),
            Just(Command::SwitchOn),
        ],
    );
    (
        any_sample(),
        select(&[SettingsLock::Locked, SettingsLock::Unlocked]),
        select(&[Feedback::NotFitted, Feedback::Open, Feedback::Closed]),
        command,
    )
        .prop_map(|(sample, lock, feedback, command)| Input {
            sample,
            lock,
            feedback,
            command,
        })
        .boxed()
}

fn any_retained() -> impl Strategy<Value = Retained> {
    let causes = [
        None,
        Some(Cause::HeatCeiling),
        Some(Cause::RepeatedProbeFaults),
        Some(Cause::WeldedContact),
        Some(Cause::UnreadableSettings),
    ];
    (
        select(causes.to_vec()),
        vec(any::<u64>(), 0..=30),
        any::<u32>(),
        any::<u64>(),
    )
        .prop_map(|(lockout, starts, count, run)| Retained {
            lockout,
            totals: Totals {
                starts: count,
                run: Duration::from_millis(run),
                longest_run: Duration::from_millis(run),
            },
            recent_starts: starts.into_iter().map(Duration::from_millis).collect(),
            ..Retained::default()
        })
}

/// Instants that hardly move, and instants that are anywhere.
fn any_time() -> impl Strategy<Value = u64> {
    prop_oneof![
        8 => 0_u64..=20_000,
        1 => any::<u64>(),
        1 => (u64::MAX - 20_000)..=u64::MAX,
    ]
}

#[test]
fn p10_no_input_at_all_is_left_without_a_decision() {
    let stored = prop_oneof![
        4 => any_settings().prop_map(StoredSettings::Whole),
        1 => Just(StoredSettings::Unreadable),
    ];
    let steps = vec((any_time(), any_input()), 1..60);
    let lives = (stored, any_retained(), steps);
    let tally = RefCell::new(Tally::default());
    let outcome =
        runner(500, "proptest-regressions/total.txt").run(&lives, |(stored, retained, steps)| {
            let mut control = Control::at_power_up(stored, &retained);
            let mut tally = tally.borrow_mut();
            for (millis, input) in steps {
                let now = Instant::from_millis(millis);
                let decision = control.step(now, &input);
                let ahead = decision.wake.since(now).millis();
                let end_of_time = u64::MAX - millis < 1_000;
                prop_assert!(
                    end_of_time || (1..=1_000).contains(&ahead),
                    "wake {}",
                    ahead
                );
                prop_assert!(decision.events.len() < decision.events.capacity());
                tally.count_if(end_of_time, "decided at the end of time");
                tally.count_if(
                    matches!(decision.trust, Trust::Good(_)),
                    "decided on a reading",
                );
                tally.count_if(decision.answer == Some(Ok(())), "obeyed");
                let _ = control.retained();
            }
            Ok(())
        });
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    let tally = tally.into_inner();
    println!("{tally}");
    tally.assert_reached(
        50,
        &[
            "decided at the end of time",
            "decided on a reading",
            "obeyed",
        ],
    );
}

#[test]
fn p10_no_life_tells_more_than_there_is_room_for() {
    // The edges of one step: clock, command, contact, lockout, probe, defrost,
    // two alarms, call, relay.
    const MOST: usize = 10;
    let lives = (with_mirror_image(), vec(happening(Weights::ALL), 1..80));
    let most = std::cell::Cell::new(0);
    let outcome = runner(128, "proptest-regressions/lives.txt").run(&lives, |(settings, life)| {
        let told = witnessed(settings, &life);
        let longest = told.iter().map(|sight| sight.decision.events.len()).max();
        most.set(most.get().max(longest.unwrap_or(0)));
        prop_assert!(longest <= Some(MOST));
        let (_, observer) = live_through(settings, &life);
        prop_assert!(
            observer
                .findings()
                .breaches
                .iter()
                .all(|breach| breach.promise != 10)
        );
        Ok(())
    });
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    println!("{:>9}  events in one step at most", most.get());
    assert!(most.get() >= 4);
}
