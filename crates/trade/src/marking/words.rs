//! The vocabulary of markings as people type them. Grammar only: no number of the trade is here.

use crate::standards::{Standard, TypeLetter};

/// What a pictogram or a word says of the position that a rating is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Attr {
    Major,
    Minor,
    GateOpen,
    GateClosed,
}

/// A unit of force, or one that shows that a number is no force at all.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unit {
    Kilonewton,
    Newton,
    Decanewton,
    PoundForce,
    KilogramForce,
}

/// Longest first, lower case.
pub(super) const PICTOGRAMS: &[(&str, Attr)] = &[
    ("<--->", Attr::Major),
    ("<-->", Attr::Major),
    ("<==>", Attr::Major),
    ("<->", Attr::Major),
    ("<=>", Attr::Major),
    ("<|>", Attr::Minor),
    ("^|v", Attr::Minor),
    ("-|-", Attr::Minor),
    ("---", Attr::Major),
    ("<c>", Attr::GateOpen),
    ("o/g", Attr::GateOpen),
    ("g/o", Attr::GateOpen),
    ("g/c", Attr::GateClosed),
    ("c/g", Attr::GateClosed),
    ("<>", Attr::Major),
    ("--", Attr::Major),
    ("^v", Attr::Minor),
    ("↔", Attr::Major),
    ("⟷", Attr::Major),
    ("⇔", Attr::Major),
    ("⇿", Attr::Major),
    ("↕", Attr::Minor),
    ("⇕", Attr::Minor),
    ("⇳", Attr::Minor),
    ("⟂", Attr::Minor),
    ("⊥", Attr::Minor),
    ("✛", Attr::Minor),
    ("✢", Attr::Minor),
    ("⊂", Attr::GateOpen),
    ("⊃", Attr::GateOpen),
    ("⊏", Attr::GateOpen),
    ("∁", Attr::GateOpen),
];

const POSITION_WORDS: &[(Attr, &[&str])] = &[
    (Attr::Major, &["major", "long", "lengthwise", "longitudinal", "main", "along"]),
    (
        Attr::Minor,
        &[
            "minor",
            "cross",
            "crossload",
            "crossloaded",
            "crosswise",
            "transverse",
            "sideways",
            "short",
            "across",
            "lateral",
        ],
    ),
    (Attr::GateOpen, &["open", "opened", "og"]),
    (Attr::GateClosed, &["closed", "shut", "gc"]),
];

const UNIT_WORDS: &[(Unit, &[&str])] = &[
    (Unit::Kilonewton, &["kn", "kilonewton", "kilonewtons"]),
    (Unit::Newton, &["n", "newton", "newtons"]),
    (Unit::Decanewton, &["dan"]),
    (Unit::PoundForce, &["lbf", "lbs", "lb", "pounds"]),
    (Unit::KilogramForce, &["kgf", "kg", "kp", "kilos"]),
];

pub(super) const OTHER_UNITS: &[&str] = &["g", "gr", "gram", "grams", "mm", "cm", "oz"];
pub(super) const ILLEGIBLE: &[&str] = &[
    "illegible",
    "unreadable",
    "worn",
    "scratched",
    "gone",
    "faded",
    "rubbed",
    "polished",
    "blurred",
    "unclear",
    "smudged",
    "damaged",
    "missing",
    "read",
];
pub(super) const FILLER: &[&str] = &[
    "gate",
    "axis",
    "load",
    "loaded",
    "loading",
    "strength",
    "rating",
    "rated",
    "with",
    "and",
    "of",
    "for",
    "at",
    "in",
    "on",
    "the",
    "mbs",
    "wll",
    "min",
    "minimum",
    "breaking",
    "arrow",
    "arrows",
    "symbol",
    "pictogram",
    "circle",
    "circled",
    "stamped",
    "marked",
    "marking",
    "says",
    "connector",
    "carabiner",
    "karabiner",
    "spine",
    "off",
    "away",
    "out",
    "not",
    "cannot",
    "can't",
    "can’t",
    "is",
    "direction",
    "position",
    "force",
    "mark",
    "sign",
    "label",
    "logo",
    "letter",
    "number",
    "standard",
    "made",
    "mfd",
    "mfg",
    "year",
    "date",
    "hms",
    "din",
    "type",
    "class",
    "nb",
    "body",
];
pub(super) const BATCH: &[&str] = &["batch", "lot", "serial", "ser", "sn"];
pub(super) const CLASS_LABELS: &[&str] = &["class", "type", "letter"];
pub(super) const YEAR_LABELS: &[&str] = &["year", "made", "mfd", "mfg", "date"];
pub(super) const MAKER_LABELS: &[&str] = &["maker", "manufacturer", "model"];
pub(super) const INSTRUCTIONS: &[&str] = &["instructions", "manual", "booklet", "pictogram"];
pub(super) const CE: &[&str] = &["ce"];
pub(super) const UKCA: &[&str] = &["ukca"];
pub(super) const UIAA: &[&str] = &["uiaa"];
pub(super) const EN: &[&str] = &["en"];
pub(super) const AMERICAN: &[&str] = &["nfpa", "ansi", "astm"];
pub(super) const NFPA: &[&str] = &["nfpa"];
/// Technical, general and light use.
pub(super) const NFPA_USE: &[&str] = &["t", "g", "l"];
pub(super) const DENIALS: &[&str] = &["no", "without"];
/// What may stand before a number without a space.
pub(super) const PREFIXES: &[&str] = &["ukca", "uiaa", "ce", "en"];
/// Type letters that look like no figure.
pub(super) const UNMISTAKABLE_LETTERS: &[&str] = &["h", "x", "a", "m"];

