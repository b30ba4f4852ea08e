//! What came of a run, as something to read.
//!
//! [`words`] are shared by all; [`drawing`] draws an installation, [`report`] is a page, and
//! [`export`] is for other programs. [`mod@format`] tells what the files that people write may hold.

pub mod drawing;
pub mod export;
pub mod format;
pub mod report;
pub mod words;
