//! Strategies for settings: sensible ones with short holds, and any at all.

use hysteron_logic::alarm::AlarmLimit;
use hysteron_logic::call::Mode;
use hysteron_logic::coefficients::Coefficients;
use hysteron_logic::curve::{Curve, CustomCurve};
use hysteron_logic::defrost::DefrostPlan;
use hysteron_logic::fallback::{Cycle, Fallback};
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::lockout::RepeatLimit;
use hysteron_logic::probe::FrozenCheck;
use hysteron_logic::settings::{Confirmation, Draft, Load, Scale, Settings};
use hysteron_logic::time::Duration;
use hysteron_logic::units::{Difference, Temperature};
use proptest::prelude::*;
use proptest::sample::select;

fn seconds(choices: &'static [u32]) -> impl Strategy<Value = Duration> {
    select(choices).prop_map(Duration::from_seconds)
}

fn mode() -> impl Strategy<Value = Mode> {
    select(&[Mode::Cool, Mode::Heat])
}

fn starts() -> impl Strategy<Value = StartsLimit> {
    prop_oneof![
        Just(StartsLimit::Unlimited),
        (1_u8..=5).prop_map(StartsLimit::PerHour),
    ]
}

/// A cycle that both modes accept beside any of the holds below.
fn cycle() -> impl Strategy<Value = Cycle> {
    (2_u32..=4, 5_u32..=8).prop_map(|(on, off)| Cycle {
        on: Duration::from_minutes(on),
        off: Duration::from_minutes(off),
    })
}

fn fallback(mode: Mode) -> BoxedStrategy<Fallback> {
    let either = prop_oneof![
        Just(Fallback::Open),
        cycle().prop_map(Fallback::TimedCycle),
        cycle().prop_map(Fallback::MeasuredDuty),
    ];
    match mode {
        Mode::Cool => prop_oneof![2 => either, 1 => Just(Fallback::Closed)].boxed(),
        Mode::Heat => either.boxed(),
    }
}

fn repeats() -> impl Strategy<Value = RepeatLimit> {
    prop_oneof![
        2 => Just(RepeatLimit::Unlimited),
        1 => (2_u8..=4, select(&[10_u32, 60])).prop_map(|(count, window)| RepeatLimit::Faults {
            count,
            window: Duration::from_minutes(window),
        }),
    ]
}

/// A thermistor and a fixed resistor that goes with it.
fn thermistor() -> impl Strategy<Value = (Curve, u32)> {
    prop_oneof![
        3 => Just((Curve::TypeII, 10_000)),
        1 => Just((Curve::TypeIII, 10_000)),
        1 => Just((Curve::TypeII, 22_000)),
        1 => Just((Curve::R3k, 4_700)),
        1 => Just((Curve::R100k, 150_000)),
    ]
}

/// Settings of either mode around 4 °C, with holds short enough to be lived through.
pub fn in_motion() -> impl Strategy<Value = Settings> {
    mode().prop_flat_map(of_mode)
}

/// As [`in_motion`], of one mode.
pub fn of_mode(mode: Mode) -> impl Strategy<Value = Settings> {
    let holds = (
        seconds(&[0, 20, 60, 180, 300]),
        seconds(&[0, 20, 60, 120]),
        starts(),
        seconds(&[0, 10, 60]),
    );
    let temperatures = (2_000_i32..=6_000, 500_i32..=3_000, 100_i32..=6_000);
    let waits = (seconds(&[0, 5, 30]), seconds(&[0, 60, 600]));
    let probe = (
        select(&[0_i32, 0, 0, 500, -5_000]),
        thermistor(),
        seconds(&[0, 5, 20, 60]),
        seconds(&[0, 10, 60]),
        repeats(),
    );
    let defrost = prop_oneof![
        5 => Just(DefrostPlan::Off),
        1 => Just(match mode {
            Mode::Cool => DefrostPlan::Every {
                interval: Duration::from_hours(1),
                length: Duration::from_minutes(3),
            },
            Mode::Heat => DefrostPlan::Off,
        }),
    ];
    (holds, temperatures, probe, fallback(mode), defrost, waits).prop_map(
        move |(holds, temperatures, probe, fallback, defrost, waits)| {
            let setpoint = Temperature::from_millicelsius(temperatures.0);
            let differential = Difference::from_millikelvin(temperatures.1);
            let above = Difference::from_millikelvin(temperatures.2);
            let draft = Draft {
                mode,
                load: Load::Compressor,
                setpoint,
                differential,
                heat_ceiling: setpoint.raised_by(differential).raised_by(above),
                heat_ceiling_confirmation: waits.0,
                grace_after_defrost: waits.1,
                minimum_off_time: holds.0,
                minimum_on_time: holds.1,
                starts_per_hour: holds.2,
                power_up_stagger: holds.3,
                probe_offset: Difference::from_millikelvin(probe.0),
                curve: probe.1.0,
                fixed_resistor_ohms: probe.1.1,
                probe_fault_delay: probe.2,
                probe_recovery_time: probe.3,
                probe_fault_lockout: probe.4,
                probe_frozen: FrozenCheck::After(Duration::from_minutes(5)),
                fallback,
                defrost,
                short_off_time: Confirmation::Given,
                heat_without_probe: Confirmation::Given,
                ..Draft::COOLING
            };
            draft
                .check()
                .unwrap_or_else(|refused| panic!("{refused}: {draft:?}"))
        },
    )
}

