//! What takes the heat out of a coil when the load runs.
//!
//! A plant that is cooled holds a [`Refrigeration`] and asks it once a step how
//! much heat leaves the coil. How the switched load brings that about is this
//! file's affair: a [`DirectCompressor`] runs exactly while it is energised; in a
//! [`PumpDown`] the load is a valve, and the suction pressure starts and stops the compressor.

use super::coil::CoilOverStep;
use super::direct_compressor::DirectCompressor;
use super::pressure_control::PressureControl;
use super::pump_down::PumpDown;
use super::refrigerant::SaturationLine;
use super::surroundings::{Load, Surroundings};

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
