//! An air-cooled condenser whose fan is cycled to hold the condensing temperature in cold weather.
//!
//! The switched load is the fan; the refrigerating system behind it rejects heat all the time.

use super::network::{ExactStep, ThermalNetwork};
use super::parameter::{ParameterError, STEP, parameters};
use super::quantity::Quantity;
use super::surroundings::{Load, Surroundings};

parameters! {
    /// What a condenser is made of.
    ///
    /// Defaults: the condenser of a 3 kW cooler.
    pub struct CondenserParameters {
        /// Heat capacity of the condenser with its refrigerant.
        capacity_j_k = 12_000.0, "J/K", 50.0..=1e8;
        /// Conductance to ambient while the fan runs.
        fan_w_k = 350.0, "W/K", 0.1..=1e7;
        /// Conductance to ambient while the fan stands.
        still_w_k = 60.0, "W/K", 0.1..=1e7;
        /// Heat to be rejected.
        rejected_w = 4_200.0, "W", 0.0..=1e8;
        /// Power of the fan; its heat leaves with the air.
        fan_w = 150.0, "W", 0.0..=1e6;
        /// Condensing temperature at the start.
        start_c = 20.0, "°C", -60.0..=80.0;
    }
}

/// A condenser at work.
#[derive(Debug, Clone)]
pub struct Condenser {
    parameters: CondenserParameters,
    fan_running: ExactStep<1>,
    fan_standing: ExactStep<1>,
    at_c: [f64; 1],
    rejected_w: f64,
    power_w: f64,
}

impl Condenser {
    /// A condenser stepped by `step_s` seconds.
    pub fn new(parameters: CondenserParameters, step_s: f64) -> Result<Self, ParameterError> {
        parameters.check()?;
        STEP.check(step_s)?;
        let step = |conductance_w_k| {
            ThermalNetwork::new([parameters.capacity_j_k])
                .join_outside(0, conductance_w_k)
                .exact_step(step_s)
        };
        Ok(Self {
            fan_running: step(parameters.fan_w_k),
            fan_standing: step(parameters.still_w_k),
            at_c: [parameters.start_c],
            rejected_w: 0.0,
            power_w: 0.0,
            parameters,
        })
    }

    /// Goes one step on. A fan at low voltage moves less air: the conductance follows
    /// the load only as running or standing, the power follows its fraction.
    pub fn step(&mut self, load: Load, surroundings: &Surroundings) {
        let parameters = &self.parameters;
        let (step, conductance_w_k) = match load {
            Load::Off => (&self.fan_standing, parameters.still_w_k),
            Load::Running { .. } => (&self.fan_running, parameters.fan_w_k),
        };
        self.power_w = parameters.fan_w * load.fraction();
        self.rejected_w = parameters.rejected_w + surroundings.heat_w;
        let heat_w = self.rejected_w + conductance_w_k * surroundings.ambient_c;
        self.at_c = step.advance(&self.at_c, &[heat_w]);
    }

    /// Temperature at the control's probe, °C: the probe is strapped to a return bend.
    #[must_use]
    pub const fn probe_site_c(&self) -> f64 {
        self.at_c[0]
    }

    /// What can be read.
    pub const QUANTITIES: &'static [Quantity] = &[
        Quantity::CondensingTemperature,
        Quantity::LoadPower,
        Quantity::RejectedHeat,
    ];

    /// Reads one quantity, if a condenser has it.
    #[must_use]
    pub const fn quantity(&self, quantity: Quantity) -> Option<f64> {
        match quantity {
            Quantity::CondensingTemperature => Some(self.at_c[0]),
            Quantity::LoadPower => Some(self.power_w),
            Quantity::RejectedHeat => Some(self.rejected_w),
            Quantity::Air
            | Quantity::Product
            | Quantity::Coil
            | Quantity::Walls
            | Quantity::Water
            | Quantity::Element
            | Quantity::Room
            | Quantity::Fabric
            | Quantity::Reference
            | Quantity::EvaporatingTemperature
            | Quantity::SuctionPressure
            | Quantity::DischargePressure
            | Quantity::LoadHeat
            | Quantity::DoorHeat
            | Quantity::FanPower
            | Quantity::CompressorPower
            | Quantity::EvaporatorLiquid => None,
        }
    }
}
