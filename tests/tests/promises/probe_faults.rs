//! P5 and P6: a probe that is not to be believed.

use std::cell::RefCell;

use hysteron_logic::call::Mode;
use hysteron_logic::control::{
    Command, CommandRefused, Control, Decision, Input, Reason, Retained, StoredSettings,
};
use hysteron_logic::defrost::DefrostPlan;
use hysteron_logic::divider::Counts;
use hysteron_logic::event::Event;
use hysteron_logic::fallback::{Cycle, Fallback};
use hysteron_logic::guard::{Relay, StartsLimit};
use hysteron_logic::lockout::{Cause, RepeatLimit};
use hysteron_logic::probe::{ProbeFault, Trust};
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::{Confirmation, Draft, Settings};
use hysteron_logic::time::{Duration, Instant};
use hysteron_logic::units::Temperature;
use hysteron_tests::promise::drafts;
use hysteron_tests::promise::happening::{ContactState, Reading, Weights};
use hysteron_tests::promise::run::runner;
use hysteron_tests::promise::tally::Tally;
use hysteron_tests::promise::world::World;
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;

use crate::lived;

const FAILING: Weights = Weights {
    probe_faults: 8,
    modes: 1,
    contact: 0,
    lock: 0,
    too_hot: 0,
    clock: 0,
    ..Weights::ALL
};

#[test]
fn p5_a_probe_fault_is_declared_in_time_and_the_fallback_followed() {
    let situations = [
        "last good value held",
        "probe fault declared after a delay",
        "probe fault declared while closed",
        "probe fault withdrawn after a good spell",
        "probe open",
        "probe shorted",
        "probe jumped",
        "probe frozen",
        "fallback \"open\" in force",
        "fallback \"closed\" in force",
        "timed cycle in force",
        "timed cycle before a day of duty",
        "closed by the fallback",
        "opened by the fallback",
    ];
    lived(&[5], 600, drafts::in_motion(), FAILING, 50, &situations);
}

/// A spell of bad and one of good samples, in seconds.
type Spells = (u32, u32);

/// Bad spells shorter than any delay that is tried, and good ones of any length.
fn broken_up() -> impl Strategy<Value = Vec<Spells>> {
    vec((1_u32..=59, 1_u32..=90), 1..40)
}

#[test]
fn p5_a_probe_bad_most_of_the_time_is_declared_however_its_bad_spells_are_broken_up() {
    let delays = select(&[30_u32, 60, 120, 600]);
    let tally = RefCell::new(Tally::default());
    let outcome = runner(400, "proptest-regressions/broken_up.txt").run(
        &(delays, broken_up()),
        |(delay_s, spells)| {
            let settings = Draft {
                probe_fault_delay: Duration::from_seconds(delay_s),
                probe_recovery_time: Duration::from_seconds(90),
                ..Draft::COOLING
            };
            let mut control = Control::at_power_up(
                StoredSettings::Whole(settings.check().expect("defaults but for the probe")),
                &Retained::default(),
            );
            let seconds = spells
                .iter()
                .flat_map(|&(bad, good)| (0..bad + good).map(move |second| second < bad));
            let (mut surplus_s, mut was_bad, mut longest_s, mut spell_s) = (0_u32, false, 0, 0);
            let mut declared = false;
            for (second, bad) in (0_u32..).zip(seconds.cycle().take(40_000)) {
                let sample = if bad {
                    Sample::Counts(Counts::FULL)
                } else {
                    let noise = i32::try_from(second % 2).unwrap_or_default();
                    Sample::Temperature(Temperature::from_millicelsius(4_000 + noise))
                };
                let now = Instant::from_millis(u64::from(second) * 1_000);
                let decision = control.step(now, &Input::sampled(sample));
                surplus_s = match was_bad {
                    true => surplus_s + 1,
                    false => surplus_s.saturating_sub(1),
                };
                was_bad = bad;
                spell_s = if bad { spell_s + 1 } else { 0 };
                longest_s = longest_s.max(spell_s);
                let due = bad && surplus_s >= delay_s;
                let told = decision
                    .events
                    .contains(&Event::ProbeFailed(ProbeFault::Open));
                prop_assert_eq!(due, told, "surplus {} s at {} s", surplus_s, second);
                if due {
                    declared = true;
                    break;
                }
            }
            let bad_s: u32 = spells.iter().map(|(bad, _)| bad).sum();
            let good_s: u32 = spells.iter().map(|(_, good)| good).sum();
            // The surplus grows by a second a round at least, a round is an hour and a half at most.
            prop_assert!(
                declared || bad_s < good_s + good_s / 4,
                "{} s bad, {} s good",
                bad_s,
                good_s
            );
            let mut tally = tally.borrow_mut();
            tally.count_if(
                declared && longest_s < delay_s,
                "declared though no spell lasted as long",
            );
            tally.count_if(!declared, "never declared");
            Ok(())
        },
    );
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    let tally = tally.into_inner();
    println!("{tally}");
    tally.assert_reached(
        50,
        &["declared though no spell lasted as long", "never declared"],
    );
}

