//! The plants: what is cooled or heated, as lumped physics in SI units.
//!
//! A [`Plant`] is built from checked parameters for one length of step. Each step
//! it is given the [`Load`] that truly runs and its [`Surroundings`], both held
//! over the step, and moves on; between steps it can be read. It never decides
//! anything, keeps no clock and draws no random numbers.
//!
//! The linear part of each plant is stepped exactly, whatever the length of the
//! step ([`network`]); all matrices are made when the plant is built. What isn't
//! linear (compressor capacity, an open door) enters as heat held over the step.

pub mod ambient;
mod box_door;
pub mod coil;
pub mod compressor;
pub mod compressor_parameters;
pub mod condenser;
pub mod direct_compressor;
pub mod door;
pub mod extrapolation;
pub mod first_order;
pub mod known_range;
pub mod low_side;
pub mod moist_air;
pub mod network;
pub mod parameter;
pub mod pressure_control;
pub mod pump_down;
pub mod quantity;
pub mod refrigerant;
mod refrigerant_heat;
pub mod refrigerated_box;
pub mod refrigeration;
pub mod room;
pub mod surroundings;
pub mod tank;
pub mod weather;

pub use condenser::Condenser;
pub use first_order::FirstOrder;
pub use parameter::ParameterError;
pub use pressure_control::{HighPressureControl, PressureContact, PressureControl};
pub use quantity::Quantity;
pub use refrigerated_box::RefrigeratedBox;
pub use room::Room;
pub use surroundings::{Door, FanSupply, Load, Surroundings};
pub use tank::Tank;

/// Any of the plants.
#[derive(Debug, Clone)]
pub enum Plant {
    /// Walk-in, reach-in, freezer, display case, warehouse.
    RefrigeratedBox(Box<RefrigeratedBox>),
    /// Water heater, bulk milk tank, liquid chiller, beverage cooler.
    Tank(Box<Tank>),
    /// A heated or cooled room.
    Room(Box<Room>),
    /// A condenser with a cycling fan.
    Condenser(Condenser),
    /// One time constant, two asymptotes.
    FirstOrder(FirstOrder),
}

impl Plant {
    /// Goes one step on, under this load and in these surroundings.
    #[inline]
    pub fn step(&mut self, load: Load, surroundings: &Surroundings) {
        match self {
            Self::RefrigeratedBox(plant) => plant.step(load, surroundings),
            Self::Tank(plant) => plant.step(load, surroundings),
            Self::Room(plant) => plant.step(load, surroundings),
            Self::Condenser(plant) => plant.step(load, surroundings),
            Self::FirstOrder(plant) => plant.step(load),
        }
    }

    /// Temperature where the control's probe sits, °C.
    #[must_use]
    pub fn probe_site_c(&self) -> f64 {
        match self {
            Self::RefrigeratedBox(plant) => plant.probe_site_c(),
            Self::Tank(plant) => plant.probe_site_c(),
            Self::Room(plant) => plant.probe_site_c(),
            Self::Condenser(plant) => plant.probe_site_c(),
            Self::FirstOrder(plant) => plant.probe_site_c(),
        }
    }

    /// Its low-pressure control, if it pumps down.
    ///
    /// The plant does not act on it: whoever feeds the compressor does.
    #[must_use]
    #[inline]
    pub fn pressure_control(&self) -> Option<&PressureControl> {
        match self {
            Self::RefrigeratedBox(plant) => plant.pressure_control(),
            Self::Tank(_) | Self::Room(_) | Self::Condenser(_) | Self::FirstOrder(_) => None,
        }
    }

    /// Reads one quantity in its [unit](Quantity::unit); `None` where this plant has no such thing.
    #[must_use]
    #[inline]
    pub fn quantity(&self, quantity: Quantity) -> Option<f64> {
        match self {
            Self::RefrigeratedBox(plant) => plant.quantity(quantity),
            Self::Tank(plant) => plant.quantity(quantity),
            Self::Room(plant) => plant.quantity(quantity),
            Self::Condenser(plant) => plant.quantity(quantity),
            Self::FirstOrder(plant) => plant.quantity(quantity),
        }
    }

    /// What can be read from this plant, the probe's own surroundings first.
    #[must_use]
    pub fn quantities(&self) -> &'static [Quantity] {
        match self {
            Self::RefrigeratedBox(plant) => plant.quantities(),
            Self::Tank(plant) => plant.quantities(),
            Self::Room(_) => Room::QUANTITIES,
            Self::Condenser(_) => Condenser::QUANTITIES,
            Self::FirstOrder(_) => FirstOrder::QUANTITIES,
        }
    }
}

macro_rules! into_plant {
    ($($kind:ident: $value:ident => $held:expr;)*) => { $(
        impl From<$kind> for Plant {
            fn from($value: $kind) -> Self {
                Self::$kind($held)
            }
        }
    )* };
}

into_plant! {
    RefrigeratedBox: plant => Box::new(plant);
    Tank: plant => Box::new(plant);
    Room: plant => Box::new(plant);
    Condenser: plant => plant;
    FirstOrder: plant => plant;
}
