//! Every sequence of inputs over small alphabets, until no new state turns up.

use hysteron_logic::call::Mode;
use hysteron_logic::control::SettingsLock::{Locked, Unlocked};
use hysteron_logic::fallback::{Cycle, Fallback};
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::lockout::RepeatLimit;
use hysteron_logic::probe::FrozenCheck;
use hysteron_logic::settings::{Confirmation, Draft, Settings};
use hysteron_logic::time::Duration;
use hysteron_logic::units::{Difference, Temperature};
use hysteron_tests::promise::happening::Store;
use hysteron_tests::promise::letters::{Contact, Letter, Said, plain};
use hysteron_tests::promise::state_walk::{Walk, Walked};
use hysteron_tests::promise::world::ClockRecord;

/// Heat calls, cooling is satisfied.
const COLD: Option<i32> = Some(3_900);
/// Between cut-in and cut-out of both.
const BETWEEN: Option<i32> = Some(4_500);
/// Cooling calls, heat is satisfied.
const WARM: Option<i32> = Some(5_100);
/// Above the ceiling.
const HOT: Option<i32> = Some(6_100);
/// A broken lead.
const BROKEN: Option<i32> = None;

/// Both modes switch at 4 and 5 °C; the ceiling is just above 6 °C.
fn settings(mode: Mode, off_s: u32, on_s: u32, change: impl FnOnce(&mut Draft)) -> Settings {
    let mut draft = Draft {
        mode,
        setpoint: Temperature::from_millicelsius(match mode {
            Mode::Cool => 4_000,
            Mode::Heat => 5_000,
        }),
        differential: Difference::from_millikelvin(1_000),
        heat_ceiling: Temperature::from_millicelsius(6_050),
        heat_ceiling_confirmation: Duration::from_seconds(20),
        minimum_off_time: Duration::from_seconds(off_s),
        minimum_on_time: Duration::from_seconds(on_s),
        power_up_stagger: Duration::from_seconds(10),
        probe_fault_delay: Duration::from_seconds(20),
        probe_recovery_time: Duration::from_seconds(20),
        probe_frozen: FrozenCheck::Off,
        probe_fault_lockout: RepeatLimit::Unlimited,
        short_off_time: Confirmation::Given,
        heat_without_probe: Confirmation::Given,
        ..Draft::COOLING
    };
    change(&mut draft);
    draft
        .check()
        .unwrap_or_else(|refused| panic!("{refused}: {draft:?}"))
}

fn told(name: &str, walked: &Walked) {
    println!(
        "{name}: {} states, {} edges, {} pairs compared, at most {} events in a step\n{}",
        walked.states, walked.edges, walked.compared, walked.most_events, walked.tally
    );
    assert!(walked.compared > 100);
    let after = walked.letters_compared.len();
    assert_eq!(
        after, walked.letters,
        "histories met and were compared after {after} letters"
    );
}

/// Every reading with and without each command, before and behind the lock,
/// on a sound and on a welded contact; losses of power with and without a store.
fn orders(_: bool) -> Vec<Letter> {
    let said = [
        Said::Change(0),
        Said::Change(1),
        Said::Change(2),
        Said::Release,
        Said::Off,
        Said::On,
    ];
    let mut letters = vec![Letter::Cut(Store::Kept), Letter::Cut(Store::Lost)];
    for reads in [COLD, BETWEEN, WARM, HOT, BROKEN] {
        let step = |command, lock, contact| Letter::Step {
            true_ms: 10_000,
            told_ms: 10_000,
            reads,
            command,
            lock,
            contact,
        };
        letters.push(step(None, Unlocked, Contact::Follows));
        letters.push(step(None, Unlocked, Contact::Welded));
        for command in said {
            letters.push(step(Some(command), Unlocked, Contact::Follows));
            letters.push(step(Some(command), Locked, Contact::Follows));
        }
    }
    letters
}

