//! Rules about what a contact breaks, and what it leaves live.

use super::context::{Context, POSITIONS, conductors_of, works};
use super::finding::{Finding, Rule, Severity};
use hysteron_installation::circuit::Solution;
use hysteron_installation::graph::Graph;
use hysteron_installation::load::Duty;
use hysteron_installation::part::{Actuator, Device, Kind, Part, Poles};
use hysteron_installation::state::{RelayArmature, State};
use hysteron_installation::terminal::{PartId, Role, TerminalId};

/// More than this to ground is live, in volts.
const LIVE_V: f64 = 50.0;

pub(super) fn findings(context: &Context<'_>) -> Vec<Finding> {
    if context.is_shorted() {
        return Vec::new();
    }
    let mut findings = ruled(context);
    findings.extend(fans_apart(context));
    for (id, part) in context.installation().parts() {
        let words = match &part.kind {
            Kind::Control(_) => "the relay".to_owned(),
            Kind::Device(_) | Kind::Overcurrent(_) | Kind::Contactor(_) => context.words(id),
            Kind::Supply(_)
            | Kind::Transformer(_)
            | Kind::Conductor(_)
            | Kind::Motor(_)
            | Kind::Valve(_)
            | Kind::Heater(_)
            | Kind::Lamp(_) => continue,
        };
        findings.extend(left_live(context, id, &words));
        if let Kind::Device(device) = &part.kind {
            findings.extend(idle(context, id, device));
        }
    }
    findings
}

/// Loads that the control should rule, and does not.
fn ruled(context: &Context<'_>) -> Vec<Finding> {
    let installation = context.installation();
    if installation.control().is_none() {
        return Vec::new();
    }
    let mut findings = Vec::new();
    for (id, part) in installation.parts() {
        let work = part.kind.does_the_work();
        if !work && !part.kind.is_motor() {
            continue;
        }
        let [off, on] = context.cases().map(|case| works(&case.solution, id));
        let words = context.words(id);
        if off && !on {
            findings.push(Finding {
                rule: Rule::RunsWhenSatisfied,
                severity: Severity::Error,
                places: contact_conductors(context, Role::NormallyClosed, id),
                what: format!(
                    "{words} works while the relay is released and rests while it is energised"
                ),
                why:
                    "the control calls by energising its relay: the load would run when satisfied, \
                      with a dead board, and never when called"
                        .to_owned(),
                remedy: "move the conductor from the normally closed to the normally open contact"
                    .to_owned(),
            });
        }
        if work && off && on && !follows_pressure(context, id) {
            let feed = live_feed(context, id);
            findings.push(Finding {
                rule: Rule::NotSwitched,
                severity: Severity::Error,
                what: format!(
                    "{words} works whether the relay is energised or released, fed through {}",
                    context.list(&feed)
                ),
                places: feed.into_iter().chain([id]).collect(),
                why: "the control has no say over it: it runs until something else stops it"
                    .to_owned(),
                remedy: "feed it through the normally open contact, and through nothing else"
                    .to_owned(),
            });
        }
    }
    findings
}

/// Condenser fans that do not go with the one compressor there is.
fn fans_apart(context: &Context<'_>) -> Vec<Finding> {
    let of_duty = |wanted: Duty| -> Vec<PartId> {
        context
            .installation()
            .parts()
            .filter(|(_, part)| part.kind.is_motor_for(wanted))
            .map(|(id, _)| id)
            .collect()
    };
    let &[compressor] = of_duty(Duty::Compressor).as_slice() else {
        return Vec::new();
    };
    let mut findings = Vec::new();
    for fan in of_duty(Duty::CondenserFan) {
        let apart = context
            .cases()
            .into_iter()
            .find(|case| works(&case.solution, fan) != works(&case.solution, compressor));
        let Some(case) = apart else { continue };
        let (fan_words, compressor_words) = (context.words(fan), context.words(compressor));
        let (feed, what, why) = if works(&case.solution, compressor) {
            (
                conductors_of(context, fan),
                format!("{fan_words} rests while {compressor_words} runs"),
                "without air over the condenser the pressure rises until the high-pressure \
                 control opens",
            )
        } else {
            (
                live_feed(context, fan),
                format!("{fan_words} runs while {compressor_words} rests"),
                "it wastes power, and usually means that the fan is wired past the contact",
            )
        };
        findings.push(Finding {
            rule: Rule::FanApart,
            severity: Severity::Warning,
            places: feed.into_iter().chain([fan, compressor]).collect(),
            what,
            why: why.to_owned(),
            remedy: "connect the fan in parallel with the compressor, unless a control of its own \
                     cycles it"
                .to_owned(),
        });
    }
    findings
}

