//! The wiring check, swept: every conductor left out, ends moved everywhere, wrong figures.

use hysteron::installation::Installation;
use hysteron::installation::arrangements::{ARRANGEMENTS, named};
use hysteron::installation::check::{Rule, Severity, check};
use hysteron::installation::circuit::Circuit;
use hysteron::installation::file;
use hysteron::installation::load::{Duty, Supplied};
use hysteron::installation::part::Kind;
use hysteron::installation::state::{Relay, State};
use hysteron::source_text::SourceText;
use hysteron_tests::wiring::{read, show};

/// Whichever conductor is left out, the check says something new and names where.
#[test]
fn no_conductor_can_be_left_out_unnoticed() {
    let mut dropped = 0;
    let mut failures = String::new();
    for arrangement in ARRANGEMENTS {
        let sound = read(arrangement.name, arrangement.text);
        let before = check(&sound);
        for (id, conductor) in sound.conductors() {
            let name = &sound.part(id).name;
            let start = format!("{name} = {{ from");
            let text: String = arrangement
                .text
                .lines()
                .filter(|line| !line.starts_with(&start))
                .map(|line| format!("{line}\n"))
                .collect();
            let after = check(&read(arrangement.name, &text));
            dropped += 1;
            let ends = conductor.ends.map(|end| sound.terminal_name(end));
            let parts = conductor
                .ends
                .map(|end| sound.part(sound.terminal(end).0).name.clone());
            let new = after.iter().any(|finding| {
                let says = ends.iter().any(|end| finding.what.contains(end.as_str()))
                    || parts
                        .iter()
                        .any(|part| finding.what.contains(part.as_str()));
                says && !before.iter().any(|known| known.what == finding.what)
            });
            if !new {
                failures += &format!("{} without {name}:\n{}\n", arrangement.name, show(&after));
            }
        }
    }
    assert!(dropped > 100, "{dropped}");
    assert!(failures.is_empty(), "{failures}");
}

/// What a person wrote, what they write instead, and the rule that must object, naming this part.
const WRONG_FIGURES: &[(&str, &str, &str, Rule, &str)] = &[
    (
        "compressor-120",
        "full_load_a = 16",
        "full_load_a = 8",
        Rule::ContactOverloaded,
        "control",
    ),
    (
        "compressor-120",
        "locked_rotor_a = 96",
        "locked_rotor_a = 50",
        Rule::ContactOverloaded,
        "control",
    ),
    (
        "pump-down-120",
        "pilot_duty_va = 360",
        "pilot_duty_va = 10",
        Rule::ContactOverloaded,
        "control",
    ),
    (
        "heating-240",
        "resistive_a = 20",
        "resistive_a = 12",
        Rule::ContactOverloaded,
        "control",
    ),
    (
        "contactor-24",
        "locked_rotor_a = 150",
        "locked_rotor_a = 90",
        Rule::ContactOverloaded,
        "contactor",
    ),
    (
        "compressor-120",
        "rating_a = 20",
        "rating_a = 10",
        Rule::ProtectionTooSmall,
        "breaker",
    ),
    (
        "compressor-120",
        "rating_a = 20",
        "rating_a = 30",
        Rule::ProtectionTooLarge,
        "breaker",
    ),
    (
        "separate-supplies",
        "rating_a = 5",
        "rating_a = 1",
        Rule::ProtectionTooSmall,
        "fuse",
    ),
    (
        "heating-240",
        "power_w = 3500",
        "power_w = 5500",
        Rule::ConductorTooSmall,
        "3",
    ),
    (
        "contactor-24",
        "rated_va = 40",
        "rated_va = 10",
        Rule::TransformerOverloaded,
        "transformer",
    ),
    (
        "contactor-24",
        "pull_in_fraction = 0.8",
        "pull_in_fraction = 0.9",
        Rule::CoilOutsideBand,
        "contactor",
    ),
    (
        "contactor-24",
        "droop = 0.05",
        "droop = 0.15",
        Rule::CoilOutsideBand,
        "contactor",
    ),
    (
        "contactor-24",
        "primary_v = 208",
        "primary_v = 240",
        Rule::ControlOutsideBand,
        "control",
    ),
    (
        "compressor-208",
        "rated_v = 208",
        "rated_v = 120",
        Rule::WrongVoltage,
        "compressor",
    ),
    (
        "compressor-240",
        "gauge_awg = 12, length_m = 15",
        "gauge_awg = 12, length_m = 250",
        Rule::VoltageDrop,
        "compressor",
    ),
];

