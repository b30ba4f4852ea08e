//! What a store gives back at power-up.

use crate::counters::Totals;
use crate::guard::MOST_STARTS;
use crate::lockout::Cause;
use crate::settings::Settings;
use crate::time::Duration;

/// Whether a person wants the control to work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Switch {
    /// It works.
    #[default]
    On,
    /// The relay stays open.
    Off,
}

/// What the store knows at power-up.
#[expect(
    clippy::large_enum_variant,
    reason = "there is no heap to put the settings on"
)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum StoredSettings {
    /// Whole and checked.
    Whole(Settings),
    /// None that could be read: safe defaults, locked out until a person comes.
    Unreadable,
}

/// What outlives a loss of power, where a store keeps it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Retained {
    /// Whether the control was switched off: a loss of power switches nothing on.
    pub switch: Switch,
    /// The latched lockout.
    pub lockout: Option<Cause>,
    /// Life totals.
    pub totals: Totals,
    /// How long ago each start of the last powered hour was, oldest first.
    pub recent_starts: heapless::Vec<Duration, MOST_STARTS>,
}
