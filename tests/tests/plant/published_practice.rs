//! Compressors against published limits, and cold holding as the food code has it.
//!
//! The limits: "Selection and application guidelines, scroll compressors", no.
//! FRCC.PC.007.B5.02 (no year on it), cycle rate limit, p. 27: a unit starts no more than 12
//! times in an hour, rests for 3 minutes before it starts again and runs for 2 minutes once
//! started. It speaks of air-conditioning scrolls; no nearer figure was found.

use hysteron_bench::record::runs::RunTotals;
use hysteron_bench::record::verdict::{Evidence, Outcome};
use hysteron_bench::run::bench::{Bench, CaseRun, Recording};
use hysteron_bench::scenario::ambient_table::AmbientPlan;
use hysteron_bench::scenario::bundled::BUNDLED;
use hysteron_bench::scenario::happening::{Edge, Happening};
use hysteron_bench::scenario::plan::{Case, ContactFeedback, Plan};
use hysteron_bench::scenario::search_paths::{NoFiles, SearchPaths};
use hysteron_logic::settings::Load;
use hysteron_logic::time::Duration;
use hysteron_source::text::SourceText;

const MOST_STARTS_AN_HOUR: u64 = 12;
const SHORTEST_REST: Duration = Duration::from_minutes(3);
const SHORTEST_RUN: Duration = Duration::from_minutes(2);

fn bench(text: &str) -> Bench {
    let search_paths = SearchPaths {
        weather: Some("year.epw".into()),
        ..SearchPaths::default()
    };
    let source = SourceText::new("test", text).unwrap_or_else(|rejected| panic!("{rejected}"));
    let plan = Plan::read(&source, &search_paths).unwrap_or_else(|rejected| panic!("{rejected}"));
    Bench::prepare(plan, &NoFiles).unwrap()
}

fn runs(bench: &Bench) -> impl Iterator<Item = CaseRun> {
    let cases = bench.plan().cases.iter();
    cases.map(|case| {
        let run = bench.run(case, Recording::VerdictsOnly);
        run.expect("a plant within its model")
    })
}

/// Which limits were broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Broken {
    starts: bool,
    rest: bool,
    run: bool,
}

impl Broken {
    fn by(runs: &RunTotals) -> Self {
        let short = |shortest: Option<Duration>, limit| shortest.is_some_and(|it| it < limit);
        Self {
            starts: runs.most_starts_in_an_hour > MOST_STARTS_AN_HOUR,
            rest: short(runs.shortest_rest, SHORTEST_REST),
            run: short(runs.shortest_run, SHORTEST_RUN),
        }
    }
}

/// Every scenario with a compressor that ships and needs no file, under four seeds; a case without guard is there
/// to show what the guard is for, and does.
/// Whether the supply of this case dips while its board stays awake.
fn dips(case: &Case) -> bool {
    case.timeline
        .edges()
        .any(|timed| matches!(timed.edge, Edge::Begins(Happening::SupplyDips(_))))
}

#[test]
fn the_bundled_compressors_stay_within_published_limits() {
    let (mut judged, mut starts, mut witnesses, mut stalled) = (0, 0, 0, 0);
    for bundled in BUNDLED {
        let search_paths = SearchPaths {
            weather: Some("year.epw".into()),
            ..SearchPaths::default()
        };
        let source = SourceText::new(bundled.name, bundled.text).unwrap();
        let plan =
            Plan::read(&source, &search_paths).unwrap_or_else(|rejected| panic!("{rejected}"));
        if let AmbientPlan::Weather { .. } = plan.ambient {
            continue;
        }
        for seed in plan.seed..plan.seed + 4 {
            let plan = Plan {
                seed,
                ..plan.clone()
            };
            let bench = Bench::prepare(plan, &NoFiles).unwrap();
            for run in runs(&bench) {
                let settings = run.case.settings.draft();
                if settings.load != Load::Compressor {
                    continue;
                }
                let (name, case) = (bundled.name, &run.case.name);
                // Without feedback a load that stalls in a dip restarts at once.
                if run.case.contact_feedback == ContactFeedback::NotFitted && dips(&run.case) {
                    assert!(Broken::by(&run.runs).rest, "{name}, {case:?}: {run:?}");
                    stalled += 1;
                    continue;
                }
                let broken = Broken::by(&run.runs);
                if settings.minimum_off_time < SHORTEST_REST {
                    assert!(broken.starts && broken.rest, "{name}, {case:?}: {run:?}");
                    witnesses += 1;
                    continue;
                }
                assert!(!broken.starts, "{name}, {case:?}, {seed}: {:?}", run.runs);
                assert!(!broken.rest, "{name}, {case:?}, {seed}: {:?}", run.runs);
                assert!(!broken.run, "{name}, {case:?}, {seed}: {:?}", run.runs);
                starts += run.runs.starts;
                judged += 1;
            }
        }
    }
    assert!(judged >= 40, "{judged} runs");
    assert!(starts > 1_000, "{starts} starts");
    assert!(witnesses > 0 && stalled > 0, "{witnesses} {stalled}");
}

