//! Rules about the voltage that the control and each load get.

use super::context::{Context, conductors_of};
use super::finding::{Finding, Rule, Severity};
use hysteron_installation::load::Supplied;
use hysteron_installation::part::ControlPart;
use hysteron_installation::settle::Settled;
use hysteron_installation::terminal::{PartId, Role, TerminalId};

/// More than this lost between source and load is bad practice, as a fraction (NEC 210.19(A)
/// informational note, from memory).
const DROP_FRACTION: f64 = 0.05;
/// A tap or a plate within this of the voltage it gets is the right one, as a fraction.
const RIGHT_WITHIN: f64 = 0.1;

pub(super) fn findings(context: &Context<'_>) -> Vec<Finding> {
    if context.is_shorted() {
        return Vec::new();
    }
    let mut findings: Vec<Finding> = power_input(context).into_iter().collect();
    for rated in context.installation().loads() {
        for &pair in &rated.across {
            findings.extend(load(context, rated.part, pair, rated.rated_v));
        }
    }
    for case in context.cases() {
        findings.extend(chatter(context, case));
    }
    findings.dedup();
    findings
}

fn chatter(context: &Context<'_>, case: &Settled<'_>) -> Option<Finding> {
    let restless: Vec<PartId> = case.chattering.iter().collect();
    let conductors = restless.iter().flat_map(|&id| conductors_of(context, id));
    (!restless.is_empty()).then(|| Finding {
        rule: Rule::Chatters,
        severity: Severity::Error,
        places: restless.iter().copied().chain(conductors).collect(),
        what: format!("{} cannot come to rest", context.list(&restless)),
        why: "it closes, takes away the voltage it closed on by doing so, and opens again, until \
              its contacts burn"
            .to_owned(),
        remedy: "feed the coil from ahead of what it switches, and size its transformer for the \
                 inrush"
            .to_owned(),
    })
}

fn power_input(context: &Context<'_>) -> Option<Finding> {
    let installation = context.installation();
    let (id, control) = installation.control()?;
    let part = installation.part(id);
    let solution = &context.released.solution;
    let fraction = solution.fraction(id);
    let common = part.terminal(Role::PowerCommon)?;
    let wired: Vec<(TerminalId, f64)> = control
        .taps
        .iter()
        .filter_map(|tap| Some((part.terminal(tap.role())?, tap.rated_v())))
        .filter(|&(terminal, _)| {
            let joined = context.wires.joined(terminal);
            joined.iter().any(|&other| other != terminal)
        })
        .collect();
    if let [(_, _), (_, _), ..] = wired.as_slice() {
        let terminals: Vec<TerminalId> = wired.iter().map(|&(terminal, _)| terminal).collect();
        return Some(wrong_tap(
            context,
            id,
            Severity::Danger,
            format!("{} are both wired", context.names(&terminals)),
            "the power input takes one feed, between one tap and the common: a second one feeds \
             back through the winding"
                .to_owned(),
            "wire one tap only".to_owned(),
            &terminals,
        ));
    }
    let &[(terminal, rated_v)] = wired.as_slice() else {
        return Some(unpowered(
            context,
            id,
            "no tap of its power input is wired".to_owned(),
        ));
    };
    let got_v = solution.between_v(terminal, common).norm();
    if Supplied::of(fraction, control.least_fraction) == Supplied::Off {
        let shown = solution.meter_v(terminal, common);
        let what = format!(
            "{shown:.0} V between {} and {}",
            context.name(terminal),
            context.name(common)
        );
        let mut finding = unpowered(context, id, what);
        for end in [terminal, common] {
            finding.places.extend(context.feed(end, |_| true));
        }
        return Some(finding);
    }
    let better = better_tap(control, rated_v, got_v);
    let off_by = (got_v / rated_v - 1.0).abs();
    if off_by <= RIGHT_WITHIN || (better.is_none() && off_by <= 2.0 * RIGHT_WITHIN) {
        return None;
    }
    let severity = if got_v > rated_v * (1.0 + RIGHT_WITHIN) {
        Severity::Danger
    } else {
        Severity::Error
    };
    let why = if got_v > rated_v {
        "the winding behind that tap overheats, and what hangs on the control is destroyed"
    } else {
        "the relay does not pull in, or lets go whenever the supply sags"
    };
    let remedy = better.map_or_else(
        || "use a control or a transformer made for this supply".to_owned(),
        |better| format!("move the conductor to {}.{better}", part.name),
    );
    Some(wrong_tap(
        context,
        id,
        severity,
        format!(
            "{} gets {got_v:.0} V; it is made for {rated_v:.0} V",
            context.name(terminal)
        ),
        why.to_owned(),
        remedy,
        &[terminal, common],
    ))
}

fn better_tap(control: &ControlPart, wired_v: f64, got_v: f64) -> Option<Role> {
    control
        .taps
        .iter()
        .filter(|tap| {
            (got_v / tap.rated_v() - 1.0).abs() <= RIGHT_WITHIN && tap.rated_v() != wired_v
        })
        .min_by(|one, other| {
            let off = |rated_v: f64| (got_v - rated_v).abs();
            off(one.rated_v()).total_cmp(&off(other.rated_v()))
        })
        .map(|tap| tap.role())
}

fn wrong_tap(
    context: &Context<'_>,
    control: PartId,
    severity: Severity,
    what: String,
    why: String,
    remedy: String,
    terminals: &[TerminalId],
) -> Finding {
    let mut places: Vec<PartId> = terminals
        .iter()
        .flat_map(|&terminal| context.installation().conductors_at(terminal))
        .collect();
    places.push(control);
    Finding {
        rule: Rule::WrongTap,
        severity,
        places,
        what,
        why,
        remedy,
    }
}

