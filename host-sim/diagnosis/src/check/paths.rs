//! Rules about what is joined that should not be, and what is not joined that should.

use super::finding::{Finding, Rule, Severity};
use std::collections::BTreeSet;

use super::context::{Context, Source};
use hysteron_installation::graph::Graph;
use hysteron_installation::part::Kind;
use hysteron_installation::state::{Contacts, RelayArmature, State};
use hysteron_installation::terminal::{PartId, Role, TerminalId};

pub(super) fn findings(context: &Context<'_>) -> Vec<Finding> {
    let mut findings = joined_sources(context);
    findings.extend(bypassed(context));
    findings.extend(missing_jumper(context));
    findings.extend(islands(context));
    findings.extend(parallel(context));
    findings
}

/// Two points of one source, or of two, that metal joins.
fn joined_sources(context: &Context<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut points: Vec<Source> = context.sources.clone();
    for (id, _) in context.installation().supplies() {
        let ground = context.installation().part(id).terminal(Role::Ground);
        points.extend(ground.map(|terminal| Source {
            part: id,
            role: Role::Ground,
            terminal,
        }));
    }
    for (at, &one) in points.iter().enumerate() {
        for &other in &points[at + 1..] {
            if let Some(finding) = joined(context, one, other) {
                findings.push(finding);
            }
        }
    }
    findings
}

fn joined(context: &Context<'_>, one: Source, other: Source) -> Option<Finding> {
    let driven = |source: Source| source.is_leg() || source.is_secondary();
    let same = one.part == other.part;
    let short = if same {
        driven(one) || driven(other)
    } else {
        one.is_leg() || other.is_leg() || (driven(one) && driven(other))
    };
    // Ground and neutral of one supply are bonded there; grounding.rs looks for a second bond.
    // One end of a secondary may be grounded.
    if !short {
        return None;
    }
    let (contacts, path) = context.closed.iter().rev().find_map(|(contacts, graph)| {
        Some((contacts, graph.path(one.terminal, other.terminal)?))
    })?;
    let places = context.suspects(&path);
    let when = when(context, contacts, &path);
    let (from, to) = (context.name(one.terminal), context.name(other.terminal));
    let way = context.list(&path);
    if driven(one) && driven(other) && !same {
        return Some(Finding {
            rule: Rule::SuppliesTied,
            severity: Severity::Danger,
            places,
            what: format!("{from} and {to} are joined{when} through {way}"),
            why:
                "two sources feed each other: a fault current flows unless they stand at the same \
                  voltage, and opening one disconnect leaves the circuit live from the other"
                    .to_owned(),
            remedy: "keep the circuits of the two supplies apart; a control on one supply \
                     switches another through its dry contact, with no jumper"
                .to_owned(),
        });
    }
    Some(Finding {
        rule: Rule::ShortCircuit,
        severity: Severity::Danger,
        places,
        what: format!("{from} and {to} are joined{when} through {way}"),
        why: short_words(context, contacts),
        remedy: "take off the conductor that closes this path past the load, or move it to the \
                 terminal it was meant for"
            .to_owned(),
    })
}

