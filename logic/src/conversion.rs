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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_fits_is_kept_and_what_does_not_is_held_at_the_nearer_end() {
        for (value, held) in [
            (0, 0),
            (u64::from(u32::MAX) - 1, u32::MAX - 1),
            (u64::from(u32::MAX), u32::MAX),
            (u64::from(u32::MAX) + 1, u32::MAX),
            (u64::MAX - 1, u32::MAX),
        ] {
            assert_eq!(u32_from_u64(value), held);
        }
        for (value, held) in [
            (0, 0),
            (65_534, 65_534),
            (65_536, u16::MAX),
            (u32::MAX - 9, u16::MAX),
        ] {
            assert_eq!(u16_from_u32(value), held);
        }
        let (top, bottom) = (i64::from(i32::MAX), i64::from(i32::MIN));
        for (value, held) in [
            (0, 0),
            (top - 1, i32::MAX - 1),
            (top + 1, i32::MAX),
            (i64::MAX - 1, i32::MAX),
            (bottom + 1, i32::MIN + 1),
            (bottom - 1, i32::MIN),
            (i64::MIN + 1, i32::MIN),
        ] {
            assert_eq!(i32_from_i64(value), held);
        }
        for (value, held) in [
            (1, 1),
            (254, 254),
            (256, u8::MAX),
            (i32::MAX - 1, u8::MAX),
            (-1, 0),
            (-255, 0),
        ] {
            assert_eq!(u8_from_i32(value), held);
        }
    }

    #[test]
    fn a_wider_type_holds_the_same_number() {
        assert_eq!(u64_from_u32(u32::MAX), 4_294_967_295);
        assert_eq!(usize_from_u32(70_000), 70_000);
        assert_eq!(u32_from_u16(u16::MAX), 65_535);
        assert_eq!(i64_from_i32(i32::MIN), -2_147_483_648);
        assert_eq!(i32_from_u16(u16::MAX), 65_535);
        assert_eq!(u32_from_u8(u8::MAX), 255);
    }
}
