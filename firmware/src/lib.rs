//! Carries values between the pins of a board and the control law.
//!
//! Everything here runs on any host; only a board's own file under [`board`]
//! knows a chip.
//!
//! ```text
//! pins -> ports -> front_end, lock, button, half_waves -> pass -> relay, signal -> pins
//!                                                        |
//!                                     memory <- store, journal
//! ```
#![cfg_attr(not(test), no_std)]
#![deny(unsafe_code)]

pub mod board;
pub mod button;
pub mod clock;
pub mod decimal;
pub mod front_end;
pub mod half_waves;
pub mod journal;
pub mod lock;
mod log;
pub mod memory;
pub mod pass;
pub mod persistence;
pub mod ports;
pub mod refusal;
pub mod relay;
pub mod service;
pub mod signal;
pub mod static_storage;
pub mod store;
