//! Rules about what contacts and transformers are made for.

use super::context::{Context, POSITIONS, works};
use super::finding::{Finding, Rule, Severity};
use hysteron_installation::RatedLoad;
use hysteron_installation::part::{Kind, Rating, Transformer};
use hysteron_installation::state::RelayArmature;
use hysteron_installation::terminal::{PartId, Role};

pub(super) fn findings(context: &Context<'_>) -> Vec<Finding> {
    if context.is_shorted() {
        return Vec::new();
    }
    let mut findings = Vec::new();
    for (id, part) in context.installation().parts() {
        match &part.kind {
            Kind::Control(control) => {
                for relay in POSITIONS {
                    findings.extend(contact(context, id, relay, &control.ratings));
                }
            }
            Kind::Contactor(_) | Kind::Device(_) => {
                if let Some(ratings) = part.kind.ratings().filter(|ratings| !ratings.is_empty()) {
                    let overloaded = |relay| contact(context, id, relay, ratings);
                    findings.extend(POSITIONS.into_iter().find_map(overloaded));
                }
            }
            Kind::Transformer(transformer) => {
                findings.extend(overloaded(context, id, transformer));
            }
            Kind::Supply(_)
            | Kind::Conductor(_)
            | Kind::Overcurrent(_)
            | Kind::Motor(_)
            | Kind::Valve(_)
            | Kind::Heater(_)
            | Kind::Lamp(_) => {}
        }
    }
    findings.dedup();
    findings
}

/// What a contact switches at once.
#[derive(Debug, Default)]
struct Switched {
    resistive_a: f64,
    full_load_a: f64,
    locked_rotor_a: f64,
    sealed_va: f64,
    highest_v: f64,
    loads: Vec<PartId>,
}

/// A contact against its ratings, for what it feeds while the relay stands so.
fn contact(
    context: &Context<'_>,
    id: PartId,
    relay: RelayArmature,
    ratings: &[Rating],
) -> Option<Finding> {
    let switched = switched(context, id, relay);
    if switched.loads.is_empty() {
        return None;
    }
    let words = context.words(id);
    let loads = context.list(&switched.loads);
    let finding = |what: String| {
        Some(Finding {
            rule: Rule::ContactOverloaded,
            severity: Severity::Error,
            places: [id]
                .into_iter()
                .chain(switched.loads.iter().copied())
                .collect(),
            what,
            why: "the contact welds or burns away; welded, the load no longer stops".to_owned(),
            remedy: "let the contact switch a contactor's coil, and the contactor the load"
                .to_owned(),
        })
    };
    let Some(rating) = ratings
        .iter()
        .find(|rating| switched.highest_v <= rating.up_to_v * 1.1)
    else {
        return finding(format!(
            "a contact of {words} breaks {:.0} V for {loads}; no rating of it reaches that far",
            switched.highest_v
        ));
    };
    for (is, may, unit, of) in [
        (
            switched.resistive_a,
            rating.resistive_a,
            "A",
            "resistive load",
        ),
        (
            switched.full_load_a,
            rating.full_load_a,
            "A",
            "motor full-load current",
        ),
        (
            switched.locked_rotor_a,
            rating.locked_rotor_a,
            "A",
            "locked-rotor current",
        ),
        (switched.sealed_va, rating.pilot_duty_va, "VA", "pilot duty"),
    ] {
        if is > may * 1.001 {
            return finding(format!(
                "a contact of {words} switches {is:.1} {unit} {of} for {loads}; it may switch {may} \
                 {unit} at {:.0} V",
                rating.up_to_v
            ));
        }
    }
    let together =
        switched.resistive_a / rating.resistive_a + switched.full_load_a / rating.full_load_a;
    if together > 1.0 {
        return finding(format!(
            "a contact of {words} switches motors and resistive load together for {loads}: {:.0} % of \
             what it may",
            together * 100.0
        ));
    }
    None
}

/// The loads that work while the contact is closed and rest while it alone is open.
fn switched(context: &Context<'_>, id: PartId, relay: RelayArmature) -> Switched {
    let installation = context.installation();
    let closed = context.case(relay);
    let open = context.opened(id, relay);
    let mut switched = Switched::default();
    for RatedLoad {
        part: load,
        across,
        rated_v,
        ..
    } in installation.loads()
    {
        if load == id || !works(&closed.solution, load) || works(&open, load) {
            continue;
        }
        let got_v = across
            .iter()
            .map(|&(one, other)| closed.solution.between_v(one, other).norm())
            .fold(0.0, f64::max);
        let amps_of = |rated_a: f64| rated_a * got_v / rated_v;
        switched.highest_v = switched.highest_v.max(got_v);
        switched.loads.push(load);
        match &installation.part(load).kind {
            Kind::Motor(motor) => {
                switched.full_load_a += amps_of(motor.running_a);
                switched.locked_rotor_a += amps_of(motor.locked_rotor_a);
            }
            Kind::Valve(coil) => switched.sealed_va += coil.sealed_va,
            Kind::Contactor(contactor) => switched.sealed_va += contactor.coil.sealed_va,
            Kind::Heater(resistance) | Kind::Lamp(resistance) => {
                switched.resistive_a += amps_of(resistance.power_w / resistance.rated_v);
            }
            Kind::Supply(_)
            | Kind::Transformer(_)
            | Kind::Conductor(_)
            | Kind::Overcurrent(_)
            | Kind::Device(_)
            | Kind::Control(_) => {}
        }
    }
    switched
}

/// A transformer against what it gives in either case.
fn overloaded(context: &Context<'_>, id: PartId, transformer: &Transformer) -> Option<Finding> {
    let given_va = context
        .cases()
        .iter()
        .map(|case| case.solution.pole_a(id, Role::Secondary1).norm() * transformer.secondary_v)
        .fold(0.0, f64::max);
    (given_va > transformer.rated_va).then(|| Finding {
        rule: Rule::TransformerOverloaded,
        severity: Severity::Error,
        places: vec![id],
        what: format!(
            "{} gives {given_va:.0} VA; it is made for {:.0} VA",
            context.words(id),
            transformer.rated_va
        ),
        why: "its voltage sags until coils let go, and it overheats".to_owned(),
        remedy: "use a larger transformer or fewer loads on it".to_owned(),
    })
}
