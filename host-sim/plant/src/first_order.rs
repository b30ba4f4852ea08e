//! The simplest plant: one time constant, one asymptote with the load on and one with it off.
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

    /// Where the temperature tends under this load, °C.
    fn settled_c(&self, load: Load) -> f64 {
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

    /// t = τ ln((T − T∞) / (T_target − T∞))
    #[test]
    fn a_crossing_is_where_the_closed_form_says() {
        let mut plant = FirstOrder::new(FirstOrderParameters::default(), 0.5).unwrap();
        let expected_s = 1_800.0 * ((10.0 + 15.0_f64) / (2.0 + 15.0)).ln();
        let mut elapsed_s = 0.0;
        while plant.probe_site_c() > 2.0 {
            plant.step(Load::RATED);
            elapsed_s += 0.5;
        }
        assert!((0.0..=0.5).contains(&(elapsed_s - expected_s)));
    }
}