#[test]
fn p5_a_probe_that_reads_for_one_second_of_thirty_is_declared_and_stays_so() {
    let mut world = World::new(Draft::COOLING.check().expect("defaults"));
    let (mut declared, mut recovered, mut believed) = (0, 0, 0);
    for second in 0..86_400_u32 {
        world.reading = match (second, second % 30) {
            (0..=3_600, _) | (_, 0) => Reading::Calls,
            (_, _) => Reading::Open,
        };
        let decision = world.step(1_000, None).decision;
        let failed = Event::ProbeFailed(ProbeFault::Open);
        declared += u32::from(decision.events.contains(&failed));
        recovered += u32::from(decision.events.contains(&Event::ProbeRecovered));
        let late = second > 3_700;
        believed += u32::from(late && !matches!(decision.trust, Trust::Fault(_)));
        assert!(!late || decision.relay == Relay::Open, "{second}");
    }
    assert_eq!((declared, recovered, believed), (1, 0, 0));
}

#[test]
fn p6_heat_without_a_probe_always_ends() {
    let weights = Weights {
        too_hot: 2,
        modes: 0,
        changes: 0,
        ..FAILING
    };
    let situations = [
        "heat runs without a probe",
        "run of heat without a probe ended",
        "fallback \"open\" in force",
        "locked out by the heat ceiling",
        "probe frozen",
    ];
    lived(
        &[6, 7],
        600,
        drafts::of_mode(Mode::Heat),
        weights,
        50,
        &situations,
    );
}

/// A day of good running at some duty, a day without a probe, and the share of
/// the time that the relay was closed in each.
fn two_days(settings: Settings, calls: u32, rests: u32) -> (f64, f64) {
    const STEP_MS: u64 = 10_000;
    const DAY_STEPS: u32 = 8_640;
    let mut world = World::new(settings);
    let mut share = |reading: &dyn Fn(u32) -> Reading| {
        let mut closed = 0_u32;
        for step in 0..DAY_STEPS {
            world.reading = reading(step);
            let decision = world.step(STEP_MS, None).decision;
            closed += u32::from(decision.relay == Relay::Closed);
        }
        f64::from(closed) / f64::from(DAY_STEPS)
    };
    let day = |step: u32| {
        if step % (calls + rests) < calls {
            Reading::Calls
        } else {
            Reading::Satisfies
        }
    };
    // The first hour lies within the power-up hold and may not count whole.
    share(&day);
    let seen = share(&day);
    let unseen = share(&|_| Reading::Open);
    (seen, unseen)
}

fn measured_duty(mode: Mode) -> impl Strategy<Value = Settings> {
    (drafts::of_mode(mode), 3_u32..=5, 5_u32..=8).prop_map(|(settings, on, off)| {
        let draft = Draft {
            fallback: Fallback::MeasuredDuty(Cycle {
                on: Duration::from_minutes(on),
                off: Duration::from_minutes(off),
            }),
            starts_per_hour: StartsLimit::Unlimited,
            probe_fault_lockout: RepeatLimit::Unlimited,
            defrost: DefrostPlan::Off,
            ..*settings.draft()
        };
        draft
            .check()
            .unwrap_or_else(|refused| panic!("{refused}: {draft:?}"))
    })
}

