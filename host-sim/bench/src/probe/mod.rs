//! The probe: a thermistor, its lag and noise, and what its converter counts.

pub mod known_readings;
pub mod model;
pub mod thermistor;
