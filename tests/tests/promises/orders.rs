//! P7, P8 and P12: what a person asks for, and what holds whatever is asked.

use hysteron_tests::promise::drafts;
use hysteron_tests::promise::happening::Weights;

use crate::lived;

#[test]
fn p7_locked_out_is_open_until_the_reset() {
    let weights = Weights {
        too_hot: 3,
        contact: 2,
        probe_faults: 10,
        modes: 1,
        ..Weights::ALL
    };
    let situations = [
        "ceiling reached and not confirmed",
        "opened early by the heat ceiling",
        "locked out by the heat ceiling",
        "locked out by a welded contact",
        "locked out by repeated probe faults",
        "locked out by unreadable settings",
        "locked out while closed",
        "call in a lockout",
        "power cycled in lockout",
        "release of a lockout",
    ];
    lived(&[7], 1_000, drafts::in_motion(), weights, 5, &situations);
}

#[test]
fn p8_behind_the_settings_lock_no_command_does_anything() {
    let weights = Weights {
        lock: 4,
        changes: 3,
        modes: 3,
        orders: 5,
        too_hot: 3,
        ..Weights::ALL
    };
    let situations = [
        "change of settings behind the lock",
        "change of mode behind the lock",
        "release of a lockout behind the lock",
        "switched behind the lock",
        "change of settings",
        "release of a lockout",
    ];
    lived(&[7, 8], 400, drafts::in_motion(), weights, 50, &situations);
}

#[test]
fn p12_a_change_of_mode_opens_the_relay_and_any_change_is_judged_at_once() {
    let weights = Weights {
        changes: 4,
        modes: 4,
        too_hot: 0,
        contact: 0,
        ..Weights::ALL
    };
    let situations = [
        "change of settings",
        "offset of a believed probe changed",
        "change of mode while open",
        "change of mode while closed",
        "change of mode during a call",
        "opened because the mode was changed",
        "kept closed by the minimum on-time",
    ];
    lived(
        &[1, 2, 3, 4, 5, 12],
        400,
        drafts::in_motion(),
        weights,
        50,
        &situations,
    );
}
