//! What a flipped bit of RAM does to a running control: the board's own image in an emulated chip.
//!
//! Settings and state stand in RAM once, without a check, so a flip can change a decision or
//! cut a rest short; how often is printed. What is promised is that no flip leaves the board
//! hung with the relay closed, that a reset ends in a full rest, and that power taken and
//! given makes the board whole. A flipped address can lead a record astray, over the
//! settings in the memory: then power ends in a lockout with the relay open.
//!
//! Needs `firmware/build` and `npm ci` in `tests/chip`, so it runs with the
//! feature `chip` only. `CHIP_FLIPS` sets the number of flips.

use hysteron_logic::guard::StartsLimit;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::Duration;
use hysteron_tests::watched_board::{COOL, SECOND, WARM, Watched, hex, settings};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

/// The course that every flip meets somewhere: seconds, and what is read in them. The
/// relay closes at 20 s, opens in the second stretch, closes in the third and opens again.
/// In the last it closes once more, also after a reset by any of the flips.
const COURSE: [(u64, u16); 5] = [(23, WARM), (10, COOL), (24, WARM), (15, COOL), (25, WARM)];
/// The end of the stretch in which a sound board has opened its relay.
const SATISFIED_BY_US: u64 = 72 * SECOND;
/// Flips come early enough to be followed by a quarter of a minute and a movement.
const FLIPPED_WITHIN_US: std::ops::Range<u64> = 15 * SECOND..57 * SECOND;
const REST_US: f64 = 20e6;
const PASS_US: u64 = 100_000;
/// The watchdog's second, and what the pass before it took.
const MOST_UNFED_US: f64 = 1.1e6;
const RAM: u64 = 0x2000_0000;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    Statics,
    Stack,
}

#[derive(Debug, Clone, Copy)]
struct Flip {
    /// Since power came.
    at_us: u64,
    place: Place,
    /// Where in the place, of 65,536 parts.
    part: u64,
    bit: u8,
}

/// What a board did from power-up to the end of the course; times since power came.
#[derive(Debug, Default)]
struct Life {
    /// The relay's movements, in passes.
    movements: Vec<(u64, bool)>,
    first_opening_us: Option<f64>,
    lines: Vec<String>,
    rests: Vec<f64>,
    resets: usize,
    /// From the last reset to the first closing after it.
    rest_after_reset_us: Option<f64>,
    faults: u64,
    longest_unfed_us: f64,
    driven_though_satisfied: bool,
    driven_at_flip: bool,
    awake_at_flip: bool,
}

fn stored() -> Settings {
    settings(|draft| {
        draft.minimum_on_time = Duration::from_seconds(5);
        draft.starts_per_hour = StartsLimit::PerHour(30);
    })
}

fn numbers<const N: usize>(answer: &str) -> [u64; N] {
    let numbers: Vec<_> = answer
        .split(' ')
        .map(|number| number.parse().expect("a number"))
        .collect();
    numbers.try_into().expect("so many numbers")
}

/// Flips the bit; whether the processor was awake.
fn flip(board: &mut Watched, flip: Flip, asleep_at: u64) -> bool {
    let [statics, stack, top] = numbers(&board.ask("places"));
    let (from, to) = match flip.place {
        Place::Statics => (RAM, statics),
        Place::Stack => (stack, top),
    };
    let address = from + (to - from) * flip.part / 65_536;
    board.ask(&format!("flip {address} {}", flip.bit));
    stack < asleep_at
}

/// A whole course, from power-up on with the settings in the memory and nothing else.
fn live(board: &mut Watched, wanted: Option<(Flip, u64)>) -> Life {
    board.ask("power 0");
    board.run(SECOND, WARM);
    board.forget();
    board.chip.store_settings(&stored()).expect("stored");
    board.start();
    let born = board.chip.now_us();
    board.ask("unfed");
    let [faults, _] = numbers(&board.ask("faults"));
    let mut life = Life::default();
    let (mut passed, mut wanted) = (0, wanted);
    for (seconds, sum) in COURSE {
        let end = passed + seconds * SECOND;
        if let Some((at, asleep_at)) = wanted.filter(|(flip, _)| flip.at_us < end) {
            wanted = None;
            board.run(at.at_us - passed, sum);
            passed = at.at_us;
            life.driven_at_flip = board.driven;
            life.awake_at_flip = flip(board, at, asleep_at);
        }
        board.run(end - passed, sum);
        passed = end;
        if end == SATISFIED_BY_US {
            life.driven_though_satisfied = board.driven;
        }
    }
    let [faults_after, _] = numbers(&board.ask("faults"));
    let since_born = |us: f64| us - born;
    life.movements = board
        .movements
        .iter()
        .map(|(at, closed)| (since_born(*at) as u64 / PASS_US, *closed))
        .collect();
    let opening = board.movements.iter().find(|(_, closed)| !closed);
    life.first_opening_us = opening.map(|(at, _)| since_born(*at));
    life.lines = board.lines.clone();
    life.rests = board.rests();
    life.resets = board.resets;
    life.rest_after_reset_us = board.last_reset_us.and_then(|reset| {
        let mut later = board.movements.iter().filter(|(at, _)| *at > reset);
        later.find(|(_, closed)| *closed).map(|(at, _)| at - reset)
    });
    life.faults = faults_after - faults;
    life.longest_unfed_us = board.ask("unfed").parse().expect("microseconds");
    life
}

/// What a board is after power was taken and given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum AfterPower {
    /// The relay closes after its hold, with the settings that were stored.
    Whole,
    /// The settings are gone, and the relay stays open until a person comes.
    LockedOut,
    Neither,
}

