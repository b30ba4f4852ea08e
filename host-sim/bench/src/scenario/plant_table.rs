//! The plant, as `[plant]` gives it.
//!
//! Every number of a plant carries its unit in its name and may be written as
//! a plain number, or as a text in another unit of the same dimension:
//! `air_start_c = 4` or `air_start_c = "39 °F"`.

use hysteron_logic::call::Mode;

use super::plant_rows::{
    COMPRESSOR, COMPRESSOR_KIND, CONDITIONING, FAN, KIND, Kind, PROBE_SITE, PUMP_DOWN, REFRIGERANT,
};
use super::quantity_text::read_in_unit;
use crate::record::runs::Runner;
use hysteron_installation::plant_roles::PlantWork;
use hysteron_plant::compressor_parameters::CompressorParameters;
use hysteron_plant::condenser::CondenserParameters;
use hysteron_plant::first_order::FirstOrderParameters;
use hysteron_plant::low_side::LowSideParameters;
use hysteron_plant::parameter::{ParameterError, ParameterRange};
use hysteron_plant::pressure_control::PressureControlParameters;
use hysteron_plant::pump_down::PumpDownParameters;
use hysteron_plant::refrigerated_box::BoxParameters;
use hysteron_plant::room::{Conditioning, RoomParameters};
use hysteron_plant::tank::TankParameters;
use hysteron_plant::{Condenser, FirstOrder, Plant, Quantity, RefrigeratedBox, Room, Tank};
use hysteron_source::entry::{Defaulted, Reads};
use hysteron_source::item::Item;
use hysteron_source::table::Table;
use hysteron_source::text::Problem;

/// A plant that can be built.
#[derive(Debug, Clone, PartialEq)]
pub enum PlantPlan {
    /// A refrigerated box with its compressor, which the relay switches.
    RefrigeratedBox(Box<BoxParameters>, Box<CompressorParameters>),
    /// A refrigerated box whose relay switches the liquid-line valve.
    PumpingDown(
        Box<BoxParameters>,
        Box<CompressorParameters>,
        Box<PumpDownParameters>,
    ),
    /// A tank with a heater.
    HeatedTank(Box<TankParameters>),
    /// A tank with a compressor.
    CooledTank(Box<TankParameters>, Box<CompressorParameters>),
    /// A room.
    Room(Box<RoomParameters>),
    /// A condenser whose fan is switched.
    Condenser(CondenserParameters),
    /// The first-order reference plant.
    FirstOrder(FirstOrderParameters),
}

/// What a plant holds that can be exchanged for other product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contents {
    /// All of it, in kg.
    pub mass_kg: f64,
    /// Heat capacity of a kilogram of it, in J/(kg·K).
    pub j_kg_k: f64,
}

impl PlantPlan {
    /// The plant, stepped by `step_s` seconds.
    ///
    /// # Errors
    /// When a number is out of its range.
    pub fn build(&self, step_s: f64) -> Result<Plant, ParameterError> {
        Ok(match self.clone() {
            Self::RefrigeratedBox(parameters, compressor) => {
                RefrigeratedBox::new(*parameters, *compressor, step_s)?.into()
            }
            Self::PumpingDown(parameters, compressor, pump_down) => {
                RefrigeratedBox::pumping_down(*parameters, *compressor, *pump_down, step_s)?.into()
            }
            Self::HeatedTank(parameters) => Tank::heated(*parameters, step_s)?.into(),
            Self::CooledTank(parameters, compressor) => {
                Tank::cooled(*parameters, *compressor, step_s)?.into()
            }
            Self::Room(parameters) => Room::new(*parameters, step_s)?.into(),
            Self::Condenser(parameters) => Condenser::new(parameters, step_s)?.into(),
            Self::FirstOrder(parameters) => FirstOrder::new(parameters, step_s)?.into(),
        })
    }

