//! An installation, in a few sentences.

use hysteron_logic::call::Mode;
use hysteron_logic::fallback::Fallback;
use hysteron_logic::guard::StartsLimit;
use hysteron_logic::settings::{Draft, Settings};

use super::degrees::{Degrees, percent, trimmed};
use super::number::counted;
use super::setting::cycle;
use super::span::scenario_length;
use hysteron_bench::scenario::ambient_table::AmbientPlan;
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::plant_table::PlantPlan;
use hysteron_bench::scenario::quantity_text::moment_text;
use hysteron_plant::compressor::CompressorKind;
use hysteron_plant::room::Conditioning;
use hysteron_source::letters::capitalised;

/// What is cooled or heated, by what, and in which surroundings.
#[must_use]
pub fn plant(plan: &Plan, degrees: Degrees) -> String {
    let around = if plan.plant.feels_ambient() {
        format!(", {}", ambient(&plan.ambient, degrees))
    } else {
        String::new()
    };
    format!("{}{around}.", capitalised(&thing(&plan.plant)))
}

fn thing(plant: &PlantPlan) -> String {
    match plant {
        PlantPlan::RefrigeratedBox(parameters, compressor) => format!(
            "a refrigerated box with {} kg of product and a {} kW {} compressor",
            trimmed(parameters.product_kg, 1),
            kilowatts(compressor.rated_capacity_w),
            kind(compressor.kind)
        ),
        PlantPlan::PumpingDown(parameters, compressor, _) => format!(
            "a refrigerated box with {} kg of product, whose relay switches the liquid-line valve, and a {} kW {} compressor that starts and stops on suction pressure",
            trimmed(parameters.product_kg, 1),
            kilowatts(compressor.rated_capacity_w),
            kind(compressor.kind)
        ),
        PlantPlan::HeatedTank(parameters) => format!(
            "a tank with {} kg and a {} kW heater",
            trimmed(parameters.contents_kg, 1),
            kilowatts(parameters.heater_w)
        ),
        PlantPlan::CooledTank(parameters, compressor) => format!(
            "a tank with {} kg and a {} kW {} compressor",
            trimmed(parameters.contents_kg, 1),
            kilowatts(compressor.rated_capacity_w),
            kind(compressor.kind)
        ),
        PlantPlan::Room(parameters) => {
            let does = match parameters.conditioning {
                Conditioning::Heating => "heated",
                Conditioning::Cooling => "cooled",
            };
            format!(
                "a room {does} by a {} kW unit",
                kilowatts(parameters.unit_w)
            )
        }
        PlantPlan::Condenser(_) => "a condenser whose fan is switched".to_owned(),
        PlantPlan::FirstOrder(_) => {
            "the first-order reference plant, whose answer is known in closed form".to_owned()
        }
    }
}

const fn kind(kind: CompressorKind) -> &'static str {
    match kind {
        CompressorKind::MediumTemperature => "medium-temperature",
        CompressorKind::LowTemperature => "low-temperature",
    }
}

fn kilowatts(power_w: f64) -> String {
    trimmed(power_w / 1e3, 2)
}

fn ambient(ambient: &AmbientPlan, degrees: Degrees) -> String {
    match ambient {
        AmbientPlan::Constant {
            temperature_c,
            humidity,
        } => format!(
            "in air of {} at {} humidity",
            degrees.limit(*temperature_c),
            percent(*humidity)
        ),
        AmbientPlan::Daily {
            coldest_c,
            warmest_c,
            warmest_at,
            ..
        } => format!(
            "in air that swings every day between {} and {}, warmest at {}",
            degrees.limit(*coldest_c),
            degrees.limit(*warmest_c),
            moment_text(*warmest_at)
        ),
        AmbientPlan::Weather { file, first_day } => {
            let name = file.file_name().unwrap_or(file.as_os_str());
            format!(
                "in the weather of {} from day {first_day} of its year on",
                name.to_string_lossy()
            )
        }
    }
}

/// What the control is set to do.
#[must_use]
pub fn control(settings: &Settings) -> String {
    let draft = settings.draft();
    let degrees = Degrees::of(draft.scale);
    let does = match draft.mode {
        Mode::Cool => "cools",
        Mode::Heat => "heats",
    };
    let mut text = format!(
        "The control {does} to a setpoint of {} with a differential of {}: it cuts in at {} and out at {}.",
        degrees.chosen(draft.setpoint),
        degrees.difference(draft.differential),
        degrees.chosen(settings.band().cut_in),
        degrees.chosen(settings.band().cut_out),
    );
    text.push_str(&holds(draft));
    text.push_str(&fallback(draft));
    text
}

fn holds(draft: &Draft) -> String {
    let mut holds = Vec::new();
    if !draft.minimum_off_time.is_zero() {
        holds.push(format!("rests at least {}", draft.minimum_off_time));
    }
    if !draft.minimum_on_time.is_zero() {
        holds.push(format!("runs at least {}", draft.minimum_on_time));
    }
    if let StartsLimit::PerHour(starts) = draft.starts_per_hour {
        let times = counted(u64::from(starts), "time");
        holds.push(format!("starts at most {times} in any hour"));
    }
    match holds.split_last() {
        None => " Nothing holds the load back.".to_owned(),
        Some((only, [])) => format!(" The load {only}."),
        Some((last, others)) => format!(" The load {} and {last}.", others.join(", ")),
    }
}

fn fallback(draft: &Draft) -> String {
    let turns = cycle(draft.fallback).map(|cycle| format!("{} on, {} off", cycle.on, cycle.off));
    let turns = turns.unwrap_or_default();
    match draft.fallback {
        Fallback::Open => " With a probe fault the relay opens.".to_owned(),
        Fallback::Closed => " With a probe fault the relay closes and stays closed.".to_owned(),
        Fallback::TimedCycle(_) => format!(" With a probe fault the relay cycles: {turns}."),
        Fallback::MeasuredDuty(_) => format!(
            " With a probe fault the relay carries on at the duty of the last 24 h; until that is known, {turns}."
        ),
    }
}

/// How long the scenario runs, in which steps, and what chance is drawn from.
#[must_use]
pub fn course(plan: &Plan) -> String {
    format!(
        "{} in steps of {}; chance is drawn from seed {}.",
        scenario_length(plan.duration),
        plan.step,
        plan.seed
    )
}
