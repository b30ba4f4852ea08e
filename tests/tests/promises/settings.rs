//! Settings: any draft is judged, accepted ones outlive the store, and no bytes at all do harm.

use std::cell::RefCell;
use std::collections::BTreeMap;

use hysteron_logic::codec::{
    RETAINED_LEN, SETTINGS_LEN, retained_from_bytes, retained_to_bytes, settings_from_bytes,
    settings_to_bytes,
};
use hysteron_logic::control::Control;
use hysteron_logic::control::{Retained, StoredSettings};
use hysteron_logic::settings::Settings;
use hysteron_tests::promise::drafts;
use hysteron_tests::promise::happening::{Weights, happening};
use hysteron_tests::promise::run::{live_through, runner};
use proptest::collection::vec;
use proptest::prelude::*;

const KEPT_IN: &str = "proptest-regressions/settings.txt";

#[test]
fn any_draft_is_accepted_or_refused_with_a_reason() {
    let refusals = RefCell::new(BTreeMap::<String, u32>::new());
    let accepted = std::cell::Cell::new(0);
    let outcome = runner(30_000, KEPT_IN).run(&drafts::any_draft(), |draft| {
        match draft.check() {
            Ok(settings) => {
                accepted.set(accepted.get() + 1);
                prop_assert_eq!(*settings.draft(), draft);
                let bytes = settings_to_bytes(&settings);
                prop_assert_eq!(settings_from_bytes(&bytes), Ok(settings));
                let stored = StoredSettings::Whole(settings);
                let control = Control::at_power_up(stored, &Retained::default());
                prop_assert_eq!(control.settings(), &settings);
            }
            Err(refused) => {
                prop_assert!(refused.to_string().ends_with('.'));
                *refusals
                    .borrow_mut()
                    .entry(format!("{:?}", refused.reason))
                    .or_default() += 1;
            }
        }
        Ok(())
    });
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    let refusals = refusals.into_inner();
    println!("{:>9}  accepted", accepted.get());
    for (reason, times) in &refusals {
        println!("{times:>9}  refused: {reason}");
    }
    assert!(accepted.get() >= 1_000);
    // All nineteen reasons there are.
    assert_eq!(refusals.len(), 19, "{refusals:?}");
}

#[test]
fn bytes_that_are_no_settings_are_refused() {
    let bytes = prop_oneof![
        vec(any::<u8>(), 0..2 * SETTINGS_LEN),
        vec(any::<u8>(), SETTINGS_LEN),
        vec(any::<u8>(), RETAINED_LEN),
    ];
    let outcome = runner(20_000, KEPT_IN).run(&bytes, |bytes| {
        prop_assert!(settings_from_bytes(&bytes).is_err());
        prop_assert!(retained_from_bytes(&bytes).is_err());
        Ok(())
    });
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
}

/// CRC-32 of ISO-HDLC, bit by bit from its published parameters: polynomial
/// 0x04C11DB7 reflected, all ones before and after; its check value is below.
fn checksum(bytes: &[u8]) -> u32 {
    let rest = bytes.iter().fold(u32::MAX, |sum, &byte| {
        (0..8).fold(sum ^ u32::from(byte), |sum, _| {
            let shifted = sum >> 1;
            if sum & 1 == 1 {
                shifted ^ 0xEDB8_8320
            } else {
                shifted
            }
        })
    });
    !rest
}

#[test]
fn bytes_with_a_true_checksum_are_read_as_sensible_settings_or_refused() {
    // Source: the catalogue of parametrised CRC algorithms, CRC-32/ISO-HDLC, check value.
    assert_eq!(checksum(b"123456789"), 0xCBF4_3926);
    let whole = settings_to_bytes(&Settings::DEFAULT);
    let flips = vec((1_usize..SETTINGS_LEN - 4, any::<u8>()), 1..4);
    let (read, refused) = (std::cell::Cell::new(0), std::cell::Cell::new(0));
    let outcome = runner(20_000, KEPT_IN).run(&flips, |flips| {
        let mut bytes = whole;
        for (at, byte) in flips {
            bytes[at] = byte;
        }
        let sum = checksum(&bytes[..SETTINGS_LEN - 4]);
        bytes[SETTINGS_LEN - 4..].copy_from_slice(&sum.to_le_bytes());
        match settings_from_bytes(&bytes) {
            Ok(settings) => {
                read.set(read.get() + 1);
                prop_assert_eq!(settings.draft().check(), Ok(settings));
            }
            Err(_) => refused.set(refused.get() + 1),
        }
        Ok(())
    });
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    println!("{:>9}  read\n{:>9}  refused", read.get(), refused.get());
    assert!(read.get() >= 500 && refused.get() >= 500);
}

#[test]
fn what_a_life_leaves_behind_outlives_the_store() {
    let lives = (drafts::in_motion(), vec(happening(Weights::ALL), 1..80));
    let (locked_out, started) = (std::cell::Cell::new(0), std::cell::Cell::new(0));
    let outcome = runner(200, "proptest-regressions/lives.txt").run(&lives, |(settings, life)| {
        let (world, _) = live_through(settings, &life);
        let retained = world.control().retained();
        locked_out.set(locked_out.get() + u32::from(retained.lockout.is_some()));
        started.set(started.get() + u32::from(!retained.recent_starts.is_empty()));
        let bytes = retained_to_bytes(&retained);
        prop_assert_eq!(retained_from_bytes(&bytes), Ok(retained));
        Ok(())
    });
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    println!(
        "{:>9}  lockouts\n{:>9}  recent starts",
        locked_out.get(),
        started.get()
    );
    assert!(locked_out.get() >= 20 && started.get() >= 10);
}
