//! What the board does when things go wrong, with its own image in an emulated chip.
//!
//! Needs `firmware/build` and `npm ci` in `tests/chip`, so it runs with the
//! feature `chip` only.

use hysteron::chip::{BUTTON_PIN, LOCK_PIN, hexadecimal};
use hysteron_firmware::store::{SLOTS, record};
use hysteron_logic::codec::settings_to_bytes;
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::time::Duration;
use hysteron_logic::units::{Difference, Temperature};
use hysteron_tests::watched_board::{COLD, SECOND, WARM, Watched, hex, settings};

#[test]
fn a_cut_at_every_byte_of_a_save_leaves_the_old_settings_or_the_new() {
    let older = settings(|draft| draft.setpoint = Temperature::from_millicelsius(1_000));
    let old = settings(|draft| draft.setpoint = Temperature::from_millicelsius(2_000));
    let new = settings(|draft| {
        draft.setpoint = Temperature::from_millicelsius(3_000);
        draft.differential = Difference::from_millikelvin(2_500);
    });
    for tear in ["arrived", "garbled"] {
        let (mut kept_old, mut kept_new) = (0, 0);
        let mut board = Watched::with(None);
        for bytes in 0.. {
            board.ask("power 0");
            board.chip.store_settings(&older).expect("stored");
            let second = hexadecimal(&record(2, &settings_to_bytes(&old)));
            board.ask(&format!("load {} {second}", SLOTS[1]));
            board.chip.drive(LOCK_PIN, false).expect("unlocked");
            board.start();
            board.run(SECOND, WARM);
            board.say(&format!("change {}", hex(&new)));
            board.ask(&format!("cut {bytes} {tear}"));
            let cuts = board.cuts;
            board.run(3 * SECOND, WARM);
            let was_cut = board.cuts > cuts;
            board.ask("cut 1000000 arrived");
            board.start();
            board.run(SECOND, WARM);
            let told = board.told_settings();
            if told == hex(&old) {
                kept_old += 1;
            } else if told == hex(&new) {
                kept_new += 1;
            } else {
                panic!("{tear} after {bytes} bytes: neither the old nor the new: {told}");
            }
            if !was_cut {
                break;
            }
        }
        eprintln!("cuts, {tear}: the old settings {kept_old} times, the new {kept_new} times");
        assert!(kept_old > 300 && kept_new > 0, "{kept_old} {kept_new}");
        assert!(!board.said("settings unreadable"));
    }
}

#[test]
fn a_memory_that_is_absent_stuck_or_blank_locks_out_with_the_relay_open() {
    for behaviour in ["absent", "stuck", "present"] {
        let mut board = Watched::with(None);
        board.ask(&format!("memory {behaviour}"));
        board.start();
        board.run(400 * SECOND, WARM);
        assert!(
            board.said("locked out: unreadable settings"),
            "{behaviour}: {:?}",
            board.lines
        );
        assert!(board.movements.is_empty(), "{behaviour}");
        assert_eq!(board.resets, 0, "{behaviour}");
    }
}

#[test]
fn a_memory_that_answers_late_is_waited_for() {
    let old = settings(|_| {});
    let new = settings(|draft| draft.setpoint = Temperature::from_millicelsius(3_000));
    let mut board = Watched::with(Some(&old));
    // Longer than two passes: each page is asked for in vain first.
    board.ask("memory slow 250000");
    board.chip.drive(LOCK_PIN, false).expect("unlocked");
    board.start();
    board.run(SECOND, WARM);
    board.say(&format!("change {}", hex(&new)));
    board.run(4 * SECOND, WARM);
    assert!(board.said("settings saved"), "{:?}", board.lines);
    board.ask("power 0");
    board.start();
    board.run(SECOND, WARM);
    assert_eq!(board.told_settings(), hex(&new));
    let bus = board.ask("bus");
    let refusals: u32 = bus
        .split(' ')
        .nth(1)
        .and_then(|n| n.parse().ok())
        .expect("refusals");
    assert!(refusals >= 8, "the memory was hardly busy: {bus}");
}

