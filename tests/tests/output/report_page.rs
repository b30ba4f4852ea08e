//! The report and the terminal's answer, as a browser and a screen would have them.

use std::collections::BTreeSet;

use html5ever::tendril::TendrilSink;
use html5ever::{ParseOpts, parse_document};
use hysteron::terminal::{Charset, Screen, answer};
use hysteron_bench::recording::{Recording, RecordingFormat, Unreadable};
use hysteron_bench::replay::{for_recordings, replay};
use hysteron_bench::scenario::bundled::{BUNDLED, Bundled};
use hysteron_logic::settings::Settings;
use hysteron_logic::time::Duration;
use hysteron_tests::sample_run::{SAMPLE, run};
use hysteron_view::report::{self, Recorded};
use markup5ever_rcdom::{Handle, NodeData, RcDom};

fn parsed(page: &str) -> RcDom {
    parse_document(RcDom::default(), ParseOpts::default()).one(page)
}

fn walk(node: &Handle, see: &mut impl FnMut(&str, &[(String, String)])) {
    if let NodeData::Element { name, attrs, .. } = &node.data {
        let attributes = attrs.borrow();
        let attributes: Vec<(String, String)> = attributes
            .iter()
            .map(|attribute| {
                (
                    attribute.name.local.to_string(),
                    attribute.value.to_string(),
                )
            })
            .collect();
        see(&name.local, &attributes);
    }
    for child in node.children.borrow().iter() {
        walk(child, see);
    }
}

fn text(node: &Handle) -> String {
    if let NodeData::Text { contents } = &node.data {
        return contents.borrow().to_string();
    }
    node.children.borrow().iter().map(text).collect()
}

/// The words of a page that is valid, names its parts and asks nothing of a network.
fn words_of_a_sound(page: &str) -> String {
    let document = parsed(page);
    let errors = document.errors.borrow();
    assert!(errors.is_empty(), "{errors:?}");
    let mut ids = BTreeSet::new();
    let mut named = Vec::new();
    let mut elements: BTreeSet<String> = BTreeSet::new();
    walk(&document.document, &mut |name, attributes| {
        elements.insert(name.to_owned());
        for (attribute, value) in attributes {
            match attribute.as_str() {
                "id" => assert!(ids.insert(value.clone()), "two elements are called {value}"),
                "aria-labelledby" => named.extend(value.split(' ').map(str::to_owned)),
                "src" | "href" => panic!("<{name}> reaches out to {value}"),
                _ => {}
            }
        }
        if name == "html" {
            assert!(attributes.contains(&("lang".to_owned(), "en".to_owned())));
        }
    });
    assert!(!named.is_empty());
    for name in named {
        assert!(ids.contains(&name), "nothing is called {name}");
    }
    assert!(!elements.contains("script"));
    assert!(!page.contains("http://") && !page.contains("https://") && !page.contains("@import"));
    for element in ["svg", "desc", "caption", "th", "style", "pre"] {
        assert!(elements.contains(element), "no <{element}>");
    }
    text(&document.document)
}

#[test]
fn the_page_is_valid_and_keeps_to_itself() {
    let (plan, runs) = run(SAMPLE);
    let page = report::html(&plan, &runs, "hysteron run <sample>.toml");
    let words = words_of_a_sound(&page);
    assert!(
        words.contains(&plan.title),
        "the title was not escaped well"
    );
    assert!(words.contains("hysteron run <sample>.toml"));
    assert!(words.contains("Mains voltage kills"));
}

#[test]
fn a_recording_has_a_page_of_its_own() {
    let rows = "time,°C\n2026-07-01 08:00,1\n2026-07-01 08:30,9\n2026-07-01 09:00,1\n";
    let reading = RecordingFormat {
        time: None,
        value: None,
        unit: None,
        time_format: None,
        longest_gap: Duration::from_hours(1),
        unreadable: Unreadable::Refused,
    };
    let settings = for_recordings(&Settings::DEFAULT).expect("settings");
    let mut recording = Recording::open("<room>.csv", rows.as_bytes(), reading).expect("a heading");
    let replay = replay(&settings, &mut recording).expect("three rows");
    assert_eq!(replay.runs.starts, 1);
    let recorded = Recorded {
        name: "<room>.csv",
        begins: &recording.moment_text(Duration::ZERO),
    };
    let words = words_of_a_sound(&report::replay_html(
        &replay,
        recorded,
        settings,
        "hysteron replay '<room>.csv'",
    ))
    .replace('\u{a0}', " ");
    for told in [
        "<room>.csvThe recording goes on as it went",
        "3 readings, 1 h, 1.0 °C to 9.0 °C.",
        "first reading, 2026-07-01 08:00:00.",
        "Relay closed",
        "starts1",
        "hysteron replay '<room>.csv'",
        "Mains voltage kills",
    ] {
        assert!(words.contains(told), "{told} is not in the page: {words}");
    }
}

#[test]
fn an_installation_is_drawn_sound_and_as_each_failure_leaves_it() {
    let scenario = Bundled::named("school-holidays").expect("it ships");
    let (plan, runs) = run(scenario.text);
    let page = report::html(&plan, &runs, "again");
    let document = parsed(&page);
    let errors = document.errors.borrow();
    assert!(errors.is_empty(), "{errors:?}");
    assert!(!page.contains("http://"));
    assert_eq!(page.matches("class=\"installation-drawing\"").count(), 3);
    let words = text(&document.document);
    for told in [
        "From 09:58 on, while satisfied: control: normally open contact welded",
        "Works unasked: compressor, condenser-fan",
        "The wiring check finds nothing wrong",
        "control.relay_commoncontrol.normally_open119.9",
    ] {
        assert!(words.contains(told), "{told} is not in the page");
    }
}

#[test]
fn the_demonstration_fits_a_screen() {
    let (plan, runs) = run(BUNDLED[0].text);
    assert!(plan.wiring.is_some());
    for charset in [Charset::Ascii, Charset::Unicode] {
        let told = answer(
            &plan,
            &runs,
            Some("./hysteron-report.html"),
            Screen::new(80, charset),
        );
        let bare = anstream::adapter::strip_str(&told).to_string();
        assert!(bare.lines().count() <= 23, "{bare}");
        assert!(
            bare.lines().all(|line| line.chars().count() <= 80),
            "{bare}"
        );
    }
}

#[test]
fn the_page_of_a_long_run_is_no_larger_than_that_of_a_day() {
    let of = |duration: &str| {
        let (plan, runs) = run(&SAMPLE.replace("\"6 h\"", duration));
        (
            report::html(&plan, &runs, "again").len(),
            runs[0].runs.starts,
        )
    };
    let ((day, few), (fortnights, many)) = (of("\"24 h\""), of("\"60 d\""));
    assert!(many > 20 * few, "{many} starts against {few}");
    assert!(fortnights < day * 5 / 4, "{fortnights} bytes against {day}");
}

#[test]
fn the_answer_fits_a_screen() {
    let (plan, mut runs) = run(SAMPLE);
    let screen = Screen::new(80, Charset::Ascii);
    let several = answer(&plan, &runs, Some("report.html"), screen);
    runs.truncate(1);
    let one = answer(&plan, &runs, Some("report.html"), screen);
    for told in [&several, &one] {
        let bare = anstream::adapter::strip_str(told).to_string();
        assert!(bare.is_ascii(), "{bare}");
        assert!(bare.lines().count() <= 23, "{bare}");
        for line in bare.lines() {
            assert!(line.len() <= 80, "{line}");
        }
    }
    insta::assert_snapshot!(anstream::adapter::strip_str(&one));
}
