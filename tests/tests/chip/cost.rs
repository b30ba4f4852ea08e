//! What a step costs on the chip, over the lives in which the promises are proven.
//!
//! Needs `firmware/build proof` and `npm ci` in `tests/chip`, so it runs with
//! the feature `chip` only.

use hysteron::chip::{Chip, hexadecimal};
use hysteron_logic::alarm::AlarmLimit;
use hysteron_logic::call::Mode;
use hysteron_logic::codec::{retained_to_bytes, settings_to_bytes};
use hysteron_logic::coefficients::Coefficients;
use hysteron_logic::contact::Feedback;
use hysteron_logic::control::{
    Command, Control, Input, Reason, Retained, SettingsLock, StoredSettings,
};
use hysteron_logic::curve::{Curve, CustomCurve};
use hysteron_logic::divider::Counts;
use hysteron_logic::fallback::{Cycle, Fallback};
use hysteron_logic::guard::{Relay, StartsLimit};
use hysteron_logic::lockout::RepeatLimit;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::{Confirmation, Draft, Settings};
use hysteron_logic::time::{Duration, Instant};
use hysteron_logic::units::{Difference, Temperature};
use hysteron_tests::promise::drafts;
use hysteron_tests::promise::happening::{Happening, Weights, happening};
use hysteron_tests::promise::run::{Seen, happen, runner};
use hysteron_tests::promise::world::World;
use proptest::prelude::*;
use proptest::sample::select;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

/// Count to decision, over the lives.
const MOST_STEP_CYCLES: u64 = 2_500;
/// Count to decision where a change of settings, the declaration of a probe fault, a duty
/// that is known, both alarms and a movement meet in one step.
const MOST_CRAMMED_CYCLES: u64 = 3_000;
/// Count to temperature, worst case.
const MOST_READING_CYCLES: u64 = 300;
/// Lives that are lived on the chip.
const LIVES: usize = 40;
/// Steps after a whole day in which as much happens at once as can.
const CRAMMED_STEPS: usize = 4_000;
/// About 6 °C and about −1 °C on a type II probe with 10 kΩ above it.
const WARM: u16 = 46_500;
const COLD: u16 = 51_000;
/// Steps of each that are.
const STEPS: usize = 200;

/// One control here and one on the chip, told the same.
struct Twins {
    chip: Chip,
    control: Control,
    closed: usize,
}

impl Twins {
    fn task(
        &mut self,
        kind: u8,
        told: Instant,
        input: Option<&Input>,
        settings: &Settings,
        retained: &Retained,
    ) -> Vec<u8> {
        let sum = match input.map(|input| input.sample) {
            Some(Sample::Counts(counts)) => counts.sum(),
            _ => 0,
        };
        let mut bytes = told.millis().to_le_bytes().to_vec();
        bytes.extend(sum.to_le_bytes());
        bytes.push(kind);
        let (lock, feedback, command) = input.map_or((0, 0, 0), |input| {
            (
                u8::from(input.lock == SettingsLock::Locked),
                match input.feedback {
                    Feedback::NotFitted => 0,
                    Feedback::Open => 1,
                    Feedback::Closed => 2,
                },
                match input.command {
                    None => 0,
                    Some(Command::Change(_)) => 1,
                    Some(Command::ReleaseLockout) => 2,
                    Some(Command::SwitchOff) => 3,
                    Some(Command::SwitchOn) => 4,
                },
            )
        });
        bytes.extend([lock, feedback, command]);
        bytes.extend(settings_to_bytes(settings));
        bytes.extend(retained_to_bytes(retained));
        let request = format!("exchange {}", hexadecimal(&bytes));
        let answer = self
            .chip
            .ask(&request)
            .unwrap_or_else(|error| panic!("{error}"));
        hysteron::chip::from_hexadecimal(answer).expect("hexadecimal")
    }

    fn power_up(&mut self, settings: Settings, retained: &Retained) {
        self.control = Control::at_power_up(StoredSettings::Whole(settings), retained);
        self.task(1, Instant::POWER_UP, None, &settings, retained);
    }