/// In which positions of the relay, in words; empty when in all.
fn when(context: &Context<'_>, contacts: &Contacts, path: &[PartId]) -> &'static str {
    let through_relay = path
        .iter()
        .any(|&id| matches!(context.installation().part(id).kind, Kind::Control(_)));
    match contacts.relay {
        RelayArmature::Energised if through_relay => " while the relay is energised",
        RelayArmature::Released if through_relay => " while the relay is released",
        RelayArmature::Energised | RelayArmature::Released => "",
    }
}

fn short_words(context: &Context<'_>, contacts: &Contacts) -> String {
    let state = State::default().with_relay(contacts.relay);
    let before = context.circuit.solve(&state, contacts);
    let largest = context
        .installation()
        .parts()
        .filter(|(_, part)| matches!(part.kind, Kind::Supply(_) | Kind::Transformer(_)))
        .map(|(id, _)| before.current_a(id))
        .fold(0.0, f64::max);
    let after = context.circuit.settle_from(&state, *contacts);
    let opened: Vec<PartId> = after.contacts.tripped.iter().collect();
    if opened.is_empty() {
        format!("about {largest:.0} A flow, and nothing opens at once")
    } else {
        format!(
            "about {largest:.0} A flow until {} opens",
            context.list(&opened)
        )
    }
}

/// Metal around an open contact.
fn bypassed(context: &Context<'_>) -> Vec<Finding> {
    let installation = context.installation();
    let mut findings = Vec::new();
    for (id, part) in installation.parts() {
        let poles: Vec<(TerminalId, TerminalId)> = match &part.kind {
            Kind::Control(_) => part
                .relay_contacts()
                .map(|(_, common, own)| (common, own))
                .collect(),
            Kind::Overcurrent(_) | Kind::Device(_) | Kind::Contactor(_) => {
                part.poles().map(|sides| (sides.line, sides.load)).collect()
            }
            Kind::Supply(_)
            | Kind::Transformer(_)
            | Kind::Conductor(_)
            | Kind::Motor(_)
            | Kind::Valve(_)
            | Kind::Heater(_)
            | Kind::Lamp(_) => continue,
        };
        for (line, load) in poles {
            let Some(path) = context.closed.iter().find_map(|(contacts, _)| {
                let others = |other: PartId| other != id;
                let state = State::default();
                Graph::of(installation, &state, contacts, others).path(line, load)
            }) else {
                continue;
            };
            let (line, load) = (context.name(line), context.name(load));
            findings.push(Finding {
                rule: Rule::ContactBypassed,
                severity: Severity::Danger,
                places: context.suspects(&path).into_iter().chain([id]).collect(),
                what: format!(
                    "{line} and {load} are joined through {}",
                    context.list(&path)
                ),
                why: format!(
                    "{} can open and nothing changes: what it should stop goes on",
                    context.words(id)
                ),
                remedy: "take off the conductor that lies around the contact".to_owned(),
            });
        }
    }
    findings
}

/// A relay whose common nothing feeds, in any position.
fn missing_jumper(context: &Context<'_>) -> Option<Finding> {
    let installation = context.installation();
    let (id, _) = installation.control()?;
    let part = installation.part(id);
    let common = part.terminal(Role::RelayCommon)?;
    let wired = |terminal: TerminalId| installation.conductors_at(terminal).next().is_some();
    let contacts: Vec<TerminalId> = part
        .relay_contacts()
        .map(|(.., own)| own)
        .filter(|&terminal| wired(terminal))
        .collect();
    let fed = context.closed.iter().any(|(_, graph)| {
        let joined = graph.joined(common);
        context
            .sources
            .iter()
            .any(|source| joined.contains(&source.terminal))
    });
    if contacts.is_empty() || fed {
        return None;
    }
    Some(Finding {
        rule: Rule::MissingJumper,
        severity: Severity::Error,
        places: vec![id],
        what: format!(
            "{} is fed by nothing, although {} is wired",
            context.name(common),
            context.names(&contacts)
        ),
        why: "the relay is a dry contact: it passes on what its common gets, and its common gets \
              nothing"
            .to_owned(),
        remedy: format!(
            "fit a jumper from the hot conductor at the control's power tap to {}, or bring the \
             leg of the load's own supply there",
            context.name(common)
        ),
    })
}

/// Loads and power inputs with an end that reaches no supply in any position.
fn islands(context: &Context<'_>) -> Vec<Finding> {
    let installation = context.installation();
    let mut seen: BTreeSet<TerminalId> = BTreeSet::new();
    let mut findings = Vec::new();
    for terminal in installation.terminals() {
        let (id, role) = installation.terminal(terminal);
        let part = installation.part(id);
        let needs_supply = match &part.kind {
            Kind::Motor(_) | Kind::Valve(_) | Kind::Heater(_) | Kind::Lamp(_) => {
                role != Role::Frame
            }
            Kind::Contactor(_) => true,
            Kind::Control(_) => role == Role::PowerCommon,
            Kind::Transformer(_) => matches!(role, Role::Primary1 | Role::Primary2),
            Kind::Overcurrent(_) | Kind::Device(_) => true,
            Kind::Supply(_) | Kind::Conductor(_) => false,
        };
        if !needs_supply || seen.contains(&terminal) {
            continue;
        }
        let mut joined: BTreeSet<TerminalId> = BTreeSet::new();
        for (_, graph) in &context.closed {
            joined.extend(graph.joined(terminal));
        }
        let fed = context
            .sources
            .iter()
            .any(|source| joined.contains(&source.terminal));
        if fed {
            continue;
        }
        seen.extend(&joined);
        let island: Vec<TerminalId> = joined.into_iter().collect();
        let mut places: Vec<PartId> = Vec::new();
        for &terminal in &island {
            let (part, _) = installation.terminal(terminal);
            if !places.contains(&part) {
                places.push(part);
            }
        }
        let what = if let [alone] = island.as_slice() {
            format!("no conductor lands on {}", context.name(*alone))
        } else {
            format!(
                "{} are joined to each other and to no supply",
                context.names(&island)
            )
        };
        findings.push(Finding {
            rule: Rule::ConnectedToNothing,
            severity: Severity::Error,
            places,
            what,
            why: "no current can flow there, and a meter shows stray voltages".to_owned(),
            remedy: "add the conductor that is missing, or take out what is not used".to_owned(),
        });
    }
    findings
}

fn parallel(context: &Context<'_>) -> Vec<Finding> {
    let conductors: Vec<_> = context.installation().conductors().collect();
    let mut findings = Vec::new();
    for (at, (one, first)) in conductors.iter().enumerate() {
        for (other, second) in &conductors[at + 1..] {
            let mut ends = second.ends;
            if ends[0] != first.ends[0] {
                ends.reverse();
            }
            if ends == first.ends {
                findings.push(Finding {
                    rule: Rule::ParallelConductors,
                    severity: Severity::Warning,
                    places: vec![*other, *one],
                    what: format!(
                        "{} and {} run alongside",
                        context.words(*one),
                        context.words(*other)
                    ),
                    why:
                        "small conductors are not run in parallel: one that breaks goes unnoticed \
                          and overloads the other"
                            .to_owned(),
                    remedy: "take one off, and use a larger one if need be".to_owned(),
                });
            }
        }
    }
    findings
}
