//! Holds a parsed text against the JSON Schema, so that the published schema and what is read cannot differ.
//! Covers the keywords that the schema uses: `$ref`, `anyOf`, `type`, `properties`, `required`,
//! `additionalProperties`, `items`, `minItems`, `maxItems`, `enum` and the four bounds of a number.

use std::ops::Range;

use serde_json::Value;
use toml::Spanned;
use toml::de::{DeArray, DeInteger, DeTable, DeValue};

use super::fault::{FaultCode, Report};
use super::words;

/// Reports all in `file` that `schema` does not allow.
pub(super) fn check(file: &Spanned<DeTable<'_>>, schema: &Value, report: &mut Report<'_>) {
    Form { root: schema, report }.table(file.get_ref(), &file.span(), schema, "the file");
}

/// Where a value stands: its key, and what the schema says about it.
struct Slot<'k> {
    key: &'k str,
    about: &'k str,
}

struct Form<'s, 'r, 't> {
    root: &'s Value,
    report: &'r mut Report<'t>,
}

impl<'s> Form<'s, '_, '_> {
    fn table(&mut self, table: &DeTable<'_>, span: &Range<usize>, schema: &'s Value, what: &str) {
        self.require_keys(table, span, schema, what);
        for (key, value) in table {
            match schema_of_key(schema, key.get_ref()) {
                Some(of_key) => self.value(value, of_key, &Slot { key: key.get_ref(), about: description(of_key) }),
                None => self.unknown_key(key, schema, what),
            }
        }
    }

    fn require_keys(&mut self, table: &DeTable<'_>, span: &Range<usize>, schema: &'s Value, what: &str) {
        let required = schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str);
        for key in required.filter(|key| table.get(*key).is_none()) {
            let help = format!("add `{key}`: {}", description(&schema["properties"][key]));
            self.report.add(FaultCode::MissingKey, span, format!("`{key}` is missing in {what}"), help);
        }
    }

    fn unknown_key(&mut self, key: &Spanned<std::borrow::Cow<'_, str>>, schema: &'s Value, what: &str) {
        let known = schema["properties"].as_object().into_iter().flat_map(|keys| keys.keys().map(String::as_str));
        let help = words::suggest(key.get_ref(), "keys here", known);
        self.report.add(FaultCode::UnknownKey, &key.span(), format!("{what} has no key `{}`", key.get_ref()), help);
    }

    fn value(&mut self, value: &Spanned<DeValue<'_>>, schema: &'s Value, slot: &Slot<'_>) {
        let options = self.options(schema);
        let Some(fitting) = options.iter().copied().find(|option| has_type(value.get_ref(), option)) else {
            return self.wrong_type(value, &options, slot);
        };
        let span = value.span();
        match value.get_ref() {
            DeValue::Table(table) => self.table(table, &span, fitting, &format!("`{}`", slot.key)),
            DeValue::Array(array) => self.array(array, &span, fitting, slot),
            DeValue::Integer(number) => self.number(integer(number), &span, fitting, slot),
            DeValue::Float(number) => self.number(number.as_str().parse().ok(), &span, fitting, slot),
            DeValue::String(text) => self.word(text, &span, fitting, slot),
            DeValue::Boolean(_) | DeValue::Datetime(_) => {}
        }
    }

    /// The alternatives of a schema, followed to where they are defined.
    fn options(&self, schema: &'s Value) -> Vec<&'s Value> {
        match schema["anyOf"].as_array() {
            Some(options) => options.iter().map(|option| self.definition(option)).collect(),
            None => vec![self.definition(schema)],
        }
    }

    fn definition(&self, schema: &'s Value) -> &'s Value {
        let pointer = schema["$ref"].as_str().and_then(|reference| reference.strip_prefix('#'));
        pointer.and_then(|pointer| self.root.pointer(pointer)).unwrap_or(schema)
    }

    fn wrong_type(&mut self, value: &Spanned<DeValue<'_>>, options: &[&Value], slot: &Slot<'_>) {
        let wanted: Vec<&str> = options.iter().filter_map(|option| option["type"].as_str()).map(in_words).collect();
        let (Slot { key, about }, wanted) = (slot, wanted.join(" or "));
        let message = format!("`{key}` is {}, not {wanted}", kind_of(value.get_ref()));
        self.report.add(FaultCode::WrongType, &value.span(), message, format!("`{key}` takes {wanted}: {about}"));
    }

    fn array(&mut self, values: &DeArray<'_>, span: &Range<usize>, schema: &'s Value, slot: &Slot<'_>) {
        let least = schema["minItems"].as_u64().unwrap_or(0);
        let most = schema["maxItems"].as_u64().unwrap_or(u64::MAX);
        if !(least..=most).contains(&(values.len() as u64)) {
            let Slot { key, about } = slot;
            let message = format!("`{key}` has {} values", values.len());
            self.report.add(FaultCode::WrongLength, span, message, format!("`{key}` takes {least} values: {about}"));
        }
        for value in values {
            self.value(value, &schema["items"], slot);
        }
    }

    fn number(&mut self, number: Option<f64>, span: &Range<usize>, schema: &Value, slot: &Slot<'_>) {
        let (Slot { key, about }, range) = (slot, range_in_words(schema));
        let help = format!("`{key}` takes a number {range}: {about}");
        let number = number.unwrap_or(f64::INFINITY);
        if !number.is_finite() {
            self.report.add(FaultCode::NotFinite, span, format!("`{key}` is not a finite number"), help);
        } else if !within(number, schema) {
            self.report.add(FaultCode::OutOfRange, span, format!("`{key}` = {number} is out of range"), help);
        }
    }

    fn word(&mut self, word: &str, span: &Range<usize>, schema: &Value, slot: &Slot<'_>) {
        let Some(words) = schema["enum"].as_array() else { return };
        let known = words.iter().filter_map(Value::as_str);
        if !known.clone().any(|other| other == word) {
            let help = words::suggest(word, &format!("words of `{}`", slot.key), known);
            self.report.add(FaultCode::UnknownWord, span, format!("`{}` has no word \"{word}\"", slot.key), help);
        }
    }
}

/// An integer of any of TOML's radixes; nothing where it is too large to be read.
fn integer(number: &DeInteger<'_>) -> Option<f64> {
    i64::from_str_radix(number.as_str(), number.radix()).ok().map(|integer| integer as f64)
}

fn schema_of_key<'s>(schema: &'s Value, key: &str) -> Option<&'s Value> {
    let of_any_key = schema.get("additionalProperties").filter(|others| others.is_object());
    schema["properties"].get(key).or(of_any_key)
}

