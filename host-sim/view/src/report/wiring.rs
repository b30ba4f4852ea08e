//! The scenario's installation: its drawings, what a meter should show, and what the check finds.

use hysteron_logic::time::Duration;
use maud::{Markup, PreEscaped, html};

use crate::drawing;
use hysteron_bench::run::conditions::Conditions;
use hysteron_bench::scenario::installation_name::Wiring;
use hysteron_bench::scenario::quantity_text::moment_text;
use hysteron_bench::scenario::timeline::Timeline;
use hysteron_diagnosis::check::{Finding, check};
use hysteron_installation::Installation;
use hysteron_installation::circuit::Circuit;
use hysteron_installation::fault::Fault;
use hysteron_installation::readings::{Readings, Situation, situations};
use hysteron_source::letters::capitalised;

/// Drawings of an installation in which something is wrong.
const MOST_MOMENTS: usize = 3;

/// The section; what goes wrong is taken from this timeline.
#[must_use]
pub fn section(wiring: &Wiring, timeline: &Timeline) -> Markup {
    let installation = &wiring.installation;
    let all = situations(installation);
    let named = |name: &str| all.iter().find(|one| one.name == name);
    let (calling, satisfied) = (named("calling"), named("satisfied"));
    html! {
        section id="wiring" {
            h2 { "The wiring" }
            p { "The scenario's installation is " code { (wiring.name) } ": " (installation.title()) "." }
            @if !installation.about().is_empty() { p { (installation.about()) } }
            @for moment in moments(wiring, timeline) {
                @if let Some(shown) = tells_most(installation, &moment) {
                    (figure(
                        Folded::No,
                        &format!("From {} on, while {}: {}", moment_text(moment.at), shown.name, words(installation, &moment.faults)),
                        &moment.installation,
                        &shown,
                    ))
                }
            }
            @if let Some(calling) = calling { (figure(Folded::No, "Sound, and calling", installation, calling)) }
            @if let Some(satisfied) = satisfied { (figure(Folded::Yes, "Sound, and satisfied", installation, satisfied)) }
            (readings(installation))
            (findings(installation))
        }
    }
}

/// From when on something else is wrong with the installation than before.
struct Moment {
    at: Duration,
    faults: Vec<Fault>,
    installation: Installation,
}

fn moments(wiring: &Wiring, timeline: &Timeline) -> Vec<Moment> {
    let mut conditions = Conditions::default();
    let mut moments: Vec<Moment> = Vec::new();
    let mut last = Vec::new();
    for edge in timeline.edges() {
        // What is over in a moment has no place in a drawing.
        let _ = conditions.take(edge.at, &edge.edge);
        let faults: Vec<Fault> = conditions.faults(wiring.roles.control).collect();
        if faults == last {
            continue;
        }
        last.clone_from(&faults);
        if faults.is_empty() {
            continue;
        }
        moments.push(Moment {
            at: edge.at,
            installation: wiring.installation.with_faults(faults.iter().copied()),
            faults,
        });
        if moments.len() == MOST_MOMENTS {
            break;
        }
    }
    moments
}

fn words(installation: &Installation, faults: &[Fault]) -> String {
    let words: Vec<String> = faults
        .iter()
        .map(|fault| installation.fault_words(*fault))
        .collect();
    words.join("; ")
}

/// The situation in which the faulty installation differs most from the sound one: calling or satisfied.
///
/// Each comes to rest in its own way: a valve that fails moves the pressures, too.
fn tells_most(sound: &Installation, moment: &Moment) -> Option<Situation> {
    let pairs = situations(sound)
        .into_iter()
        .zip(situations(&moment.installation))
        .filter(|(_, own)| ["satisfied", "calling"].contains(&own.name.as_str()));
    let (sound, faulty) = (
        Circuit::new(sound.clone()),
        Circuit::new(moment.installation.clone()),
    );
    let differing = |(without, with): &(Situation, Situation)| {
        let sound = sound.settle(&without.state).solution;
        let faulty = faulty.settle(&with.state).solution;
        let loads = moment.installation.loads();
        let differing = loads.filter(|load| {
            sound.supplied(load.part) != faulty.supplied(load.part)
                || sound.current_a(load.part) > 2.0 * faulty.current_a(load.part) + 0.01
        });
        differing.count()
    };
    pairs.max_by_key(differing).map(|(_, own)| own)
}

