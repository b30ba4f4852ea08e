//! A format as a JSON Schema, for editors and other programs.
//!
//! Sources: JSON Schema, draft 2020-12; TOML is taken for the JSON of the same structure, as
//! language servers do. A schema tells what a file may look like. Whether it makes sense, such as
//! whether an end comes after its beginning, only the reader can tell.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};

use hysteron_source::form::{Case, Form, Presence, Row, Shape, When};

/// The dialect that the schemas are written in.
const DIALECT: &str = "https://json-schema.org/draft/2020-12/schema";

/// The schema of a file of this shape.
#[must_use]
pub fn schema(shape: &Shape) -> Value {
    let mut definitions = Definitions::default();
    let mut schema = table(shape, &mut definitions);
    schema.insert("$schema".to_owned(), json!(DIALECT));
    schema.insert(
        "title".to_owned(),
        json!(format!("Hysteron {}", shape.name)),
    );
    schema.insert("$defs".to_owned(), json!(definitions.0));
    Value::Object(schema)
}

/// The tables met so far, each described once under its name.
#[derive(Default)]
struct Definitions(BTreeMap<&'static str, Value>);

impl Definitions {
    /// A reference to a table of this shape.
    fn refer(&mut self, shape: &Shape) -> Value {
        if !self.0.contains_key(shape.name) {
            self.0.insert(shape.name, Value::Null);
            let described = Value::Object(table(shape, self));
            self.0.insert(shape.name, described);
        }
        json!({ "$ref": format!("#/$defs/{}", shape.name) })
    }
}

/// A table: its own entries, and for each case those that belong to it.
fn table(shape: &Shape, definitions: &mut Definitions) -> Map<String, Value> {
    let in_any_case = shape.cases.iter().flat_map(entries);
    let rows: Vec<&Row> = shape.rows.iter().chain(in_any_case).collect();
    let mut schema = Map::new();
    schema.insert("type".to_owned(), json!("object"));
    schema.insert("description".to_owned(), json!(shape.sentence));
    schema.insert(
        "properties".to_owned(),
        json!(properties(&rows, definitions)),
    );
    schema.insert("additionalProperties".to_owned(), json!(false));
    require(&shape.rows, &mut schema);
    if !shape.cases.is_empty() {
        let cases: Vec<Value> = shape
            .cases
            .iter()
            .map(|case| only_if(case, shape, definitions))
            .collect();
        schema.insert("allOf".to_owned(), json!(cases));
    }
    let deciding = deciding_keys(shape);
    if !deciding.is_empty() {
        let one: Vec<Value> = deciding
            .iter()
            .map(|key| json!({ "required": [key] }))
            .collect();
        schema.insert("oneOf".to_owned(), json!(one));
    }
    schema
}

/// The entries of a case, the one that decides it included.
fn entries(case: &Case) -> impl Iterator<Item = &Row> {
    let decides = match &case.when {
        When::Says { .. } => None,
        When::Has(row) => Some(row),
    };
    decides.into_iter().chain(&case.rows)
}

const fn key_of(case: &Case) -> &'static str {
    match &case.when {
        When::Says { key, .. } => key,
        When::Has(row) => row.key,
    }
}

/// The keys of which exactly one has to be there, where the table itself requires none of them.
fn deciding_keys(shape: &Shape) -> Vec<&'static str> {
    let mut keys: Vec<&'static str> = Vec::new();
    for key in shape.cases.iter().map(key_of) {
        let own = shape.rows.iter().any(|row| row.key == key);
        if !own && !keys.contains(&key) {
            keys.push(key);
        }
    }
    keys
}

/// What holds where a case applies: its own entries and those of every case, and no others.
fn only_if(case: &Case, shape: &Shape, definitions: &mut Definitions) -> Value {
    let applies = match &case.when {
        When::Says { key, words } => json!({
            "properties": { *key: { "enum": words } },
            "required": [key],
        }),
        When::Has(row) => json!({ "required": [row.key] }),
    };
    let own: Vec<&Row> = entries(case).collect();
    let mut allowed = properties(&own, definitions);
    for row in &shape.rows {
        allowed.entry(row.key).or_insert(json!(true));
    }
    let mut then = Map::new();
    then.insert("description".to_owned(), json!(case.sentence));
    then.insert("properties".to_owned(), json!(allowed));
    then.insert("additionalProperties".to_owned(), json!(false));
    require(&case.rows, &mut then);
    json!({ "if": applies, "then": then })
}

