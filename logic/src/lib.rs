//! The control law of a single-stage temperature control.
//!
//! One thermistor, one setpoint, one single-pole double-throw relay. Once per
//! sample the caller passes in the time and what was read; [`control::Control`]
//! answers whether the relay may be energised, and why. There is no heap, no
//! panic, no clock and no input or output in here.
//!
//! # The way of data
//!
//! ```text
//! counts -> resistance -> temperature -> trust -> call ----+
//!                                         |                v
//!                                         +-> fallback -> guard -> relay
//!                                               lockout ---^
//! ```
//!
//! Each word is a file that can be tested alone; [`control`] alone knows the
//! order of their priority.
#![cfg_attr(not(test), no_std)]
#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    deny(
        clippy::arithmetic_side_effects,
        clippy::as_conversions,
        clippy::indexing_slicing,
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic,
        clippy::wildcard_enum_match_arm,
        missing_docs
    )
)]

pub mod alarm;
pub mod call;
pub mod checksum;
pub mod clock;
pub mod codec;
pub mod coefficients;
pub mod contact;
pub mod control;
mod conversion;
pub mod counters;
pub mod curve;
mod curve_table;
mod decision;
pub mod defrost;
pub mod divider;
pub mod duty;
pub mod event;
pub mod fallback;
pub mod field;
pub mod guard;
mod input;
pub mod lockout;
pub mod probe;
mod record;
mod refusal;
pub mod resistance;
mod retained;
pub mod sense;
pub mod settings;
mod settings_check;
pub mod time;
pub mod units;
mod unreadable;
