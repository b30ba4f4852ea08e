//! The files of the crates, and the modules in them, by following every `mod`.

use std::collections::{HashMap, HashSet};

use syn::Item;

use super::names::{Entry, Names};
use super::sources::{CrateRoot, Sources};

/// One module's place among all.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct ModuleId(pub usize);

/// One file's place among all.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct FileId(pub usize);

/// A file with its module.
pub(super) struct File {
    /// Its path.
    pub path: String,
    /// Its text, parsed.
    pub syntax: syn::File,
    /// The module that it is.
    pub module: ModuleId,
}

/// A module: a file's or one written within another.
pub(super) struct Module {
    /// The file that it stands in.
    pub file: FileId,
    /// The root of its crate.
    pub root: ModuleId,
    /// The module around it; `None` for a crate's root.
    pub parent: Option<ModuleId>,
    /// What it names.
    pub names: Names,
}

/// All crates as their files have them.
pub(super) struct Tree {
    /// Every file.
    pub files: Vec<File>,
    /// Every module.
    pub modules: Vec<Module>,
    /// The roots of the crates that others can name.
    pub crates: HashMap<String, ModuleId>,
}

impl Tree {
    /// Reads every module of every crate.
    pub fn read(sources: &Sources, crates: &[CrateRoot]) -> Result<Self, Vec<String>> {
        let mut tree = Self {
            files: Vec::new(),
            modules: Vec::new(),
            crates: HashMap::new(),
        };
        let mut wrong = Vec::new();
        for root in crates {
            let module = tree.next_module();
            let folder = root
                .file
                .rfind('/')
                .map_or("", |slash| &root.file[..=slash]);
            tree.read_file(sources, root.file, folder, None, &mut wrong);
            if !root.name.is_empty() {
                tree.crates.insert(root.name.to_owned(), module);
            }
        }
        let known: HashSet<&str> = tree.files.iter().map(|file| file.path.as_str()).collect();
        let unknown = sources.paths().filter(|path| !known.contains(path));
        wrong.extend(unknown.map(|path| format!("{path}: no `mod` leads to this file")));
        if wrong.is_empty() {
            Ok(tree)
        } else {
            Err(wrong)
        }
    }

    /// A module.
    pub fn module(&self, id: ModuleId) -> &Module {
        &self.modules[id.0]
    }

    /// The module that an item in `parent` opens within the same file.
    pub fn inline(&self, parent: ModuleId, name: &str) -> Option<ModuleId> {
        let entries = self.module(parent).names.named.get(name)?;
        entries.iter().find_map(|entry| match entry {
            Entry::Module(id) => Some(*id),
            Entry::Leaf | Entry::Type { .. } | Entry::Use(_) => None,
        })
    }

    fn next_module(&self) -> ModuleId {
        ModuleId(self.modules.len())
    }

    /// Reads a file as one module, and the modules in it; its children's files lie in `folder`.
    fn read_file(
        &mut self,
        sources: &Sources,
        path: &str,
        folder: &str,
        parent: Option<ModuleId>,
        wrong: &mut Vec<String>,
    ) {
        let Some(text) = sources.text(path) else {
            return wrong.push(format!("{path}: there is no such file"));
        };
        let syntax = match syn::parse_file(text) {
            Ok(syntax) => syntax,
            Err(error) => return wrong.push(format!("{path}: {error}")),
        };
        let file = FileId(self.files.len());
        let module = self.next_module();
        let items = syntax.items.clone();
        self.files.push(File {
            path: path.to_owned(),
            syntax,
            module,
        });
        self.add_module(sources, &items, file, folder, parent, wrong);
    }

    fn add_module(
        &mut self,
        sources: &Sources,
        items: &[Item],
        file: FileId,
        folder: &str,
        parent: Option<ModuleId>,
        wrong: &mut Vec<String>,
    ) {
        let id = self.next_module();
        let mut names = Names::default();
        for item in items {
            names.add_item(item);
        }
        self.modules.push(Module {
            file,
            root: parent.map_or(id, |parent| self.module(parent).root),
            parent,
            names,
        });
        for item in items {
            let Item::Mod(item) = item else { continue };
            let child = self.next_module();
            let folder = format!("{folder}{}", item.ident);
            if let Some((_, items)) = &item.content {
                self.add_module(sources, items, file, &format!("{folder}/"), Some(id), wrong);
            } else {
                let candidates = [format!("{folder}.rs"), format!("{folder}/mod.rs")];
                let path = candidates.iter().find(|path| sources.text(path).is_some());
                let path = path.unwrap_or(&candidates[0]);
                self.read_file(sources, path, &format!("{folder}/"), Some(id), wrong);
            }
            if self.modules.len() > child.0 {
                self.modules[id.0]
                    .names
                    .add(&item.ident, Entry::Module(child));
            }
        }
    }
}
