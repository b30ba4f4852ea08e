//! How samples are qualified, one after the other.

use super::*;

const RULES: Qualification = Qualification {
    fault_delay: Duration::from_seconds(20),
    recovery_time: Duration::from_seconds(60),
    frozen: FrozenCheck::After(Duration::from_minutes(30)),
};

fn at(seconds: u32) -> Instant {
    Instant::POWER_UP.after(Duration::from_seconds(seconds))
}

fn good(millicelsius: i32) -> Measurement {
    Measurement::At(Temperature::from_millicelsius(millicelsius))
}

fn held(millicelsius: i32) -> Trust {
    Trust::Suspect(Some(Temperature::from_millicelsius(millicelsius)))
}

fn trusted(millicelsius: i32) -> Trust {
    Trust::Good(Temperature::from_millicelsius(millicelsius))
}

fn fed(samples: &[(u32, Measurement)]) -> (Probe, Trust) {
    let mut probe = Probe::at_power_up(Instant::POWER_UP);
    let mut trust = Trust::Suspect(None);
    for &(seconds, sample) in samples {
        trust = probe.judge(at(seconds), sample, RULES);
    }
    (probe, trust)
}

#[test]
fn a_short_bad_spell_holds_the_last_good_value() {
    for sample in [
        Measurement::Open,
        Measurement::Shorted,
        Measurement::OutOfRange,
    ] {
        let (mut probe, trust) = fed(&[(0, good(3_000)), (1, sample), (20, sample)]);
        assert_eq!(trust, held(3_000));
        assert_eq!(probe.judge(at(21), good(3_100), RULES), trusted(3_100));
    }
}

#[test]
fn a_long_bad_spell_is_declared_after_the_delay_and_withdrawn_after_recovery() {
    for (sample, fault) in [
        (Measurement::Open, ProbeFault::Open),
        (Measurement::Shorted, ProbeFault::Shorted),
        (Measurement::OutOfRange, ProbeFault::OutOfRange),
    ] {
        let (mut probe, trust) = fed(&[(0, good(3_000)), (1, sample), (21, sample)]);
        assert_eq!(trust, Trust::Fault(fault));
        assert_eq!(probe.judge(at(22), good(3_100), RULES), Trust::Fault(fault));
        assert_eq!(probe.judge(at(81), good(3_101), RULES), Trust::Fault(fault));
        assert_eq!(probe.judge(at(82), good(3_102), RULES), trusted(3_102));
    }
}

#[test]
fn a_bad_sample_restarts_the_recovery() {
    let (mut probe, _) = fed(&[(0, Measurement::Open), (20, Measurement::Open)]);
    probe.judge(at(30), good(3_000), RULES);
    probe.judge(at(80), Measurement::Open, RULES);
    probe.judge(at(81), good(3_010), RULES);
    assert!(matches!(
        probe.judge(at(140), good(3_000), RULES),
        Trust::Fault(_)
    ));
    assert_eq!(probe.judge(at(141), good(3_010), RULES), trusted(3_010));
}

#[test]
fn a_jump_is_held_then_declared_then_accepted_where_it_stays() {
    let (mut probe, trust) = fed(&[(0, good(3_000)), (1, good(40_000))]);
    assert_eq!(trust, held(3_000));
    for second in 2..21 {
        assert_eq!(probe.judge(at(second), good(40_000), RULES), held(3_000));
    }
    assert_eq!(
        probe.judge(at(21), good(40_000), RULES),
        Trust::Fault(ProbeFault::ImplausibleJump)
    );
    probe.judge(at(22), good(40_010), RULES);
    assert_eq!(probe.judge(at(82), good(40_000), RULES), trusted(40_000));
}

#[test]
fn what_a_changed_curve_reads_is_no_jump() {
    let (mut probe, _) = fed(&[(0, good(3_000))]);
    probe.forget_readings(at(1));
    assert_eq!(probe.judge(at(1), good(40_000), RULES), trusted(40_000));
    let (mut probe, _) = fed(&[(0, Measurement::Open), (20, Measurement::Open)]);
    probe.forget_readings(at(21));
    assert!(matches!(
        probe.judge(at(21), good(40_000), RULES),
        Trust::Fault(_)
    ));
}

