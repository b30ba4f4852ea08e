//! How long the load truly rests, measured at the relay's pin of the board's own image
//! in an emulated chip.
//!
//! Needs `firmware/build` and `npm ci` in `tests/chip`, so it runs with the
//! feature `chip` only. `CHIP_CUTS` sets the number of random cuts of power.

use hysteron::chip::LOCK_PIN;
use hysteron_logic::coefficients::Coefficients;
use hysteron_logic::curve::{Curve, CustomCurve};
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::settings::{Draft, Settings};
use hysteron_logic::time::Duration;
use hysteron_logic::units::Temperature;
use hysteron_tests::watched_board::{COLD, COOL, SECOND, WARM, Watched, hex, settings};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

/// The rest of every board here, in microseconds.
const REST_US: f64 = 20e6;
/// A closing that comes no later than this after it may is one of the earliest pass.
const PASS_US: f64 = 100e3;

/// What opens the relay.
#[derive(Debug, Clone, Copy)]
enum Opening {
    /// A reading, in a pass that has nothing else to do.
    Cold,
    /// A command.
    SwitchedOff,
    /// New settings that bring a thermistor of their own, in a pass that makes its table.
    OwnThermistor,
}

/// What the pass that closes the relay has to obey as well.
#[derive(Debug, Clone, Copy)]
enum Obeying {
    Nothing,
    Question,
    Nonsense,
    Change,
}

fn with_rest(starts: StartsLimit, edit: impl FnOnce(&mut Draft)) -> Settings {
    settings(|draft| {
        draft.minimum_on_time = Duration::from_seconds(10);
        draft.starts_per_hour = starts;
        edit(draft);
    })
}

/// Opens the relay of a board whose load runs, and leaves it wanting to close.
fn open(board: &mut Watched, starts: StartsLimit, how: Opening) {
    match how {
        Opening::Cold => board.run(12 * SECOND, COOL),
        Opening::SwitchedOff => {
            board.say("switch off");
            board.run(SECOND, WARM);
            board.say("switch on");
        }
        Opening::OwnThermistor => {
            let own = CustomCurve::new(Coefficients::TYPE_III).expect("a thermistor");
            let other = with_rest(starts, |draft| {
                draft.curve = Curve::Custom(own);
                draft.setpoint = Temperature::from_millicelsius(20_000);
            });
            board.say(&format!("change {}", hex(&other)));
            board.run(3 * SECOND, WARM);
            board.say(&format!("change {}", hex(&with_rest(starts, |_| {}))));
        }
    }
    board.run(SECOND, WARM);
    assert!(!board.driven, "{how:?}: {:?}", board.lines);
}

