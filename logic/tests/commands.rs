//! What a command does beyond the setting it names.

use hysteron_logic::call::{Call, Mode};
use hysteron_logic::control::{
    Command, CommandRefused, Control, Decision, Input, Retained, StoredSettings, Switch,
};
use hysteron_logic::defrost::DefrostPlan;
use hysteron_logic::event::Event;
use hysteron_logic::lockout::Cause;
use hysteron_logic::probe::Trust;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::{Draft, Settings};
use hysteron_logic::time::{Duration, Instant};
use hysteron_logic::units::{Difference, Temperature};

struct Bench {
    control: Control,
    millis: u64,
}

impl Bench {
    fn powered(stored: StoredSettings, retained: &Retained) -> Self {
        Self {
            control: Control::at_power_up(stored, retained),
            millis: 0,
        }
    }

    fn step(&mut self, millicelsius: i32, command: Option<Command>) -> Decision {
        self.millis += 1_000;
        let sample = Sample::Temperature(Temperature::from_millicelsius(millicelsius));
        let input = Input {
            command,
            ..Input::sampled(sample)
        };
        self.control.step(Instant::from_millis(self.millis), &input)
    }
}

fn whole(draft: Draft) -> StoredSettings {
    StoredSettings::Whole(draft.check().unwrap())
}

#[test]
fn defaults_that_stand_in_lock_out_until_settings_are_given() {
    let refused = Some(Err(CommandRefused::CauseStands(Cause::UnreadableSettings)));
    let mut bench = Bench::powered(StoredSettings::Unreadable, &Retained::default());
    let first = bench.step(2_000, None);
    assert_eq!(
        first.events.as_slice(),
        [Event::LockedOut(Cause::UnreadableSettings)]
    );
    let release = bench.step(2_000, Some(Command::ReleaseLockout));
    assert_eq!(release.answer, refused);
    let given = Settings::DEFAULT;
    let _ = bench.step(2_000, Some(Command::Change(given)));
    let release = bench.step(2_000, Some(Command::ReleaseLockout));
    assert_eq!(release.answer, Some(Ok(())));
    assert_eq!(bench.control.retained().lockout, None);
}

#[test]
fn an_older_cause_hides_no_unreadable_settings() {
    let retained = Retained {
        lockout: Some(Cause::HeatCeiling),
        ..Retained::default()
    };
    let mut bench = Bench::powered(StoredSettings::Unreadable, &retained);
    let release = bench.step(2_000, Some(Command::ReleaseLockout));
    let standing = CommandRefused::CauseStands(Cause::UnreadableSettings);
    assert_eq!(release.answer, Some(Err(standing)));
    assert_eq!(bench.control.retained().lockout, Some(Cause::HeatCeiling));
}

#[test]
fn settings_given_at_once_release_no_lockout() {
    let mut bench = Bench::powered(StoredSettings::Unreadable, &Retained::default());
    let _ = bench.step(2_000, Some(Command::Change(Settings::DEFAULT)));
    assert_eq!(
        bench.control.retained().lockout,
        Some(Cause::UnreadableSettings)
    );
}

#[test]
fn a_loss_of_power_switches_nothing_on() {
    let mut bench = Bench::powered(whole(Draft::COOLING), &Retained::default());
    let _ = bench.step(2_000, Some(Command::SwitchOff));
    let retained = bench.control.retained();
    assert_eq!(retained.switch, Switch::Off);
    let mut bench = Bench::powered(whole(Draft::COOLING), &retained);
    let _ = bench.step(2_000, None);
    assert_eq!(bench.control.retained().switch, Switch::Off);
}

#[test]
fn a_new_offset_is_judged_at_once() {
    let mut bench = Bench::powered(whole(Draft::COOLING), &Retained::default());
    let _ = bench.step(2_000, None);
    let shifted = Draft {
        probe_offset: Difference::from_millikelvin(5_000),
        ..Draft::COOLING
    };
    let decision = bench.step(2_001, Some(Command::Change(shifted.check().unwrap())));
    let read = Temperature::from_millicelsius(7_001);
    assert_eq!(decision.trust, Trust::Good(read));
    assert_eq!(decision.call, Call::Calling);
}

#[test]
fn a_change_of_mode_forgets_the_duty_and_ends_the_call() {
    let mut bench = Bench::powered(whole(Draft::COOLING), &Retained::default());
    for second in 0..=86_400 {
        let _ = bench.step(8_000 + second % 2, None);
    }
    assert!(bench.control.duty().is_some());
    let heat = Draft {
        mode: Mode::Heat,
        ..Draft::COOLING
    };
    let decision = bench.step(8_000, Some(Command::Change(heat.check().unwrap())));
    assert_eq!(bench.control.duty(), None);
    assert_eq!(
        decision.events.as_slice(),
        [Event::ModeChanged, Event::CallEnded, Event::RelayOpened]
    );
}

#[test]
fn a_defrost_that_is_switched_on_waits_for_a_whole_interval() {
    let mut bench = Bench::powered(whole(Draft::COOLING), &Retained::default());
    for second in 0..7_200 {
        let _ = bench.step(2_500 + second % 7, None);
    }
    let mut draft = Draft::COOLING;
    draft.defrost = DefrostPlan::Every {
        interval: Duration::from_hours(1),
        length: Duration::from_minutes(10),
    };
    let _ = bench.step(2_500, Some(Command::Change(draft.check().unwrap())));
    let began = (1..=3_700).find(|second| {
        let decision = bench.step(2_500 + second % 7, None);
        decision.events.contains(&Event::DefrostBegan)
    });
    assert_eq!(began, Some(3_600));
}
