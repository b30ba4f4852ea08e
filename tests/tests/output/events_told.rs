//! Events from where they happen to where they are told: nothing is lost by what a part is
//! called, by what happens beside it, or by how long it all takes.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use hysteron::disk::Disk;
use hysteron_bench::run::bench::{Bench, CaseRun, Recording};
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::SearchPaths;
use hysteron_source::text::SourceText;
use hysteron_view::{export, report};
use roxmltree::{Document, Node};

/// Every day doors, picking and lights; doors open and close more often than a log has room for.
const DAYS: &str = r#"
[[happening]]
at = "07:30"
every = "15 min"
for = "30 s"
until = "22:00"
each_day = true
what = "door opens"

[[happening]]
at = "07:00"
each_day = true
what = "product is loaded"
mass = "10 kg"
temperature = "8 °C"

[[happening]]
at = "07:00"
until = "22:00"
each_day = true
what = "heat is added"
power = "50 W"
"#;

/// Every night a fault of the probe and a cut of the power.
const NIGHTS: &str = r#"
[[happening]]
at = "23:00"
for = "20 min"
each_day = true
what = "power is cut"

[[happening]]
at = "01:00"
for = "20 min"
each_day = true
what = "probe opens"
"#;

/// A bundled installation with its breaker renamed, in a folder of this test's own.
fn folder(test: &str) -> PathBuf {
    let ships = Path::new(env!("CARGO_MANIFEST_DIR")).join("../host-sim/installations");
    let text = std::fs::read_to_string(ships.join("compressor-120.toml")).expect("it ships");
    let named = text
        .replace("[part.breaker]", "[part.door-heater-breaker]")
        .replace("\"breaker.", "\"door-heater-breaker.");
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("events")
        .join(test);
    std::fs::create_dir_all(&folder).expect("a folder");
    std::fs::write(folder.join("shop.toml"), named).expect("a file");
    folder
}

fn run(test: &str, duration: &str, happenings: &str) -> (Plan, Vec<CaseRun>) {
    let text = format!(
        "title = \"A shop\"\nduration = \"{duration}\"\ninstallation = \"shop.toml\"\n\
         [plant]\nkind = \"refrigerated box\"\n\
         [control]\nmode = \"cool\"\nsetpoint = \"2 °C\"\ndifferential = \"2 K\"\n{happenings}"
    );
    let source = SourceText::new("shop.toml", &text).expect("short");
    let search_paths = SearchPaths {
        weather: None,
        folder: folder(test),
        files: Arc::new(Disk),
    };
    let plan = Plan::read(&source, &search_paths);
    let plan = plan.unwrap_or_else(|rejected| panic!("{rejected}"));
    let bench = Bench::prepare(plan, &Disk).expect("a plant that can be built");
    let run = bench.run(&bench.plan().cases[0], Recording::Traced);
    let run = run.expect("within its model");
    (bench.plan().clone(), vec![run])
}

fn fails(at: &str, length: &str, part: &str, fault: &str) -> String {
    format!(
        "[[happening]]\nat = \"{at}\"\nfor = \"{length}\"\nwhat = \"part fails\"\n\
         part = \"{part}\"\nfault = \"{fault}\"\n"
    )
}

/// The table of a report with this heading, from its heading to its end.
fn table<'p>(page: &'p str, heading: &str) -> &'p str {
    let from = page
        .find(&format!("<caption>{heading}</caption>"))
        .unwrap_or_else(|| panic!("no table \"{heading}\""));
    let length = page[from..].find("</table>").expect("a table ends");
    &page[from..from + length]
}

/// What the log of the structured data says.
fn log(plan: &Plan, runs: &[CaseRun]) -> Vec<String> {
    let mut bytes = Vec::new();
    export::json::write(plan, runs, &mut bytes).expect("memory takes it");
    let document: serde_json::Value = serde_json::from_slice(&bytes).expect("JSON");
    let log = document["cases"][0]["trace"]["log"].as_array();
    let log = log.expect("a log").iter();
    log.map(|entry| entry["what"].as_str().expect("words").to_owned())
        .collect()
}

