//! The table of readings: what the trade knows of it, and that its three forms agree.

use hysteron_installation::Installation;
use hysteron_installation::arrangements::{ARRANGEMENTS, named};
use hysteron_installation::file;
use hysteron_installation::part::Kind;
use hysteron_installation::readings::{Probing, Readings};
use hysteron_installation::terminal::{Ordinal, Pole, Role};
use hysteron_source::text::SourceText;
use hysteron_tests::wiring::read;

fn tables() -> Vec<(&'static str, Installation, Readings)> {
    ARRANGEMENTS
        .iter()
        .map(|arrangement| {
            let source = SourceText::new(arrangement.name, arrangement.text).expect("short");
            let installation = file::read(&source).expect("ships");
            let readings = Readings::of(&installation);
            (arrangement.name, installation, readings)
        })
        .collect()
}

fn column(readings: &Readings, name: &str) -> usize {
    let mut situations = readings.situations.iter();
    situations
        .position(|situation| situation.name == name)
        .unwrap_or_else(|| panic!("no situation {name}"))
}

/// Common practice: full voltage across an open contact in series with a load, none across a
/// closed one, and the load's rated voltage across the load.
#[test]
fn contacts_and_loads_read_as_the_trade_knows() {
    let mut contacts = 0;
    let mut loads = 0;
    for (name, installation, readings) in tables() {
        let (satisfied, calling) = (column(&readings, "satisfied"), column(&readings, "calling"));
        for reading in &readings.rows {
            let Probing::Between(one, other) = reading.probing else {
                continue;
            };
            let (part, role) = installation.terminal(one);
            let (_, to) = installation.terminal(other);
            if role == Role::RelayCommon && to == Role::NormallyOpen {
                let control = installation
                    .part(part)
                    .kind
                    .as_control()
                    .expect("a control");
                let supply_v = if control.taps[0].rated_v() < 100.0 {
                    24.0
                } else if name.ends_with("120") {
                    120.0
                } else if name.ends_with("208") {
                    208.0
                } else {
                    240.0
                };
                let open = reading.volts[satisfied];
                assert!((open / supply_v - 1.0).abs() < 0.06, "{name}: {open} V");
                assert!(reading.volts[calling] < 0.25, "{name}");
                contacts += 1;
            }
            if let Some(rated_v) = installation.part(part).kind.rated_v()
                && role == Role::Line(Pole::Nth(Ordinal::FIRST))
                && !matches!(
                    installation.part(part).kind,
                    Kind::Lamp(_) | Kind::Contactor(_)
                )
            {
                let shown = reading.volts[calling];
                assert!((shown / rated_v - 1.0).abs() < 0.05, "{name}: {shown} V");
                loads += 1;
            }
        }
    }
    assert_eq!(contacts, ARRANGEMENTS.len());
    assert!(loads > 12, "{loads}");
}

/// Common practice: what a blown fuse or a tripped breaker is found by.
#[test]
fn an_open_fuse_reads_the_supply_and_what_lies_behind_it_is_dead() {
    let mut fuses = 0;
    for (name, installation, readings) in tables() {
        for (number, situation) in readings.situations.iter().enumerate() {
            let Some(fuse) = situation.name.strip_suffix(" open") else {
                continue;
            };
            let fuse = installation.part_named(fuse).expect("a part");
            for reading in &readings.rows {
                let Probing::Between(one, _) = reading.probing else {
                    continue;
                };
                let of_fuse = installation.terminal(one).0 == fuse;
                let volts = reading.volts[number];
                let least = if name == "contactor-24" { 20.0 } else { 100.0 };
                assert!(!of_fuse || volts > least, "{name}: {volts}");
                fuses += usize::from(of_fuse);
            }
        }
    }
    assert!(fuses > 10, "{fuses}");
}

