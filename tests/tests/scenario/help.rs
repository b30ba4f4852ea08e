//! The formats as `hysteron help` teaches them: every page is there, and every example is sound and
//! does what it says.

use std::fmt::Write;
use std::path::Path;

use hysteron::cli;
use hysteron::console::Console;
use hysteron::exit::Exit;
use hysteron::terminal::{Charset, Screen};
use hysteron_bench::record::verdict::Outcome;
use hysteron_bench::run::bench::{Bench, Recording};
use hysteron_bench::scenario::file as scenario_file;
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::{NoFiles, SearchPaths};
use hysteron_installation::file as installation_file;
use hysteron_logic::field::Field;
use hysteron_source::form::{Form, Shape};
use hysteron_source::text::SourceText;
use hysteron_view::format::page::tables;
use hysteron_view::format::{SCENARIO_EXAMPLE, SETTINGS_EXAMPLE};

/// What the command answers, and how it ends.
fn answer(words: &[&str]) -> (String, String, Exit) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let screen = Screen::new(100, Charset::Unicode);
    let mut console = Console::new(&mut out, &mut err, screen);
    let words = ["hysteron"].iter().chain(words).map(|word| (*word).into());
    let exit = cli::perform(words, &mut console);
    drop(console);
    let [out, err] = [out, err].map(|text| String::from_utf8(text).expect("text"));
    (out, err, exit)
}

fn told(words: &[&str]) -> String {
    let (out, err, exit) = answer(words);
    assert_eq!((err.as_str(), exit), ("", Exit::Holds), "{words:?}");
    out
}

fn plan(text: &str) -> Plan {
    let source = SourceText::new("example.toml", text).expect("short");
    Plan::read(&source, &SearchPaths::default()).unwrap_or_else(|rejected| panic!("{rejected}"))
}

/// Each line of it, as a page shows it.
fn shown(example: &str) -> impl Iterator<Item = String> {
    example
        .lines()
        .map(|line| format!("  {line}").trim_end().to_owned())
}

#[test]
fn the_examples_are_read_run_and_keep_what_they_expect() {
    let mut judged = 0;
    for example in [SCENARIO_EXAMPLE, SETTINGS_EXAMPLE] {
        let bench = Bench::prepare(plan(example), &NoFiles).expect("no files");
        for case in &bench.plan().cases {
            let run = bench.run(case, Recording::VerdictsOnly).expect("a run");
            assert!(run.totals.starts > 0, "the load never started");
            for verdict in &run.verdicts {
                assert_eq!(verdict.outcome, Outcome::Holds, "{verdict:?}");
                judged += 1;
            }
        }
    }
    assert_eq!(judged, 6, "three expectations of each of two variants");
}

/// The keys of a table, those of all its cases included.
fn keys(shape: &Shape) -> Vec<&'static str> {
    let in_cases = shape.cases.iter().flat_map(|case| &case.rows);
    let rows = shape.rows.iter().chain(in_cases);
    rows.map(|row| row.key).collect()
}

#[test]
fn every_table_has_a_page_that_tells_all_its_entries() {
    let mut pages = 0;
    for (topic, shape) in [
        ("scenario", scenario_file::shape()),
        ("installation", installation_file::shape()),
    ] {
        let first = told(&["help", topic]);
        for (place, (_, shape)) in tables(&shape).iter().enumerate() {
            let page = match place {
                0 => first.clone(),
                _ => told(&["help", topic, shape.name]),
            };
            for key in keys(shape) {
                assert!(page.contains(&format!("\n  {key}: ")), "{key} in\n{page}");
            }
            for words in shape.cases.iter().flat_map(|case| case.words()) {
                assert!(page.contains(&format!("\"{words}\"")), "{words} in\n{page}");
            }
            assert!(first.contains(shape.name), "{} in\n{first}", shape.name);
            // An example keeps its own lines.
            let taught = page.split("\nExample:\n").next().expect("a beginning");
            let widest = taught.lines().map(|line| line.chars().count()).max();
            assert!(widest <= Some(100), "{widest:?} columns:\n{page}");
            pages += 1;
        }
    }
    assert!(pages >= 15, "{pages} pages");
}

