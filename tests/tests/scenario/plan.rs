//! What a scenario says is what its plan holds.

use hysteron_bench::scenario::happening::{Edge, Happening, Hold};
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::SearchPaths;
use hysteron_logic::field::Field;
use hysteron_logic::settings::{Draft, Settings};
use hysteron_logic::time::Duration;
use hysteron_source::text::{Rejected, SourceText};

const BASE: &str = "title = \"x\"\nduration = \"3 d\"\nplant = { kind = \"refrigerated box\" }\n";

fn plan(rest: &str) -> Plan {
    let source = SourceText::new("plan.toml", format!("{BASE}{rest}")).expect("short");
    Plan::read(&source, &SearchPaths::default()).unwrap_or_else(|rejected| panic!("{rejected}"))
}

/// The settings that a plant gets which neither heat nor cold drives away.
fn settings(control: &str) -> Settings {
    let rejected = |rejected| panic!("{rejected}");
    let plan = read_with_neutral_plant(control).unwrap_or_else(rejected);
    plan.cases[0].settings
}

fn read_with_neutral_plant(control: &str) -> Result<Plan, Rejected> {
    let base = BASE.replace("refrigerated box", "first order");
    let source = SourceText::new("plan.toml", format!("{base}[control]\n{control}\n"));
    Plan::read(&source.expect("short"), &SearchPaths::default())
}

#[test]
fn heat_without_a_probe_is_refused_until_a_person_confirms_a_cycle() {
    for (fallback, said) in [
        ("keep closed", "Heat must not stay on without a probe"),
        ("timed cycle", "needs a person's confirmation"),
    ] {
        let control = format!("mode = \"heat\"\nfallback = \"{fallback}\"");
        let refused = read_with_neutral_plant(&control).expect_err(fallback);
        assert!(refused.to_string().contains(said), "{refused}");
    }
    settings("mode = \"heat\"\nfallback = \"timed cycle\"\nconfirm_heat_without_probe = true");
}

/// The timeline of the first case: minutes since the beginning, and what begins or ends.
fn edges(rest: &str) -> Vec<(u64, Edge)> {
    let plan = plan(&format!("control = {{ mode = \"cool\" }}\n{rest}"));
    let edges = plan.cases[0].timeline.edges();
    edges
        .map(|timed| (timed.at.millis() / 60_000, timed.edge.clone()))
        .collect()
}

/// Each setting with a line that gives it a value that is not its default.
const LINES: [(Field, &str); 32] = [
    (Field::Mode, "mode = \"heat\""),
    (Field::Load, "load = \"other\""),
    (Field::Setpoint, "setpoint = \"3.5 °C\""),
    (Field::Differential, "differential = \"1.5 K\""),
    (Field::LowestSetpoint, "lowest_setpoint = \"0 °C\""),
    (Field::HighestSetpoint, "highest_setpoint = \"12 °C\""),
    (Field::MinimumOffTime, "minimum_off_time = \"4 min\""),
    (Field::MinimumOnTime, "minimum_on_time = \"3 min\""),
    (Field::StartsPerHour, "starts_per_hour = 7"),
    (Field::PowerUpStagger, "power_up_stagger = \"45 s\""),
    (Field::Curve, "probe_curve = \"10k type III\""),
    (Field::FixedResistor, "fixed_resistor = \"12 kΩ\""),
    (Field::ProbeOffset, "probe_offset = \"-0.5 K\""),
    (Field::ProbeFaultDelay, "probe_fault_delay = \"1 min\""),
    (Field::ProbeRecoveryTime, "probe_recovery_time = \"5 min\""),
    (Field::ProbeFrozenAfter, "probe_frozen_after = \"never\""),
    (Field::Fallback, "fallback = \"keep closed\""),
    (
        Field::FallbackOn,
        "fallback = \"timed cycle\"\nfallback_on = \"7 min\"",
    ),
    (
        Field::FallbackOff,
        "fallback = \"timed cycle\"\nfallback_off = \"9 min\"",
    ),
    (
        Field::ProbeFaultsToLockout,
        "probe_faults_to_lockout = \"never\"",
    ),
    (Field::ProbeFaultWindow, "probe_fault_window = \"2 h\""),
    (Field::HeatCeiling, "heat_ceiling = \"70 °C\""),
    (
        Field::HeatCeilingConfirmation,
        "heat_ceiling_confirmation = \"10 s\"",
    ),
    (Field::HighAlarm, "high_alarm = \"8 °C\""),
    (
        Field::HighAlarmDelay,
        "high_alarm = \"8 °C\"\nhigh_alarm_delay = \"5 min\"",
    ),
    (Field::LowAlarm, "low_alarm = \"-1 °C\""),
    (
        Field::LowAlarmDelay,
        "low_alarm = \"-1 °C\"\nlow_alarm_delay = \"5 min\"",
    ),
    (Field::PullDownGrace, "pull_down_grace = \"1 h\""),
    (Field::GraceAfterDefrost, "grace_after_defrost = \"20 min\""),
    (Field::DefrostInterval, "defrost_interval = \"6 h\""),
    (
        Field::DefrostLength,
        "defrost_interval = \"6 h\"\ndefrost_length = \"30 min\"",
    ),
    (Field::Scale, "scale = \"fahrenheit\""),
];

