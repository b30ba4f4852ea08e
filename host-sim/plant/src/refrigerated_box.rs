//! A refrigerated box: walk-in, reach-in, freezer, display case, warehouse.
//!
//! Four capacities: air with what hangs in it, product, coil and walls.
//!
//! ```text
//! ambient --- walls --- air --- product      (lines: conductances)
//!    |                 / | \
//!    +---- leakage ---+  |  +--- door heat, fan and steady load
//!                       coil --- refrigeration
//! ```
//!
//! Linear parts are stepped exactly. The heat drawn from the coil and that through
//! the door answer to the temperatures they change; each is held over a step at its
//! value in the middle, solved together with the node's own answer. That is second
//! order in the length of the step, stable however light the node, and without error
//! at rest.

use super::box_door::BoxDoor;
use super::coil::CoilOverStep;
use super::compressor_parameters::CompressorParameters;
use super::direct_compressor::DirectCompressor;
use super::door::Doorway;
use super::moist_air::RelativeHumidity;
use super::network::{ExactStep, ThermalNetwork, taken_at};
use super::parameter::{ParameterError, STEP, parameters};
use super::pressure_control::PressureControl;
use super::pump_down::{PumpDown, PumpDownParameters};
use super::quantity::Quantity;
use super::refrigeration::Refrigeration;
use super::surroundings::{Door, FanSupply, Load, Surroundings};

const AIR: usize = 0;
const PRODUCT: usize = 1;
const COIL: usize = 2;
const WALLS: usize = 3;

/// Where the control's probe sits in a box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BoxProbeSite {
    /// In the air, where it returns to the coil.
    #[default]
    Air,
    /// In the product.
    Product,
    /// On the coil.
    Coil,
}

/// When the evaporator fan runs, as long as it is fed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FanArrangement {
    /// Always.
    #[default]
    Continuous,
    /// With the switched load.
    WithLoad,
}

parameters! {
    /// What a refrigerated box is made of.
    ///
    /// Defaults: a walk-in cooler of 2.4 m × 3 m × 2.4 m with 100 mm of foam and 1,000 kg of produce.
    pub struct BoxParameters {
        /// Heat capacity of the air with shelves and wrappings that follow it at once.
        air_capacity_j_k = 60_000.0, "J/K", 100.0..=1e9;
        /// Mass of the product.
        product_kg = 1_000.0, "kg", 0.1..=1e8;
        /// Specific heat of the product: about 3,500 above freezing, 1,900 below.
        product_j_kg_k = 3_500.0, "J/(kg K)", 500.0..=5_000.0;
        /// Heat capacity of the coil with its refrigerant.
        coil_capacity_j_k = 12_000.0, "J/K", 50.0..=1e8;
        /// Heat capacity of the inner skin and the foam that follows it.
        walls_capacity_j_k = 200_000.0, "J/K", 100.0..=1e10;
        /// Conductance from product to air.
        product_air_w_k = 100.0, "W/K", 0.01..=1e6;
        /// Conductance from coil to air while the fan runs.
        coil_fan_w_k = 700.0, "W/K", 0.1..=1e6;
        /// Conductance from coil to air while the fan stands.
        coil_still_w_k = 40.0, "W/K", 0.0..=1e6;
        /// Conductance from walls to the air inside.
        walls_air_w_k = 250.0, "W/K", 0.1..=1e6;
        /// Conductance from walls to ambient.
        walls_ambient_w_k = 11.0, "W/K", 0.0..=1e5;
        /// Air exchanged with ambient whatever the door does: gaskets, or the open front of a case.
        leakage_w_k = 1.0, "W/K", 0.0..=1e5;
        /// Power of the evaporator fan; all of it heats the air.
        evaporator_fan_w = 150.0, "W", 0.0..=1e5;
        /// Lights, frame heaters and the like that heat the air all day.
        steady_load_w = 0.0, "W", 0.0..=1e6;
        /// Clear width of the door.
        door_width_m = 0.9, "m", 0.05..=20.0;
        /// Clear height of the door.
        door_height_m = 2.0, "m", 0.05..=20.0;
        /// Part of the exchange that a strip or air curtain keeps back.
        door_protection = 0.8, "", 0.0..=1.0;
        /// Relative humidity inside.
        inside_rh = 0.85, "", 0.0..=1.0;
        /// Temperature of air, coil and walls at the start.
        air_start_c = 4.0, "°C", -60.0..=60.0;
        /// Temperature of the product at the start.
        product_start_c = 4.0, "°C", -60.0..=60.0;
        =>
        /// Where the control's probe sits.
        probe_site: BoxProbeSite = BoxProbeSite::Air;
        /// When the evaporator fan runs.
        fan: FanArrangement = FanArrangement::Continuous;
    }
}

/// A refrigerated box at work.
#[derive(Debug, Clone)]
pub struct RefrigeratedBox {
    parameters: BoxParameters,
    refrigeration: Refrigeration,
    fan_running: ExactStep<4>,
    fan_standing: ExactStep<4>,
    door: BoxDoor,
    at_c: [f64; 4],
    held: Held,
    coil_heat_w: f64,
    door_heat_w: f64,
    fan_w: f64,
}