#[test]
fn a_change_a_door_makes_is_no_jump() {
    let (_, trust) = fed(&[(0, good(3_000)), (10, good(8_400))]);
    assert_eq!(trust, trusted(8_400));
    let (_, trust) = fed(&[(0, good(3_000)), (10, good(8_600))]);
    assert_eq!(trust, held(3_000));
}

#[test]
fn a_still_reading_freezes_and_a_moving_one_does_not() {
    let mut probe = Probe::at_power_up(Instant::POWER_UP);
    for minute in 0..30 {
        let trust = probe.judge(at(60 * minute), good(3_000), RULES);
        assert_eq!(trust, trusted(3_000));
    }
    assert_eq!(probe.judge(at(1_800), good(3_000), RULES), held(3_000));
    assert_eq!(
        probe.judge(at(1_820), good(3_000), RULES),
        Trust::Fault(ProbeFault::Frozen)
    );
    let still = Qualification {
        frozen: FrozenCheck::Off,
        ..RULES
    };
    let mut probe = Probe::at_power_up(Instant::POWER_UP);
    for minute in 0..600 {
        let trust = probe.judge(at(60 * minute), good(3_000), still);
        assert_eq!(trust, trusted(3_000));
    }
}

/// One second of a probe that is bad for `bad` of every `of` seconds.
fn flutter(probe: &mut Probe, second: u32, bad: u32, of: u32) -> Trust {
    let sample = match second % of {
        within if within < bad => Measurement::Open,
        _ => good(3_000 + i32::from(second.is_multiple_of(2))),
    };
    probe.judge(at(second), sample, RULES)
}

#[test]
fn a_probe_that_is_bad_most_of_the_time_is_declared_however_its_bad_spells_are_broken_up() {
    // Each round adds what is bad in it and takes away what is good.
    for (bad, of, declared_at) in [(19, 20, 22), (2, 3, 58), (11, 20, 110), (6, 11, 170)] {
        let mut probe = Probe::at_power_up(Instant::POWER_UP);
        let declared = (0..86_400)
            .find(|&second| matches!(flutter(&mut probe, second, bad, of), Trust::Fault(_)));
        assert_eq!(declared, Some(declared_at), "bad {bad} of every {of}");
        for second in declared_at + 1..declared_at + 7_200 {
            let trust = flutter(&mut probe, second, bad, of);
            assert_eq!(trust, Trust::Fault(ProbeFault::Open), "{second}");
        }
    }
}

#[test]
fn a_probe_that_is_good_half_of_the_time_is_held_against() {
    for (bad, of) in [(1, 2), (10, 20), (19, 60)] {
        let mut probe = Probe::at_power_up(Instant::POWER_UP);
        for second in 0..86_400 {
            let trust = flutter(&mut probe, second, bad, of);
            assert!(!matches!(trust, Trust::Fault(_)), "{bad} {of} {second}");
        }
    }
}

#[test]
fn nothing_of_the_surplus_is_left_after_a_recovery() {
    let (mut probe, _) = fed(&[(0, Measurement::Open), (20, Measurement::Open)]);
    probe.judge(at(21), good(3_000), RULES);
    assert_eq!(probe.judge(at(81), good(3_001), RULES), trusted(3_001));
    probe.judge(at(82), Measurement::Open, RULES);
    assert_eq!(probe.judge(at(101), Measurement::Open, RULES), held(3_001));
    assert!(matches!(
        probe.judge(at(102), Measurement::Open, RULES),
        Trust::Fault(_)
    ));
}

#[test]
fn of_several_samples_at_one_moment_a_bad_one_counts() {
    let mut probe = Probe::at_power_up(Instant::POWER_UP);
    let declared = (0..86_400).find(|&second| {
        let now = at(second);
        probe.judge(now, Measurement::Open, RULES);
        // What it reads is believed all the same.
        let trust = probe.judge(
            now,
            good(3_000 + i32::from(second.is_multiple_of(2))),
            RULES,
        );
        matches!(trust, Trust::Fault(_))
    });
    assert_eq!(declared, Some(20));
    // It is good at no moment, so it does not recover.
    for second in 21..200 {
        probe.judge(at(second), good(3_000), RULES);
        let trust = probe.judge(at(second), Measurement::Open, RULES);
        assert_eq!(trust, Trust::Fault(ProbeFault::Open));
    }
}

