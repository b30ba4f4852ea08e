//! The wiring check: nothing wrong is found in what ships, and the cause is named in what is spoilt.

use std::collections::BTreeSet;

use hysteron_diagnosis::check::{Finding, Rule, Severity, as_text, check};
use hysteron_installation::arrangements::{ARRANGEMENTS, named};
use hysteron_source::text::SourceText;
use hysteron_tests::wiring::{read, show};
use hysteron_tests::wrong_figures::WRONG_FIGURES;
use hysteron_tests::wrong_wirings::{Change, WRONG_WIRINGS};

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

/// One conductor dropped, moved or added, or two of them: the rule that must object
/// says something it did not say before, and points at what was changed.
#[test]
fn each_wrong_wiring_is_found_and_its_cause_named() {
    let mut failures = String::new();
    for &(name, change, rule) in WRONG_WIRINGS {
        let text = named(name).expect(name).text;
        let sound = read(name, text);
        let before = check(&sound);
        let spoilt = read(name, &change.spoil(text));
        let findings = check(&spoilt);
        let found = findings.iter().any(|finding| {
            finding.rule == rule
                && !before.contains(finding)
                && change.is_named_by(finding, &sound, &spoilt)
        });
        if !found {
            failures += &format!(
                "{name} {change:?}: wanted {}, got\n{}\n",
                rule.words(),
                show(&findings)
            );
        }
    }
    assert!(failures.is_empty(), "{failures}");
}

/// The alarm lamp, this strong, on wire of 18 AWG, with a switch in one of its wires.
fn switched_lamp(power_w: &str, wire: &str, lamp_end: &str) -> String {
    let text = named("alarm-lamp-120").expect("it ships").text;
    let start = format!("{wire} = {{");
    let line = text.lines().find(|line| line.starts_with(&start));
    let line = line.expect("a wire");
    let to_switch = line
        .replace(lamp_end, "lamp-switch.line")
        .replace("gauge_awg = 12", "gauge_awg = 18");
    let from_switch = format!(
        "from-switch = {{ from = \"lamp-switch.load\", to = \"{lamp_end}\", gauge_awg = 18, length_m = 1 }}"
    );
    let switch = "[part.lamp-switch]\nkind = \"switch\"\n\n[[part.lamp-switch.rating]]\n\
                  up_to_v = 120\nresistive_a = 10\nfull_load_a = 10\nlocked_rotor_a = 60\n\
                  pilot_duty_va = 300\n\n[wire]";
    text.replace(line, &format!("{to_switch}\n{from_switch}"))
        .replace("power_w = 15", &format!("power_w = {power_w}"))
        .replace("[wire]", switch)
}

/// What the check finds in the switched lamp, worse than a note, with the names of the parts concerned.
fn found(power_w: &str, wire: &str, lamp_end: &str) -> Vec<(Rule, Vec<String>)> {
    let installation = read("lamp", &switched_lamp(power_w, wire, lamp_end));
    let name = |id| installation.part(id).name.clone();
    check(&installation)
        .into_iter()
        .filter(|finding| finding.severity < Severity::Note)
        .map(|finding| (finding.rule, finding.places.into_iter().map(name).collect()))
        .collect()
}

/// What hangs on the normally closed contact works only while the relay is released.
#[test]
fn the_normally_closed_contact_is_checked_like_the_other() {
    let rules_at = |found: &[(Rule, Vec<String>)], part: &str| -> Vec<Rule> {
        let here = found.iter().filter(|(_, parts)| parts[0] == part);
        here.map(|(rule, _)| *rule).collect()
    };
    let weak = found("15", "6", "alarm-lamp.line1");
    assert_eq!(rules_at(&weak, "lamp-switch"), [], "{weak:?}");
    let strong = found("1500", "6", "alarm-lamp.line1");
    assert_eq!(rules_at(&strong, "6"), [Rule::ConductorTooSmall]);
    assert_eq!(rules_at(&strong, "from-switch"), [Rule::ConductorTooSmall]);
    assert_eq!(rules_at(&strong, "lamp-switch"), [Rule::ContactOverloaded]);
    let neutral = found("15", "9", "alarm-lamp.line2");
    assert_eq!(rules_at(&neutral, "lamp-switch"), [Rule::NeutralSwitched]);
}

