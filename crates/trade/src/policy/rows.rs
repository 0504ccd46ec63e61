//! A policy row by row, as it stands in files: what can be read, compared and changed by itself.
//!
//! ```text
//!   margin_intended = 2.0            one row, of one value
//!   [rack.wear.connector.limit]      one row, of its two values
//!   um = 1000
//!   then = "withdraw"
//! ```

use crate::cited::{self, Read};
use std::collections::BTreeMap;
use terms::Source;
use toml::{Table, Value};

/// The rules of a rack stand under this key.
const RACK: &str = "rack";
/// What tells where a row comes from.
const CITED: [&str; 2] = ["source", "quality"];

/// One row of a policy.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Where it stands, such as `margin_intended` or `rack.wear.connector.limit`.
    pub key: String,
    /// Its values by name; the one of a row without more has the row's own name.
    pub values: BTreeMap<String, Value>,
    /// Where it comes from; a group's own row need not say.
    pub source: Option<Source>,
}

/// Every row that holds under a group's policy: its own, and where it has none those inside the program.
///
/// `text` is a policy that [`Policy::parse`](super::Policy::parse) reads; what is none adds nothing.
#[must_use]
pub fn rows(text: &str) -> Vec<Row> {
    let own: Table = text.parse().unwrap_or_default();
    let inside = |text| -> Table { cited::parse(text) };
    let plain = laid_over(plain_rows(inside(super::BUILT_IN)), plain_rows(own.clone()));
    let own_rack = own.get(RACK).and_then(Value::as_table).cloned().unwrap_or_default();
    let rack = laid_over(rack_rows(inside(include_str!("../../data/rack.toml"))), rack_rows(own_rack));
    plain.into_iter().chain(rack).map(|(key, (values, source))| Row { key, values, source }).collect()
}

type Rows = BTreeMap<String, (BTreeMap<String, Value>, Option<Source>)>;

/// A row of a group takes the place of the one inside, source and all.
fn laid_over(mut inside: Rows, own: Rows) -> Rows {
    inside.extend(own);
    inside
}

/// The keys that stand by themselves, with their sources in a table beside them.
fn plain_rows(mut file: Table) -> Rows {
    file.remove(RACK);
    let sources = file.remove("source").and_then(|sources| sources.try_into::<Table>().ok()).unwrap_or_default();
    let source = |key: &str| cited_by(sources.get(key)?.as_table()?, "text");
    let row = |(key, value): (String, Value)| {
        let source = source(&key);
        (key.clone(), (BTreeMap::from([(key, value)]), source))
    };
    file.into_iter().map(row).collect()
}

/// The rules of a rack: a table that holds anything but tables is a row.
fn rack_rows(rack: Table) -> Rows {
    let mut rows = Rows::new();
    for (name, value) in rack {
        descend(format!("{RACK}.{name}"), &name, value, &mut rows);
    }
    rows
}

fn descend(key: String, name: &str, value: Value, rows: &mut Rows) {
    match value {
        Value::Table(table) if table.values().all(Value::is_table) => {
            for (name, value) in table {
                descend(format!("{key}.{name}"), &name, value, rows);
            }
        }
        Value::Table(table) => {
            let source = cited_by(&table, CITED[0]);
            let values = table.into_iter().filter(|(name, _)| !CITED.contains(&name.as_str())).collect();
            rows.insert(key, (values, source));
        }
        value => {
            rows.insert(key, (BTreeMap::from([(name.to_owned(), value)]), None));
        }
    }
}

fn cited_by(table: &Table, text: &str) -> Option<Source> {
    let quality = Read::try_from(table.get(CITED[1])?.as_str()?.to_owned()).ok()?;
    Some(cited::source(table.get(text)?.as_str()?, quality))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(text: &str, key: &str) -> Row {
        rows(text).into_iter().find(|row| row.key == key).unwrap_or_else(|| panic!("{key}"))
    }

    #[test]
    fn every_row_inside_has_its_source_but_the_regimes_that_nobody_chose() {
        let without: Vec<_> = rows("").into_iter().filter(|row| row.source.is_none()).map(|row| row.key).collect();
        assert_eq!(without, ["rack.regimes"]);
        assert!(rows("").len() > 25);
    }

    #[test]
    fn a_groups_own_row_takes_the_place_of_the_one_inside_source_and_all() {
        let own = "margin_intended = 3\n[rack.wear.connector.limit]\num = 800\nthen = \"withdraw\"\n";
        let (margin, groove) = (row(own, "margin_intended"), row(own, "rack.wear.connector.limit"));
        assert_eq!((margin.values["margin_intended"].as_integer(), margin.source), (Some(3), None));
        assert_eq!((groove.values["um"].as_integer(), groove.source), (Some(800), None));
        assert_eq!(row(own, "rack.wear.connector.near"), row("", "rack.wear.connector.near"), "the rest stays");
        assert_eq!(row("", "margin_in_use").values["margin_in_use"].as_float(), Some(1.0));
    }

    #[test]
    fn each_row_inside_can_be_set_as_it_is_by_a_group() {
        for Row { key, values, .. } in rows("") {
            let mut file = Table::new();
            let (path, last) = key.rsplit_once('.').map_or((None, key.as_str()), |(path, last)| (Some(path), last));
            let mut at = &mut file;
            for part in path.into_iter().flat_map(|path| path.split('.')) {
                at = at.entry(part).or_insert_with(|| Table::new().into()).as_table_mut().expect("a table");
            }
            let is_plain = values.len() == 1 && values.contains_key(last);
            let value = if is_plain { values[last].clone() } else { Table::from_iter(values).into() };
            at.insert(last.to_owned(), value);
            let text = file.to_string();
            assert!(super::super::Policy::parse(&text).is_ok(), "{text}");
        }
    }
}
