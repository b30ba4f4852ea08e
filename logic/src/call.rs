//! Does the space call?
//!
//! ```text
//!  cool:  satisfied <= setpoint ........ setpoint + differential <= calls
//!  heat:  calls <= setpoint - differential ........ setpoint <= satisfied
//! ```
//!
//! Between the two the last answer stands. This is the elementary two-state
//! relay of hysteresis theory.

use crate::units::Temperature;

/// Whether the space asks for cooling or heat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Call {
    /// The space asks for the load to run.
    Calling,
    /// The space has what it asked for.
    Satisfied,
}

/// Which way the load moves the temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Mode {
    /// The load takes heat out: it runs above the setpoint.
    Cool,
    /// The load brings heat in: it runs below the setpoint.
    Heat,
}

/// The two temperatures at which the call changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Band {
    /// Which way the load works.
    pub mode: Mode,
    /// The call begins here.
    pub cut_in: Temperature,
    /// The call ends here.
    pub cut_out: Temperature,
}

impl Call {
    /// Satisfied, as before the first crossing after power-up.
    pub const AT_POWER_UP: Self = Self::Satisfied;

    /// The answer at `temperature`, given that this was the last one.
    #[must_use]
    pub fn judged(self, temperature: Temperature, band: Band) -> Self {
        let (begins, ends) = match band.mode {
            Mode::Cool => (temperature >= band.cut_in, temperature <= band.cut_out),
            Mode::Heat => (temperature <= band.cut_in, temperature >= band.cut_out),
        };
        match (ends, begins) {
            (true, _) => Self::Satisfied,
            (false, true) => Self::Calling,
            (false, false) => self,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(millicelsius: i32) -> Temperature {
        Temperature::from_millicelsius(millicelsius)
    }

    #[test]
    fn cooling_calls_at_cut_in_and_is_satisfied_at_setpoint() {
        let band = Band {
            mode: Mode::Cool,
            cut_in: at(4_000),
            cut_out: at(2_000),
        };
        assert_eq!(Call::Satisfied.judged(at(3_999), band), Call::Satisfied);
        assert_eq!(Call::Satisfied.judged(at(4_000), band), Call::Calling);
        assert_eq!(Call::Calling.judged(at(2_001), band), Call::Calling);
        assert_eq!(Call::Calling.judged(at(2_000), band), Call::Satisfied);
    }

    #[test]
    fn heating_is_the_mirror_image() {
        let band = Band {
            mode: Mode::Heat,
            cut_in: at(-4_000),
            cut_out: at(-2_000),
        };
        assert_eq!(Call::Satisfied.judged(at(-3_999), band), Call::Satisfied);
        assert_eq!(Call::Satisfied.judged(at(-4_000), band), Call::Calling);
        assert_eq!(Call::Calling.judged(at(-2_001), band), Call::Calling);
        assert_eq!(Call::Calling.judged(at(-2_000), band), Call::Satisfied);
    }
}
