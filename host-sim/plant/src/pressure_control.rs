//! Pressure controls: switches that follow a pressure between two settings.
//!
//! A low-pressure control closes at its cut-in on rising and opens at its cut-out on falling pressure. In a
//! pump-down system its contact starts and stops the compressor; the relay switches the
//! liquid-line valve only.
//!
//! A high-pressure control is the other way round: it opens when head pressure has risen too
//! far, which a condenser without its fan is soon to do.
//!
//! Pressures are absolute. Gauges and the dials of such controls read gauge pressure,
//! which at sea level is 101.325 kPa less.

use super::parameter::{ParameterError, parameters};

/// Where a pressure control's contact stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PressureContact {
    /// Open: what it feeds rests.
    Open,
    /// Closed: what it feeds may run.
    Closed,
}

parameters! {
    /// Settings of a low-pressure control, absolute.
    ///
    /// Defaults: R-134a in a walk-in cooler, cut-in at −9 °C and cut-out at −23 °C of
    /// saturation. Common practice: cut-in below the pressure at the coldest coil that has to
    /// start, cut-out above the vacuum, both below the pressure of ordinary running.
    pub struct PressureControlParameters {
        /// The contact closes when the suction pressure has risen to this.
        cut_in_kpa = 208.0, "kPa", 5.0..=2_500.0;
        /// The contact opens when the suction pressure has fallen to this.
        cut_out_kpa = 116.0, "kPa", 5.0..=2_500.0;
    }
}

/// A low-pressure control at work.
#[derive(Debug, Clone)]
pub struct PressureControl {
    parameters: PressureControlParameters,
    contact: PressureContact,
}

impl PressureControl {
    /// A control whose contact is open until the pressure reaches the cut-in.
    ///
    /// # Errors
    /// A setting out of its range, or a cut-out that is not below the cut-in.
    pub fn new(parameters: PressureControlParameters) -> Result<Self, ParameterError> {
        parameters.check()?;
        if parameters.cut_out_kpa >= parameters.cut_in_kpa {
            return Err(ParameterError::Impossible {
                reason: "cut_out_kpa has to lie below cut_in_kpa",
            });
        }
        Ok(Self {
            parameters,
            contact: PressureContact::Open,
        })
    }

    /// Follows the suction pressure, kPa absolute.
    #[inline]
    pub fn feel(&mut self, suction_kpa: f64) {
        if suction_kpa >= self.parameters.cut_in_kpa {
            self.contact = PressureContact::Closed;
        } else if suction_kpa <= self.parameters.cut_out_kpa {
            self.contact = PressureContact::Open;
        }
    }

    /// Where its contact stands.
    #[must_use]
    pub const fn contact(&self) -> PressureContact {
        self.contact
    }

    /// What it is set to.
    #[must_use]
    pub const fn parameters(&self) -> &PressureControlParameters {
        &self.parameters
    }
}

/// A high-pressure control with automatic reset, set by condensing temperature, so that its
/// settings suit every refrigerant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HighPressureControl(PressureContact);

impl HighPressureControl {
    /// It opens at this condensing temperature, °C (from memory: some 1,600 kPa gauge for
    /// R-134a, well above the hottest day's running).
    pub const OPENS_C: f64 = 60.0;

    /// It closes again at this one, °C (from memory: a fixed differential of some 350 kPa).
    pub const CLOSES_C: f64 = 50.0;

    /// A control whose contact is closed.
    #[must_use]
    pub const fn closed() -> Self {
        Self(PressureContact::Closed)
    }

    /// Follows the condensing temperature, °C, and tells where the contact stands then.
    #[inline]
    pub fn feel(&mut self, condensing_c: f64) -> PressureContact {
        if condensing_c >= Self::OPENS_C {
            self.0 = PressureContact::Open;
        } else if condensing_c <= Self::CLOSES_C {
            self.0 = PressureContact::Closed;
        }
        self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn between_the_settings_the_contact_stays_where_it_is() {
        let mut control = PressureControl::new(PressureControlParameters::default()).unwrap();
        let contacts = [150.0, 207.9, 208.0, 150.0, 116.1, 116.0, 150.0, 300.0].map(|kpa| {
            control.feel(kpa);
            control.contact()
        });
        use PressureContact::{Closed, Open};
        assert_eq!(
            contacts,
            [Open, Open, Closed, Closed, Closed, Open, Open, Closed]
        );
    }

    #[test]
    fn settings_that_leave_no_span_are_refused() {
        for cut_out_kpa in [208.0, 300.0] {
            let parameters = PressureControlParameters {
                cut_out_kpa,
                ..PressureControlParameters::default()
            };
            assert!(matches!(
                PressureControl::new(parameters),
                Err(ParameterError::Impossible { .. })
            ));
        }
    }
}
