//! The published schema is the one that files are held against, and says all that it should.

use std::collections::BTreeSet;
use std::path::Path;

use serde_json::Value;

#[test]
fn the_published_schema_is_up_to_date() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../rig-file.schema.json");
    let derived = serde_json::to_string_pretty(&rig::file::schema()).expect("a schema is JSON") + "\n";
    if std::env::var_os("UPDATE_SCHEMA").is_some() {
        std::fs::write(&path, &derived).expect("the schema can be written");
    }
    let published = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        published == derived,
        "rig-file.schema.json is not what the tables say; write it again with UPDATE_SCHEMA=1 cargo test -p rig"
    );
}

/// Every schema inside `schema`, itself included, with the keys that lead to it.
fn parts<'s>(schema: &'s Value, path: &str, found: &mut Vec<(String, &'s Value)>) {
    found.push((path.to_owned(), schema));
    for named in ["properties", "$defs"] {
        for (key, inner) in schema[named].as_object().into_iter().flatten() {
            parts(inner, &format!("{path}/{key}"), found);
        }
    }
    for inner in schema["anyOf"].as_array().into_iter().flatten() {
        parts(inner, path, found);
    }
    for key in ["items", "additionalProperties"] {
        if schema[key].is_object() {
            parts(&schema[key], path, found);
        }
    }
}

fn all_parts(schema: &Value) -> Vec<(String, &Value)> {
    let mut found = Vec::new();
    parts(schema, "", &mut found);
    found
}

#[test]
fn no_keyword_of_the_schema_is_passed_over_when_a_file_is_read() {
    let heeded = "$ref anyOf type properties required additionalProperties items minItems maxItems enum \
                  minimum exclusiveMinimum maximum exclusiveMaximum";
    let telling = "$schema $defs title description default";
    let known: BTreeSet<&str> = heeded.split_whitespace().chain(telling.split_whitespace()).collect();
    let schema = rig::file::schema();
    for (path, part) in all_parts(&schema) {
        for keyword in part.as_object().expect("a schema is an object").keys() {
            assert!(known.contains(keyword.as_str()), "{keyword} at {path}");
        }
    }
}

#[test]
fn every_number_is_bounded_on_both_sides() {
    let schema = rig::file::schema();
    let numbers: Vec<_> = all_parts(&schema).into_iter().filter(|(_, part)| part["type"] == "number").collect();
    assert!(numbers.len() > 30, "{}", numbers.len());
    for (path, number) in numbers {
        let bounded = |side: &str| number[format!("{side}imum")].is_number();
        let excluded = |side: &str| number[format!("exclusive{side}imum")].is_number();
        assert!((bounded("min") || excluded("Min")) && (bounded("max") || excluded("Max")), "{path}: {number}");
    }
}

#[test]
fn every_key_is_described_and_keys_with_a_unit_name_it() {
    let schema = rig::file::schema();
    let units = [("_m", "in metres"), ("_kg", "in kg"), ("_kn", "in kN"), ("_s", "in seconds"), ("_pct", "in percent")];
    let mut with_unit = 0;
    for (path, part) in all_parts(&schema) {
        for (key, of_key) in part["properties"].as_object().into_iter().flatten() {
            let description = of_key["description"].as_str().unwrap_or_default();
            assert!(!description.is_empty(), "{path}/{key} has no description");
            for (_, unit) in units.iter().filter(|(suffix, _)| key.ends_with(suffix)) {
                assert!(description.contains(unit), "{path}/{key} is not said to be {unit}: {description}");
                with_unit += 1;
            }
        }
    }
    assert!(with_unit > 20, "{with_unit}");
}

#[test]
fn defaults_of_the_contract_stand_in_the_schema() {
    let schema = rig::file::schema();
    let default = |pointer: &str| schema.pointer(&format!("{pointer}/default")).and_then(Value::as_f64);
    assert_eq!(default("/properties/friction"), Some(0.25));
    assert_eq!(default("/properties/until_s"), Some(3.0));
    assert_eq!(default("/$defs/joint/properties/mass_kg"), Some(0.1));
    assert_eq!(default("/$defs/draw/properties/mass_kg"), Some(0.1));
    assert_eq!(default("/$defs/leg/properties/strands"), Some(1.0));
}
