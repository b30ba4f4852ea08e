//! Names for the places where a conductor lands.

use std::borrow::Cow;
use std::ops::RangeInclusive;
use std::{fmt, iter};

/// A part of an installation, by its place in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PartId(u8);

impl PartId {
    pub(crate) fn from_index(index: usize) -> Option<Self> {
        u8::try_from(index)
            .ok()
            .filter(|&number| usize::from(number) < PartSet::CAPACITY)
            .map(Self)
    }

    /// Position among the parts of the installation, from 0.
    #[must_use]
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}

/// A terminal of an installation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TerminalId(u16);

impl TerminalId {
    pub(crate) fn from_index(index: usize) -> Option<Self> {
        u16::try_from(index).ok().map(Self)
    }

    /// Position among the terminals of the installation, from 0.
    #[must_use]
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}

/// A set of parts of one installation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct PartSet(u128);

impl PartSet {
    /// An installation has at most this many parts, its conductors included.
    pub const CAPACITY: usize = 128;

    /// No part.
    pub const EMPTY: Self = Self(0);

    /// Whether `part` is in the set.
    #[must_use]
    pub fn contains(self, part: PartId) -> bool {
        self.0 & (1 << part.0) != 0
    }

    /// The set with `part` in it.
    #[must_use]
    pub fn with(self, part: PartId) -> Self {
        Self(self.0 | (1 << part.0))
    }

    /// The set without `part`.
    #[must_use]
    pub fn without(self, part: PartId) -> Self {
        Self(self.0 & !(1 << part.0))
    }

    /// Whether the set has no parts.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The parts in the set, in the order of the file.
    pub fn iter(self) -> impl Iterator<Item = PartId> {
        let mut left = self.0;
        iter::from_fn(move || {
            let first = u8::try_from(left.trailing_zeros()).ok()?;
            left &= left.checked_sub(1)?;
            Some(PartId(first))
        })
    }
}

impl FromIterator<PartId> for PartSet {
    fn from_iter<I: IntoIterator<Item = PartId>>(parts: I) -> Self {
        parts.into_iter().fold(Self::EMPTY, Self::with)
    }
}

/// A tap of a control's power input, known by the voltage it is made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Tap {
    rated_v: u16,
}

impl Tap {
    /// A tap may be made for so many volts.
    pub const RANGE_V: RangeInclusive<u16> = 10..=300;

    /// The tap for so many volts; absent outside [`Self::RANGE_V`].
    #[must_use]
    pub fn made_for(rated_v: u16) -> Option<Self> {
        Self::RANGE_V.contains(&rated_v).then_some(Self { rated_v })
    }

    /// The voltage it is made for, in volts.
    #[must_use]
    pub fn rated_v(self) -> f64 {
        f64::from(self.rated_v)
    }

    /// What its terminal is for.
    #[must_use]
    pub fn role(self) -> Role {
        Role::PowerTap(self)
    }
}

macro_rules! roles {
    ($($(#[$doc:meta])* $role:ident = $name:literal, $says:literal;)*) => {
        /// What a terminal is for; the name after the dot in an installation file.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Role {
            $(#[doc = $says] $role,)*
            /// A tap of a control's power input: `power_120` for 120 V.
            PowerTap(Tap),
        }

        impl Role {
            /// The name in an installation file.
            #[must_use]
            pub fn name(self) -> Cow<'static, str> {
                match self {
                    $(Self::$role => $name.into(),)*
                    Self::PowerTap(Tap { rated_v }) => format!("power_{rated_v}").into(),
                }
            }
        }
    };
}

roles! {
    Hot = "hot", "The ungrounded conductor of a two-wire supply.";
    Leg1 = "leg1", "The first ungrounded leg of a supply.";
    Leg2 = "leg2", "The second ungrounded leg of a supply.";
    Neutral = "neutral", "The grounded conductor of a supply.";
    Ground = "ground", "The equipment ground bar of a supply.";
    Line = "line", "The supply side of a single pole.";
    Load = "load", "The load side of a single pole.";
    Line1 = "line1", "The supply side of the first pole, or one end of a load.";
    Load1 = "load1", "The load side of the first pole.";
    Line2 = "line2", "The supply side of the second pole, or the other end of a load.";
    Load2 = "load2", "The load side of the second pole.";
    Frame = "frame", "The metal of a load, for the equipment ground.";
    Primary1 = "primary1", "One end of a transformer's primary.";
    Primary2 = "primary2", "The other end of a transformer's primary.";
    Secondary1 = "secondary1", "One end of a transformer's secondary.";
    Secondary2 = "secondary2", "The other end of a transformer's secondary.";
    PowerCommon = "power_common", "The common of a control's power input.";
    RelayCommon = "relay_common", "The common contact of a control's relay.";
    NormallyOpen = "normally_open", "The contact that an energised relay closes.";
    NormallyClosed = "normally_closed", "The contact that a released relay closes.";
    Coil1 = "coil1", "One end of a contactor's coil.";
    Coil2 = "coil2", "The other end of a contactor's coil.";
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_set_holds_what_was_put_in() {
        let parts: Vec<PartId> = [0, 7, 127]
            .into_iter()
            .filter_map(PartId::from_index)
            .collect();
        let set: PartSet = parts.iter().copied().collect();
        assert_eq!(set.iter().collect::<Vec<_>>(), parts);
        assert!(!set.without(parts[1]).contains(parts[1]));
        assert_eq!(PartId::from_index(PartSet::CAPACITY), None);
    }
}
