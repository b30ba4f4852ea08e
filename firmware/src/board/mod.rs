//! The boards: each file here knows one, and nothing outside knows any.

#[cfg(all(feature = "pico", target_os = "none"))]
#[expect(
    unsafe_code,
    reason = "registers that the chip's library does not cover, and the boot loader's section"
)]
pub mod pico;
#[cfg(all(feature = "pico", target_os = "none"))]
#[expect(
    unsafe_code,
    reason = "registers that the chip's library does not cover"
)]
mod pico_bus;
#[cfg(all(feature = "pico", target_os = "none"))]
#[expect(
    unsafe_code,
    reason = "a ring that the chip writes to, and registers that its library does not cover"
)]
mod pico_receiver;
pub mod scripted;
#[cfg(all(any(feature = "pico", feature = "proof"), target_os = "none"))]
#[expect(unsafe_code, reason = "the compiler calls these by name")]
mod thumb_copy;
