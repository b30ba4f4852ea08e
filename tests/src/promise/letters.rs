//! The alphabet of an exhaustive walk.

use hysteron_logic::control::SettingsLock;

use super::happening::Store;

/// What the contact's feedback says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Contact {
    /// What the coil says.
    Follows,
    /// Closed, whatever the coil says.
    Welded,
    /// Open, whatever the coil says: there is no voltage.
    Dead,
}

/// One letter of the alphabet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Letter {
    /// A step.
    Step {
        /// How much time truly passes.
        true_ms: u32,
        /// How far the board's clock moves.
        told_ms: i32,
        /// What the probe reads: thousandths of a degree, or a broken lead.
        reads: Option<i32>,
        /// What a person says: settings by their number, or another command.
        command: Option<Said>,
        /// The settings lock.
        lock: SettingsLock,
        /// The contact.
        contact: Contact,
    },
    /// A loss of power too short to measure.
    Cut(Store),
}

/// A command.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Said {
    /// The settings of this number.
    Change(u8),
    /// An end to the lockout.
    Release,
    /// Off.
    Off,
    /// On.
    On,
}

/// A plain step of `ms` in which the probe reads `reads`.
#[must_use]
pub const fn plain(ms: u16, reads: Option<i32>) -> Letter {
    Letter::Step {
        true_ms: ms as u32,
        told_ms: ms as i32,
        reads,
        command: None,
        lock: SettingsLock::Unlocked,
        contact: Contact::Follows,
    }
}