#[test]
fn every_setting_can_be_given_and_arrives() {
    let mut drafts: Vec<Draft> = vec![*settings("").draft()];
    assert_eq!(drafts[0], Draft::COOLING);
    for (field, (listed, line)) in Field::ALL.into_iter().zip(LINES) {
        assert_eq!(field, listed);
        let name = field.about().name.replace([' ', '-'], "_");
        assert!(
            line.contains(&name),
            "{name} is not what a file calls it: {line}"
        );
        let draft = *settings(line).draft();
        assert!(
            !drafts.contains(&draft),
            "{line} changed nothing of its own"
        );
        drafts.push(draft);
    }
}

#[test]
fn fahrenheit_points_are_shifted_and_differences_are_not() {
    let settings = settings("setpoint = \"36 °F\"\ndifferential = \"4 °F\"");
    assert_eq!(settings.draft().setpoint.millicelsius(), 2_222);
    assert_eq!(settings.draft().differential.millikelvin(), 2_222);
}

#[test]
fn a_happening_repeats_within_the_day_and_each_day() {
    let daily = edges(
        "[[happening]]\nat = \"09:00\"\nevery = \"1 h\"\nfor = \"5 min\"\nuntil = \"12:00\"\n\
         each_day = true\nwhat = \"door opens\"\n",
    );
    let minutes: Vec<u64> = daily.iter().map(|(at, _)| *at).collect();
    let first = [540, 545, 600, 605, 660, 665];
    let expected: Vec<u64> = (0..3)
        .flat_map(|day| first.map(|minute| minute + day * 1_440))
        .collect();
    assert_eq!(minutes, expected);
    assert_eq!(daily[0].1, Edge::Begins(Happening::DoorOpens));
    assert_eq!(daily[1].1, Edge::Ends(Hold::Door));
}

#[test]
fn what_goes_on_when_the_scenario_ends_does_not_end_in_it() {
    for end in [
        "until = \"day 2 02:00\"\neach_day = true",
        "for = \"5 h\"\neach_day = true",
    ] {
        let daily = edges(&format!(
            "[[happening]]\nat = \"23:00\"\n{end}\nwhat = \"door opens\"\n"
        ));
        let begins = daily
            .iter()
            .filter(|(_, edge)| *edge != Edge::Ends(Hold::Door));
        assert_eq!(begins.count(), 3, "{daily:?}");
        assert_eq!(daily.len(), 5, "{daily:?}");
        assert!(daily.iter().all(|(at, _)| *at <= 3 * 1_440), "{daily:?}");
    }
}

