//! The tables equal the published check values cell by cell; units are exact.

use std::sync::LazyLock;

use terms::{Force, POUND_FORCE, Quality};
use trade::marking::{RatedPosition, read};
use trade::standards::{
    Minimum, Standard, TypeLetter, en564_minimum_kn, en564_source, gear, minimum, minimum_of_edition,
};

static REFERENCE: LazyLock<toml::Table> =
    LazyLock::new(|| toml::from_str(include_str!("data/reference-standards.toml")).expect("the reference parses"));

fn entry<'a>(list: &str, id: &str) -> &'a toml::Value {
    let entries = REFERENCE[list].as_array().expect("a list");
    entries.iter().find(|entry| entry["id"].as_str() == Some(id)).expect("the entry is there")
}

fn rows(id: &str) -> Vec<Vec<toml::Value>> {
    let rows = entry("table", id)["rows"].as_array().expect("rows");
    rows.iter().map(|row| row.as_array().expect("cells").clone()).collect()
}

fn value(id: &str) -> f64 {
    entry("value", id)["value"].as_float().expect("a number")
}

/// A cell: a number, or "-" for no requirement.
fn cell(cell: &toml::Value) -> Option<f64> {
    cell.as_float()
}

fn kn(force: Option<Force>) -> Option<f64> {
    force.map(Force::kn)
}

fn compare(id: &str, standard: Standard, columns: fn(&Minimum) -> [Option<Force>; 3]) -> usize {
    let rows = rows(id);
    for row in &rows {
        let letter = TypeLetter::from_code(row[0].as_str().expect("a letter")).expect("a type letter");
        let ours = minimum(standard, letter).expect("the class is in our table");
        assert_eq!(ours.description, row[1].as_str().expect("words"));
        assert_eq!(columns(&ours).map(kn), [cell(&row[2]), cell(&row[3]), cell(&row[4])], "{id} {}", letter.code());
        assert_eq!(ours.source.quality, Quality::SecondarySource);
    }
    rows.len()
}

#[test]
fn en_12275_cell_by_cell() {
    let compared = compare("en12275-2013-min-strength", Standard::En12275, |row| [row.closed, row.open, row.minor]);
    let ours = TypeLetter::ALL.iter().filter(|letter| minimum(Standard::En12275, **letter).is_some()).count();
    assert_eq!((compared, ours), (7, 7));
}

#[test]
fn en_362_cell_by_cell() {
    let compared =
        compare("en362-2004-min-strength", Standard::En362, |row| [row.closed, row.closed_locked, row.minor]);
    let ours = TypeLetter::ALL.iter().filter(|letter| minimum(Standard::En362, **letter).is_some()).count();
    assert_eq!((compared, ours), (5, 5));
}

#[test]
fn no_class_d_after_1998_and_that_edition_is_from_memory() {
    assert!(minimum(Standard::En12275, TypeLetter::D).is_none());
    let old = minimum_of_edition(Standard::En12275, 1998, TypeLetter::D).expect("the edition of 1998 had it");
    assert_eq!(old.source.quality, Quality::FromMemory);
}

#[test]
fn en_564_for_all_its_sizes_and_no_other() {
    for row in rows("en564-cord-min-strength") {
        let (diameter, strength) = (cell(&row[0]).expect("mm"), cell(&row[1]).expect("kN"));
        let ours = en564_minimum_kn(diameter).expect("inside EN 564");
        assert!((ours - strength).abs() < 1e-12, "{diameter} mm: {ours}");
    }
    assert_eq!([3.9, 8.1, f64::NAN].map(en564_minimum_kn), [None; 3]);
    assert_eq!(en564_source().quality, Quality::SecondarySource);
}

#[test]
fn other_gear() {
    let least = |standard: &str| gear(standard).map(|row| row.minimum.kn()).collect::<Vec<_>>();
    assert_eq!(least("EN 566"), [22.0]);
    assert_eq!(least("EN 565"), [10.0]);
    assert_eq!(least("EN 959"), [15.0, 25.0, 25.0]);
    assert_eq!(least("EN 12277"), [15.0, 10.0, 10.0, 7.0]);
}

/// 1 lb = 0.45359237 kg and g = 9.80665 m/s2 are exact, and so is their product.
#[test]
fn units_are_exact() {
    assert_eq!(POUND_FORCE, value("lbf-newton-exact"));
    assert!((Force::from_kn(1.0).lbf() - value("kn-lbf")).abs() < 1e-7);
    let read_as = |text: &str| read(text).sets[0].rating(RatedPosition::Closed).value().map(|force| force.newtons());
    assert_eq!(read_as("closed 5000 lbf"), Some(5000.0 * value("lbf-newton-exact")));
    assert_eq!(read_as("closed 2200 kg"), Some(2200.0 * value("kgf-newton")));
    assert_eq!(read_as("closed 22,5 kN"), Some(22_500.0));
}
