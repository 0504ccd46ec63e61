//! Every code has its words, and the words use the values that the code has.

use std::collections::{BTreeMap, BTreeSet};
use terms::{Caution, Finding, How, Quality, Reason};
use trade::position::Position;

const TEXTS: &str = include_str!("../../desk/data/texts.toml");

type Section = toml::Table;

fn section(name: &str) -> Section {
    let texts: toml::Table = TEXTS.parse().expect("texts.toml");
    texts[name].as_table().expect("a table").clone()
}

fn word<'a>(section: &'a Section, code: &str, key: &str) -> &'a str {
    let row = section.get(code).unwrap_or_else(|| panic!("no text for {code}"));
    row.get(key)
        .and_then(toml::Value::as_str)
        .filter(|text| !text.is_empty())
        .unwrap_or_else(|| panic!("{code} has no {key}"))
}

fn placeholders(text: &str) -> BTreeSet<&str> {
    text.split('{').skip(1).filter_map(|part| part.split_once('}')).map(|(name, _)| name).collect()
}

/// Asserts that the section has just these codes, each with all keys.
fn assert_complete(name: &str, codes: &[&str], keys: &[&str]) {
    let section = section(name);
    let extra: Vec<_> = section.keys().filter(|code| !codes.contains(&code.as_str())).collect();
    assert!(extra.is_empty(), "{name}: no such code: {extra:?}");
    for code in codes {
        for key in keys {
            word(&section, code, key);
        }
    }
}

fn assert_cited(name: &str) {
    for (code, row) in &section(name) {
        let quality = row.get("quality").and_then(toml::Value::as_str).unwrap_or_default();
        assert!(Quality::from_words(quality).is_some(), "{name}.{code}: quality \"{quality}\"");
        assert!(row.get("source").and_then(toml::Value::as_str).is_some_and(|text| !text.is_empty()), "{name}.{code}");
    }
}

#[test]
fn every_reason_has_a_text_a_paragraph_and_a_source() {
    let codes: Vec<_> = Reason::CATALOGUE.iter().map(|entry| entry.code).collect();
    assert_complete("reason", &codes, &["text", "paragraph"]);
    assert_cited("reason");
}

#[test]
fn a_text_uses_just_the_values_of_its_reason() {
    let section = section("reason");
    for entry in Reason::CATALOGUE {
        let values: BTreeSet<_> = entry.values.iter().copied().collect();
        assert_eq!(placeholders(word(&section, entry.code, "text")), values, "{}", entry.code);
        assert_eq!(placeholders(word(&section, entry.code, "paragraph")), BTreeSet::new(), "{}", entry.code);
    }
}

fn codes<T: Copy>(all: &[T], code: fn(T) -> &'static str) -> Vec<&'static str> {
    all.iter().copied().map(code).collect()
}

#[test]
fn every_position_finding_and_kind_has_its_words() {
    assert_complete("position", &codes(Position::ALL, Position::code), &["name", "look_for", "paragraph"]);
    assert_complete("finding", &codes(Finding::ALL, Finding::code), &["name", "text", "paragraph"]);
    assert_complete("how", &codes(How::ALL, How::code), &["name", "text", "paragraph"]);
}

#[test]
fn every_caution_has_a_text_and_a_source() {
    assert_complete("caution", &codes(Caution::ALL, Caution::code), &["text", "paragraph"]);
    assert_cited("caution");
}

#[test]
fn nothing_is_called_safe() {
    let texts: BTreeMap<String, toml::Value> = toml::from_str(TEXTS).expect("texts.toml");
    let lower = format!("{texts:?}").to_lowercase();
    let words: Vec<_> = lower.split(|c: char| !c.is_alphanumeric()).collect();
    for claim in ["safe", "safely", "unbreakable", "bombproof"] {
        assert!(!words.contains(&claim), "{claim}");
    }
}