#[test]
fn the_same_temperature_within_a_second_is_the_same_sample() {
    let millis = Instant::from_millis;
    let mut probe = Probe::at_power_up(Instant::POWER_UP);
    probe.judge(millis(0), good(3_000), RULES);
    probe.judge(millis(500), good(3_000), RULES);
    // As far as a reading may move in two seconds.
    assert_eq!(
        probe.judge(millis(2_000), good(6_500), RULES),
        trusted(6_500)
    );
    let at_once = Qualification {
        fault_delay: Duration::ZERO,
        recovery_time: Duration::ZERO,
        ..RULES
    };
    let jumped = Trust::Fault(ProbeFault::ImplausibleJump);
    assert_eq!(probe.judge(millis(3_000), good(40_000), at_once), jumped);
    assert_eq!(probe.judge(millis(3_000), good(40_000), at_once), jumped);
    assert_eq!(probe.judge(millis(3_999), good(40_000), at_once), jumped);
    assert_eq!(
        probe.judge(millis(4_000), good(40_000), at_once),
        trusted(40_000)
    );
}

/// Whether a sample is taken plainly, and whether that leaves what judging it leaves.
fn taken_plainly(probe: &Probe, seconds: u32, millicelsius: i32) -> bool {
    let (mut plain, mut judged) = (probe.clone(), probe.clone());
    let temperature = Temperature::from_millicelsius(millicelsius);
    let taken = plain.takes_plainly(at(seconds), temperature);
    if taken {
        let trust = judged.judge(at(seconds), Measurement::At(temperature), RULES);
        assert_eq!(trust, Trust::Good(temperature));
    }
    assert_eq!(format!("{plain:?}"), format!("{judged:?}"));
    taken
}

#[test]
fn what_is_taken_plainly_is_what_judging_would_have_taken() {
    let (unread, _) = fed(&[]);
    assert!(!taken_plainly(&unread, 0, 3_000));
    let (read, _) = fed(&[(0, good(3_000))]);
    for (seconds, millicelsius) in [(0, 3_000), (1, 3_000), (1, 3_001), (9, 6_000), (9, 0)] {
        assert!(
            taken_plainly(&read, seconds, millicelsius),
            "{millicelsius}"
        );
    }
    // It might have leapt; that takes a closer look.
    assert!(!taken_plainly(&read, 1_000, 6_001));
    assert!(!taken_plainly(&read, 1_000, -1));
    let (bad, _) = fed(&[(0, good(3_000)), (1, Measurement::Open)]);
    assert!(!taken_plainly(&bad, 2, 3_000));
    let open = Measurement::Open;
    let (declared, _) = fed(&[(0, good(3_000)), (1, open), (21, open)]);
    assert!(!taken_plainly(&declared, 22, 3_000));
}

#[test]
fn a_reading_freezes_when_it_has_not_moved_for_the_limit() {
    let (mut probe, _) = fed(&[(0, good(3_000)), (60, good(3_000))]);
    assert_eq!(probe.frozen_at(RULES.frozen), at(1_800));
    assert!(probe.takes_plainly(at(120), Temperature::from_millicelsius(3_000)));
    assert_eq!(probe.frozen_at(RULES.frozen), at(1_800));
    assert!(probe.takes_plainly(at(180), Temperature::from_millicelsius(3_001)));
    assert_eq!(probe.frozen_at(RULES.frozen), at(1_980));
    let never = Instant::from_millis(u64::MAX);
    assert_eq!(probe.frozen_at(FrozenCheck::Off), never);
}

#[test]
fn nothing_is_known_before_the_first_good_sample() {
    let (_, trust) = fed(&[(0, Measurement::Open), (1, Measurement::Shorted)]);
    assert_eq!(trust, Trust::Suspect(None));
}
