//! Texts and other files from the disk, and what comes in on standard input.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use hysteron_bench::scenario::search_paths::{Files, read_text};
use hysteron_source::text::{Rejected, SourceText};

/// The files of this machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Disk;

impl Files for Disk {
    fn holds(&self, path: &Path) -> bool {
        path.is_file()
    }

    fn read(&self, path: &Path, most: u64) -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        File::open(path)?.take(most).read_to_end(&mut bytes)?;
        Ok(bytes)
    }
}

/// Reads a file, and no more of it than the limit.
///
/// # Errors
/// When the file cannot be read, is too large, or is not UTF-8.
pub fn text_of(path: &Path) -> Result<SourceText, Rejected> {
    read_text(&Disk, path)
}

/// Reads standard input, and no more of it than the limit.
///
/// # Errors
/// When it cannot be read, is too long, or is not UTF-8.
pub fn standard_input() -> Result<SourceText, Rejected> {
    const NAME: &str = "standard input";
    let mut bytes = Vec::new();
    let limit = SourceText::LIMIT_BYTES as u64 + 1;
    match io::stdin().lock().take(limit).read_to_end(&mut bytes) {
        Ok(_) => SourceText::from_bytes(NAME, bytes),
        Err(error) => Err(SourceText::unreadable(NAME, &error)),
    }
}
