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
//!
//! # A first step
//!
//! ```
//! use hysteron_logic::prelude::*;
//!
//! let mut draft = Draft::COOLING;
//! draft.setpoint = Temperature::from_millicelsius(2_000);
//! let settings = draft.check()?;
//! let mut control = Control::at_power_up(StoredSettings::Whole(settings), &Retained::default());
//!
//! // The space is warm, but nobody knows how long the load has rested.
//! let warm = Input::sampled(Sample::Temperature(Temperature::from_millicelsius(9_000)));
//! let decision = control.step(Instant::POWER_UP, &warm);
//! assert_eq!((decision.relay, decision.reason), (Relay::Open, Reason::PowerUpHold));
//! assert!(decision.wake > Instant::POWER_UP);
//! # Ok::<(), hysteron_logic::settings::Refused>(())
//! ```
//!
//! `examples/cooler.rs` steps one through a day.
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
pub mod prelude;
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
