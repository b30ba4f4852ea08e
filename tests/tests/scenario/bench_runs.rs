//! The bench as a whole: it repeats, it restarts a board that lost its supply,
//! and what happens in the installation reaches the load.

use hysteron_bench::record::runs::{Fed, Runner};
use hysteron_bench::record::trace::{Entry, Standing};
use hysteron_bench::record::verdict::Outcome;
use hysteron_bench::run::bench::{Bench, CaseRun, Recording};
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::{NoFiles, SearchPaths};
use hysteron_logic::control::Reason;
use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;
use hysteron_source::text::SourceText;

const COOLER: &str = r#"
title = "A cooler"
duration = "6 h"
[plant]
kind = "refrigerated box"
[control]
mode = "cool"
setpoint = "2 °C"
differential = "2 K"
"#;

fn run(more: &str, recording: Recording) -> CaseRun {
    let source = SourceText::new("test", format!("{COOLER}\n{more}")).unwrap();
    let plan = match Plan::read(&source, &SearchPaths::default()) {
        Ok(plan) => plan,
        Err(rejected) => panic!("{}", rejected.styled()),
    };
    let bench = Bench::prepare(plan, &NoFiles).unwrap();
    let run = bench.run(&bench.plan().cases[0], recording);
    run.expect("a plant within its model")
}

fn seconds(seconds: u32) -> Duration {
    Duration::from_seconds(seconds)
}

#[test]
fn a_run_repeats_exactly_whether_traced_or_not() {
    let traced = run("", Recording::Traced);
    let again = run("", Recording::Traced);
    assert!(traced.runs.starts > 5, "{:?}", traced.runs);
    assert_eq!(traced.trace, again.trace);
    assert_eq!(traced.runs, run("", Recording::VerdictsOnly).runs);
}

#[test]
fn a_board_that_lost_its_supply_starts_anew_and_rests_the_load() {
    let cut = run(
        "[[happening]]\nat = \"03:00\"\nfor = \"40 s\"\nwhat = \"power is cut\"\n",
        Recording::Traced,
    );
    let trace = cut.trace.unwrap();
    let at = |entry: &Entry| {
        let mut times = trace.entries().iter().filter(|(_, found)| found == entry);
        times.next_back().map(|(at, _)| *at)
    };
    assert_eq!(at(&Entry::PowerLost), Some(seconds(10_800)));
    assert_eq!(at(&Entry::PowerUp), Some(seconds(10_840)));
    let next_start = trace
        .stretches()
        .iter()
        .find(|stretch| stretch.from > seconds(10_840) && stretch.relay == Relay::Closed)
        .unwrap();
    assert!(next_start.from >= seconds(10_840 + 300), "{next_start:?}");
    let unpowered = trace
        .stretches()
        .iter()
        .find(|stretch| stretch.standing == Standing::Unpowered);
    assert_eq!(unpowered.unwrap().feeds.load, Fed::Dead);
}

#[test]
fn a_welded_contact_is_found_and_the_load_runs_on_in_lockout() {
    let welded = run(
        "[[happening]]\nat = \"02:00\"\nwhat = \"contact welds\"\n\
         [[expect]]\norder = [\"contact welded\", \"lockout\"]\n\
         [[expect]]\nrelay = \"open\"\nfrom = \"04:00\"\n",
        Recording::Traced,
    );
    assert!(
        welded
            .verdicts
            .iter()
            .all(|verdict| verdict.outcome == Outcome::Holds)
    );
    let trace = welded.trace.unwrap();
    let last = trace.stretches().last().unwrap();
    assert_eq!(last.feeds.load, Fed::Energised);
    assert!(matches!(
        last.standing,
        Standing::Because(Reason::LockedOut(_))
    ));
    let events = trace.entries().iter();
    let proven = events.filter(|(_, entry)| *entry == Entry::Control(Event::ContactWelded));
    assert_eq!(proven.count(), 1);
}

#[test]
fn what_was_never_reached_is_no_success() {
    let quiet = run(
        "[[expect]]\nshortest = \"rest\"\nat_least = \"5 min\"\nfrom = \"00:00\"\nuntil = \"00:04\"\n",
        Recording::VerdictsOnly,
    );
    assert_eq!(quiet.verdicts[0].outcome, Outcome::NeverReached);
}

/// What is counted of the load and of the compressor stays apart: with a valve that leaks the
/// one has a handful of starts, the other hundreds, and both within the relay's own hours.
#[test]
fn a_leaking_valve_moves_the_compressor_and_not_the_relay() {
    const EXPECT: &str = "[[expect]]\ncount = \"starts in any hour\"\nat_most = 8\n\
         [[expect]]\ncount = \"compressor starts in any hour\"\nat_most = 8\n\
         [[expect]]\nshortest = \"compressor rest\"\nat_least = \"3 min\"\n";
    const LEAK: &str = "[[happening]]\nat = \"02:00\"\nwhat = \"valve leaks\"\nshare = \"1 %\"\n";
    let pumping = |more: &str| {
        run(
            &format!("[plant.pump_down]\n{more}{EXPECT}"),
            Recording::Traced,
        )
    };
    let (sound, leaking) = (pumping(""), pumping(LEAK));
    let outcomes = |run: &CaseRun| -> Vec<Outcome> {
        run.verdicts.iter().map(|verdict| verdict.outcome).collect()
    };
    use Outcome::{Fails, Holds};
    assert_eq!(outcomes(&sound), [Holds, Holds, Holds]);
    assert_eq!(outcomes(&leaking), [Holds, Fails, Fails]);
    let compressor = |run: &CaseRun| run.compressor.unwrap();
    assert!(sound.runs.starts > 5, "{:?}", sound.runs);
    assert!(compressor(&sound).starts.abs_diff(sound.runs.starts) <= 1);
    assert!(compressor(&leaking).starts > 5 * leaking.runs.starts);
    let hours = leaking.trace.as_ref().unwrap().tally().hours();
    let counted: u32 = hours
        .iter()
        .map(|hour| hour.of(Runner::Compressor).starts)
        .sum();
    assert_eq!(u64::from(counted), compressor(&leaking).starts);
    assert!(run("", Recording::VerdictsOnly).compressor.is_none());
}
