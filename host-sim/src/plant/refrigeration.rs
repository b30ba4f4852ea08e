//! What takes the heat out of a coil when the load runs.
//!
//! A plant that is cooled holds a [`Refrigeration`] and asks it once a step how
//! much heat leaves the coil. How the switched load brings that about is this
//! file's affair: a [`DirectCompressor`] runs exactly while it is energised.

use super::compressor::CompressorKind;
use super::network::{ExactStep, Network};
use super::parameter::{ParameterError, parameters};
use super::refrigerant::{Refrigerant, SaturationLine};
use super::surroundings::Load;

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

/// Evaporating temperature is corrected once a step, again only where it moved further than this.
///
/// Newton's method squares the error: what is left of 0.05 K is below a hundred-thousandth.
const SETTLED_K: f64 = 0.05;

/// Most corrections in one step; the residual is monotonic, so a handful settles any start.
const MOST_CORRECTIONS: u32 = 50;

/// The refrigerating side of a plant.
#[derive(Debug, Clone)]
pub enum Refrigeration {
    /// The switched load is the compressor itself.
    Direct(DirectCompressor),
}

impl Refrigeration {
    /// Takes one step and returns the heat drawn from the coil over it, in W.
    pub fn step(&mut self, load: Load, coil_c: f64, ambient_c: f64) -> f64 {
        match self {
            Self::Direct(compressor) => compressor.step(load, coil_c, ambient_c),
        }
    }

    /// Electrical power over the last step, in W.
    #[must_use]
    pub const fn power_w(&self) -> f64 {
        match self {
            Self::Direct(compressor) => compressor.power_w,
        }
    }

    /// Saturated suction temperature in °C: the coil's own at rest.
    #[must_use]
    pub const fn evaporating_c(&self) -> f64 {
        match self {
            Self::Direct(compressor) => compressor.evaporating_c,
        }
    }

    /// Saturated condensing temperature in °C.
    #[must_use]
    pub const fn condensing_c(&self) -> f64 {
        match self {
            Self::Direct(compressor) => compressor.condenser_c[0],
        }
    }

    /// Suction pressure, kPa absolute.
    #[must_use]
    pub fn suction_kpa(&self) -> f64 {
        self.dew_point_kpa(self.evaporating_c())
    }

    /// Discharge pressure, kPa absolute.
    #[must_use]
    pub fn discharge_kpa(&self) -> f64 {
        self.dew_point_kpa(self.condensing_c())
    }

    fn dew_point_kpa(&self, saturated_c: f64) -> f64 {
        match self {
            Self::Direct(compressor) => compressor
                .parameters
                .refrigerant
                .pressure_kpa(SaturationLine::Dew, saturated_c),
        }
    }
}

/// A compressor that runs while energised, with its condenser.
#[derive(Debug, Clone)]
pub struct DirectCompressor {
    parameters: CompressorParameters,
    running: ExactStep<1>,
    resting: ExactStep<1>,
    condenser_c: [f64; 1],
    evaporating_c: f64,
    power_w: f64,
    last: Last,
}

/// The last step: from what it began at, the middle of the next is foreseen, so that
/// heat held over a step is right to the second order in the length of the step.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Last {
    Resting,
    Running { coil_c: f64, condenser_c: f64 },
}

impl DirectCompressor {
    /// A compressor at rest.
    pub fn new(parameters: CompressorParameters, step_s: f64) -> Result<Self, ParameterError> {
        parameters.check()?;
        let condenser = |conductance_w_k| {
            Network::new([parameters.condenser_capacity_j_k])
                .join_outside(0, conductance_w_k)
                .exact_step(step_s)
        };
        Ok(Self {
            running: condenser(parameters.condenser_running_w_k),
            resting: condenser(parameters.condenser_resting_w_k),
            condenser_c: [parameters.condenser_start_c],
            evaporating_c: parameters.condenser_start_c,
            power_w: 0.0,
            last: Last::Resting,
            parameters,
        })
    }

    fn step(&mut self, load: Load, coil_c: f64, ambient_c: f64) -> f64 {
        match load {
            Load::Off => {
                let outside_w = self.parameters.condenser_resting_w_k * ambient_c;
                self.condenser_c = self.resting.advance(&self.condenser_c, &[outside_w]);
                self.evaporating_c = coil_c;
                self.power_w = 0.0;
                self.last = Last::Resting;
                0.0
            }
            Load::Running { fraction } => self.run(fraction, coil_c, ambient_c),
        }
    }

