//! Carries values between the pins of a board and the control law.
//!
//! Everything here runs on any host; only a board's own file knows a chip.
#![cfg_attr(not(test), no_std)]
