//! What can be read from a plant, with the names and units people use.

use std::fmt;

/// A value a plant can tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Quantity {
    /// Air in a refrigerated box.
    Air,
    /// Product in a refrigerated box.
    Product,
    /// Evaporator coil, fins and tubes as one.
    Coil,
    /// Inner skin and insulation of a refrigerated box.
    Walls,
    /// Water (or milk, beverage, brine) in a tank.
    Water,
    /// Heating element or evaporator plate of a tank; heating or cooling unit of a room.
    Element,
    /// Air and furnishings of a room.
    Room,
    /// Walls, floor and ceiling of a room.
    Fabric,
    /// The one temperature of the first-order reference plant.
    Reference,
    /// Saturated suction temperature; the coil's own while the compressor rests.
    EvaporatingTemperature,
    /// Saturated condensing temperature.
    CondensingTemperature,
    /// Suction pressure, absolute.
    SuctionPressure,
    /// Discharge pressure, absolute.
    DischargePressure,
    /// Electrical power of the switched load over the last step: in a pump-down system that of
    /// the valve's coil.
    LoadPower,
    /// Heat put in by the switched load, or by what it makes run, over the last step; negative
    /// where it cools.
    LoadHeat,
    /// Electrical power, over the last step, of a compressor that a pressure control starts,
    /// with its condenser fan.
    CompressorPower,
    /// Liquid refrigerant in the evaporator of a pump-down system.
    EvaporatorLiquid,
    /// Heat that came in through the open door over the last step.
    DoorHeat,
    /// Heat a condenser was given to reject over the last step.
    RejectedHeat,
    /// Power of the fan that moves the plant's air over the last step.
    FanPower,
}

impl Quantity {
    /// Every quantity there is.
    pub const ALL: [Self; 20] = [
        Self::Air,
        Self::Product,
        Self::Coil,
        Self::Walls,
        Self::Water,
        Self::Element,
        Self::Room,
        Self::Fabric,
        Self::Reference,
        Self::EvaporatingTemperature,
        Self::CondensingTemperature,
        Self::SuctionPressure,
        Self::DischargePressure,
        Self::LoadPower,
        Self::LoadHeat,
        Self::CompressorPower,
        Self::EvaporatorLiquid,
        Self::DoorHeat,
        Self::RejectedHeat,
        Self::FanPower,
    ];

    /// The name for people.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Air => "air temperature",
            Self::Product => "product temperature",
            Self::Coil => "coil temperature",
            Self::Walls => "wall temperature",
            Self::Water => "water temperature",
            Self::Element => "element temperature",
            Self::Room => "room temperature",
            Self::Fabric => "fabric temperature",
            Self::Reference => "reference temperature",
            Self::EvaporatingTemperature => "evaporating temperature",
            Self::CondensingTemperature => "condensing temperature",
            Self::SuctionPressure => "suction pressure",
            Self::DischargePressure => "discharge pressure",
            Self::LoadPower => "load power",
            Self::LoadHeat => "load heat",
            Self::CompressorPower => "compressor power",
            Self::EvaporatorLiquid => "evaporator liquid",
            Self::DoorHeat => "door heat",
            Self::RejectedHeat => "rejected heat",
            Self::FanPower => "fan power",
        }
    }

    /// The unit of the value, as [`Plant::quantity`](super::Plant::quantity) gives it.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Air
            | Self::Product
            | Self::Coil
            | Self::Walls
            | Self::Water
            | Self::Element
            | Self::Room
            | Self::Fabric
            | Self::Reference
            | Self::EvaporatingTemperature
            | Self::CondensingTemperature => "°C",
            Self::SuctionPressure | Self::DischargePressure => "kPa",
            Self::LoadPower
            | Self::LoadHeat
            | Self::CompressorPower
            | Self::DoorHeat
            | Self::RejectedHeat
            | Self::FanPower => "W",
            Self::EvaporatorLiquid => "kg",
        }
    }

    /// The quantity of this name, if there is one.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|quantity| quantity.name() == name)
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_leads_back_to_its_quantity() {
        for quantity in Quantity::ALL {
            assert_eq!(Quantity::named(quantity.name()), Some(quantity));
        }
        assert_eq!(Quantity::named("pressure"), None);
    }
}
