//! From tokens to a reading: sections by standard, ratings, and the other marks.

use terms::Force;

use crate::connector::Connector;
use crate::standards::{Standard, TypeLetter};

use super::amount::{Amount, Flaw};
use super::judge;
use super::lexer;
use super::note::{MarkNote, kn};
use super::pairing::{self, Pairing};
use super::reading::{Conformity, ConformitySign, Mark, NamedStandard, RatedPosition, RatingSet, Reading};
use super::token::{self, BodyNumber, Token};
use super::words;

/// Reads a marking as typed. Never fails: what cannot be read is said to be so.
#[must_use]
pub fn read(text: &str) -> Reading {
    let mut tokens = token::tokens(&lexer::atoms(text));
    token::settle(&mut tokens);
    let mut reading = Reading { as_typed: text.to_owned(), ..Reading::default() };
    for token in &tokens {
        take_mark(&mut reading, token);
    }
    let mut seen = Vec::new();
    reading.sets = sets(&tokens, &reading.standards, &mut seen);
    reading.unplaced =
        seen.iter().filter(|(position, _)| position.is_none()).map(|(_, left)| left.typed.clone()).collect();
    reading.unread = lost_words(&tokens, &seen);
    let odd_ratings = demote_impossible(&mut reading);
    reading.notes = judge::notes(&reading, &tokens, &seen);
    reading.notes.extend(odd_ratings);
    reading
}

fn illegible<T>(text: &str) -> Mark<T> {
    Mark::Illegible { as_typed: text.to_owned() }
}

/// Takes in every mark but ratings and type letters.
fn take_mark(reading: &mut Reading, token: &Token) {
    match token {
        Token::Year(year) => reading.year.add(Mark::Read(*year)),
        Token::YearIllegible(text) => reading.year.add(illegible(text)),
        Token::YearOrEdition(year) => reading.year.add(Mark::Undecided { as_typed: year.to_string() }),
        Token::Batch { text, legible: true } => reading.batch.add(Mark::Read(text.clone())),
        Token::Batch { text, legible: false } => reading.batch.add(illegible(text)),
        Token::Conformity(sign, number) => take_conformity(reading, *sign, number.as_ref()),
        Token::Uiaa(_) => reading.uiaa_label = true,
        Token::Standard { standard, edition } => take_standard(reading, *standard, *edition),
        Token::OtherStandard(name) => reading.other_standards.push(name.clone()),
        Token::Instructions => reading.instructions = true,
        _ => {}
    }
}

fn take_standard(reading: &mut Reading, standard: Standard, edition: Option<u16>) {
    match reading.standards.iter_mut().find(|named| named.standard == standard) {
        Some(named) => named.edition = named.edition.or(edition),
        None => reading.standards.push(NamedStandard { standard, edition }),
    }
}

fn take_conformity(reading: &mut Reading, sign: ConformitySign, number: Option<&BodyNumber>) {
    let body = match number {
        None => Mark::Absent,
        Some(BodyNumber::Whole(text)) => Mark::Read(text.clone()),
        Some(BodyNumber::Illegible(text) | BodyNumber::Odd(text)) => Mark::Illegible { as_typed: text.clone() },
        Some(BodyNumber::OrYear(year)) => {
            let undecided = Mark::Undecided { as_typed: year.to_string() };
            if reading.year.is_absent() {
                reading.year = Mark::Undecided { as_typed: year.to_string() };
            }
            undecided
        }
    };
    match reading.conformity.iter_mut().find(|known| known.sign == sign) {
        Some(known) => known.body.add(body),
        None => reading.conformity.push(Conformity { sign, body }),
    }
}

/// A stretch of text whose ratings are under one standard; `None`: the standard is not named, or illegible.
type Section<'a> = (Option<Standard>, &'a [Token]);

/// How ratings lie between the numbers of standards.
enum Arrangement<'a> {
    /// All ratings are under all the standards named.
    Shared,
    /// Each standard has ratings of its own.
    Split(Vec<Section<'a>>),
    /// Which ratings are under which standard cannot be told.
    Unclear,
}

fn sets(tokens: &[Token], named: &[NamedStandard], seen: &mut Vec<Seen>) -> Vec<RatingSet> {
    let arrangement = arrangement(tokens);
    if let Arrangement::Split(sections) = &arrangement {
        return sections.iter().map(|(standard, part)| rating_set(*standard, part, seen)).collect();
    }
    let standards: Vec<Option<Standard>> = match named {
        [] => vec![None],
        named => named.iter().map(|named| Some(named.standard)).collect(),
    };
    let mut shared = rating_set(standards[0], tokens, seen);
    if matches!(arrangement, Arrangement::Unclear) {
        withhold(&mut shared, seen);
        return standards.into_iter().map(|standard| RatingSet { standard, ..shared.clone() }).collect();
    }
    let class_of = |standard| RatingSet { standard, class: class(standard, tokens, seen), ..shared.clone() };
    standards.into_iter().map(class_of).collect()
}

