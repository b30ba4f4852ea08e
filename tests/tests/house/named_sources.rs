//! Where figures come from: every table that a test reads and every bundled expectation says so,
//! by title and not by handle.

use hysteron_bench::scenario::bundled::BUNDLED;
use std::fs;
use std::path::{Path, PathBuf};

/// Every table in a folder and in the folders in it.
fn tables(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("the folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            found.extend(tables(&path));
        } else if path.extension().is_some_and(|ending| ending == "csv") {
            found.push(path);
        }
    }
    found
}

/// Whether a word names somebody's account at a host of programs, as `owner/repository` does.
fn is_handle(word: &str) -> bool {
    let word = word.trim_matches(|c: char| !c.is_alphanumeric());
    let is_name =
        |part: &str| part.len() > 3 && part.chars().all(|c| c.is_ascii_lowercase() || c == '-');
    word.split_once('/')
        .is_some_and(|(owner, repository)| is_name(owner) && is_name(repository))
}

#[test]
fn every_table_names_its_source_by_title() {
    assert!(is_handle("(somebody/some-tables,"));
    let tables = tables(&Path::new(env!("CARGO_MANIFEST_DIR")).join("data"));
    assert!(tables.len() > 12, "{} tables", tables.len());
    for path in tables {
        let text = fs::read_to_string(&path).expect("a text");
        let first = text.lines().next().expect("a first line");
        let named = first.strip_prefix("# source: ");
        let source = named.unwrap_or_else(|| panic!("{}: {first}", path.display()));
        let handle = source.split_whitespace().find(|word| is_handle(word));
        assert_eq!(handle, None, "{}", path.display());
    }
}

/// Whether a reason names a source that a person can look up, or says that there is none.
fn names_a_source(because: &str) -> bool {
    let is_year = |word: &str| {
        let word = word.trim_matches(|c: char| !c.is_ascii_digit());
        word.len() == 4 && (word.starts_with("19") || word.starts_with("20"))
    };
    let dated = because.split([' ', ':', '-']).any(is_year);
    let placed = ["section ", "p. ", "table ", "chapter "];
    let honest = ["common practice: ", "(common practice)", "from memory"];
    let derived = ["by design: ", "by the wiring: ", "by this story: "];
    dated
        || placed.iter().any(|place| because.contains(place))
        || honest.iter().any(|words| because.contains(words))
        || derived.iter().any(|words| because.starts_with(words))
}

#[test]
fn every_reason_in_a_bundled_scenario_names_its_source() {
    let vague = "application guidelines of compressor makers: no more than 12 starts in an hour";
    assert!(!names_a_source(vague));
    assert!(!names_a_source("only the temperature tells"));
    let mut judged = 0;
    for bundled in BUNDLED {
        let file: toml::Table = bundled.text.parse().expect("a table");
        for expected in file["expect"].as_array().expect("a list") {
            let Some(because) = expected.get("because") else {
                continue;
            };
            let because = because.as_str().expect("a text");
            assert!(names_a_source(because), "{}: {because}", bundled.name);
            judged += 1;
        }
    }
    assert!(judged > 60, "{judged} reasons");
}
