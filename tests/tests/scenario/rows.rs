//! The rows that schema and help are made of are those that the readers go by: the same keys, and
//! the same meaning of what is left out.

use std::collections::BTreeSet;
use std::fmt::Write;

use hysteron_bench::scenario::file;
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::SearchPaths;
use hysteron_source::form::{Case, Form, Presence, Row, Shape, When};
use hysteron_source::text::SourceText;

use crate::malformed::SOUND;

/// A key that no table has.
const UNKNOWN: &str = "qqqqqqqqqqqqqqqq";

/// The keys that the reader of a scenario says it knows where that one stands.
fn known_to_scenarios(text: &str) -> BTreeSet<String> {
    let source = SourceText::new("x.toml", text).expect("short");
    let rejected = Plan::read(&source, &SearchPaths::default()).expect_err("an unknown key");
    known(&rejected.to_string())
}

fn known_to_installations(text: &str) -> BTreeSet<String> {
    let source = SourceText::new("x.toml", text).expect("short");
    let rejected = hysteron_installation::file::read(&source).expect_err("an unknown key");
    known(&rejected.to_string())
}

fn known(told: &str) -> BTreeSet<String> {
    let (_, after) = told
        .split_once(&format!("has no `{UNKNOWN}`"))
        .unwrap_or_else(|| panic!("{told}"));
    let (_, list) = after.split_once("known here: ").expect("a list of keys");
    let list = list.lines().next().expect("a line");
    list.replace(" or ", ", ")
        .split(", ")
        .map(|key| key.trim().to_owned())
        .collect()
}

fn keys<'r>(rows: impl IntoIterator<Item = &'r Row>) -> BTreeSet<String> {
    rows.into_iter().map(|row| row.key.to_owned()).collect()
}

fn in_case(shape: &Shape, case: &Case) -> BTreeSet<String> {
    keys(shape.rows.iter().chain(&case.rows))
}

/// The form of an entry of the outermost table.
fn form_of(shape: &Shape, key: &str) -> Form {
    let row = shape.rows.iter().find(|row| row.key == key);
    row.expect("an entry").form.clone()
}

fn table_of(form: Form) -> Shape {
    form.table().expect("a table").clone()
}

fn words_of(case: &Case) -> Vec<&'static str> {
    match &case.when {
        When::Says { words, .. } => words.clone(),
        When::Has(_) => Vec::new(),
    }
}

/// The whole of the sound scenario but for the tables of this header.
fn without(header: &str) -> String {
    let tables = SOUND.split("\n[").enumerate();
    let kept = tables.filter(|(place, table)| *place == 0 || !table.starts_with(&header[1..]));
    kept.map(|(_, table)| table)
        .collect::<Vec<&str>>()
        .join("\n[")
}