/// Leaves what was read as typed, under no standard for certain.
fn withhold(set: &mut RatingSet, seen: &[Seen]) {
    if let Some(letter) = set.class.value() {
        set.class = undecided(letter.code());
    }
    for position in RatedPosition::ALL {
        let typed = seen.iter().filter(|(at, _)| *at == Some(*position)).map(|(_, amount)| amount.typed.as_str());
        let typed = typed.collect::<Vec<_>>().join(", ");
        let mark = set.rating_mut(*position);
        if !mark.is_absent() && !typed.is_empty() {
            *mark = Mark::Undecided { as_typed: typed };
        }
    }
}

/// Two standards have ratings of their own where all ratings stand behind the first one's number, or all before the
/// last one's.
fn arrangement(tokens: &[Token]) -> Arrangement<'_> {
    let heads: Vec<(usize, Option<Standard>)> = tokens.iter().enumerate().filter_map(head).collect();
    let mut different: Vec<Option<Standard>> = heads.iter().map(|(_, standard)| *standard).collect();
    different.sort_unstable();
    different.dedup();
    let [(first, _), .., (last, _)] = heads[..] else { return Arrangement::Shared };
    if different.len() < 2 || !tokens[first..last].iter().any(is_rating) {
        return Arrangement::Shared;
    }
    let leading = !tokens[..first].iter().any(is_rating);
    let trailing = !tokens[last..].iter().any(is_rating);
    match (leading, trailing, different.len() == heads.len()) {
        (true, true, _) => Arrangement::Shared,
        (true, false, true) => {
            let ends = heads.iter().skip(1).map(|(at, _)| *at).chain([tokens.len()]);
            Arrangement::Split(heads.iter().zip(ends).map(|((at, of), end)| (*of, &tokens[*at..end])).collect())
        }
        (false, true, true) => {
            let starts = [0].into_iter().chain(heads.iter().map(|(at, _)| *at + 1));
            Arrangement::Split(heads.iter().zip(starts).map(|((at, of), start)| (*of, &tokens[start..=*at])).collect())
        }
        _ => Arrangement::Unclear,
    }
}

fn head((at, token): (usize, &Token)) -> Option<(usize, Option<Standard>)> {
    match token {
        Token::Standard { standard, .. } => Some((at, Some(*standard))),
        Token::StandardIllegible(_) | Token::OtherStandard(_) => Some((at, None)),
        _ => None,
    }
}

/// A sign of position, or a number that may be a rating.
fn is_rating(token: &Token) -> bool {
    match token {
        Token::Position(_) | Token::Number { unit: Some(_), .. } | Token::Wild { has_unit: true, .. } => true,
        Token::Wild { text, .. } => text.contains(|c: char| c.is_ascii_digit()),
        Token::Number { text, unit: None } => text.chars().take_while(char::is_ascii_digit).count() <= 2,
        _ => false,
    }
}

/// A number that was seen, and the position that it was given.
pub(super) type Seen = (Option<RatedPosition>, Amount);

fn rating_set(standard: Option<Standard>, part: &[Token], seen: &mut Vec<Seen>) -> RatingSet {
    let Pairing { placed, unplaced } = pairing::pair_up(part);
    let left: Vec<Amount> = unplaced.into_iter().filter(may_be_rating).collect();
    let typed = left.iter().map(|amount| amount.typed.as_str()).collect::<Vec<_>>().join(", ");
    let mut set = RatingSet { standard, ..RatingSet::default() };
    for (position, amount) in placed {
        seen.extend(amount.clone().map(|amount| (Some(position), amount)));
        set.rating_mut(position).add(rating(amount, &typed));
    }
    for position in RatedPosition::ALL.iter().filter(|_| !left.is_empty()) {
        let mark = set.rating_mut(*position);
        if mark.is_absent() {
            *mark = Mark::Undecided { as_typed: typed.clone() };
        }
    }
    seen.extend(left.into_iter().map(|amount| (None, amount)));
    RatingSet { class: class(standard, part, seen), ..set }
}

/// A lone "?" may stand for any mark; figures or a unit say that it was a number.
fn may_be_rating(amount: &Amount) -> bool {
    amount.has_unit || amount.typed.contains(|c: char| c.is_ascii_digit())
}

fn rating(amount: Option<Amount>, left: &str) -> Mark<Force> {
    match amount {
        None => Mark::Undecided { as_typed: left.to_owned() },
        Some(Amount { force: Ok(force), .. }) => Mark::Read(force),
        Some(Amount { force: Err(Flaw::Disagree(a, b)), .. }) => Mark::Conflicting(vec![a, b]),
        Some(Amount { typed, .. }) => Mark::Illegible { as_typed: typed },
    }
}