fn after_power(board: &mut Watched) -> AfterPower {
    board.ask("power 0");
    board.run(SECOND, WARM);
    board.forget();
    board.start();
    let born = board.chip.now_us();
    board.run(22 * SECOND, WARM);
    let told = board.told_settings();
    match board.movements[..] {
        [] if board.said("locked out: unreadable settings") => AfterPower::LockedOut,
        [(closed, true)]
            if (REST_US..REST_US + 300e3).contains(&(closed - born)) && told == hex(&stored()) =>
        {
            AfterPower::Whole
        }
        _ => AfterPower::Neither,
    }
}

#[derive(Default)]
struct Tally {
    flips: usize,
    while_driven: usize,
    while_awake: usize,
    without_effect: usize,
    told_otherwise: usize,
    moved_otherwise: usize,
    reset: usize,
    faults: u64,
    left_running: usize,
    locked_out: usize,
    rests_cut: usize,
    rests_after_reset: usize,
}

#[test]
fn a_flipped_bit_never_leaves_the_board_hung_and_power_makes_it_whole_or_locks_it_out() {
    let flips = std::env::var("CHIP_FLIPS").map_or(240, |flips| flips.parse().expect("a number"));
    let mut board = Watched::with(None);
    let sound = live(&mut board, None);
    assert!(sound.movements.len() == 5 && sound.resets == 0, "{sound:?}");
    assert_eq!(after_power(&mut board), AfterPower::Whole);
    board.run(PASS_US, WARM);
    let [_, asleep_at, _] = numbers(&board.ask("places"));
    // An opening is among the first things that its pass does.
    let opening = sound.first_opening_us.expect("an opening") as u64;
    let pass_begins = (opening - 700) % PASS_US;

    let mut runner = TestRunner::deterministic();
    let drawn = (
        FLIPPED_WITHIN_US,
        // Passes take a millisecond or two of 100; half of all flips fall into one or close to it.
        prop_oneof![Just(None), (0_u64..2_000).prop_map(Some)],
        prop_oneof![1 => Just(Place::Statics), 2 => Just(Place::Stack)],
        0_u64..65_536,
        0_u8..8,
    );
    let mut tallies = [Tally::default(), Tally::default()];
    let (mut longest_unfed_us, mut shortest_us) = (0_f64, f64::INFINITY);
    for number in 0..flips {
        let (at_us, in_pass, place, part, bit) =
            drawn.new_tree(&mut runner).expect("a flip").current();
        let at_us = match in_pass {
            None => at_us,
            Some(after) => at_us / PASS_US * PASS_US + pass_begins + after,
        };
        let wanted = Flip {
            at_us,
            place,
            part,
            bit,
        };
        let life = live(&mut board, Some((wanted, asleep_at)));
        let what = format!("flip {number}, {wanted:?}: {life:?}");

        assert!(life.longest_unfed_us <= MOST_UNFED_US, "hung: {what}");
        if let Some(rest) = life.rest_after_reset_us {
            assert!(rest >= REST_US, "rested {rest} us after a reset: {what}");
        }
        let after = after_power(&mut board);
        assert_ne!(after, AfterPower::Neither, "{what}: {:?}", board.lines);
        assert!(
            life.longest_unfed_us > PASS_US as f64 / 2.0,
            "never fed: {what}"
        );
        longest_unfed_us = longest_unfed_us.max(life.longest_unfed_us);

        let tally = &mut tallies[usize::from(place == Place::Stack)];
        tally.flips += 1;
        tally.while_driven += usize::from(life.driven_at_flip);
        tally.while_awake += usize::from(life.awake_at_flip);
        tally.faults += life.faults;
        if life.resets > 0 {
            tally.reset += 1;
        } else if life.movements != sound.movements {
            tally.moved_otherwise += 1;
        } else if life.lines != sound.lines {
            tally.told_otherwise += 1;
        } else {
            tally.without_effect += 1;
        }
        tally.left_running += usize::from(life.driven_though_satisfied);
        tally.rests_after_reset += usize::from(life.rest_after_reset_us.is_some());
        tally.locked_out += usize::from(after == AfterPower::LockedOut);
        let rest = life.rests.iter().copied().fold(f64::INFINITY, f64::min);
        tally.rests_cut += usize::from(rest < REST_US);
        shortest_us = shortest_us.min(rest);
    }
    for (place, tally) in ["static RAM", "stack"].iter().zip(&tallies) {
        eprintln!(
            "{} flips in {place}, {} while the load ran, {} within a pass: {} without effect, \
             {} told otherwise, {} moved the relay otherwise, {} reset ({} hard faults); \
             {} rested in full after that; {} left the load running, {} cut a rest short, {} lost \
             the settings",
            tally.flips,
            tally.while_driven,
            tally.while_awake,
            tally.without_effect,
            tally.told_otherwise,
            tally.moved_otherwise,
            tally.reset,
            tally.faults,
            tally.rests_after_reset,
            tally.left_running,
            tally.rests_cut,
            tally.locked_out,
        );
    }
    eprintln!(
        "longest without a finished pass {:.3} s; shortest rest {:.6} s",
        longest_unfed_us / 1e6,
        shortest_us / 1e6
    );
    let all = |count: fn(&Tally) -> usize| tallies.iter().map(count).sum::<usize>();
    assert!(all(|tally| tally.while_driven) >= flips / 4);
    assert!(all(|tally| tally.while_awake) >= flips / 20);
    assert!(all(|tally| tally.locked_out) <= flips / 50);
    assert!(all(|tally| tally.reset) > 0, "no flip stopped the passes");
    assert!(
        all(|tally| tally.rests_after_reset) > 0,
        "no relay closed after a reset, so no rest after one was seen"
    );
    assert!(all(|tally| tally.moved_otherwise + tally.told_otherwise) > 0);
}