    /// The kind of plant, as a file names it.
    #[must_use]
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::RefrigeratedBox(..) | Self::PumpingDown(..) => "refrigerated box",
            Self::HeatedTank(_) => "heated tank",
            Self::CooledTank(..) => "cooled tank",
            Self::Room(_) => "room",
            Self::Condenser(_) => "condenser",
            Self::FirstOrder(_) => "first order",
        }
    }

    /// What it needs electricity for.
    #[must_use]
    pub const fn work(&self) -> PlantWork {
        match self {
            Self::RefrigeratedBox(..) | Self::CooledTank(..) => PlantWork::Cooling,
            Self::PumpingDown(..) => PlantWork::PumpDown,
            Self::HeatedTank(_) => PlantWork::Heating,
            Self::Room(parameters) => match parameters.conditioning {
                Conditioning::Heating => PlantWork::Heating,
                Conditioning::Cooling => PlantWork::Cooling,
            },
            Self::Condenser(_) => PlantWork::CondenserFan,
            Self::FirstOrder(_) => PlantWork::Anything,
        }
    }

    /// The mode in which a control can do anything with it; none where either can.
    #[must_use]
    pub const fn mode(&self) -> Option<Mode> {
        match self.work() {
            // A fan cools its condenser.
            PlantWork::Cooling | PlantWork::PumpDown | PlantWork::CondenserFan => Some(Mode::Cool),
            PlantWork::Heating => Some(Mode::Heat),
            PlantWork::Anything => None,
        }
    }

    /// Whether it has a door that can stand open.
    #[must_use]
    pub const fn has_door(&self) -> bool {
        matches!(
            self,
            Self::RefrigeratedBox(..) | Self::PumpingDown(..) | Self::Room(_)
        )
    }

    /// Whether water can be drawn from it.
    #[must_use]
    pub const fn has_draw(&self) -> bool {
        matches!(self, Self::HeatedTank(_) | Self::CooledTank(..))
    }

    /// Whether the air around has any effect on it.
    #[must_use]
    pub const fn feels_ambient(&self) -> bool {
        !matches!(self, Self::FirstOrder(_))
    }

    /// How it pumps down, where the relay switches a liquid-line valve and the suction
    /// pressure the compressor.
    #[must_use]
    pub const fn pump_down(&self) -> Option<&PumpDownParameters> {
        match self {
            Self::PumpingDown(_, _, pump_down) => Some(pump_down),
            Self::RefrigeratedBox(..)
            | Self::HeatedTank(_)
            | Self::CooledTank(..)
            | Self::Room(_)
            | Self::Condenser(_)
            | Self::FirstOrder(_) => None,
        }
    }

    /// What starts and stops in it, to be counted.
    #[must_use]
    pub const fn runners(&self) -> &'static [Runner] {
        match self.pump_down() {
            None => &[Runner::Load],
            Some(_) => &[Runner::Load, Runner::Compressor],
        }
    }

    /// The contents, where there are some that can be loaded.
    #[must_use]
    pub fn contents(&self) -> Option<Contents> {
        match self {
            Self::RefrigeratedBox(parameters, _) | Self::PumpingDown(parameters, ..) => {
                Some(Contents {
                    mass_kg: parameters.product_kg,
                    j_kg_k: parameters.product_j_kg_k,
                })
            }
            Self::HeatedTank(parameters) | Self::CooledTank(parameters, _) => Some(Contents {
                mass_kg: parameters.contents_kg,
                j_kg_k: parameters.contents_j_kg_k,
            }),
            Self::Room(_) | Self::Condenser(_) | Self::FirstOrder(_) => None,
        }
    }
}

impl PlantPlan {
    /// What the plant can tell.
    #[must_use]
    pub const fn quantities(&self) -> &'static [Quantity] {
        match self {
            Self::RefrigeratedBox(..) => RefrigeratedBox::QUANTITIES,
            Self::PumpingDown(..) => RefrigeratedBox::QUANTITIES_PUMPING_DOWN,
            Self::HeatedTank(_) => Tank::QUANTITIES_HEATED,
            Self::CooledTank(..) => Tank::QUANTITIES_COOLED,
            Self::Room(_) => Room::QUANTITIES,
            Self::Condenser(_) => Condenser::QUANTITIES,
            Self::FirstOrder(_) => FirstOrder::QUANTITIES,
        }
    }
}

/// Reads `[plant]`.
pub fn read_plant(item: &Item<'_>) -> Option<PlantPlan> {
    let mut table = item.table("[plant]")?;
    let plan = match KIND.read(&mut table)? {
        Kind::RefrigeratedBox => {
            let mut parameters = BoxParameters::default();
            read_numbers(&mut table, BoxParameters::RANGES, |name, value| {
                parameters.set(name, value)
            });
            read_choice(&mut table, &PROBE_SITE, &mut parameters.probe_site);
            read_choice(&mut table, &FAN, &mut parameters.fan);
            let (parameters, compressor) =
                (Box::new(parameters), Box::new(read_compressor(&mut table)));
            match PUMP_DOWN.item(&mut table) {
                Some(item) => {
                    PlantPlan::PumpingDown(parameters, compressor, Box::new(read_pump_down(&item)?))
                }
                None => PlantPlan::RefrigeratedBox(parameters, compressor),
            }
        }
        Kind::HeatedTank => PlantPlan::HeatedTank(Box::new(read_tank(&mut table))),
        Kind::CooledTank => {
            let parameters = read_tank(&mut table);
            PlantPlan::CooledTank(Box::new(parameters), Box::new(read_compressor(&mut table)))
        }
        Kind::Room => {
            let mut parameters = RoomParameters::default();
            read_numbers(&mut table, RoomParameters::RANGES, |name, value| {
                parameters.set(name, value)
            });
            read_choice(&mut table, &CONDITIONING, &mut parameters.conditioning);
            PlantPlan::Room(Box::new(parameters))
        }
        Kind::Condenser => {
            let mut parameters = CondenserParameters::default();
            read_numbers(&mut table, CondenserParameters::RANGES, |name, value| {
                parameters.set(name, value)
            });
            PlantPlan::Condenser(parameters)
        }
        Kind::FirstOrder => {
            let mut parameters = FirstOrderParameters::default();
            read_numbers(&mut table, FirstOrderParameters::RANGES, |name, value| {
                parameters.set(name, value)
            });
            PlantPlan::FirstOrder(parameters)
        }
    };
    table.finish();
    Some(plan)
}

