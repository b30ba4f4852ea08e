//! What the persistence writes, in which order, and what a later power-up makes of it.

use embedded_hal_mock::eh1::delay::NoopDelay;
use hysteron_logic::units::Temperature;

use super::*;
use crate::journal::{RECORD, RECORDS, START};
use crate::memory::fake::{FakeChip, Tear};
use hysteron_logic::settings::Draft;

/// Passes that are enough for all that is due.
const MANY: u64 = 60;

fn settings(setpoint_millicelsius: i32) -> Settings {
    let mut draft = Draft::COOLING;
    draft.setpoint = Temperature::from_millicelsius(setpoint_millicelsius);
    draft.check().unwrap()
}

fn control(setpoint_millicelsius: i32, lockout: Option<Cause>) -> Control {
    let retained = Retained {
        lockout,
        ..Retained::default()
    };
    Control::resumed(Some(&settings(setpoint_millicelsius)), &retained)
}

/// A board's persistence, pass after pass.
struct Passes<'a> {
    persistence: Persistence<'a, FakeChip, NoopDelay>,
    number: u64,
}

impl<'a> Passes<'a> {
    /// As a board does at power-up.
    fn at_power_up(chip: &FakeChip, outgoing: &'a mut Outgoing) -> (Self, Retained) {
        let mut persistence = Persistence::new(chip.memory(), outgoing);
        let mut retained = Retained::default();
        let _ = persistence.settings(&mut Settings::DEFAULT.clone());
        persistence.retained(&mut retained);
        (
            Self {
                persistence,
                number: 0,
            },
            retained,
        )
    }

    fn pass(&mut self, control: &Control, events: &[Event]) -> Kept {
        self.number += 1;
        let now = Instant::from_millis(self.number * 100);
        self.persistence.remember(now, control, events)
    }

    /// Many passes, the first of which has `events`; how often settings were said to be safe.
    fn after(&mut self, control: &Control, events: &[Event]) -> usize {
        let first = self.pass(control, events);
        let later = (0..MANY).map(|_| self.pass(control, &[]));
        later
            .chain([first])
            .filter(|kept| *kept == Kept::Settings)
            .count()
    }

    fn wait_for_routine(&mut self) {
        self.number += ROUTINE.millis() / 100;
    }
}

/// The lockout that a power-up finds, and how the memory is then.
fn found(chip: &FakeChip) -> (Option<Cause>, Result<(), MemoryError>) {
    let mut outgoing = Outgoing::nothing();
    let (passes, retained) = Passes::at_power_up(chip, &mut outgoing);
    (retained.lockout, passes.persistence.condition())
}

fn found_settings(chip: &FakeChip) -> Option<Settings> {
    let mut outgoing = Outgoing::nothing();
    let mut persistence = Persistence::new(chip.memory(), &mut outgoing);
    let mut settings = Settings::DEFAULT;
    persistence.settings(&mut settings).ok().map(|()| settings)
}

/// A memory with as many routine records as make the ring go round.
fn in_use(records: u64) -> FakeChip {
    let chip = FakeChip::new();
    let mut outgoing = Outgoing::nothing();
    let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
    for _ in 0..records {
        passes.wait_for_routine();
        passes.after(&control(2_000, None), &[]);
    }
    chip
}

/// Flips a bit in each byte of the ring's record at `place`, and asks.
fn with_each_place_bad(chip: &FakeChip, mut ask: impl FnMut(u16)) {
    for place in 0..RECORDS {
        for byte in [1, 4, 7, 100] {
            let at = START + place * RECORD as u16 + byte;
            chip.flip(at, 0x20);
            ask(place);
            chip.flip(at, 0x20);
        }
    }
}

#[test]
fn settings_are_said_to_be_safe_when_they_are_and_once() {
    let chip = in_use(3);
    let mut outgoing = Outgoing::nothing();
    let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
    for setpoint in [3_000, 4_000, 5_000] {
        let changed = control(setpoint, None);
        let mut kept = passes.pass(&changed, &[Event::SettingsChanged]);
        let mut waited = 0;
        while kept == Kept::Nothing {
            waited += 1;
            assert!(waited < MANY, "never");
            kept = passes.pass(&changed, &[]);
        }
        // Nothing is left to do for them.
        assert_eq!(found_settings(&chip), Some(settings(setpoint)));
        assert_eq!(passes.after(&changed, &[]), 0);
    }
    assert_eq!(passes.persistence.settings_writes(), 3);
}

#[test]
fn settings_that_change_while_they_are_saved_are_safe_after_the_second_save() {
    let mut changed_within = 0;
    for passes_between in 1..20 {
        let chip = in_use(3);
        let mut outgoing = Outgoing::nothing();
        let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
        let (one, two) = (control(3_000, None), control(4_000, None));
        let mut told = usize::from(passes.pass(&one, &[Event::SettingsChanged]) == Kept::Settings);
        for _ in 0..passes_between {
            told += usize::from(passes.pass(&one, &[]) == Kept::Settings);
        }
        changed_within += usize::from(told == 0);
        let told_later = passes.after(&two, &[Event::SettingsChanged]);
        assert_eq!(told_later, 1, "{passes_between}");
        assert_eq!(found_settings(&chip), Some(settings(4_000)));
    }
    assert!(changed_within > 5, "{changed_within}");
}

