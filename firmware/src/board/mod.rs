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
pub mod scripted;
