//! Records of earlier layouts are still read: the bytes are kept in `data/records`.

use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::SearchPaths;
use hysteron_firmware::board::scripted::Bench;
use hysteron_firmware::memory::{Memory, Outgoing};
use hysteron_firmware::persistence::Persistence;
use hysteron_firmware::{journal, store};
use hysteron_logic::codec::{retained_from_bytes, settings_from_bytes};
use hysteron_logic::control::{Retained, Switch};
use hysteron_logic::counters::Totals;
use hysteron_logic::lockout::Cause;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::Duration;
use hysteron_source::text::SourceText;
use serde::Deserialize;

#[derive(Deserialize)]
struct Layout {
    settings: Vec<KeptSettings>,
    retained: KeptState,
}

#[derive(Deserialize)]
struct KeptSettings {
    name: String,
    control: String,
    record: String,
    slot: String,
}

#[derive(Deserialize)]
struct KeptState {
    switch: String,
    lockout: String,
    starts: u32,
    run_ms: u64,
    longest_run_ms: u64,
    starts_ago_ms: Vec<u64>,
    record: String,
    journal: String,
}

fn layout_1() -> Layout {
    toml::from_str(include_str!("../../data/records/layout_1.toml")).expect("a layout")
}

fn bytes(lines: &str) -> Vec<u8> {
    let digits: String = lines.lines().collect();
    assert!(!digits.is_empty() && digits.len().is_multiple_of(2));
    (0..digits.len())
        .step_by(2)
        .map(|at| u8::from_str_radix(&digits[at..at + 2], 16).expect("hexadecimal digits"))
        .collect()
}

fn settings(control: &str) -> Settings {
    let text = format!(
        "title = \"x\"\nduration = \"1 d\"\nplant = {{ kind = \"first order\" }}\n[control]\n{control}"
    );
    let source = SourceText::new("record.toml", text).expect("short");
    let plan = Plan::read(&source, &SearchPaths::default());
    plan.unwrap_or_else(|rejected| panic!("{rejected}")).cases[0].settings
}

/// What is in force where a record holds a limit that was acceptable at its time only.
fn narrowed(control: &str) -> String {
    control.replace(
        "highest_setpoint = \"105 °C\"",
        "highest_setpoint = \"100 °C\"",
    )
}

fn state(kept: &KeptState) -> Retained {
    Retained {
        switch: match kept.switch.as_str() {
            "on" => Switch::On,
            "off" => Switch::Off,
            other => panic!("no switch stands at {other}"),
        },
        lockout: match kept.lockout.as_str() {
            "none" => None,
            "welded contact" => Some(Cause::WeldedContact),
            other => panic!("nothing is locked out by {other}"),
        },
        totals: Totals {
            starts: kept.starts,
            run: Duration::from_millis(kept.run_ms),
            longest_run: Duration::from_millis(kept.longest_run_ms),
        },
        recent_starts: kept
            .starts_ago_ms
            .iter()
            .map(|&ago| Duration::from_millis(ago))
            .collect(),
    }
}

/// What a board reads at power-up from a memory that holds these bytes.
fn read_by_a_board(slot: &[u8], journal: &[u8]) -> (Settings, Retained) {
    let bench = Bench::default();
    bench.load(store::SLOTS[0], slot);
    // Record number 64 stands where the ring begins.
    bench.load(journal::START, journal);
    let ports = bench.ports();
    let mut outgoing = Outgoing::nothing();
    let mut persistence = Persistence::new(Memory::new(ports.bus, ports.delay), &mut outgoing);
    let (mut settings, mut retained) = (Settings::DEFAULT, Retained::default());
    persistence.settings(&mut settings).expect("settings");
    persistence.retained(&mut retained);
    (settings, retained)
}

#[test]
fn records_of_the_first_layout_are_read() {
    let layout = layout_1();
    let state = state(&layout.retained);
    let retained = retained_from_bytes(&bytes(&layout.retained.record));
    assert_eq!(retained, Ok(state.clone()));
    assert_eq!(layout.settings.len(), 3);
    for kept in &layout.settings {
        let settings = settings(&narrowed(&kept.control));
        let read = settings_from_bytes(&bytes(&kept.record));
        assert_eq!(read, Ok(settings), "{}", kept.name);
        let board = read_by_a_board(&bytes(&kept.slot), &bytes(&layout.retained.journal));
        assert_eq!(board, (settings, state.clone()), "{}", kept.name);
    }
}
