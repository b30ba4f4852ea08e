//! What a compressor with its condenser is made of.

use super::compressor::CompressorKind;
use super::parameter::parameters;
use super::refrigerant::Refrigerant;

parameters! {
    /// A compressor with its condenser, and the refrigerant side of its evaporator.
    ///
    /// Defaults: about 3 kW at −6 °C evaporating and 40 °C condensing, for a walk-in cooler.
    pub struct CompressorParameters {
        /// Capacity at the rating point of its kind.
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
