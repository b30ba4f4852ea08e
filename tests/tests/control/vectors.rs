//! The control's test vectors: made here, run again on other processors.
//!
//! `UPDATE_VECTORS=1 cargo test -p hysteron-tests --test control vectors` writes
//! them anew after a deliberate change of the control.

use hysteron_logic::control::{Control, Input, Retained, StoredSettings};
use hysteron_logic::divider::Counts;
use hysteron_logic::guard::Relay;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::Instant;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

const VECTORS: &str = include_str!("../../data/chip/vectors.csv");

/// Passes of a tenth of a second, and what sixteen conversions add up to.
fn inputs() -> Vec<(u32, u16)> {
    // Type II and a 10 kΩ resistor: 51,000 is near −1 °C, 46,500 near 6 °C.
    let readings = (1_u32..=4_000, 46_500_u16..=51_500);
    let faults = prop_oneof![Just(65_520_u16), Just(0_u16), 0_u16..=65_520];
    let input = prop_oneof![
        36 => readings,
        2 => (1_u32..=100, faults.clone()),
        1 => (100_u32..=1_000, faults),
    ];
    let inputs = prop::collection::vec(input, 300);
    inputs
        .new_tree(&mut TestRunner::deterministic())
        .expect("inputs")
        .current()
}

fn made_here() -> String {
    let mut control = Control::at_power_up(
        StoredSettings::Whole(Settings::DEFAULT),
        &Retained::default(),
    );
    let mut text = String::from(
        "# source: the control of this project on a 64-bit host, default settings, a pass every 100 ms\n\
         passes,sum,relay at the end,reason at the end,movements\n",
    );
    let (mut pass, mut relay) = (0_u64, Relay::Open);
    for (passes, sum) in inputs() {
        let (mut movements, mut reason) = (0, "");
        for _ in 0..passes {
            pass += 1;
            let input = Input::sampled(Sample::Counts(Counts::from_oversampled(sum)));
            let decision = control.step(Instant::from_millis(pass * 100), &input);
            movements += u32::from(decision.relay != relay);
            relay = decision.relay;
            reason = decision.reason.text();
        }
        let stands = match relay {
            Relay::Open => "open",
            Relay::Closed => "closed",
        };
        text += &format!("{passes},{sum},{stands},{reason},{movements}\n");
    }
    text
}

#[test]
fn the_vectors_are_those_of_this_control() {
    let made = made_here();
    if std::env::var_os("UPDATE_VECTORS").is_some() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/data/chip/vectors.csv");
        std::fs::write(path, &made).expect("the vectors are written");
        return;
    }
    let closed = made
        .lines()
        .filter(|line| line.contains(",closed,"))
        .count();
    assert!(closed > 10, "closed at the end of {closed} only");
    assert!(
        made == VECTORS,
        "the control decides otherwise; if that is meant, write the vectors anew: see the head of this file"
    );
}