#[test]
fn each_wrong_figure_is_found() {
    let mut failures = String::new();
    for &(name, right, wrong, rule, part) in WRONG_FIGURES {
        let text = named(name).expect(name).text;
        let spoilt = text.replace(right, wrong);
        assert_ne!(spoilt, text, "{name} has no {right}");
        let installation = read(name, &spoilt);
        let part = installation.part_named(part).expect(part);
        let findings = check(&installation);
        let found = findings
            .iter()
            .any(|finding| finding.rule == rule && finding.places.contains(&part));
        if !found {
            failures += &format!(
                "{name} {wrong}: wanted {}\n{}",
                rule.words(),
                show(&findings)
            );
        }
    }
    assert!(failures.is_empty(), "{failures}");
}

/// Whichever end of a conductor is put on a wrong terminal: when a load then works in another
/// position of the relay than before, or no longer, the check says something new.
#[test]
fn a_conductor_moved_to_where_it_changes_something_is_noticed() {
    let works = |installation: &Installation| -> Vec<[bool; 2]> {
        let circuit = Circuit::new(installation.clone());
        let states =
            [Relay::Released, Relay::Energised].map(|relay| State::default().with_relay(relay));
        let settled = states.map(|state| circuit.settle(&state).solution);
        // An evaporator fan may run always or with the compressor, and a lamp may light at any
        // time: whatever they do is somebody's wish.
        let as_wished = |kind: &Kind| match kind {
            Kind::Motor(motor) => motor.duty == Duty::EvaporatorFan,
            Kind::Lamp(_) => true,
            Kind::Supply(_)
            | Kind::Transformer(_)
            | Kind::Conductor(_)
            | Kind::Overcurrent(_)
            | Kind::Device(_)
            | Kind::Control(_)
            | Kind::Contactor(_)
            | Kind::Valve(_)
            | Kind::Heater(_) => false,
        };
        installation
            .loads()
            .filter(|&(id, ..)| !as_wished(&installation.part(id).kind))
            .map(|(id, ..)| {
                settled.each_ref().map(|solution| {
                    matches!(solution.supplied(id), Supplied::Right | Supplied::High)
                })
            })
            .collect()
    };
    let (mut changed, mut unnoticed) = (0, String::new());
    for arrangement in ARRANGEMENTS {
        let sound = read(arrangement.name, arrangement.text);
        let before = (works(&sound), check(&sound));
        let moves = sound
            .conductors()
            .flat_map(|(id, conductor)| conductor.ends.map(|end| (id, sound.terminal_name(end))));
        let targets: Vec<String> = sound
            .terminals()
            .map(|id| sound.terminal_name(id))
            .collect();
        for (number, (id, end)) in moves.enumerate() {
            // Every seventh target, another seventh for each end, keeps this to seconds.
            for target in targets.iter().skip(number % STRIDE).step_by(STRIDE) {
                let name = &sound.part(id).name;
                let line = arrangement
                    .text
                    .lines()
                    .find(|line| line.starts_with(&format!("{name} = {{ from")))
                    .expect("a conductor");
                let moved_line = line.replace(&format!("\"{end}\""), &format!("\"{target}\""));
                let text = arrangement.text.replace(line, &moved_line);
                let source = SourceText::new(arrangement.name, text).expect("short");
                let Ok(moved) = file::read(&source) else {
                    continue;
                };
                if works(&moved) == before.0 {
                    continue;
                }
                changed += 1;
                let findings = check(&moved);
                let noticed = findings.iter().any(|finding| {
                    finding.severity < Severity::Note && !before.1.contains(finding)
                });
                if !noticed {
                    unnoticed += &format!(
                        "{}: {name} from {end} to {target}\n{}",
                        arrangement.name,
                        show(&findings)
                    );
                }
            }
        }
    }
    assert!(changed > 100, "{changed}");
    assert!(unnoticed.is_empty(), "{unnoticed}");
}

/// How many targets are passed over for each that is tried.
const STRIDE: usize = 7;
