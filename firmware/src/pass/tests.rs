//! What a pass does on a board whose parts are scripted.

use super::*;
use crate::board::scripted::{Bench, Nothing, Scripted};
use crate::button::HELD_PASSES;
use crate::journal::{self, Allowance};
use crate::store;
use hysteron_logic::codec::settings_to_bytes;
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::settings::{Confirmation, Draft, Settings};
use hysteron_logic::time::Duration;

const WARM: u16 = 46_500;

const COLD: u16 = 49_500;

fn with_settings() -> Box<Bench> {
    with(&Settings::DEFAULT)
}

fn with(settings: &Settings) -> Box<Bench> {
    let bench = Box::new(Bench::new());
    let record = store::record(1, &settings_to_bytes(settings));
    bench.load(store::SLOTS[0], &record);
    bench.sum.set(WARM);
    bench
}

fn run(pass: &mut Pass<'_, Scripted<'_>>, bench: &Bench, passes: u32) -> Option<Decision> {
    let mut last = None;
    for _ in 0..passes {
        bench.await_pass();
        last = pass.run().ok();
    }
    last
}

#[test]
fn a_call_closes_the_relay_after_the_power_up_hold() {
    let bench = with_settings();
    let mut storage = StaticStorage::<Nothing>::new();
    let mut pass = Pass::at_power_up(&mut storage, bench.ports());
    run(&mut pass, &bench, 2_999);
    assert!(!bench.relay_driven.get());
    run(&mut pass, &bench, 1);
    assert!(bench.relay_driven.get());
    assert_eq!(bench.feeds.get(), 3_000);
}

#[test]
fn a_relay_that_cannot_be_driven_starves_the_watchdog() {
    let bench = with_settings();
    let mut storage = StaticStorage::<Nothing>::new();
    let mut pass = Pass::at_power_up(&mut storage, bench.ports());
    run(&mut pass, &bench, 3_000);
    bench.relay_works.set(false);
    let fed = bench.feeds.get();
    assert_eq!(run(&mut pass, &bench, 10), None);
    assert_eq!(bench.feeds.get(), fed);
}

#[test]
fn a_contact_that_was_driven_late_is_not_judged_before_it_has_settled() {
    let mut draft = Draft::COOLING;
    draft.short_off_time = Confirmation::Given;
    draft.minimum_off_time = Duration::from_seconds(20);
    draft.minimum_on_time = Duration::from_seconds(10);
    let bench = with(&draft.check().unwrap());
    bench.load_side.set(Some(LoadSide::Dead));
    let mut storage = StaticStorage::<Nothing>::new();
    let mut pass = Pass::at_power_up(&mut storage, bench.ports());
    moved(&mut pass, &bench, 0, 0);
    run(&mut pass, &bench, 1);
    // Driven at the beginning of a pass, it has settled at the next.
    assert_eq!(pass.input.feedback, Feedback::Open);
    bench.load_side.set(Some(LoadSide::Live));
    bench.sum.set(COLD);
    // A slow opening makes the next closing wait as long.
    moved(&mut pass, &bench, 0, 45_000);
    bench.sum.set(WARM);
    bench.load_side.set(Some(LoadSide::Dead));
    let closed = moved(&mut pass, &bench, 0, 0);
    bench.await_pass();
    let waited = bench.micros.get() - closed;
    assert!(
        waited < SETTLE_MICROS,
        "the closing hardly waited: {waited}"
    );
    let _ = pass.run();
    assert_eq!(pass.input.feedback, Feedback::NotFitted);
    run(&mut pass, &bench, 1);
    assert_eq!(pass.input.feedback, Feedback::Open);
    bench.load_side.set(Some(LoadSide::Live));
    run(&mut pass, &bench, 1);
    assert_eq!(pass.input.feedback, Feedback::Closed);
    bench.load_side.set(Some(LoadSide::Unknown));
    run(&mut pass, &bench, 1);
    assert_eq!(pass.input.feedback, Feedback::NotFitted);
}