#[test]
fn p5_the_duty_of_the_last_day_goes_on_without_a_probe() {
    let cases = (measured_duty(Mode::Cool), 60_u32..=400, 60_u32..=400);
    let outcome = runner(16, "proptest-regressions/duty.txt").run(&cases, |(settings, on, off)| {
        let (seen, unseen) = two_days(settings, on, off);
        prop_assert!(seen > 0.05, "the load hardly ran: {}", seen);
        prop_assert!(
            (seen - unseen).abs() < 0.06,
            "{} by day, {} unseen",
            seen,
            unseen
        );
        Ok(())
    });
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
}

#[test]
fn p6_heat_without_a_probe_is_on_for_half_the_time_at_most() {
    let cases = (measured_duty(Mode::Heat), 200_u32..=400, 1_u32..=400);
    let over_half = std::cell::Cell::new(0);
    let outcome = runner(24, "proptest-regressions/duty.txt").run(&cases, |(settings, on, off)| {
        let (seen, unseen) = two_days(settings, on, off);
        over_half.set(over_half.get() + u32::from(seen > 0.6));
        prop_assert!(unseen < 0.51, "{} by day, {} unseen", seen, unseen);
        prop_assert!(unseen > 0.2, "{} by day, {} unseen", seen, unseen);
        Ok(())
    });
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    println!(
        "{:>9}  days with heat on for more than half the time",
        over_half.get()
    );
    assert!(over_half.get() >= 5);
}

#[test]
fn p6_no_accepted_settings_let_heat_run_on_without_a_probe() {
    let (mut cycles, mut refused) = (0_u32, 0_u32);
    let counts = RefCell::new((&mut cycles, &mut refused));
    let outcome =
        runner(20_000, "proptest-regressions/settings.txt").run(&drafts::any_draft(), |draft| {
            let mut counts = counts.borrow_mut();
            let Ok(settings) = draft.check() else {
                let heat = draft.mode == Mode::Heat && draft.fallback != Fallback::Open;
                *counts.1 += u32::from(heat);
                return Ok(());
            };
            let draft = settings.draft();
            if draft.mode == Mode::Cool {
                return Ok(());
            }
            match draft.fallback {
                Fallback::Open => {}
                Fallback::Closed => prop_assert!(false, "accepted: {draft:?}"),
                Fallback::TimedCycle(cycle) | Fallback::MeasuredDuty(cycle) => {
                    *counts.0 += 1;
                    prop_assert_eq!(draft.heat_without_probe, Confirmation::Given);
                    prop_assert!(cycle.on <= cycle.off);
                }
            }
            let nearest = draft.setpoint.raised_by(draft.differential);
            prop_assert!(draft.heat_ceiling > nearest);
            Ok(())
        });
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    println!("{cycles:>9}  heat cycles accepted\n{refused:>9}  heat fallbacks refused");
    assert!(cycles >= 50 && refused >= 500);
}

/// Heat around 4 °C with a ceiling at 10 °C, which `confirmation_s` confirm.
fn under_a_ceiling(confirmation_s: u32) -> World {
    let draft = Draft {
        setpoint: Temperature::from_millicelsius(4_000),
        heat_ceiling: Temperature::from_millicelsius(10_000),
        heat_ceiling_confirmation: Duration::from_seconds(confirmation_s),
        minimum_off_time: Duration::ZERO,
        minimum_on_time: Duration::from_minutes(20),
        probe_fault_delay: Duration::from_seconds(5),
        fallback: Fallback::TimedCycle(Cycle {
            on: Duration::from_minutes(20),
            off: Duration::from_minutes(20),
        }),
        heat_without_probe: Confirmation::Given,
        ..Draft::HEATING
    };
    let settings = draft
        .check()
        .unwrap_or_else(|refused| panic!("{refused}: {draft:?}"));
    let mut world = World::new(settings);
    world.reading = Reading::Calls;
    let closed = (0..60).any(|_| world.step(1_000, None).decision.relay == Relay::Closed);
    assert!(closed, "the heat never came on");
    world
}

/// Steps until a good sample is at the ceiling; the decision on that very sample.
fn heated_to_the_ceiling(world: &mut World) -> Decision {
    world.reading = Reading::TooHot;
    for _ in 0..60 {
        let sight = world.step(1_000, None);
        let ceiling = sight.settings.draft().heat_ceiling;
        if matches!(sight.decision.trust, Trust::Good(reading) if reading >= ceiling) {
            return sight.decision;
        }
        let closed = sight.decision.relay == Relay::Closed;
        assert!(closed, "within its minimum on-time the heat is on");
    }
    panic!("the ceiling was never reached");
}

