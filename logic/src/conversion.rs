//! The one place where a number changes its type by `as`.
//!
//! `From` and `TryFrom` cannot be called in constant functions yet, and the
//! tables of curves are made by the compiler. Every function here is exact
//! within its documented range and saturates outside it.
#![expect(
    clippy::as_conversions,
    reason = "From is not const; each conversion below is lossless or saturates"
)]

/// `value`, exactly.
pub(crate) const fn u64_from_u32(value: u32) -> u64 {
    value as u64
}