fn has_type(value: &DeValue<'_>, schema: &Value) -> bool {
    match value {
        DeValue::String(_) => schema["type"] == "string",
        DeValue::Integer(_) => schema["type"] == "number" || schema["type"] == "integer",
        DeValue::Float(_) => schema["type"] == "number",
        DeValue::Boolean(_) => schema["type"] == "boolean",
        DeValue::Array(_) => schema["type"] == "array",
        DeValue::Table(_) => schema["type"] == "object",
        DeValue::Datetime(_) => false,
    }
}

fn kind_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Array(_) => "an array",
        DeValue::Table(_) => "a table",
        DeValue::Datetime(_) => "a date or time",
    }
}

fn in_words(json_type: &str) -> &'static str {
    match json_type {
        "string" => "a text in quotes",
        "number" => "a number",
        "integer" => "a whole number",
        "boolean" => "true or false",
        "array" => "an array",
        _ => "a table",
    }
}

/// The bounds that a schema may set on a number: its key, how it reads, and whether a number keeps to it.
type Bound = (&'static str, &'static str, fn(f64, f64) -> bool);
const BOUNDS: [Bound; 4] = [
    ("minimum", "of at least", |number, bound| number >= bound),
    ("exclusiveMinimum", "above", |number, bound| number > bound),
    ("maximum", "of at most", |number, bound| number <= bound),
    ("exclusiveMaximum", "below", |number, bound| number < bound),
];

fn within(number: f64, schema: &Value) -> bool {
    BOUNDS.iter().all(|(key, _, keeps)| schema[*key].as_f64().is_none_or(|bound| keeps(number, bound)))
}

fn range_in_words(schema: &Value) -> String {
    let bounds = BOUNDS.iter().filter_map(|(key, words, _)| Some(format!("{words} {}", schema.get(key)?)));
    bounds.collect::<Vec<_>>().join(" and ")
}

fn description(schema: &Value) -> &str {
    schema["description"].as_str().unwrap_or("see the schema")
}
