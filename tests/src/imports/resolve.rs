//! From a path to the file that holds what it names.

use std::collections::{BTreeSet, HashMap, HashSet};

use syn::{ImplItem, Item, Type};

use super::module_tree::{FileId, ModuleId, Tree};
use super::names::{Entry, Names, Words};

/// Where a path leads.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Found {
    /// To a module itself.
    Module(ModuleId),
    /// Through these crates to something in none of them.
    Foreign,
    /// To an item of a module, and on from there.
    Item {
        module: ModuleId,
        name: String,
        rest: Words,
    },
}

/// What a path uses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Used {
    /// Something in these files; in none if it names but a module.
    Files(BTreeSet<FileId>),
    /// Nothing in these crates.
    Foreign,
    /// It leads into these crates and there to nothing.
    Nowhere,
}

/// The paths of `use` that are being followed, and in which module.
type Open = HashSet<(ModuleId, Words)>;

/// Follows paths through the tree.
pub(super) struct Resolver<'t> {
    tree: &'t Tree,
    /// The files in which a type's own functions and constants stand, by type and name.
    associated: HashMap<(ModuleId, String, String), Vec<FileId>>,
}

impl<'t> Resolver<'t> {
    /// Learns where the types' functions are.
    pub fn new(tree: &'t Tree) -> Self {
        let mut resolver = Self {
            tree,
            associated: HashMap::new(),
        };
        let mut associated = HashMap::new();
        for file in &tree.files {
            resolver.learn(&file.syntax.items, file.module, &mut associated);
        }
        resolver.associated = associated;
        resolver
    }

    fn learn(
        &self,
        items: &[Item],
        module: ModuleId,
        associated: &mut HashMap<(ModuleId, String, String), Vec<FileId>>,
    ) {
        for item in items {
            if let Item::Mod(item) = item {
                let inline = self.tree.inline(module, &item.ident.to_string());
                if let (Some((_, items)), Some(module)) = (&item.content, inline) {
                    self.learn(items, module, associated);
                }
            }
            let Item::Impl(item) = item else { continue };
            let (None, Type::Path(of)) = (&item.trait_, &*item.self_ty) else {
                continue;
            };
            let words: Words = of
                .path
                .segments
                .iter()
                .map(|s| s.ident.to_string())
                .collect();
            for found in self.follow(module, &[], &words) {
                let Found::Item {
                    module: home, name, ..
                } = found
                else {
                    continue;
                };
                for own in &item.items {
                    let own = match own {
                        ImplItem::Fn(own) => own.sig.ident.to_string(),
                        ImplItem::Const(own) => own.ident.to_string(),
                        ImplItem::Type(_) | ImplItem::Macro(_) | ImplItem::Verbatim(_) | _ => {
                            continue;
                        }
                    };
                    let files = associated.entry((home, name.clone(), own)).or_default();
                    files.push(self.tree.module(module).file);
                }
            }
        }
    }

    /// What a path in `module` uses; `blocks` are the names of the blocks around it, outermost first.
    pub fn used(&self, module: ModuleId, blocks: &[Names], words: &[String]) -> Used {
        let found = self.follow(module, blocks, words);
        if found.is_empty() {
            let first = words.first().map_or("", String::as_str);
            let own = is_own(first) || (words.len() > 1 && self.is_module(module, blocks, first));
            return if own { Used::Nowhere } else { Used::Foreign };
        }
        let mut files = BTreeSet::new();
        for found in found {
            let Found::Item { module, name, rest } = found else {
                continue;
            };
            let home = self.tree.module(module).file;
            files.insert(home);
            if let Some(own) = rest.into_iter().next() {
                let with = self.associated.get(&(module, name, own));
                files.extend(with.into_iter().flatten());
            }
        }
        Used::Files(files)
    }

    /// Whether a path that begins with this word goes into one of these crates' modules.
    fn is_module(&self, module: ModuleId, blocks: &[Names], first: &str) -> bool {
        let found = self.follow(module, blocks, &[first.to_owned()]);
        found.iter().any(|found| matches!(found, Found::Module(_)))
    }

