//! The promises P1 to P14 as properties, and an exhaustive walk of the control.
//!
//! Each test prints how often the situations it is about were reached, and
//! fails if one was not. `PROPTEST_RNG_SEED=1` (or any other number) tries
//! other lives than the usual ones.
#![expect(
    clippy::print_stdout,
    reason = "how often each situation was reached is worth reading"
)]

mod alarms;
mod extra_steps;
mod holds;
mod liveness;
mod lost_voltage;
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
use hysteron_tests::promise::tally::Tally;
use proptest::collection::vec;
use proptest::strategy::Strategy;

/// Lives `cases` lives of up to 120 happenings and asserts that `promises`
/// were kept and that each of `situations` was reached `floor` times or more; returns
/// what was reached.
fn lived(
    promises: &[u8],
    cases: u32,
    settings: impl Strategy<Value = Settings>,
    weights: Weights,
    floor: u64,
    situations: &[&str],
) -> Tally {
    let runner = &mut runner(cases, "proptest-regressions/lives.txt");
    let tally = keeps(promises, runner, settings, vec(happening(weights), 1..120));
    for situation in situations {
        println!("{:>9}  {situation}", tally.of(situation));
    }
    tally.assert_reached(floor, situations);
    tally
}

#[test]
fn no_promise_is_broken_in_any_life() {
    let promises: Vec<u8> = (1..=13).collect();
    let situations = [
        "closed after a minimum off-time",
        "closed after the power-up hold",
        "kept open by the starts limit",
        "four events or more in one step",
        "curve of a believed probe changed",
        "steps watched",
        "probe judged with room for rounding",
        "call judged with room for rounding",
        "probe judged with room for a faulty clock",
    ];
    let tally = lived(
        &promises,
        1_000,
        drafts::in_motion(),
        Weights::ALL,
        1,
        &situations,
    );
    // Where the observer has to make room it would overlook a fault.
    let share = |situation| tally.of(situation) as f64 / tally.of("steps watched") as f64;
    assert!(share("probe judged with room for rounding") < 0.000_1);
    assert!(share("call judged with room for rounding") < 0.01);
    assert!(share("probe judged with room for a faulty clock") < 0.2);
}
