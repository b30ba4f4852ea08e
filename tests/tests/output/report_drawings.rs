//! The charts of every bundled scenario's report: no word lies on another or on a limit, and none leaves its drawing.

use hysteron_bench::scenario::bundled::BUNDLED;
use hysteron_tests::font_widths::{Weight, width};
use hysteron_tests::sample_run::run;
use hysteron_view::report;
use roxmltree::{Document, Node};

/// Where a text stands: left, top, right, bottom.
#[derive(Debug)]
struct Words {
    told: String,
    class: String,
    bounds: [f64; 4],
}

impl Words {
    fn of(node: Node<'_, '_>) -> Self {
        let told: String = node.text().unwrap_or_default().to_owned();
        let class = node.attribute("class").unwrap_or_default().to_owned();
        let number = |name| -> f64 {
            let written = node.attribute(name).expect("a place");
            written.parse().expect("a number")
        };
        // As style.css has it.
        let size = match class.split(' ').next() {
            Some("mark") => 11.0,
            Some("label") => 12.5,
            Some("tick") => 12.0,
            _ => panic!("a text of the class {class:?}"),
        };
        let weight = match class.contains(" s-") {
            true => Weight::Bold,
            false => Weight::Book,
        };
        let (x, y, wide) = (number("x"), number("y"), width(&told, size, weight));
        let left = match node.attribute("text-anchor") {
            None | Some("start") => x,
            Some("middle") => x - wide / 2.0,
            Some("end") => x - wide,
            Some(other) => panic!("held at its {other}"),
        };
        // Figures and small letters; what hangs below a line of marks may touch the air of the next.
        let bounds = [left, y - 0.72 * size, left + wide, y + 0.1 * size];
        Self {
            told,
            class,
            bounds,
        }
    }

    fn lies_on(&self, other: &[f64; 4]) -> bool {
        let apart = |low: usize, high: usize| {
            self.bounds[high] <= other[low] || other[high] <= self.bounds[low]
        };
        !(apart(0, 2) || apart(1, 3))
    }
}

/// The lines that curves are judged by, as left, top, right, bottom.
fn limits(document: &Document<'_>) -> Vec<[f64; 4]> {
    let judging = ["limit", "alarm", "cut-in", "cut-out"];
    let lines = document.descendants().filter(|node| {
        node.has_tag_name("line")
            && node
                .attribute("class")
                .is_some_and(|class| judging.contains(&class))
    });
    lines
        .map(|line| {
            ["x1", "y1", "x2", "y2"].map(|name| {
                line.attribute(name)
                    .expect("a place")
                    .parse()
                    .expect("a number")
            })
        })
        .collect()
}

/// Every chart of a page.
fn charts(page: &str) -> impl Iterator<Item = &str> {
    page.split("<svg class=\"chart ").skip(1).map(|rest| {
        let end = rest.find("</svg>").expect("an end");
        &rest[..end]
    })
}

#[test]
fn no_word_is_in_the_way_or_leaves_its_drawing() {
    let (mut words_seen, mut limits_seen, mut troubles, mut rooms) = (0, 0, 0, [0; 3]);
    for bundled in BUNDLED.iter().filter(|one| one.name != "farm-shop-year") {
        let (plan, runs) = run(bundled.text);
        let page = report::html(&plan, &runs, "again");
        for chart in charts(&page) {
            let whole = format!("<svg class=\"chart {chart}</svg>");
            let document = Document::parse(&whole).expect("XML");
            let root = document.root_element();
            let room = ["wide", "narrow", "small"]
                .iter()
                .position(|room| chart.starts_with(room));
            rooms[room.expect("a room")] += 1;
            let title = root.children().find(|node| node.has_tag_name("title"));
            let title = title.and_then(|title| title.text()).expect("a title");
            let place = format!("{}: {title}, {}", bundled.name, &chart[..6]);
            let size: Vec<f64> = root.attribute("viewBox").expect("a size")[4..]
                .split(' ')
                .map(|number| number.parse().expect("a number"))
                .collect();
            let texts = document
                .descendants()
                .filter(|node| node.has_tag_name("text"));
            let all: Vec<Words> = texts.map(Words::of).collect();
            let limits = limits(&document);
            limits_seen += limits.len();
            for (index, words) in all.iter().enumerate() {
                let [left, top, right, bottom] = words.bounds;
                assert!(
                    left >= 0.0 && top >= 0.0 && right <= size[0] && bottom <= size[1],
                    "{place}: {words:?} leaves {size:?}"
                );
                for other in &all[index + 1..] {
                    assert!(
                        !words.lies_on(&other.bounds),
                        "{place}: {words:?} on {other:?}"
                    );
                }
                for limit in &limits {
                    assert!(
                        !words.lies_on(limit),
                        "{place}: {words:?} on a limit, {limit:?}"
                    );
                }
                let shaded = ["locked out", "probe fault declared", "no power"];
                troubles += usize::from(shaded.contains(&&*words.told) && words.class == "mark");
            }
            words_seen += all.len();
        }
    }
    assert!(words_seen > 3_000, "{words_seen} words");
    assert!(limits_seen > 200, "{limits_seen} limits");
    assert!(troubles >= 8, "{troubles} troubles named");
    assert!(rooms.iter().all(|charts| *charts > 4), "{rooms:?} charts");
}