#[test]
fn what_is_mended_early_does_not_end_again() {
    let probe = edges(
        "[[happening]]\nat = \"01:00\"\nfor = \"2 h\"\nwhat = \"probe opens\"\n\
         [[happening]]\nat = \"02:00\"\nwhat = \"probe recovers\"\n\
         [[happening]]\nat = \"02:00\"\nfor = \"3 h\"\nwhat = \"probe shorts\"\n",
    );
    let expected = [
        (60, Edge::Begins(Happening::ProbeOpens)),
        (120, Edge::Ends(Hold::Probe)),
        (120, Edge::Begins(Happening::ProbeShorts)),
        (300, Edge::Ends(Hold::Probe)),
    ];
    assert_eq!(probe, expected);
}

#[test]
fn a_change_refused_by_the_lock_is_not_carried_on() {
    let changes = edges(
        "[[happening]]\nat = \"01:00\"\nfor = \"2 h\"\nwhat = \"settings are locked\"\n\
         [[happening]]\nat = \"02:00\"\nwhat = \"settings change\"\nsettings = { setpoint = \"5 °C\" }\n\
         [[happening]]\nat = \"04:00\"\nwhat = \"settings change\"\nsettings = { differential = \"3 K\" }\n",
    );
    let asked: Vec<(i32, i32)> = changes
        .iter()
        .filter_map(|(_, edge)| match edge {
            Edge::Begins(Happening::SettingsChange(settings)) => {
                let draft = settings.draft();
                Some((
                    draft.setpoint.millicelsius(),
                    draft.differential.millikelvin(),
                ))
            }
            Edge::Begins(_) | Edge::Ends(_) => None,
        })
        .collect();
    assert_eq!(asked, [(5_000, 2_000), (2_000, 3_000)]);
}

#[test]
fn each_variant_is_a_case_with_its_own_settings_through_every_change() {
    let plan = plan(
        "control = { setpoint = \"2 °C\" }\n\
         variant = [{ name = \"a\", settings = {} }, { name = \"b\", settings = { differential = \"4 K\" } }]\n\
         [[happening]]\nat = \"01:00\"\nwhat = \"settings change\"\nsettings = { setpoint = \"5 °C\" }\n",
    );
    let differentials: Vec<i32> = plan
        .cases
        .iter()
        .flat_map(|case| case.timeline.edges())
        .filter_map(|timed| match &timed.edge {
            Edge::Begins(Happening::SettingsChange(settings)) => {
                assert_eq!(settings.draft().setpoint.millicelsius(), 5_000);
                Some(settings.draft().differential.millikelvin())
            }
            Edge::Begins(_) | Edge::Ends(_) => None,
        })
        .collect();
    assert_eq!(differentials, [2_000, 4_000]);
}

#[test]
fn a_moment_between_steps_is_judged_at_the_step_before() {
    let plan =
        plan("step = \"700 ms\"\ncontrol = {}\n[[expect]]\nrelay = \"open\"\nat = \"1 s\"\n");
    let window = plan.expectations[0].window;
    assert_eq!(window.from, Duration::from_millis(700));
    assert_eq!(window.until, window.from);
}

#[test]
fn a_whole_number_is_as_good_as_one_with_a_point() {
    let base = BASE.replace(
        "kind = \"refrigerated box\"",
        "kind = \"room\", fabric_capacity_j_k = NUMBER",
    );
    let plant = |number: &str| {
        let text = format!(
            "{}control = {{ mode = \"heat\" }}\n",
            base.replace("NUMBER", number)
        );
        let source = SourceText::new("plan.toml", text).expect("short");
        let plan = Plan::read(&source, &SearchPaths::default());
        plan.unwrap_or_else(|rejected| panic!("{rejected}")).plant
    };
    let plain = plant("5e9");
    for number in ["5000000000", "5_000_000_000", "0x12A05F200"] {
        assert_eq!(plant(number), plain, "{number}");
    }
}