enum Folded {
    Yes,
    No,
}

fn figure(
    folded: Folded,
    summary: &str,
    installation: &Installation,
    situation: &Situation,
) -> Markup {
    html! {
        details open[matches!(folded, Folded::No)] {
            summary { (summary) }
            div class="scroll" { (PreEscaped(drawing::inline_svg(installation, situation))) }
        }
    }
}

fn readings(installation: &Installation) -> Markup {
    let readings = Readings::of(installation);
    html! {
        details {
            summary { "What a meter should show, in every situation that matters" }
            p class="note" { "Measuring on live conductors is work for people trained and equipped for it." }
            div class="scroll" { (readings.table(installation)) }
        }
    }
}

fn findings(installation: &Installation) -> Markup {
    let findings = check(installation);
    html! {
        @if findings.is_empty() {
            p { "The wiring check finds nothing wrong with it while it is sound." }
        } @else {
            details open {
                summary { "What the wiring check finds while all parts are sound" }
                dl class="findings" { @for finding in &findings { (finding_words(installation, finding)) } }
            }
        }
    }
}

fn finding_words(installation: &Installation, finding: &Finding) -> Markup {
    let places: Vec<String> = finding
        .places
        .iter()
        .map(|place| installation.part_words(*place))
        .collect();
    html! {
        dt { (capitalised(&finding.severity.to_string())) ": " (finding.rule.words()) }
        dd {
            (sentence(&finding.what)) ". " (capitalised(&finding.why)) ". " (capitalised(&finding.remedy)) "."
            @if !places.is_empty() { " (" (places.join(", ")) ")" }
        }
    }
}

/// With a capital at the beginning, unless it begins with the name of a terminal.
fn sentence(text: &str) -> String {
    let first = text.split([' ', ',']).next().unwrap_or_default();
    if first.contains('.') {
        text.to_owned()
    } else {
        capitalised(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use hysteron_installation::arrangements::named;
    use hysteron_installation::fault::{RelayContact, Trouble};
    use hysteron_installation::file;
    use hysteron_source::text::SourceText;

    /// The situation that is drawn of a pump-down with this fault, and its drawing.
    fn drawn(part: &str, trouble: Trouble) -> (Situation, String) {
        let text = named("pump-down-120").expect("ships").text;
        let source = SourceText::new("pump-down-120", text).expect("short");
        let sound = file::read(&source).expect("sound");
        let part = sound.part_named(part).expect("a part");
        let fault = Fault { part, trouble };
        let moment = Moment {
            at: Duration::ZERO,
            faults: vec![fault],
            installation: sound.with_fault(fault),
        };
        let shown = tells_most(&sound, &moment).expect("a situation");
        let figure = figure(Folded::No, "", &moment.installation, &shown);
        (shown, figure.into_string())
    }

    #[test]
    fn a_valve_that_never_opens_is_drawn_pumped_down() {
        let (shown, figure) = drawn("valve", Trouble::WindingOpen);
        assert_eq!(shown.name, "calling");
        assert!(figure.contains("umped down"), "{figure}");
        assert!(!figure.contains("running, 118 V"), "{figure}");
    }

    #[test]
    fn a_valve_that_never_shuts_is_drawn_with_its_compressor_running() {
        let welded = Trouble::RelayWelded(RelayContact::NormallyOpen);
        let (shown, figure) = drawn("control", welded);
        assert_eq!(shown.name, "satisfied");
        assert!(!figure.contains("umped down"), "{figure}");
        assert!(figure.contains("running, 118 V"), "{figure}");
    }
}
