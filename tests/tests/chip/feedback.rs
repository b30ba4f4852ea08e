//! What the board makes of mains at its contact feedback: its own image in an emulated chip,
//! with the half-waves that an optocoupler gives.
//!
//! Needs `firmware/build` and `npm ci` in `tests/chip`, so it runs with the
//! feature `chip` only.

use hysteron::chip::ContactIs;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::Duration;
use hysteron_tests::watched_board::{COOL, SECOND, WARM, Watched, settings};

/// An optocoupler on mains: one diode sees one half-wave of two, two see both.
#[derive(Debug, Clone, Copy)]
struct Feed {
    hertz: f64,
    diodes: f64,
    /// Where it begins to conduct, in shares of the peak.
    threshold: f64,
}

impl Feed {
    fn lit_micros(self) -> f64 {
        let dark = self.threshold.asin() / std::f64::consts::PI / self.hertz * 1e6;
        0.5e6 / self.hertz - dark
    }

    fn begin(self, board: &mut Watched) {
        let pulses = self.hertz * self.diodes;
        board.ask(&format!("waves {pulses} {}", self.lit_micros()));
    }
}

/// Feeds over the frequencies that a grid may have, and for how many seconds each has to be
/// watched: near 50 and 60 Hz, with which the passes keep step, they drift slowly.
fn feeds() -> impl Iterator<Item = (Feed, u64)> {
    let coarse = (0..=22).map(|step| (49.5 + f64::from(step) * 0.5, 4));
    let near = [-0.15, -0.05, -0.02, 0.0, 0.03, 0.05, 0.1];
    let near = near
        .into_iter()
        .flat_map(|off| [(50.0 + off, 25), (60.0 + off, 25)]);
    let hertz = coarse.chain(near);
    hertz.flat_map(|(hertz, seconds)| {
        [(1.0, 0.1), (1.0, 0.5), (2.0, 0.2), (2.0, 0.75)].map(|(diodes, threshold)| {
            let feed = Feed {
                hertz,
                diodes,
                threshold,
            };
            (feed, seconds)
        })
    })
}

fn stored() -> Settings {
    settings(|draft| draft.minimum_on_time = Duration::from_seconds(5))
}

fn accused(board: &Watched) -> bool {
    ["burnt", "welded", "stays"]
        .iter()
        .any(|word| board.said(word))
}

#[test]
fn a_good_contact_is_never_called_dead_on_any_grid() {
    let mut board = Watched::with(Some(&stored()));
    // From the closing on: a detector that turns into another is no grid's doing.
    feeds().next().expect("a feed").0.begin(&mut board);
    board.start();
    board.run(25 * SECOND, WARM);
    assert!(board.driven);
    let (mut watched, mut looks) = (0, 0);
    for (feed, seconds) in feeds() {
        feed.begin(&mut board);
        board.forget();
        board.run(seconds * SECOND, WARM);
        assert!(
            board.driven && board.movements.is_empty(),
            "{feed:?}: {:?}",
            board.lines
        );
        assert!(!accused(&board), "{feed:?}: {:?}", board.lines);
        watched += 1;
        looks += seconds * 10;
    }
    assert!(watched > 100 && looks > 10_000, "{watched} {looks}");
    // As it moves, too.
    let mut movements = 0;
    for (feed, _) in feeds().step_by(5) {
        feed.begin(&mut board);
        board.forget();
        board.run(10 * SECOND, COOL);
        board.run(35 * SECOND, WARM);
        assert!(!accused(&board), "{feed:?}: {:?}", board.lines);
        movements += board.movements.len();
        assert!(
            board.driven && board.movements.len() == 2,
            "{feed:?}: {:?}",
            board.lines
        );
    }
    assert!(movements > 40, "{movements}");
}

#[test]
fn a_contact_that_stays_dead_or_live_is_told_on_any_grid() {
    let mut board = Watched::with(Some(&stored()));
    for (feed, _) in feeds().step_by(3) {
        for (contact, told, within) in [
            // A voltage that stays away is a burnt contact when it does so again.
            (ContactIs::Burnt, "contact burnt", 100),
            (ContactIs::Welded, "contact welded", 30),
        ] {
            board.ask("power 0");
            board.run(SECOND, WARM);
            board.chip.store_settings(&stored()).expect("stored");
            board.chip.contact(contact).expect("made so");
            feed.begin(&mut board);
            board.forget();
            board.start();
            board.run(within * SECOND, WARM);
            assert!(board.said(told), "{feed:?} {contact:?}: {:?}", board.lines);
        }
    }
}

#[test]
fn a_load_that_loses_its_voltage_is_stopped_within_two_passes_on_any_grid() {
    let mut board = Watched::with(Some(&stored()));
    let (mut stopped, mut slowest) = (0, 0.0_f64);
    for (place, (feed, _)) in feeds().step_by(3).enumerate() {
        board.ask("power 0");
        board.chip.contact(ContactIs::Sound).expect("made so");
        feed.begin(&mut board);
        board.start();
        // Somewhere between two passes.
        board.run(23 * SECOND + place as u64 * 7_919 % 100_000, WARM);
        assert!(board.driven, "{feed:?}: {:?}", board.lines);
        board.chip.contact(ContactIs::Burnt).expect("made so");
        let lost = board.chip.now_us();
        board.run(SECOND, WARM);
        let (opened, closed) = *board.movements.last().expect("a movement");
        assert!(
            !closed && board.said("load lost its voltage"),
            "{feed:?}: {:?}",
            board.lines
        );
        slowest = slowest.max(opened - lost);
        stopped += 1;
        // It comes back at once, and the load has to rest all the same.
        board.chip.contact(ContactIs::Sound).expect("made so");
        board.run(19 * SECOND, WARM);
        assert!(!board.driven, "{feed:?}: {:?}", board.lines);
        board.forget();
    }
    eprintln!(
        "{stopped} times stopped, {:.0} ms after the loss at most",
        slowest / 1e3
    );
    assert!(stopped > 30 && slowest <= 210e3, "{stopped} {slowest}");
}

#[test]
fn noise_at_the_feedback_keeps_nothing_from_its_pass() {
    let mut board = Watched::with(Some(&stored()));
    board.start();
    board.run(25 * SECOND, WARM);
    board.ask("unfed");
    board.ask("waves 50000 10");
    board.run(10 * SECOND, WARM);
    let unfed: f64 = board.ask("unfed").parse().expect("microseconds");
    assert!(board.driven && board.resets == 0, "{:?}", board.lines);
    assert!(unfed < 0.2e6, "{unfed}");
    assert!(!accused(&board), "{:?}", board.lines);
}
