//! The names that a module or a block gives to items, and what a `use` says.

use std::collections::HashMap;

use proc_macro2::{Ident, TokenStream, TokenTree};
use syn::{Item, UseTree};

use super::module_tree::ModuleId;

/// A path as it is written, by its words; a leading `::` is an empty word.
pub(super) type Words = Vec<String>;

/// What a name stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Entry {
    /// A module.
    Module(ModuleId),
    /// An item that no path goes on from: a function, a constant, a macro.
    Leaf,
    /// A type or trait; for an enum with its variants.
    Type { variants: Vec<String> },
    /// What another path names.
    Use(Words),
}

/// The names of one module or block.
#[derive(Debug, Default)]
pub(super) struct Names {
    /// Each name with all that it stands for: a type, a value and a macro may share one.
    pub named: HashMap<String, Vec<Entry>>,
    /// What `use path::*` opens.
    pub globs: Vec<Words>,
}

impl Names {
    /// Gives `name` one more meaning.
    pub fn add(&mut self, name: &Ident, entry: Entry) {
        self.named.entry(name.to_string()).or_default().push(entry);
    }

    /// Adds what an item names; modules are the tree's matter.
    pub fn add_item(&mut self, item: &Item) {
        let of_type = || Entry::Type {
            variants: Vec::new(),
        };
        match item {
            Item::Const(item) => self.add(&item.ident, Entry::Leaf),
            Item::Fn(item) => self.add(&item.sig.ident, Entry::Leaf),
            Item::Static(item) => self.add(&item.ident, Entry::Leaf),
            Item::Macro(item) => {
                if let Some(name) = &item.ident {
                    self.add(name, Entry::Leaf);
                }
                self.add_from_tokens(item.mac.tokens.clone());
            }
            Item::Enum(item) => {
                let variants = item.variants.iter().map(|variant| &variant.ident);
                let variants = variants.map(ToString::to_string).collect();
                self.add(&item.ident, Entry::Type { variants });
            }
            Item::Struct(item) => self.add(&item.ident, of_type()),
            Item::Trait(item) => self.add(&item.ident, of_type()),
            Item::Type(item) => self.add(&item.ident, of_type()),
            Item::Union(item) => self.add(&item.ident, of_type()),
            Item::Use(item) => {
                for leaf in use_leaves(item) {
                    match leaf.name {
                        UseName::Glob => self.globs.push(leaf.words),
                        UseName::Named(name) if name != "_" => self
                            .named
                            .entry(name)
                            .or_default()
                            .push(Entry::Use(leaf.words)),
                        UseName::Named(_) => {}
                    }
                }
            }
            // No names, or none that a path goes on from; `syn` may grow more.
            Item::ExternCrate(_)
            | Item::ForeignMod(_)
            | Item::Impl(_)
            | Item::Mod(_)
            | Item::TraitAlias(_)
            | Item::Verbatim(_)
            | _ => {}
        }
    }

    /// Adds the items that a macro is given or made of. One that is made in one file and called in
    /// another had better take their names as arguments.
    fn add_from_tokens(&mut self, tokens: TokenStream) {
        let mut keyword = None;
        for token in tokens {
            match token {
                TokenTree::Ident(word) => match (keyword.take(), word.to_string().as_str()) {
                    (Some(Entry::Leaf), "fn") => keyword = Some(Entry::Leaf),
                    (Some(entry), _) => self.add(&word, entry),
                    (None, "const" | "fn" | "static") => keyword = Some(Entry::Leaf),
                    (None, "enum" | "struct" | "trait" | "type" | "union") => {
                        let variants = Vec::new();
                        keyword = Some(Entry::Type { variants });
                    }
                    (None, _) => {}
                },
                TokenTree::Group(group) => {
                    keyword = None;
                    self.add_from_tokens(group.stream());
                }
                TokenTree::Literal(_) | TokenTree::Punct(_) => keyword = None,
            }
        }
    }
}

/// What a leaf of a `use` is called here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum UseName {
    /// One name.
    Named(String),
    /// Everything in it.
    Glob,
}

/// One path of a `use`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct UseLeaf {
    /// The path.
    pub words: Words,
    /// What it is called here.
    pub name: UseName,
    /// The line that it ends on, from 1.
    pub line: usize,
}

/// Every path of a `use`, its braces opened.
pub(super) fn use_leaves(item: &syn::ItemUse) -> Vec<UseLeaf> {
    let mut leaves = Vec::new();
    let mut words = Words::new();
    if item.leading_colon.is_some() {
        words.push(String::new());
    }
    open(&item.tree, &words, &mut leaves);
    leaves
}

fn open(tree: &UseTree, before: &[String], leaves: &mut Vec<UseLeaf>) {
    let mut words = before.to_vec();
    let mut leaf = |ident: &Ident, called: &Ident| {
        // `{self}` names what stands before it.
        if ident != "self" || words.is_empty() {
            words.push(ident.to_string());
        }
        let name = match words.last() {
            Some(last) if called == "self" => last.clone(),
            _ => called.to_string(),
        };
        leaves.push(UseLeaf {
            words: words.clone(),
            name: UseName::Named(name),
            line: ident.span().start().line,
        });
    };
    match tree {
        UseTree::Name(name) => leaf(&name.ident, &name.ident),
        UseTree::Rename(rename) => leaf(&rename.ident, &rename.rename),
        UseTree::Path(path) => {
            words.push(path.ident.to_string());
            open(&path.tree, &words, leaves);
        }
        UseTree::Glob(glob) => leaves.push(UseLeaf {
            words,
            name: UseName::Glob,
            line: glob.star_token.spans[0].start().line,
        }),
        UseTree::Group(group) => {
            for tree in &group.items {
                open(tree, &words, leaves);
            }
        }
    }
}