#[test]
fn what_fails_stays_due_and_is_made_good() {
    for bytes in [0, 90, 200, 330, 500] {
        let chip = in_use(3);
        let mut outgoing = Outgoing::nothing();
        let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
        let changed = control(3_000, None);
        chip.cut_after(bytes, Tear::KeepsWhatArrived);
        assert_eq!(passes.after(&changed, &[Event::SettingsChanged]), 0);
        assert_eq!(passes.persistence.condition(), Err(MemoryError::Silent));
        chip.restore();
        assert_eq!(passes.after(&changed, &[]), 1);
        assert_eq!(passes.persistence.condition(), Ok(()));
        assert_eq!(found_settings(&chip), Some(settings(3_000)));
    }
}

#[test]
fn a_life_goes_on_from_what_a_memory_tells_after_it_was_silent_at_power_up() {
    let totals = |starts, run_minutes, longest_minutes| Totals {
        starts,
        run: Duration::from_minutes(run_minutes),
        longest_run: Duration::from_minutes(longest_minutes),
    };
    let lived = |totals| {
        let retained = Retained {
            totals,
            ..Retained::default()
        };
        Control::resumed(Some(&settings(2_000)), &retained)
    };
    let chip = in_use(3);
    let mut outgoing = Outgoing::nothing();
    let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
    passes.wait_for_routine();
    passes.after(&lived(totals(40, 700, 30)), &[]);
    chip.cut_after(0, Tear::KeepsWhatArrived);
    let mut outgoing = Outgoing::nothing();
    let (mut passes, unread) = Passes::at_power_up(&chip, &mut outgoing);
    assert_eq!(unread.totals, Totals::default());
    chip.restore();
    for (since, whole) in [
        (totals(2, 9, 8), totals(42, 709, 30)),
        (totals(3, 60, 51), totals(43, 760, 51)),
    ] {
        passes.wait_for_routine();
        passes.after(&lived(since), &[]);
        let mut outgoing = Outgoing::nothing();
        let (_, found) = Passes::at_power_up(&chip, &mut outgoing);
        assert_eq!(found.totals, whole);
    }
}

#[test]
fn no_single_bad_record_hides_a_change_of_lockout() {
    for records in [0, 5, 62, 63, 130] {
        let chip = in_use(records);
        let mut outgoing = Outgoing::nothing();
        let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
        let locked = Event::LockedOut(Cause::HeatCeiling);
        passes.after(&control(2_000, Some(Cause::HeatCeiling)), &[locked]);
        assert_eq!(found(&chip), (Some(Cause::HeatCeiling), Ok(())));
        with_each_place_bad(&chip, |place| {
            let (lockout, memory) = found(&chip);
            assert_eq!(
                (lockout, memory),
                (Some(Cause::HeatCeiling), Ok(())),
                "{place}"
            );
        });
        passes.after(&control(2_000, None), &[Event::LockoutReleased]);
        with_each_place_bad(&chip, |place| {
            assert_eq!(found(&chip), (None, Ok(())), "{place}")
        });
    }
}

#[test]
fn two_bad_records_that_may_have_held_a_lockout_lock_out() {
    let chip = in_use(70);
    let mut outgoing = Outgoing::nothing();
    let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
    let locked_out = control(2_000, Some(Cause::HeatCeiling));
    passes.after(&locked_out, &[Event::LockedOut(Cause::HeatCeiling)]);
    // Records 72 and 73 hold the lockout: the first of all was written twice as well.
    for place in [8, 9] {
        chip.flip(START + place * RECORD as u16 + 20, 1);
    }
    assert_eq!(found(&chip).1, Err(MemoryError::Lost));
    // A person looks and releases; the ring is made whole, so that it happens once.
    let mut outgoing = Outgoing::nothing();
    let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
    passes.after(&control(2_000, None), &[Event::LockoutReleased]);
    for _ in 0..RECORDS {
        passes.number += Allowance::EVERY.millis() / 100;
        passes.after(&control(2_000, None), &[]);
    }
    assert_eq!(passes.persistence.condition(), Ok(()));
    with_each_place_bad(&chip, |place| {
        assert_eq!(found(&chip), (None, Ok(())), "{place}")
    });
}

