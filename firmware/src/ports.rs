//! What a board must give.
//!
//! Pins, the bus and delays are embedded-hal's traits; what it has no trait
//! for is declared here. A board's file gathers them in [`Ports`] and hands
//! them to a [`crate::pass::Pass`]; fake ones do as well as real ones.

use embedded_hal::delay::DelayNs;
use embedded_hal::digital::{InputPin, OutputPin};
use embedded_hal::i2c::I2c;

/// A 12-bit converter whose reference also feeds the probe's divider.
pub trait Converter {
    /// One conversion, 0 to 4095; `None` if the converter reports that it failed.
    fn convert(&mut self) -> Option<u16>;
}

/// A free-running counter of microseconds.
pub trait MicrosecondCounter {
    /// Microseconds so far; wraps from `u32::MAX` to zero.
    fn micros(&mut self) -> u32;
}

/// Resets the board unless it is fed at least once a second.
pub trait Watchdog {
    /// Grants the board another period.
    fn feed(&mut self);
}

/// Whether the load side of the relay's contact has its voltage.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LoadSide {
    /// It has.
    Live,
    /// It has not.
    Dead,
    /// The input says nothing that can be trusted.
    Unknown,
}

/// An isolated input that watches the load side of the relay's contact.
pub trait ContactFeedback {
    /// What it has shown over the last half-waves. Called once a pass; never waits.
    ///
    /// An answer tells of the last 50 ms, so one that comes sooner than
    /// [`crate::pass::SETTLE_MICROS`] after the contact was moved tells nothing.
    fn look(&mut self) -> LoadSide;
}

/// A serial line for reading the board out and for changing its settings.
pub trait ServiceLine {
    /// The next received byte, if there is one. Never waits.
    fn receive(&mut self) -> Option<u8>;
    /// Takes `byte` for sending, or hands it back while there is no room. Never waits.
    ///
    /// # Errors
    ///
    /// The byte itself, to be offered again later.
    fn send(&mut self, byte: u8) -> Result<(), u8>;
}

/// Why the board started.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(all(feature = "log", target_os = "none"), derive(defmt::Format))]
pub enum StartCause {
    /// Power came, or came back after a brown-out.
    Power,
    /// The reset input was pulled, or a debug probe asked for a start.
    ResetInput,
    /// The watchdog was not fed in time.
    Watchdog,
}

/// The kinds of part a board is made of.
pub trait Board {
    /// Reads the probe.
    type Probe: Converter;
    /// High closes the relay.
    type Relay: OutputPin;
    /// Watches the load side of the relay's contact.
    type Feedback: ContactFeedback;
    /// Low while the lock's jumper is fitted, which unlocks.
    type Lock: InputPin;
    /// Low while the reset button is held.
    type Button: InputPin;
    /// High lights the status light.
    type Light: OutputPin;
    /// High sounds the buzzer.
    type Buzzer: OutputPin;
    /// The bus with the memory on it.
    type Bus: I2c;
    /// Waits for the memory.
    type Delay: DelayNs;
    /// Tells the time.
    type Counter: MicrosecondCounter;
    /// Watches over the passes.
    type Watchdog: Watchdog;
    /// Talks to a person's computer.
    type Service: ServiceLine;
}

/// Every part of a board, ready for use and with the relay released.
pub struct Ports<B: Board> {
    /// Reads the probe.
    pub probe: B::Probe,
    /// Drives the relay.
    pub relay: B::Relay,
    /// Tells whether the contact conducts; `None` on a board without it.
    pub feedback: Option<B::Feedback>,
    /// Tells whether settings are locked.
    pub lock: B::Lock,
    /// Asks for a manual reset.
    pub button: B::Button,
    /// The status light.
    pub light: B::Light,
    /// The buzzer.
    pub buzzer: B::Buzzer,
    /// The bus with the memory on it.
    pub bus: B::Bus,
    /// Waits for the memory.
    pub delay: B::Delay,
    /// Tells the time.
    pub counter: B::Counter,
    /// What the counter stood at when the beat of the passes began: power-up, to the control.
    pub first_micros: u32,
    /// Watches over the passes.
    pub watchdog: B::Watchdog,
    /// Talks to a person's computer.
    pub service: B::Service,
    /// Why the board started.
    pub start_cause: StartCause,
}
