//! What a step is told: the sample, the lock, the contact and at most one command.

use crate::contact::Feedback;
use crate::lockout::Cause;
use crate::sense::Sample;
use crate::settings::Settings;

/// Whether the settings are locked against every command.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SettingsLock {
    /// Commands are obeyed.
    Unlocked,
    /// Commands are refused; reading still works.
    Locked,
}

/// What a person, or a machine for a person, asks of the control.
///
/// The size is that of a whole set of settings: a change is judged as a whole.
#[expect(
    clippy::large_enum_variant,
    reason = "there is no heap to put the settings on"
)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Command {
    /// Use these settings from now on.
    Change(Settings),
    /// Release the lockout.
    ReleaseLockout,
    /// Open the relay and keep it open.
    SwitchOff,
    /// Take up work again.
    SwitchOn,
}

/// Why a command was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CommandRefused {
    /// The settings lock is on.
    SettingsLocked,
    /// There is no lockout to release.
    NotLockedOut,
    /// What locked the load out still stands.
    CauseStands(Cause),
}

/// Everything a step is told besides the time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Input {
    /// The probe.
    pub sample: Sample,
    /// The lock, as a level.
    pub lock: SettingsLock,
    /// The contact's feedback, as it is now.
    pub feedback: Feedback,
    /// At most one command.
    pub command: Option<Command>,
}

impl Input {
    /// A sample alone: unlocked, no feedback fitted, no command.
    #[must_use]
    pub const fn sampled(sample: Sample) -> Self {
        Self {
            sample,
            lock: SettingsLock::Unlocked,
            feedback: Feedback::NotFitted,
            command: None,
        }
    }
}
