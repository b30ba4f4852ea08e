//! Whatever a recording holds, it is replayed or refused with its line; nothing ends in a panic.

use hysteron::recording::{Reading, Recording, Unreadable, ValueUnit};
use hysteron::replay::{for_recordings, replay};
use hysteron_logic::settings::Settings;
use hysteron_logic::time::Duration;
use proptest::prelude::*;
use proptest::test_runner::TestRunner;

fn outcome(bytes: &[u8], unit: Option<ValueUnit>, unreadable: Unreadable) -> Result<u64, String> {
    let reading = Reading {
        time: None,
        value: None,
        unit,
        longest_gap: Duration::from_hours(1),
        unreadable,
    };
    let settings = for_recordings(&Settings::DEFAULT).expect("settings");
    let shown = |rejected: hysteron::source_text::Rejected| rejected.to_string();
    let mut recording = Recording::open("fuzz.csv", bytes, reading).map_err(shown)?;
    let replayed = replay(&settings, &mut recording).map_err(shown)?;
    Ok(replayed.rows)
}

/// A cell that is right, nearly right, or nonsense.
fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        6 => (-60.0..130.0_f64).prop_map(|value| format!("{value:.2}")),
        1 => any::<f64>().prop_map(|value| value.to_string()),
        1 => any::<i64>().prop_map(|value| value.to_string()),
        1 => prop::sample::select(vec!["", "open", "shorted", "nan", "\"", "1e999", "-0", "4,5", "0x1p3"])
            .prop_map(str::to_owned),
        1 => "\\PC{0,12}",
    ]
}

fn time() -> impl Strategy<Value = String> {
    prop_oneof![
        6 => (0..4_000_u32).prop_map(|seconds| seconds.to_string()),
        1 => "20[0-9]{2}-[01][0-9]-[0-3][0-9][ T][0-2][0-9]:[0-5][0-9](:[0-6][0-9])?(Z|[+-]0[0-9]:00)?",
        1 => cell(),
    ]
}

fn recording() -> impl Strategy<Value = Vec<u8>> {
    let line = (
        time(),
        prop::sample::select(vec![",", ";", "\t", ""]),
        cell(),
    );
    let lines = prop::collection::vec(line, 0..12).prop_map(|mut lines| {
        lines.sort_by_key(|(time, _, _)| time.parse::<u32>().unwrap_or(0));
        lines
    });
    let heading = prop::sample::select(vec!["time,°C", "t;ohm", "", "s\t°F", "\u{feff}time,kΩ"]);
    (heading, lines).prop_map(|(heading, lines)| {
        let lines: Vec<String> = lines
            .into_iter()
            .map(|(time, separator, value)| format!("{time}{separator}{value}"))
            .collect();
        format!("{heading}\n{}", lines.join("\n")).into_bytes()
    })
}

#[test]
fn no_recording_ends_in_a_panic() {
    let inputs = prop_oneof![
        4 => recording(),
        1 => prop::collection::vec(any::<u8>(), 0..400),
    ];
    let units = prop::sample::select(vec![None, Some(ValueUnit::Celsius), Some(ValueUnit::Ohm)]);
    let (mut replayed, mut refused) = (0, 0);
    let mut runner = TestRunner::default();
    let seen = std::cell::RefCell::new((&mut replayed, &mut refused));
    runner
        .run(&(inputs, units, any::<bool>()), |(bytes, unit, skips)| {
            let unreadable = if skips {
                Unreadable::LeftOut
            } else {
                Unreadable::Refused
            };
            let mut seen = seen.borrow_mut();
            match outcome(&bytes, unit, unreadable) {
                Ok(_) => *seen.0 += 1,
                Err(shown) => {
                    prop_assert!(shown.contains("fuzz.csv"), "{}", shown);
                    *seen.1 += 1;
                }
            }
            Ok(())
        })
        .expect("no panic");
    assert!(replayed > 0, "nothing was ever replayed");
    assert!(refused > 0, "nothing was ever refused");
}