#[test]
fn every_order_and_every_reading() {
    let walk = Walk {
        settings: vec![
            settings(Mode::Cool, 20, 20, |_| ()),
            settings(Mode::Heat, 30, 20, |draft| {
                draft.fallback = Fallback::TimedCycle(Cycle {
                    on: Duration::from_minutes(1),
                    off: Duration::from_minutes(1),
                });
            }),
            settings(Mode::Cool, 0, 0, |draft| draft.fallback = Fallback::Closed),
        ],
        alphabet: orders,
        horizon_ms: 60_000,
        clock: ClockRecord::Faithful,
        starts: 0,
    };
    let walked = walk.walked();
    told("orders and readings", &walked);
    walked.tally.assert_reached(
        10,
        &[
            "kept open by the minimum off-time",
            "kept open by the power-up hold",
            "kept closed by the minimum on-time",
            "closed after a minimum off-time",
            "closed after the power-up hold",
            "closed by the fallback",
            "opened by the fallback",
            "opened early by the heat ceiling",
            "opened early by the fallback \"open\"",
            "opened early when switched off",
            "last good value held",
            "probe fault declared after a delay",
            "probe fault withdrawn after a good spell",
            "ceiling reached and not confirmed",
            "probe failed at the ceiling",
            "locked out by the heat ceiling",
            "locked out by a welded contact",
            "power cycled in lockout",
            "release of a lockout",
            "release of a lockout behind the lock",
            "change of mode behind the lock",
            "change of mode while closed",
            "opened because the mode was changed",
            "heat runs without a probe",
            "run of heat without a probe ended",
        ],
    );
}

/// Calls and satisfaction, and a loss of power.
fn starting(_: bool) -> Vec<Letter> {
    vec![
        plain(10_000, WARM),
        plain(10_000, COLD),
        Letter::Cut(Store::Kept),
    ]
}

fn only_starts(limit: u8) -> Walk {
    Walk {
        settings: vec![settings(Mode::Cool, 20, 10, |draft| {
            draft.starts_per_hour = StartsLimit::PerHour(limit);
        })],
        alphabet: starting,
        horizon_ms: 30_000,
        clock: ClockRecord::Faithful,
        starts: usize::from(limit),
    }
}

#[test]
fn every_hour_of_starts() {
    for limit in [1, 2] {
        let walked = only_starts(limit).walked();
        told(&format!("starts, {limit} in an hour"), &walked);
        walked.tally.assert_reached(
            10,
            &[
                "kept open by the starts limit",
                "start counted against a limit",
                "power lost while closed",
            ],
        );
    }
}

/// A clock that runs, stands still and catches up, goes back by a little or by
/// hours, and leaps ahead; under a call and satisfied.
fn clocks(stood: bool) -> Vec<Letter> {
    const HOUR_MS: i32 = 3_600_000;
    let mut moves = vec![5_000, 0, -10_000, -2 * HOUR_MS, HOUR_MS];
    if stood {
        // What it withheld while it stood, and this step.
        moves.push(10_000);
    }
    let reads = [WARM, COLD];
    let step = |(told_ms, reads)| Letter::Step {
        true_ms: 5_000,
        told_ms,
        reads,
        command: None,
        lock: Unlocked,
        contact: Contact::Follows,
    };
    let pairs = moves
        .iter()
        .flat_map(|&told_ms| reads.map(|reads| (told_ms, reads)));
    pairs.map(step).collect()
}

#[test]
fn every_way_a_clock_can_fail() {
    let walk = Walk {
        settings: vec![settings(Mode::Cool, 20, 20, |_| ())],
        alphabet: clocks,
        horizon_ms: 30_000,
        clock: ClockRecord::Faulty,
        starts: 0,
    };
    let walked = walk.walked();
    told("clock faults", &walked);
    walked.tally.assert_reached(
        100,
        &[
            "kept open by the minimum off-time",
            "kept open by the power-up hold",
            "kept closed by the minimum on-time",
            "closed after a minimum off-time",
        ],
    );
    walked
        .tally
        .assert_reached(1, &["opened after a minimum on-time"]);
}

/// A call that comes and goes on a load whose voltage does.
fn voltages(_: bool) -> Vec<Letter> {
    let contacts = [Contact::Follows, Contact::Dead];
    let pairs = contacts
        .iter()
        .flat_map(|&contact| [WARM, COLD].map(|reads| (contact, reads)));
    let step = |(contact, reads)| Letter::Step {
        true_ms: 1_000,
        told_ms: 1_000,
        reads,
        command: None,
        lock: Unlocked,
        contact,
    };
    pairs.map(step).chain([Letter::Cut(Store::Kept)]).collect()
}

#[test]
fn every_way_a_voltage_can_fail() {
    let walk = Walk {
        settings: vec![settings(Mode::Cool, 20, 10, |_| ())],
        alphabet: voltages,
        horizon_ms: 65_000,
        clock: ClockRecord::Faithful,
        starts: 0,
    };
    let walked = walk.walked();
    told("voltages", &walked);
    walked.tally.assert_reached(
        4,
        &[
            "voltage lost while the load ran",
            "voltage lost within the minimum on-time",
            "no voltage after a closing",
            "no voltage after the next closing",
            "closed again after a lost voltage",
            "opened early by a lost voltage",
        ],
    );
}
