//! TOML tables read key by key, with a place for every complaint.
//!
//! A [`Table`] hands out the entries that its reader asks for. Whatever nobody
//! asked for is unknown, and [`Table::finish`] says so with the nearest name
//! that was asked for. A wrong entry is noted in [`Problems`] and reads as
//! absent, so that one look finds all the mistakes.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::item::Item;
use crate::text::{Problem, Problems, Rejected, SourceText, any_of, nearest};

/// A TOML document that obeys the grammar.
#[derive(Debug)]
pub struct Document<'s> {
    source: &'s SourceText,
    root: Spanned<DeTable<'s>>,
}

impl<'s> Document<'s> {
    /// Parses the text.
    ///
    /// # Errors
    /// With every place where the grammar is broken, or when the text holds nothing.
    pub fn parse(source: &'s SourceText) -> Result<Self, Rejected> {
        if source.text().trim().is_empty() {
            let problem = Problem::at(0..0, "the file is empty");
            return Err(
                source.rejected(vec![problem.remedy("start from one of the bundled files")])
            );
        }
        let (root, errors) = DeTable::parse_recoverable(source.text());
        if errors.is_empty() {
            return Ok(Self { source, root });
        }
        Err(source.rejected(grammar_problems(source, &errors)))
    }

    /// The text this was parsed from.
    #[must_use]
    pub fn source(&self) -> &'s SourceText {
        self.source
    }

    /// The outermost table.
    pub fn table<'d>(&'d self, problems: &'d Problems) -> Table<'d> {
        Table::over(String::new(), 0..0, self.root.get_ref(), problems)
    }
}

/// One problem for each line: after a broken value the parser stumbles over the rest of it.
fn grammar_problems(source: &SourceText, errors: &[toml::de::Error]) -> Vec<Problem> {
    let problems = Problems::default();
    let mut stumbled_until = None;
    for error in errors {
        let place = error.span().unwrap_or(0..0);
        if stumbled_until.is_some_and(|end| place.start <= end) || problems.is_full() {
            continue;
        }
        let rest = source.text().get(place.start..).unwrap_or_default();
        stumbled_until = Some(place.start + rest.find('\n').unwrap_or(rest.len()));
        let mut lines = error.message().lines();
        let what = lines.next().unwrap_or_default();
        let problem = if what.contains("recur") {
            Problem::at(place, "nested too deeply").expected("lists or tables within each other")
        } else if what == "duplicate key" {
            let key = source.text().get(place.clone()).unwrap_or_default();
            Problem::at(place, format!("`{key}` is given twice"))
                .remedy("keep one; where a file may hold several tables, each is written [[...]]")
        } else {
            let expected: Vec<&str> = lines.filter(|line| *line != "expected nothing").collect();
            Problem::at(place, format!("not TOML: {what}")).expected(expected.join(", "))
        };
        problems.add(problem);
    }
    problems.into_sorted()
}

/// A table being read.
#[derive(Debug)]
pub struct Table<'d> {
    name: String,
    span: Range<usize>,
    entries: &'d DeTable<'d>,
    asked: Vec<&'static str>,
    problems: &'d Problems,
}

impl<'d> Table<'d> {
    /// A table of these entries, which messages call `name`.
    pub(crate) fn over(
        name: String,
        span: Range<usize>,
        entries: &'d DeTable<'d>,
        problems: &'d Problems,
    ) -> Self {
        Self {
            name,
            span,
            entries,
            asked: Vec::new(),
            problems,
        }
    }

