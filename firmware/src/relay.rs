//! The relay's drive: released until the first decision says otherwise.
//!
//! The pin is high-impedance in reset, so the board holds it down with a
//! resistor; see the wiring table in README.

use embedded_hal::digital::OutputPin;
use hysteron_logic::guard::Relay;

/// Drives the relay's coil.
#[derive(Debug)]
pub struct RelayDrive<P> {
    pin: P,
    driven: Relay,
}

impl<P: OutputPin> RelayDrive<P> {
    /// Takes the pin and releases the relay.
    ///
    /// A pin that cannot be driven is told by the first [`RelayDrive::drive`].
    pub fn released(mut pin: P) -> Self {
        let _ = pin.set_low();
        Self {
            pin,
            driven: Relay::Open,
        }
    }

    /// What the coil was last driven to.
    pub const fn driven(&self) -> Relay {
        self.driven
    }

    /// Drives the coil. Called in every pass, so a disturbed pin is set right.
    ///
    /// # Errors
    ///
    /// The pin's error; the pass must not feed the watchdog then.
    pub fn drive(&mut self, relay: Relay) -> Result<(), P::Error> {
        self.driven = relay;
        match relay {
            Relay::Open => self.pin.set_low(),
            Relay::Closed => self.pin.set_high(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_hal_mock::eh1::MockError;
    use embedded_hal_mock::eh1::digital::{Mock, State, Transaction};

    #[test]
    fn released_first_and_driven_in_every_pass() {
        let mut pin = Mock::new(&[
            Transaction::set(State::Low),
            Transaction::set(State::High),
            Transaction::set(State::High),
            Transaction::set(State::Low),
        ]);
        let mut drive = RelayDrive::released(pin.clone());
        drive.drive(Relay::Closed).unwrap();
        drive.drive(Relay::Closed).unwrap();
        drive.drive(Relay::Open).unwrap();
        pin.done();
    }

    #[test]
    fn a_pin_that_fails_is_told() {
        let failed = MockError::Io(std::io::ErrorKind::Other);
        let mut pin = Mock::new(&[
            Transaction::set(State::Low),
            Transaction::set(State::High).with_error(failed),
        ]);
        let mut drive = RelayDrive::released(pin.clone());
        assert!(drive.drive(Relay::Closed).is_err());
        pin.done();
    }
}