#[test]
fn a_dead_board_and_a_probe_fault_read_as_satisfied() {
    for (name, _, readings) in tables() {
        let satisfied = column(&readings, "satisfied");
        for other in ["dead board", "probe fault"] {
            let other = column(&readings, other);
            for reading in &readings.rows {
                let apart = (reading.volts[satisfied] - reading.volts[other]).abs();
                assert!(apart < 1e-9, "{name}");
            }
        }
    }
}

#[test]
fn text_csv_and_html_hold_the_same_readings() {
    for (_, installation, readings) in tables() {
        let rows = readings.rows.len();
        let columns = readings.situations.len();
        let csv = readings.as_csv(&installation);
        assert_eq!(csv.lines().count(), rows + 1);
        for (line, reading) in csv.lines().skip(1).zip(&readings.rows) {
            let fields: Vec<&str> = line.split(',').collect();
            assert_eq!(fields.len(), columns + 2);
            for (field, volts) in fields[2..].iter().zip(&reading.volts) {
                let written: f64 = field.parse().expect("a number");
                assert!((written - volts).abs() <= 0.005 + 1e-9);
            }
        }
        let html = readings.as_html(&installation);
        assert_eq!(html.matches("<tr>").count(), rows + 1);
        let live = html.matches("<td class=\"number live\">").count();
        let numbers = html.matches("<td class=\"number\">").count();
        assert_eq!(live + numbers, rows * columns);
        let volts = readings.rows.iter().flat_map(|reading| &reading.volts);
        assert_eq!(live, volts.filter(|volts| **volts >= 15.0).count());
        assert!(live > 0);
        let text = readings.as_text(&installation);
        for reading in &readings.rows {
            let words = reading.probing.words(&installation);
            let line = text
                .lines()
                .find(|line| line.starts_with(&words))
                .expect("a row");
            let last = reading.volts.last().expect("a column");
            assert!(line.ends_with(&format!("{last:.1}")), "{line}");
        }
    }
}

/// A second compressor on a low-pressure control of its own feels the same suction pressure.
#[test]
fn every_low_pressure_control_pumps_down() {
    let sound = named("pump-down-120").expect("ships").text;
    let (_, rest) = sound.split_once("[part.low-pressure-control]").expect("it");
    let (second, _) = rest.split_once("[part.condenser-fan]").expect("a fan");
    let second = format!("[part.low-pressure-control]{second}")
        .replace("part.low-pressure-control", "part.low-pressure-control-2")
        .replace("[part.compressor]", "[part.compressor-2]");
    let wires = r#"[wire]
p = { from = "high-pressure-control.load", to = "low-pressure-control-2.line", gauge_awg = 10, length_m = 1 }
q = { from = "low-pressure-control-2.load", to = "compressor-2.line1", gauge_awg = 10, length_m = 1 }
r = { from = "supply.neutral", to = "compressor-2.line2", gauge_awg = 10, length_m = 14 }
s = { from = "supply.ground", to = "compressor-2.frame", gauge_awg = 10, length_m = 14 }
"#;
    let text = sound.replace("[wire]\n", &format!("{second}{wires}"));
    let installation = read("two compressors", &text);
    let readings = Readings::of(&installation);
    let (satisfied, calling) = (column(&readings, "satisfied"), column(&readings, "calling"));
    for compressor in ["compressor", "compressor-2"] {
        let end = |role| installation.terminal_named(&format!("{compressor}.{role}"));
        let (one, other) = (end("line1").expect("an end"), end("line2").expect("an end"));
        let across = Probing::Between(one, other);
        let mut rows = readings.rows.iter();
        let row = rows.find(|reading| reading.probing == across);
        let volts = &row.expect("a row").volts;
        assert!(volts[satisfied] < 1.0, "{compressor}: {volts:?}");
        assert!(volts[calling] > 110.0, "{compressor}: {volts:?}");
    }
    let remark = &readings.situations[satisfied].remark;
    assert!(
        remark.contains("the low-pressure controls have opened"),
        "{remark}"
    );
}
