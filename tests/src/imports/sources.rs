//! The text of the files, from the disk or from a test.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;

/// A crate whose files are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CrateRoot {
    /// What other crates call it in a path; empty for a program, which none can use.
    pub name: &'static str,
    /// Its root file.
    pub file: &'static str,
}

impl CrateRoot {
    /// A library that others name so.
    #[must_use]
    pub const fn library(name: &'static str, file: &'static str) -> Self {
        Self { name, file }
    }

    /// A program.
    #[must_use]
    pub const fn program(file: &'static str) -> Self {
        Self { name: "", file }
    }
}

/// The text of every file by its path, with `/` between folders.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sources(BTreeMap<String, String>);

impl Sources {
    /// Every Rust file in some folders below `top`, named by its path from there.
    ///
    /// # Errors
    /// When a folder or a file can't be read.
    pub fn in_folders(top: &Path, folders: &[&str]) -> io::Result<Self> {
        let mut texts = BTreeMap::new();
        let mut left: Vec<String> = folders.iter().map(|&folder| folder.to_owned()).collect();
        while let Some(folder) = left.pop() {
            for entry in fs::read_dir(top.join(&folder))? {
                let entry = entry?;
                let path = format!("{folder}/{}", entry.file_name().to_string_lossy());
                if entry.file_type()?.is_dir() {
                    left.push(path);
                } else if path.ends_with(".rs") {
                    let text = fs::read_to_string(entry.path())?;
                    texts.insert(path, text);
                }
            }
        }
        Ok(Self(texts))
    }

    /// These files and no others.
    #[must_use]
    pub fn of(files: &[(&str, &str)]) -> Self {
        let owned = |&(path, text): &(&str, &str)| (path.to_owned(), text.to_owned());
        Self(files.iter().map(owned).collect())
    }

    /// The text of one file.
    pub(super) fn text(&self, path: &str) -> Option<&str> {
        self.0.get(path).map(String::as_str)
    }

    /// The paths of all files.
    pub(super) fn paths(&self) -> impl Iterator<Item = &str> {
        self.0.keys().map(String::as_str)
    }
}
