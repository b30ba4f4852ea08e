//! Loads: what a contact is there to switch.

use nalgebra::Complex;

/// The work a motor does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Duty {
    /// Compresses refrigerant.
    Compressor,
    /// Moves air over the condenser.
    CondenserFan,
    /// Moves air over the evaporator.
    EvaporatorFan,
}

/// A single-phase motor.
#[derive(Debug, Clone, PartialEq)]
pub struct Motor {
    /// The work it does.
    pub duty: Duty,
    /// Rated voltage, in volts.
    pub rated_v: f64,
    /// Current at rated voltage and load, in amperes.
    pub running_a: f64,
    /// Current at rated voltage with the rotor held, in amperes.
    pub locked_rotor_a: f64,
    /// Power factor when running.
    pub power_factor: f64,
}

/// What an electromagnet moves.
#[derive(Debug, Clone, PartialEq)]
pub struct Coil {
    /// Rated voltage, in volts.
    pub rated_v: f64,
    /// Apparent power with the armature seated, in volt-amperes.
    pub sealed_va: f64,
    /// Apparent power before the armature has moved, in volt-amperes.
    pub inrush_va: f64,
    /// Power factor with the armature seated.
    pub power_factor: f64,
    /// Pulls in at this fraction of the rated voltage and above.
    pub pull_in_fraction: f64,
    /// Lets go below this fraction of the rated voltage.
    pub drop_out_fraction: f64,
}

/// A heater or a lamp.
#[derive(Debug, Clone, PartialEq)]
pub struct Resistance {
    /// Rated voltage, in volts.
    pub rated_v: f64,
    /// Power at rated voltage, in watts.
    pub power_w: f64,
}

/// Whether a load has settled into its work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Phase {
    /// Turning, seated or warm.
    Running,
    /// Rotor still standing, armature still open.
    Starting,
}

/// Power factor of a motor whose rotor stands still (from memory: 0.4 to 0.8 for
/// single-phase motors of a few horsepower and less).
const LOCKED_ROTOR_POWER_FACTOR: f64 = 0.6;

/// Power factor of a coil whose armature is open (from memory).
const INRUSH_POWER_FACTOR: f64 = 0.6;

/// The impedance that draws this apparent power, lagging, at this voltage.
#[must_use]
pub fn lagging_ohm(rated_v: f64, apparent_va: f64, power_factor: f64) -> Complex<f64> {
    let magnitude = rated_v * rated_v / apparent_va;
    let reactive = (1.0 - power_factor * power_factor).max(0.0).sqrt();
    Complex::new(magnitude * power_factor, magnitude * reactive)
}

impl Motor {
    /// Below this fraction of its rated voltage a loaded motor stalls (motors are made for ten
    /// percent less than their rated voltage, NEMA MG 1, from memory; that they stall somewhat
    /// below is common practice).
    pub const STALL_FRACTION: f64 = 0.75;

    /// Winding impedance, in ohms.
    #[must_use]
    pub fn ohm(&self, phase: Phase) -> Complex<f64> {
        match phase {
            Phase::Running => lagging_ohm(
                self.rated_v,
                self.rated_v * self.running_a,
                self.power_factor,
            ),
            Phase::Starting => lagging_ohm(
                self.rated_v,
                self.rated_v * self.locked_rotor_a,
                LOCKED_ROTOR_POWER_FACTOR,
            ),
        }
    }
}

impl Coil {
    /// Winding impedance, in ohms.
    #[must_use]
    pub fn ohm(&self, phase: Phase) -> Complex<f64> {
        match phase {
            Phase::Running => lagging_ohm(self.rated_v, self.sealed_va, self.power_factor),
            Phase::Starting => lagging_ohm(self.rated_v, self.inrush_va, INRUSH_POWER_FACTOR),
        }
    }
}

impl Resistance {
    /// Resistance when hot, in ohms.
    #[must_use]
    pub fn ohm(&self) -> f64 {
        self.rated_v * self.rated_v / self.power_w
    }
}

/// How a load fares at the voltage it gets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Supplied {
    /// Less than a fifth of its rated voltage: it does nothing.
    Off,
    /// Something, but too little to work on: a motor stalls, a coil hums.
    Low,
    /// Within what it works on.
    Right,
    /// More than a tenth above its rated voltage.
    High,
}

impl Supplied {
    /// Judges a voltage, as a fraction of the rated one, against the least the load works on.
    #[must_use]
    pub fn of(fraction: f64, least_fraction: f64) -> Self {
        if fraction < 0.2 {
            Self::Off
        } else if fraction < least_fraction {
            Self::Low
        } else if fraction <= 1.1 {
            Self::Right
        } else {
            Self::High
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_motor_draws_what_its_plate_says() {
        let motor = Motor {
            duty: Duty::Compressor,
            rated_v: 120.0,
            running_a: 9.8,
            locked_rotor_a: 58.8,
            power_factor: 0.7,
        };
        let running = Complex::from(120.0) / motor.ohm(Phase::Running);
        assert!((running.norm() - 9.8).abs() < 1e-9);
        assert!((running.re - 9.8 * 0.7).abs() < 1e-9 && running.im < 0.0);
        let starting = Complex::from(120.0) / motor.ohm(Phase::Starting);
        assert!((starting.norm() - 58.8).abs() < 1e-9);
    }

    #[test]
    fn too_little_voltage_is_told_from_none_and_from_too_much() {
        let judged: Vec<Supplied> = [0.0, 0.5, 1.0, 1.2]
            .map(|fraction| Supplied::of(fraction, 0.85))
            .into();
        assert_eq!(
            judged,
            [
                Supplied::Off,
                Supplied::Low,
                Supplied::Right,
                Supplied::High
            ]
        );
    }
}
