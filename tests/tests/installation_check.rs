//! The wiring check: nothing wrong is found in what ships, and the cause is named in what is spoilt.

use std::collections::BTreeSet;

use hysteron::installation::Installation;
use hysteron::installation::arrangements::{ARRANGEMENTS, named};
use hysteron::installation::check::{Finding, Rule, Severity, check};
use hysteron_tests::wiring::{read, show};

#[test]
fn nothing_is_wrong_with_what_ships() {
    for arrangement in ARRANGEMENTS {
        let findings = check(&read(arrangement.name, arrangement.text));
        let bad: Vec<Finding> = findings
            .into_iter()
            .filter(|finding| finding.severity != Severity::Note)
            .collect();
        assert!(bad.is_empty(), "{}\n{}", arrangement.name, show(&bad));
    }
}

/// One conductor changed.
#[derive(Debug, Clone, Copy)]
enum Change {
    /// Taken off.
    Drop(&'static str),
    /// This end of it put on another terminal.
    Move(&'static str, &'static str, &'static str),
    /// Put between two terminals.
    Add(&'static str, &'static str),
}
use Change::{Add, Drop, Move};

impl Change {
    fn spoil(self, text: &str) -> String {
        let line_of = |name: &str| {
            let start = format!("{name} = {{ from");
            let mut found = text.lines().filter(|line| line.starts_with(&start));
            found
                .next()
                .unwrap_or_else(|| panic!("no conductor {name}"))
        };
        let spoilt = match self {
            Drop(name) => text.replace(&format!("{}\n", line_of(name)), ""),
            Move(name, from, to) => {
                let line = line_of(name);
                let moved = line.replace(&format!("\"{from}\""), &format!("\"{to}\""));
                text.replace(line, &moved)
            }
            Add(from, to) => text.replace(
                "[wire]\n",
                &format!(
                    "[wire]\nadded = {{ from = \"{from}\", to = \"{to}\", gauge_awg = 12, length_m = 2 }}\n"
                ),
            ),
        };
        assert_ne!(spoilt, text, "{self:?} changes nothing");
        spoilt
    }

    /// What has to be among the places, or in the words.
    fn culprit(self) -> &'static str {
        match self {
            Drop(name) | Move(name, ..) => name,
            Add(..) => "added",
        }
    }
}

const WRONG_WIRINGS: &[(&str, Change, Rule)] = &[
    ("compressor-120", Drop("hot-to-common"), Rule::MissingJumper),
    ("compressor-120", Drop("2"), Rule::ConnectedToNothing),
    ("compressor-120", Drop("6"), Rule::ConnectedToNothing),
    ("compressor-120", Drop("7"), Rule::ConnectedToNothing),
    ("compressor-120", Drop("10"), Rule::FrameNotGrounded),
    (
        "compressor-120",
        Move("2", "control.power_120", "control.power_240"),
        Rule::WrongTap,
    ),
    (
        "compressor-120",
        Move("3", "control.normally_open", "control.normally_closed"),
        Rule::RunsWhenSatisfied,
    ),
    (
        "compressor-120",
        Move("3", "control.normally_open", "control.power_120"),
        Rule::NotSwitched,
    ),
    (
        "compressor-120",
        Move("7", "control.power_common", "supply.ground"),
        Rule::GroundCarriesCurrent,
    ),
    (
        "compressor-120",
        Move("7", "compressor.line2", "compressor.line1"),
        Rule::ShortCircuit,
    ),
    (
        "compressor-120",
        Move("1", "breaker.line", "breaker.load"),
        Rule::NoOvercurrentProtection,
    ),
    (
        "compressor-120",
        Move("8", "condenser-fan.line2", "condenser-fan.line1"),
        Rule::ShortCircuit,
    ),
    (
        "compressor-120",
        Add("supply.hot", "supply.neutral"),
        Rule::ShortCircuit,
    ),
    (
        "compressor-120",
        Add("control.relay_common", "control.normally_open"),
        Rule::ContactBypassed,
    ),
    (
        "compressor-120",
        Add("breaker.line", "breaker.load"),
        Rule::ContactBypassed,
    ),
    (
        "compressor-120",
        Add("compressor.line2", "compressor.frame"),
        Rule::NeutralGroundedTwice,
    ),
    (
        "compressor-120",
        Add("compressor.line1", "compressor.frame"),
        Rule::ShortCircuit,
    ),
    (
        "compressor-120",
        Add("control.normally_open", "control.power_common"),
        Rule::ShortCircuit,
    ),
    ("pump-down-120", Drop("4"), Rule::ConnectedToNothing),
    (
        "pump-down-120",
        Move(
            "9",
            "high-pressure-control.line",
            "high-pressure-control.load",
        ),
        Rule::OutOfCircuit,
    ),
    (
        "pump-down-120",
        Move(
            "10",
            "low-pressure-control.line",
            "low-pressure-control.load",
        ),
        Rule::NotSwitched,
    ),
    (
        "pump-down-120",
        Move("4", "control.normally_open", "control.normally_closed"),
        Rule::RunsWhenSatisfied,
    ),
    (
        "pump-down-120",
        Move("6", "control.power_common", "control.power_120"),
        Rule::NoVoltageAcross,
    ),
    (
        "pump-down-120",
        Move("6", "control.power_common", "compressor.line1"),
        Rule::NoVoltageAcross,
    ),
    (
        "compressor-208",
        Move("3", "control.power_208", "control.power_120"),
        Rule::WrongTap,
    ),
    (
        "compressor-208",
        Move("3", "control.power_208", "control.power_240"),
        Rule::WrongTap,
    ),
    (
        "compressor-208",
        Move("6", "control.power_common", "supply.neutral"),
        Rule::WrongVoltage,
    ),
    (
        "compressor-208",
        Move("2", "breaker.line2", "breaker.load2"),
        Rule::NoOvercurrentProtection,
    ),
    (
        "compressor-208",
        Add("breaker.load1", "breaker.load2"),
        Rule::ShortCircuit,
    ),
    (
        "compressor-240",
        Move("3", "control.power_240", "control.power_208"),
        Rule::WrongTap,
    ),
    (
        "compressor-240",
        Move("2", "supply.leg2", "supply.leg1"),
        Rule::ControlUnpowered,
    ),
    (
        "compressor-240",
        Move("6", "control.power_common", "control.power_240"),
        Rule::NoVoltageAcross,
    ),
    (
        "separate-supplies",
        Add("control.power_120", "control.relay_common"),
        Rule::SuppliesTied,
    ),
    ("separate-supplies", Drop("11"), Rule::MissingJumper),
    (
        "separate-supplies",
        Move(
            "6",
            "control.power_common",
            "supply-condensing-unit.neutral",
        ),
        Rule::ReturnOnOtherSupply,
    ),
    ("separate-supplies", Drop("9"), Rule::ConnectedToNothing),
    (
        "separate-supplies",
        Move("4", "door-switch.line", "door-switch.load"),
        Rule::OutOfCircuit,
    ),
    (
        "contactor-24",
        Move("18", "contactor.coil1", "transformer.secondary2"),
        Rule::ShortCircuit,
    ),
    (
        "contactor-24",
        Move("10", "transformer.primary1", "transformer.secondary1"),
        Rule::SuppliesTied,
    ),
    (
        "contactor-24",
        Move("6", "contactor.load2", "contactor.line2"),
        Rule::LiveWhenOff,
    ),
    ("contactor-24", Drop("20"), Rule::SecondaryNotGrounded),
    (
        "contactor-24",
        Drop("secondary-to-common"),
        Rule::MissingJumper,
    ),
    (
        "contactor-24",
        Add("control.normally_open", "contactor.coil1"),
        Rule::ContactBypassed,
    ),
    (
        "heating-240",
        Move("5", "high-limit.line", "high-limit.load"),
        Rule::OutOfCircuit,
    ),
    (
        "heating-240",
        Move("6", "control.normally_open", "control.normally_closed"),
        Rule::RunsWhenSatisfied,
    ),
    (
        "heating-240",
        Move("7", "heater.line2", "heater.frame"),
        Rule::ShortCircuit,
    ),
    (
        "alarm-lamp-120",
        Move("5", "control.normally_open", "control.normally_closed"),
        Rule::RunsWhenSatisfied,
    ),
    (
        "alarm-lamp-120",
        Move("9", "control.power_common", "compressor.line1"),
        Rule::LoadsInSeries,
    ),
    (
        "alarm-lamp-120",
        Move("6", "alarm-lamp.line1", "alarm-lamp.frame"),
        Rule::ShortCircuit,
    ),
];

#[test]
fn each_wrong_wiring_is_found_and_its_cause_named() {
    let mut failures = String::new();
    for &(name, change, rule) in WRONG_WIRINGS {
        let text = named(name).expect(name).text;
        let sound = check(&read(name, text));
        let spoilt = read(name, &change.spoil(text));
        let findings = check(&spoilt);
        let about: Vec<&Finding> = findings
            .iter()
            .filter(|finding| finding.rule == rule)
            .collect();
        let new = about.iter().any(|finding| !sound.contains(finding));
        let named = about
            .iter()
            .any(|finding| names(&spoilt, finding, change, &read(name, text)));
        if !new || !named {
            failures += &format!(
                "{name} {change:?}: wanted {}, new {new}, named {named}, got\n{}\n",
                rule.words(),
                show(&findings)
            );
        }
    }
    assert!(failures.is_empty(), "{failures}");
}

/// Whether a finding points at the changed conductor, or at a terminal that it left.
fn names(spoilt: &Installation, finding: &Finding, change: Change, sound: &Installation) -> bool {
    let culprit = change.culprit();
    if spoilt
        .part_named(culprit)
        .is_some_and(|id| finding.places.contains(&id))
    {
        return true;
    }
    let mut terminals: Vec<String> = Vec::new();
    for installation in [sound, spoilt] {
        let conductor = installation
            .part_named(culprit)
            .and_then(|id| installation.part(id).kind.as_conductor());
        let ends =
            conductor.map(|conductor| conductor.ends.map(|end| installation.terminal_name(end)));
        terminals.extend(ends.into_iter().flatten());
    }
    terminals
        .iter()
        .any(|terminal| finding.what.contains(terminal.as_str()))
}

#[test]
fn wrong_wirings_cover_enough_ground() {
    let rules: BTreeSet<Rule> = WRONG_WIRINGS.iter().map(|&(_, _, rule)| rule).collect();
    let arrangements: BTreeSet<&str> = WRONG_WIRINGS.iter().map(|&(name, ..)| name).collect();
    assert!(WRONG_WIRINGS.len() >= 30);
    assert!(rules.len() >= 12, "{rules:?}");
    assert_eq!(arrangements.len(), ARRANGEMENTS.len());
}
