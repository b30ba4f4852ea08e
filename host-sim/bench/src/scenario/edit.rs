//! Changes to a scenario's text that leave everything else, comments too, as it is.
//!
//! A path names one entry as a person would: `control.setpoint`, `seed`,
//! `happening.2.at` (the second happening; counted from 1).

use std::fmt;

use toml_edit::{DocumentMut, Item, Value};

/// One change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Edit {
    /// The entry at this path gets this value: a number, `true`, `false` or a list
    /// as TOML writes it, anything else as a text ("2 K").
    Set {
        /// Which entry.
        path: String,
        /// Its value.
        value: String,
    },
    /// The entry at this path goes.
    Remove {
        /// Which entry.
        path: String,
    },
}

/// Why a change cannot be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EditRefused {
    /// The text is not TOML.
    NotToml,
    /// The path is empty, or a part of it is.
    EmptyPath,
    /// There is nothing at the path, or nothing that could hold the next part of it.
    NoSuchEntry {
        /// As far as the path could be followed, and one part further.
        path: String,
    },
}

impl fmt::Display for EditRefused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotToml => f.write_str("the scenario is not TOML; run it without changes to see where"),
            Self::EmptyPath => f.write_str(
                "the path is empty, or a part of it; a path looks like control.setpoint or happening.2.at",
            ),
            Self::NoSuchEntry { path } => write!(
                f,
                "the scenario has no {path}; a path looks like control.setpoint or happening.2.at"
            ),
        }
    }
}

impl std::error::Error for EditRefused {}

/// The text with these changes, made one after the other.
///
/// # Errors
/// When a change cannot be made. Whether the result is a sensible scenario is not judged here.
pub fn edited(text: &str, edits: &[Edit]) -> Result<String, EditRefused> {
    let mut document: DocumentMut = text.parse().map_err(|_| EditRefused::NotToml)?;
    for edit in edits {
        match edit {
            Edit::Set { path, value } => set(document.as_item_mut(), path, value)?,
            Edit::Remove { path } => remove(document.as_item_mut(), path)?,
        }
    }
    Ok(document.to_string())
}

fn set(root: &mut Item, path: &str, text: &str) -> Result<(), EditRefused> {
    let (holder, last) = holder(root, path, Absent::Made)?;
    let mut value: Value = written_value(text);
    let slot = if let Some(place) = holder.as_value_mut().and_then(Value::as_array_mut) {
        place_in(last, place.len()).and_then(|index| place.get_mut(index))
    } else {
        let table = holder.as_table_like_mut().ok_or_else(|| no_such(path))?;
        match table.get_mut(last) {
            Some(Item::Value(present)) => Some(present),
            Some(Item::None) | None => {
                table.insert(last, Item::Value(value));
                return Ok(());
            }
            Some(Item::Table(_) | Item::ArrayOfTables(_)) => None,
        }
    };
    let present = slot.ok_or_else(|| no_such(path))?;
    *value.decor_mut() = present.decor().clone();
    *present = value;
    Ok(())
}

fn remove(root: &mut Item, path: &str) -> Result<(), EditRefused> {
    let (holder, last) = holder(root, path, Absent::Refused)?;
    let removed = if let Some(tables) = holder.as_array_of_tables_mut() {
        place_in(last, tables.len())
            .map(|index| tables.remove(index))
            .is_some()
    } else if let Some(array) = holder.as_value_mut().and_then(Value::as_array_mut) {
        place_in(last, array.len())
            .map(|index| array.remove(index))
            .is_some()
    } else {
        holder
            .as_table_like_mut()
            .and_then(|table| table.remove(last))
            .is_some()
    };
    if removed { Ok(()) } else { Err(no_such(path)) }
}

/// What becomes of tables that a path names and the text lacks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Absent {
    Made,
    Refused,
}

/// What holds the entry that a path names, and the last part of the path.
fn holder<'i, 'p>(
    root: &'i mut Item,
    path: &'p str,
    absent: Absent,
) -> Result<(&'i mut Item, &'p str), EditRefused> {
    let parts: Vec<&str> = path.split('.').map(str::trim).collect();
    if parts.iter().any(|part| part.is_empty()) {
        return Err(EditRefused::EmptyPath);
    }
    let (last, before) = parts.split_last().ok_or(EditRefused::EmptyPath)?;
    let mut item = root;
    for (depth, part) in before.iter().enumerate() {
        let followed = || no_such(&parts[..=depth].join("."));
        item = match item {
            Item::ArrayOfTables(_) | Item::Value(Value::Array(_)) => {
                let length = match item {
                    Item::ArrayOfTables(tables) => tables.len(),
                    Item::Value(Value::Array(array)) => array.len(),
                    Item::None | Item::Value(_) | Item::Table(_) => 0,
                };
                let index = place_in(part, length).ok_or_else(followed)?;
                item.get_mut(index).ok_or_else(followed)?
            }
            Item::None | Item::Value(_) | Item::Table(_) => {
                let table = item.as_table_like_mut().ok_or_else(followed)?;
                if absent == Absent::Made && table.get(part).is_none() {
                    table.insert(part, toml_edit::table());
                }
                table.get_mut(part).ok_or_else(followed)?
            }
        };
    }
    Ok((item, last))
}