/// What heat from outside, fan and product does in a step: the same from step to step, for the most part.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Held {
    /// Whether the fan runs, ambient temperature in °C, product load in W.
    cause: (bool, f64, f64, f64),
    /// What this drives in a step.
    driven_k: [f64; 4],
    /// Where it brings the nodes by the end of the next step, without coil and door.
    to_c: [f64; 4],
}

impl Default for Held {
    /// Not known yet: no ambient temperature equals this one.
    fn default() -> Self {
        Self {
            cause: (false, f64::NAN, 0.0, 0.0),
            driven_k: [0.0; 4],
            to_c: [0.0; 4],
        }
    }
}

impl RefrigeratedBox {
    /// A box whose switched load is the compressor itself, stepped by `step_s` seconds.
    pub fn new(
        parameters: BoxParameters,
        compressor: CompressorParameters,
        step_s: f64,
    ) -> Result<Self, ParameterError> {
        STEP.check(step_s)?;
        let refrigeration =
            Refrigeration::Direct(Box::new(DirectCompressor::new(compressor, step_s)?));
        Self::with(parameters, refrigeration, step_s)
    }

    /// A box whose switched load is the liquid-line valve, stepped by `step_s` seconds.
    pub fn pumping_down(
        parameters: BoxParameters,
        compressor: CompressorParameters,
        pump_down: PumpDownParameters,
        step_s: f64,
    ) -> Result<Self, ParameterError> {
        STEP.check(step_s)?;
        let system = PumpDown::new(compressor, pump_down, step_s)?;
        Self::with(
            parameters,
            Refrigeration::PumpDown(Box::new(system)),
            step_s,
        )
    }

    fn with(
        parameters: BoxParameters,
        refrigeration: Refrigeration,
        step_s: f64,
    ) -> Result<Self, ParameterError> {
        parameters.check()?;
        let network = |coil_air_w_k| {
            ThermalNetwork::new([
                parameters.air_capacity_j_k,
                parameters.product_kg * parameters.product_j_kg_k,
                parameters.coil_capacity_j_k,
                parameters.walls_capacity_j_k,
            ])
            .join(AIR, PRODUCT, parameters.product_air_w_k)
            .join(AIR, COIL, coil_air_w_k)
            .join(AIR, WALLS, parameters.walls_air_w_k)
            .join_outside(WALLS, parameters.walls_ambient_w_k)
            .join_outside(AIR, parameters.leakage_w_k)
            .exact_step(step_s)
        };
        let door = Self::door(&parameters).ok_or(ParameterError::Impossible {
            reason: "the doorway is no opening between two airs",
        })?;
        let start_c = parameters.air_start_c;
        Ok(Self {
            refrigeration,
            fan_running: network(parameters.coil_fan_w_k),
            fan_standing: network(parameters.coil_still_w_k),
            door,
            at_c: [start_c, parameters.product_start_c, start_c, start_c],
            held: Held::default(),
            coil_heat_w: 0.0,
            door_heat_w: 0.0,
            fan_w: 0.0,
            parameters,
        })
    }

    fn door(parameters: &BoxParameters) -> Option<BoxDoor> {
        let doorway = Doorway::new(parameters.door_width_m, parameters.door_height_m)?;
        let inside = RelativeHumidity::from_fraction(parameters.inside_rh).ok()?;
        BoxDoor::new(doorway, inside, 1.0 - parameters.door_protection).ok()
    }

    /// Goes one step on.
    pub fn step(&mut self, load: Load, surroundings: &Surroundings) {
        let parameters = &self.parameters;
        let ambient_c = surroundings.ambient_c;
        let fan_runs = match (surroundings.fan_supply, parameters.fan) {
            (FanSupply::Dead, _) => false,
            (FanSupply::Energised, FanArrangement::Continuous) => true,
            (FanSupply::Energised, FanArrangement::WithLoad) => load.fraction() > 0.0,
        };
        let (step, fan_w) = if fan_runs {
            (&self.fan_running, parameters.evaporator_fan_w)
        } else {
            (&self.fan_standing, 0.0)
        };
        self.fan_w = fan_w;
        let (product_w, air_w) = (surroundings.product_load_w, surroundings.heat_w);
        let cause = (fan_runs, ambient_c, product_w, air_w);
        if self.held.cause != cause {
            let heat_w = [
                fan_w + parameters.steady_load_w + air_w + parameters.leakage_w_k * ambient_c,
                product_w,
                0.0,
                parameters.walls_ambient_w_k * ambient_c,
            ];
            self.held = Held {
                cause,
                driven_k: step.driven(&heat_w),
                to_c: step.advance(&self.at_c, &heat_w),
            };
        }
        let from_c = self.at_c;
        let mut to_c = self.held.to_c;
        match surroundings.door {
            Door::Closed => self.door_heat_w = 0.0,
            Door::Open => {
                self.door.face(surroundings);
                let (door_w, slope_w_k) = self.door.heat(from_c[AIR]);
                let to_balance_k = self.door.balance_c() - to_c[AIR];
                step.add(&mut to_c, AIR, door_w);
                // Where the flow factor jumps, heat climbs with the air; it is then taken as it stands.
                let falls_w_k = -slope_w_k.min(0.0);
                let response_k_w = step.response_k_w(AIR)[AIR];
                let share_w_k = falls_w_k * taken_at(falls_w_k, response_k_w);
                let less_w =
                    share_w_k * (to_c[AIR] - from_c[AIR]) / (1.0 + share_w_k * response_k_w);
                step.add(&mut to_c, AIR, -less_w);
                self.door_heat_w = door_w - less_w;
                if (self.door_heat_w * response_k_w).abs() > to_balance_k.abs() {
                    let most_w = to_balance(self.door_heat_w, to_balance_k, response_k_w);
                    step.add(&mut to_c, AIR, most_w - self.door_heat_w);
                    self.door_heat_w = most_w;
                }
            }
        }
        let coil = CoilOverStep {
            from_c: from_c[COIL],
            undrawn_to_c: to_c[COIL],
            response_k_w: step.response_k_w(COIL)[COIL],
        };
        self.coil_heat_w = self.refrigeration.step(load, coil, surroundings);
        step.add(&mut to_c, COIL, -self.coil_heat_w);
        self.at_c = to_c;
        // Known now, and so not waited for in the next step.
        self.held.to_c = step.carried(&to_c, &self.held.driven_k);
    }