#[test]
fn a_lost_memory_stops_neither_the_control_nor_the_counting() {
    let mut board = Watched::with(Some(&settings(|draft| {
        draft.starts_per_hour = StartsLimit::PerHour(30)
    })));
    board.start();
    board.run(10 * SECOND, WARM);
    board.ask("memory stuck");
    for _ in 0..5 {
        board.run(60 * SECOND, WARM);
        board.run(60 * SECOND, COLD);
    }
    let closings = board.movements.iter().filter(|(_, closed)| *closed).count();
    assert!(closings >= 4, "{:?}", board.movements);
    assert_eq!(board.resets, 0);
}

#[test]
fn the_settings_lock_is_obeyed_before_any_write() {
    let old = settings(|_| {});
    let new = settings(|draft| draft.setpoint = Temperature::from_millicelsius(3_000));
    let mut board = Watched::with(Some(&old));
    board.start();
    board.run(5 * SECOND, WARM);
    let before = board.ask("dump 0 32768");
    for command in [
        format!("change {}", hex(&new)),
        "switch off".to_owned(),
        "release lockout".to_owned(),
    ] {
        board.say(&command);
        board.run(SECOND, WARM);
    }
    board.chip.drive(BUTTON_PIN, false).expect("held");
    board.run(5 * SECOND, WARM);
    let refusals = board
        .lines
        .iter()
        .filter(|line| line.contains("refused: settings locked"))
        .count();
    assert_eq!(refusals, 4, "{:?}", board.lines);
    assert_eq!(board.ask("dump 0 32768"), before);
    assert_eq!(board.told_settings(), hex(&old));
}

#[test]
fn a_lock_that_comes_on_during_a_save_keeps_what_comes_after_it_out() {
    let old = settings(|_| {});
    let new = settings(|draft| draft.setpoint = Temperature::from_millicelsius(3_000));
    let (mut locked_before, mut locked_within) = (0, 0);
    for passes in 0..24 {
        let mut board = Watched::with(Some(&old));
        board.chip.drive(LOCK_PIN, false).expect("unlocked");
        board.start();
        board.run(SECOND, WARM);
        board.say(&format!("change {}", hex(&new)));
        board.run(passes * SECOND / 10, WARM);
        board.chip.drive(LOCK_PIN, true).expect("locked");
        let saved = board.said("settings saved");
        board.say("switch off");
        board.run(3 * SECOND, WARM);
        // The answer takes passes to send, and the lock some to be believed.
        let accepted = board.said("done");
        assert!(board.said("refused: settings locked"), "{:?}", board.lines);
        board.ask("power 0");
        board.start();
        board.run(SECOND, WARM);
        // What was accepted is kept whole, and nothing else is.
        let kept = if accepted { &new } else { &old };
        assert_eq!(
            board.told_settings(),
            hex(kept),
            "locked after {passes} passes"
        );
        locked_before += usize::from(!accepted);
        locked_within += usize::from(accepted && !saved);
    }
    eprintln!(
        "the lock came on {locked_before} times before a change, {locked_within} times within its save"
    );
    assert!(locked_before >= 3 && locked_within >= 5);
}

#[test]
fn a_starved_watchdog_and_a_hung_processor_end_in_an_open_relay_and_a_new_hold() {
    for (fault, end) in [("starve 1", "starve 0"), ("hang", "starve 0")] {
        let mut board = Watched::with(Some(&settings(|_| {})));
        board.start();
        board.run(30 * SECOND, WARM);
        assert!(board.driven, "{fault}: the relay never closed");
        board.ask(fault);
        let before = board.chip.now_us();
        board.run(3 * SECOND, WARM);
        board.ask(end);
        assert!(board.resets >= 1, "{fault}: the watchdog did not bite");
        assert!(!board.driven);
        let (opened, _) = *board.movements.last().expect("movements");
        assert!(
            opened - before <= 1.1e6,
            "{fault}: open only {} us later",
            opened - before
        );
        board.run(60 * SECOND, WARM);
        assert!(board.said("started after watchdog"), "{:?}", board.lines);
        let (closed, _) = *board.movements.last().expect("movements");
        assert!(
            board.driven && closed - opened >= 20e6,
            "{fault}: rested {} us",
            closed - opened
        );
    }
}

