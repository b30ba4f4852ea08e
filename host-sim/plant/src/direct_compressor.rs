//! A compressor that is the switched load itself, with its condenser.
//!
//! It runs exactly while it is energised. Evaporator and compressor balance in every step.

use super::coil::CoilOverStep;
use super::compressor::{CompressorMap, HeldCondensing};
use super::compressor_parameters::CompressorParameters;
use super::extrapolation::middle_of_next;
use super::network::{ExactStep, ThermalNetwork, taken_at};
use super::parameter::ParameterError;
use super::refrigerant::Refrigerant;
use super::surroundings::{FanSupply, Load, Surroundings};

/// One correction of the last step's evaporating temperature will do where it is smaller than this:
/// Newton's method squares the error, and what is left is below a hundred-thousandth of a kelvin.
const SETTLED_K: f64 = 0.05;

/// Where it won't do, the balance is found to this.
const EXACT_K: f64 = 1e-9;

/// Most corrections then: halving alone would bring 200 K below [`EXACT_K`] in 38.
const MOST_CORRECTIONS: u32 = 100;

/// A compressor that runs while energised, with its condenser.
#[derive(Debug, Clone)]
pub struct DirectCompressor {
    parameters: CompressorParameters,
    map: &'static CompressorMap,
    running: ExactStep<1>,
    resting: ExactStep<1>,
    condenser_c: [f64; 1],
    evaporating_c: f64,
    power_w: f64,
    series: Series,
    ahead: Ahead,
    last: Last,
}

/// The evaporator, and the coil's own answer to the heat drawn, as two resistances in series.
///
/// The coil's temperature that counts is that at the middle of the step, which depends on the heat.
/// Held from step to step, since a coil has one answer while its fan runs and one while it stands.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Series {
    response_k_w: f64,
    taken_at: f64,
    conductance_w_k: f64,
}

impl Series {
    fn of(evaporator_w_k: f64, response_k_w: f64) -> Self {
        let taken_at = taken_at(evaporator_w_k, response_k_w);
        Self {
            response_k_w,
            taken_at,
            conductance_w_k: 1.0 / (1.0 / evaporator_w_k + taken_at * response_k_w),
        }
    }
}

/// What the last step leaves for this one.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Last {
    Resting,
    Running(Ran),
}

/// Where a step began whose trend tells of the steps after it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Ran {
    condenser_c: f64,
    /// By how much the condenser rose in the step before.
    risen_k: f64,
    /// Evaporating temperature of the step before.
    evaporating_c: f64,
}

impl DirectCompressor {
    /// A compressor at rest.
    ///
    /// # Errors
    /// A number out of its range.
    pub fn new(parameters: CompressorParameters, step_s: f64) -> Result<Self, ParameterError> {
        parameters.check()?;
        let condenser = |conductance_w_k| {
            ThermalNetwork::new([parameters.condenser_capacity_j_k])
                .join_outside(0, conductance_w_k)
                .exact_step(step_s)
        };
        let series = Series::of(parameters.evaporator_w_k, 0.0);
        let map = parameters.kind.map();
        let nothing = Balance {
            map: map.at_condensing(parameters.condenser_start_c),
            scale_w: 0.0,
            conductance_w_k: series.conductance_w_k,
        };
        Ok(Self {
            ahead: Ahead {
                fraction: 0.0,
                guess_c: parameters.condenser_start_c,
                balance: nothing,
                at_zero_c: 0.0,
                slope: 0.0,
            },
            running: condenser(parameters.condenser_running_w_k),
            resting: condenser(parameters.condenser_resting_w_k),
            condenser_c: [parameters.condenser_start_c],
            evaporating_c: parameters.condenser_start_c,
            power_w: 0.0,
            series,
            last: Last::Resting,
            map,
            parameters,
        })
    }

    /// Electrical power over the last step, its condenser's fan included, in W.
    #[must_use]
    pub const fn power_w(&self) -> f64 {
        self.power_w
    }

    /// Saturated suction temperature, °C: the coil's own at rest.
    #[must_use]
    pub const fn evaporating_c(&self) -> f64 {
        self.evaporating_c
    }

    /// Temperature of the condenser, °C.
    #[must_use]
    pub const fn condensing_c(&self) -> f64 {
        self.condenser_c[0]
    }

    /// What circulates.
    #[must_use]
    pub const fn refrigerant(&self) -> Refrigerant {
        self.parameters.refrigerant
    }

