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

/// `value`, or `u32::MAX` for what is larger.
pub(crate) const fn u32_from_u64(value: u64) -> u32 {
    if value > u32::MAX as u64 {
        u32::MAX
    } else {
        value as u32
    }
}

/// `value`, exactly.
pub(crate) const fn usize_from_u32(value: u32) -> usize {
    // A processor of 16 bits would lose the upper half; there is no such target.
    const { assert!(usize::BITS >= 32) };
    value as usize
}

/// `value`, or `u16::MAX` for what is larger.
pub(crate) const fn u16_from_u32(value: u32) -> u16 {
    if value > u16::MAX as u32 {
        u16::MAX
    } else {
        value as u16
    }
}

/// `value`, exactly.
pub(crate) const fn u32_from_u16(value: u16) -> u32 {
    value as u32
}

/// `value`, exactly.
pub(crate) const fn i64_from_i32(value: i32) -> i64 {
    value as i64
}

/// `value`, or the nearer end of `i32` for what lies outside it.
pub(crate) const fn i32_from_i64(value: i64) -> i32 {
    if value > i32::MAX as i64 {
        i32::MAX
    } else if value < i32::MIN as i64 {
        i32::MIN
    } else {
        value as i32
    }
}

/// `value`, exactly.
pub(crate) const fn i32_from_u16(value: u16) -> i32 {
    value as i32
}

/// `value`, exactly.
pub(crate) const fn u32_from_u8(value: u8) -> u32 {
    value as u32
}

/// `value`, or the nearer end of `u8` for what lies outside it.
pub(crate) const fn u8_from_i32(value: i32) -> u8 {
    if value > u8::MAX as i32 {
        u8::MAX
    } else if value < 0 {
        0
    } else {
        value as u8
    }
}