#[test]
fn wrong_wirings_cover_enough_ground() {
    let single = WRONG_WIRINGS.iter().filter(|(_, change, _)| match change {
        Change::Drop(..) | Change::Move(..) | Change::Add(..) => true,
        Change::Both(..) => false,
    });
    assert!(single.count() >= 30);
    let arrangements: BTreeSet<&str> = WRONG_WIRINGS.iter().map(|&(name, ..)| name).collect();
    assert_eq!(arrangements.len(), ARRANGEMENTS.len());
}

/// Every rule is asked for by name, by a wrong wiring or a wrong figure that it must object to.
#[test]
fn no_rule_goes_untried() {
    let wirings = WRONG_WIRINGS.iter().map(|&(_, _, rule)| rule);
    let figures = WRONG_FIGURES.iter().map(|&(_, _, _, rule, _)| rule);
    let tried: BTreeSet<Rule> = wirings.chain(figures).collect();
    let untried: Vec<&Rule> = Rule::ALL
        .iter()
        .filter(|rule| !tried.contains(rule))
        .collect();
    assert!(untried.is_empty(), "{untried:?}");
}

/// Every arrangement with a wrong wiring or a wrong figure, and the rule that must object to it.
fn spoilt() -> impl Iterator<Item = (&'static str, String, Rule)> {
    let wirings = WRONG_WIRINGS.iter().map(|&(name, change, rule)| {
        let text = named(name).expect(name).text;
        (name, change.spoil(text), rule)
    });
    let figures = WRONG_FIGURES.iter().map(|&(name, right, wrong, rule, _)| {
        let text = named(name).expect(name).text;
        (name, text.replace(right, wrong), rule)
    });
    wirings.chain(figures)
}

/// Some findings hold a part to a figure that is not its own: they say where that one is from.
#[test]
fn a_figure_from_elsewhere_is_told_with_its_source() {
    let mut judged = BTreeSet::new();
    for (name, text, _) in spoilt() {
        for Finding {
            rule, what, why, ..
        } in check(&read(name, &text))
        {
            let always = [
                Rule::VoltageDrop,
                Rule::ConductorTooSmall,
                Rule::ProtectionTooLarge,
                Rule::ControlOutsideBand,
                Rule::CoilOutsideBand,
            ];
            let from_elsewhere = always.contains(&rule)
                || (rule == Rule::ProtectionTooSmall && !why.contains("in normal use"));
            if from_elsewhere {
                let told = format!("{what}: {why}");
                let source = ["from memory", "common practice"];
                assert!(source.iter().any(|words| told.contains(words)), "{told}");
                judged.insert(rule);
            }
        }
    }
    assert_eq!(judged.len(), 6, "{judged:?}");
}

/// Everything that the check can say, as a person reads it: what, why, what to do, and where.
#[test]
fn every_finding_reads_as_recorded() {
    let mut told = String::new();
    let mut rules = BTreeSet::new();
    for (name, text, rule) in spoilt() {
        let installation = read(name, &text);
        let source = SourceText::new(name, text.as_str()).expect("short");
        let mut findings = check(&installation);
        findings.retain(|finding| finding.rule == rule);
        for finding in &findings {
            let Finding {
                what,
                why,
                remedy,
                places,
                ..
            } = finding;
            assert!(
                !what.is_empty() && !why.is_empty() && !remedy.is_empty(),
                "{finding:?}"
            );
            assert!(!places.is_empty(), "{finding:?}");
        }
        rules.extend(findings.iter().map(|finding| finding.rule));
        let whole = as_text(&installation, &source, &findings);
        let (one, _) = whole.split_once("\n\nA clean check").expect("the caution");
        let (one, _) = one.rsplit_once("\n\n").expect("the counts");
        if !told.contains(one) {
            told.push_str(one);
            told.push_str("\n\n");
        }
    }
    assert_eq!(rules.len(), Rule::ALL.len());
    insta::assert_snapshot!("findings", told);
}
