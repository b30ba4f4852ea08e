//! A format as pages to read in a terminal: every table, every entry of it, and an example.

use std::fmt::Write;

use hysteron_source::form::{Case, Form, Presence, Row, Shape, When};
use hysteron_source::text::any_of;

/// Columns that entries stand in from the margin.
const KEYS: usize = 2;
/// Columns that what is said of them stands in.
const SAID: usize = 6;

/// Every table of a format, the outermost first, each with the key that leads to it.
#[must_use]
pub fn tables(shape: &Shape) -> Vec<(&'static str, Shape)> {
    let mut tables = vec![(shape.name, shape.clone())];
    let mut place = 0;
    while let Some((_, shape)) = tables.get(place) {
        let rows: Vec<Row> = every_row(shape).cloned().collect();
        for row in rows {
            if let Some(nested) = row.form.table()
                && !tables.iter().any(|(_, known)| known.name == nested.name)
            {
                tables.push((row.key, nested.clone()));
            }
        }
        place += 1;
    }
    tables
}

/// A table's entries, those of all its cases included.
fn every_row(shape: &Shape) -> impl Iterator<Item = &Row> {
    let cases = shape.cases.iter();
    shape.rows.iter().chain(cases.flat_map(entries))
}

/// A case's entries, with the one that decides it where only it does.
fn entries(case: &Case) -> impl Iterator<Item = &Row> {
    let decides = match &case.when {
        When::Says { .. } => None,
        When::Has(row) => Some(row),
    };
    decides.into_iter().chain(&case.rows)
}

/// A table's entries, and for each case those that belong to it.
#[must_use]
pub fn table(shape: &Shape, width: usize) -> String {
    let mut page = paragraph(shape.sentence, 0, width);
    page.push('\n');
    for row in &shape.rows {
        entry(row, width, &mut page);
    }
    for case in &shape.cases {
        let heading = match &case.when {
            When::Says { key, words } => format!("{key} = {}", quoted(words)),
            When::Has(row) => format!("{} = …", row.key),
        };
        page.push('\n');
        page += &title(&heading, 0, width);
        page += &paragraph(&case.sentence, KEYS, width);
        for row in entries(case) {
            entry(row, width, &mut page);
        }
    }
    page
}

fn entry(row: &Row, width: usize, page: &mut String) {
    let presence = match &row.presence {
        Presence::Required(_) => "has to be there".to_owned(),
        Presence::Defaults(default) => format!("else {default}"),
        Presence::Optional => "may be left out".to_owned(),
    };
    let heading = format!("{}: {}; {presence}", row.key, form(&row.form));
    *page += &title(&heading, KEYS, width);
    let sentence: Vec<&str> = row.sentence.split_whitespace().collect();
    *page += &paragraph(&sentence.join(" "), SAID, width);
}

/// What a value may be, in words.
fn form(form: &Form) -> String {
    match form {
        Form::Text => "a text".to_owned(),
        Form::Line { longest } => format!("a line of 1 to {longest} characters"),
        Form::Flag => "true or false".to_owned(),
        Form::Number { least, most, unit } => format!("a number from {least} to {most} {unit}")
            .trim_end()
            .to_owned(),
        Form::Whole { least, most } => format!("a whole number from {least} to {most}"),
        Form::OneOf(numbers) => {
            let numbers: Vec<String> = numbers.iter().map(i64::to_string).collect();
            any_of(&numbers.iter().map(String::as_str).collect::<Vec<_>>())
        }
        Form::Words(words) => quoted(words),
        Form::Quantity {
            what,
            example,
            range,
            ..
        } => {
            let range = range
                .as_ref()
                .map(|(least, most)| format!(", {least} to {most}"));
            format!("{what} such as \"{example}\"{}", range.unwrap_or_default())
        }
        Form::Either(forms) => {
            let forms: Vec<String> = forms.iter().map(self::form).collect();
            forms.join(", or ")
        }
        Form::List { of, least, most } => {
            format!("a list of {least} to {most}, each {}", self::form(of))
        }
        Form::Table(shape) => format!("a table ({})", shape.name),
        Form::Tables { of, .. } => format!("tables, [[...]] ({})", of.name),
        Form::Named(shape) => format!("tables under names of their own ({})", shape.name),
    }
}

fn quoted(words: &[&str]) -> String {
    let words: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
    any_of(&words.iter().map(String::as_str).collect::<Vec<_>>())
}

/// The tables of an example that one of these keys leads to, each with its header; empty where it
/// has none.
#[must_use]
pub fn excerpt(example: &str, key: &str) -> String {
    let header = |line: &str| line.starts_with('[');
    let leads = |line: &str| {
        let path = line.trim_matches(['[', ']']);
        path.split('.').any(|part| part == key)
    };
    let mut shown = String::new();
    let mut within = false;
    for line in example.lines() {
        if header(line) {
            within = leads(line);
        }
        if within {
            writeln!(shown, "  {line}").unwrap_or_else(|_| unreachable!("memory takes it"));
        }
    }
    shown.trim_end().to_owned()
}

/// A paragraph within so many columns.
#[must_use]
pub fn paragraph(text: &str, indent: usize, width: usize) -> String {
    wrapped(text, (indent, indent), width)
}

/// A title within so many columns; its further lines stand further in than what is said below it.
#[must_use]
pub fn title(text: &str, indent: usize, width: usize) -> String {
    wrapped(text, (indent, indent + 2 * (SAID - KEYS)), width)
}

/// Text within so many columns; what is quoted stays together.
fn wrapped(text: &str, (first, further): (usize, usize), width: usize) -> String {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in words(text) {
        let indent = if lines.is_empty() { first } else { further };
        let columns = indent + line.chars().count() + 1 + word.chars().count();
        if !line.is_empty() && columns > width {
            lines.push(format!("{}{line}\n", " ".repeat(indent)));
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line += word;
    }
    let indent = if lines.is_empty() { first } else { further };
    lines.push(format!("{}{line}\n", " ".repeat(indent)));
    lines.concat()
}

/// What lines may be broken between: spaces that are not within quotes.
fn words(text: &str) -> impl Iterator<Item = &str> {
    let mut quote = None;
    text.split(move |sign| {
        match (quote, sign) {
            (None, '"' | '`') => quote = Some(sign),
            (Some(open), _) if open == sign => quote = None,
            (None | Some(_), _) => {}
        }
        sign == ' ' && quote.is_none()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_keep_to_their_columns() {
        assert_eq!(paragraph("one two three", 1, 8), " one two\n three\n");
        assert_eq!(paragraph("unbreakable", 0, 4), "unbreakable\n");
        assert_eq!(paragraph("a \"b c\" d", 0, 6), "a\n\"b c\"\nd\n");
        assert_eq!(
            title("one two three", 2, 8),
            "  one\n          two\n          three\n"
        );
    }

    #[test]
    fn an_excerpt_has_the_tables_of_its_key() {
        let example = "title = 1\n[plant]\na = 1\n\n[plant.compressor]\nb = 2\n[[expect]]\nc = 3\n";
        assert_eq!(
            excerpt(example, "plant"),
            "  [plant]\n  a = 1\n  \n  [plant.compressor]\n  b = 2"
        );
        assert_eq!(
            excerpt(example, "compressor"),
            "  [plant.compressor]\n  b = 2"
        );
        assert_eq!(excerpt(example, "probe"), "");
    }
}
