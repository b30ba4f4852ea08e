//! What can be wrong with one part.

use super::terminal::{Role, Tap};

/// A contact of the control's relay.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RelayContact {
    /// Closed while the relay is energised.
    NormallyOpen,
    /// Closed while the relay is released.
    NormallyClosed,
}

impl RelayContact {
    /// The terminal of the contact.
    #[must_use]
    pub fn role(self) -> Role {
        match self {
            Self::NormallyOpen => Role::NormallyOpen,
            Self::NormallyClosed => Role::NormallyClosed,
        }
    }
}

/// What can be wrong with one part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Trouble {
    /// The relay's armature stays where this contact is closed.
    RelayWelded(RelayContact),
    /// This contact of the relay no longer conducts.
    RelayBurntOpen(RelayContact),
    /// The contacts stay closed.
    Welded,
    /// The contacts no longer conduct.
    BurntOpen,
    /// The device no longer moves: closed for good.
    StuckClosed,
    /// The device no longer moves: open for good.
    StuckOpen,
    /// The winding, coil, primary or element is broken.
    WindingOpen,
    /// The winding, coil, primary or element is short-circuited.
    WindingShorted,
    /// The fuse has melted.
    Blown,
    /// The breaker has tripped.
    Tripped,
    /// An end of the wire has come off.
    Off,
    /// The jumper was never fitted.
    Missing,
    /// A leg of the supply, or its hot conductor, is dead.
    LegLost(Role),
    /// The control is wired to this tap instead of the one that fits.
    WrongTap(Tap),
    /// The probe is open-circuited: the relay follows the fallback.
    ProbeOpen,
    /// The probe is short-circuited: the relay follows the fallback.
    ProbeShorted,
    /// The board draws power and does nothing: the relay stays released.
    BoardDead,
}