fn unpowered(context: &Context<'_>, control: PartId, what: String) -> Finding {
    Finding {
        rule: Rule::ControlUnpowered,
        severity: Severity::Error,
        places: vec![control],
        what: format!("{} gets no power: {what}", context.words(control)),
        why: "the relay stays released, and whatever the normally closed contact feeds stays on"
            .to_owned(),
        remedy: "feed the tap for this supply from the hot conductor, and the common from the \
                 neutral or the other leg"
            .to_owned(),
    }
}

/// A load by what it gets across two of the terminals that its voltage stands between.
fn load(
    context: &Context<'_>,
    id: PartId,
    ends: (TerminalId, TerminalId),
    rated_v: f64,
) -> Option<Finding> {
    let words = context.words(id);
    let fraction = context
        .cases()
        .into_iter()
        .map(|case| case.solution.between_v(ends.0, ends.1).norm() / rated_v)
        .max_by(f64::total_cmp)?;
    let got_v = fraction * rated_v;
    let (one, other) = (context.name(ends.0), context.name(ends.1));
    let driving_v = driving_v(context, ends);
    let supplied = context.installation().part(id).kind.supplied(fraction);
    let finding = |rule, severity, what, why: &str, remedy: &str| {
        let mut places = vec![id];
        for end in [ends.0, ends.1] {
            places.extend(context.feed(end, |_| true));
        }
        Some(Finding {
            rule,
            severity,
            places,
            what,
            why: why.to_owned(),
            remedy: remedy.to_owned(),
        })
    };
    let plate_wrong = driving_v
        .is_some_and(|driving_v| driving_v > 1.0 && (driving_v / rated_v - 1.0).abs() > 0.15);
    match (supplied, driving_v) {
        (Supplied::Off | Supplied::Low, Some(driving_v)) if driving_v < 1.0 => finding(
            Rule::NoVoltageAcross,
            Severity::Error,
            format!("{one} and {other} are on the same point of a supply"),
            "between them there is no voltage, so nothing flows, although both may be live to ground",
            "bring one end to the other leg or to the neutral",
        ),
        (Supplied::Off | Supplied::Low | Supplied::Right | Supplied::High, Some(driving_v))
            if plate_wrong && got_v > 0.8 * driving_v =>
        {
            finding(
                Rule::WrongVoltage,
                if got_v > rated_v {
                    Severity::Danger
                } else {
                    Severity::Error
                },
                format!(
                    "{words} gets {got_v:.0} V between {one} and {other}; it is made for {rated_v:.0} V"
                ),
                "too much voltage burns a winding out, too little stalls a motor or leaves a coil humming",
                "check the leg or neutral that each end is on, and the plate of the load",
            )
        }
        (Supplied::Low, Some(_)) | (Supplied::Low | Supplied::Right | Supplied::High, None) => {
            finding(
                Rule::LoadsInSeries,
                Severity::Error,
                format!(
                    "{words} gets {got_v:.0} V of its {rated_v:.0} V between {one} and {other}, in series \
                 with other loads"
                ),
                "loads in series share the voltage, and none of them works",
                "connect each load across the supply, all in parallel",
            )
        }
        (Supplied::Right, Some(driving_v)) if got_v < driving_v * (1.0 - DROP_FRACTION) => finding(
            Rule::VoltageDrop,
            Severity::Warning,
            format!("{words} gets {got_v:.0} V of {driving_v:.0} V"),
            "more than 5 % is lost in the conductors, and more yet at the start (NEC 210.19(A), \
             informational note, from memory)",
            "use larger or shorter conductors",
        ),
        (Supplied::Off, None)
            if reaches_a_source(context, ends.0) && reaches_a_source(context, ends.1) =>
        {
            finding(
                Rule::NoVoltageAcross,
                Severity::Error,
                format!("{one} and {other} are never brought to two points of a supply at once"),
                "the position of the contacts that feeds one end cuts off the other",
                "bring one end to the neutral or the other leg directly, and switch only the other end",
            )
        }
        (Supplied::Off, Some(_)) => finding(
            Rule::NoVoltageAcross,
            Severity::Error,
            format!("{words} gets no voltage in either position of the relay"),
            "what should feed it waits for something that never happens, such as a contactor that \
             its own contacts feed",
            "follow the circuit from the supply to each end, contact by contact",
        ),
        (Supplied::Off, None) | (Supplied::Right | Supplied::High, Some(_)) => None,
    }
}

fn reaches_a_source(context: &Context<'_>, end: TerminalId) -> bool {
    context.closed.iter().any(|(_, graph)| {
        let joined = graph.joined(end);
        let mut sources = context.sources.iter();
        sources.any(|source| joined.contains(&source.terminal))
    })
}

/// The voltage of the points of supply that metal brings the two ends to, with no load there;
/// absent when an end is brought to none in any position.
fn driving_v(context: &Context<'_>, ends: (TerminalId, TerminalId)) -> Option<f64> {
    context
        .closed
        .iter()
        .filter_map(|(_, graph)| {
            let of = |end: TerminalId| {
                let joined = graph.joined(end);
                context
                    .sources
                    .iter()
                    .find(|source| joined.contains(&source.terminal))
                    .map(|source| context.released.solution.to_earth_v(source.terminal))
            };
            Some((of(ends.0)? - of(ends.1)?).norm())
        })
        .max_by(f64::total_cmp)
}