/// The conductors that bring a leg to the load with the relay released.
fn live_feed(context: &Context<'_>, load: PartId) -> Vec<PartId> {
    let part = context.installation().part(load);
    let roles = part
        .kind
        .connection()
        .map_or(&[][..], |connection| connection.terminals);
    let ends: Vec<TerminalId> = roles
        .iter()
        .filter_map(|&role| part.terminal(role))
        .collect();
    let to_earth_v = |&end: &TerminalId| context.released.solution.meter_to_earth_v(end);
    let highest_v = ends.iter().map(to_earth_v).fold(0.0, f64::max);
    // The other end of a load on two legs is one as well; a neutral or a grounded secondary is not.
    ends.into_iter()
        .filter(|end| to_earth_v(end) >= highest_v / 2.0)
        .flat_map(|end| context.feed(end, |contacts| contacts.relay == RelayArmature::Released))
        .collect()
}

fn contact_conductors(context: &Context<'_>, contact: Role, load: PartId) -> Vec<PartId> {
    let installation = context.installation();
    let terminal = installation
        .control()
        .and_then(|(id, _)| installation.part(id).terminal(contact));
    terminal
        .into_iter()
        .flat_map(|terminal| installation.conductors_at(terminal))
        .chain([load])
        .collect()
}

/// Whether a low-pressure control stops the load, so that a valve can rule it by pump-down.
fn follows_pressure(context: &Context<'_>, load: PartId) -> bool {
    let installation = context.installation();
    let has_valve = installation.parts().any(|(_, part)| part.kind.is_valve());
    let stops = |(id, part): (PartId, &Part)| {
        part.kind.is_moved_by(Actuator::LowPressure)
            && !works(&context.opened(id, RelayArmature::Released), load)
    };
    has_valve && !installation.part(load).kind.is_valve() && installation.parts().any(stops)
}

/// Loads that stop when a contact opens, and stay live to ground.
fn left_live(context: &Context<'_>, contact: PartId, contact_words: &str) -> Option<Finding> {
    let installation = context.installation();
    let mut loads: Vec<PartId> = Vec::new();
    let (mut around, mut neutral) = (Vec::new(), false);
    for relay in POSITIONS {
        let open = context.opened(contact, relay);
        let resting = live_at_rest(context, relay, &open);
        if resting.is_empty() {
            continue;
        }
        neutral |= grounded_side(context, contact, &context.case(relay).solution);
        around.extend(led_around(context, (contact, relay), &resting, &open));
        loads.extend(resting);
    }
    loads.sort_unstable();
    loads.dedup();
    if loads.is_empty() {
        return None;
    }
    let names = context.list(&loads);
    let part = installation.part(contact);
    if neutral {
        let protection = matches!(part.kind, Kind::Overcurrent(_));
        let mut places = vec![contact];
        places.extend(conductors_of(context, contact));
        return Some(Finding {
            rule: if protection {
                Rule::ProtectionInNeutral
            } else {
                Rule::NeutralSwitched
            },
            severity: Severity::Danger,
            places,
            what: format!("{contact_words} opens the neutral of {names}"),
            why:
                "when it is open the load rests and is live to ground all the same: whoever works \
                  on it relies on a reading that is zero"
                    .to_owned(),
            remedy: "break the hot conductor and bring the neutral to the load unbroken".to_owned(),
        });
    }
    let mut places = vec![contact];
    let (severity, remark) = match part.kind.poles() {
        Some(Poles::Two) => (
            Severity::Error,
            "it is made to break both legs, and one is led around it",
        ),
        Some(Poles::Three) => (
            Severity::Error,
            "it is made to break all three legs, and one is led around it",
        ),
        // The relay of a control changes over with a single pole.
        Some(Poles::One) | None => (
            Severity::Note,
            "common practice with a single-pole contact, and dangerous to forget",
        ),
    };
    if severity == Severity::Error {
        around.sort_unstable();
        around.dedup();
        places.extend(around);
    }
    Some(Finding {
        rule: Rule::LiveWhenOff,
        severity,
        places,
        what: format!("{contact_words} opens one leg of {names}"),
        why: format!("the other leg keeps the resting load at 120 V to ground: {remark}"),
        remedy: "open a disconnect that breaks both legs, lock it, and measure to ground before \
                 touching; or let a two-pole contactor do the switching"
            .to_owned(),
    })
}

