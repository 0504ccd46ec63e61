//! What stands in a rig's text as a number or as yes or no, to be typed in fields: thing by thing, and each with the way through the text that leads to it.

use super::Figure;
use crate::units::Unit;
use serde_json::{Value, json};
use toml_edit::{ArrayOfTables, DocumentMut, Item, Value as Told};

/// Keys that name a thing, the most telling first.
const NAMES: [&str; 2] = ["name", "of"];
/// What three numbers of a place are along.
const AXES: [&str; 3] = ["x", "y", "z"];
/// Ends of keys that tell a unit which nobody chooses, and how it is written.
const OTHER_UNITS: [(&str, &str); 3] = [("s", "s"), ("pct", "%"), ("deg", "°")];

/// All of them in the order of the text; nothing of a text that is no TOML.
pub(super) fn figures(text: &str) -> Value {
    let Ok(document) = text.parse::<DocumentMut>() else { return json!([]) };
    let mut things: Vec<Thing> = document.iter().flat_map(|(key, item)| things(key, item)).collect();
    let of_rig = document.iter().filter_map(|(key, item)| Some((key, item.as_value()?)));
    let mut rig = Thing::new("rig", String::new());
    of_rig.for_each(|(key, value)| rig.add(&[key.to_owned()], value));
    things.insert(0, rig);
    things.into_iter().filter(|thing| !thing.fields.is_empty()).map(Thing::told).collect()
}

/// Puts a figure where a way leads, and leaves what stands around it; none where no such figure is there.
pub(super) fn put(document: &mut DocumentMut, way: &[String], figure: Figure) -> Option<()> {
    let mut here = document.as_item_mut();
    for step in way {
        here = match step.parse::<usize>() {
            Ok(place) if !here.is_table_like() => here.get_mut(place)?,
            _ => here.get_mut(step.as_str())?,
        };
    }
    let before = here.as_value_mut()?;
    let mut after = figure.in_place_of(before)?;
    *after.decor_mut() = before.decor().clone();
    *before = after;
    Some(())
}

impl Figure {
    /// As TOML, of the kind that stands there: a whole number stays one as long as it can.
    fn in_place_of(self, before: &Told) -> Option<Told> {
        match (self, before) {
            (Self::YesNo(is_so), Told::Boolean(_)) => Some(is_so.into()),
            (Self::Number(number), Told::Integer(_) | Told::Float(_)) => {
                // As it would be typed: without a point where it is whole and a whole number stood there.
                let typed = if before.is_integer() { number.to_string() } else { format!("{number:?}") };
                typed.parse().ok()
            }
            _ => None,
        }
    }
}

/// A row or table of the text.
struct Thing {
    kind: String,
    name: String,
    fields: Vec<Value>,
}

impl Thing {
    fn new(kind: &str, name: String) -> Self {
        Self { kind: kind.to_owned(), name, fields: Vec::new() }
    }

    /// A value at the end of a way, or all that it holds.
    fn add(&mut self, way: &[String], value: &Told) {
        let deeper = |step: &str| [way, &[step.to_owned()]].concat();
        match value {
            Told::Integer(whole) => self.field(way, json!(whole.value())),
            Told::Float(number) => self.field(way, json!(number.value())),
            Told::Boolean(is_so) => self.field(way, json!(is_so.value())),
            Told::Array(all) => {
                all.iter().enumerate().for_each(|(place, one)| self.add(&deeper(&place.to_string()), one));
            }
            Told::InlineTable(all) => all.iter().for_each(|(key, one)| self.add(&deeper(key), one)),
            Told::String(_) | Told::Datetime(_) => {}
        }
    }

    fn field(&mut self, way: &[String], value: Value) {
        let (label, unit) = label(&way[self.depth()..]);
        self.fields.push(json!({ "way": way, "label": label, "unit": unit.map(Unit::code), "value": value }));
    }

    /// How many steps lead to the thing itself.
    fn depth(&self) -> usize {
        if self.kind == "rig" { 0 } else { 2 }
    }

    fn told(self) -> Value {
        json!({ "kind": self.kind, "name": self.name, "fields": self.fields })
    }
}

/// The things of a key: its rows, or the tables that it names.
fn things(key: &str, item: &Item) -> Vec<Thing> {
    let of = |step: String, name: String, row: &dyn toml_edit::TableLike| {
        let mut thing = Thing::new(key, name);
        let values = row.iter().filter_map(|(field, item)| Some((field, item.as_value()?)));
        values.for_each(|(field, value)| thing.add(&[key.to_owned(), step.clone(), field.to_owned()], value));
        thing
    };
    match item {
        Item::ArrayOfTables(rows) => {
            rows.iter().enumerate().map(|(place, row)| of(place.to_string(), name(rows, place), row)).collect()
        }
        Item::Table(tables) => tables
            .iter()
            .filter_map(|(name, item)| Some(of(name.to_owned(), name.to_owned(), item.as_table_like()?)))
            .collect(),
        Item::Value(_) | Item::None => Vec::new(),
    }
}

/// What a row is called: its name, its ends, or what it is made of.
fn name(rows: &ArrayOfTables, place: usize) -> String {
    let text = |key: &str| rows.get(place).and_then(|row| row.get(key)).and_then(Item::as_str);
    let ends = text("from").zip(text("to")).map(|(from, to)| format!("{from} – {to}"));
    let named = text(NAMES[0]).map(str::to_owned).or(ends).or_else(|| text(NAMES[1]).map(str::to_owned));
    named.unwrap_or_else(|| (place + 1).to_string())
}

/// A way within a thing in words, and the unit that its key ends in.
fn label(way: &[String]) -> (String, Option<Unit>) {
    let key = way.first().map_or("", String::as_str);
    let unit_of = |end: &str| Unit::ALL.into_iter().find(|unit| unit.code().eq_ignore_ascii_case(end));
    let found = key.rsplit_once('_').and_then(|(name, end)| Some((name, unit_of(end)?)));
    let (name, unit) = found.map_or((key, None), |(name, unit)| (name, Some(unit)));
    let within = way.iter().skip(1).map(|step| match step.parse::<usize>() {
        Ok(place) if key == "at_m" => AXES.get(place).map_or_else(String::new, |axis| (*axis).to_owned()),
        Ok(place) => (place + 1).to_string(),
        Err(_) => step.clone(),
    });
    let other = name.rsplit_once('_').and_then(|(name, end)| {
        OTHER_UNITS.iter().find(|(known, _)| *known == end).map(|(_, written)| (name, format!(", {written}")))
    });
    let (name, other) = other.unwrap_or_else(|| (name, String::new()));
    let words: Vec<String> = std::iter::once(name.to_owned()).chain(within).collect();
    (words.join(" ").replace('_', " ") + &other, unit)
}
