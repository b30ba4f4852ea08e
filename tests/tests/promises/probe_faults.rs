//! P5 and P6: a probe that is not to be believed.

use hysteron_logic::call::Mode;
use hysteron_logic::defrost::DefrostPlan;
use hysteron_logic::fallback::{Cycle, Fallback};
use hysteron_logic::guard::{Relay, StartsLimit};
use hysteron_logic::lockout::{Cause, RepeatLimit};
use hysteron_logic::probe::Trust;
use hysteron_logic::settings::{Confirmation, Draft, Settings};
use hysteron_logic::time::Duration;
use hysteron_tests::promise::drafts;
use hysteron_tests::promise::happening::{Reading, Weights};
use hysteron_tests::promise::run::runner;
use hysteron_tests::promise::world::World;
use proptest::prelude::*;

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
    let counts = std::cell::RefCell::new((&mut cycles, &mut refused));
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

#[test]
fn p6_heat_at_the_ceiling_locks_out_at_once() {
    let mut world = World::new(Draft::HEATING.check().expect("defaults"));
    world.reading = Reading::TooHot;
    let locked = (0..120).find_map(|_| {
        let sight = world.step(1_000, None);
        let hot = match sight.decision.trust {
            Trust::Good(reading) => reading >= sight.settings.draft().heat_ceiling,
            Trust::Suspect(_) | Trust::Fault(_) => false,
        };
        hot.then_some(world.control().retained().lockout)
    });
    assert_eq!(locked, Some(Some(Cause::HeatCeiling)));
}
