//! A short run in which much happens, for those who tell of runs.

use hysteron_bench::run::bench::{Bench, CaseRun, Recording};
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::{NoFiles, SearchPaths};
use hysteron_source::text::SourceText;

/// Two cases on the first-order plant: the probe fails, the power is cut, one expectation fails
/// and one is never reached. Title and reason hold what every format has to escape.
pub const SAMPLE: &str = r#"
title = "Two <fallbacks> & a \"power cut\""
duration = "6 h"
seed = 11

[plant]
kind = "first order"

[probe]
noise_codes = 0

[control]
mode = "cool"
setpoint = "2 °C"
differential = "2 K"

[[variant]]
name = "open, as ever"
settings = { fallback = "open" }

[[variant]]
name = "closed"
settings = { fallback = "keep closed" }

[[happening]]
at = "02:00"
for = "1 h"
what = "probe opens"

[[happening]]
at = "04:00"
for = "10 min"
what = "power is cut"

[[expect]]
quantity = "reference temperature"
at_most = "12 °C"
because = "a < b & \"c\""

[[expect]]
order = ["probe open", "probe recovered"]

[[expect]]
count = "probe frozen"
at_most = 0

[[expect]]
shortest = "rest"
at_least = "30 min"
from = "05:59"
"#;

/// The plan of `text` and its runs, traced.
///
/// # Panics
/// When `text` is no scenario, or its plant leaves what the model knows.
#[must_use]
pub fn run(text: &str) -> (Plan, Vec<CaseRun>) {
    let source = SourceText::new("sample.toml", text).expect("short enough");
    let plan = match Plan::read(&source, &SearchPaths::default()) {
        Ok(plan) => plan,
        Err(rejected) => panic!("{rejected}"),
    };
    let bench = Bench::prepare(plan, &NoFiles).expect("a plant that can be built");
    let cases = bench.plan().cases.iter();
    let runs = cases
        .map(|case| {
            bench
                .run(case, Recording::Traced)
                .expect("within its model")
        })
        .collect();
    (bench.plan().clone(), runs)
}
