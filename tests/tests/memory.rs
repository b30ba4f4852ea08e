//! How much memory a run takes does not depend on how long it runs.

use std::fmt::Write as _;

use hysteron_bench::run::bench::{Bench, Recording};
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::{NoFiles, SearchPaths};
use hysteron_source::text::SourceText;
use peak_alloc::PeakAlloc;

#[global_allocator]
static HEAP: PeakAlloc = PeakAlloc;

/// A cooler whose every day is full of doors, with lights and a night's setting.
fn scenario(days: u32) -> String {
    let mut text = format!(
        "title = \"Day after day\"\nduration = \"{days} d\"\n\
         plant = {{ kind = \"refrigerated box\" }}\ncontrol = {{ mode = \"cool\" }}\n"
    );
    for happening in [
        "at = \"07:00\"\nuntil = \"22:00\"\nwhat = \"heat is added\"\npower = \"200 W\"",
        "at = \"07:30\"\nuntil = \"22:00\"\nevery = \"5 min\"\nfor = \"30 s\"\nwhat = \"door opens\"",
        "at = \"06:00\"\nwhat = \"settings change\"\nsettings = { setpoint = \"3 °C\" }",
        "at = \"23:00\"\nwhat = \"settings change\"\nsettings = { setpoint = \"4 °C\" }",
    ] {
        write!(text, "[[happening]]\neach_day = true\n{happening}\n").expect("a string");
    }
    // An interval that no day is a multiple of, and that goes on to the end.
    text.push_str(
        "[[happening]]\nat = \"00:10\"\nevery = \"7 min\"\nfor = \"1 min\"\nwhat = \"supply dips\"\nto = \"90 %\"\n",
    );
    text
}

/// What is held at most, in bytes, while a scenario is read and while it runs; and what happened in it.
#[derive(Debug)]
struct Held {
    reading: usize,
    running: usize,
    edges: usize,
}

fn held(days: u32) -> Held {
    let text = scenario(days);
    let begun = || {
        HEAP.reset_peak_usage();
        HEAP.current_usage()
    };
    let before = begun();
    let source = SourceText::new("days.toml", text).expect("short");
    let plan = Plan::read(&source, &SearchPaths::default()).expect("a sound scenario");
    let reading = HEAP.peak_usage() - before;
    let bench = Bench::prepare(plan, &NoFiles).expect("a plant");
    let case = &bench.plan().cases[0];
    let before = begun();
    let run = bench.run(case, Recording::VerdictsOnly);
    let run = run.expect("a plant within its model");
    let running = HEAP.peak_usage() - before;
    assert!(run.totals.starts > days, "the days went by");
    Held {
        reading,
        running,
        edges: case.timeline.edges().count(),
    }
}

/// One test alone: what another thread holds would be counted too.
#[test]
fn a_year_takes_no_more_memory_than_a_day() {
    const SLACK: usize = 1_024;
    let (day, year) = (held(1), held(365));
    assert!(day.edges > 700, "{day:?}");
    assert!(year.edges > 364 * day.edges, "{year:?}");
    assert!(year.reading < day.reading + SLACK, "{day:?}, {year:?}");
    assert!(year.running < day.running + SLACK, "{day:?}, {year:?}");
}
