//! `tests/peers/reference.toml` as `hysteron run` runs it, against its closed forms.
#![expect(
    clippy::print_stdout,
    reason = "the size of the errors is worth reading"
)]

use hysteron_bench::run::bench::{Bench, CaseRun, Recording};
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::{NoFiles, SearchPaths};
use hysteron_logic::guard::Relay;
use hysteron_source::text::SourceText;

const SCENARIO: &str = include_str!("../../peers/reference.toml");

const TIME_CONSTANT_S: f64 = 1_800.0;
const SETTLED_ON_C: f64 = -15.0;
const SETTLED_OFF_C: f64 = 25.0;
const CUT_IN_C: f64 = 4.0;
const CUT_OUT_C: f64 = 2.0;
const START_C: f64 = 10.0;
const END_S: f64 = 86_400.0;
/// The control holds temperatures in thousandths of a degree, so it finds one reached that is
/// nearer to the threshold than half of that.
const HALF_A_MILLIKELVIN: f64 = 0.000_5;

/// A movement of the relay and its time since power-up, in s.
type Switching = (f64, Relay);

/// When a change is made that is due so long after the one before, in s.
type Made = fn(f64) -> f64;

fn at_once(due_s: f64) -> f64 {
    due_s
}

fn on_whole_seconds(due_s: f64) -> f64 {
    due_s.ceil()
}

/// Switching instants in closed form: each rest and each run is τ ln((T − T∞) / (T_target − T∞)).
fn closed_form(off_s: f64, made: Made, tolerance_k: f64) -> Vec<Switching> {
    let mut switchings = Vec::new();
    let (mut time_s, mut temperature_c) = (0.0, START_C);
    let towards = |settled_c: f64, temperature_c: f64, elapsed_s: f64| {
        settled_c + (temperature_c - settled_c) * (-elapsed_s / TIME_CONSTANT_S).exp()
    };
    let until = |settled_c: f64, temperature_c: f64, target_c: f64| {
        TIME_CONSTANT_S * ((temperature_c - settled_c) / (target_c - settled_c)).ln()
    };
    loop {
        let natural_s = until(SETTLED_OFF_C, temperature_c, CUT_IN_C - tolerance_k);
        let rest_s = made(natural_s).max(off_s);
        time_s += rest_s;
        if time_s >= END_S {
            return switchings;
        }
        switchings.push((time_s, Relay::Closed));
        temperature_c = towards(SETTLED_OFF_C, temperature_c, rest_s);
        let run_s = made(until(SETTLED_ON_C, temperature_c, CUT_OUT_C + tolerance_k));
        time_s += run_s;
        if time_s >= END_S {
            return switchings;
        }
        switchings.push((time_s, Relay::Open));
        temperature_c = towards(SETTLED_ON_C, temperature_c, run_s);
    }
}

/// Movements of the relay, as the trace has them.
fn switchings(run: &CaseRun) -> Vec<Switching> {
    let trace = run.trace.as_ref().expect("a trace");
    assert_eq!(trace.stretches_left_out(), 0);
    let mut relay = Relay::Open;
    let mut switchings = Vec::new();
    for stretch in trace.stretches() {
        if stretch.relay != relay {
            relay = stretch.relay;
            switchings.push((stretch.from.millis() as f64 / 1e3, relay));
        }
    }
    switchings
}

/// The largest difference between the instants of two lists, in s, over the movements of both.
fn largest_error_s(one: &[Switching], other: &[Switching]) -> f64 {
    one.iter().zip(other).fold(0.0, |largest, (a, b)| {
        assert_eq!(a.1, b.1);
        f64::max(largest, (a.0 - b.0).abs())
    })
}

#[test]
fn the_bench_switches_where_the_closed_form_of_the_sampled_problem_does() {
    let source = SourceText::new("reference.toml", SCENARIO).expect("it is text");
    let plan = Plan::read(&source, &SearchPaths::default()).expect("it is a plan");
    let bench = Bench::prepare(plan, &NoFiles).expect("it can be built");
    // Each decision is up to a second late. Where the temperature makes them all, that adds up;
    // a rest that the timer ends makes good what came late before it.
    for (case, off_s, cycles, sampled_s, continuous_s) in [
        (&bench.plan().cases[0], 180.0, 215, 0.0, 2.0),
        (&bench.plan().cases[1], 120.0, 234, 20.0, 480.0),
    ] {
        let run = bench
            .run(case, Recording::Traced)
            .expect("within its model");
        let found = switchings(&run);
        assert!(found.len() >= 2 * cycles, "{}", found.len());
        let held = closed_form(off_s, on_whole_seconds, HALF_A_MILLIKELVIN);
        assert_eq!(found, held, "{off_s} s");
        let sampled = closed_form(off_s, on_whole_seconds, 0.0);
        let continuous = closed_form(off_s, at_once, 0.0);
        let from_sampled_s = largest_error_s(&found, &sampled);
        let from_continuous_s = largest_error_s(&found, &continuous);
        println!(
            "{off_s} s: {} movements, {} sampled, {} continuous; off by {from_sampled_s} s and \
             {from_continuous_s} s",
            found.len(),
            sampled.len(),
            continuous.len()
        );
        assert!(from_sampled_s <= sampled_s, "{from_sampled_s}");
        assert!(from_continuous_s < continuous_s, "{from_continuous_s}");
    }
}
