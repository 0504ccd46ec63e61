//! From atoms to marks: one list of recognisers, tried in order at each place.

use crate::standards::{self, LIMITS, Standard, TypeLetter};
use terms::coded;

use super::lexer::{Atom, Kind};
use super::words::{self, Attr, Unit};

coded!(
    /// The two signs of conformity that are followed by the number of a body.
    ConformitySign {
        /// Conformity with the law of the European Union.
        Ce = "CE",
        /// Conformity with the law of Great Britain.
        Ukca = "UKCA",
    }
);

/// One mark, or one piece of one.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Token {
    Position(Attr),
    /// A whole number, as typed; the unit that follows it, if one does.
    Number {
        text: String,
        unit: Option<Unit>,
    },
    /// Something illegible that may be a number; its unit, if that can be read.
    Wild {
        text: String,
        unit: Option<Unit>,
        has_unit: bool,
    },
    /// A unit that stands apart.
    Unit(Unit),
    /// A type letter; whether a word or a circle says that it is one; the standard that it stands right behind.
    Class {
        letter: TypeLetter,
        labelled: bool,
        of: Option<Standard>,
    },
    ClassIllegible(String),
    Standard {
        standard: Standard,
        edition: Option<u16>,
    },
    StandardIllegible(String),
    OtherStandard(String),
    Conformity(ConformitySign, Option<BodyNumber>),
    Uiaa(Option<String>),
    Year(u16),
    YearIllegible(String),
    YearOrEdition(u16),
    Batch {
        text: String,
        legible: bool,
    },
    Instructions,
    Break,
    /// Understood, and of no weight.
    Filler,
    /// Not understood.
    Unknown(String),
}

/// What stands behind CE or UKCA.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum BodyNumber {
    Whole(String),
    /// Four figures that may as well be the year.
    OrYear(u16),
    Illegible(String),
    /// Whole figures, not four of them.
    Odd(String),
}

type Match = Option<(usize, Token)>;

/// Something that can be recognised at the head of a run of atoms.
pub(super) struct Recogniser {
    pub name: &'static str,
    /// How many atoms it takes, and what they are.
    pub take: fn(&[Atom]) -> Match,
}

macro_rules! recognisers {
    ($($name:ident),+ $(,)?) => { &[$(Recogniser { name: stringify!($name), take: $name }),+] };
}

/// In the order in which they are tried.
pub(super) const RECOGNISERS: &[Recogniser] = recognisers![
    bracketed_sign,
    year_of_two_figures,
    separator,
    denied_mark,
    maker,
    batch,
    labelled_year,
    month_and_year,
    conformity_sign,
    federation_label,
    standard_number,
    american_standard,
    bare_standard_number,
    instructions,
    circled_letter,
    labelled_letter,
    number_with_damaged_unit,
    other_measure,
    number_with_unit,
    year,
    damaged_year,
    number,
    unit,
    position,
    illegible,
    type_letter,
    filler,
];

/// All the marks of a text, in its order.
pub(super) fn tokens(atoms: &[Atom]) -> Vec<Token> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < atoms.len() {
        let rest = &atoms[at..];
        let (taken, token) = RECOGNISERS
            .iter()
            .find_map(|recogniser| (recogniser.take)(rest))
            .unwrap_or_else(|| (1, Token::Unknown(rest[0].text.clone())));
        found.push(token);
        at += taken;
    }
    found
}

/// The first atom from `from` on that is no punctuation, and where it stands.
fn solid(atoms: &[Atom], from: usize) -> Option<(usize, &Atom)> {
    atoms.iter().enumerate().skip(from).find(|(_, atom)| atom.kind != Kind::Soft)
}

fn separator(atoms: &[Atom]) -> Match {
    match atoms[0].kind {
        Kind::Break => Some((1, Token::Break)),
        Kind::Soft => Some((1, Token::Filler)),
        _ => None,
    }
}