/// Around the ends of every range, and far outside.
fn any_duration() -> impl Strategy<Value = Duration> {
    prop_oneof![
        6 => (0_u64..=900_000).prop_map(Duration::from_millis),
        3 => (60_u32..=120).prop_map(Duration::from_minutes),
        3 => (0_u32..=600).prop_map(Duration::from_minutes),
        1 => any::<u64>().prop_map(Duration::from_millis),
    ]
}

fn any_temperature() -> impl Strategy<Value = Temperature> {
    prop_oneof![
        8 => -45_000_i32..=125_000,
        5 => select(&[-49_500, -40_000, 100_000, 110_000, 119_500]),
        1 => any::<i32>(),
    ]
    .prop_map(Temperature::from_millicelsius)
}

fn any_difference() -> impl Strategy<Value = Difference> {
    prop_oneof![
        8 => -6_000_i32..=18_000,
        6 => select(&[200, 20_000]),
        1 => any::<i32>(),
    ]
    .prop_map(Difference::from_millikelvin)
}

fn any_cycle() -> impl Strategy<Value = Cycle> {
    (any_duration(), any_duration()).prop_map(|(on, off)| Cycle { on, off })
}

fn any_alarm() -> impl Strategy<Value = AlarmLimit> {
    prop_oneof![
        Just(AlarmLimit::Off),
        (any_temperature(), any_duration())
            .prop_map(|(limit, delay)| AlarmLimit::Beyond { limit, delay }),
    ]
}

fn any_curve() -> impl Strategy<Value = Curve> {
    let custom = CustomCurve::new(Coefficients::TYPE_III).map(Curve::Custom);
    let custom = custom.unwrap_or_else(|refused| panic!("type III is a curve: {refused:?}"));
    prop_oneof![5 => select(&Curve::PUBLISHED), 1 => Just(custom)]
}

fn confirmation() -> impl Strategy<Value = Confirmation> {
    select(&[Confirmation::Given, Confirmation::NotGiven])
}

/// Mostly as it was.
fn seldom<S: Strategy>(other: S) -> impl Strategy<Value = Option<S::Value>> {
    proptest::option::weighted(0.12, other)
}

