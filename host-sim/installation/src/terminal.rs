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

    /// The parts that are in one of the two sets and not in the other.
    #[must_use]
    pub fn differing(self, others: Self) -> Self {
        Self(self.0 ^ others.0)
    }

    /// The set without those in the other.
    #[must_use]
    pub fn without_all(self, others: Self) -> Self {
        Self(self.0 & !others.0)
    }

    /// The parts that are in either set.
    #[must_use]
    pub fn with_all(self, others: Self) -> Self {
        Self(self.0 | others.0)
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

/// A place in a row, counted from one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Ordinal(u8);

impl Ordinal {
    /// The first.
    pub const FIRST: Self = Self(1);
    /// The second.
    pub const SECOND: Self = Self(2);
    /// The third.
    pub const THIRD: Self = Self(3);
}

impl fmt::Display for Ordinal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// A pole of what opens a circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Pole {
    /// The only one, which bears no number.
    Only,
    /// One of several.
    Nth(Ordinal),
}

macro_rules! roles {
    ($($(#[$doc:meta])* $role:ident = $name:literal, $says:literal;)*) => {
        /// What a terminal is for; the name after the dot in an installation file.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Role {
            $(#[doc = $says] $role,)*
            /// An ungrounded leg of a supply that has several.
            Leg(Ordinal),
            /// The supply side of a pole, or a terminal of a load.
            Line(Pole),
            /// The load side of a pole.
            Load(Pole),
            /// A tap of a control's power input: `power_120` for 120 V.
            PowerTap(Tap),
        }

        impl Role {
            /// The name in an installation file.
            #[must_use]
            pub fn name(self) -> Cow<'static, str> {
                match self {
                    $(Self::$role => $name.into(),)*
                    Self::Leg(leg) => format!("leg{leg}").into(),
                    Self::Line(Pole::Only) => "line".into(),
                    Self::Line(Pole::Nth(pole)) => format!("line{pole}").into(),
                    Self::Load(Pole::Only) => "load".into(),
                    Self::Load(Pole::Nth(pole)) => format!("load{pole}").into(),
                    Self::PowerTap(Tap { rated_v }) => format!("power_{rated_v}").into(),
                }
            }
        }
    };
}

roles! {
    Hot = "hot", "The ungrounded conductor of a two-wire supply.";
    Neutral = "neutral", "The grounded conductor of a supply.";
    Ground = "ground", "The equipment ground bar of a supply.";
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

    #[test]
    fn poles_and_legs_are_numbered_where_there_are_several() {
        let names = [
            Role::Line(Pole::Only),
            Role::Load(Pole::Only),
            Role::Line(Pole::Nth(Ordinal::FIRST)),
            Role::Load(Pole::Nth(Ordinal::THIRD)),
            Role::Leg(Ordinal::SECOND),
        ]
        .map(Role::name);
        assert_eq!(names, ["line", "load", "line1", "load3", "leg2"]);
    }
}
