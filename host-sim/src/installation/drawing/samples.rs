//! Installations for tests.

use super::super::{Installation, arrangements, file};
use crate::source_text::SourceText;

/// A shipped arrangement.
pub fn installation(name: &str) -> Installation {
    let arrangement = arrangements::named(name).expect("it ships");
    let source = SourceText::new(name, arrangement.text).expect("short");
    file::read(&source).expect("sound")
}