/// "no CE", "without year", "UIAA missing": said to be absent.
fn denied_mark(atoms: &[Atom]) -> Match {
    let is_mark = |atom: &Atom| {
        atom.is_word(words::CE)
            || atom.is_word(words::UKCA)
            || atom.is_word(words::UIAA)
            || atom.is_word(words::EN)
            || atom.is_word(words::BATCH)
            || atom.is_word(words::YEAR_LABELS)
            || atom.is_word(words::CLASS_LABELS)
    };
    if atoms[0].is_word(words::DENIALS) {
        let end = atoms.iter().skip(1).take_while(|atom| atom.is_word(words::FILLER) && !is_mark(atom)).count() + 1;
        let denied = atoms.get(end).filter(|atom| is_mark(atom) || position_of(atom).is_some());
        return Some((end + usize::from(denied.is_some()), Token::Filler));
    }
    let missing = is_mark(&atoms[0]) && solid(atoms, 1).is_some_and(|(_, atom)| atom.is_word(&["missing", "absent"]));
    missing.then_some((2, Token::Filler))
}

fn maker(atoms: &[Atom]) -> Match {
    let (at, name) = solid(atoms, 1).filter(|_| atoms[0].is_word(words::MAKER_LABELS))?;
    matches!(name.kind, Kind::Letters | Kind::Digits).then_some((at + 1, Token::Filler))
}

fn batch(atoms: &[Atom]) -> Match {
    let label = batch_label(atoms)?;
    let (start, first) = solid(atoms, label)?;
    if !matches!(first.kind, Kind::Letters | Kind::Digits | Kind::Damaged) {
        return None;
    }
    let more = atoms[start + 1..].iter().take_while(|atom| atom.glued && in_batch(atom)).count();
    let end = start + 1 + more;
    let hash = atoms[label..start].iter().any(|atom| atom.text == "#");
    let text: String = atoms[start..end].iter().map(|atom| atom.text.as_str()).collect();
    let whole = !first.is_word(words::ILLEGIBLE) && !hash && !text.contains(words::is_damage);
    let legible = whole && words::split_unit(&text).1.is_empty() && text.contains(|c: char| c.is_ascii_digit());
    Some((end, Token::Batch { text, legible }))
}

/// How many atoms say that a batch or serial follows.
fn batch_label(atoms: &[Atom]) -> Option<usize> {
    let number_word = |at: usize| atoms.get(at).is_some_and(|atom| atom.is_word(&["no", "nr", "number"]));
    if atoms[0].is_word(words::BATCH) {
        return Some(if number_word(1) { 2 } else { 1 });
    }
    let spelled: Vec<&str> = atoms.iter().take(3).map(|atom| atom.text.as_str()).collect();
    matches!(spelled[..], ["s" | "S", "/", "n" | "N"]).then_some(3)
}

fn in_batch(atom: &Atom) -> bool {
    matches!(atom.kind, Kind::Letters | Kind::Digits | Kind::Damaged) || matches!(atom.text.as_str(), "-" | "/" | ".")
}

/// "year illegible", "class worn": the label, then a word for what cannot be read. Years in figures need no label.
fn labelled_year(atoms: &[Atom]) -> Match {
    let (at, next) = solid(atoms, 1).filter(|_| atoms[0].is_word(words::YEAR_LABELS))?;
    let lost = next.is_word(words::ILLEGIBLE) || next.kind == Kind::Damaged;
    let short = next.kind == Kind::Digits && next.text.len() == 2;
    let more = unit_at(atoms, at + 1).is_some() || month_and_year(&atoms[at..]).is_some();
    ((lost || short) && !more).then(|| (at + 1, Token::YearIllegible(next.text.clone())))
}

/// "03/2019", "3.2019", "2019-03".
fn month_and_year(atoms: &[Atom]) -> Match {
    let [first, mark, second, ..] = atoms else { return None };
    let joined = mark.glued && second.glued && matches!(mark.text.as_str(), "/" | "." | "-");
    let year = match (month_of(first), month_of(second)) {
        (true, false) => year_of(second),
        (false, true) => year_of(first),
        _ => None,
    };
    Some((3, Token::Year(year.filter(|_| joined)?)))
}

fn month_of(atom: &Atom) -> bool {
    atom.kind == Kind::Digits && atom.text.len() <= 2 && atom.text.parse().is_ok_and(|month| (1..=12).contains(&month))
}

fn year_of(atom: &Atom) -> Option<u16> {
    let year = atom.text.parse().ok().filter(|_| atom.kind == Kind::Digits && atom.text.len() == 4)?;
    (LIMITS.earliest_year..=LIMITS.latest_year).contains(&year).then_some(year)
}