#[test]
fn p6_heat_at_the_ceiling_opens_at_once_and_locks_out_when_confirmed() {
    for confirmation_s in [0, 1, 30, 300] {
        let mut world = under_a_ceiling(confirmation_s);
        let first = heated_to_the_ceiling(&mut world);
        assert_eq!(first.relay, Relay::Open, "on at the ceiling");
        for after_s in 0..=confirmation_s + 5 {
            let decision = match after_s {
                0 => first.clone(),
                _ => world.step(1_000, None).decision,
            };
            let (lockout, reason) = if after_s < confirmation_s {
                (None, Reason::HeatCeiling)
            } else {
                let cause = Cause::HeatCeiling;
                (Some(cause), Reason::LockedOut(cause))
            };
            let found = (decision.relay, decision.reason);
            assert_eq!(found, (Relay::Open, reason), "{after_s} s at the ceiling");
            let told = Event::LockedOut(Cause::HeatCeiling);
            let now = after_s == confirmation_s;
            assert_eq!(decision.events.contains(&told), now, "after {after_s} s");
            if after_s == confirmation_s + 5 {
                assert_eq!(world.control().retained().lockout, lockout);
            }
        }
    }
}

#[test]
fn p6_a_ceiling_that_is_not_confirmed_opens_and_locks_nothing_out() {
    let mut world = under_a_ceiling(30);
    let first = heated_to_the_ceiling(&mut world);
    assert_eq!(first.relay, Relay::Open, "on at the ceiling");
    for _ in 0..20 {
        assert_eq!(world.step(1_000, None).decision.relay, Relay::Open);
    }
    world.reading = Reading::Calls;
    let again = (0..60).find(|_| world.step(1_000, None).decision.relay == Relay::Closed);
    assert!(again.is_some(), "the heat stayed off below its ceiling");
    assert_eq!(world.control().retained().lockout, None);
}

#[test]
fn p6_a_probe_that_fails_at_the_ceiling_takes_nothing_back() {
    let mut world = under_a_ceiling(300);
    let _ = heated_to_the_ceiling(&mut world);
    world.reading = Reading::Open;
    let (mut faults, mut locked_out) = (0, 0);
    for _ in 0..7_200 {
        let decision = world.step(1_000, None).decision;
        let reason = decision.reason;
        assert_eq!(
            decision.relay,
            Relay::Open,
            "unread at the ceiling: {reason:?}"
        );
        faults += u32::from(matches!(decision.trust, Trust::Fault(_)));
        locked_out += u32::from(decision.reason == Reason::LockedOut(Cause::HeatCeiling));
    }
    assert!(faults > 7_000 && locked_out > 6_800);
    let refused = world.step(1_000, Some(Command::ReleaseLockout)).decision;
    let stands = CommandRefused::CauseStands(Cause::HeatCeiling);
    assert_eq!(refused.answer, Some(Err(stands)));
}

/// What keeps a control from running for a while.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Idle {
    SwitchedOff,
    LockedOut,
    WithoutAProbe,
}

/// Hours of running at half of the time.
fn worked(world: &mut World, hours: u32) {
    for minute in 0..hours * 60 {
        world.reading = match minute / 30 % 2 {
            0 => Reading::Calls,
            _ => Reading::Satisfies,
        };
        for _ in 0..6 {
            let _ = world.step(10_000, None);
        }
    }
}

