//! The command `hysteron`.

fn main() {}