    fn follow(&self, module: ModuleId, blocks: &[Names], words: &[String]) -> Vec<Found> {
        let mut open = Open::new();
        for names in blocks.iter().rev() {
            let found = self.in_names(module, names, words, &mut open);
            if !found.is_empty() {
                return found;
            }
        }
        self.from(module, words, &mut open)
    }

    /// Follows a path from its first word.
    fn from(&self, module: ModuleId, words: &[String], open: &mut Open) -> Vec<Found> {
        let Some((first, rest)) = words.split_first() else {
            return Vec::new();
        };
        match first.as_str() {
            "crate" => self.within(self.tree.module(module).root, rest, open),
            "self" => self.within(module, rest, open),
            "super" => {
                let parent = self.tree.module(module).parent;
                parent.map_or_else(Vec::new, |parent| self.within(parent, rest, open))
            }
            "" => self.in_crate(rest, open),
            _ => {
                let own = self.within(module, words, open);
                if own.is_empty() {
                    self.in_crate(words, open)
                } else {
                    own
                }
            }
        }
    }

    fn in_crate(&self, words: &[String], open: &mut Open) -> Vec<Found> {
        words
            .split_first()
            .and_then(|(first, rest)| Some((self.tree.crates.get(first)?, rest)))
            .map_or_else(Vec::new, |(&root, rest)| self.within(root, rest, open))
    }

    /// Follows what is left of a path within a module.
    fn within(&self, module: ModuleId, words: &[String], open: &mut Open) -> Vec<Found> {
        match words.first().map(String::as_str) {
            None => vec![Found::Module(module)],
            Some("self" | "super") => self.from(module, words, open),
            Some(_) => {
                let names = &self.tree.module(module).names;
                self.in_names(module, names, words, open)
            }
        }
    }

    /// Follows a path by the names of a module or of a block in it.
    fn in_names(
        &self,
        module: ModuleId,
        names: &Names,
        words: &[String],
        open: &mut Open,
    ) -> Vec<Found> {
        let Some((name, rest)) = words.split_first() else {
            return Vec::new();
        };
        let item = || Found::Item {
            module,
            name: name.clone(),
            rest: rest.to_vec(),
        };
        let mut found = Vec::new();
        for entry in names.named.get(name).into_iter().flatten() {
            match entry {
                Entry::Module(child) => found.extend(self.within(*child, rest, open)),
                Entry::Leaf if rest.is_empty() => found.push(item()),
                Entry::Leaf => {}
                Entry::Type { .. } => found.push(item()),
                // Not by the path that is being followed already: in `use check::check` the
                // first word isn't what the line itself names.
                Entry::Use(path) if open.insert((module, path.clone())) => {
                    let whole = [path.as_slice(), rest].concat();
                    let led = self.from(module, &whole, open);
                    if led.is_empty() && !is_own(&path[0]) {
                        found.push(Found::Foreign);
                    }
                    found.extend(led);
                    open.remove(&(module, path.clone()));
                }
                Entry::Use(_) => {}
            }
        }
        if !found.is_empty() {
            return found;
        }
        for glob in &names.globs {
            if !open.insert((module, glob.clone())) {
                continue;
            }
            for target in self.from(module, glob, open) {
                match target {
                    Found::Module(opened) => found.extend(self.within(opened, words, open)),
                    // An enum, of which it brings the variants.
                    Found::Item {
                        module, name: of, ..
                    } if self.has_variant(module, &of, name) => {
                        found.push(Found::Item {
                            module,
                            name: of,
                            rest: words.to_vec(),
                        });
                    }
                    Found::Item { .. } | Found::Foreign => {}
                }
            }
            open.remove(&(module, glob.clone()));
        }
        found
    }

    fn has_variant(&self, module: ModuleId, of: &str, variant: &str) -> bool {
        let entries = self.tree.module(module).names.named.get(of);
        entries.into_iter().flatten().any(|entry| match entry {
            Entry::Type { variants } => variants.iter().any(|own| own == variant),
            Entry::Module(_) | Entry::Leaf | Entry::Use(_) => false,
        })
    }
}

/// Whether a path that begins with this word stays in its crate.
fn is_own(first: &str) -> bool {
    ["crate", "self", "super"].contains(&first)
}
