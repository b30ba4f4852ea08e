//! Which file uses which: every path that the code writes, followed to the file that holds the item.
//!
//! ```text
//! Sources -> Tree (files, modules, names) -> imports (file, line, path, file) -> circles, climbs
//! ```
//!
//! Paths are read by a Rust parser: in `use`, types, expressions, patterns, attributes and
//! re-exports, and in what macros are given and made of, token by token. A path counts as a use of
//! the file that holds the item in the end, not of those that only hand it on; so does an
//! associated function of the file with its `impl`. A module alone is no use of its file. A method
//! called with a dot isn't followed: its type had to come from somewhere.

mod circle;
mod layer;
mod module_tree;
mod names;
mod path_reader;
mod resolve;
mod sources;

pub use circle::circles;
pub use layer::{Layer, climbs};
pub use sources::{CrateRoot, Sources};

use std::fmt;

/// One file's use of another.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Import {
    /// The file that uses.
    pub from: String,
    /// The file that is used.
    pub to: String,
    /// The line in `from`, from 1.
    pub line: usize,
    /// The path as it stands there.
    pub path: String,
}

impl fmt::Display for Import {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            from,
            to,
            line,
            path,
        } = self;
        write!(f, "{from}:{line}: `{path}` is in {to}")
    }
}

/// A path into a crate that isn't among those read.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Foreign {
    /// The file in which it stands.
    pub from: String,
    /// The line, from 1.
    pub line: usize,
    /// The path as it stands there.
    pub path: String,
}

/// Every path out of these crates, modules of tests aside.
///
/// # Errors
/// As [`imports`].
pub fn foreign_paths(sources: &Sources, crates: &[CrateRoot]) -> Result<Vec<Foreign>, Vec<String>> {
    let tree = module_tree::Tree::read(sources, crates)?;
    let resolver = resolve::Resolver::new(&tree);
    Ok(path_reader::read_paths(&tree, &resolver)?.foreign)
}

/// Every use of one file by another, in the order of the files and their lines.
///
/// # Errors
/// Each file that is missing, no Rust or in no module, and each path into these crates that leads
/// nowhere: what can't be followed is no proof.
pub fn imports(sources: &Sources, crates: &[CrateRoot]) -> Result<Vec<Import>, Vec<String>> {
    let tree = module_tree::Tree::read(sources, crates)?;
    let resolver = resolve::Resolver::new(&tree);
    Ok(path_reader::read_paths(&tree, &resolver)?.imports)
}