/// Any draft: a default with some of its parts replaced, sensibly or not.
pub fn any_draft() -> impl Strategy<Value = Draft> {
    let plain = (
        seldom(mode()),
        seldom(select(&[Load::Compressor, Load::Other])),
        seldom(any_temperature()),
        seldom(any_difference()),
        seldom(any_temperature()),
        seldom(any_temperature()),
        seldom(any_duration()),
        seldom(any_duration()),
        seldom(prop_oneof![
            Just(StartsLimit::Unlimited),
            (0_u8..=40).prop_map(StartsLimit::PerHour)
        ]),
        // A cut-in that no probe can be believed at needs both at their ends.
        proptest::option::weighted(0.02, select(&[-40_000, 100_000])),
        // So does a ceiling at which a probe would read as shorted.
        proptest::bool::weighted(0.02),
        // A defrost that makes sense, and a grace after it.
        proptest::option::weighted(0.04, (1_u32..=3, 1_u32..=59, 0_u32..=120)),
    );
    let probe = (
        seldom(any_duration()),
        seldom(any_curve()),
        seldom(prop_oneof![1_000_u32..=200_000, any::<u32>()]),
        seldom(any_difference()),
        seldom(any_duration()),
        seldom(any_duration()),
        seldom(prop_oneof![
            Just(FrozenCheck::Off),
            any_duration().prop_map(FrozenCheck::After)
        ]),
        seldom(any_duration()),
        seldom(any_duration()),
    );
    let faults = (
        proptest::option::weighted(
            0.5,
            prop_oneof![
                Just(Fallback::Open),
                Just(Fallback::Closed),
                any_cycle().prop_map(Fallback::TimedCycle),
                any_cycle().prop_map(Fallback::MeasuredDuty),
                cycle().prop_map(Fallback::TimedCycle),
                cycle().prop_map(Fallback::MeasuredDuty),
            ],
        ),
        seldom(prop_oneof![
            repeats(),
            (any::<u8>(), any_duration())
                .prop_map(|(count, window)| RepeatLimit::Faults { count, window })
        ]),
        seldom(any_temperature()),
        seldom(any_alarm()),
        seldom(any_alarm()),
        seldom(any_duration()),
        seldom(
            (any_duration(), any_duration())
                .prop_map(|(interval, length)| DefrostPlan::Every { interval, length }),
        ),
        seldom(select(&[Scale::Celsius, Scale::Fahrenheit])),
        confirmation(),
        confirmation(),
    );
    let start = select(&[Draft::COOLING, Draft::HEATING]);
    (start, plain, probe, faults).prop_map(|(mut draft, plain, probe, faults)| {
        if let Some(end) = plain.9 {
            draft.setpoint = Temperature::from_millicelsius(end);
            draft.differential = Difference::from_millikelvin(20_000);
        }
        if plain.10 {
            draft.heat_ceiling = Temperature::from_millicelsius(110_000);
            draft.fixed_resistor_ohms = 300_000;
        }
        if let Some((hours, rest, grace)) = plain.11 {
            draft.defrost = DefrostPlan::Every {
                interval: Duration::from_hours(hours),
                length: Duration::from_minutes(rest),
            };
            draft.grace_after_defrost = Duration::from_minutes(grace);
        }
        Draft {
            mode: plain.0.unwrap_or(draft.mode),
            load: plain.1.unwrap_or(draft.load),
            setpoint: plain.2.unwrap_or(draft.setpoint),
            differential: plain.3.unwrap_or(draft.differential),
            lowest_setpoint: plain.4.unwrap_or(draft.lowest_setpoint),
            highest_setpoint: plain.5.unwrap_or(draft.highest_setpoint),
            minimum_off_time: plain.6.unwrap_or(draft.minimum_off_time),
            minimum_on_time: plain.7.unwrap_or(draft.minimum_on_time),
            starts_per_hour: plain.8.unwrap_or(draft.starts_per_hour),
            power_up_stagger: probe.0.unwrap_or(draft.power_up_stagger),
            curve: probe.1.unwrap_or(draft.curve),
            fixed_resistor_ohms: probe.2.unwrap_or(draft.fixed_resistor_ohms),
            probe_offset: probe.3.unwrap_or(draft.probe_offset),
            probe_fault_delay: probe.4.unwrap_or(draft.probe_fault_delay),
            probe_recovery_time: probe.5.unwrap_or(draft.probe_recovery_time),
            probe_frozen: probe.6.unwrap_or(draft.probe_frozen),
            fallback: faults.0.unwrap_or(draft.fallback),
            probe_fault_lockout: faults.1.unwrap_or(draft.probe_fault_lockout),
            heat_ceiling: faults.2.unwrap_or(draft.heat_ceiling),
            heat_ceiling_confirmation: probe.7.unwrap_or(draft.heat_ceiling_confirmation),
            high_alarm: faults.3.unwrap_or(draft.high_alarm),
            low_alarm: faults.4.unwrap_or(draft.low_alarm),
            pull_down_grace: faults.5.unwrap_or(draft.pull_down_grace),
            grace_after_defrost: probe.8.unwrap_or(draft.grace_after_defrost),
            defrost: faults.6.unwrap_or(draft.defrost),
            scale: faults.7.unwrap_or(draft.scale),
            short_off_time: faults.8,
            heat_without_probe: faults.9,
        }
    })
}
