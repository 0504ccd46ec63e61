//! Every note has a marking that brings it about, and words.

use std::collections::BTreeSet;

use terms::Quality;
use trade::marking::{MarkNote, read};

const TEXTS: &str = include_str!("../../desk/data/texts.toml");

/// A marking for each code. Where two notes exclude each other the marking has what the first column names.
const BROUGHT_ABOUT: &[(&str, &str)] = &[
    ("rating-read", "↔ 22 kN"),
    ("unit-converted", "closed 5000 lbf"),
    ("unit-assumed", "↔ 22 ↕ 8 ⊂ 7"),
    ("class-means", "H ↔ 22 kN"),
    ("class-of-either", "type A ↔ 22 kN"),
    ("class-directional", "class D ↔ 22 kN"),
    ("edition-of-1998", "EN 12275:1998 ↔ 22 kN"),
    ("standard-named", "EN 362 ↔ 22 kN"),
    ("other-standard", "EN 1891 ↔ 22 kN"),
    ("two-standards", "EN 12275 H ↔ 22 kN EN 362 B ↔ 20 kN"),
    ("year-read", "made 2019"),
    ("batch-read", "batch A-17"),
    ("conformity-means", "CE 0123"),
    ("body-means", "UKCA 0123"),
    ("uiaa-label-means", "UIAA"),
    ("instructions-means", "(i)"),
    ("no-legible-strength", "H CE 0123"),
    ("rating-missing", "B EN 12275 ↔ 22 kN"),
    ("rating-not-demanded", "Q EN 12275 ↔ 25 kN ↕ 10 kN"),
    ("body-missing", "CE ↔ 22 kN"),
    ("mark-missing", "↔ 22 kN"),
    ("rating-illegible", "↔ 2? kN"),
    ("rating-undecided", "22 kN ↕ 8 kN ⊂ 7 kN"),
    ("numbers-without-position", "22 / 8 / 7 kN"),
    ("mark-illegible", "CE 01?3"),
    ("not-understood", "zigzag ↔ 22 kN"),
    ("year-or-edition", "EN 12275 2013"),
    ("body-or-year", "CE 2019"),
    ("ratings-conflict", "↔ 22 kN ↔ 23 kN"),
    ("marks-conflict", "2018, 2019"),
    ("below-minimum", "EN 12275 B ↔ 18 kN"),
    ("above-closed", "↔ 7 kN ⊂ 22 kN"),
    ("units-disagree", "↔ 25 kN (2500 lbf)"),
    ("implausible-rating", "↔ 2300 kN"),
    ("class-not-in-standard", "EN 12275 M ↔ 22 kN"),
    ("body-number-length", "CE 01234"),
    ("standard-as-body", "CE 12275"),
    ("uiaa-number", "UIAA 0123"),
];

#[test]
fn every_code_is_brought_about() {
    for (code, text) in BROUGHT_ABOUT {
        let reading = read(text);
        let codes: Vec<&str> = reading.notes.iter().map(MarkNote::code).collect();
        assert!(codes.contains(code), "{text:?} should say {code}, says {codes:?}");
    }
    let brought: BTreeSet<&str> = BROUGHT_ABOUT.iter().map(|(code, _)| *code).collect();
    assert_eq!(brought, MarkNote::CODES.iter().copied().collect());
}

/// A sound marking brings about none of the notes that find fault.
#[test]
fn no_fault_where_there_is_none() {
    use trade::marking::NoteKind::{Meaning, MissingNoDefect};
    let reading = read("H ↔ 22 kN ↕ 8 kN ⊂ 7 kN EN 12275 CE 0123 UIAA 2019 batch A-17 (i)");
    for note in &reading.notes {
        assert!(matches!(note.kind(), Meaning | MissingNoDefect), "{note:?}");
    }
    assert!(reading.notes.len() >= 10, "{:?}", reading.notes);
}

#[test]
fn the_texts_have_every_code_and_no_other() {
    let texts: toml::Table = toml::from_str(TEXTS).expect("the texts parse");
    let notes = texts["note"].as_table().expect("notes");
    let keys: BTreeSet<&str> = notes.keys().map(String::as_str).collect();
    assert_eq!(keys, MarkNote::CODES.iter().copied().collect());
    for (code, entry) in notes {
        for key in ["text", "paragraph", "source"] {
            assert!(entry[key].as_str().is_some_and(|words| !words.is_empty()), "{code} {key}");
        }
        assert!(entry["quality"].as_str().and_then(Quality::from_words).is_some(), "{code}");
    }
}

/// The braces in a text are values that its note has.
#[test]
fn every_value_in_a_text_is_one_of_its_note() {
    let texts: toml::Table = toml::from_str(TEXTS).expect("the texts parse");
    for (code, text) in BROUGHT_ABOUT {
        let note = read(text).notes.into_iter().find(|note| note.code() == *code).expect("brought about");
        let values = note.values();
        let words = texts["note"][*code]["text"].as_str().expect("a text");
        for name in words.split('{').skip(1).filter_map(|rest| rest.split('}').next()) {
            assert!(values.iter().any(|(known, _)| *known == name), "{code}: {{{name}}} is not among {values:?}");
        }
        assert!(!words.to_lowercase().contains("safe"), "{code}");
    }
}