fn read_tank(table: &mut Table<'_>) -> TankParameters {
    let mut parameters = TankParameters::default();
    read_numbers(table, TankParameters::RANGES, |name, value| {
        parameters.set(name, value)
    });
    parameters
}

fn read_compressor(table: &mut Table<'_>) -> CompressorParameters {
    let mut parameters = CompressorParameters::default();
    let nested = COMPRESSOR
        .item(table)
        .and_then(|item| item.table("[plant.compressor]"));
    if let Some(mut nested) = nested {
        read_numbers(&mut nested, CompressorParameters::RANGES, |name, value| {
            parameters.set(name, value)
        });
        read_choice(&mut nested, &COMPRESSOR_KIND, &mut parameters.kind);
        read_choice(&mut nested, &REFRIGERANT, &mut parameters.refrigerant);
        nested.finish();
    }
    parameters
}

fn read_pump_down(item: &Item<'_>) -> Option<PumpDownParameters> {
    let mut table = item.table("[plant.pump_down]")?;
    let mut parameters = PumpDownParameters::default();
    read_numbers(&mut table, PumpDownParameters::RANGES, |name, value| {
        parameters.set(name, value)
    });
    read_numbers(&mut table, LowSideParameters::RANGES, |name, value| {
        parameters.low_side.set(name, value)
    });
    read_numbers(
        &mut table,
        PressureControlParameters::RANGES,
        |name, value| parameters.control.set(name, value),
    );
    let PressureControlParameters {
        cut_in_kpa,
        cut_out_kpa,
    } = parameters.control;
    table.finish();
    if cut_out_kpa < cut_in_kpa {
        return Some(parameters);
    }
    item.note(
        Problem::at(
            item.key_span(),
            format!(
                "the pressure control would open at {cut_out_kpa} kPa and close at {cut_in_kpa} kPa"
            ),
        )
        .expected("`cut_out_kpa` below `cut_in_kpa`")
        .remedy("pressures are absolute: 0 psig is 101 kPa"),
    );
    None
}

/// Reads a choice; what is wrong with it was noted, and leaves the target as it is.
fn read_choice<F: Reads>(table: &mut Table<'_>, entry: &Defaulted<F>, target: &mut F::Value) {
    if let Some(chosen) = entry.read(table) {
        *target = chosen;
    }
}

fn read_numbers(
    table: &mut Table<'_>,
    ranges: &'static [ParameterRange],
    mut set: impl FnMut(&str, f64) -> Result<(), ParameterError>,
) {
    for range in ranges {
        let Some(item) = table.optional(range.name) else {
            continue;
        };
        let (spaced, measured) = if range.unit.is_empty() {
            (String::new(), String::new())
        } else {
            (format!(" {}", range.unit), format!(" in {}", range.unit))
        };
        let number = if item.is_text() {
            let example = format!("{}{spaced}", range.default);
            item.read(&example, |text| read_in_unit(text, range.unit))
        } else {
            item.finite(&format!("a number{measured}, without quotes"))
        };
        let Some(number) = number else { continue };
        if set(range.name, *number.get_ref()).is_err() {
            let ParameterRange {
                name,
                lowest,
                highest,
                default,
                ..
            } = range;
            table.problems().add(
                Problem::at(number.span(), format!("`{name}` is out of its range"))
                    .expected(format!("expected {lowest} to {highest}{spaced}"))
                    .remedy(format!("the default is {default}{spaced}")),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::unit::Unit;

    #[test]
    fn every_parameter_can_be_written_with_its_unit() {
        let all = [
            BoxParameters::RANGES,
            CompressorParameters::RANGES,
            PumpDownParameters::RANGES,
            LowSideParameters::RANGES,
            PressureControlParameters::RANGES,
            TankParameters::RANGES,
            RoomParameters::RANGES,
            CondenserParameters::RANGES,
            FirstOrderParameters::RANGES,
        ];
        for range in all.into_iter().flatten() {
            assert!(
                Unit::all_written(range.unit).next().is_some(),
                "{} in {}",
                range.name,
                range.unit
            );
            let text = format!("{} {}", range.default, range.unit);
            let read = read_in_unit(&text, range.unit).expect("its own unit");
            assert!(
                (read - range.default).abs() <= 1e-9 * range.default.abs(),
                "{text}"
            );
        }
    }
}