    /// Where the table stands: its header, or its braces.
    #[must_use]
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Where problems of this table are noted.
    #[must_use]
    pub fn problems(&self) -> &'d Problems {
        self.problems
    }

    /// The entry under `key`, if it is there.
    pub fn optional(&mut self, key: &'static str) -> Option<Item<'d>> {
        self.asked.push(key);
        self.entries
            .get_key_value(key)
            .map(|(name, value)| Item::under(key, name.span(), value, self.problems))
    }

    /// The entry under `key`; its absence is a problem, and `example` shows how to write it.
    pub fn required(&mut self, key: &'static str, example: &str) -> Option<Item<'d>> {
        let item = self.optional(key);
        if item.is_none() {
            self.missing(key, example);
        }
        item
    }

    /// Notes that `key` is missing; `example` shows how to write it.
    pub fn missing(&self, key: &str, example: &str) {
        let problem = if self.name.is_empty() {
            Problem::in_general(format!("the file lacks `{key}`"))
        } else {
            Problem::at(self.span.clone(), format!("{} lacks `{key}`", self.name))
        };
        self.problems
            .add(problem.remedy(format!("add `{key} = {example}`")));
    }

    /// Every entry in turn, under names that are the writer's own to choose.
    pub fn every(&mut self) -> Vec<(Spanned<String>, Item<'d>)> {
        let entries = self.entries;
        entries
            .iter()
            .map(|(name, value)| {
                let named = Spanned::new(name.span(), name.get_ref().to_string());
                (
                    named,
                    Item::under("entry", name.span(), value, self.problems),
                )
            })
            .collect()
    }

    /// Ends the reading: what nobody asked for is unknown.
    pub fn finish(self) {
        let place = if self.name.is_empty() {
            "this file".to_owned()
        } else {
            self.name
        };
        for name in self.entries.keys() {
            let written = name.get_ref().as_ref();
            if self.asked.contains(&written) {
                continue;
            }
            if self.problems.is_full() {
                break;
            }
            let mut problem = Problem::at(name.span(), format!("{place} has no `{written}`"));
            problem = match nearest(written, self.asked.iter().copied()) {
                Some(meant) => problem.remedy(format!("did you mean `{meant}`?")),
                None => problem.remedy(format!("known here: {}", any_of(&self.asked))),
            };
            self.problems.add(problem.expected("unknown name"));
        }
    }
}

impl<'d> Item<'d> {
    /// A table, which messages call `name`: its header, or what it holds.
    #[must_use]
    pub fn table(&self, name: impl Into<String>) -> Option<Table<'d>> {
        let name = name.into();
        match self.value.get_ref().as_table() {
            Some(entries) => Some(Table::over(name, self.span(), entries, self.problems)),
            None if name.starts_with('[') => self.wrong_kind(&format!("a table: write {name}")),
            None => self.wrong_kind("a table: write { ... }"),
        }
    }

    /// The tables of `[[key]]`, which messages call `name`.
    #[must_use]
    pub fn tables(&self, name: &str) -> Option<Vec<Table<'d>>> {
        let DeValue::Array(_) = self.value.get_ref() else {
            return self.wrong_kind(&format!("a list of tables: write [[{}]]", self.key));
        };
        Some(
            self.list()?
                .iter()
                .filter_map(|item| item.table(name))
                .collect(),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rejected(text: &str, read: impl FnOnce(&mut Table<'_>)) -> String {
        let source = SourceText::new("x.toml", text).expect("short");
        let document = match Document::parse(&source) {
            Ok(document) => document,
            Err(rejected) => return rejected.to_string(),
        };
        let problems = Problems::default();
        let mut table = document.table(&problems);
        read(&mut table);
        table.finish();
        source.rejected(problems.into_sorted()).to_string()
    }

    #[test]
    fn several_mistakes_are_found_in_one_look() {
        let text = "title = 3\nsteps = \"x\"\nlevel = 9\ncolor = true\n[[part]]\n[[part]]\nkind = \"lmap\"\n";
        let shown = rejected(text, |table| {
            table
                .required("title", "\"...\"")
                .and_then(|item| item.text());
            table.optional("step");
            table.optional("level").and_then(|item| item.whole(0, 5));
            table
                .required("colour", "true")
                .and_then(|item| item.flag());
            for mut part in table
                .optional("part")
                .and_then(|item| item.tables("[[part]]"))
                .unwrap_or_default()
            {
                part.required("kind", "\"lamp\"")
                    .and_then(|item| item.one_of(&[("lamp", 1), ("fuse", 2)]));
                part.finish();
            }
        });
        for part in [
            "x.toml:1:9",
            "expected a text in quotes",
            "x.toml:2:1",
            "did you mean `step`?",
            "x.toml:3:9",
            "a whole number from 0 to 5",
            "x.toml:4:1",
            "did you mean `colour`?",
            "the file lacks `colour`",
            "x.toml:5:1",
            "[[part]] lacks `kind`",
            "x.toml:7:8",
            "did you mean \"lamp\"?",
        ] {
            assert!(shown.contains(part), "{part} is not in\n{shown}");
        }
    }

    #[test]
    fn depth_and_number_of_mistakes_are_bounded() {
        let deep = [
            format!("x = {}", "[".repeat(100_000)),
            format!("x = {}", "{a = ".repeat(100_000)),
            format!("[{}a]", "a.".repeat(100_000)),
            format!("{}a = 1", "\"a\".".repeat(100_000)),
        ];
        for text in deep {
            let shown = rejected(&text, |_| ());
            assert!(shown.contains("nested too deeply"), "{shown}");
            assert!(shown.len() < 2_000, "{} bytes", shown.len());
        }
        let many: String = (0..80_000).map(|n| format!("k{n} = 1\n")).collect();
        assert!(rejected(&many, |_| ()).contains("more problems follow"));
        assert!(rejected(&"=\n".repeat(300_000), |_| ()).contains("more problems follow"));
    }

    #[test]
    fn numbers_keep_to_their_range() {
        for text in [
            "x = 1e999",
            "x = nan",
            "x = -0.1",
            "x = 99999999999999999999",
            "x = 0xffff_ffff_f",
        ] {
            let shown = rejected(text, |table| {
                let number = table
                    .required("x", "1")
                    .and_then(|item| item.number(0.0, 9.0));
                assert_eq!(number, None);
            });
            assert!(shown.contains("a number from 0 to 9"), "{shown}");
        }
    }
}
