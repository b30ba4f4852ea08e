//! Rules about fuses and breakers: that there are some, where they are, how large.

use super::context::{Context, POSITIONS};
use super::finding::{Finding, Rule, Severity};
use hysteron_installation::circuit::Solution;
use hysteron_installation::conductor::Gauge;
use hysteron_installation::graph::Graph;
use hysteron_installation::part::{Kind, Overcurrent, Protection};
use hysteron_installation::state::{RelayArmature, State};
use hysteron_installation::terminal::{PartId, PartSet, Role, TerminalId};

/// A time-delay fuse holds five times its rating for ten seconds (UL 248, from memory).
const FUSE_INRUSH_MULTIPLE: f64 = 5.0;
/// Load that goes on for hours may be this much of a protection's rating (NEC 210.20(A),
/// from memory).
const CONTINUOUS_FRACTION: f64 = 0.8;
/// Short-circuit protection of a compressor's circuit may exceed the conductor's ampacity by
/// this much, because overload protection is in the compressor.
const MOTOR_CIRCUIT_MULTIPLE: f64 = 2.25;
const MOTOR_CIRCUIT_SOURCE: &str = "NEC 440.22(A), from memory";
/// A current below this is no load's, in amperes.
const NO_LOAD_A: f64 = 1e-3;

pub(super) fn findings(context: &Context<'_>) -> Vec<Finding> {
    let mut findings = unprotected(context);
    findings.extend(opens_at_once(context));
    for (id, part) in context.installation().parts() {
        if let Kind::Overcurrent(overcurrent) = &part.kind {
            findings.extend(too_small(context, id, overcurrent));
        }
    }
    findings.extend(conductors(context));
    findings
}

/// What opens as soon as power is put on, or at the first call.
fn opens_at_once(context: &Context<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (relay, when) in [
        (RelayArmature::Released, "as soon as power is put on"),
        (RelayArmature::Energised, "when the relay is energised"),
    ] {
        for id in context.case(relay).contacts.tripped.iter() {
            let known = |finding: &Finding| finding.places.first() == Some(&id);
            if findings.iter().any(known) {
                continue;
            }
            let part = context.installation().part(id);
            let conductors = part
                .terminals()
                .iter()
                .flat_map(|&(_, terminal)| context.installation().conductors_at(terminal));
            findings.push(Finding {
                rule: Rule::OpensAtOnce,
                severity: Severity::Danger,
                places: [id].into_iter().chain(conductors).collect(),
                what: format!("{} opens {when}", context.words(id)),
                why: "a short circuit, or a load far beyond what it is for, hangs on it".to_owned(),
                remedy: "find what it feeds that it should not before closing it again, and never \
                         put in a larger one to make it hold"
                    .to_owned(),
            });
        }
    }
    findings
}

/// A load that a leg reaches through metal without fuse or breaker.
fn unprotected(context: &Context<'_>) -> Vec<Finding> {
    let installation = context.installation();
    let open = |id: PartId| !matches!(installation.part(id).kind, Kind::Overcurrent(_));
    let mut findings = Vec::new();
    for source in context.sources.iter().filter(|source| source.is_leg()) {
        for (contacts, _) in &context.closed {
            let graph = Graph::of(installation, &State::default(), contacts, open);
            let reached = graph.joined(source.terminal);
            let loads: Vec<TerminalId> = reached
                .into_iter()
                .filter(|&terminal| takes_current(context, terminal))
                .collect();
            let Some(&first) = loads.first() else {
                continue;
            };
            let path = graph.path(source.terminal, first).unwrap_or_default();
            findings.push(Finding {
                rule: Rule::NoOvercurrentProtection,
                severity: Severity::Danger,
                places: context.suspects(&path),
                what: format!(
                    "{} reaches {} without fuse or breaker, through {}",
                    context.name(source.terminal),
                    context.names(&loads),
                    context.list(&path)
                ),
                why: "nothing opens when the conductor or the load fails, and the conductor burns"
                    .to_owned(),
                remedy: "bring this leg through a fuse or breaker that fits the conductor"
                    .to_owned(),
            });
            break;
        }
    }
    findings
}

fn takes_current(context: &Context<'_>, terminal: TerminalId) -> bool {
    let (part, role) = context.installation().terminal(terminal);
    let kind = &context.installation().part(part).kind;
    match kind {
        Kind::Motor(_) | Kind::Valve(_) | Kind::Heater(_) | Kind::Lamp(_) | Kind::Contactor(_) => {
            kind.connection()
                .is_some_and(|connection| connection.terminals.contains(&role))
        }
        Kind::Control(control) => {
            role == Role::PowerCommon || control.taps.iter().any(|tap| tap.role() == role)
        }
        Kind::Transformer(_) => matches!(role, Role::Primary1 | Role::Primary2),
        Kind::Supply(_) | Kind::Conductor(_) | Kind::Overcurrent(_) | Kind::Device(_) => false,
    }
}

fn motors(context: &Context<'_>) -> PartSet {
    context
        .installation()
        .parts()
        .filter(|(_, part)| part.kind.is_motor())
        .map(|(id, _)| id)
        .collect()
}