/// What works while the relay stands so, rests once a contact opens, and is live to ground all the same.
fn live_at_rest(context: &Context<'_>, relay: RelayArmature, open: &Solution<'_>) -> Vec<PartId> {
    let installation = context.installation();
    let closed = &context.case(relay).solution;
    let live = |end: TerminalId| open.meter_to_earth_v(end) > LIVE_V;
    installation
        .loads()
        .filter(|load| {
            works(closed, load.part)
                && !works(open, load.part)
                && load.terminals.iter().copied().any(live)
        })
        .map(|load| load.part)
        .collect()
}

/// The conductors that keep the ends of loads live while a contact is open.
fn led_around(
    context: &Context<'_>,
    (contact, relay): (PartId, RelayArmature),
    loads: &[PartId],
    open: &Solution<'_>,
) -> Vec<PartId> {
    let installation = context.installation();
    let others = |part: PartId| part != contact;
    let contacts = &context.case(relay).contacts;
    let graph = Graph::of(installation, &State::default(), contacts, others);
    let mut places = Vec::new();
    for &load in loads {
        for &(_, end) in installation.part(load).terminals() {
            if open.meter_to_earth_v(end) < LIVE_V {
                continue;
            }
            let path = context
                .sources
                .iter()
                .find_map(|source| graph.path(source.terminal, end));
            places.extend(
                path.unwrap_or_default()
                    .into_iter()
                    .filter(|&part| installation.part(part).kind.as_conductor().is_some()),
            );
        }
    }
    places
}

/// Whether the poles of a contact lie in the grounded conductor: metal joins them to a neutral.
fn grounded_side(context: &Context<'_>, contact: PartId, closed: &Solution<'_>) -> bool {
    let part = context.installation().part(contact);
    let poles: Vec<TerminalId> = match &part.kind {
        Kind::Control(_) => part.terminal(Role::RelayCommon).into_iter().collect(),
        Kind::Device(device) => match device.poles {
            Poles::One => part.poles().map(|sides| sides.line).collect(),
            // The grounded conductor may be opened together with all others.
            Poles::Two | Poles::Three => return false,
        },
        Kind::Overcurrent(_)
        | Kind::Supply(_)
        | Kind::Transformer(_)
        | Kind::Conductor(_)
        | Kind::Contactor(_)
        | Kind::Motor(_)
        | Kind::Valve(_)
        | Kind::Heater(_)
        | Kind::Lamp(_) => part.poles().map(|sides| sides.line).collect(),
    };
    poles
        .into_iter()
        .any(|pole| closed.meter_to_earth_v(pole) < LIVE_V)
}

/// A limit, pressure control or switch whose opening stops nothing.
fn idle(context: &Context<'_>, id: PartId, device: &Device) -> Option<Finding> {
    let stops = POSITIONS.into_iter().any(|relay| {
        let closed = &context.case(relay).solution;
        let open = context.opened(id, relay);
        let mut loads = context.installation().loads();
        loads.any(|load| works(closed, load.part) && !works(&open, load.part))
    });
    let anything_works = context
        .installation()
        .loads()
        .any(|load| context.ever_works(load.part));
    if stops || !anything_works {
        return None;
    }
    let severity = match device.actuator {
        Actuator::HighPressure | Actuator::HighLimit => Severity::Danger,
        Actuator::LowPressure | Actuator::Switch | Actuator::Door => Severity::Error,
    };
    let mut places = vec![id];
    places.extend(conductors_of(context, id));
    Some(Finding {
        rule: Rule::OutOfCircuit,
        severity,
        places,
        what: format!("{} can open and no load stops", context.words(id)),
        why: "it protects or switches nothing".to_owned(),
        remedy: "put its contact in series with the load that it should stop".to_owned(),
    })
}
