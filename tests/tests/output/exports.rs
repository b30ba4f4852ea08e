//! Exports, read back by readers that know nothing of the writers.

use std::collections::BTreeMap;

use hysteron_bench::record::runs::Fed;
use hysteron_bench::record::verdict::Outcome;
use hysteron_tests::sample_run::{SAMPLE, run};
use hysteron_view::export;
use hysteron_view::report::view::CaseView;
use quick_xml::events::Event;

const LEAKING: &str = r#"
title = "A cooler whose valve leaks"
duration = "6 h"
[plant]
kind = "refrigerated box"
[plant.pump_down]
valve_leak = "1 %"
[control]
mode = "cool"
setpoint = "2 °C"
differential = "2 K"
"#;

#[test]
fn a_table_agrees_with_the_trace() {
    let (_, runs) = run(SAMPLE);
    let mut bytes = Vec::new();
    export::csv::write(&runs, &mut bytes).expect("a vector takes everything");
    let mut reader = csv::Reader::from_reader(&bytes[..]);
    let header = reader.headers().expect("a header").clone();
    let place = |name: &str| {
        let place = header.iter().position(|column| column == name);
        place.unwrap_or_else(|| panic!("no column {name} in {header:?}"))
    };
    let (case, at, highest) = (
        place("case"),
        place("elapsed_s"),
        place("reference_temperature_highest_c"),
    );
    let (fed, reading) = (place("load_fed"), place("probe_reading_lowest_c"));
    let mut seen: BTreeMap<String, (f64, f64, f64, u32)> = BTreeMap::new();
    for record in reader.records() {
        let record = record.expect("every row has as many fields as the header");
        let number = |at: usize| record[at].parse::<f64>().expect("a number");
        let told = seen
            .entry(record[case].to_owned())
            .or_insert((0.0, f64::MIN, 0.0, 0));
        told.0 = number(at);
        told.1 = told.1.max(number(highest));
        told.2 += number(fed);
        told.3 += u32::from(record[reading].is_empty());
    }
    assert_eq!(seen.len(), 2);
    for run in &runs {
        let trace = run.trace.as_ref().expect("traced");
        let (last_s, highest, fed, gaps) = seen[run.case.name.as_deref().expect("named")];
        let interval_s = trace.interval().millis() as f64 / 1e3;
        assert!((last_s - (21_600.0 - interval_s)).abs() < interval_s);
        let series = &trace.series()[2];
        let expected = series
            .buckets
            .iter()
            .map(|b| b.highest)
            .fold(f64::MIN, f64::max);
        assert!((highest - expected).abs() < 1e-4, "{highest} {expected}");
        let run_s = run.runs.run.millis() as f64 / 1e3;
        assert!(
            (fed * interval_s - run_s).abs() < interval_s,
            "{fed} {run_s}"
        );
        assert!(
            gaps > 100,
            "the probe was open for an hour, yet only {gaps} gaps"
        );
    }
}

#[test]
fn waveforms_agree_with_the_strip() {
    let (plan, runs) = run(SAMPLE);
    let mut bytes = Vec::new();
    export::vcd::write(&plan, &runs, &mut bytes).expect("a vector takes everything");
    let mut parser = vcd::Parser::new(&bytes[..]);
    let header = parser.parse_header().expect("a header");
    assert_eq!(header.timescale, Some((1, vcd::TimescaleUnit::MS)));
    let scope = |name: &str| ["bench".to_owned(), name.to_owned()];
    let names = ["case_1_open__as_ever", "case_2_closed"];
    let id = |case: &str, signal: &str| {
        let [bench, case] = scope(case);
        let path = [bench.as_str(), case.as_str(), signal];
        header
            .find_var(&path)
            .unwrap_or_else(|| panic!("no {path:?}"))
            .code
    };
    let signals = ["load", "power", "probe_fault"];
    let wires: Vec<Vec<_>> = names
        .iter()
        .map(|case| signals.iter().map(|signal| id(case, signal)).collect())
        .collect();
    let mut rises = vec![vec![0_u64; signals.len()]; names.len()];
    let (mut at, mut reals) = (0, 0_u64);
    for command in parser {
        let command = command.expect("well-formed");
        if let vcd::Command::Timestamp(now) = command {
            assert!(now >= at, "time goes back at {now}");
            at = now;
        } else if let vcd::Command::ChangeScalar(code, vcd::Value::V1) = command {
            for (case, wires) in wires.iter().enumerate() {
                if let Some(place) = wires.iter().position(|wire| *wire == code) {
                    rises[case][place] += 1;
                }
            }
        } else if let vcd::Command::ChangeReal(..) = command {
            reals += 1;
        }
    }
    assert_eq!(at, 6 * 3_600_000);
    assert!(reals > 1_000, "{reals}");
    for (run, rises) in runs.iter().zip(&rises) {
        // One power cut: the board has its power twice. One probe fault.
        assert_eq!(rises[..], [run.runs.starts, 2, 1], "{:?}", run.case.name);
    }
}