/// A breaker whose name speaks of a door trips among all the doors of a day.
#[test]
fn a_part_is_no_routine_by_its_name() {
    let trip = fails("12:00", "20 min", "door-heater-breaker", "tripped");
    let (plan, runs) = run("name", "24 h", &format!("{DAYS}{trip}"));
    let page = report::html(&plan, &runs, "again");
    let rare = table(&page, "What happened");
    for told in [
        "Door-heater-breaker (breaker): tripped",
        "Door-heater-breaker (breaker): mended",
    ] {
        assert!(rare.contains(told), "{told} is not in {rare}");
    }
    let repeated = table(&page, "What happened again and again");
    assert!(repeated.contains("Door opens"), "{repeated}");
    let log = log(&plan, &runs);
    let trips = log
        .iter()
        .filter(|what| *what == "door-heater-breaker (breaker): tripped");
    assert_eq!(trips.count(), 1);
}

/// In a year the log is full of doors before the breaker trips; its page stays small.
#[test]
fn a_year_of_doors_makes_a_small_page_that_lacks_no_trouble() {
    const MOST_BYTES: usize = 500_000;
    let parts = [
        fails("day 360 12:00", "20 min", "door-heater-breaker", "tripped"),
        fails("day 361 12:00", "30 min", "compressor", "winding shorted"),
        fails("day 361 12:20", "30 min", "evaporator-fan", "winding open"),
    ]
    .concat();
    let rest = r#"
[[happening]]
at = "day 361 14:00"
what = "part is mended"
part = "door-heater-breaker"

[[happening]]
at = "day 200 14:00"
what = "clock jumps"
by = "1 h"
"#;
    let (plan, runs) = run("year", "365 d", &format!("{DAYS}{NIGHTS}{parts}{rest}"));
    let trace = runs[0].trace.as_ref().expect("traced");
    assert!(
        trace.routine_known_until() < trace.length(),
        "the log was never full of routine"
    );
    let page = report::html(&plan, &runs, "again");
    assert!(page.len() < MOST_BYTES, "{} bytes", page.len());
    let tables = [
        table(&page, "What happened"),
        table(&page, "What happened again and again"),
    ]
    .concat();
    for told in [
        "Door-heater-breaker (breaker): tripped",
        "Door-heater-breaker (breaker): mended",
        "Opens on too much current: door-heater-breaker",
        "Compressor: winding shorted",
        "Compressor: mended",
        "Evaporator fan: winding open",
        "Evaporator fan: mended",
        "Clock jumps",
        "Power is cut",
        "Supply returns",
        "Probe opens",
        "Probe recovers",
        "The board stops",
        "The board starts",
        "Product is loaded",
        "Heat is added",
    ] {
        assert!(tables.contains(told), "{told} is not in {tables}");
    }
    for told in [
        "door opens 21170 times, at most 58 in a day",
        "power is cut 365 times, at most 1 in a day",
        "no power 367 times, at most 2 in a day",
    ] {
        assert!(page.contains(told), "{told} is not in the page");
    }
    let log = log(&plan, &runs);
    for what in [
        "door-heater-breaker (breaker): tripped",
        "opens on too much current: door-heater-breaker",
        "clock jumps",
    ] {
        let times = log.iter().filter(|told| *told == what).count();
        assert_eq!(times, 1, "{what}");
    }
}

fn number(node: Node<'_, '_>, name: &str) -> f64 {
    let written = node.attribute(name).expect("a place");
    written.parse().expect("a number")
}

