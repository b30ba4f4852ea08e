//! The plant: the physics between the load and the probe.

pub mod door;
pub mod moist_air;
pub mod refrigerant;
