//! Numbers of things, in words.

/// So many things: "1 change", "3 changes".
#[must_use]
pub fn counted(number: u64, thing: &str) -> String {
    if number == 1 {
        format!("1 {thing}")
    } else {
        format!("{number} {thing}s")
    }
}

/// How many of `all` expectations do not hold.
#[must_use]
pub fn expectations(failing: usize, all: usize) -> String {
    match (failing, all) {
        (_, 0) => "Nothing was expected of this run.".to_owned(),
        (0, 1) => "The expectation holds.".to_owned(),
        (0, all) => format!("All {all} expectations hold."),
        (_, 1) => "The expectation does not hold.".to_owned(),
        (1, all) => format!("1 of {all} expectations does not hold."),
        (failing, all) => format!("{failing} of {all} expectations do not hold."),
    }
}