/// Two parts fail at once, and a third long after: each has its row, named, with its own times.
#[test]
fn every_failing_part_has_a_row_of_its_own() {
    let parts = [
        fails("06:00", "6 h", "evaporator-fan", "winding open"),
        fails("08:00", "2 h", "condenser-fan", "winding open"),
        fails("09:00", "2 h", "3", "off its terminal"),
    ]
    .concat();
    let (plan, runs) = run("rows", "24 h", &parts);
    let page = report::html(&plan, &runs, "again");
    let charts = page.split("<svg class=\"chart ").skip(1).take(2);
    for (room, chart) in ["wide", "narrow"].into_iter().zip(charts) {
        assert!(chart.starts_with(room), "another drawing stands first");
        let chart = &chart[..chart.find("<table").unwrap_or(chart.len())];
        let end = chart.rfind("</svg>").expect("it ends");
        let end = chart[..end].find("</svg>").unwrap_or(end);
        let svg = format!("<svg class=\"chart {}</svg>", &chart[..end]);
        let document = Document::parse(&svg).expect("well formed");
        let boxes = document
            .descendants()
            .filter(|node| node.attribute("class") == Some("k-happening"));
        let mut rows: Vec<(f64, String, f64)> = boxes
            .map(|node| {
                let told = node.children().find(|child| child.has_tag_name("title"));
                let told = told.and_then(|title| title.text()).expect("it is told");
                (number(node, "y"), told.to_owned(), number(node, "width"))
            })
            .collect();
        rows.sort_by(|one, other| one.1.cmp(&other.1));
        let told: Vec<&str> = rows.iter().map(|(_, told, _)| told.as_str()).collect();
        assert_eq!(
            told,
            [
                "06:00: evaporator fan: winding open",
                "08:00: condenser fan: winding open",
                "09:00: wire 3 (control.normally_open to compressor.line1): off its terminal",
            ],
            "{room}"
        );
        let tops: Vec<i64> = rows.iter().map(|(y, ..)| (y * 10.0) as i64).collect();
        assert!(
            tops[0] != tops[1] && tops[1] != tops[2] && tops[0] != tops[2],
            "{room}: {tops:?}"
        );
        let (six_h, two_h) = (rows[0].2, rows[1].2);
        assert!((six_h / two_h - 3.0).abs() < 0.05, "{six_h} and {two_h}");
        for name in ["evaporator-fan", "condenser-fan", "wire 3"] {
            let named = document
                .descendants()
                .filter(|node| node.has_tag_name("text") && node.text() == Some(name));
            assert_eq!(named.count(), 1, "{room}: {name}");
        }
    }
}

/// The clock jumps while it stands still: the strip has room for both.
#[test]
fn two_at_once_in_one_row_are_both_drawn() {
    let clock = "[[happening]]\nat = \"06:00\"\nfor = \"6 h\"\nwhat = \"clock stops\"\n\
        [[happening]]\nat = \"08:00\"\nwhat = \"clock jumps\"\nby = \"1 h\"\n";
    let (plan, runs) = run("clock", "24 h", clock);
    let page = report::html(&plan, &runs, "again");
    let of = |class: &str, told: &str| -> String {
        let end = page
            .find(&format!("<title>{told}</title>"))
            .expect("it is told");
        let from = page[..end].rfind('<').expect("an element");
        let element = &page[from..end];
        assert!(element.contains(class), "{element}");
        element.to_owned()
    };
    let spell = of("k-happening", "06:00: clock stops");
    let moment = of("k-moment", "08:00: clock jumps");
    let node = |text: &str| format!("{}/>", text.trim_end().trim_end_matches('>'));
    let (spell, moment) = (node(&spell), node(&moment));
    let spell = Document::parse(&spell).expect("an element");
    let moment = Document::parse(&moment).expect("an element");
    let (y, height) = (
        number(spell.root_element(), "y"),
        number(spell.root_element(), "height"),
    );
    // "M" x " " y of the tip, which is the lowest point of the mark.
    let path = moment.root_element().attribute("d").expect("a path");
    let tip = path[1..].split(['l', ' ']).nth(1).expect("a place");
    let tip: f64 = tip.parse().expect("a number");
    assert!(
        tip <= y || tip >= y + height + 1.0,
        "the mark at {tip} lies in the box from {y}, {height} high"
    );
    assert!(height >= 3.0, "{height}");
}