#[test]
fn a_reset_of_the_processor_alone_releases_the_relay_at_once_though_a_lock_is_held() {
    let mut board = Watched::with(Some(&settings(|_| {})));
    board.start();
    board.run(30 * SECOND, WARM);
    assert!(board.driven);
    // In the midst of a rest between passes, and of a pass.
    for after in [50_000, 49_200, 300] {
        board.run(after, WARM);
        assert!(board.driven);
        let before = board.chip.now_us();
        board.ask("core");
        board.run(2_000, WARM);
        let (opened, closed) = *board.movements.last().expect("a movement");
        assert!(
            !closed && opened - before <= 20.0,
            "released {} us after its reset",
            opened - before
        );
        board.run(60 * SECOND, WARM);
        assert_eq!(board.resets, 0, "it did not come through by itself");
        let (closed, driven) = *board.movements.last().expect("a movement");
        assert!(driven && closed - opened >= 20e6, "{:?}", board.lines);
    }
}

#[test]
fn a_start_is_remembered_though_power_fails_with_the_closing() {
    let stored = settings(|draft| {
        draft.minimum_on_time = Duration::from_seconds(5);
        draft.starts_per_hour = StartsLimit::PerHour(2);
    });
    let mut board = Watched::with(Some(&stored));
    board.start();
    let mut closings = 0;
    for _ in 0..40 {
        board.run(19 * SECOND, WARM);
        // The chip of the memory writes for 5 ms; its power fails within one.
        for _ in 0..3_000 {
            board.run(1_000, WARM);
            if board.driven {
                break;
            }
        }
        if !board.driven {
            break;
        }
        closings += 1;
        board.ask("cut 1000000 garbled");
        board.ask("power 0");
        board.ask("cut 1000000 arrived");
        board.run(SECOND, WARM);
        board.start();
    }
    assert_eq!(closings, 2, "{:?}", board.lines);
    board.run(30 * SECOND, WARM);
    assert!(board.said("starts per hour"), "{:?}", board.lines);
}

#[test]
fn a_crystal_that_stops_opens_the_relay_and_keeps_it_open() {
    let mut board = Watched::with(Some(&settings(|_| {})));
    board.start();
    board.run(30 * SECOND, WARM);
    assert!(board.driven);
    board.ask("crystal 0");
    let stopped = board.chip.now_us();
    board.run(5 * SECOND, WARM);
    let (opened, _) = *board.movements.last().expect("movements");
    assert!(
        !board.driven && opened - stopped <= 1.1e6,
        "open after {} us",
        opened - stopped
    );
    board.ask("crystal 1");
    board.run(60 * SECOND, WARM);
    let (closed, _) = *board.movements.last().expect("movements");
    assert!(board.driven && closed - opened >= 20e6);
    assert_eq!(board.resets, 1);
}

#[test]
fn a_train_of_brown_outs_never_closes_the_relay() {
    let mut board = Watched::with(Some(&settings(|_| {})));
    for burst in 0..200_u64 {
        board.start();
        board.run(30_000 + burst * 95_000, WARM);
        board.ask("power 0");
        board.run(20_000, WARM);
    }
    assert!(board.movements.is_empty(), "{:?}", board.movements);
    board.start();
    board.run(25 * SECOND, WARM);
    assert!(board.driven, "it closes once the power stays");
}

#[test]
fn the_wrap_of_the_timer_changes_nothing() {
    let course = |first_micros: u64| {
        let mut board = Watched::with(Some(&settings(|_| {})));
        board.ask(&format!("timer {first_micros}"));
        board.start();
        for _ in 0..6 {
            board.run(45 * SECOND, WARM);
            board.run(45 * SECOND, COLD);
        }
        assert_eq!(board.resets, 0);
        board
            .movements
            .iter()
            .map(|(at, closed)| ((at / 1e5).round() as u64, *closed))
            .collect::<Vec<_>>()
    };
    let plain = course(0);
    assert!(plain.len() >= 10, "{plain:?}");
    // Wraps after two minutes, and after a hold has begun.
    assert_eq!(course((1 << 32) - 120 * SECOND), plain);
    assert_eq!(course((1 << 32) - 50 * SECOND), plain);
}

#[test]
fn a_converter_stuck_at_either_rail_opens_the_relay() {
    for (rail, word) in [(0, "probe shorted"), (65_520, "probe open")] {
        let mut board = Watched::with(Some(&settings(|_| {})));
        board.start();
        board.run(30 * SECOND, WARM);
        assert!(board.driven);
        board.run(90 * SECOND, rail);
        assert!(
            !board.driven && board.said(word),
            "{rail}: {:?}",
            board.lines
        );
    }
}