/// "'19": the century is not said.
fn year_of_two_figures(atoms: &[Atom]) -> Match {
    let [mark, figures, ..] = atoms else { return None };
    let is_year = matches!(mark.text.as_str(), "'" | "’") && figures.glued && figures.kind == Kind::Digits;
    (is_year && figures.text.len() == 2 && unit_at(atoms, 2).is_none())
        .then(|| (2, Token::YearIllegible(format!("'{}", figures.text))))
}

fn conformity_sign(atoms: &[Atom]) -> Match {
    let (sign, length) = sign_of(atoms)?;
    let filled = atoms[length..].iter().take_while(|atom| is_beside(atom)).count() + length;
    let after = atoms.get(filled);
    if let Some(lost) = after.filter(|atom| atom.is_word(words::ILLEGIBLE)) {
        return Some((filled + 1, Token::Conformity(sign, Some(BodyNumber::Illegible(lost.text.clone())))));
    }
    let has_unit = atoms.get(filled + 1).is_some_and(|atom| unit_of(atom).is_some());
    Some(match after.filter(|_| !has_unit).and_then(body_number) {
        Some(number) => (filled + 1, Token::Conformity(sign, Some(number))),
        None => (length, Token::Conformity(sign, None)),
    })
}

fn sign_of(atoms: &[Atom]) -> Option<(ConformitySign, usize)> {
    let spelled: Vec<String> = atoms.iter().take(2).map(|atom| atom.text.to_ascii_lowercase()).collect();
    let spelled: Vec<&str> = spelled.iter().map(String::as_str).collect();
    match spelled[..] {
        ["ce", ..] => Some((ConformitySign::Ce, 1)),
        ["ukca", ..] => Some((ConformitySign::Ukca, 1)),
        ["c", "e"] => Some((ConformitySign::Ce, 2)),
        ["uk", "ca"] => Some((ConformitySign::Ukca, 2)),
        _ => None,
    }
}

/// Punctuation and words between a sign and its number.
fn is_beside(atom: &Atom) -> bool {
    atom.kind == Kind::Soft || atom.is_word(&["mark", "marked", "number", "body", "nb", "sign"])
}

/// Three or five figures are taken for an odd body number; fewer may be a rating and are left alone.
fn body_number(atom: &Atom) -> Option<BodyNumber> {
    let text = atom.text.clone();
    let whole = text.chars().all(|c| c.is_ascii_digit());
    match (&atom.kind, text.chars().count()) {
        (Kind::Digits, 4) if whole => Some(year_of(atom).map_or(BodyNumber::Whole(text), BodyNumber::OrYear)),
        (Kind::Digits, 3 | 5) if whole => Some(BodyNumber::Odd(text)),
        (Kind::Damaged, _) if atom.glued && text.chars().all(words::is_damage) => Some(BodyNumber::Illegible(text)),
        (Kind::Damaged, 4) if text.chars().all(words::may_be_figure) => Some(BodyNumber::Illegible(text)),
        _ => None,
    }
}

fn federation_label(atoms: &[Atom]) -> Match {
    let after = solid(atoms, 1)
        .filter(|_| atoms[0].is_word(words::UIAA))
        .filter(|(_, atom)| atom.text.len() >= 3 && atom.text.chars().all(|c| c.is_ascii_digit()))
        .filter(|(at, atom)| year_of(atom).is_none() && atoms.get(at + 1).is_none_or(|unit| unit_of(unit).is_none()));
    match after {
        Some((at, number)) => Some((at + 1, Token::Uiaa(Some(number.text.clone())))),
        None => atoms[0].is_word(words::UIAA).then_some((1, Token::Uiaa(None))),
    }
}