#[test]
fn reader_and_schema_of_scenarios_know_the_same_keys() {
    let scenario = file::shape();
    let mut compared = 0;
    let mut same = |header: &str, body: &str, wanted: BTreeSet<String>| {
        let text = format!("{}\n{header}\n{body}\n{UNKNOWN} = 1\n", without(header));
        assert_eq!(known_to_scenarios(&text), wanted, "{header}\n{body}");
        compared += 1;
    };
    let top = format!("{UNKNOWN} = 1\n{SOUND}");
    assert_eq!(known_to_scenarios(&top), keys(&scenario.rows));
    for key in ["plant", "ambient"] {
        let shape = table_of(form_of(&scenario, key));
        for case in &shape.cases {
            let [word] = words_of(case)[..] else {
                panic!("a word for each kind")
            };
            let body = format!("kind = \"{word}\"");
            same(&format!("[{key}]"), &body, in_case(&shape, case));
        }
    }
    for (header, key) in [("[probe]", "probe"), ("[control]", "control")] {
        same(header, "", keys(&table_of(form_of(&scenario, key)).rows));
    }
    let variant = table_of(form_of(&scenario, "variant"));
    same(
        "[[variant]]",
        "name = \"x\"\nsettings = {}",
        keys(&variant.rows),
    );
    let plant = table_of(form_of(&scenario, "plant"));
    let nested = plant.cases.iter().flat_map(|case| &case.rows);
    for row in nested.filter(|row| matches!(row.form, Form::Table(_))) {
        let shape = table_of(row.form.clone());
        let header = format!("[plant.{}]", row.key);
        same(&header, "", keys(&shape.rows));
    }
    let happening = table_of(form_of(&scenario, "happening"));
    for case in &happening.cases {
        for word in words_of(case) {
            let body = format!("at = \"01:00\"\nwhat = \"{word}\"");
            same("[[happening]]", &body, in_case(&happening, case));
        }
    }
    let expect = table_of(form_of(&scenario, "expect"));
    let subjects: BTreeSet<String> = ["quantity", "count", "relay", "order", "shortest"]
        .map(str::to_owned)
        .into();
    let limited = |body: &str, case: &Case| {
        let body = format!("{body}\nvariant = \"relay opens\"");
        let own = in_case(&expect, case);
        (body, own.union(&subjects).cloned().collect())
    };
    for case in &expect.cases {
        let body = match &case.when {
            When::Says { key, words } => {
                // What this plant cannot tell has no limits to be read.
                let told = [
                    "air temperature",
                    "relative humidity",
                    "starts",
                    "run time",
                    "duty",
                ];
                let Some(word) = words.iter().find(|word| told.contains(word)) else {
                    continue;
                };
                let limit = case.rows.iter().find(|row| row.key == "at_most");
                format!(
                    "{key} = \"{word}\"\nat_most = {}",
                    written(limit.expect("a limit"))
                )
            }
            When::Has(row) => {
                let limit = case.rows.iter().find(|row| row.key == "at_least");
                let limit = limit.map_or(String::new(), |row| {
                    format!("\nat_least = {}", written(row))
                });
                format!("{} = {}{limit}", row.key, written(row))
            }
        };
        let (body, wanted) = limited(&body, case);
        same("[[expect]]", &body, wanted);
    }
    assert!(compared >= 45, "{compared} tables");
}

/// A value that an entry may have.
fn written(row: &Row) -> String {
    match (&row.presence, &row.form) {
        (Presence::Required(example), _) => (*example).to_owned(),
        (Presence::Defaults(default), _) => default.to_string(),
        (Presence::Optional, form) => a_value_of(form),
    }
}

fn a_value_of(form: &Form) -> String {
    match form {
        Form::Words(words) => format!("\"{}\"", words[0]),
        Form::Quantity { example, .. } => format!("\"{example}\""),
        Form::Whole { most, .. } => most.to_string(),
        Form::Flag => "true".to_owned(),
        Form::Text | Form::Line { .. } => "\"text\"".to_owned(),
        Form::Number { most, .. } => most.to_string(),
        Form::OneOf(numbers) => numbers[0].to_string(),
        Form::Either(forms) => a_value_of(&forms[forms.len() - 1]),
        Form::List { of, least, .. } => format!("[{}]", vec![a_value_of(of); *least].join(", ")),
        Form::Table(_) | Form::Named(_) => "{}".to_owned(),
        Form::Tables { .. } => "[{}]".to_owned(),
    }
}

#[test]
fn reader_and_schema_of_installations_know_the_same_keys() {
    let installation = hysteron_installation::file::shape();
    let top = format!("{UNKNOWN} = 1\n");
    assert_eq!(known_to_installations(&top), keys(&installation.rows));
    let part = table_of(form_of(&installation, "part"));
    let mut kinds = 0;
    for case in &part.cases {
        for word in words_of(case) {
            let text = format!("[part.x]\nkind = \"{word}\"\n{UNKNOWN} = 1\n");
            assert_eq!(
                known_to_installations(&text),
                in_case(&part, case),
                "{word}"
            );
            kinds += 1;
        }
    }
    assert!(kinds >= 17, "{kinds} kinds of part");
    for key in ["wire", "jumper"] {
        let shape = table_of(form_of(&installation, key));
        let text = format!("[{key}.x]\n{UNKNOWN} = 1\n");
        assert_eq!(known_to_installations(&text), keys(&shape.rows), "{key}");
    }
}

/// Reads a text with each default written out and with as long a comment in its place, and counts
/// how many came to the same.
#[track_caller]
fn left_out<T: PartialEq + std::fmt::Debug>(
    read: impl Fn(&str) -> T,
    (before, after): (&str, &str),
    rows: &[Row],
) -> usize {
    let mut compared = 0;
    for row in rows {
        if let Presence::Defaults(default) = &row.presence {
            let line = format!("{} = {default}", row.key);
            let comment = format!("#{}", " ".repeat(line.len() - 1));
            let [told, silent] =
                [&line, &comment].map(|line| read(&format!("{before}{line}\n{after}")));
            assert!(
                told == silent,
                "{line} after\n{before}\n{told:?}\n{silent:?}"
            );
            compared += 1;
        }
    }
    compared
}

