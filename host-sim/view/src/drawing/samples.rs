//! Installations for tests.

use hysteron_installation::{Installation, arrangements, file};
use hysteron_source::text::SourceText;

/// A shipped arrangement.
pub fn installation(name: &str) -> Installation {
    let arrangement = arrangements::named(name).expect("it ships");
    let source = SourceText::new(name, arrangement.text).expect("short");
    file::read(&source).expect("sound")
}