fn standard_number(atoms: &[Atom]) -> Match {
    let damaged_label = atoms[0].text.chars().count() == 2
        && (atoms[0].text.ends_with(['N', 'n']) || atoms[0].text.starts_with(['E', 'e']))
        && atoms[0].text.contains(words::is_damage);
    if !atoms[0].is_word(words::EN) && !damaged_label {
        return None;
    }
    let (at, number) = solid(atoms, 1)?;
    if damaged_label {
        return known_number(number).map(|_| (at + 1, Token::StandardIllegible(number.text.clone())));
    }
    if let Some(standard) = words::standard(&number.text) {
        return Some(edition(atoms, at, standard));
    }
    let has_unit = atoms.get(at + 1).is_some_and(|atom| unit_of(atom).is_some());
    let gone = number.text.chars().all(words::is_damage) && !has_unit;
    let resembles_one = Standard::ALL.iter().any(|known| words::resembles(&number.text, &known.code()[3..]));
    if number.is_word(words::ILLEGIBLE) || gone || (number.kind == Kind::Damaged && resembles_one) {
        return Some((at + 1, Token::StandardIllegible(number.text.clone())));
    }
    let run_on = Standard::ALL.iter().any(|known| number.text.starts_with(&known.code()[3..]));
    let plain = number.kind == Kind::Digits && (3..=5).contains(&number.text.len()) && !has_unit && !run_on;
    Some(if plain {
        (at + 1, Token::OtherStandard(format!("EN {}", number.text)))
    } else {
        (1, Token::StandardIllegible(atoms[0].text.clone()))
    })
}

/// "NFPA 1983 T", "ANSI Z359.12": the number is the standard's, no year and no rating, and a letter behind the first is
/// its own.
fn american_standard(atoms: &[Atom]) -> Match {
    if !atoms[0].is_word(words::AMERICAN) {
        return None;
    }
    let (at, _) = solid(atoms, 1)?;
    let mut end = at + 1 + atoms[at + 1..].iter().take_while(|atom| atom.glued && atom.kind != Kind::Break).count();
    let number: String = atoms[at..end].iter().map(|atom| atom.text.as_str()).collect();
    let is_use = |atom: &&Atom| atom.is_word(words::NFPA_USE) && !atoms.get(end + 1).is_some_and(|next| next.glued);
    if atoms[0].is_word(words::NFPA) && atoms.get(end).as_ref().is_some_and(is_use) {
        end += 1;
    }
    Some((end, Token::OtherStandard(format!("{} {number}", atoms[0].text))))
}

fn known_number(atom: &Atom) -> Option<Standard> {
    words::standard(&atom.text)
}

/// A standard, with its year of edition where a colon or dash joins one. Joined by a space alone, a year that is an
/// edition of the standard may be either.
fn edition(atoms: &[Atom], at: usize, standard: Standard) -> (usize, Token) {
    let joined = atoms.get(at + 1).is_some_and(|mark| matches!(mark.text.as_str(), ":" | "-"));
    let year = atoms.get(at + 2).filter(|_| joined).and_then(year_of);
    let taken = if year.is_some() { at + 3 } else { at + 1 };
    (taken, Token::Standard { standard, edition: year })
}

/// "12275" alone can be nothing else; "362" alone may be, and is said to be illegible.
fn bare_standard_number(atoms: &[Atom]) -> Match {
    let standard = known_number(&atoms[0])?;
    let has_unit = atoms.get(1).is_some_and(|atom| unit_of(atom).is_some());
    match (standard, has_unit) {
        (_, true) => None,
        (Standard::En12275, false) => Some(edition(atoms, 0, standard)),
        (Standard::En362, false) => Some((1, Token::StandardIllegible(atoms[0].text.clone()))),
    }
}

fn instructions(atoms: &[Atom]) -> Match {
    if matches!(atoms[0].text.as_str(), "i" | "ℹ" | "📖") && atoms[0].kind != Kind::Digits {
        let book = usize::from(atoms.get(1).is_some_and(|atom| atom.text.eq_ignore_ascii_case("book")));
        return Some((1 + book, Token::Instructions));
    }
    let length = atoms.iter().take_while(|atom| atom.is_word(&["read", "the", "user"])).count();
    let named = atoms.get(length).is_some_and(|atom| atom.is_word(words::INSTRUCTIONS));
    (named && atoms[length].text != "pictogram").then_some((length + 1, Token::Instructions))
}

/// "(i)" for the book, "(?)" for a letter in a circle that cannot be read.
fn bracketed_sign(atoms: &[Atom]) -> Match {
    let [open, sign, close, ..] = atoms else { return None };
    let bracketed = matches!((open.text.as_str(), close.text.as_str()), ("(", ")") | ("[", "]"));
    match sign.text.as_str() {
        "i" | "I" if bracketed => Some((3, Token::Instructions)),
        lost if bracketed && lost.chars().count() == 1 && lost.contains(words::is_damage) => {
            Some((3, Token::ClassIllegible(lost.to_owned())))
        }
        _ => None,
    }
}

