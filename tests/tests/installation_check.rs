//! The wiring check: nothing wrong is found in what ships, and the cause is named in what is spoilt.

use std::collections::BTreeSet;

use hysteron::installation::arrangements::{ARRANGEMENTS, named};
use hysteron::installation::check::{Finding, Rule, Severity, as_text, check};
use hysteron::source_text::SourceText;
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

/// Everything that the check can say, as a person reads it: what, why, what to do, and where.
#[test]
fn every_finding_reads_as_recorded() {
    let wirings = WRONG_WIRINGS.iter().map(|&(name, change, rule)| {
        let text = named(name).expect(name).text;
        (name, change.spoil(text), rule)
    });
    let figures = WRONG_FIGURES.iter().map(|&(name, right, wrong, rule, _)| {
        let text = named(name).expect(name).text;
        (name, text.replace(right, wrong), rule)
    });
    let mut told = String::new();
    let mut rules = BTreeSet::new();
    for (name, text, rule) in wirings.chain(figures) {
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
