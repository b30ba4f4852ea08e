//! No input of any kind makes the reading of a scenario panic, hang or answer without a place.

use std::cell::Cell;

use hysteron_bench::scenario::bundled::BUNDLED;
use hysteron_bench::scenario::edit::{Edit, edited};
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::SearchPaths;
use hysteron_source::text::SourceText;
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

const SOUND: &str = include_str!("../../data/scenarios/sound.toml");

/// Pieces that mean something to the grammar, to the reader of quantities or to the schedule.
const PIECES: &[&str] = &[
    "=",
    "\"",
    "'",
    "\"\"\"",
    "[",
    "]",
    "[[",
    "]]",
    "{",
    "}",
    ",",
    ".",
    "#",
    "\n",
    "\r\n",
    "\\",
    "\\u0000",
    "\u{0}",
    "\u{feff}",
    "°",
    "\u{2212}",
    "999999999999999999999",
    "-1",
    "0",
    "1e999",
    "nan",
    "inf",
    "true",
    "1979-05-27",
    "\"0 s\"",
    "\"10 years\"",
    "\"24 h\"",
    "\"00:00\"",
    "\"day 3660 24:00\"",
    "\"1 ms\"",
    "\"-300 °C\"",
    "\"1 K\"",
    "\"100 %\"",
    "each_day = true\n",
    "every = \"1 s\"\n",
    "for = \"1 s\"\n",
    "until = \"24:00\"\n",
    "step = \"10 ms\"\n",
    "duration = \"3650 d\"\n",
    "mode = \"heat\"\n",
    "what = \"power is cut\"\n",
    "what = \"probe recovers\"\n",
    "what = \"settings change\"\n",
    "[[happening]]\n",
    "[[variant]]\n",
    "[[expect]]\n",
    "[control]\n",
    "[plant]\n",
    "kind = \"first order\"\n",
    "kind = \"room\"\n",
    "settings = {}\n",
    "at_most = 0\n",
    "count = \"duty\"\n",
    "order = []\n",
];

/// What became of the inputs: refused, or taken for a scenario.
#[derive(Default)]
struct Reached {
    refused: Cell<u32>,
    accepted: Cell<u32>,
}

impl Reached {
    fn read(&self, bytes: Vec<u8>) -> Result<(), TestCaseError> {
        let search_paths = SearchPaths {
            weather: Some("year.epw".into()),
            ..SearchPaths::default()
        };
        let plan = SourceText::from_bytes("fuzz.toml", bytes)
            .and_then(|source| Plan::read(&source, &search_paths));
        match plan {
            Ok(plan) => {
                self.accepted.set(self.accepted.get() + 1);
                let ordered = |case: &hysteron_bench::scenario::plan::Case| {
                    case.timeline.edges().is_sorted_by_key(|edge| edge.at)
                };
                prop_assert!(plan.cases.iter().all(ordered), "happenings out of order");
                let limit = plan.duration;
                let late = |case: &hysteron_bench::scenario::plan::Case| {
                    case.timeline.edges().any(|edge| edge.at > limit)
                };
                prop_assert!(
                    !plan.cases.iter().any(late),
                    "something happens after the end"
                );
            }
            Err(rejected) => {
                self.refused.set(self.refused.get() + 1);
                prop_assert!(!rejected.problems().is_empty(), "refused without a reason");
                let shown = rejected.to_string();
                prop_assert!(shown.contains("fuzz.toml"), "no place in {shown}");
                prop_assert!(!shown.contains('\u{1b}'), "escapes in {shown}");
                prop_assert!(rejected.styled().len() >= shown.len());
            }
        }
        Ok(())
    }
}

fn run<S: Strategy>(cases: u32, strategy: S, test: impl Fn(S::Value) -> Result<(), TestCaseError>) {
    let config = Config {
        cases,
        ..Config::default()
    };
    if let Err(failure) = TestRunner::new(config).run(&strategy, test) {
        panic!("{failure}");
    }
}

/// One of the scenarios that are known to be sound.
fn sound() -> impl Strategy<Value = &'static str> {
    let texts: Vec<&str> = BUNDLED
        .iter()
        .map(|bundled| bundled.text)
        .chain([SOUND])
        .collect();
    prop::sample::select(texts)
}