    #[inline]
    pub(super) fn step(
        &mut self,
        load: Load,
        coil: CoilOverStep,
        surroundings: &Surroundings,
    ) -> f64 {
        match load {
            Load::Off => {
                let outside_w = self.parameters.condenser_resting_w_k * surroundings.ambient_c;
                self.condenser_c = self.resting.advance(&self.condenser_c, &[outside_w]);
                self.evaporating_c = coil.undrawn_to_c;
                self.power_w = 0.0;
                self.last = Last::Resting;
                0.0
            }
            Load::Running { fraction } => self.run(fraction, coil, surroundings),
        }
    }

    /// Finds the evaporating temperature at which the compressor takes what the evaporator gives,
    /// Q(Te, Tc) = G (T_coil − Te).
    #[inline]
    fn run(&mut self, fraction: f64, coil: CoilOverStep, surroundings: &Surroundings) -> f64 {
        if coil.response_k_w != self.series.response_k_w {
            self.series = Series::of(self.parameters.evaporator_w_k, coil.response_k_w);
        }
        let Series {
            taken_at,
            conductance_w_k,
            ..
        } = self.series;
        let [condenser_c] = self.condenser_c;
        let last = match self.last {
            Last::Running(last) if self.ahead.is_for(fraction, conductance_w_k) => last,
            Last::Running(last) => {
                let midway_c = condenser_c + 0.5 * (condenser_c - last.condenser_c);
                self.look_ahead(fraction, midway_c, self.evaporating_c);
                last
            }
            Last::Resting => {
                self.look_ahead(fraction, condenser_c, coil.from_c);
                Ran {
                    condenser_c,
                    risen_k: 0.0,
                    evaporating_c: coil.from_c,
                }
            }
        };
        let (parameters, ahead) = (&self.parameters, &self.ahead);
        let undrawn_c = coil.from_c + taken_at * (coil.undrawn_to_c - coil.from_c);
        let corrected_c = ahead.corrected_c(undrawn_c);
        let evaporating_c = if (corrected_c - ahead.guess_c).abs() < SETTLED_K {
            corrected_c
        } else {
            ahead.balance.bracketed_c(undrawn_c)
        };
        let heat_w = conductance_w_k * (undrawn_c - evaporating_c);
        let compressor_w = ahead.balance.scale_w * ahead.balance.map.power(evaporating_c);
        let (condenser, condenser_w_k, fan_w) = match surroundings.condenser_fan {
            FanSupply::Energised => (
                &self.running,
                parameters.condenser_running_w_k,
                fraction * parameters.condenser_fan_w,
            ),
            FanSupply::Dead => (&self.resting, parameters.condenser_resting_w_k, 0.0),
        };
        let rejected_w = heat_w + compressor_w + condenser_w_k * surroundings.ambient_c;
        self.condenser_c = condenser.advance(&self.condenser_c, &[rejected_w]);
        self.power_w = compressor_w + fan_w;
        // Extrapolated from the last three beginnings, so that nothing waits for the end of this one.
        let risen_k = condenser_c - last.condenser_c;
        let midway_c = middle_of_next(condenser_c, risen_k, last.risen_k);
        let guess_c = self.evaporating_c + 2.0 * (self.evaporating_c - last.evaporating_c);
        self.last = Last::Running(Ran {
            condenser_c,
            risen_k,
            evaporating_c: self.evaporating_c,
        });
        self.evaporating_c = evaporating_c;
        self.look_ahead(fraction, midway_c, guess_c);
        heat_w
    }

    /// Works out what a step begins with when its condenser is at `midway_c` and its evaporator
    /// near `guess_c`.
    #[inline]
    fn look_ahead(&mut self, fraction: f64, midway_c: f64, guess_c: f64) {
        let parameters = &self.parameters;
        let condensing_c = midway_c.max(parameters.lowest_condensing_c);
        let balance = &mut self.ahead.balance;
        balance.map = self.map.at_condensing(condensing_c);
        balance.scale_w = parameters.rated_capacity_w * fraction;
        balance.conductance_w_k = self.series.conductance_w_k;
        self.ahead.fraction = fraction;
        self.ahead.guess(guess_c);
    }
}

/// What of a step is known before it begins.
///
/// A processor works it out while it waits for the rest of the bench.
#[derive(Debug, Clone)]
struct Ahead {
    fraction: f64,
    guess_c: f64,
    balance: Balance,
    /// Newton's correction to the guess is a straight line over the undrawn temperature of the coil:
    /// its value at 0 °C, and its slope.
    at_zero_c: f64,
    slope: f64,
}

