//! P14: a control that is stepped more often than it needs.

use std::cell::RefCell;

use hysteron_logic::control::{Control, Input, Retained, StoredSettings};
use hysteron_logic::divider::Counts;
use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::probe::{ProbeFault, Trust};
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::{Draft, Settings};
use hysteron_logic::time::Instant;
use hysteron_logic::units::Temperature;
use hysteron_tests::promise::drafts;
use hysteron_tests::promise::happening::{Happening, Weights, happening};
use hysteron_tests::promise::observer::Observer;
use hysteron_tests::promise::run::{Seen, runner};
use hysteron_tests::promise::tally::Tally;
use hysteron_tests::promise::world::{ClockRecord, Sight};
use proptest::collection::vec;
use proptest::prelude::*;

use crate::symmetry::witnessed;

/// Milliseconds after a whole second, in rising order.
type Extras = Vec<u16>;

fn extras() -> impl Strategy<Value = Extras> {
    let at = prop_oneof![2 => Just(0_u16), 3 => 1_u16..1_000];
    vec(at, 0..4).prop_map(|mut extras| {
        extras.sort_unstable();
        extras
    })
}

/// A life on the whole seconds: time passes second by second, under a clock and a
/// supply that are faithful, also where a failing life is made smaller.
fn by_the_second() -> impl Strategy<Value = Happening> {
    let weights = Weights {
        clock: 0,
        power: 0,
        ..Weights::ALL
    };
    happening(weights).prop_map(|happening| match happening {
        Happening::Pass { steps, .. } => by_seconds(steps),
        Happening::Clock(_) | Happening::PowerCut { .. } => by_seconds(1),
        Happening::Reads(_)
        | Happening::Samples(_)
        | Happening::Lock(_)
        | Happening::Contact(_)
        | Happening::Say(_) => happening,
    })
}

const fn by_seconds(steps: u16) -> Happening {
    let period_ms = 1_000;
    Happening::Pass { steps, period_ms }
}

/// The same inputs at the same times, with extra steps after each.
struct Restless {
    control: Control,
    observer: Observer,
    last_ms: u64,
    faults: u32,
}

impl Restless {
    fn new(settings: Settings) -> Self {
        Self {
            control: Control::at_power_up(StoredSettings::Whole(settings), &Retained::default()),
            observer: Observer::new(settings),
            last_ms: 0,
            faults: 0,
        }
    }

    fn step(&mut self, at_ms: u64, input: Input) -> Sight {
        let told = Instant::from_millis(at_ms);
        let decision = self.control.step(told, &input);
        let sight = Sight {
            true_ms: at_ms,
            period_ms: at_ms - self.last_ms,
            told,
            clock: ClockRecord::Faithful,
            input,
            decision,
            settings: *self.control.settings(),
            duty: self.control.duty().map(|duty| duty.thousandths()),
        };
        self.last_ms = at_ms;
        self.faults += faults(&sight);
        self.observer.witness(&Seen::Step(&sight));
        sight
    }
}

fn faults(sight: &Sight) -> u32 {
    let failed = |event: &&Event| matches!(event, Event::ProbeFailed(_));
    u32::try_from(sight.decision.events.iter().filter(failed).count()).unwrap_or(u32::MAX)
}

