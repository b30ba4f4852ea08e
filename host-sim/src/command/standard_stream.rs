//! The word for standard input or standard output in place of a file's name.

/// What `-` stands for.
pub const STANDARD_STREAM: &str = "-";