    /// Temperature at the control's probe, °C.
    #[must_use]
    pub const fn probe_site_c(&self) -> f64 {
        match self.parameters.probe_site {
            BoxProbeSite::Air => self.at_c[AIR],
            BoxProbeSite::Product => self.at_c[PRODUCT],
            BoxProbeSite::Coil => self.at_c[COIL],
        }
    }

    /// The low-pressure control, if the box pumps down.
    #[must_use]
    pub const fn pressure_control(&self) -> Option<&PressureControl> {
        self.refrigeration.pressure_control()
    }

    /// What can be read where the relay switches the compressor.
    pub const QUANTITIES: &'static [Quantity] = Self::QUANTITIES_PUMPING_DOWN
        .split_at(Self::QUANTITIES_PUMPING_DOWN.len() - 3)
        .0;

    /// What can be read where it pumps down; the last three only there.
    pub const QUANTITIES_PUMPING_DOWN: &'static [Quantity] = &[
        Quantity::Air,
        Quantity::Product,
        Quantity::Coil,
        Quantity::Walls,
        Quantity::EvaporatingTemperature,
        Quantity::CondensingTemperature,
        Quantity::SuctionPressure,
        Quantity::DischargePressure,
        Quantity::LoadPower,
        Quantity::LoadHeat,
        Quantity::DoorHeat,
        Quantity::FanPower,
        Quantity::CompressorPower,
        Quantity::RejectedHeat,
        Quantity::EvaporatorLiquid,
    ];

    /// What can be read.
    #[must_use]
    pub const fn quantities(&self) -> &'static [Quantity] {
        match self.refrigeration {
            Refrigeration::Direct(_) => Self::QUANTITIES,
            Refrigeration::PumpDown(_) => Self::QUANTITIES_PUMPING_DOWN,
        }
    }

    /// Reads one quantity, if a box has it.
    #[must_use]
    #[inline]
    pub fn quantity(&self, quantity: Quantity) -> Option<f64> {
        let system = self.refrigeration.pump_down();
        match quantity {
            Quantity::Air => Some(self.at_c[AIR]),
            Quantity::Product => Some(self.at_c[PRODUCT]),
            Quantity::Coil => Some(self.at_c[COIL]),
            Quantity::Walls => Some(self.at_c[WALLS]),
            Quantity::EvaporatingTemperature => Some(self.refrigeration.evaporating_c()),
            Quantity::CondensingTemperature => Some(self.refrigeration.condensing_c()),
            Quantity::SuctionPressure => Some(self.refrigeration.suction_kpa()),
            Quantity::DischargePressure => Some(self.refrigeration.discharge_kpa()),
            Quantity::LoadPower => Some(self.refrigeration.power_w()),
            Quantity::LoadHeat => Some(-self.coil_heat_w),
            Quantity::DoorHeat => Some(self.door_heat_w),
            Quantity::FanPower => Some(self.fan_w),
            Quantity::CompressorPower => system.map(PumpDown::condensing_unit_w),
            Quantity::RejectedHeat => system.map(PumpDown::rejected_w),
            Quantity::EvaporatorLiquid => system.map(|system| system.low_side().liquid_kg()),
            Quantity::Water
            | Quantity::Element
            | Quantity::Room
            | Quantity::Fabric
            | Quantity::Reference => None,
        }
    }
}
/// The heat of a door that would bring air past its balance with the outside, W: as much as
/// brings it there, however light the air, and none if it would lead away.
#[cold]
fn to_balance(door_w: f64, to_balance_k: f64, response_k_w: f64) -> f64 {
    if door_w * to_balance_k > 0.0 {
        to_balance_k / response_k_w
    } else {
        0.0
    }
}
