//! What a rig's text says and could say of each of its things, as fields to be typed in: by the schema of the file, each with the way through the text that leads
//! to it.

use super::Figure;
use crate::units::Unit;
use serde_json::{Value, json};
use std::sync::LazyLock;
use toml_edit::{ArrayOfTables, DocumentMut, InlineTable, Item, TableLike, Value as Told};

static SCHEMA: LazyLock<Value> = LazyLock::new(rig::file::schema);

/// Ends of keys that tell a unit which nobody chooses, and how it is written.
const OTHER_UNITS: [(&str, &str); 3] = [("s", "s"), ("pct", "%"), ("deg", "°")];

/// Thing by thing in the order of the text, the rig itself first; nothing of a text that is no TOML.
pub(super) fn figures(text: &str) -> Value {
    let Ok(document) = text.parse::<DocumentMut>() else { return json!([]) };
    let rig = thing("rig", "", &[], &SCHEMA, document.as_table());
    let things = document.iter().flat_map(|(key, item)| things(key, item));
    std::iter::once(rig).chain(things).collect()
}

/// Puts a figure where a way leads, or takes it away, and leaves what stands around it; none where nothing can stand there.
pub(super) fn put(document: &mut DocumentMut, way: &[String], figure: Option<&Figure>) -> Option<()> {
    let (key, tables) = way.split_last()?;
    let mut here = document.as_item_mut();
    for step in tables {
        here = match step.parse::<usize>() {
            Ok(place) if !here.is_table_like() => here.get_mut(place)?,
            _ => here.as_table_like_mut()?.entry(step).or_insert_with(|| InlineTable::new().into()),
        };
    }
    let table = here.as_table_like_mut()?;
    let before = table.get_mut(key).and_then(Item::as_value_mut);
    match (figure, before) {
        (None, None) => return None,
        (None, Some(_)) => drop(table.remove(key)),
        (Some(figure), None) => drop(table.insert(key, Item::Value(figure.told(false)?))),
        (Some(figure), Some(before)) => {
            let mut after = figure.told(before.is_float())?;
            *after.decor_mut() = before.decor().clone();
            *before = after;
        }
    }
    Some(())
}

/// Takes away the row that a way leads to.
pub(super) fn take(document: &mut DocumentMut, way: &[String]) -> Option<()> {
    let [key, place] = way else { return None };
    match document.get_mut(key)? {
        Item::ArrayOfTables(rows) => {
            let place = place.parse().ok().filter(|place| *place < rows.len())?;
            rows.remove(place);
        }
        tables => drop(tables.as_table_like_mut()?.remove(place)?),
    }
    Some(())
}

impl Figure {
    /// As TOML; a whole number without a point, but where a number with one stood.
    fn told(&self, with_point: bool) -> Option<Told> {
        let number = |number: &f64| {
            let text = if with_point { format!("{number:?}") } else { number.to_string() };
            text.parse::<Told>().ok()
        };
        match self {
            Self::YesNo(is_so) => Some((*is_so).into()),
            Self::Number(one) => number(one),
            Self::Word(word) => Some(word.as_str().into()),
            Self::Numbers(all) => all.iter().map(number).collect::<Option<toml_edit::Array>>().map(Told::Array),
            Self::Words(all) => Some(Told::Array(all.iter().map(String::as_str).collect())),
        }
    }
}

/// What can stand at a key.
enum Kind<'s> {
    Number,
    Numbers,
    YesNo,
    Choice(&'s Value),
    Word,
    Words,
    /// A table with fields of its own.
    Table(&'s Value),
}

impl<'s> Kind<'s> {
    /// By the schema, and where that allows several by what stands there; none for rows and tables by name, which are things of their own.
    fn of(node: &'s Value, present: Option<&Item>) -> Option<Self> {
        if let Some(name) = node["$ref"].as_str() {
            return Some(Self::Table(&SCHEMA["$defs"][name.rsplit('/').next()?]));
        }
        if let Some(ways) = node["anyOf"].as_array() {
            let is_table = present.is_some_and(Item::is_table_like);
            let way = ways.iter().find(|way| way.get("$ref").is_some() == is_table)?;
            return Self::of(way, present);
        }
        match (node["type"].as_str()?, node["items"]["type"].as_str()) {
            ("number" | "integer", _) => Some(Self::Number),
            ("boolean", _) => Some(Self::YesNo),
            ("string", _) => Some(node.get("enum").map_or(Self::Word, Self::Choice)),
            ("array", Some("number")) => Some(Self::Numbers),
            ("array", Some("string")) => Some(Self::Words),
            _ => None,
        }
    }

    const fn code(&self) -> &'static str {
        match self {
            Self::Number => "number",
            Self::Numbers => "numbers",
            Self::YesNo => "yes-no",
            Self::Choice(_) => "choice",
            Self::Word | Self::Table(_) => "word",
            Self::Words => "words",
        }
    }
}