#[test]
fn the_first_pages_show_a_whole_example_and_others_what_concerns_them() {
    let page = told(&["help", "scenario"]);
    for line in shown(SCENARIO_EXAMPLE) {
        assert!(page.lines().any(|other| other == line), "{line} in\n{page}");
    }
    let page = told(&["help", "settings"]);
    assert!(page.contains("\n  defrost_interval = \"6 h\"\n"), "{page}");
    for (topic, table, line) in [
        ("scenario", "plant", "kind = \"refrigerated box\""),
        ("scenario", "compressor", "rated_capacity_w = \"2.5 kW\""),
        ("scenario", "ambient", "kind = \"daily\""),
        ("scenario", "probe", "lag = \"45 s\""),
        ("scenario", "settings", "minimum_off_time = \"5 min\""),
        (
            "scenario",
            "variant",
            "name = \"rests when the probe fails\"",
        ),
        ("scenario", "happening", "what = \"door opens\""),
        ("scenario", "expect", "shortest = \"rest\""),
        ("installation", "part", "kind = \"compressor\""),
        ("installation", "rating", "pilot_duty_va = 360"),
        ("installation", "wire", "1 = { from = \"supply.hot\""),
        ("installation", "jumper", "from = \"control."),
    ] {
        let page = told(&["help", topic, table]);
        let (_, example) = page.split_once("\nExample:\n").expect("an example");
        assert!(example.contains(line), "{line} in\n{page}");
    }
}

#[test]
fn every_setting_is_told_in_the_degrees_of_the_reader() {
    let celsius = told(&["help", "settings"]);
    let fahrenheit = told(&["help", "settings", "--unit", "F"]);
    for field in Field::ALL {
        let key = field.about().name.replace([' ', '-'], "_");
        for page in [&celsius, &fahrenheit] {
            assert!(page.contains(&format!("\n  {key}: ")), "{key} in\n{page}");
        }
    }
    let ranged = "setpoint: \u{2212}40 °C to 100 °C; else 2 °C to cool, 55 °C to heat";
    assert!(celsius.contains(ranged), "{celsius}");
    let ranged = "setpoint: \u{2212}40 °F to 212 °F; else 35.6 °F to cool, 131 °F to heat";
    assert!(fahrenheit.contains(ranged), "{fahrenheit}");
    assert!(
        fahrenheit.contains("differential: 0.36 °F to 36 °F"),
        "{fahrenheit}"
    );
}

#[test]
fn a_command_is_told_as_it_tells_itself() {
    for command in ["run", "check", "schema", "find-fault"] {
        assert_eq!(told(&["help", command]), told(&[command, "--help"]));
    }
    assert_eq!(told(&["help"]), told(&["--help"]));
}

#[test]
fn what_there_is_no_help_on_is_answered_with_what_there_is() {
    for (words, remedy) in [
        (["help", "scenarios"].as_slice(), "did you mean `scenario`?"),
        (&["help", "rnu"], "did you mean `run`?"),
        (
            &["help", "scenario", "hapening"],
            "did you mean `happening`?",
        ),
        (
            &["help", "installation", "x"],
            "there are part, wire, jumper or rating",
        ),
    ] {
        let (out, err, exit) = answer(words);
        assert_eq!((out.as_str(), exit), ("", Exit::WrongInput), "{words:?}");
        assert!(err.contains(remedy), "{words:?}: {err}");
    }
}

/// The happenings as the documentation of the format lists them.
fn happenings() -> String {
    let shape = scenario_file::shape();
    let tables = tables(&shape);
    let (_, happening) = tables
        .iter()
        .find(|(_, table)| table.name == "happening")
        .expect("a table");
    let mut listed = String::from("| what | besides | |\n| --- | --- | --- |\n");
    for case in &happening.cases {
        let besides: Vec<String> = case
            .rows
            .iter()
            .map(|row| format!("`{}`", row.key))
            .collect();
        let words: Vec<&str> = case.words().collect();
        writeln!(
            listed,
            "| {} | {} | {} |",
            words.join(", "),
            besides.join(", "),
            case.sentence
        )
        .expect("a string");
    }
    listed
}

/// After a change of the rows write it anew: `UPDATE_TABLES=1`.
#[test]
fn the_documentation_lists_the_happenings_of_the_table() {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../host-sim/bench/src/scenario/happenings.md");
    let listed = happenings();
    if std::env::var_os("UPDATE_TABLES").is_some() {
        std::fs::write(&path, &listed).expect("written");
    }
    let documented = std::fs::read_to_string(&path).expect("the file");
    assert_eq!(documented, listed, "write it anew with UPDATE_TABLES=1");
}

#[test]
fn a_table_of_parameters_says_what_each_number_means() {
    let shape = scenario_file::shape();
    let mut numbers = 0;
    for (_, table) in tables(&shape) {
        let in_cases = table.cases.iter().flat_map(|case| &case.rows);
        for row in table.rows.iter().chain(in_cases) {
            assert!(
                row.sentence.trim().ends_with('.'),
                "{}: {}",
                row.key,
                row.sentence
            );
            assert!(
                !row.sentence.contains("[`"),
                "{}: {}",
                row.key,
                row.sentence
            );
            numbers += usize::from(matches!(row.form, Form::Either(_)));
        }
    }
    assert!(numbers >= 80, "{numbers} numbers");
}