/// A place counted from 1, as an index.
fn place_in(part: &str, length: usize) -> Option<usize> {
    let index = part.parse::<usize>().ok()?.checked_sub(1)?;
    (index < length).then_some(index)
}

fn written_value(text: &str) -> Value {
    match text.trim().parse::<Value>() {
        Ok(mut value) if !value.is_datetime() => {
            value.decor_mut().clear();
            value
        }
        Ok(_) | Err(_) => Value::from(text),
    }
}

fn no_such(path: &str) -> EditRefused {
    EditRefused::NoSuchEntry {
        path: path.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "\
# The demonstration.
title = \"x\" # short

[control]
setpoint = \"2 °C\"   # as the health office asks
[[happening]]
at = \"09:00\"
[[happening]]
at = \"10:00\" # the second
settings = { setpoint = \"4 °C\" }
[[expect]]
order = [\"probe open\", \"relay opened\"]
";

    fn set(path: &str, value: &str) -> Result<String, EditRefused> {
        edited(
            TEXT,
            &[Edit::Set {
                path: path.to_owned(),
                value: value.to_owned(),
            }],
        )
    }

    fn remove(path: &str) -> Result<String, EditRefused> {
        edited(
            TEXT,
            &[Edit::Remove {
                path: path.to_owned(),
            }],
        )
    }

    #[test]
    fn only_the_entry_named_is_changed() {
        for (path, value, from, to) in [
            (
                "control.setpoint",
                "3 °C",
                "\"2 °C\"   # as",
                "\"3 °C\"   # as",
            ),
            (
                "happening.2.at",
                "11:00",
                "\"10:00\" # the",
                "\"11:00\" # the",
            ),
            (
                "happening.2.settings.setpoint",
                "5 °C",
                "\"4 °C\" }",
                "\"5 °C\" }",
            ),
            (
                "expect.1.order.2",
                "relay closed",
                "\"relay opened\"",
                "\"relay closed\"",
            ),
        ] {
            assert_eq!(set(path, value), Ok(TEXT.replace(from, to)), "{path}");
        }
        let longer = set("seed", "7").expect("a new entry");
        assert!(longer.contains("seed = 7\n"), "{longer}");
        assert!(longer.contains("title = \"x\" # short"), "{longer}");
    }

    #[test]
    fn a_table_that_is_not_there_yet_is_made() {
        let longer = set("probe.lag", "1 s").expect("a new table");
        assert!(longer.starts_with(TEXT.trim_end()), "{longer}");
        assert!(longer.ends_with("\n[probe]\nlag = \"1 s\"\n"), "{longer}");
    }

    #[test]
    fn an_entry_or_a_whole_happening_goes() {
        assert_eq!(
            remove("happening.1"),
            Ok(TEXT.replace("[[happening]]\nat = \"09:00\"\n", ""))
        );
        let without = remove("control.setpoint").expect("it is there");
        assert!(
            !without.contains("2 °C") && without.contains("[control]"),
            "{without}"
        );
    }

    #[test]
    fn a_path_that_leads_nowhere_says_how_far_it_led() {
        let nowhere = |path: &str| {
            Err(EditRefused::NoSuchEntry {
                path: path.to_owned(),
            })
        };
        assert_eq!(set("happening.3.at", "1"), nowhere("happening.3"));
        assert_eq!(set("happening.0.at", "1"), nowhere("happening.0"));
        assert_eq!(remove("probe.lag"), nowhere("probe"));
        assert_eq!(set("control", "1"), nowhere("control"));
        assert_eq!(set("title.x", "1"), nowhere("title.x"));
        assert_eq!(remove("seed"), nowhere("seed"));
        assert_eq!(set("control..x", "1"), Err(EditRefused::EmptyPath));
        assert_eq!(set("", "1"), Err(EditRefused::EmptyPath));
        assert_eq!(edited("=", &[]), Err(EditRefused::NotToml));
    }
}