/// All fields that the schema gives a table, those of tables in it as well. A name is none: others go by it. The first steps of a way, as many as lead to the
/// thing, are not in its labels.
fn fields(way: &[String], to_thing: usize, schema: &Value, table: Option<&dyn TableLike>) -> Vec<Value> {
    let properties = schema["properties"].as_object().into_iter().flatten();
    let asked = properties.filter(|(key, _)| *key != "name");
    asked
        .flat_map(|(key, node)| {
            let present = table.and_then(|table| table.get(key));
            let way = [way, std::slice::from_ref(key)].concat();
            match Kind::of(node, present) {
                None => Vec::new(),
                Some(Kind::Table(schema)) => fields(&way, to_thing, schema, present.and_then(Item::as_table_like)),
                Some(kind) => vec![field(&way, to_thing, node, &kind, present)],
            }
        })
        .collect()
}

fn field(way: &[String], to_thing: usize, node: &Value, kind: &Kind<'_>, present: Option<&Item>) -> Value {
    let choices = if let Kind::Choice(choices) = kind { *choices } else { &Value::Null };
    let (label, unit) = label(&way[to_thing..]);
    json!({
        "way": way,
        "label": label,
        "unit": unit.map(Unit::code),
        "kind": kind.code(),
        "choices": choices,
        "value": present.and_then(Item::as_value).map_or(Value::Null, value),
        "says": node["description"],
    })
}

fn value(told: &Told) -> Value {
    match told {
        Told::Integer(whole) => json!(whole.value()),
        Told::Float(number) => json!(number.value()),
        Told::Boolean(is_so) => json!(is_so.value()),
        Told::String(text) => json!(text.value()),
        Told::Array(all) => all.iter().map(value).collect(),
        Told::InlineTable(_) | Told::Datetime(_) => Value::Null,
    }
}

/// A thing with its fields.
fn thing(kind: &str, name: &str, way: &[String], schema: &Value, table: &dyn TableLike) -> Value {
    json!({ "kind": kind, "name": name, "way": way, "fields": fields(way, way.len(), schema, Some(table)) })
}

/// The things of a key: its rows, or the tables that it names.
fn things(key: &str, item: &Item) -> Vec<Value> {
    let schema = &SCHEMA["$defs"][key];
    let of_key =
        |step: &str, name: &str, row: &dyn TableLike| thing(key, name, &[key.to_owned(), step.to_owned()], schema, row);
    match item {
        Item::ArrayOfTables(rows) => {
            rows.iter().enumerate().map(|(place, row)| of_key(&place.to_string(), &name(rows, place), row)).collect()
        }
        Item::Table(tables) => {
            let named = tables.iter().filter_map(|(name, item)| Some((name, item.as_table_like()?)));
            named.map(|(name, row)| of_key(name, name, row)).collect()
        }
        Item::Value(_) | Item::None => Vec::new(),
    }
}

/// What a row is called: its name, its ends, or what it is made of.
fn name(rows: &ArrayOfTables, place: usize) -> String {
    let text = |key: &str| rows.get(place).and_then(|row| row.get(key)).and_then(Item::as_str);
    let ends = text("from").zip(text("to")).map(|(from, to)| format!("{from} – {to}"));
    let named = text("name").map(str::to_owned).or(ends).or_else(|| text("of").map(str::to_owned));
    named.unwrap_or_else(|| (place + 1).to_string())
}

/// Keys in words, and the unit that the last of them to tell one ends in.
fn label(keys: &[String]) -> (String, Option<Unit>) {
    let mut words = Vec::new();
    let (mut unit, mut other) = (None, "");
    for key in keys {
        let (name, end) = key.rsplit_once('_').unwrap_or((key, ""));
        let of_key = Unit::ALL.into_iter().find(|unit| unit.code().eq_ignore_ascii_case(end));
        let of_others = OTHER_UNITS.iter().find(|(known, _)| *known == end);
        words.push(if of_key.is_some() || of_others.is_some() { name } else { key });
        unit = of_key.or(unit);
        other = of_others.map_or(other, |(_, written)| written);
    }
    let words = words.join(" ").replace('_', " ");
    (if other.is_empty() { words } else { format!("{words}, {other}") }, unit)
}
