//! A room with heating or cooling, and the fabric around it.
//!
//! Three capacities: air with furnishings, fabric, and the heating or cooling unit.
//! The unit gives its rated heat whatever the weather; where capacity should follow
//! the weather, take a refrigerated box.

use super::network::{ExactStep, ThermalNetwork};
use super::parameter::{ParameterError, STEP, parameters};
use super::quantity::Quantity;
use super::surroundings::{Door, FanSupply, Load, Surroundings};

const ROOM: usize = 0;
const FABRIC: usize = 1;
const UNIT: usize = 2;

/// Which way the unit moves heat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Conditioning {
    /// Into the room.
    #[default]
    Heating,
    /// Out of the room.
    Cooling,
}

parameters! {
    /// What a room is made of.
    ///
    /// Defaults: a workshop of about 40 m² with a 5 kW electric unit heater.
    pub struct RoomParameters {
        /// Heat capacity of the air and the furnishings that follow it.
        room_capacity_j_k = 600_000.0, "J/K", 1_000.0..=1e10;
        /// Heat capacity of walls, floor and ceiling.
        fabric_capacity_j_k = 8_000_000.0, "J/K", 1_000.0..=1e11;
        /// Heat capacity of the heating or cooling unit.
        unit_capacity_j_k = 15_000.0, "J/K", 10.0..=1e9;
        /// Conductance from fabric to room.
        fabric_room_w_k = 400.0, "W/K", 0.1..=1e6;
        /// Conductance from fabric to ambient.
        fabric_ambient_w_k = 80.0, "W/K", 0.0..=1e6;
        /// Air exchange and windows: conductance from room to ambient with the door closed.
        room_ambient_w_k = 40.0, "W/K", 0.0..=1e6;
        /// Further conductance to ambient while the door is open.
        open_door_w_k = 300.0, "W/K", 0.0..=1e6;
        /// Conductance from unit to room while its fan runs.
        unit_fan_w_k = 250.0, "W/K", 0.1..=1e6;
        /// Conductance from unit to room while its fan has no supply.
        unit_still_w_k = 25.0, "W/K", 0.0..=1e6;
        /// Heat the unit moves at rated voltage.
        unit_w = 5_000.0, "W", 1.0..=1e7;
        /// Heat moved per electrical watt: 1 for resistance heating, about 3 for a heat pump.
        heat_per_watt = 1.0, "", 0.1..=10.0;
        /// Temperature of room, fabric and unit at the start.
        start_c = 15.0, "°C", -40.0..=60.0;
        =>
        /// Which way the unit moves heat.
        conditioning: Conditioning = Conditioning::Heating;
    }
}

/// A room at work.
#[derive(Debug, Clone)]
pub struct Room {
    parameters: RoomParameters,
    closed: Airflow,
    open: Airflow,
    at_c: [f64; 3],
    load_heat_w: f64,
    power_w: f64,
}

/// The steps with the fan running and standing, for one state of the door.
#[derive(Debug, Clone)]
struct Airflow {
    outside_w_k: f64,
    fan_running: ExactStep<3>,
    fan_standing: ExactStep<3>,
}

impl Room {
    /// A room stepped by `step_s` seconds.
    pub fn new(parameters: RoomParameters, step_s: f64) -> Result<Self, ParameterError> {
        parameters.check()?;
        STEP.check(step_s)?;
        let network = |outside_w_k, unit_w_k| {
            ThermalNetwork::new([
                parameters.room_capacity_j_k,
                parameters.fabric_capacity_j_k,
                parameters.unit_capacity_j_k,
            ])
            .join(FABRIC, ROOM, parameters.fabric_room_w_k)
            .join(UNIT, ROOM, unit_w_k)
            .join_outside(FABRIC, parameters.fabric_ambient_w_k)
            .join_outside(ROOM, outside_w_k)
            .exact_step(step_s)
        };
        let airflow = |outside_w_k| Airflow {
            outside_w_k,
            fan_running: network(outside_w_k, parameters.unit_fan_w_k),
            fan_standing: network(outside_w_k, parameters.unit_still_w_k),
        };
        Ok(Self {
            closed: airflow(parameters.room_ambient_w_k),
            open: airflow(parameters.room_ambient_w_k + parameters.open_door_w_k),
            at_c: [parameters.start_c; 3],
            load_heat_w: 0.0,
            power_w: 0.0,
            parameters,
        })
    }

    /// Goes one step on.
    pub fn step(&mut self, load: Load, surroundings: &Surroundings) {
        let parameters = &self.parameters;
        let moved_w = parameters.unit_w * load.fraction();
        self.power_w = moved_w / parameters.heat_per_watt;
        self.load_heat_w = match parameters.conditioning {
            Conditioning::Heating => moved_w,
            Conditioning::Cooling => -moved_w,
        };
        let airflow = match surroundings.door {
            Door::Closed => &self.closed,
            Door::Open => &self.open,
        };
        let step = match surroundings.fan_supply {
            FanSupply::Energised => &airflow.fan_running,
            FanSupply::Dead => &airflow.fan_standing,
        };
        let heat_w = [
            surroundings.heat_w + airflow.outside_w_k * surroundings.ambient_c,
            parameters.fabric_ambient_w_k * surroundings.ambient_c,
            self.load_heat_w,
        ];
        self.at_c = step.advance(&self.at_c, &heat_w);
    }

    /// Temperature at the control's probe, °C: that of the room's air.
    #[must_use]
    pub const fn probe_site_c(&self) -> f64 {
        self.at_c[ROOM]
    }

    /// What can be read.
    pub const QUANTITIES: &'static [Quantity] = &[
        Quantity::Room,
        Quantity::Fabric,
        Quantity::Element,
        Quantity::LoadPower,
        Quantity::LoadHeat,
    ];

    /// Reads one quantity, if a room has it.
    #[must_use]
    pub const fn quantity(&self, quantity: Quantity) -> Option<f64> {
        match quantity {
            Quantity::Room => Some(self.at_c[ROOM]),
            Quantity::Fabric => Some(self.at_c[FABRIC]),
            Quantity::Element => Some(self.at_c[UNIT]),
            Quantity::LoadPower => Some(self.power_w),
            Quantity::LoadHeat => Some(self.load_heat_w),
            Quantity::Air
            | Quantity::Product
            | Quantity::Coil
            | Quantity::Walls
            | Quantity::Water
            | Quantity::Reference
            | Quantity::EvaporatingTemperature
            | Quantity::CondensingTemperature
            | Quantity::SuctionPressure
            | Quantity::DischargePressure
            | Quantity::DoorHeat
            | Quantity::RejectedHeat
            | Quantity::FanPower
            | Quantity::CompressorPower
            | Quantity::EvaporatorLiquid => None,
        }
    }
}