fn circled_letter(atoms: &[Atom]) -> Match {
    let letter = words::type_letter(&atoms[0].text).filter(|_| atoms[0].kind == Kind::Circled)?;
    Some((1, Token::Class { letter, labelled: true, of: None }))
}

fn labelled_letter(atoms: &[Atom]) -> Match {
    let (at, next) = solid(atoms, 1).filter(|_| atoms[0].is_word(words::CLASS_LABELS))?;
    if let Some(letter) = words::type_letter(&next.text).filter(|_| next.kind != Kind::Digits) {
        return Some((at + 1, Token::Class { letter, labelled: true, of: None }));
    }
    let lost = next.is_word(words::ILLEGIBLE) || next.text.chars().all(words::is_damage);
    let figure = next.kind == Kind::Digits && next.text.len() == 1;
    (lost || figure).then(|| (at + 1, Token::ClassIllegible(next.text.clone())))
}

/// "22 k?": the figures can be read and what they count cannot.
fn number_with_damaged_unit(atoms: &[Atom]) -> Match {
    let [number, unit, ..] = atoms else { return None };
    let lost = number.is_word(words::ILLEGIBLE) || words::may_be_number(&number.text);
    let figures = lost || number.text.contains(|c: char| c.is_ascii_digit());
    let text = format!("{} {}", number.text, unit.text);
    (figures && words::is_damaged_unit(&unit.text)).then_some((2, Token::Wild { text, unit: None, has_unit: true }))
}

/// A mass or a length is no strength.
fn other_measure(atoms: &[Atom]) -> Match {
    let [number, unit, ..] = atoms else { return None };
    let found = matches!(number.kind, Kind::Digits | Kind::Damaged) && unit.is_word(words::OTHER_UNITS);
    found.then_some((2, Token::Filler))
}

/// Figures, or anything else that is not a known word, in front of a unit.
fn number_with_unit(atoms: &[Atom]) -> Match {
    let first = &atoms[0];
    let between = usize::from(atoms.get(1).is_some_and(|atom| atom.text == "("));
    let (unit, length) = unit_at(atoms, 1 + between)?;
    let taken = 1 + between + length;
    let figure_like = first.kind == Kind::Damaged || (first.kind == Kind::Letters && !is_plain_word(first));
    match first.kind {
        Kind::Digits => Some((taken, Token::Number { text: first.text.clone(), unit: Some(unit) })),
        _ if figure_like || first.is_word(words::ILLEGIBLE) => {
            Some((taken, Token::Wild { text: first.text.clone(), unit: Some(unit), has_unit: true }))
        }
        _ => None,
    }
}

/// A word of the vocabulary that is longer than one letter.
fn is_plain_word(atom: &Atom) -> bool {
    let lists = [words::FILLER, words::CE, words::UKCA, words::UIAA, words::EN, words::BATCH];
    position_of(atom).is_some() || unit_of(atom).is_some() || lists.iter().any(|list| atom.is_word(list))
}

fn unit_at(atoms: &[Atom], at: usize) -> Option<(Unit, usize)> {
    let first = atoms.get(at)?;
    let apart = first.is_word(&["k"]) && atoms.get(at + 1).is_some_and(|atom| atom.is_word(&["n"]));
    if apart { Some((Unit::Kilonewton, 2)) } else { unit_of(first).map(|unit| (unit, 1)) }
}

fn unit_of(atom: &Atom) -> Option<Unit> {
    words::unit(&atom.text).filter(|_| atom.kind == Kind::Letters)
}

fn year(atoms: &[Atom]) -> Match {
    Some((1, Token::Year(year_of(&atoms[0])?)))
}

fn damaged_year(atoms: &[Atom]) -> Match {
    let text = &atoms[0].text;
    let fits = |pattern: &str| {
        text.chars().count() == 4
            && text.chars().zip(pattern.chars()).all(|(typed, wanted)| {
                typed == wanted
                    || !typed.is_ascii_digit() && words::may_be_figure(typed)
                    || wanted == '*' && typed.is_ascii_digit()
            })
    };
    let found = atoms[0].kind == Kind::Damaged && (fits("19**") || fits("20**"));
    let some_figures = text.chars().filter(char::is_ascii_digit).count() >= 2;
    (found && some_figures).then(|| (1, Token::YearIllegible(text.clone())))
}

