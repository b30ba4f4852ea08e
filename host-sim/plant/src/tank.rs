//! A tank of water, milk, beverage or brine, heated by an element or cooled by an evaporator plate.
//!
//! Two capacities: the contents, well mixed, and the element or plate in them.
//! What is drawn is replaced from the supply at once.

use super::coil::CoilOverStep;
use super::compressor_parameters::CompressorParameters;
use super::direct_compressor::DirectCompressor;
use super::network::{ExactStep, ThermalNetwork};
use super::parameter::{ParameterError, STEP, parameters};
use super::quantity::Quantity;
use super::refrigeration::Refrigeration;
use super::surroundings::{Load, Surroundings};

const WATER: usize = 0;
const ELEMENT: usize = 1;

parameters! {
    /// What a tank is made of.
    ///
    /// Defaults: an electric water heater of 189 litres (50 US gallons) and 4.5 kW.
    pub struct TankParameters {
        /// Mass of the contents.
        contents_kg = 188.9, "kg", 0.1..=1e7;
        /// Specific heat of the contents: water 4,186, milk about 3,900.
        contents_j_kg_k = 4_186.0, "J/(kg K)", 1_000.0..=5_000.0;
        /// Heat capacity of the element or plate.
        element_capacity_j_k = 1_000.0, "J/K", 1.0..=1e7;
        /// Conductance from element or plate to the contents.
        element_contents_w_k = 300.0, "W/K", 0.1..=1e6;
        /// Conductance from the contents to ambient.
        loss_w_k = 2.0, "W/K", 0.0..=1e5;
        /// Heating power at rated voltage; of no account in a cooled tank.
        heater_w = 4_500.0, "W", 0.0..=1e7;
        /// Stirrer or pump that warms the contents all day.
        steady_load_w = 0.0, "W", 0.0..=1e6;
        /// Temperature of what replaces a draw.
        supply_c = 15.0, "°C", -20.0..=100.0;
        /// Temperature of the contents and the element at the start.
        start_c = 15.0, "°C", -40.0..=110.0;
    }
}

/// What the switched load of a tank is.
#[derive(Debug, Clone)]
enum Source {
    Heater,
    Refrigeration(Box<Refrigeration>),
}

/// A tank at work.
#[derive(Debug, Clone)]
pub struct Tank {
    parameters: TankParameters,
    source: Source,
    network: ThermalNetwork<2>,
    step_s: f64,
    at_rest: ExactStep<2>,
    drawing: Drawing,
    at_c: [f64; 2],
    load_heat_w: f64,
    power_w: f64,
}

/// The step that holds for one rate of draw, kept as long as the rate stays.
#[derive(Debug, Clone)]
struct Drawing {
    draw_kg_s: f64,
    step: ExactStep<2>,
}

impl Tank {
    /// A tank whose switched load is its heater, stepped by `step_s` seconds.
    pub fn heated(parameters: TankParameters, step_s: f64) -> Result<Self, ParameterError> {
        Self::new(parameters, Source::Heater, step_s)
    }

    /// A tank whose switched load is a compressor with its evaporator in the contents.
    pub fn cooled(
        parameters: TankParameters,
        compressor: CompressorParameters,
        step_s: f64,
    ) -> Result<Self, ParameterError> {
        STEP.check(step_s)?;
        let refrigeration =
            Refrigeration::Direct(Box::new(DirectCompressor::new(compressor, step_s)?));
        Self::new(
            parameters,
            Source::Refrigeration(Box::new(refrigeration)),
            step_s,
        )
    }

    fn new(
        parameters: TankParameters,
        source: Source,
        step_s: f64,
    ) -> Result<Self, ParameterError> {
        parameters.check()?;
        STEP.check(step_s)?;
        let network = ThermalNetwork::new([
            parameters.contents_kg * parameters.contents_j_kg_k,
            parameters.element_capacity_j_k,
        ])
        .join(WATER, ELEMENT, parameters.element_contents_w_k)
        .join_outside(WATER, parameters.loss_w_k);
        let at_rest = network.exact_step(step_s);
        Ok(Self {
            drawing: Drawing {
                draw_kg_s: 0.0,
                step: at_rest.clone(),
            },
            at_rest,
            network,
            step_s,
            source,
            at_c: [parameters.start_c; 2],
            load_heat_w: 0.0,
            power_w: 0.0,
            parameters,
        })
    }