/// Runs passes that begin `late` after they are due and look for `looks`, until the
/// relay has moved; when its pin did.
fn moved(pass: &mut Pass<'_, Scripted<'_>>, bench: &Bench, late: u32, looks: u32) -> u32 {
    bench.look_micros.set(looks);
    let was = bench.relay_driven.get();
    for _ in 0..6_000 {
        bench.await_pass();
        bench.micros.set(bench.micros.get() + late);
        let _ = pass.run().expect("a relay that can be driven");
        if bench.relay_driven.get() != was {
            return bench.relay_moved_at.get();
        }
    }
    panic!("the relay never moved: {:?}", pass.told);
}

#[test]
fn the_pin_rests_as_long_as_the_setting_says_whatever_the_passes_cost() {
    let mut waited = 0;
    for starts in [StartsLimit::Unlimited, StartsLimit::PerHour(20)] {
        let mut draft = Draft::COOLING;
        draft.starts_per_hour = starts;
        draft.short_off_time = Confirmation::Given;
        draft.minimum_off_time = Duration::from_seconds(20);
        draft.minimum_on_time = Duration::from_seconds(10);
        let rest = 20_000_000;
        let bench = with(&draft.check().unwrap());
        let mut storage = StaticStorage::<Nothing>::new();
        let mut pass = Pass::at_power_up(&mut storage, bench.ports());
        moved(&mut pass, &bench, 0, 0);
        // Lateness within a millisecond, which the told time leaves out, and looks
        // from none to some that no processor of this kind needs.
        for (late_opening, slow, late_closing, quick) in [
            (0, 0, 0, 0),
            (0, 5, 0, 0),
            (999, 5, 0, 0),
            (999, 40, 999, 30),
            (0, 12_000, 999, 0),
            (500, 12_000, 499, 12_000),
            (0, 0, 999, 12_000),
            (999, 30_000, 0, 0),
        ] {
            bench.sum.set(COLD);
            let opened = moved(&mut pass, &bench, late_opening, slow);
            bench.sum.set(WARM);
            let closed = moved(&mut pass, &bench, late_closing, quick);
            let rested = closed - opened;
            assert!(
                (rest..rest + 201_000).contains(&rested),
                "{rested} us: {late_opening} {slow} {late_closing} {quick} {starts:?}"
            );
            waited += usize::from(rested == rest);
        }
    }
    assert!(
        waited >= 4,
        "only {waited} closings came at the earliest moment"
    );
}

#[test]
fn an_empty_memory_locks_out_and_no_button_helps_until_settings_are_given() {
    let bench = Box::new(Bench::new());
    bench.sum.set(WARM);
    bench.jumper_fitted.set(true);
    let mut storage = StaticStorage::<Nothing>::new();
    let mut pass = Pass::at_power_up(&mut storage, bench.ports());
    run(&mut pass, &bench, 10);
    bench.button_held.set(true);
    let answers = (0..HELD_PASSES + 1).filter_map(|_| run(&mut pass, &bench, 1)?.answer);
    assert_eq!(answers.filter(Result::is_err).count(), 1);
    let after = run(&mut pass, &bench, 4_000).map(|decision| decision.reason);
    assert!(matches!(after, Some(Reason::LockedOut(_))), "{after:?}");
    assert!(!bench.relay_driven.get());
}

#[test]
fn a_journal_that_cannot_be_read_locks_out_though_the_settings_are_whole() {
    let bench = with_settings();
    bench.unreadable_from.set(usize::from(journal::START));
    let mut storage = StaticStorage::<Nothing>::new();
    let mut pass = Pass::at_power_up(&mut storage, bench.ports());
    let after = run(&mut pass, &bench, 4_000).map(|decision| decision.reason);
    assert!(matches!(after, Some(Reason::LockedOut(_))), "{after:?}");
    assert!(!bench.relay_driven.get());
}

#[test]
fn a_silent_memory_is_asked_within_the_allowance_and_the_control_works_on() {
    let bench = with_settings();
    let mut storage = StaticStorage::<Nothing>::new();
    let mut pass = Pass::at_power_up(&mut storage, bench.ports());
    bench.memory_answers.set(false);
    run(&mut pass, &bench, 40_000);
    assert!(bench.relay_driven.get());
    assert!(pass.persistence.condition().is_err());
    bench.memory_answers.set(true);
    let passes = u32::from(Allowance::AT_ONCE) * 10;
    run(&mut pass, &bench, passes.max(700));
    assert!(pass.persistence.condition().is_ok());
}