pub(super) fn is_in(text: &str, list: &[&str]) -> bool {
    list.iter().any(|word| word.eq_ignore_ascii_case(text))
}

pub(super) fn position(text: &str) -> Option<Attr> {
    POSITION_WORDS.iter().find(|(_, list)| is_in(text, list)).map(|(attr, _)| *attr)
}

pub(super) fn unit(text: &str) -> Option<Unit> {
    UNIT_WORDS.iter().find(|(_, list)| is_in(text, list)).map(|(unit, _)| *unit)
}

pub(super) fn type_letter(text: &str) -> Option<TypeLetter> {
    TypeLetter::from_code(&text.to_ascii_uppercase())
}

/// The standard that has this number.
pub(super) fn standard(number: &str) -> Option<Standard> {
    Standard::ALL.iter().copied().find(|standard| standard.code().strip_prefix("EN ") == Some(number))
}

/// Characters that people type for one they cannot read.
pub(super) const fn is_damage(c: char) -> bool {
    matches!(c, '?' | '_' | '…' | '#' | '\u{fffd}')
}

/// Letters that are typed or read for a figure.
const fn is_lookalike(c: char) -> bool {
    matches!(
        c,
        'O' | 'o' | 'D' | 'Q' | 'I' | 'L' | 'l' | 'i' | 'Z' | 'z' | 'S' | 's' | 'G' | 'b' | 'T' | 'B' | 'g' | 'q'
    )
}

/// The one type letter that people commonly type or read for a figure.
pub(super) fn is_typed_for_figure(letter: TypeLetter) -> bool {
    letter == TypeLetter::B
}

pub(super) fn may_be_figure(c: char) -> bool {
    c.is_ascii_digit() || is_damage(c) || is_lookalike(c)
}

/// Whether `text`, which is not plainly a number, may be a damaged one: figures, lookalikes and damage only, or one or
/// two figures at its head.
pub(super) fn may_be_number(text: &str) -> bool {
    let figures = text.chars().take_while(char::is_ascii_digit).count();
    let all = text.chars().all(|c| may_be_figure(c) || matches!(c, '.' | ','));
    let short = text.chars().any(|c| c.is_ascii_digit() || is_damage(c)) || text.chars().count() <= 3;
    (all && short) || (1..=2).contains(&figures)
}

/// Whether `text` has the length and perhaps the figures of `number`: what can be read of it agrees.
pub(super) fn resembles(text: &str, number: &str) -> bool {
    text.chars().count() == number.len()
        && text
            .chars()
            .zip(number.chars())
            .all(|(typed, wanted)| typed == wanted || !typed.is_ascii_digit() && may_be_figure(typed))
}

fn is_known(word: &str) -> bool {
    let lists =
        [OTHER_UNITS, ILLEGIBLE, FILLER, BATCH, MAKER_LABELS, INSTRUCTIONS, CE, UKCA, UIAA, EN, DENIALS, YEAR_LABELS];
    position(word).is_some()
        || unit(word).is_some()
        || type_letter(word).is_some()
        || lists.iter().any(|list| is_in(word, list))
}

/// Cuts a run of letters into known words, longest first; `None` if that cannot be done.
pub(super) fn segments(run: &str) -> Option<Vec<String>> {
    if is_known(run) {
        return Some(vec![run.to_owned()]);
    }
    let cuts: Vec<usize> = run.char_indices().map(|(at, _)| at).skip(1).collect();
    cuts.into_iter().rev().find_map(|cut| {
        let (head, tail) = run.split_at(cut);
        if !may_be_segment(head) {
            return None;
        }
        let mut found = vec![head.to_owned()];
        found.extend(segments(tail).filter(|rest| rest.iter().all(|word| may_be_segment(word)))?);
        Some(found)
    })
}

/// Only plain marks are cut out of a run of letters, and single letters only as capitals.
fn may_be_segment(word: &str) -> bool {
    let letter = type_letter(word).is_some() && word.chars().all(char::is_uppercase);
    let mark = [CE, UKCA, UIAA, EN].iter().any(|list| is_in(word, list));
    let unit = unit(word).is_some() && word.len() > 1;
    letter || mark || unit || (word.len() > 3 && (position(word).is_some() || is_in(word, FILLER)))
}

/// Splits a mark such as "CE" off the head of a word that goes on with what may be figures.
pub(super) fn split_prefix(word: &str) -> (&str, &str) {
    let has_figures = word.chars().any(|c| c.is_ascii_digit() || is_damage(c));
    PREFIXES
        .iter()
        .filter(|prefix| has_figures && word.is_char_boundary(prefix.len()) && word.len() > prefix.len())
        .map(|prefix| (prefix, word.split_at(prefix.len())))
        .find(|(prefix, (head, rest))| head.eq_ignore_ascii_case(prefix) && rest.starts_with(may_be_figure))
        .map_or(("", word), |(_, split)| split)
}

/// Splits a unit of two letters or more, or what is left of one, off the end.
pub(super) fn split_unit(word: &str) -> (&str, &str) {
    let cut = |length: usize| word.char_indices().rev().nth(length - 1).map(|(at, _)| at).filter(|at| *at > 0);
    [3, 2]
        .into_iter()
        .filter_map(cut)
        .map(|at| word.split_at(at))
        .find(|(_, tail)| unit(tail).is_some() || is_damaged_unit(tail))
        .unwrap_or((word, ""))
}

/// "k?" or "?N".
pub(super) fn is_damaged_unit(text: &str) -> bool {
    match text.chars().collect::<Vec<char>>()[..] {
        ['k' | 'K', lost] | [lost, 'n' | 'N'] => is_damage(lost),
        _ => false,
    }
}
