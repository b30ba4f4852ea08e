//! The board's image in an emulated chip decides what the control in this process decides.
//!
//! Needs `firmware/build` and `npm ci` in `tests/chip`, so it runs with the
//! feature `chip` only.

use hysteron::chip::Chip;
use hysteron::chip::board::run_on_chip;
use hysteron_bench::record::trace::{Standing, Stretch, Trace};
use hysteron_bench::run::bench::{Bench, Recording};
use hysteron_bench::scenario::bundled::BUNDLED;
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::{NoFiles, SearchPaths};
use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;
use hysteron_source::text::SourceText;

/// The part of each scenario that is compared, unless `CHIP_HOURS` says otherwise.
const HOURS: u32 = 3;

fn hours() -> Duration {
    let asked = std::env::var("CHIP_HOURS").ok();
    Duration::from_hours(asked.map_or(HOURS, |hours| hours.parse().expect("whole hours")))
}

/// When the relay moved, or the reason changed, and to what.
fn course(trace: &Trace) -> Vec<(Duration, Relay, Standing)> {
    let stretches = trace.stretches().iter();
    let mut course: Vec<_> = stretches
        .map(
            |Stretch {
                 from,
                 relay,
                 standing,
                 ..
             }| (*from, *relay, *standing),
        )
        .collect();
    course.dedup_by_key(|(_, relay, standing)| (*relay, *standing));
    course
}

fn compare(name: &str, mut plan: Plan, chip: &mut Chip) -> usize {
    plan.duration = plan.duration.min(hours());
    let step = plan.step;
    let bench = Bench::prepare(plan, &NoFiles).expect("a plant");
    let mut edges = 0;
    for case in &bench.plan().cases {
        let here = bench.run(case, Recording::Traced);
        let here = here.expect("a plant within its model");
        let there = run_on_chip(&bench, chip, case, Recording::Traced).expect("a chip that works");
        let here = course(&here.trace.expect("traced"));
        let there = course(&there.trace.expect("traced"));
        for (place, (ours, theirs)) in here.iter().zip(&there).enumerate() {
            assert_eq!(
                (ours.1, ours.2),
                (theirs.1, theirs.2),
                "{name}, change {place}: {ours:?} against {theirs:?}"
            );
            let apart = ours.0.millis().abs_diff(theirs.0.millis());
            assert!(
                apart <= step.millis(),
                "{name}, change {place}: {ours:?} against {theirs:?}"
            );
        }
        assert_eq!(
            here.len(),
            there.len(),
            "{name}: one goes on to {:?} {:?}",
            here.last(),
            there.last()
        );
        edges += here
            .windows(2)
            .filter(|pair| pair[0].1 != pair[1].1)
            .count();
    }
    edges
}

#[test]
fn every_bundled_scenario_runs_alike_on_the_chip() {
    let mut chip = Chip::start(&Chip::image("pico")).unwrap_or_else(|error| panic!("{error}"));
    let mut compared = 0;
    for bundled in BUNDLED {
        let source = SourceText::new(bundled.name, bundled.text).expect("short");
        // A scenario that needs a weather file is not whole without one.
        let Ok(plan) = Plan::read(&source, &SearchPaths::default()) else {
            eprintln!("{}: needs a weather file", bundled.name);
            continue;
        };
        let edges = compare(bundled.name, plan, &mut chip);
        eprintln!("{}: {edges} relay edges agree", bundled.name);
        compared += edges;
    }
    assert!(compared > 10, "only {compared} relay edges were compared");
}
