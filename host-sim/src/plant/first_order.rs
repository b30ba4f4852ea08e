//! The plant of the textbooks: one time constant, one asymptote with the load on and one with it off.
//!
//! Its switching instants are known in closed form, so it serves as a check and as
//! a reference problem; it has no heat flows and no weather.

use super::parameter::{ParameterError, STEP, parameters};
use super::quantity::Quantity;
use super::surroundings::Load;

parameters! {
    /// A time constant and two asymptotes.
    pub struct FirstOrderParameters {
        /// Time constant.
        time_constant_s = 1_800.0, "s", 1e-3..=1e9;
        /// Where the temperature tends with the load running at its rating.
        settled_on_c = -15.0, "°C", -300.0..=1e4;
        /// Where the temperature tends with the load off.
        settled_off_c = 25.0, "°C", -300.0..=1e4;
        /// Temperature at the start.
        start_c = 10.0, "°C", -300.0..=1e4;
    }
}

/// A first-order plant at work.
#[derive(Debug, Clone, PartialEq)]
pub struct FirstOrder {
    parameters: FirstOrderParameters,
    kept: f64,
    at_c: f64,
}

impl FirstOrder {
    /// A first-order plant stepped by `step_s` seconds.
    pub fn new(parameters: FirstOrderParameters, step_s: f64) -> Result<Self, ParameterError> {
        parameters.check()?;
        STEP.check(step_s)?;
        Ok(Self {
            kept: (-step_s / parameters.time_constant_s).exp(),
            at_c: parameters.start_c,
            parameters,
        })
    }

    /// Goes one step on.
    pub fn step(&mut self, load: Load) {
        let settled_c = self.settled_c(load);
        self.at_c = settled_c + (self.at_c - settled_c) * self.kept;
    }

    /// Goes on by any length of time, in s; the same motion as [`Self::step`], at the price of an exponential.
    pub fn go_on_by(&mut self, elapsed_s: f64, load: Load) {
        let settled_c = self.settled_c(load);
        let kept = (-elapsed_s / self.parameters.time_constant_s).exp();
        self.at_c = settled_c + (self.at_c - settled_c) * kept;
    }

    /// Where the temperature tends under this load, °C.
    #[must_use]
    pub fn settled_c(&self, load: Load) -> f64 {
        let FirstOrderParameters {
            settled_on_c,
            settled_off_c,
            ..
        } = self.parameters;
        match load {
            Load::Off => settled_off_c,
            Load::Running { fraction } => settled_off_c + fraction * (settled_on_c - settled_off_c),
        }
    }

    /// Seconds from now until this temperature is reached under this load, if it ever is.
    ///
    /// t = τ ln((T − T∞) / (T_target − T∞)).
    #[must_use]
    pub fn seconds_until(&self, target_c: f64, load: Load) -> Option<f64> {
        let settled_c = self.settled_c(load);
        let ratio = (self.at_c - settled_c) / (target_c - settled_c);
        (ratio >= 1.0 && ratio.is_finite()).then(|| self.parameters.time_constant_s * ratio.ln())
    }

    /// Temperature at the control's probe, °C.
    #[must_use]
    pub const fn probe_site_c(&self) -> f64 {
        self.at_c
    }

    /// What can be read.
    pub const QUANTITIES: &'static [Quantity] = &[Quantity::Reference];

    /// Reads one quantity, if this plant has it.
    #[must_use]
    pub fn quantity(&self, quantity: Quantity) -> Option<f64> {
        (quantity == Quantity::Reference).then_some(self.at_c)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_crossing_is_where_the_steps_say_and_beyond_the_asymptote_there_is_none() {
        let mut plant = FirstOrder::new(FirstOrderParameters::default(), 0.5).unwrap();
        let expected_s = plant.seconds_until(2.0, Load::RATED).unwrap();
        assert_eq!(plant.seconds_until(-16.0, Load::RATED), None);
        assert_eq!(plant.seconds_until(-15.0, Load::RATED), None);
        assert_eq!(plant.seconds_until(9.0, Load::Off), None);
        let mut elapsed_s = 0.0;
        while plant.probe_site_c() > 2.0 {
            plant.step(Load::RATED);
            elapsed_s += 0.5;
        }
        assert!((0.0..=0.5).contains(&(elapsed_s - expected_s)));
    }
}
