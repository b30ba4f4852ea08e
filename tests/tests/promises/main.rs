//! The promises P1 to P14 as properties, and an exhaustive walk of the control.
//!
//! Each test prints how often the situations it is about were reached, and
//! fails if one was not. `PROPTEST_RNG_SEED=1` (or any other number) tries
//! other lives than the usual ones.
#![expect(
    clippy::print_stdout,
    reason = "how often each situation was reached is worth reading"
)]

mod extra_steps;
mod holds;
mod liveness;
mod orders;
mod panel_machine;
mod probe_faults;
mod settings;
mod symmetry;
mod walk;

use hysteron_logic::settings::Settings;
use hysteron_tests::promise::drafts;
use hysteron_tests::promise::happening::{Weights, happening};
use hysteron_tests::promise::run::{keeps, runner};
use proptest::collection::vec;
use proptest::strategy::Strategy;

/// Lives `cases` lives of up to 120 happenings and asserts that `promises`
/// were kept and that each of `situations` was reached `floor` times or more.
fn lived(
    promises: &[u8],
    cases: u32,
    settings: impl Strategy<Value = Settings>,
    weights: Weights,
    floor: u64,
    situations: &[&str],
) {
    let runner = &mut runner(cases, "proptest-regressions/lives.txt");
    let tally = keeps(promises, runner, settings, vec(happening(weights), 1..120));
    for situation in situations {
        println!("{:>9}  {situation}", tally.of(situation));
    }
    tally.assert_reached(floor, situations);
}

#[test]
fn no_promise_is_broken_in_any_life() {
    let promises: Vec<u8> = (1..=12).collect();
    let situations = [
        "closed after a minimum off-time",
        "closed after the power-up hold",
        "kept open by the starts limit",
        "four events or more in one step",
    ];
    lived(
        &promises,
        1_000,
        drafts::in_motion(),
        Weights::ALL,
        1,
        &situations,
    );
}