    /// Goes one step on.
    ///
    /// A draw of a new rate costs a matrix exponential, so hold a rate for as long as it lasts.
    pub fn step(&mut self, load: Load, surroundings: &Surroundings) {
        let parameters = &self.parameters;
        let ambient_c = surroundings.ambient_c;
        let mut contents_w = parameters.steady_load_w
            + surroundings.product_load_w
            + surroundings.heat_w
            + parameters.loss_w_k * ambient_c;
        let draw_kg_s = surroundings.draw_kg_s;
        let step = if draw_kg_s > 0.0 {
            let draw_w_k = draw_kg_s * parameters.contents_j_kg_k;
            contents_w += draw_w_k * parameters.supply_c;
            if self.drawing.draw_kg_s != draw_kg_s {
                self.drawing = Drawing {
                    draw_kg_s,
                    step: self
                        .network
                        .clone()
                        .join_outside(WATER, draw_w_k)
                        .exact_step(self.step_s),
                };
            }
            &self.drawing.step
        } else {
            &self.at_rest
        };
        let mut to_c = step.advance(&self.at_c, &[contents_w, 0.0]);
        (self.load_heat_w, self.power_w) = match &mut self.source {
            Source::Heater => {
                let heat_w = parameters.heater_w * load.fraction();
                (heat_w, heat_w)
            }
            Source::Refrigeration(refrigeration) => {
                let plate = CoilOverStep {
                    from_c: self.at_c[ELEMENT],
                    undrawn_to_c: to_c[ELEMENT],
                    response_k_w: step.response_k_w(ELEMENT)[ELEMENT],
                };
                let heat_w = refrigeration.step(load, plate, surroundings);
                (-heat_w, refrigeration.power_w())
            }
        };
        step.add(&mut to_c, ELEMENT, self.load_heat_w);
        self.at_c = to_c;
    }

    /// Temperature at the control's probe, °C: that of the contents.
    #[must_use]
    pub const fn probe_site_c(&self) -> f64 {
        self.at_c[WATER]
    }

    /// What can be read of a heated tank.
    pub const QUANTITIES_HEATED: &'static [Quantity] = &[
        Quantity::Water,
        Quantity::Element,
        Quantity::LoadPower,
        Quantity::LoadHeat,
    ];

    /// What can be read of a cooled tank.
    pub const QUANTITIES_COOLED: &'static [Quantity] = &[
        Quantity::Water,
        Quantity::Element,
        Quantity::EvaporatingTemperature,
        Quantity::CondensingTemperature,
        Quantity::SuctionPressure,
        Quantity::DischargePressure,
        Quantity::LoadPower,
        Quantity::LoadHeat,
    ];

    /// What can be read.
    #[must_use]
    pub const fn quantities(&self) -> &'static [Quantity] {
        match self.source {
            Source::Heater => Self::QUANTITIES_HEATED,
            Source::Refrigeration(_) => Self::QUANTITIES_COOLED,
        }
    }

    /// Reads one quantity, if this tank has it.
    #[must_use]
    pub fn quantity(&self, quantity: Quantity) -> Option<f64> {
        match quantity {
            Quantity::Water => Some(self.at_c[WATER]),
            Quantity::Element => Some(self.at_c[ELEMENT]),
            Quantity::LoadPower => Some(self.power_w),
            Quantity::LoadHeat => Some(self.load_heat_w),
            Quantity::EvaporatingTemperature => {
                self.refrigeration().map(Refrigeration::evaporating_c)
            }
            Quantity::CondensingTemperature => {
                self.refrigeration().map(Refrigeration::condensing_c)
            }
            Quantity::SuctionPressure => self.refrigeration().map(Refrigeration::suction_kpa),
            Quantity::DischargePressure => self.refrigeration().map(Refrigeration::discharge_kpa),
            Quantity::RejectedHeat
            | Quantity::DoorHeat
            | Quantity::FanPower
            | Quantity::CompressorPower
            | Quantity::EvaporatorLiquid
            | Quantity::Air
            | Quantity::Product
            | Quantity::Coil
            | Quantity::Walls
            | Quantity::Room
            | Quantity::Fabric
            | Quantity::Reference => None,
        }
    }

    const fn refrigeration(&self) -> Option<&Refrigeration> {
        match &self.source {
            Source::Heater => None,
            Source::Refrigeration(refrigeration) => Some(refrigeration),
        }
    }
}
