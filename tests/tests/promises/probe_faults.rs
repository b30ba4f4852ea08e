//! P5 and P6: a probe that is not to be believed.

use std::cell::RefCell;

use hysteron_logic::call::Mode;
use hysteron_logic::control::{Control, Input, Retained, StoredSettings};
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
use hysteron_tests::promise::happening::{Reading, Weights};
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
