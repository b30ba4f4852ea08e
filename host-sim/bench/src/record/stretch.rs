//! Where relay and load stood, and why.

use hysteron_logic::control::Reason;
use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;

use crate::record::runs::Feeds;

/// Why the relay was where it was, or that the board was dead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The control's own reason.
    Because(Reason),
    /// The board had no power; the relay had dropped out.
    Unpowered,
}

impl Standing {
    /// In words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Because(reason) => reason.text(),
            Self::Unpowered => "no power",
        }
    }
}

/// A time during which relay, reason and what is fed stayed as they were.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// When it began.
    pub from: Duration,
    /// The relay's coil.
    pub relay: Relay,
    /// Why.
    pub standing: Standing,
    /// What was truly fed.
    pub feeds: Feeds,
}
