//! The wiring check, swept: every conductor left out, ends moved everywhere, wrong figures.

use hysteron_diagnosis::check::{Severity, check};
use hysteron_installation::Installation;
use hysteron_installation::arrangements::{ARRANGEMENTS, named};
use hysteron_installation::circuit::Circuit;
use hysteron_installation::file;
use hysteron_installation::load::{Duty, Supplied};
use hysteron_installation::part::Kind;
use hysteron_installation::state::{RelayArmature, State};
use hysteron_source::text::SourceText;
use hysteron_tests::wiring::{read, show};
use hysteron_tests::wrong_figures::WRONG_FIGURES;
use hysteron_tests::wrong_wirings::{ADDED, added};

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

/// Which loads work while the relay is released and while it is energised.
fn works(installation: &Installation) -> Vec<[bool; 2]> {
    let circuit = Circuit::new(installation.clone());
    let states = [RelayArmature::Released, RelayArmature::Energised]
        .map(|relay| State::default().with_relay(relay));
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
        .filter(|load| !as_wished(&installation.part(load.part).kind))
        .map(|load| {
            settled.each_ref().map(|solution| {
                let supplied = solution.supplied(load.part);
                matches!(supplied, Supplied::Right | Supplied::High)
            })
        })
        .collect()
}

/// Whichever end of a conductor is put on a wrong terminal: when a load then works in another
/// position of the relay than before, or no longer, the check says something new.
#[test]
fn a_conductor_moved_to_where_it_changes_something_is_noticed() {
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

/// Whichever two terminals are joined by one conductor more: when a load then works in another
/// position of the relay than before, or no longer, the check says something new about it.
#[test]
fn a_conductor_added_where_it_changes_something_is_named() {
    let (mut changed, mut unnoticed) = (0, String::new());
    for arrangement in ARRANGEMENTS {
        let sound = read(arrangement.name, arrangement.text);
        let before = (works(&sound), check(&sound));
        let terminals: Vec<String> = sound
            .terminals()
            .map(|id| sound.terminal_name(id))
            .collect();
        for (number, from) in terminals.iter().enumerate() {
            let others = &terminals[number + 1..];
            for to in others.iter().skip(number % STRIDE).step_by(STRIDE) {
                let source = SourceText::new(arrangement.name, added(arrangement.text, from, to));
                let Ok(joined) = file::read(&source.expect("short")) else {
                    continue;
                };
                if works(&joined) == before.0 {
                    continue;
                }
                changed += 1;
                let new = joined.part_named(ADDED).expect("it was added");
                let findings = check(&joined);
                let named = findings.iter().any(|finding| {
                    let says = finding.places.contains(&new)
                        || [from, to].iter().any(|end| finding.what.contains(*end));
                    says && finding.severity < Severity::Note && !before.1.contains(finding)
                });
                if !named {
                    unnoticed +=
                        &format!("{}: {from} to {to}\n{}", arrangement.name, show(&findings));
                }
            }
        }
    }
    assert!(changed > 100, "{changed}");
    assert!(unnoticed.is_empty(), "{unnoticed}");
}

/// How many targets are passed over for each that is tried.
const STRIDE: usize = 7;