/// The entries that have to be there, as a line for each.
fn required(rows: &[Row]) -> String {
    let mut lines = String::new();
    for row in rows {
        if let Presence::Required(example) = row.presence {
            writeln!(lines, "{} = {example}", row.key).expect("a string");
        }
    }
    lines
}

/// What a row says is meant where its entry is left out is what the reader takes then.
#[test]
fn every_default_of_a_scenario_is_what_leaving_it_out_means() {
    let scenario = file::shape();
    let read = |text: &str| {
        let source = SourceText::new("x.toml", text).expect("short");
        Plan::read(&source, &SearchPaths::default()).unwrap_or_else(|why| panic!("{why}"))
    };
    let same = |before: &str, after: &str, rows: &[Row]| left_out(read, (before, after), rows);
    let top = "title = \"x\"\nduration = \"1 h\"\n";
    let plant = "[plant]\nkind = \"refrigerated box\"\n";
    let control = "[control]\nmode = \"cool\"\n";
    let whole = format!("{top}{plant}{control}");
    let mut compared = same(top, &format!("{plant}{control}"), &scenario.rows);
    let probe = table_of(form_of(&scenario, "probe"));
    compared += same(&format!("{whole}[probe]\n"), "", &probe.rows);
    let ambient = table_of(form_of(&scenario, "ambient"));
    for case in &ambient.cases {
        for word in words_of(case) {
            let file = "file = \"x.epw\"\n";
            let file = if word == "weather" { file } else { "" };
            let lines = required(&case.rows);
            let table = format!("{whole}[ambient]\nkind = \"{word}\"\n{file}{lines}");
            compared += same(&table, "", &case.rows);
        }
    }
    let plants = table_of(form_of(&scenario, "plant"));
    for case in &plants.cases {
        for word in words_of(case) {
            let heats = word == "room" || word == "heated tank";
            let mode = if heats { "heat" } else { "cool" };
            let start = format!("{top}[control]\nmode = \"{mode}\"\n[plant]\nkind = \"{word}\"\n");
            compared += same(&start, "", &case.rows);
            for row in &case.rows {
                if let Form::Table(nested) = &row.form {
                    let table = format!("{start}[plant.{}]\n", row.key);
                    compared += same(&table, "", &nested.rows);
                }
            }
        }
    }
    assert!(compared >= 100, "{compared} defaults");
}

#[test]
fn every_default_of_an_installation_is_what_leaving_it_out_means() {
    let installation = hysteron_installation::file::shape();
    let read = |text: &str| {
        let source = SourceText::new("x.toml", text).expect("short");
        hysteron_installation::file::read(&source).unwrap_or_else(|why| panic!("{why}"))
    };
    let same = |before: &str, after: &str, rows: &[Row]| left_out(read, (before, after), rows);
    let top = "title = \"x\"\n";
    let supply = "[part.supply]\nkind = \"supply\"\nvoltage = \"120 V\"\n";
    let mut compared = same(top, supply, &installation.rows);
    let part = table_of(form_of(&installation, "part"));
    for case in &part.cases {
        for word in words_of(case) {
            let lines = required(&case.rows);
            let start = format!("{top}{supply}[part.x]\nkind = \"{word}\"\n{lines}");
            compared += same(&start, "", &case.rows) + same(&start, "", &part.rows);
        }
    }
    let lamp = "[part.lamp]\nkind = \"lamp\"\nrated_v = 120\npower_w = 25\n";
    for key in ["wire", "jumper"] {
        let conductor = table_of(form_of(&installation, key));
        let ends = "from = \"supply.hot\"\nto = \"lamp.line1\"\ngauge_awg = 14\n";
        let length = if key == "wire" { "length_m = 3\n" } else { "" };
        let start = format!("{top}{supply}{lamp}[{key}.x]\n{ends}{length}");
        compared += same(&start, "", &conductor.rows);
    }
    assert!(compared >= 40, "{compared} defaults");
}
