//! P9: a control that never closes is safe and useless.

use std::cell::RefCell;

use hysteron_logic::control::{Command, SettingsLock};
use hysteron_logic::guard::Relay;
use hysteron_logic::settings::Settings;
use hysteron_tests::promise::drafts;
use hysteron_tests::promise::happening::{ClockFault, ContactState, Reading, Weights, happening};
use hysteron_tests::promise::run::{live_through, runner};
use hysteron_tests::promise::tally::Tally;
use hysteron_tests::promise::world::{ClockRecord, World};
use proptest::collection::vec;
use proptest::prelude::*;

use crate::lived;

#[test]
fn p9_a_call_closes_the_relay_as_soon_as_the_holds_have_run() {
    let situations = [
        "closed after the power-up hold",
        "closed after a minimum off-time",
        "kept open by the starts limit",
        "start counted against a limit",
    ];
    let weights = Weights {
        clock: 0,
        ..Weights::ALL
    };
    lived(&[9], 400, drafts::in_motion(), weights, 50, &situations);
}

const STEP_MS: u64 = 1_000;

/// Longer than every wait that can stand between a mended control and a start:
/// the pay-back after a clock that was set back, the probe's delay and recovery,
/// the run of another mode, a defrost, the rest and the stagger, an hour for a start.
fn patience_ms(settings: &Settings) -> u64 {
    const HOUR_MS: u64 = 3_600_000;
    const DEFROST_MS: u64 = 180_000;
    let draft = settings.draft();
    let holds = [
        draft.probe_fault_delay,
        draft.probe_recovery_time,
        draft.minimum_on_time,
        draft.minimum_off_time,
        draft.power_up_stagger,
    ];
    let holds_ms: u64 = holds.iter().map(|hold| hold.millis()).sum();
    2 * HOUR_MS + DEFROST_MS + holds_ms + 60 * STEP_MS
}

/// Mends everything, gives `settings`, releases what locks out, and waits for a start.
fn waits_for_start(world: &mut World, settings: Settings) -> Option<u64> {
    world.lock = SettingsLock::Unlocked;
    world.contact = ContactState::NotFitted;
    world.reading = Reading::Satisfies;
    if world.clock() == ClockRecord::Faulty {
        let _ = world.step(STEP_MS, None);
        world.suffer(ClockFault::Returns);
    }
    let _ = world.step(STEP_MS, Some(Command::Change(settings)));
    let _ = world.step(STEP_MS, Some(Command::SwitchOn));
    // Long enough for a clock that went back to be believed again, then the
    // probe, and for the space to be satisfied.
    let settle_steps = match world.clock() {
        ClockRecord::Faithful => 300,
        ClockRecord::Faulty => 4_200,
    };
    for _ in 0..settle_steps {
        let _ = world.step(STEP_MS, None);
    }
    let release = world.step(STEP_MS, Some(Command::ReleaseLockout));
    let mut was_open = release.decision.relay == Relay::Open;
    world.reading = Reading::Calls;
    let steps = patience_ms(&settings) / STEP_MS;
    (0..steps).find_map(|step| {
        let relay = world.step(STEP_MS, None).decision.relay;
        let started = was_open && relay == Relay::Closed;
        was_open |= relay == Relay::Open;
        started.then_some(step * STEP_MS)
    })
}

#[test]
fn p9_whatever_went_before_a_mended_control_starts_again() {
    let before = vec(happening(Weights::ALL), 1..60);
    let lives = (drafts::in_motion(), before, drafts::in_motion());
    let tally = RefCell::new(Tally::default());
    let outcome = runner(160, "proptest-regressions/liveness.txt").run(
        &lives,
        |(settings, before, after)| {
            let (mut world, _) = live_through(settings, &before);
            let retained = world.control().retained();
            let mut tally = tally.borrow_mut();
            tally.count_if(retained.lockout.is_some(), "mended out of a lockout");
            tally.count_if(!retained.recent_starts.is_empty(), "mended after starts");
            let waited_ms = waits_for_start(&mut world, after);
            prop_assert!(
                waited_ms.is_some(),
                "no start in {} ms",
                patience_ms(&after)
            );
            tally.count_if(
                waited_ms > Some(600_000),
                "waited for more than ten minutes",
            );
            Ok(())
        },
    );
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    let tally = tally.into_inner();
    println!("{tally}");
    tally.assert_reached(10, &["mended out of a lockout", "mended after starts"]);
    tally.assert_reached(1, &["waited for more than ten minutes"]);
}