fn too_small(context: &Context<'_>, id: PartId, overcurrent: &Overcurrent) -> Vec<Finding> {
    let rating = overcurrent.rating_a;
    let running = context
        .cases()
        .iter()
        .map(|case| case.solution.current_a(id))
        .fold(0.0, f64::max);
    let tripped = context
        .cases()
        .iter()
        .any(|case| !case.contacts.tripped.is_empty());
    if tripped {
        return Vec::new();
    }
    let words = context.words(id);
    let finding = |severity, what: String, why: &str| Finding {
        rule: Rule::ProtectionTooSmall,
        severity,
        places: vec![id],
        what,
        why: why.to_owned(),
        remedy: "take the next larger size that the conductors allow".to_owned(),
    };
    if running > rating {
        let what = format!("{words} of {rating} A carries {running:.1} A while all runs");
        return vec![finding(Severity::Error, what, "it opens in normal use")];
    }
    let mut findings = Vec::new();
    if running > CONTINUOUS_FRACTION * rating {
        let what = format!(
            "{words} of {rating} A carries {running:.1} A for hours, more than 80 % of its rating"
        );
        findings.push(finding(
            Severity::Warning,
            what,
            "in a warm enclosure it opens for no other reason (NEC 210.20(A), from memory)",
        ));
    }
    let standing = State::default().with_starting(motors(context));
    let starting = POSITIONS
        .into_iter()
        .map(|relay| {
            let contacts = context.case(relay).contacts;
            let solution = context
                .circuit
                .solve(&standing.with_relay(relay), &contacts);
            solution.current_a(id)
        })
        .fold(0.0, f64::max);
    let (held_a, (device, source)) = match overcurrent.protection {
        Protection::Fuse => (
            FUSE_INRUSH_MULTIPLE * rating,
            ("a time-delay fuse", "UL 248, from memory"),
        ),
        Protection::Breaker => (
            overcurrent.opens_at_once_a(),
            ("a breaker", "common practice"),
        ),
    };
    if starting > held_a {
        let what = format!(
            "{words} of {rating} A sees {starting:.0} A when the motors start; {device} holds \
             {held_a:.0} A for that long"
        );
        let why = format!("it opens at the first start ({source})");
        findings.push(finding(Severity::Error, what, &why));
    }
    findings
}

/// The circuit while the relay stands so, and the same with each protection opened in turn.
struct Case<'c> {
    solution: &'c Solution<'c>,
    without: Vec<(PartId, &'c Overcurrent, Solution<'c>)>,
}

impl<'c> Case<'c> {
    /// Absent when something trips: the currents then say nothing about the rest.
    fn of(context: &'c Context<'c>, relay: RelayArmature) -> Option<Self> {
        let case = context.case(relay);
        if !case.contacts.tripped.is_empty() {
            return None;
        }
        let parts = context.installation().parts();
        let without = parts.filter_map(|(id, part)| {
            let Kind::Overcurrent(overcurrent) = &part.kind else {
                return None;
            };
            let open = State::default()
                .with_relay(relay)
                .with_open(PartSet::EMPTY.with(id));
            let solution = context.circuit.solve(&open, &case.contacts);
            Some((id, overcurrent, solution))
        });
        Some(Self {
            solution: &case.solution,
            without: without.collect(),
        })
    }

    /// The smallest protection that takes the current off a conductor, if it carries any.
    fn protection_of(&self, conductor: PartId) -> Option<(PartId, &'c Overcurrent)> {
        let carried = self.solution.current_a(conductor);
        if carried < NO_LOAD_A {
            return None;
        }
        self.without
            .iter()
            .filter(|(.., open)| open.current_a(conductor) < 0.05 * carried)
            .map(|&(id, overcurrent, _)| (id, overcurrent))
            .min_by(|(_, one), (_, other)| one.rating_a.total_cmp(&other.rating_a))
    }
}

/// Each conductor against what flows in it, in either position of the relay, and what protects it.
fn conductors(context: &Context<'_>) -> Vec<Finding> {
    let installation = context.installation();
    let cases: Vec<Case<'_>> = POSITIONS
        .into_iter()
        .filter_map(|relay| Case::of(context, relay))
        .collect();
    let motor_at = |terminal: TerminalId| {
        context.wires.joined(terminal).into_iter().any(|terminal| {
            let (part, _) = installation.terminal(terminal);
            installation.part(part).kind.is_motor()
        })
    };
    let mut findings = Vec::new();
    for (id, conductor) in installation.conductors() {
        let ampacity = conductor.gauge.ampacity_a();
        let currents = cases.iter().map(|case| case.solution.current_a(id));
        let carried = currents.fold(0.0, f64::max);
        let words = context.words(id);
        let size = conductor.gauge.number();
        if carried > ampacity {
            findings.push(Finding {
                rule: Rule::ConductorTooSmall,
                severity: Severity::Danger,
                places: vec![id],
                what: format!(
                    "{words}, {size} AWG, carries {carried:.1} A; it may carry {ampacity:.0} A"
                ),
                why: format!("it overheats ({})", Gauge::AMPACITY_SOURCE),
                remedy: "use a larger conductor".to_owned(),
            });
            continue;
        }
        let largest = cases
            .iter()
            .filter_map(|case| case.protection_of(id))
            .max_by(|(_, one), (_, other)| one.rating_a.total_cmp(&other.rating_a));
        let Some((protection, overcurrent)) = largest else {
            continue;
        };
        let (allowed, source) = if conductor.ends.into_iter().any(motor_at) {
            (ampacity * MOTOR_CIRCUIT_MULTIPLE, MOTOR_CIRCUIT_SOURCE)
        } else {
            (ampacity, Gauge::AMPACITY_SOURCE)
        };
        if overcurrent.rating_a > allowed {
            findings.push(Finding {
                rule: Rule::ProtectionTooLarge,
                severity: Severity::Error,
                places: vec![protection, id],
                what: format!(
                    "{} of {} A protects {words}, {size} AWG, good for {ampacity:.0} A",
                    context.words(protection),
                    overcurrent.rating_a
                ),
                why: format!(
                    "an overload burns the conductor before the protection opens ({source})"
                ),
                remedy: "use a smaller protection or a larger conductor".to_owned(),
            });
        }
    }
    findings
}
