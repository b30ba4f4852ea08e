//! What one step decides, told and counts, where several things meet.

use hysteron_logic::call::Mode;
use hysteron_logic::contact::{Contact, Feedback};
use hysteron_logic::control::{
    Command, Control, Decision, Input, Reason, Retained, StoredSettings,
};
use hysteron_logic::divider::Counts;
use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::lockout::Cause;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::Draft;
use hysteron_logic::time::{Duration, Instant};
use hysteron_logic::units::Temperature;

const WARM: Sample = celsius(4);
const COLD: Sample = celsius(2);
const BROKEN: Sample = Sample::Counts(Counts::FULL);

const fn celsius(degrees: i32) -> Sample {
    Sample::Temperature(Temperature::from_millicelsius(degrees * 1_000))
}

struct Bench {
    control: Control,
    now: Instant,
}

impl Bench {
    fn powered(draft: Draft) -> Self {
        let stored = StoredSettings::Whole(draft.check().unwrap());
        Self {
            control: Control::at_power_up(stored, &Retained::default()),
            now: Instant::POWER_UP,
        }
    }

    /// The control a second later.
    fn step(&mut self, sample: Sample, feedback: Feedback) -> Decision {
        self.tell(&Input {
            feedback,
            ..Input::sampled(sample)
        })
    }

    fn tell(&mut self, input: &Input) -> Decision {
        self.now = self.now.after(Duration::from_seconds(1));
        self.control.step(self.now, input)
    }

    /// The last of so many decisions, or the first with its relay elsewhere.
    fn until_moved(&mut self, sample: Sample, feedback: Feedback, most: u32) -> Decision {
        let mut decision = self.step(sample, feedback);
        let before = decision.relay;
        for _ in 1..most {
            decision = self.step(sample, feedback);
            if decision.relay != before {
                break;
            }
        }
        decision
    }

    fn pass(&mut self, input: &Input, time: Duration) {
        let end = self.now.after(time);
        while self.now < end {
            let _ = self.tell(input);
        }
    }
}

#[test]
fn duty_is_counted_in_whole_hours_of_free_running_only() {
    let mut bench = Bench::powered(Draft::COOLING);
    assert_eq!(bench.control.known_duty_hours(), 0);
    let hours = Duration::from_hours(2).and(Duration::from_minutes(10));
    let good = Input::sampled(WARM);
    bench.pass(&good, hours);
    assert_eq!(bench.control.known_duty_hours(), 2);
    // Switched off with a good probe, then on with a broken one.
    let off = Input {
        command: Some(Command::SwitchOff),
        ..good
    };
    let _ = bench.tell(&off);
    bench.pass(&good, hours);
    assert_eq!(bench.control.known_duty_hours(), 2);
    let on = Input {
        command: Some(Command::SwitchOn),
        ..Input::sampled(BROKEN)
    };
    let _ = bench.tell(&on);
    bench.pass(&Input::sampled(BROKEN), hours);
    assert_eq!(bench.control.known_duty_hours(), 2);
    bench.pass(&good, hours);
    assert_eq!(bench.control.known_duty_hours(), 4);
}

#[test]
fn a_hold_begins_with_the_step_that_moves_the_relay() {
    let mut bench = Bench::powered(Draft::COOLING);
    let closing = bench.until_moved(WARM, Feedback::NotFitted, 400);
    assert_eq!(closing.relay, Relay::Closed);
    assert_eq!(closing.holds.on_time, Draft::COOLING.minimum_on_time);
    let next = bench.step(WARM, Feedback::NotFitted);
    let second = Duration::from_seconds(1);
    assert_eq!(
        next.holds.on_time,
        Draft::COOLING.minimum_on_time.less(second)
    );
}

#[test]
fn a_rest_is_told_by_what_caused_it() {
    // Satisfied, then calling again within the rest.
    let mut bench = Bench::powered(Draft::COOLING);
    assert_eq!(
        bench.until_moved(WARM, Feedback::NotFitted, 400).relay,
        Relay::Closed
    );
    let opening = bench.until_moved(COLD, Feedback::NotFitted, 400);
    assert_eq!(
        (opening.relay, opening.reason),
        (Relay::Open, Reason::Satisfied)
    );
    let calling = bench.step(WARM, Feedback::NotFitted);
    assert_eq!(calling.reason, Reason::MinimumOffTime);

    // The same rest after the load has lost its voltage.
    let mut bench = Bench::powered(Draft::COOLING);
    assert_eq!(
        bench.until_moved(WARM, Feedback::Open, 400).relay,
        Relay::Closed
    );
    for _ in 0..30 {
        assert_eq!(bench.step(WARM, Feedback::Closed).relay, Relay::Closed);
    }
    let lost = bench.until_moved(WARM, Feedback::Open, 3);
    assert_eq!((lost.relay, lost.contact), (Relay::Open, Contact::Sound));
    let resting = bench.step(WARM, Feedback::Open);
    assert_eq!(resting.reason, Reason::VoltageLost);
}

#[test]
fn an_unknown_duty_is_told_of_only_where_it_was_to_be_used() {
    let mut bench = Bench::powered(Draft::COOLING);
    let _ = bench.step(COLD, Feedback::NotFitted);
    let mut told = Vec::new();
    for _ in 0..60 {
        told.extend(bench.step(BROKEN, Feedback::NotFitted).events);
    }
    let failed = |event: &Event| matches!(event, Event::ProbeFailed(_));
    assert_eq!(told.iter().filter(|event| failed(event)).count(), 1);
    assert!(!told.contains(&Event::DutyNotKnown), "{told:?}");
}

#[test]
fn a_probe_that_breaks_at_the_heat_ceiling_takes_nothing_back() {
    let mut draft = Draft::HEATING;
    draft.heat_ceiling_confirmation = Duration::from_seconds(90);
    let mut bench = Bench::powered(draft);
    let _ = bench.step(celsius(95), Feedback::NotFitted);
    let mut told = Vec::new();
    for _ in 0..120 {
        told.extend(bench.step(BROKEN, Feedback::NotFitted).events);
    }
    assert_eq!(draft.mode, Mode::Heat);
    assert!(
        told.contains(&Event::LockedOut(Cause::HeatCeiling)),
        "{told:?}"
    );
}
