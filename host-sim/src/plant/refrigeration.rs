//! What takes the heat out of a coil when the load runs.
//!
//! A plant that is cooled holds a [`Refrigeration`] and asks it once a step how
//! much heat leaves the coil. How the switched load brings that about is this
//! file's affair: a [`DirectCompressor`] runs exactly while it is energised; in a
//! [`PumpDown`] the load is a valve, and the suction pressure starts and stops the compressor.

use super::compressor::CompressorKind;
use super::direct_compressor::DirectCompressor;
use super::parameter::parameters;
use super::pressure_control::PressureControl;
use super::pump_down::PumpDown;
use super::refrigerant::{Refrigerant, SaturationLine};
use super::surroundings::{Load, Surroundings};

parameters! {
    /// A compressor with its condenser, and the refrigerant side of its evaporator.
    ///
    /// Defaults: about 3 kW at −6 °C evaporating and 40 °C condensing, for a walk-in cooler.
    pub struct CompressorParameters {
        /// Capacity at the rating point of the [`CompressorKind`].
        rated_capacity_w = 3_000.0, "W", 10.0..=2e6;
        /// Conductance from the coil's metal to the evaporating refrigerant.
        evaporator_w_k = 1_500.0, "W/K", 1.0..=1e6;
        /// Heat capacity of the condenser with its refrigerant.
        condenser_capacity_j_k = 9_000.0, "J/K", 50.0..=1e7;
        /// Conductance from condenser to ambient while the compressor and its fan run.
        condenser_running_w_k = 350.0, "W/K", 1.0..=1e6;
        /// Conductance from condenser to ambient at rest.
        condenser_resting_w_k = 30.0, "W/K", 0.1..=1e6;
        /// Lowest condensing temperature that head-pressure control lets the compressor see.
        lowest_condensing_c = 25.0, "°C", -20.0..=60.0;
        /// Power of the condenser fan, drawn with the compressor; its heat leaves outdoors.
        condenser_fan_w = 150.0, "W", 0.0..=1e5;
        /// Temperature the condenser starts at.
        condenser_start_c = 25.0, "°C", -60.0..=80.0;
        =>
        /// Which example map capacity and power follow.
        kind: CompressorKind = CompressorKind::MediumTemperature;
        /// What the pressures are told for.
        refrigerant: Refrigerant = Refrigerant::R134a;
    }
}

/// A coil over one step, as far as it is known before the heat drawn from it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoilOverStep {
    /// Temperature at the beginning of the step, °C.
    pub from_c: f64,
    /// Temperature at the end if no heat were drawn, °C.
    pub undrawn_to_c: f64,
    /// How far each watt drawn over the step lowers the temperature at its end, K/W.
    pub response_k_w: f64,
}

/// The refrigerating side of a plant.
#[derive(Debug, Clone)]
pub enum Refrigeration {
    /// The switched load is the compressor itself.
    Direct(Box<DirectCompressor>),
    /// The switched load is the liquid-line valve.
    PumpDown(Box<PumpDown>),
}

impl Refrigeration {
    /// Takes one step and returns the heat drawn from the coil over it, in W.
    #[inline]
    pub fn step(&mut self, load: Load, coil: CoilOverStep, surroundings: &Surroundings) -> f64 {
        match self {
            Self::Direct(compressor) => compressor.step(load, coil, surroundings),
            Self::PumpDown(system) => system.step(load, coil, surroundings),
        }
    }

    /// The low-pressure control, where there is one.
    #[must_use]
    pub const fn pressure_control(&self) -> Option<&PressureControl> {
        match self {
            Self::Direct(_) => None,
            Self::PumpDown(system) => Some(system.control()),
        }
    }

    /// Electrical power of the switched load over the last step, in W.
    #[must_use]
    pub const fn power_w(&self) -> f64 {
        match self {
            Self::Direct(compressor) => compressor.power_w(),
            Self::PumpDown(system) => system.valve_w(),
        }
    }

    /// The system, if it pumps down.
    #[must_use]
    pub const fn pump_down(&self) -> Option<&PumpDown> {
        match self {
            Self::Direct(_) => None,
            Self::PumpDown(system) => Some(system),
        }
    }

    /// Saturated suction temperature in °C: the coil's own where a compressor rests that is
    /// the switched load itself.
    #[must_use]
    pub const fn evaporating_c(&self) -> f64 {
        match self {
            Self::Direct(compressor) => compressor.evaporating_c(),
            Self::PumpDown(system) => system.low_side().evaporating_c(),
        }
    }

    /// Saturated condensing temperature in °C.
    #[must_use]
    pub const fn condensing_c(&self) -> f64 {
        match self {
            Self::Direct(compressor) => compressor.condensing_c(),
            Self::PumpDown(system) => system.condensing_c(),
        }
    }

    /// Suction pressure, kPa absolute.
    #[must_use]
    pub fn suction_kpa(&self) -> f64 {
        match self {
            Self::Direct(compressor) => compressor
                .refrigerant()
                .pressure_kpa(SaturationLine::Dew, compressor.evaporating_c()),
            Self::PumpDown(system) => system.low_side().suction_kpa(),
        }
    }

    /// Discharge pressure, kPa absolute.
    #[must_use]
    pub fn discharge_kpa(&self) -> f64 {
        let refrigerant = match self {
            Self::Direct(compressor) => compressor.refrigerant(),
            Self::PumpDown(system) => system.refrigerant(),
        };
        refrigerant.pressure_kpa(SaturationLine::Dew, self.condensing_c())
    }
}
