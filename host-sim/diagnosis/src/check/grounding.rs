//! Rules about ground and neutral.

use super::finding::{Finding, Rule, Severity};
use std::collections::BTreeSet;

use nalgebra::Complex;

use super::context::Context;
use hysteron_installation::part::Kind;
use hysteron_installation::terminal::{PartId, Role, TerminalId};

/// A steady current above this in a ground is no capacitance's, in amperes.
const GROUND_CURRENT_A: f64 = 0.01;
/// Metal at more than this to earth is dangerous, in volts (common practice for dry places).
const TOUCH_V: f64 = 30.0;
/// A control circuit up to this voltage may float, in volts.
const LOW_VOLTAGE_V: f64 = 30.0;

pub(super) fn findings(context: &Context<'_>) -> Vec<Finding> {
    let mut findings = frames(context);
    findings.extend(second_bond(context));
    findings.extend(stray_return(context));
    findings.extend(floating_secondary(context));
    findings
}

fn grounds(context: &Context<'_>) -> Vec<TerminalId> {
    context
        .installation()
        .supplies()
        .filter_map(|(id, _)| context.installation().part(id).terminal(Role::Ground))
        .collect()
}

fn frames(context: &Context<'_>) -> Vec<Finding> {
    let installation = context.installation();
    let bonded: BTreeSet<TerminalId> = grounds(context)
        .into_iter()
        .flat_map(|ground| context.wires.joined(ground))
        .collect();
    let mut findings = Vec::new();
    for (id, part) in installation.parts() {
        let Some(frame) = part.terminal(Role::Frame) else {
            continue;
        };
        if bonded.contains(&frame) {
            continue;
        }
        let others: Vec<TerminalId> = context.wires.joined(frame);
        let live = context
            .cases()
            .iter()
            .map(|case| case.solution.meter_to_earth_v(frame))
            .fold(0.0, f64::max);
        if live > TOUCH_V {
            let joined = others.iter().copied().find(|&other| other != frame);
            let path = joined.and_then(|other| context.wires.path(frame, other));
            findings.push(Finding {
                rule: Rule::FrameLive,
                severity: Severity::Danger,
                places: path.unwrap_or_default().into_iter().chain([id]).collect(),
                what: format!(
                    "{} stands at {live:.0} V to ground; it is joined to {}",
                    context.name(frame),
                    context.names(&others)
                ),
                why: "whoever touches the metal and anything grounded gets the shock".to_owned(),
                remedy: "take the conductor off the frame and bond the frame to the ground bar"
                    .to_owned(),
            });
        }
        findings.push(Finding {
            rule: Rule::FrameNotGrounded,
            severity: Severity::Danger,
            places: vec![id],
            what: format!("{} is not connected to a ground bar", context.name(frame)),
            why: "when insulation fails, the metal becomes live and no fuse opens".to_owned(),
            remedy: "run an equipment grounding conductor to it".to_owned(),
        });
    }
    findings
}

/// Neutral and ground joined by a conductor, after the bond in the supply.
fn second_bond(context: &Context<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for source in context
        .sources
        .iter()
        .filter(|source| source.role == Role::Neutral)
    {
        for ground in grounds(context) {
            let Some(path) = context
                .closed
                .iter()
                .find_map(|(_, graph)| graph.path(source.terminal, ground))
            else {
                continue;
            };
            findings.push(Finding {
                rule: Rule::NeutralGroundedTwice,
                severity: Severity::Danger,
                places: context.suspects(&path),
                what: format!(
                    "{} and {} are joined through {}",
                    context.name(source.terminal),
                    context.name(ground),
                    context.list(&path)
                ),
                why: "neutral and ground are bonded once, in the supply; a second bond sends part \
                      of the load current through metal that people touch"
                    .to_owned(),
                remedy: "keep neutral and ground apart after the supply".to_owned(),
            });
        }
    }
    findings
}