#[test]
fn structured_data_agrees_with_the_runs() {
    let (plan, runs) = run(SAMPLE);
    let mut bytes = Vec::new();
    export::json::write(&plan, &runs, &mut bytes).expect("a vector takes everything");
    let data: serde_json::Value = serde_json::from_slice(&bytes).expect("JSON");
    assert_eq!(data["format"], "hysteron run");
    assert_eq!(data["version"], export::json::VERSION);
    assert_eq!(data["title"], plan.title.as_str());
    assert_eq!(data["seed"], 11);
    assert_eq!(data["holds"], false);
    for (told, run) in data["cases"].as_array().expect("cases").iter().zip(&runs) {
        assert_eq!(told["load"]["starts"], run.runs.starts);
        let expectations = told["expectations"].as_array().expect("expectations");
        assert_eq!(expectations.len(), run.verdicts.len());
        for (told, verdict) in expectations.iter().zip(&run.verdicts) {
            let holds = verdict.outcome == Outcome::Holds;
            assert_eq!(told["outcome"] == "holds", holds);
            assert_eq!(told["line"], verdict.expectation.line);
        }
        let trace = run.trace.as_ref().expect("traced");
        let stretches = told["trace"]["stretches"].as_array().expect("stretches");
        assert_eq!(stretches.len(), trace.stretches().len());
        let fed = stretches
            .iter()
            .filter(|stretch| stretch["load"] == "fed")
            .count();
        let expected = trace
            .stretches()
            .iter()
            .filter(|s| s.feeds.load == Fed::Energised)
            .count();
        assert!(fed > 0 && fed == expected);
        let lowest = told["trace"]["series"][0]["lowest"]
            .as_array()
            .expect("values");
        assert!(
            lowest.iter().any(serde_json::Value::is_null),
            "the probe was open"
        );
        assert!(lowest.iter().any(serde_json::Value::is_f64));
    }
    insta::assert_json_snapshot!(data["cases"][0]["expectations"]);
}

/// A valve that leaks moves the compressor and not the relay; every export tells both.
#[test]
fn a_compressor_behind_a_pressure_control_is_exported_beside_the_load() {
    let (plan, runs) = run(LEAKING);
    let compressor = runs[0].compressor.expect("one behind a pressure control");
    assert!(
        compressor.starts > 3 * runs[0].runs.starts,
        "{compressor:?}"
    );
    let run_s = compressor.run.millis() as f64 / 1e3;

    let mut bytes = Vec::new();
    export::csv::write(&runs, &mut bytes).expect("a vector takes everything");
    let mut reader = csv::Reader::from_reader(&bytes[..]);
    let header = reader.headers().expect("a header").clone();
    let fed = header.iter().position(|name| name == "compressor_fed");
    let fed = fed.expect("the compressor's column");
    let shares = reader
        .records()
        .map(|record| record.expect("a row")[fed].parse::<f64>());
    let interval_s = runs[0].trace.as_ref().expect("traced").interval().millis() as f64 / 1e3;
    let told_s = interval_s * shares.map(|share| share.expect("a share")).sum::<f64>();
    assert!((told_s - run_s).abs() < 0.01 * run_s, "{told_s} {run_s}");

    let mut bytes = Vec::new();
    export::json::write(&plan, &runs, &mut bytes).expect("a vector takes everything");
    let data: serde_json::Value = serde_json::from_slice(&bytes).expect("JSON");
    let told = &data["cases"][0];
    assert_eq!(told["compressor"]["starts"], compressor.starts);
    let stretches = told["trace"]["stretches"].as_array().expect("stretches");
    assert!(
        stretches
            .iter()
            .any(|stretch| stretch["compressor"] == "fed")
    );

    let mut bytes = Vec::new();
    export::vcd::write(&plan, &runs, &mut bytes).expect("a vector takes everything");
    let mut parser = vcd::Parser::new(&bytes[..]);
    let header = parser.parse_header().expect("a header");
    let wire = header.find_var(&["bench", "case", "compressor"]);
    let wire = wire.expect("the compressor's wire").code;
    let risen = parser.filter(|command| {
        let command = command.as_ref().expect("a command");
        *command == vcd::Command::ChangeScalar(wire, vcd::Value::V1)
    });
    assert_eq!(risen.count() as u64, compressor.starts);
}

