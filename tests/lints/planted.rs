//! One breach of each lint that the control law denies; `tests/lints/planted` sees each refused.

/// `clippy::arithmetic_side_effects`
pub fn adds(one: i32, other: i32) -> i32 {
    one + other
}

/// `clippy::as_conversions`
pub fn converts(value: i64) -> i32 {
    value as i32
}

/// `clippy::indexing_slicing`
pub fn indexes(values: &[i32], at: usize) -> i32 {
    values[at]
}

/// `clippy::unwrap_used`
pub fn unwraps(value: Option<i32>) -> i32 {
    value.unwrap()
}

/// `clippy::expect_used`
pub fn expects(value: Option<i32>) -> i32 {
    value.expect("a value")
}

/// `clippy::panic`
pub fn panics() {
    panic!("planted")
}

/// `clippy::wildcard_enum_match_arm`
pub fn passes_over(unit: crate::field::Unit) -> bool {
    match unit {
        crate::field::Unit::Choice => true,
        _ => false,
    }
}

/// `unsafe_code`
pub fn is_unsafe() {
    unsafe {}
}

pub fn is_undocumented() {}