/// Current that leaves a supply and comes back another way: by ground, or by another supply.
fn stray_return(context: &Context<'_>) -> Vec<Finding> {
    let installation = context.installation();
    let mut findings = Vec::new();
    for (id, supply) in installation.supplies() {
        let part = installation.part(id);
        let stray = |case: &&hysteron_installation::settle::Settled<'_>| {
            let solution = &case.solution;
            let legs: Complex<f64> = supply
                .service
                .legs()
                .into_iter()
                .map(|(role, _)| solution.pole_a(id, role))
                .sum();
            let neutral = solution.pole_a(id, Role::Neutral);
            let ground = solution.pole_a(id, Role::Ground);
            (ground.norm(), (legs - neutral - ground).norm())
        };
        let (ground_a, elsewhere_a) = context
            .cases()
            .iter()
            .map(stray)
            .fold((0.0, 0.0), |worst: (f64, f64), case| {
                (worst.0.max(case.0), worst.1.max(case.1))
            });
        if ground_a > GROUND_CURRENT_A {
            let places = part.terminal(Role::Ground).map_or_else(Vec::new, |bar| {
                carrying(context, &context.wires.joined(bar))
            });
            findings.push(Finding {
                rule: Rule::GroundCarriesCurrent,
                severity: Severity::Danger,
                what: format!(
                    "{ground_a:.2} A return through the ground of {}, in {}",
                    context.words(id),
                    context.list(&places)
                ),
                places,
                why: "the ground is for faults: with load current in it, opening it anywhere \
                      makes the metal beyond live"
                    .to_owned(),
                remedy: "return the current on the neutral or the other leg".to_owned(),
            });
        }
        if elsewhere_a > GROUND_CURRENT_A {
            findings.push(Finding {
                rule: Rule::ReturnOnOtherSupply,
                severity: Severity::Danger,
                places: returning(context, id),
                what: format!(
                    "{elsewhere_a:.2} A of the current of {} come back another way",
                    context.words(id)
                ),
                why: "the neutral or leg that carries it stays live when this circuit is \
                      disconnected, and can be overloaded with no fuse to notice"
                    .to_owned(),
                remedy: "return each circuit's current to its own supply".to_owned(),
            });
        }
    }
    findings
}

/// The conductors among these terminals that carry current in either case, most current first.
fn carrying(context: &Context<'_>, terminals: &[TerminalId]) -> Vec<PartId> {
    let mut found: Vec<(f64, PartId)> = context
        .installation()
        .conductors()
        .filter(|(_, conductor)| conductor.ends.iter().any(|end| terminals.contains(end)))
        .map(|(id, _)| {
            let amps = context
                .cases()
                .iter()
                .map(|case| case.solution.current_a(id))
                .fold(0.0, f64::max);
            (amps, id)
        })
        .filter(|&(amps, _)| amps > GROUND_CURRENT_A)
        .collect();
    found.sort_by(|(one, _), (other, _)| other.total_cmp(one));
    found.into_iter().map(|(_, id)| id).collect()
}

/// The conductors that lie on another supply's terminals and carry current of this one.
fn returning(context: &Context<'_>, supply: PartId) -> Vec<PartId> {
    let others: Vec<TerminalId> = context
        .sources
        .iter()
        .filter(|source| {
            let kind = &context.installation().part(source.part).kind;
            source.part != supply && matches!(kind, Kind::Supply(_))
        })
        .flat_map(|source| context.wires.joined(source.terminal))
        .collect();
    carrying(context, &others)
}

fn floating_secondary(context: &Context<'_>) -> Vec<Finding> {
    let installation = context.installation();
    let bars = grounds(context);
    let mut findings = Vec::new();
    for (id, part) in installation.parts() {
        let Kind::Transformer(transformer) = &part.kind else {
            continue;
        };
        let ends = [Role::Secondary1, Role::Secondary2].map(|role| part.terminal(role));
        let grounded = ends.into_iter().flatten().any(|end| {
            let joined = context.wires.joined(end);
            let neutral = context
                .sources
                .iter()
                .any(|source| source.role == Role::Neutral && joined.contains(&source.terminal));
            neutral || bars.iter().any(|bar| joined.contains(bar))
        });
        if grounded {
            continue;
        }
        let severity = if transformer.secondary_v <= LOW_VOLTAGE_V {
            Severity::Note
        } else {
            Severity::Warning
        };
        findings.push(Finding {
            rule: Rule::SecondaryNotGrounded,
            severity,
            places: vec![id],
            what: format!(
                "neither {0}.secondary1 nor {0}.secondary2 is grounded",
                part.name
            ),
            why: "readings to ground mean nothing there, and a primary that breaks through to the \
                  secondary puts line voltage on it unnoticed"
                .to_owned(),
            remedy: "ground one end of the secondary where the local code asks for it".to_owned(),
        });
    }
    findings
}