/// The letter right behind the standard's number; else the one that this standard has. Where something is worn, a bare
/// letter that looks like a figure may be what is left of a rating.
fn class(standard: Option<Standard>, tokens: &[Token], seen: &[Seen]) -> Mark<TypeLetter> {
    let taken_for_figure = |letter: TypeLetter| {
        seen.iter().any(|(at, amount)| at.is_some() && amount.typed.split(' ').any(|part| part == letter.code()))
    };
    let letters: Vec<(TypeLetter, Option<Standard>)> = tokens
        .iter()
        .filter_map(|token| match token {
            Token::Class { letter, labelled, of } if *labelled || !taken_for_figure(*letter) => Some((*letter, *of)),
            _ => None,
        })
        .collect();
    let worn =
        seen.iter().any(|(at, _)| at.is_none()) || tokens.iter().any(|token| matches!(token, Token::Wild { .. }));
    let of_standard = |letter: TypeLetter| standard.is_none_or(|standard| letter.is_of(standard));
    let choices: [&dyn Fn(TypeLetter, Option<Standard>) -> bool; 3] =
        [&|_, of| of.is_some() && of == standard, &|letter, of| of.is_none() && of_standard(letter), &|_, of| {
            of.is_none() || standard.is_none()
        }];
    let chosen = choices.iter().find(|fits| letters.iter().any(|(letter, of)| fits(*letter, *of)));
    let mut mark = Mark::Absent;
    for (letter, _) in letters.iter().filter(|(letter, of)| chosen.is_some_and(|fits| fits(*letter, *of))) {
        let bare = tokens.contains(&Token::Class { letter: *letter, labelled: false, of: None })
            || tokens.contains(&Token::Class { letter: *letter, labelled: false, of: standard });
        let may_be_figure = bare && worn && words::is_typed_for_figure(*letter);
        mark.add(if may_be_figure { undecided(letter.code()) } else { Mark::Read(*letter) });
    }
    for token in tokens {
        if let Token::ClassIllegible(text) = token {
            mark.add(illegible(text));
        }
    }
    match letters.iter().find(|(_, of)| mark.is_absent() && of.is_some_and(|of| !names(tokens, of))) {
        Some((letter, _)) => undecided(letter.code()),
        None => mark,
    }
}

/// A letter behind the number of a standard whose ratings stand before it may be of that one or of the next.
fn names(tokens: &[Token], wanted: Standard) -> bool {
    tokens.iter().any(|token| matches!(token, Token::Standard { standard, .. } if *standard == wanted))
}

/// Words, codes and lone signs of damage that nothing was made of.
fn lost_words(tokens: &[Token], seen: &[Seen]) -> Vec<String> {
    let lost = |token: &Token| match token {
        Token::Unknown(text) => Some(text.clone()),
        Token::Number { text, unit: None } if text.starts_with('0') || text.len() > 3 => Some(text.clone()),
        Token::Wild { text, has_unit: false, .. } if !text.contains(|c: char| c.is_ascii_digit()) => Some(text.clone()),
        _ => None,
    };
    let made_of = |text: &String| seen.iter().any(|(_, amount)| amount.typed.split(' ').any(|part| part == text));
    tokens.iter().filter_map(lost).filter(|text| !made_of(text)).collect()
}

/// Gate open or minor axis above gate closed cannot be: one of the two is misread, and neither is lent.
fn demote_impossible(reading: &mut Reading) -> Vec<MarkNote> {
    let mut notes: Vec<MarkNote> = reading.sets.iter_mut().flat_map(demote_set).collect();
    notes.dedup();
    notes
}

fn demote_set(set: &mut RatingSet) -> Vec<MarkNote> {
    let Some(closed) = set.closed.value().copied() else { return Vec::new() };
    let mut notes = Vec::new();
    for position in [RatedPosition::Open, RatedPosition::Minor] {
        if let Some(rating) = set.rating(position).value().copied().filter(|rating| *rating > closed) {
            notes.push(MarkNote::AboveClosed { position, rating, closed });
            *set.rating_mut(position) = undecided(&format!("{} kN", kn(rating)));
            set.closed = undecided(&format!("{} kN", kn(closed)));
        }
    }
    notes
}

fn undecided<T>(as_typed: &str) -> Mark<T> {
    Mark::Undecided { as_typed: as_typed.to_owned() }
}

impl Reading {
    /// The connector's own fields as read: type letter and ratings; all else unknown.
    #[must_use]
    pub fn connector(&self) -> Connector {
        let mut connector = Connector::default();
        self.apply(&mut connector);
        connector
    }
}