#[test]
fn a_test_report_counts_what_does_not_hold() {
    let (plan, runs) = run(SAMPLE);
    let mut bytes = Vec::new();
    export::junit::write(&plan, &runs, &mut bytes).expect("a vector takes everything");
    let text = String::from_utf8(bytes).expect("UTF-8");
    let mut reader = quick_xml::Reader::from_str(&text);
    let (mut cases, mut failures, mut suites) = (0, 0, 0);
    let mut title = None;
    loop {
        let event = reader.read_event().expect("well-formed XML");
        if event == Event::Eof {
            break;
        }
        let (Event::Start(tag) | Event::Empty(tag)) = event else {
            continue;
        };
        match tag.name().as_ref() {
            b"testcase" => cases += 1,
            b"failure" => failures += 1,
            b"testsuite" => suites += 1,
            b"testsuites" => {
                let name = tag.try_get_attribute("name").expect("attributes");
                title = name.map(|name| {
                    let escaped = String::from_utf8_lossy(&name.value).into_owned();
                    let plain = quick_xml::escape::unescape(&escaped).expect("escapes");
                    plain.into_owned()
                });
            }
            _ => {}
        }
    }
    let verdicts = || runs.iter().flat_map(|run| &run.verdicts);
    let failing = verdicts()
        .filter(|verdict| verdict.outcome != Outcome::Holds)
        .count();
    assert!(verdicts().any(|verdict| verdict.outcome == Outcome::Fails));
    assert!(verdicts().any(|verdict| verdict.outcome == Outcome::NeverReached));
    assert_eq!((suites, cases, failures), (2, verdicts().count(), failing));
    assert_eq!(title.as_deref(), Some(plan.title.as_str()));
}

#[test]
fn what_a_full_trace_no_longer_knows_is_told_as_unknown() {
    let (plan, runs) = run(
        "title = \"Power that comes and goes\"\nduration = \"40 d\"\n\
         plant = { kind = \"first order\" }\ncontrol = { mode = \"cool\" }\n\
         [[happening]]\nat = \"00:00:30\"\nevery = \"1 min\"\nfor = \"20 s\"\nwhat = \"power is cut\"\n",
    );
    let trace = runs[0].trace.as_ref().expect("traced");
    let (strip, log) = (trace.strip_known_until(), trace.log_known_until());
    assert!(strip < trace.length() && log < trace.length());
    let troubles = CaseView::new(&plan, &runs[0]).troubles();
    assert!(troubles.len() > 10_000);
    assert!(troubles.iter().all(|(_, _, until)| *until <= log));
    let mut bytes = Vec::new();
    export::vcd::write(&plan, &runs, &mut bytes).expect("a vector takes everything");
    let text = String::from_utf8(bytes).expect("text");
    let mut at = 0;
    let mut unknown = Vec::new();
    for line in text.lines() {
        if let Some(moment) = line.strip_prefix('#') {
            at = moment.parse().expect("a moment");
        } else if line.starts_with('x') {
            unknown.push(at);
        }
    }
    let expected = |wires, from| unknown.iter().filter(|at| **at == from).count() >= wires;
    assert!(expected(3, strip.millis()), "{unknown:?}");
    assert!(expected(2, log.millis()), "{unknown:?}");
    assert_eq!(unknown.iter().max(), Some(&strip.max(log).millis()));
}
