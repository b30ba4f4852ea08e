//! P1 to P4 and P11: the holds on the relay, whatever happens.

use hysteron_logic::guard::StartsLimit;
use hysteron_tests::promise::drafts;
use hysteron_tests::promise::happening::Weights;
use proptest::strategy::Strategy;

use crate::lived;

/// Much that moves the relay, little that keeps it open for good.
const RESTLESS: Weights = Weights {
    readings: 12,
    probe_faults: 2,
    too_hot: 0,
    contact: 0,
    lock: 0,
    ..Weights::ALL
};

#[test]
fn p1_once_open_the_relay_rests_for_the_minimum_off_time() {
    let situations = [
        "kept open by the minimum off-time",
        "closed after a minimum off-time",
        "closed after orders during the rest",
        "closed by a fallback after a rest",
        "closed after the clock went back during the rest",
        "power lost while open",
    ];
    lived(&[1], 400, drafts::in_motion(), RESTLESS, 10, &situations);
}

#[test]
fn p2_after_power_up_the_relay_rests_for_off_time_and_stagger() {
    let weights = Weights {
        power: 4,
        ..RESTLESS
    };
    let situations = [
        "kept open by the power-up hold",
        "closed after the power-up hold",
        "power lost while closed",
        "power lost while open",
        "store lost while closed",
    ];
    lived(&[1, 2], 400, drafts::in_motion(), weights, 50, &situations);
}

#[test]
fn p3_once_closed_the_relay_runs_for_the_minimum_on_time() {
    let weights = Weights {
        too_hot: 1,
        contact: 1,
        probe_faults: 6,
        ..RESTLESS
    };
    let situations = [
        "kept closed by the minimum on-time",
        "opened after a minimum on-time",
        "opened early by a lockout",
        "opened early when switched off",
        "opened early by the fallback \"open\"",
    ];
    lived(&[3], 600, drafts::in_motion(), weights, 5, &situations);
}

#[test]
fn p4_starts_in_any_hour_stay_within_the_limit() {
    let limited = drafts::in_motion().prop_filter("a limit", |settings| {
        settings.draft().starts_per_hour != StartsLimit::Unlimited
    });
    let weights = Weights {
        readings: 20,
        changes: 1,
        modes: 1,
        ..RESTLESS
    };
    let situations = [
        "kept open by the starts limit",
        "start counted against a limit",
        "power lost while closed",
    ];
    lived(&[4], 600, limited, weights, 50, &situations);
}

#[test]
fn p11_no_clock_fault_shortens_a_hold() {
    let weights = Weights {
        clock: 8,
        changes: 1,
        modes: 1,
        ..RESTLESS
    };
    let situations = [
        "closed after the clock went back during the rest",
        "closed after the clock stood still during the rest",
        "closed after the clock leapt during the rest",
        "opened after a clock fault during the on-time",
        "kept open by the starts limit",
    ];
    lived(
        &[1, 2, 3, 4],
        1_000,
        drafts::in_motion(),
        weights,
        10,
        &situations,
    );
}
