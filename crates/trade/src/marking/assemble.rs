//! From tokens to a reading: sections by standard, ratings, and the other marks.

use terms::Force;

use crate::connector::Connector;
use crate::standards::{Standard, TypeLetter};

use super::amount::{Amount, Flaw};
use super::judge;
use super::lexer;
use super::note::MarkNote;
use super::pairing::{self, Pairing};
use super::reading::{Conformity, ConformitySign, Mark, NamedStandard, RatedPosition, RatingSet, Reading};
use super::token::{self, BodyNumber, Token};

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

fn sets(tokens: &[Token], named: &[NamedStandard], seen: &mut Vec<Seen>) -> Vec<RatingSet> {
    if let Some(sections) = sections(tokens) {
        return sections.iter().map(|(standard, part)| rating_set(*standard, part, seen)).collect();
    }
    let standards: Vec<Option<Standard>> = match named {
        [] => vec![None],
        named => named.iter().map(|named| Some(named.standard)).collect(),
    };
    let shared = rating_set(standards[0], tokens, seen);
    let class_of = |standard| RatingSet { standard, class: class(standard, tokens, seen), ..shared.clone() };
    standards.into_iter().map(class_of).collect()
}

/// Two standards that each have ratings of their own, either all behind their standard's number or all before it.
fn sections(tokens: &[Token]) -> Option<Vec<Section<'_>>> {
    let heads: Vec<(usize, Option<Standard>)> = tokens.iter().enumerate().filter_map(head).collect();
    let mut different: Vec<Option<Standard>> = heads.iter().map(|(_, standard)| *standard).collect();
    different.sort_unstable();
    different.dedup();
    if heads.len() < 2 || different.len() != heads.len() {
        return None;
    }
    let is_rating = |token: &Token| matches!(token, Token::Position(_)) || is_amount(token);
    let (first, last) = (heads[0].0, heads[heads.len() - 1].0);
    let leading = !tokens[..first].iter().any(is_rating);
    let trailing = !tokens[last..].iter().any(is_rating);
    let parts: Vec<Section<'_>> = match (leading, trailing) {
        (true, false) => {
            let ends = heads.iter().skip(1).map(|(at, _)| *at).chain([tokens.len()]);
            heads.iter().zip(ends).map(|((at, standard), end)| (*standard, &tokens[*at..end])).collect()
        }
        (false, true) => {
            let starts = [0].into_iter().chain(heads.iter().map(|(at, _)| *at + 1));
            heads.iter().zip(starts).map(|((at, standard), start)| (*standard, &tokens[start..=*at])).collect()
        }
        _ => return None,
    };
    let has_rating = |part: &[Token]| part.iter().any(|token| is_rating(token) || is_bare_amount(token));
    let rated = parts.iter().filter(|(_, part)| has_rating(part)).count();
    (rated >= 2).then_some(parts)
}

fn head((at, token): (usize, &Token)) -> Option<(usize, Option<Standard>)> {
    match token {
        Token::Standard { standard, .. } => Some((at, Some(*standard))),
        Token::StandardIllegible(_) | Token::OtherStandard(_) => Some((at, None)),
        _ => None,
    }
}

const fn is_amount(token: &Token) -> bool {
    matches!(token, Token::Number { unit: Some(_), .. } | Token::Wild { has_unit: true, .. })
}

fn is_bare_amount(token: &Token) -> bool {
    matches!(token, Token::Number { text, unit: None } if text.chars().take_while(char::is_ascii_digit).count() <= 2)
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

/// The letter right behind the standard's number; else the one that this standard has.
fn class(standard: Option<Standard>, tokens: &[Token], seen: &[Seen]) -> Mark<TypeLetter> {
    let taken_for_figure =
        |letter: TypeLetter| seen.iter().any(|(at, amount)| at.is_some() && amount.typed == letter.code());
    let letters: Vec<(TypeLetter, Option<Standard>)> = tokens
        .iter()
        .filter_map(|token| match token {
            Token::Class { letter, labelled, of } if *labelled || !taken_for_figure(*letter) => Some((*letter, *of)),
            _ => None,
        })
        .collect();
    let of_standard = |letter: TypeLetter| standard.is_none_or(|standard| letter.is_of(standard));
    let choices: [&dyn Fn(TypeLetter, Option<Standard>) -> bool; 3] =
        [&|_, of| of.is_some() && of == standard, &|letter, of| of.is_none() && of_standard(letter), &|_, of| {
            of.is_none() || standard.is_none()
        }];
    let chosen = choices.iter().find(|fits| letters.iter().any(|(letter, of)| fits(*letter, *of)));
    let mut mark = Mark::Absent;
    for (letter, _) in letters.iter().filter(|(letter, of)| chosen.is_some_and(|fits| fits(*letter, *of))) {
        mark.add(Mark::Read(*letter));
    }
    for token in tokens {
        if let Token::ClassIllegible(text) = token {
            mark.add(illegible(text));
        }
    }
    match letters.iter().find(|(_, of)| mark.is_absent() && of.is_some_and(|of| !names(tokens, of))) {
        Some((letter, _)) => Mark::Undecided { as_typed: letter.code().to_owned() },
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
            *set.rating_mut(position) = undecided(rating);
            set.closed = undecided(closed);
        }
    }
    notes
}

fn undecided(force: Force) -> Mark<Force> {
    Mark::Undecided { as_typed: format!("{} kN", super::note::kn(force)) }
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
