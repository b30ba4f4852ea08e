//! How far the model of each plant reaches: a course that goes farther is no physics any more.
//!
//! Water boils at 99.97 °C under the pressure of the standard atmosphere (IAPWS-IF97, region 4), and
//! nothing is colder than -273.15 °C. The other ends are our own, where conductances and heat
//! capacities that stay the same can no longer be meant.

use super::{Plant, Quantity};

/// The ends between which a model knows a temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnownRange {
    /// Which temperature.
    pub quantity: Quantity,
    /// The coldest, in °C.
    pub lowest_c: f64,
    /// The hottest, in °C.
    pub highest_c: f64,
}

/// A temperature at which a plant has left what its model knows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beyond {
    /// What the model knows.
    pub range: KnownRange,
    /// What the temperature would be, in °C.
    pub value_c: f64,
}

const fn known(quantity: Quantity, lowest_c: f64, highest_c: f64) -> KnownRange {
    KnownRange {
        quantity,
        lowest_c,
        highest_c,
    }
}

const BOX: &[KnownRange] = &[
    known(Quantity::Air, -100.0, 120.0),
    known(Quantity::Product, -100.0, 120.0),
    known(Quantity::Coil, -100.0, 120.0),
    known(Quantity::Walls, -100.0, 120.0),
];
/// Brine may be colder than ice; an element at 200 °C boils the water at its surface.
const TANK: &[KnownRange] = &[
    known(Quantity::Water, -60.0, 100.0),
    known(Quantity::Element, -100.0, 200.0),
];
const ROOM: &[KnownRange] = &[
    known(Quantity::Room, -60.0, 100.0),
    known(Quantity::Fabric, -60.0, 100.0),
    known(Quantity::Element, -100.0, 600.0),
];
const CONDENSER: &[KnownRange] = &[known(Quantity::CondensingTemperature, -60.0, 100.0)];
const FIRST_ORDER: &[KnownRange] = &[known(Quantity::Reference, -273.15, 10_000.0)];

impl Plant {
    /// What its model knows.
    #[must_use]
    pub const fn known_ranges(&self) -> &'static [KnownRange] {
        match self {
            Self::RefrigeratedBox(_) => BOX,
            Self::Tank(_) => TANK,
            Self::Room(_) => ROOM,
            Self::Condenser(_) => CONDENSER,
            Self::FirstOrder(_) => FIRST_ORDER,
        }
    }

    /// The first temperature that lies beyond what its model knows, if any does.
    #[must_use]
    pub fn beyond(&self) -> Option<Beyond> {
        self.known_ranges().iter().find_map(|range| {
            let value_c = self.quantity(range.quantity)?;
            let is_known = (range.lowest_c..=range.highest_c).contains(&value_c);
            (!is_known).then_some(Beyond {
                range: *range,
                value_c,
            })
        })
    }
}