    fn step(&mut self, told: Instant, input: &Input) {
        let decision = self.control.step(told, input);
        let settings = match input.command {
            Some(Command::Change(settings)) => settings,
            _ => *self.control.settings(),
        };
        let answer = self.task(0, told, Some(input), &settings, &Retained::default());
        let closed = decision.relay == Relay::Closed;
        self.closed += usize::from(closed);
        assert_eq!(answer[0], u8::from(closed), "at {told:?}: {decision:?}");
        let reason = Reason::ALL[usize::from(answer[1])];
        assert_eq!(reason, decision.reason, "at {told:?}");
        assert_eq!(
            usize::from(answer[2]),
            decision.events.len(),
            "at {told:?}: {decision:?}"
        );
    }
}

/// The counts that a temperature or a resistance would give.
fn counted(sample: Sample, settings: &Settings) -> Sample {
    let draft = settings.draft();
    let resistance = match sample {
        Sample::Counts(_) => return sample,
        Sample::Resistance(resistance) => Some(resistance),
        Sample::Temperature(temperature) => draft.curve.resistance(temperature),
    };
    let Some(resistance) = resistance else {
        return Sample::Counts(Counts::FULL);
    };
    let ohms = f64::from(resistance.ohms());
    let ratio = ohms / (ohms + f64::from(draft.fixed_resistor_ohms));
    Sample::Counts(Counts::from_oversampled(
        (ratio * 65_536.0 - 8.0).max(0.0) as u16
    ))
}

fn marked(chip: &mut Chip, name: &str) -> (u64, u64) {
    let answer = chip
        .ask(&format!("cycles {name}"))
        .unwrap_or_else(|error| panic!("{error}"));
    let (count, largest) = answer.split_once(' ').expect("two numbers");
    (
        count.parse().expect("a count"),
        largest.parse().expect("a number"),
    )
}

/// Settings in one mode under which much is to be done in one step.
fn demanding() -> impl Strategy<Value = Settings> {
    let fallback = Fallback::MeasuredDuty(Cycle {
        on: Duration::from_minutes(4),
        off: Duration::from_minutes(5),
    });
    let alarm = |limits: [i32; 2]| {
        (select(limits.to_vec()), select(&[0_u32, 60][..])).prop_map(|(limit, delay)| {
            AlarmLimit::Beyond {
                limit: Temperature::from_millicelsius(limit),
                delay: Duration::from_seconds(delay),
            }
        })
    };
    let custom = CustomCurve::new(Coefficients::TYPE_III).map(Curve::Custom);
    let curves = [Curve::TypeII, custom.expect("type III is a curve")];
    (
        drafts::of_mode(Mode::Cool),
        alarm([3_000, 7_000]),
        alarm([5_000, 1_000]),
        select(&[0_u32, 5][..]),
        proptest::bool::ANY,
        select(curves.to_vec()),
    )
        .prop_filter_map(
            "makes no sense",
            move |(settings, high, low, delay, alike, curve)| {
                let mut draft = *settings.draft();
                draft.fallback = fallback;
                (draft.high_alarm, draft.low_alarm) = (high, low);
                draft.probe_fault_delay = Duration::from_seconds(delay);
                draft.probe_fault_lockout = RepeatLimit::Faults {
                    count: 10,
                    window: Duration::from_minutes(10),
                };
                draft.pull_down_grace = Duration::ZERO;
                draft.starts_per_hour = StartsLimit::PerHour(30);
                if alike {
                    draft.curve = Curve::TypeII;
                    draft.fixed_resistor_ohms = 10_000;
                    draft.probe_offset = Difference::from_millikelvin(0);
                } else {
                    draft.curve = curve;
                }
                draft.check().ok()
            },
        )
}

