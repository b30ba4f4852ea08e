//! Every path of a file, in code and in what macros are given.

use proc_macro2::{Delimiter, Ident, Spacing, TokenStream, TokenTree};
use syn::visit::{self, Visit};

use super::module_tree::{ModuleId, Tree};
use super::names::{Names, Words, use_leaves};
use super::resolve::{Resolver, Used};
use super::{Foreign, Import};

/// What the paths of all files lead to.
#[derive(Debug, Default)]
pub(super) struct Read {
    pub(super) imports: Vec<Import>,
    pub(super) foreign: Vec<Foreign>,
}

/// Reads all files; the errors name each path that leads nowhere.
pub(super) fn read_paths(tree: &Tree, resolver: &Resolver<'_>) -> Result<Read, Vec<String>> {
    let mut read = Read::default();
    let mut wrong = Vec::new();
    for file in &tree.files {
        let mut reader = PathReader {
            tree,
            resolver,
            file: &file.path,
            module: file.module,
            blocks: Vec::new(),
            in_tests: false,
            read: &mut read,
            wrong: &mut wrong,
        };
        reader.visit_file(&file.syntax);
    }
    if wrong.is_empty() {
        read.imports.sort();
        read.imports.dedup();
        read.foreign.sort();
        read.foreign.dedup();
        Ok(read)
    } else {
        Err(wrong)
    }
}

struct PathReader<'r> {
    tree: &'r Tree,
    resolver: &'r Resolver<'r>,
    file: &'r str,
    module: ModuleId,
    blocks: Vec<Names>,
    /// Inside a module that only tests are built with.
    in_tests: bool,
    read: &'r mut Read,
    wrong: &'r mut Vec<String>,
}

impl PathReader<'_> {
    fn tell(&mut self, words: &[String], line: usize) {
        let path = words.join("::");
        let used = self.resolver.used(self.module, &self.blocks, words);
        let files = match used {
            Used::Files(files) => files,
            Used::Foreign => {
                if !self.in_tests {
                    let from = self.file.to_owned();
                    self.read.foreign.push(Foreign { from, line, path });
                }
                return;
            }
            Used::Nowhere => {
                let at = format!("{}:{line}: `{path}` leads nowhere", self.file);
                return self.wrong.push(at);
            }
        };
        for file in files {
            let to = self.tree.files[file.0].path.clone();
            if to != self.file {
                self.read.imports.push(Import {
                    from: self.file.to_owned(),
                    to,
                    line,
                    path: path.clone(),
                });
            }
        }
    }

    /// Reads the paths in tokens; `before` is the path that a list in braces goes on from.
    fn tokens(&mut self, tokens: TokenStream, before: &[String]) {
        let tokens: Vec<TokenTree> = tokens.into_iter().collect();
        let mut at = 0;
        while let Some(token) = tokens.get(at) {
            if let TokenTree::Ident(_) = token {
                at = self.path_in_tokens(&tokens, at, before);
                continue;
            }
            if let TokenTree::Group(group) = token {
                self.tokens(group.stream(), &[]);
            }
            at += 1;
        }
    }

    /// Reads the path that begins at a word, and returns where it ends.
    fn path_in_tokens(&mut self, tokens: &[TokenTree], mut at: usize, before: &[String]) -> usize {
        let mark = |at: usize, mark| match tokens.get(at) {
            Some(TokenTree::Punct(punct)) => punct.as_char() == mark,
            Some(TokenTree::Group(_) | TokenTree::Ident(_) | TokenTree::Literal(_)) | None => false,
        };
        let follows = |with| at > 0 && mark(at - 1, with);
        let dotted = follows('.') && !(at > 1 && mark(at - 2, '.'));
        let no_path =
            dotted || follows('\'') || (follows('$') && tokens[at].to_string() != "crate");
        let line = tokens[at].span().start().line;
        let mut words = before.to_vec();
        loop {
            match tokens.get(at) {
                Some(TokenTree::Ident(word)) if word == "self" && !words.is_empty() => {}
                Some(TokenTree::Ident(word)) => words.push(plain(word)),
                Some(TokenTree::Group(list)) if list.delimiter() == Delimiter::Brace => {
                    self.tokens(list.stream(), &words);
                    return at + 1;
                }
                Some(TokenTree::Group(_) | TokenTree::Punct(_) | TokenTree::Literal(_)) | None => {
                    break;
                }
            }
            at += 1;
            let joint = matches!(tokens.get(at), Some(TokenTree::Punct(punct))
                if punct.as_char() == ':' && punct.spacing() == Spacing::Joint);
            if !joint || !mark(at + 1, ':') {
                break;
            }
            at += 2;
        }
        if !no_path {
            self.tell(&words, line);
        }
        at
    }
}

impl<'ast> Visit<'ast> for PathReader<'_> {
    fn visit_path(&mut self, path: &'ast syn::Path) {
        let mut words: Words = path.segments.iter().map(|s| plain(&s.ident)).collect();
        if path.leading_colon.is_some() {
            words.insert(0, String::new());
        }
        if let Some(first) = path.segments.first() {
            self.tell(&words, first.ident.span().start().line);
        }
        visit::visit_path(self, path);
    }

    fn visit_token_stream(&mut self, tokens: &'ast TokenStream) {
        self.tokens(tokens.clone(), &[]);
    }

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        for leaf in use_leaves(item) {
            self.tell(&leaf.words, leaf.line);
        }
    }

    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        let around = self.module;
        let outside = self.in_tests;
        self.in_tests |= item.attrs.iter().any(is_for_tests);
        if item.content.is_some() {
            let inline = self.tree.inline(around, &item.ident.to_string());
            self.module = inline.unwrap_or(around);
        }
        visit::visit_item_mod(self, item);
        self.module = around;
        self.in_tests = outside;
    }

    fn visit_block(&mut self, block: &'ast syn::Block) {
        let mut names = Names::default();
        for statement in &block.stmts {
            if let syn::Stmt::Item(item) = statement {
                names.add_item(item);
            }
        }
        self.blocks.push(names);
        visit::visit_block(self, block);
        self.blocks.pop();
    }
}

/// Whether this is `#[cfg(test)]`.
fn is_for_tests(attribute: &syn::Attribute) -> bool {
    attribute.path().is_ident("cfg")
        && attribute
            .parse_args::<Ident>()
            .is_ok_and(|word| word == "test")
}

/// A word without the mark of a raw identifier.
fn plain(word: &Ident) -> String {
    let word = word.to_string();
    word.strip_prefix("r#").map_or(word.clone(), str::to_owned)
}