fn idled(world: &mut World, hours: u32, idle: Idle) {
    let begin = match idle {
        Idle::SwitchedOff => Some(Command::SwitchOff),
        Idle::LockedOut | Idle::WithoutAProbe => None,
    };
    let mut moved = world.step(10_000, begin).decision.relay == Relay::Closed;
    for step in 0..hours * 360 {
        world.reading = match idle {
            Idle::WithoutAProbe => Reading::Open,
            Idle::SwitchedOff | Idle::LockedOut => Reading::Calls,
        };
        world.contact = match (idle, step) {
            (Idle::LockedOut, 0..6) => ContactState::Welded,
            (Idle::LockedOut, _) => ContactState::Sound,
            (Idle::SwitchedOff | Idle::WithoutAProbe, _) => ContactState::NotFitted,
        };
        moved |= world.step(10_000, None).decision.relay == Relay::Closed && step > 6;
    }
    assert!(!moved, "the relay was closed though {idle:?}");
    let end = match idle {
        Idle::SwitchedOff => Some(Command::SwitchOn),
        Idle::LockedOut => Some(Command::ReleaseLockout),
        Idle::WithoutAProbe => None,
    };
    world.reading = Reading::Satisfies;
    let decision = world.step(10_000, end).decision;
    assert_eq!(decision.answer, end.map(|_| Ok(())));
}

fn on_measured_duty(change: impl FnOnce(&mut Draft)) -> World {
    let mut draft = Draft {
        setpoint: Temperature::from_millicelsius(4_000),
        probe_fault_lockout: RepeatLimit::Unlimited,
        fallback: Fallback::Open,
        ..Draft::COOLING
    };
    change(&mut draft);
    let settings = draft
        .check()
        .unwrap_or_else(|refused| panic!("{refused}: {draft:?}"));
    World::new(settings)
}

fn by_measured_duty(draft: &mut Draft) {
    draft.fallback = Fallback::MeasuredDuty(Cycle {
        on: Duration::from_minutes(5),
        off: Duration::from_minutes(5),
    });
}

#[test]
fn p5_time_in_which_the_control_could_not_run_is_no_duty() {
    for idle in [Idle::SwitchedOff, Idle::LockedOut, Idle::WithoutAProbe] {
        let mut world = on_measured_duty(|draft| match idle {
            // With the fallback "open" the relay rests while the probe is bad.
            Idle::WithoutAProbe => {}
            Idle::SwitchedOff | Idle::LockedOut => by_measured_duty(draft),
        });
        worked(&mut world, 26);
        idled(&mut world, 25, idle);
        let duty = world.control().duty().map(|duty| duty.thousandths());
        assert!(
            duty.is_some_and(|duty| duty.abs_diff(500) < 30),
            "{duty:?} after 25 h in which the control was {idle:?}"
        );
        if idle == Idle::WithoutAProbe {
            continue;
        }
        world.reading = Reading::Open;
        let mut closed = 0;
        for _ in 0..8_640 {
            closed += u32::from(world.step(10_000, None).decision.relay == Relay::Closed);
        }
        let share = f64::from(closed) / 8_640.0;
        assert!((share - 0.5).abs() < 0.05, "{share} after {idle:?}");
    }
}

#[test]
fn p5_a_defrost_is_no_duty() {
    let mut world = on_measured_duty(|draft| {
        draft.defrost = DefrostPlan::Every {
            interval: Duration::from_hours(1),
            length: Duration::from_minutes(59),
        };
    });
    world.reading = Reading::Calls;
    let (mut resting, mut steps) = (0, 0);
    while world.control().duty().is_none() {
        let decision = world.step(10_000, None).decision;
        resting += u32::from(decision.reason == Reason::Defrost);
        steps += 1;
        assert!(steps < 50 * 360, "no day of duty in 50 hours");
    }
    let duty = world.control().duty().map(|duty| duty.thousandths());
    // The rest that follows a defrost is the minimum off-time, and it has run.
    assert!(duty > Some(970), "a defrost counted: {duty:?}");
    assert!(resting > 8_000, "the load hardly rested: {resting}");
}

#[test]
fn p5_too_little_duty_is_told_with_its_hours_and_the_timed_cycle_stands_in() {
    let mut world = on_measured_duty(by_measured_duty);
    worked(&mut world, 12);
    idled(&mut world, 30, Idle::SwitchedOff);
    world.reading = Reading::Open;
    let (mut told, mut closed) = (Vec::new(), 0);
    for _ in 0..8_640 {
        let decision = world.step(10_000, None).decision;
        if decision.events.contains(&Event::DutyNotKnown) {
            told.push(decision.known_duty_hours);
        }
        closed += u32::from(decision.relay == Relay::Closed);
    }
    assert_eq!(told, [12], "hours of duty told");
    let share = f64::from(closed) / 8_640.0;
    assert!((share - 0.5).abs() < 0.03, "{share}");
}