/// A day of work, so that the duty is known, and then as much at once as chance brings.
fn crammed(twins: &mut Twins, runner: &mut TestRunner) {
    let mut settings = Draft::COOLING;
    settings.minimum_off_time = Duration::ZERO;
    settings.minimum_on_time = Duration::ZERO;
    settings.short_off_time = Confirmation::Given;
    settings.starts_per_hour = StartsLimit::PerHour(30);
    let settings = settings.check().expect("settings that make sense");
    twins.power_up(settings, &Retained::default());
    let mut told_ms = 0;
    while twins.control.duty().is_none() {
        told_ms += 10_000;
        let counts = if told_ms % 200_000 < 100_000 {
            WARM
        } else {
            COLD
        };
        let sample = Sample::Counts(Counts::from_oversampled(
            counts + (told_ms / 10_000 % 2) as u16,
        ));
        twins.step(Instant::from_millis(told_ms), &Input::sampled(sample));
    }
    let command = prop_oneof![
        4 => demanding().prop_map(|settings| Some(Command::Change(settings))),
        1 => Just(Some(Command::ReleaseLockout)),
        2 => Just(None),
    ];
    let step = (
        prop_oneof![8 => 1_i64..=10_000, 1 => Just(0), 1 => -2_000_i64..=20_000],
        prop_oneof![3 => WARM - 20..WARM, 3 => COLD..COLD + 20, 1 => Just(0), 2 => 0_u16..=65_520],
        select(&[Feedback::NotFitted, Feedback::Open, Feedback::Closed][..]),
        command,
    );
    let mut known = 0;
    for _ in 0..CRAMMED_STEPS {
        let (ahead_ms, counts, feedback, command) =
            step.new_tree(runner).expect("a step").current();
        told_ms = told_ms.saturating_add_signed(ahead_ms);
        let input = Input {
            sample: Sample::Counts(Counts::from_oversampled(counts)),
            lock: SettingsLock::Unlocked,
            feedback,
            command,
        };
        known += usize::from(twins.control.duty().is_some());
        twins.step(Instant::from_millis(told_ms), &input);
    }
    assert!(known > CRAMMED_STEPS / 2, "{known}");
}

#[test]
fn no_step_costs_more_than_it_may() {
    let mut chip = Chip::start(&Chip::image("proof")).unwrap_or_else(|error| panic!("{error}"));
    for request in ["power 1", "tasks", "mark proof_reads", "mark proof_steps"] {
        chip.ask(request).unwrap_or_else(|error| panic!("{error}"));
    }
    let mut twins = Twins {
        chip,
        control: Control::at_power_up(StoredSettings::Unreadable, &Retained::default()),
        closed: 0,
    };
    let mut runner = runner(1, "proptest-regressions/chip_cost.txt");
    let life = (
        drafts::in_motion(),
        prop::collection::vec(happening(Weights::ALL), 20..120),
    );
    for _ in 0..LIVES {
        let (settings, happenings): (Settings, Vec<Happening>) =
            life.new_tree(&mut runner).expect("a life").current();
        let mut world = World::new(settings);
        twins.power_up(settings, &Retained::default());
        let mut steps = 0;
        for happening in &happenings {
            let mut sights = Vec::new();
            happen(&mut world, happening, &mut |seen| match seen {
                Seen::Step(sight) => sights.push(sight.clone()),
                Seen::Clock(_) | Seen::PowerBack { .. } => {}
            });
            if let Happening::PowerCut { .. } = happening {
                let settings = *twins.control.settings();
                let retained = twins.control.retained();
                twins.power_up(settings, &retained);
            }
            for sight in sights {
                let mut input = sight.input;
                input.sample = counted(input.sample, twins.control.settings());
                twins.step(sight.told, &input);
                steps += 1;
            }
            if steps >= STEPS {
                break;
            }
        }
    }
    // Every count there is, without a command.
    for sum in (0..=65_520).step_by(13) {
        let told = Instant::from_millis(1_000_000 + u64::from(sum) * 100);
        twins.step(
            told,
            &Input::sampled(Sample::Counts(Counts::from_oversampled(sum))),
        );
    }
    let (_, reading_cycles) = marked(&mut twins.chip, "proof_reads");
    let (steps, step_cycles) = marked(&mut twins.chip, "proof_steps");
    let closed = twins.closed;
    crammed(&mut twins, &mut runner);
    let (_, crammed_cycles) = marked(&mut twins.chip, "proof_steps");
    eprintln!("| figure | goal | measured |");
    eprintln!("| --- | --- | --- |");
    eprintln!("| count to temperature, cycles | {MOST_READING_CYCLES} | {reading_cycles} |");
    eprintln!("| count to decision, cycles | {MOST_STEP_CYCLES} | {step_cycles} |");
    eprintln!(
        "| count to decision, much at once, cycles | {MOST_CRAMMED_CYCLES} | {crammed_cycles} |"
    );
    assert!(
        steps > 8_000 && closed > 500,
        "{steps} steps, closed in {closed}"
    );
    assert!(reading_cycles <= MOST_READING_CYCLES, "{reading_cycles}");
    assert!(step_cycles <= MOST_STEP_CYCLES, "{step_cycles}");
    assert!(crammed_cycles <= MOST_CRAMMED_CYCLES, "{crammed_cycles}");
}
