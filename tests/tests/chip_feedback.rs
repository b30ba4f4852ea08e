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
        for (contact, told) in [
            (ContactIs::Burnt, "contact burnt"),
            (ContactIs::Welded, "contact welded"),
        ] {
            board.ask("power 0");
            board.run(SECOND, WARM);
            board.chip.store_settings(&stored()).expect("stored");
            board.chip.contact(contact).expect("made so");
            feed.begin(&mut board);
            board.forget();
            board.start();
            board.run(30 * SECOND, WARM);
            assert!(board.said(told), "{feed:?} {contact:?}: {:?}", board.lines);
        }
    }
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
