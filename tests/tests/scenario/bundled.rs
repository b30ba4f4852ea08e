//! Every bundled scenario keeps what it expects, under its own seed and others.

use hysteron_bench::record::verdict::Outcome;
use hysteron_bench::run::bench::{Bench, Recording};
use hysteron_bench::scenario::ambient_table::AmbientPlan;
use hysteron_bench::scenario::bundled::BUNDLED;
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::{NoFiles, SearchPaths};
use hysteron_source::text::SourceText;

fn plan(text: &str) -> Plan {
    let search_paths = SearchPaths {
        weather: Some("year.epw".into()),
        ..SearchPaths::default()
    };
    let source = SourceText::new("bundled", text).unwrap_or_else(|rejected| panic!("{rejected}"));
    Plan::read(&source, &search_paths).unwrap_or_else(|rejected| panic!("{rejected}"))
}

#[test]
fn every_bundled_scenario_keeps_what_it_expects() {
    let mut judged = 0;
    for bundled in BUNDLED {
        let plan = plan(bundled.text);
        if let AmbientPlan::Weather { .. } = plan.ambient {
            continue;
        }
        for seed in [plan.seed, plan.seed + 1_000] {
            let plan = Plan {
                seed,
                ..plan.clone()
            };
            let bench = Bench::prepare(plan, &NoFiles)
                .unwrap_or_else(|error| panic!("{}: {error}", bundled.name));
            for case in &bench.plan().cases {
                let run = bench.run(case, Recording::VerdictsOnly);
                let run = run.unwrap_or_else(|left| panic!("{}: {left}", bundled.name));
                for verdict in &run.verdicts {
                    let (name, case) = (bundled.name, &case.name);
                    assert_eq!(
                        verdict.outcome,
                        Outcome::Holds,
                        "{name}, {case:?}, seed {seed}: {verdict:?}"
                    );
                    judged += 1;
                }
            }
        }
    }
    assert!(judged > 100, "only {judged} expectations were judged");
}

#[test]
fn all_but_one_bundled_scenario_need_no_file() {
    let with_weather = BUNDLED
        .iter()
        .filter(|bundled| matches!(plan(bundled.text).ambient, AmbientPlan::Weather { .. }))
        .map(|bundled| bundled.name);
    assert_eq!(with_weather.collect::<Vec<_>>(), ["farm-shop-year"]);
}
