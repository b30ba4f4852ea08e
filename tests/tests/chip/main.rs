//! The board's image on an emulated chip: see tests/chip.

mod cost;
mod faults;
mod feedback;
mod figures;
mod flips;
mod parity;
mod rest;