fn require(rows: &[Row], schema: &mut Map<String, Value>) {
    let required: Vec<&str> = rows
        .iter()
        .filter(|row| matches!(row.presence, Presence::Required(_)))
        .map(|row| row.key)
        .collect();
    if !required.is_empty() {
        schema.insert("required".to_owned(), json!(required));
    }
}

/// Each key once; a key that means different things in different cases may be any of them.
fn properties(rows: &[&Row], definitions: &mut Definitions) -> Map<String, Value> {
    let mut all: Map<String, Value> = Map::new();
    for row in rows {
        let wanted = property(row, definitions);
        match all.get_mut(row.key) {
            None => {
                all.insert(row.key.to_owned(), wanted);
            }
            Some(known) if *known == wanted => {}
            Some(known) => match known.get_mut("anyOf") {
                Some(Value::Array(several)) if !several.contains(&wanted) => several.push(wanted),
                Some(_) => {}
                None => *known = json!({ "anyOf": [known.clone(), wanted] }),
            },
        }
    }
    all
}

fn property(row: &Row, definitions: &mut Definitions) -> Value {
    let mut schema = form(&row.form, definitions);
    let about = [row.sentence.trim(), &range(&row.form)].join(" ");
    schema["description"] = json!(about.trim_end());
    match &row.presence {
        Presence::Defaults(default) => {
            if let Some(default) = as_json(default) {
                schema["default"] = default;
            }
        }
        Presence::Required(example) => {
            if let Some(example) = as_json(example) {
                schema["examples"] = json!([example]);
            }
        }
        Presence::Optional => {}
    }
    schema
}

/// A value as TOML writes it; none where it is only hinted at, as in `{ ... }`.
fn as_json(toml: &str) -> Option<Value> {
    let value: toml::Value = toml.parse().ok()?;
    serde_json::to_value(value).ok()
}

/// From what to what, and in which unit, where a schema has no words for it.
fn range(form: &Form) -> String {
    match form {
        Form::Quantity {
            range: Some((least, most)),
            ..
        } => format!("From {least} to {most}."),
        Form::Number { unit, .. } if !unit.is_empty() => format!("In {unit}."),
        Form::Either(forms) => forms
            .iter()
            .map(range)
            .find(|range| !range.is_empty())
            .unwrap_or_default(),
        Form::Text
        | Form::Line { .. }
        | Form::Flag
        | Form::Number { .. }
        | Form::Whole { .. }
        | Form::OneOf(_)
        | Form::Words(_)
        | Form::Quantity { .. }
        | Form::List { .. }
        | Form::Table(_)
        | Form::Tables { .. }
        | Form::Named(_) => String::new(),
    }
}

fn form(form: &Form, definitions: &mut Definitions) -> Value {
    match form {
        Form::Text => json!({ "type": "string" }),
        Form::Line { longest } => json!({
            "type": "string",
            "minLength": 1,
            "maxLength": longest,
            "pattern": r"^[^\n\r]*$",
        }),
        Form::Flag => json!({ "type": "boolean" }),
        Form::Number { least, most, .. } => json!({
            "type": "number",
            "minimum": least,
            "maximum": most,
        }),
        Form::Whole { least, most } => json!({
            "type": "integer",
            "minimum": least,
            "maximum": most,
        }),
        Form::OneOf(numbers) => json!({ "enum": numbers }),
        Form::Words(words) => json!({ "type": "string", "enum": words }),
        Form::Quantity {
            pattern, example, ..
        } => json!({
            "type": "string",
            "pattern": pattern,
            "examples": [example],
        }),
        Form::Either(forms) => {
            let forms: Vec<Value> = forms
                .iter()
                .map(|one| self::form(one, definitions))
                .collect();
            json!({ "anyOf": forms })
        }
        Form::List { of, least, most } => json!({
            "type": "array",
            "items": self::form(of, definitions),
            "minItems": least,
            "maxItems": most,
        }),
        Form::Table(shape) => definitions.refer(shape),
        Form::Tables { of, most } => json!({
            "type": "array",
            "items": definitions.refer(of),
            "maxItems": most,
        }),
        Form::Named(shape) => json!({
            "type": "object",
            "additionalProperties": definitions.refer(shape),
        }),
    }
}