#[test]
fn a_cut_in_any_write_leaves_the_lockout_as_it_was_or_as_it_became() {
    let (mut as_it_was, mut as_it_became) = (0, 0);
    for tear in [Tear::KeepsWhatArrived, Tear::GarblesThePage] {
        for records in [0, 40, 62, 130] {
            for bytes in (0..700).step_by(7) {
                let chip = in_use(records);
                let mut outgoing = Outgoing::nothing();
                let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
                chip.cut_after(bytes, tear);
                let locked = Event::LockedOut(Cause::WeldedContact);
                passes.after(&control(2_000, Some(Cause::WeldedContact)), &[locked]);
                chip.restore();
                match found(&chip) {
                    (None, Ok(())) => as_it_was += 1,
                    (Some(Cause::WeldedContact), Ok(())) => as_it_became += 1,
                    other => panic!("{tear:?} {records} {bytes}: {other:?}"),
                }
            }
        }
    }
    assert!(
        as_it_was > 50 && as_it_became > 50,
        "{as_it_was} {as_it_became}"
    );
}

#[test]
fn a_cut_in_a_routine_write_locks_nothing_out_and_one_after_another_neither() {
    for tear in [Tear::KeepsWhatArrived, Tear::GarblesThePage] {
        for records in [0, 1, 36, 62, 63, 130] {
            let chip = in_use(records);
            for bytes in 0..300 {
                let mut outgoing = Outgoing::nothing();
                let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
                passes.wait_for_routine();
                chip.cut_after(bytes, tear);
                passes.after(&control(2_000, None), &[]);
                chip.restore();
                assert_eq!(found(&chip), (None, Ok(())), "{tear:?} {records} {bytes}");
            }
        }
    }
}

#[test]
fn a_first_record_of_two_is_made_two_by_the_next_power_up() {
    let mut lone = 0;
    for bytes in (0..700).step_by(11) {
        let chip = in_use(70);
        let mut outgoing = Outgoing::nothing();
        let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
        chip.cut_after(bytes, Tear::GarblesThePage);
        let locked_out = control(2_000, Some(Cause::HeatCeiling));
        passes.after(&locked_out, &[Event::LockedOut(Cause::HeatCeiling)]);
        chip.restore();
        if found(&chip).0.is_none() {
            continue;
        }
        let hidden = || {
            let mut hidden = 0;
            with_each_place_bad(&chip, |_| {
                hidden += usize::from(found(&chip) == (None, Ok(())))
            });
            hidden
        };
        lone += usize::from(hidden() > 0);
        let mut outgoing = Outgoing::nothing();
        let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
        passes.after(&locked_out, &[]);
        assert_eq!(hidden(), 0, "{bytes}");
    }
    assert!(lone > 5, "{lone}");
}

#[test]
fn numbers_go_on_after_a_memory_that_failed_at_power_up() {
    for records in [5, 70] {
        let chip = in_use(records);
        let mut outgoing = Outgoing::nothing();
        let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
        passes.after(&control(3_000, None), &[Event::SettingsChanged]);
        passes.after(&control(3_500, None), &[Event::SettingsChanged]);

        chip.cut_after(0, Tear::KeepsWhatArrived);
        let mut outgoing = Outgoing::nothing();
        let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
        assert_eq!(passes.persistence.condition(), Err(MemoryError::Silent));
        let confirmed = control(4_000, Some(Cause::HeatCeiling));
        let events = [Event::SettingsChanged, Event::LockedOut(Cause::HeatCeiling)];
        assert_eq!(passes.after(&confirmed, &events), 0);
        chip.restore();
        passes.number += Allowance::EVERY.millis() / 100 * 3;
        assert_eq!(passes.after(&confirmed, &[]), 1);
        assert_eq!(found(&chip), (Some(Cause::HeatCeiling), Ok(())));
        assert_eq!(found_settings(&chip), Some(settings(4_000)));
        assert_eq!(passes.persistence.settings_writes(), 3);
    }
}

#[test]
fn a_worn_place_does_not_keep_a_lockout_out_of_the_memory() {
    let chip = in_use(70);
    // A byte of the check of record 72.
    chip.wear(START + 8 * RECORD as u16 + 124);
    let mut outgoing = Outgoing::nothing();
    let (mut passes, _) = Passes::at_power_up(&chip, &mut outgoing);
    let locked_out = control(2_000, Some(Cause::HeatCeiling));
    let mut met = 0;
    passes.pass(&locked_out, &[Event::LockedOut(Cause::HeatCeiling)]);
    for _ in 0..MANY {
        passes.pass(&locked_out, &[]);
        met += usize::from(passes.persistence.condition() == Err(MemoryError::Mismatch));
    }
    assert!(met > 0, "the worn place was never met");
    assert_eq!(found(&chip), (Some(Cause::HeatCeiling), Ok(())));
    assert_eq!(passes.persistence.condition(), Ok(()));
}

#[test]
fn a_record_of_another_version_may_hold_a_lockout() {
    let chip = in_use(3);
    let mut payload = [0; RETAINED_LEN];
    write_retained(&Retained::default(), &mut payload);
    payload[0] ^= 0x08;
    let mut outgoing = Outgoing::nothing();
    let (journal, _) = Journal::open(&mut chip.memory(), &mut journal::Payload::new()).unwrap();
    journal.begin(&mut outgoing, &payload);
    chip.memory().finish(&mut outgoing).unwrap();
    assert_eq!(found(&chip).1, Err(MemoryError::Lost));
}