#[test]
fn the_load_rests_in_full_however_slow_the_pass_that_opened_and_quick_the_one_that_closes() {
    let openings = [Opening::Cold, Opening::SwitchedOff, Opening::OwnThermistor];
    let obeyings = [
        Obeying::Nothing,
        Obeying::Question,
        Obeying::Nonsense,
        Obeying::Change,
    ];
    let mut rests = Vec::new();
    let mut obeyed = 0;
    for (starts, cycles) in [
        (StartsLimit::Unlimited, 48),
        // Every start is remembered before the relay closes.
        (StartsLimit::PerHour(30), 24),
    ] {
        let mut board = Watched::with(Some(&with_rest(starts, |_| {})));
        board.chip.drive(LOCK_PIN, false).expect("unlocked");
        board.start();
        board.run(25 * SECOND, WARM);
        let mut runner = TestRunner::deterministic();
        let phase = 0_u64..PASS_US as u64;
        for (opening, obeying) in openings
            .iter()
            .cycle()
            .zip(obeyings.iter().cycle())
            .take(cycles)
        {
            let phase = phase.new_tree(&mut runner).expect("a phase").current();
            board.run(15 * SECOND + phase, WARM);
            assert!(board.driven, "{opening:?} {obeying:?}: {:?}", board.lines);
            open(&mut board, starts, *opening);
            let (opened, _) = *board.movements.last().expect("a movement");
            let rested = board.chip.now_us() - opened;
            // A change is heard over five passes.
            let ahead = match obeying {
                Obeying::Nothing | Obeying::Question | Obeying::Nonsense => 0.5,
                Obeying::Change => 4.5,
            };
            board.run((REST_US - rested - ahead * PASS_US) as u64, WARM);
            let lines = board.lines.len();
            match obeying {
                Obeying::Nothing => {}
                Obeying::Question => board.say("tell settings"),
                Obeying::Nonsense => board.say("nonsense"),
                Obeying::Change => {
                    board.say(&format!("change {}", hex(&with_rest(starts, |_| {}))));
                }
            }
            board.run(2 * SECOND, WARM);
            obeyed += usize::from(closed_and_answered(&board.lines[lines..]));
        }
        assert_eq!(board.resets, 0);
        rests.extend(board.rests());
    }
    let earliest = rests
        .iter()
        .filter(|rest| **rest < REST_US + PASS_US)
        .count();
    let shortest = rests.iter().copied().fold(f64::INFINITY, f64::min);
    eprintln!(
        "{} rests of 20 s, {earliest} of them ended by the earliest pass and {obeyed} by one that answered as well; \
         the shortest {:.6} s",
        rests.len(),
        shortest / 1e6
    );
    assert_eq!(rests.len(), 72);
    assert!(earliest >= 36 && obeyed >= 8, "{earliest} {obeyed}");
    assert!(shortest >= REST_US, "rested {shortest} us");
}

/// Whether one and the same pass told a closing and the answer to a line.
fn closed_and_answered(lines: &[String]) -> bool {
    let told = |end: &str| {
        let line = lines.iter().find(|line| line.ends_with(end))?;
        line.split(' ').next()
    };
    told(" relay closed: calling").is_some_and(|closed| {
        [told(" done"), told(" refused: no such command")].contains(&Some(closed))
    })
}

#[test]
fn the_load_rests_through_random_cuts_and_resets() {
    let cuts = std::env::var("CHIP_CUTS").map_or(500, |cuts| cuts.parse().expect("a number"));
    let mut board = Watched::with(Some(&settings(|_| {})));
    let mut runner = TestRunner::deterministic();
    let happening = (
        0_u8..4,
        1_000_u64..30_000_000,
        0_u64..5_000_000,
        prop_oneof![3 => Just(WARM), 1 => Just(COLD)],
    );
    let (mut by_power, mut by_reset, mut by_hang, mut while_closed) = (0, 0, 0, 0);
    board.start();
    for _ in 0..cuts {
        let (kind, runs_us, off_us, sum) = happening
            .new_tree(&mut runner)
            .expect("a happening")
            .current();
        board.run(runs_us, sum);
        while_closed += usize::from(board.driven);
        match kind {
            0 | 1 => {
                board.ask("power 0");
                board.run(off_us, sum);
                board.start();
                by_power += 1;
            }
            2 => {
                board.ask("reset");
                by_reset += 1;
            }
            _ => {
                board.ask("hang");
                let resets = board.resets;
                board.run(2 * SECOND, sum);
                assert!(board.resets > resets, "the watchdog did not bite");
                by_hang += 1;
            }
        }
    }
    let rests = board.rests();
    let closings = rests.len();
    let shortest = rests.into_iter().fold(f64::INFINITY, f64::min);
    eprintln!(
        "{by_power} cuts of power, {by_reset} resets, {by_hang} hangs, {while_closed} while the load ran; \
         {closings} closings, the shortest rest {:.2} s of 20",
        shortest / 1e6
    );
    assert!(
        while_closed > cuts / 20 && closings > cuts / 20,
        "{while_closed} {closings}"
    );
    assert!(shortest >= REST_US, "rested {shortest} us");
}