/// Cuts, repeats and pieces put in, at places given as shares of the text.
fn mutated() -> impl Strategy<Value = Vec<u8>> {
    let change = (
        0.0..1.0_f64,
        0_usize..60,
        prop::sample::select(PIECES.to_vec()),
        0_u8..5,
    );
    (sound(), prop::collection::vec(change, 1..6)).prop_map(|(text, changes)| {
        let mut bytes = text.as_bytes().to_vec();
        for (share, length, piece, kind) in changes {
            let start = (share * bytes.len() as f64) as usize;
            let end = (start + length).min(bytes.len());
            match kind {
                0 => drop(bytes.drain(start..end)),
                1 => drop(bytes.splice(start..end, piece.bytes())),
                2 => {
                    let copy = bytes[start..end].to_vec();
                    drop(bytes.splice(end..end, copy));
                }
                3 => {
                    let line = bytes[..start]
                        .iter()
                        .rposition(|&b| b == b'\n')
                        .map_or(0, |place| place + 1);
                    drop(bytes.splice(line..line, piece.bytes()));
                }
                _ => {
                    let flipped = bytes.get(start).map(|byte| byte ^ (1 << (length % 8)));
                    if let (Some(slot), Some(flipped)) = (bytes.get_mut(start), flipped) {
                        *slot = flipped;
                    }
                }
            }
        }
        bytes
    })
}

#[test]
fn random_bytes_are_refused_without_panic() {
    let reached = Reached::default();
    run(
        2_000,
        prop::collection::vec(any::<u8>(), 0..2_000),
        |bytes| reached.read(bytes),
    );
    run(2_000, "\\PC{0,400}", |text| reached.read(text.into_bytes()));
    assert!(
        reached.refused.get() >= 3_900,
        "{} refused",
        reached.refused.get()
    );
}

#[test]
fn pieces_in_any_order_are_read_without_panic() {
    let reached = Reached::default();
    let pieces = prop::collection::vec(prop::sample::select(PIECES.to_vec()), 0..80);
    run(3_000, pieces, |pieces| {
        reached.read(pieces.concat().into_bytes())
    });
    assert!(
        reached.refused.get() >= 2_900,
        "{} refused",
        reached.refused.get()
    );
}

#[test]
fn mutations_of_sound_scenarios_are_read_without_panic() {
    let reached = Reached::default();
    run(3_000, mutated(), |bytes| reached.read(bytes));
    let (refused, accepted) = (reached.refused.get(), reached.accepted.get());
    assert!(
        refused > 500,
        "only {refused} of 3000 mutations were refused"
    );
    assert!(
        accepted > 50,
        "only {accepted} of 3000 mutations were still scenarios"
    );
}

#[test]
fn any_edit_gives_a_document_or_a_reason() {
    let (made, refused) = (Cell::new(0_u32), Cell::new(0_u32));
    let part = prop::sample::select(vec![
        "control",
        "setpoint",
        "happening",
        "expect",
        "variant",
        "settings",
        "order",
        "1",
        "2",
        "0",
        "seed",
        "title",
        "plant",
        "",
        "x y",
        "°",
    ]);
    let edit = (
        prop::collection::vec(part, 0..5),
        prop::sample::select(PIECES.to_vec()),
        any::<bool>(),
    );
    run(
        2_000,
        (sound(), prop::collection::vec(edit, 1..4)),
        |(text, edits)| {
            let edits: Vec<Edit> = edits
                .into_iter()
                .map(|(parts, piece, sets)| {
                    let path = parts.join(".");
                    if sets {
                        Edit::Set {
                            path,
                            value: piece.to_owned(),
                        }
                    } else {
                        Edit::Remove { path }
                    }
                })
                .collect();
            match edited(text, &edits) {
                Ok(text) => {
                    made.set(made.get() + 1);
                    prop_assert!(
                        text.parse::<toml::Table>().is_ok(),
                        "no longer TOML:\n{text}"
                    );
                }
                Err(reason) => {
                    refused.set(refused.get() + 1);
                    prop_assert!(!reason.to_string().is_empty());
                }
            }
            Ok(())
        },
    );
    assert!(made.get() > 100, "only {} edits were made", made.get());
    assert!(
        refused.get() > 100,
        "only {} edits were refused",
        refused.get()
    );
}