    /// Finds the evaporating temperature at which the compressor takes what the evaporator gives,
    /// Q(Te, Tc) = G (T_coil − Te), at the middle of the step.
    fn run(&mut self, fraction: f64, coil_c: f64, ambient_c: f64) -> f64 {
        let parameters = &self.parameters;
        let [condenser_c] = self.condenser_c;
        let (midway_coil_c, midway_condenser_c, guess_c) = match self.last {
            Last::Resting => (coil_c, condenser_c, coil_c),
            Last::Running {
                coil_c: coil_was_c,
                condenser_c: condenser_was_c,
            } => (
                coil_c + 0.5 * (coil_c - coil_was_c),
                condenser_c + 0.5 * (condenser_c - condenser_was_c),
                self.evaporating_c,
            ),
        };
        let map = parameters
            .kind
            .map()
            .at_condensing(midway_condenser_c.max(parameters.lowest_condensing_c));
        let scale_w = parameters.rated_capacity_w * fraction;
        let mut evaporating_c = guess_c;
        for _ in 0..MOST_CORRECTIONS {
            let (capacity, slope) = map.capacity(evaporating_c);
            let excess_w =
                scale_w * capacity - parameters.evaporator_w_k * (midway_coil_c - evaporating_c);
            let correction_k = excess_w / (scale_w * slope + parameters.evaporator_w_k);
            evaporating_c -= correction_k;
            if correction_k.abs() < SETTLED_K {
                break;
            }
        }
        let heat_w = parameters.evaporator_w_k * (midway_coil_c - evaporating_c);
        let compressor_w = scale_w * map.power(evaporating_c);
        let rejected_w = heat_w + compressor_w + parameters.condenser_running_w_k * ambient_c;
        self.condenser_c = self.running.advance(&self.condenser_c, &[rejected_w]);
        self.evaporating_c = evaporating_c;
        self.power_w = compressor_w + fraction * parameters.condenser_fan_w;
        self.last = Last::Running {
            coil_c,
            condenser_c,
        };
        heat_w
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn settled(coil_c: f64, ambient_c: f64) -> DirectCompressor {
        let mut compressor = DirectCompressor::new(CompressorParameters::default(), 1.0).unwrap();
        for _ in 0..3_600 {
            compressor.step(Load::RATED, coil_c, ambient_c);
        }
        compressor
    }

    #[test]
    fn evaporator_and_condenser_balance_once_settled() {
        let parameters = CompressorParameters::default();
        let mut compressor = settled(-4.0, 32.0);
        let heat_w = compressor.step(Load::RATED, -4.0, 32.0);
        let map = parameters.kind.map();
        let held = map.at_condensing(compressor.condenser_c[0]);
        let capacity_w = parameters.rated_capacity_w * held.capacity(compressor.evaporating_c).0;
        assert!((heat_w - capacity_w).abs() < 1e-6, "{heat_w} {capacity_w}");
        let rejected_w = parameters.condenser_running_w_k * (compressor.condenser_c[0] - 32.0);
        let taken_w = heat_w + compressor.power_w - parameters.condenser_fan_w;
        assert!((rejected_w - taken_w).abs() < 1e-6);
        assert!((2_500.0..3_500.0).contains(&heat_w), "{heat_w} W");
    }

    #[test]
    fn a_hotter_day_raises_condensing_and_lowers_capacity() {
        let (mild, hot) = (settled(-4.0, 25.0), settled(-4.0, 43.0));
        assert!(hot.condenser_c[0] > mild.condenser_c[0] + 15.0);
        assert!(hot.evaporating_c > mild.evaporating_c);
        assert!(hot.power_w > mild.power_w);
    }

    #[test]
    fn a_coil_without_load_ends_where_the_capacity_ends() {
        let mut compressor = settled(-4.0, 25.0);
        // The first step still foresees that the coil goes on falling.
        compressor.step(Load::RATED, -90.0, 25.0);
        let heat_w = compressor.step(Load::RATED, -90.0, 25.0);
        assert!(heat_w.abs() < 1e-9, "{heat_w} W");
        assert!((compressor.evaporating_c + 90.0).abs() < 1e-9);
    }

    #[test]
    fn at_rest_nothing_is_drawn_and_the_condenser_cools() {
        let mut compressor = settled(-4.0, 25.0);
        for _ in 0..7_200 {
            assert_eq!(compressor.step(Load::Off, -2.0, 25.0), 0.0);
        }
        assert_eq!(compressor.power_w, 0.0);
        assert_eq!(compressor.evaporating_c, -2.0);
        assert!((compressor.condenser_c[0] - 25.0).abs() < 1e-6);
    }
}