fn number(atoms: &[Atom]) -> Match {
    (atoms[0].kind == Kind::Digits).then(|| (1, Token::Number { text: atoms[0].text.clone(), unit: None }))
}

fn unit(atoms: &[Atom]) -> Match {
    unit_at(atoms, 0).map(|(unit, length)| (length, Token::Unit(unit)))
}

fn position_of(atom: &Atom) -> Option<Attr> {
    match atom.kind {
        Kind::Sign(attr) => Some(attr),
        Kind::Letters => words::position(&atom.text),
        _ => None,
    }
}

fn position(atoms: &[Atom]) -> Match {
    Some((1, Token::Position(position_of(&atoms[0])?)))
}

fn illegible(atoms: &[Atom]) -> Match {
    let found = atoms[0].kind == Kind::Damaged || atoms[0].is_word(words::ILLEGIBLE);
    found.then(|| (1, Token::Wild { text: atoms[0].text.clone(), unit: None, has_unit: false }))
}

/// A lone "a" in small type is an article; a letter amid figures ("4H3") is part of a code.
fn type_letter(atoms: &[Atom]) -> Match {
    let amid = atoms[0].glued && atoms.get(1).is_some_and(|next| next.glued && next.kind == Kind::Digits);
    if amid {
        return None;
    }
    let letter =
        words::type_letter(&atoms[0].text).filter(|_| atoms[0].kind == Kind::Letters && atoms[0].text != "a")?;
    Some((1, Token::Class { letter, labelled: false, of: None }))
}

fn filler(atoms: &[Atom]) -> Match {
    atoms[0].is_word(words::FILLER).then_some((1, Token::Filler))
}

/// Marks whose meaning hangs on the mark before them.
pub(super) fn settle(tokens: &mut [Token]) {
    for at in 1..tokens.len() {
        let before = tokens[..at].iter().rev().find(|token| **token != Token::Filler).cloned();
        match (before, tokens[at].clone()) {
            (Some(Token::Standard { standard, edition: None }), Token::Year(year))
                if standards::is_edition(standard, year) =>
            {
                tokens[at] = Token::YearOrEdition(year);
            }
            (Some(Token::Standard { standard, .. }), Token::Class { letter, labelled, .. }) => {
                tokens[at] = Token::Class { letter, labelled, of: Some(standard) };
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::lexer;
    use super::*;

    /// What each recogniser is for: a text that it takes, and how much of it.
    const TAKEN: &[(&str, &str, usize)] = &[
        ("bracketed_sign", "(i)", 3),
        ("year_of_two_figures", "'19", 2),
        ("separator", ", 22", 1),
        ("denied_mark", "no CE", 2),
        ("maker", "maker A", 2),
        ("batch", "batch A-17/3 H", 6),
        ("labelled_year", "year illegible", 2),
        ("month_and_year", "03/2019", 3),
        ("conformity_sign", "CE 0123 H", 2),
        ("federation_label", "UIAA 121", 2),
        ("standard_number", "EN 12275:2013", 4),
        ("american_standard", "NFPA 1983 T", 3),
        ("bare_standard_number", "12275", 1),
        ("instructions", "read the instructions", 3),
        ("circled_letter", "Ⓗ", 1),
        ("labelled_letter", "class H", 2),
        ("number_with_damaged_unit", "22 k?", 2),
        ("other_measure", "62 g", 2),
        ("number_with_unit", "22 k N", 3),
        ("year", "2019", 1),
        ("damaged_year", "20?9", 1),
        ("number", "22", 1),
        ("unit", "kN", 1),
        ("position", "↔", 1),
        ("illegible", "??", 1),
        ("type_letter", "H", 1),
        ("filler", "gate", 1),
    ];

    #[test]
    fn every_recogniser_takes_what_it_is_for() {
        let names: Vec<&str> = RECOGNISERS.iter().map(|recogniser| recogniser.name).collect();
        for name in &names {
            let (_, text, length) = TAKEN.iter().find(|(known, ..)| known == name).expect("each has a text");
            let atoms = lexer::atoms(text);
            let first = RECOGNISERS.iter().find_map(|recogniser| Some((recogniser.name, (recogniser.take)(&atoms)?.0)));
            assert_eq!(first, Some((*name, *length)), "{text}: {atoms:?}");
        }
        assert_eq!(names.len(), TAKEN.len());
    }
}