#[test]
fn p14_extra_steps_change_no_decision_on_the_whole_seconds() {
    let lives = (
        drafts::in_motion(),
        vec(by_the_second(), 1..60),
        vec(extras(), 7),
    );
    let tally = RefCell::new(Tally::default());
    let outcome = runner(200, "proptest-regressions/extra_steps.txt").run(
        &lives,
        |(settings, life, extras)| {
            let mut restless = Restless::new(settings);
            let mut tally = tally.borrow_mut();
            let (mut plain_faults, mut was) = (0, Relay::Open);
            for (second, plain) in witnessed(settings, &life).iter().enumerate() {
                let sight = restless.step(plain.told.millis(), plain.input);
                plain_faults += faults(plain);
                let (one, other) = (&plain.decision, &sight.decision);
                prop_assert_eq!(
                    (one.relay, one.trust, one.call, one.contact),
                    (other.relay, other.trust, other.call, other.contact)
                );
                prop_assert_eq!(
                    (one.high_alarm, one.low_alarm, one.answer),
                    (other.high_alarm, other.low_alarm, other.answer)
                );
                prop_assert_eq!(plain_faults, restless.faults);
                let moved = one.relay != was;
                was = one.relay;
                let extras = &extras[second % extras.len()];
                for &after_ms in extras {
                    let again = Input {
                        command: None,
                        ..plain.input
                    };
                    restless.step(plain.told.millis() + u64::from(after_ms), again);
                }
                tally.count_if(
                    moved && extras.first() == Some(&0),
                    "moved, then an equal step",
                );
                tally.count_if(
                    moved && extras.last() > Some(&0),
                    "moved, then a step between",
                );
                tally.count_if(faults(plain) > 0, "probe fault declared");
                tally.count_if(one.events.contains(&Event::VoltageLost), "voltage lost");
                tally.count_if(one.events.contains(&Event::ContactWelded), "contact welded");
                tally.count_if(
                    matches!(one.trust, Trust::Suspect(Some(_))) && !extras.is_empty(),
                    "extra steps while the last good value is held",
                );
            }
            let broken = &restless.observer.findings().breaches;
            prop_assert!(broken.is_empty(), "{:?}", broken);
            Ok(())
        },
    );
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    let tally = tally.into_inner();
    println!("{tally}");
    tally.assert_reached(
        10,
        &[
            "moved, then an equal step",
            "moved, then a step between",
            "probe fault declared",
            "voltage lost",
            "contact welded",
            "extra steps while the last good value is held",
        ],
    );
}

fn warm(second: u64) -> Input {
    // It moves a little, or it would count as frozen after some hours.
    let noise = i32::try_from(second % 2).unwrap_or_default();
    Input::sampled(Sample::Temperature(Temperature::from_millicelsius(
        9_000 + noise,
    )))
}

/// When the relay first closes, in seconds, if it does within an hour.
fn first_start(times_a_second: u32) -> Option<u64> {
    let settings = Draft::COOLING.check().expect("defaults");
    let mut control = Control::at_power_up(StoredSettings::Whole(settings), &Retained::default());
    (0..3_600).find(|&second| {
        (0..times_a_second).any(|_| {
            let decision = control.step(Instant::from_millis(second * 1_000), &warm(second));
            decision.relay == Relay::Closed
        })
    })
}

#[test]
fn p14_a_clock_that_ticks_once_a_second_may_be_read_more_often() {
    let plain = first_start(1);
    assert!(plain.is_some(), "a call must close the relay");
    for times in [2, 3, 10] {
        assert_eq!(first_start(times), plain, "stepped {times} times a second");
    }
}

/// When a probe that breaks after ten minutes is declared, in seconds.
fn declared_after(doubled: impl Fn(u64) -> bool) -> Option<u64> {
    let settings = Draft::COOLING.check().expect("defaults");
    let mut control = Control::at_power_up(StoredSettings::Whole(settings), &Retained::default());
    (0..86_400).find(|&second| {
        let input = if second < 600 {
            warm(second)
        } else {
            Input::sampled(Sample::Counts(Counts::FULL))
        };
        let now = Instant::from_millis(second * 1_000);
        let once = control.step(now, &input);
        let last = if doubled(second) {
            control.step(now, &input)
        } else {
            once
        };
        assert!(second != 599 || last.relay == Relay::Closed, "it must run");
        last.trust == Trust::Fault(ProbeFault::Open)
    })
}

#[test]
fn p14_a_broken_probe_is_declared_in_time_however_often_a_step_is_doubled() {
    let delay_s = Draft::COOLING.probe_fault_delay.whole_seconds();
    for every in [1, 2, 8, 10] {
        let declared = declared_after(|second| second % every == 0);
        assert_eq!(declared, Some(600 + delay_s), "every {every}. step doubled");
    }
    assert_eq!(declared_after(|_| false), Some(600 + delay_s));
}