/// A cooler whose air and probe are so quick, and whose differential so small, that it is at the
/// guard's mercy.
fn nervous_cooler(differential_k: f64, air_j_k: u32, lag_s: u32, seed: u32) -> String {
    format!(
        r#"
title = "A nervous cooler"
duration = "6 h"
seed = {seed}

[plant]
kind = "refrigerated box"
product_kg = 40
air_capacity_j_k = {air_j_k}
coil_capacity_j_k = 1_500
product_air_w_k = 12
coil_still_w_k = 6
walls_ambient_w_k = 2
air_start_c = 4

[plant.compressor]
rated_capacity_w = 400
evaporator_w_k = 160

[ambient]
kind = "constant"
temperature = "30 °C"

[probe]
lag = "{lag_s} s"

[control]
mode = "cool"
setpoint = "2 °C"
differential = "{differential_k} K"

[[variant]]
name = "as delivered"
settings = {{}}

[[variant]]
name = "at the published limits"
settings = {{ minimum_off_time = "3 min", minimum_on_time = "2 min", starts_per_hour = 12 }}

[[variant]]
name = "unguarded"
settings = {{ minimum_off_time = "0 s", minimum_on_time = "0 s", confirm_short_off_time = true }}
"#
    )
}

/// Swept over differential, air, probe lag and seed: with the guard as delivered the compressor
/// starts and rests as published, with the guard set to the limits it runs as published too, and
/// without the guard every one of them breaks every limit.
#[test]
fn the_guard_keeps_a_nervous_cooler_within_published_limits() {
    let (mut coolers, mut without) = (0, [0; 3]);
    for differential_k in [0.3, 0.5, 1.0] {
        for air_j_k in [3_000, 6_000, 12_000] {
            for (lag_s, seed) in [(2, 1), (10, 2), (30, 3)] {
                let text = nervous_cooler(differential_k, air_j_k, lag_s, seed);
                let [delivered, limits, unguarded] = runs(&bench(&text))
                    .map(|run| (Broken::by(&run.runs), run.runs))
                    .collect::<Vec<_>>()
                    .try_into()
                    .unwrap();
                let what = format!("{differential_k} K, {air_j_k} J/K, {lag_s} s");
                assert!(
                    !delivered.0.starts && !delivered.0.rest,
                    "{what}: {delivered:?}"
                );
                let none = Broken {
                    starts: false,
                    rest: false,
                    run: false,
                };
                assert_eq!(limits.0, none, "{what}: {limits:?}");
                coolers += 1;
                let Broken { starts, rest, run } = unguarded.0;
                for (count, broken) in without.iter_mut().zip([starts, rest, run]) {
                    *count += usize::from(broken);
                }
            }
        }
    }
    assert_eq!(coolers, 27);
    assert_eq!(without, [coolers; 3]);
}

/// FDA Food Code 2022, 3-501.16(A)(2): the food is held at 5 °C (41 °F) or less; of the air it
/// says nothing. While a delivery holds the door of the walk-in open, the air is warmer than that
/// and the food is not.
#[test]
fn cold_holding_is_judged_on_the_product_and_not_on_the_air() {
    let walk_in = BUNDLED
        .iter()
        .find(|it| it.name == "works-canteen")
        .unwrap();
    let text = format!(
        r#"{}
[[happening]]
at = "22:30"
for = "15 min"
what = "door opens"

[[expect]]
quantity = "air temperature"
at_most = "5 °C"
"#,
        walk_in.text
    );
    let run = runs(&bench(&text)).next().unwrap();
    let (air, rest) = run.verdicts.split_last().unwrap();
    assert_eq!(air.outcome, Outcome::Fails);
    let Evidence::Extremes { highest, .. } = air.finding else {
        panic!("{air:?}")
    };
    assert!(highest.0 > 6.0, "{highest:?}");
    let is_food_code = |because: &str| because.starts_with("FDA Food Code 2022, 3-501.16");
    let food: Vec<Outcome> = rest
        .iter()
        .filter(|verdict| {
            let because = verdict.expectation.because.as_deref();
            because.is_some_and(is_food_code)
        })
        .map(|verdict| verdict.outcome)
        .collect();
    assert_eq!(food, [Outcome::Holds]);
}
