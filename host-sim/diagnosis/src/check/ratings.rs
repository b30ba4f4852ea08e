//! Rules about what contacts and transformers are made for.

use super::finding::{Finding, Rule, Severity};
use super::survey::{POSITIONS, Survey, works};
use hysteron_installation::RatedLoad;
use hysteron_installation::part::{Kind, Rating, Transformer};
use hysteron_installation::state::Relay;
use hysteron_installation::terminal::{PartId, Role};

pub(super) fn findings(survey: &Survey<'_>) -> Vec<Finding> {
    if survey.is_shorted() {
        return Vec::new();
    }
    let mut findings = Vec::new();
    for (id, part) in survey.installation().parts() {
        match &part.kind {
            Kind::Control(control) => {
                for relay in POSITIONS {
                    findings.extend(contact(survey, id, relay, &control.ratings));
                }
            }
            Kind::Contactor(_) | Kind::Device(_) => {
                if let Some(ratings) = part.kind.ratings().filter(|ratings| !ratings.is_empty()) {
                    let overloaded = |relay| contact(survey, id, relay, ratings);
                    findings.extend(POSITIONS.into_iter().find_map(overloaded));
                }
            }
            Kind::Transformer(transformer) => {
                findings.extend(overloaded(survey, id, transformer));
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
struct Duty {
    resistive_a: f64,
    full_load_a: f64,
    locked_rotor_a: f64,
    sealed_va: f64,
    highest_v: f64,
    loads: Vec<PartId>,
}

/// A contact against its ratings, for what it feeds while the relay stands so.
fn contact(survey: &Survey<'_>, id: PartId, relay: Relay, ratings: &[Rating]) -> Option<Finding> {
    let duty = duty(survey, id, relay);
    if duty.loads.is_empty() {
        return None;
    }
    let words = survey.words(id);
    let loads = survey.list(&duty.loads);
    let finding = |what: String| {
        Some(Finding {
            rule: Rule::ContactOverloaded,
            severity: Severity::Error,
            places: [id].into_iter().chain(duty.loads.iter().copied()).collect(),
            what,
            why: "the contact welds or burns away; welded, the load no longer stops".to_owned(),
            remedy: "let the contact switch a contactor's coil, and the contactor the load"
                .to_owned(),
        })
    };
    let Some(rating) = ratings
        .iter()
        .find(|rating| duty.highest_v <= rating.up_to_v * 1.1)
    else {
        return finding(format!(
            "a contact of {words} breaks {:.0} V for {loads}; no rating of it reaches that far",
            duty.highest_v
        ));
    };
    for (is, may, unit, of) in [
        (duty.resistive_a, rating.resistive_a, "A", "resistive load"),
        (
            duty.full_load_a,
            rating.full_load_a,
            "A",
            "motor full-load current",
        ),
        (
            duty.locked_rotor_a,
            rating.locked_rotor_a,
            "A",
            "locked-rotor current",
        ),
        (duty.sealed_va, rating.pilot_duty_va, "VA", "pilot duty"),
    ] {
        if is > may * 1.001 {
            return finding(format!(
                "a contact of {words} switches {is:.1} {unit} {of} for {loads}; it may switch {may} \
                 {unit} at {:.0} V",
                rating.up_to_v
            ));
        }
    }
    let together = duty.resistive_a / rating.resistive_a + duty.full_load_a / rating.full_load_a;
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
fn duty(survey: &Survey<'_>, id: PartId, relay: Relay) -> Duty {
    let installation = survey.installation();
    let closed = survey.case(relay);
    let open = survey.opened(id, relay);
    let mut duty = Duty::default();
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
        duty.highest_v = duty.highest_v.max(got_v);
        duty.loads.push(load);
        match &installation.part(load).kind {
            Kind::Motor(motor) => {
                duty.full_load_a += amps_of(motor.running_a);
                duty.locked_rotor_a += amps_of(motor.locked_rotor_a);
            }
            Kind::Valve(coil) => duty.sealed_va += coil.sealed_va,
            Kind::Contactor(contactor) => duty.sealed_va += contactor.coil.sealed_va,
            Kind::Heater(resistance) | Kind::Lamp(resistance) => {
                duty.resistive_a += amps_of(resistance.power_w / resistance.rated_v);
            }
            Kind::Supply(_)
            | Kind::Transformer(_)
            | Kind::Conductor(_)
            | Kind::Overcurrent(_)
            | Kind::Device(_)
            | Kind::Control(_) => {}
        }
    }
    duty
}

/// A transformer against what it gives in either case.
fn overloaded(survey: &Survey<'_>, id: PartId, transformer: &Transformer) -> Option<Finding> {
    let given_va = survey
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
            survey.words(id),
            transformer.rated_va
        ),
        why: "its voltage sags until coils let go, and it overheats".to_owned(),
        remedy: "use a larger transformer or fewer loads on it".to_owned(),
    })
}