impl Ahead {
    #[inline]
    fn guess(&mut self, guess_c: f64) {
        let Balance {
            map,
            scale_w,
            conductance_w_k,
        } = &self.balance;
        let (capacity, slope) = map.capacity(guess_c);
        let per_watt = 1.0 / (scale_w * slope + conductance_w_k);
        let drawn_w = conductance_w_k * guess_c + scale_w * capacity;
        self.at_zero_c = guess_c - per_watt * drawn_w;
        self.slope = per_watt * conductance_w_k;
        self.guess_c = guess_c;
    }

    fn is_for(&self, fraction: f64, conductance_w_k: f64) -> bool {
        self.fraction == fraction && self.balance.conductance_w_k == conductance_w_k
    }

    fn corrected_c(&self, undrawn_c: f64) -> f64 {
        self.at_zero_c + self.slope * undrawn_c
    }
}

/// What the evaporating temperature has to balance: capacity against what the coil gives.
#[derive(Debug, Clone)]
struct Balance {
    map: HeldCondensing,
    scale_w: f64,
    conductance_w_k: f64,
}

impl Balance {
    /// Newton's correction to this evaporating temperature, K.
    fn correction_k(&self, undrawn_c: f64, evaporating_c: f64) -> f64 {
        let (capacity, slope) = self.map.capacity(evaporating_c);
        let given_w = self.conductance_w_k * (undrawn_c - evaporating_c);
        (given_w - self.scale_w * capacity) / (self.scale_w * slope + self.conductance_w_k)
    }

    /// The balance from nothing known: Newton's method, halving where it would leave the bracket.
    ///
    /// Capacity has corners at the ends of the map, between which Newton's method alone can
    /// go to and fro for ever.
    #[cold]
    fn bracketed_c(&self, undrawn_c: f64) -> f64 {
        let mut high_c = undrawn_c;
        let mut low_c = self.map.ends_at_c().min(high_c);
        let mut evaporating_c = high_c;
        for _ in 0..MOST_CORRECTIONS {
            let correction_k = self.correction_k(undrawn_c, evaporating_c);
            if correction_k > 0.0 {
                low_c = evaporating_c;
            } else {
                high_c = evaporating_c;
            }
            let corrected_c = evaporating_c + correction_k;
            let next_c = if (low_c..=high_c).contains(&corrected_c) {
                corrected_c
            } else {
                low_c + 0.5 * (high_c - low_c)
            };
            if (next_c - evaporating_c).abs() < EXACT_K {
                return next_c;
            }
            evaporating_c = next_c;
        }
        evaporating_c
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A coil that something holds at this temperature.
    fn held(coil_c: f64) -> CoilOverStep {
        CoilOverStep {
            from_c: coil_c,
            undrawn_to_c: coil_c,
            response_k_w: 0.0,
        }
    }

    fn around(ambient_c: f64) -> Surroundings {
        Surroundings {
            ambient_c,
            ..Surroundings::default()
        }
    }

    fn settled(coil_c: f64, ambient_c: f64) -> DirectCompressor {
        let mut compressor = DirectCompressor::new(CompressorParameters::default(), 1.0).unwrap();
        for _ in 0..3_600 {
            compressor.step(Load::RATED, held(coil_c), &around(ambient_c));
        }
        compressor
    }

    #[test]
    fn evaporator_and_condenser_balance_once_settled() {
        let parameters = CompressorParameters::default();
        let mut compressor = settled(-4.0, 32.0);
        let heat_w = compressor.step(Load::RATED, held(-4.0), &around(32.0));
        let map = parameters.kind.map();
        let at_condenser = map.at_condensing(compressor.condenser_c[0]);
        let capacity_w =
            parameters.rated_capacity_w * at_condenser.capacity(compressor.evaporating_c).0;
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
        let heat_w = compressor.step(Load::RATED, held(-90.0), &around(25.0));
        assert!(heat_w.abs() < 1e-9, "{heat_w} W");
        assert!((compressor.evaporating_c + 90.0).abs() < 1e-9);
    }

    #[test]
    fn at_rest_nothing_is_drawn_and_the_condenser_cools() {
        let mut compressor = settled(-4.0, 25.0);
        for _ in 0..7_200 {
            assert_eq!(compressor.step(Load::Off, held(-2.0), &around(25.0)), 0.0);
        }
        assert_eq!(compressor.power_w, 0.0);
        assert_eq!(compressor.evaporating_c, -2.0);
        assert!((compressor.condenser_c[0] - 25.0).abs() < 1e-6);
    }
}
