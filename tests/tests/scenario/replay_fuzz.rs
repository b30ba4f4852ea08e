//! Whatever a recording holds, it is replayed or refused with its line; nothing ends in a panic.

use hysteron_bench::recording::{Recording, RecordingFormat, TimeFormat, Unreadable, ValueUnit};
use hysteron_bench::replay::{for_recordings, replay};
use hysteron_logic::settings::Settings;
use hysteron_logic::time::Duration;
use proptest::prelude::*;
use proptest::test_runner::TestRunner;

/// What a person says of a recording.
#[derive(Debug, Clone)]
struct Said {
    unit: Option<ValueUnit>,
    time_format: Option<TimeFormat>,
    unreadable: Unreadable,
}

fn said() -> impl Strategy<Value = Said> {
    let formats = [
        "%d/%m/%Y %H:%M",
        "%m/%d/%y %I:%M %p",
        "%Y-%m-%d %H:%M:%S %z",
        "%s",
    ];
    let formats = formats.map(|format| format.parse::<TimeFormat>().expect("a format"));
    (
        prop::sample::select(vec![None, Some(ValueUnit::Celsius), Some(ValueUnit::Ohm)]),
        prop_oneof![
            3 => Just(None),
            1 => prop::sample::select(formats.to_vec()).prop_map(Some),
        ],
        prop::sample::select(vec![Unreadable::LeftOut, Unreadable::Refused]),
    )
        .prop_map(|(unit, time_format, unreadable)| Said {
            unit,
            time_format,
            unreadable,
        })
}

fn outcome(bytes: &[u8], said: Said) -> Result<u64, String> {
    let reading = RecordingFormat {
        time: None,
        value: None,
        unit: said.unit,
        time_format: said.time_format,
        longest_gap: Duration::from_hours(1),
        unreadable: said.unreadable,
    };
    let settings = for_recordings(&Settings::DEFAULT).expect("settings");
    let shown = |rejected: hysteron_source::text::Rejected| rejected.to_string();
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
        1 => (-60.0..130.0_f64, prop::sample::select(vec![" °C", "°F", " kΩ", "\u{ba}C", " K"]))
            .prop_map(|(value, unit)| format!("{value:.1}{unit}")),
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

/// A moment of one night in the way of one logger, by its minute.
fn moment(way: usize, minute: u32) -> String {
    let (day, hour, minute) = (25 + minute / 1_440, minute / 60 % 24, minute % 60);
    let (short, half) = ((hour + 11) % 12 + 1, if hour < 12 { "AM" } else { "PM" });
    match way {
        0 => format!("{day}.10.2025 {hour:02}:{minute:02}"),
        1 => format!("10/{day}/2025 {short}:{minute:02}:00 {half}"),
        2 => format!("{day}/10/2025;{hour:02}:{minute:02}"),
        3 => format!("2025/10/{day}\t{short}:{minute:02}{half}"),
        4 => format!(
            "0{}/0{}/2025 {hour:02}:{minute:02}",
            day % 9 + 1,
            1 + minute % 9
        ),
        _ => format!("2025-10-{day} {hour}:{minute}"),
    }
}

/// What loggers write: lines about themselves, a heading, and rows in one way.
fn logger() -> impl Strategy<Value = String> {
    let preamble = prop::collection::vec(
        prop_oneof!["\\PC{0,20}", "[A-Z][a-z]{2,8}[,;\t][A-Z0-9.:/ ]{1,12}"],
        0..4,
    );
    let heading = prop::sample::select(vec![
        "time;box °C",
        "Date;Time;Box",
        "Zeit\tWert",
        "Time,Box °F,Box °F",
        "",
        "#,time,°C",
    ]);
    let rows = prop::collection::vec((0..3_000_u32, cell()), 0..12);
    let separator = prop::sample::select(vec![";", "\t", ","]);
    (
        preamble,
        heading,
        0..6_usize,
        rows,
        separator,
        any::<bool>(),
    )
        .prop_map(|(mut lines, heading, way, mut rows, separator, sorted)| {
            if sorted {
                rows.sort_by_key(|(minute, _)| *minute);
            }
            lines.push(heading.to_owned());
            let rows = rows.into_iter();
            lines.extend(rows.map(|(minute, cell)| moment(way, minute) + separator + &cell));
            lines.join("\r\n")
        })
}

/// A text in letters of some kind.
fn letters(text: String, kind: usize) -> Vec<u8> {
    let utf16 = |mark: &str| -> Vec<u16> { format!("{mark}{text}").encode_utf16().collect() };
    match kind {
        0 => text.chars().map(|c| c as u8).collect(),
        1 => utf16("").into_iter().flat_map(u16::to_le_bytes).collect(),
        2 => utf16("\u{feff}")
            .into_iter()
            .flat_map(u16::to_be_bytes)
            .collect(),
        _ => text.into_bytes(),
    }
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
        6 => (logger(), 0..6_usize).prop_map(|(text, kind)| letters(text, kind)),
        1 => prop::collection::vec(any::<u8>(), 0..400),
    ];
    let (mut replayed, mut refused) = (0, 0);
    let mut runner = TestRunner::default();
    let seen = std::cell::RefCell::new((&mut replayed, &mut refused));
    runner
        .run(&(inputs, said()), |(bytes, said)| {
            let mut seen = seen.borrow_mut();
            match outcome(&bytes, said) {
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

/// Every way of [`moment`] in all letters, sound, is read; none would be if its form were unknown.
#[test]
fn every_sound_form_is_replayed() {
    for (way, heading) in [
        (0, "time;box °C"),
        (1, "time;box °C"),
        (2, "Date;Time;box °C"),
        (3, "Date\tTime\tbox °C"),
        (5, "time;box °C"),
    ] {
        let separator = if heading.contains('\t') { "\t" } else { ";" };
        let rows = (0..90).map(|minute| format!("{}{separator}3,5\n", moment(way, 1_400 + minute)));
        let text = format!("Logger 7\n{heading}\n{}", rows.collect::<String>());
        for kind in 0..4 {
            let said = Said {
                unit: None,
                time_format: None,
                unreadable: Unreadable::Refused,
            };
            let rows = outcome(&letters(text.clone(), kind), said);
            assert_eq!(rows, Ok(90), "way {way}, letters {kind}");
        }
    }
}
