//! The rule that every coil works over the whole band of its supply.

use super::context::Context;
use super::finding::{Finding, Rule, Severity};
use hysteron_installation::load::Coil;
use hysteron_installation::state::{RelayArmature, State};
use hysteron_installation::supply::{Band, Service};
use hysteron_installation::terminal::PartId;

/// A coil may get this much more than its rated voltage for good (common practice).
const COIL_HIGHEST_FRACTION: f64 = 1.1;

/// A range of the standard: what it is for a supply, its letter, and how bad it is to miss it.
type NamedBand = (fn(Service) -> Band, &'static str, Severity);

const RANGES: [NamedBand; 2] = [
    (Service::range_a, "A", Severity::Error),
    (Service::range_b, "B", Severity::Warning),
];

pub(super) fn findings(context: &Context<'_>) -> Vec<Finding> {
    if context.is_shorted() {
        return Vec::new();
    }
    let mut findings: Vec<Finding> = control_in_band(context).into_iter().collect();
    for (id, part) in context.installation().parts() {
        if let Some(coil) = part.kind.coil() {
            findings.extend(coil_in_band(context, id, coil));
        }
    }
    findings
}

/// A state with every supply at one end of its band.
fn at_end(context: &Context<'_>, relay: RelayArmature, end: impl Fn(Service) -> f64) -> State {
    let mut state = State::default().with_relay(relay);
    for ((_, supply), permille) in context
        .installation()
        .supplies()
        .zip(&mut state.supply_permille)
    {
        let fraction = end(supply.service) / supply.service.nominal_v();
        *permille = (fraction * 1000.0).round().clamp(0.0, 2000.0) as u16;
    }
    state
}

/// The band's end in words, with the voltage of each supply there.
fn end_words(
    context: &Context<'_>,
    end: &str,
    letter: &str,
    at: impl Fn(Service) -> f64,
) -> String {
    let supplies: Vec<String> = context
        .installation()
        .supplies()
        .map(|(_, supply)| format!("{:.0} V of {}", at(supply.service), supply.service.name()))
        .collect();
    format!(
        "at the {end} end of ANSI C84.1-2016 range {letter}, from memory ({})",
        supplies.join(", ")
    )
}

fn control_in_band(context: &Context<'_>) -> Option<Finding> {
    let (id, control) = context.installation().control()?;
    if context.released.solution.fraction(id) < control.least_fraction {
        return None;
    }
    RANGES.into_iter().find_map(|(range, letter, severity)| {
        let lowest = |service| range(service).lowest_v;
        let state = at_end(context, RelayArmature::Energised, lowest);
        let fraction = context.circuit.settle(&state).solution.fraction(id);
        (fraction < control.least_fraction).then(|| Finding {
            rule: Rule::ControlOutsideBand,
            severity,
            places: vec![id],
            what: format!(
                "{} gets {:.0} % of its rated voltage {}, and needs {:.0} %",
                context.words(id),
                fraction * 100.0,
                end_words(context, "low", letter, lowest),
                control.least_fraction * 100.0
            ),
            why: "it lets its relay go whenever the supply is low".to_owned(),
            remedy: "use the tap, or a transformer, made for this supply".to_owned(),
        })
    })
}

fn coil_in_band(context: &Context<'_>, id: PartId, coil: &Coil) -> Option<Finding> {
    let relay = [RelayArmature::Released, RelayArmature::Energised]
        .into_iter()
        .find(|&relay| {
            let case = context.case(relay);
            case.contacts.pulled_in.contains(id) && case.chattering.is_empty()
        })?;
    let words = context.words(id);
    RANGES.into_iter().find_map(|(range, letter, severity)| {
        let finding = |what: String, why: &str| {
            Some(Finding {
                rule: Rule::CoilOutsideBand,
                severity,
                places: vec![id],
                what,
                why: why.to_owned(),
                remedy:
                    "use a coil rated for this supply, and a transformer that holds its voltage \
                         up during the inrush"
                        .to_owned(),
            })
        };
        let lowest = |service| range(service).lowest_v;
        let low = context.circuit.settle(&at_end(context, relay, lowest));
        // A relay that let go is the control's failure, and reported as that.
        if low.contacts.relay == relay && !low.contacts.pulled_in.contains(id) {
            return finding(
                format!(
                    "{words} gets {:.0} % of its rated voltage {}, and pulls in at {:.0} %",
                    low.solution.fraction(id) * 100.0,
                    end_words(context, "low", letter, lowest),
                    coil.pull_in_fraction * 100.0
                ),
                "it hums, overheats and burns out whenever the supply is low",
            );
        }
        let highest = |service| range(service).highest_v;
        let high = context.circuit.settle(&at_end(context, relay, highest));
        let fraction = high.solution.fraction(id);
        if fraction > COIL_HIGHEST_FRACTION {
            return finding(
                format!(
                    "{words} gets {:.0} % of its rated voltage {}",
                    fraction * 100.0,
                    end_words(context, "high", letter, highest)
                ),
                "it overheats and its insulation ages (common practice: 110 % at the most)",
            );
        }
        None
    })
}
