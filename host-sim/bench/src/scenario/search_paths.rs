//! Where the other files lie that a scenario needs, and who has them.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use hysteron_source::text::{Rejected, SourceText};

/// Files by their path, from whoever has them: a disk, an archive, a page.
pub trait Files: fmt::Debug + Send + Sync {
    /// Whether there is a file of that path.
    fn holds(&self, path: &Path) -> bool;

    /// The first `most` bytes of a file; all, where it has no more.
    ///
    /// # Errors
    /// When there is no such file, or it cannot be read.
    fn read(&self, path: &Path, most: u64) -> io::Result<Vec<u8>>;
}

/// No files at all: what is bundled needs none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoFiles;

impl Files for NoFiles {
    fn holds(&self, _path: &Path) -> bool {
        false
    }

    fn read(&self, _path: &Path, _most: u64) -> io::Result<Vec<u8>> {
        Err(io::ErrorKind::NotFound.into())
    }
}

/// Reads a file that holds text, and no more of it than the limit.
///
/// # Errors
/// When the file cannot be read, is too large, or is not UTF-8.
pub fn read_text(files: &dyn Files, path: &Path) -> Result<SourceText, Rejected> {
    let name = path.display().to_string();
    match files.read(path, SourceText::LIMIT_BYTES as u64 + 1) {
        Ok(bytes) => SourceText::from_bytes(name, bytes),
        Err(error) => Err(SourceText::unreadable(name, &error)),
    }
}

/// Where the files that a scenario names are looked for.
#[derive(Debug, Clone)]
pub struct SearchPaths {
    /// A weather file named on the command line; it takes the place of one that the scenario names.
    pub weather: Option<PathBuf>,
    /// The folder that files named by the scenario, weather and installation, are relative to.
    pub folder: PathBuf,
    /// Who has the files.
    pub files: Arc<dyn Files>,
}

impl Default for SearchPaths {
    /// No files.
    fn default() -> Self {
        Self {
            weather: None,
            folder: PathBuf::new(),
            files: Arc::new(NoFiles),
        }
    }
}
