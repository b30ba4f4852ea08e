//! The boards: each file here knows one chip, and nothing outside knows any.

#[cfg(feature = "pico")]
#[expect(
    unsafe_code,
    reason = "registers that the chip's library does not cover, and the boot loader's section"
)]
pub mod pico;
#[cfg(feature = "pico")]
#[expect(
    unsafe_code,
    reason = "registers that the chip's library does not cover"
)]
mod pico_bus;
