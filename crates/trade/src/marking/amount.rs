//! From figures and units to forces, as far as they can be told.

use terms::{Force, STANDARD_GRAVITY};

use crate::standards::{LIMITS, TypeLetter};

use super::token::{BodyNumber, Token};
use super::words::{self, Unit};

/// Something that stands where a rating stands.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Amount {
    pub typed: String,
    pub force: Result<Force, Flaw>,
    /// The unit that was typed, if it can be read.
    pub unit: Option<Unit>,
    /// Whether any unit was typed.
    pub has_unit: bool,
    /// It may be no rating at all.
    pub optional: bool,
}

/// Why a force cannot be told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Flaw {
    /// Figures are missing, or cannot be told apart.
    Illegible,
    /// A force that no connector bears.
    Implausible,
    /// Two figures in two units that are not the same force.
    Disagree(Force, Force),
}

/// What is known of the units of a stretch of text.
#[derive(Debug, Clone, Copy)]
pub(super) struct Units {
    /// The unit of a number that has none beside it.
    pub default: Option<Unit>,
    /// Whether some number has its own unit, and not only the last or the first for all.
    pub each: bool,
    /// Whether any unit can be read.
    pub any: bool,
}

impl Units {
    pub fn of(tokens: &[Token]) -> Self {
        let own = |token: &Token| match token {
            Token::Number { unit, .. } => Some(*unit),
            _ => None,
        };
        let numbers: Vec<Option<Unit>> = tokens.iter().filter_map(own).collect();
        let apart = tokens.iter().filter_map(|token| if let Token::Unit(unit) = token { Some(*unit) } else { None });
        let mut all: Vec<Unit> = numbers.iter().flatten().copied().chain(apart).collect();
        all.dedup();
        let default = match all[..] {
            [] => Some(Unit::Kilonewton),
            [only] => Some(only),
            _ => None,
        };
        let count = numbers.iter().flatten().count();
        let once_for_all = count == 1 && numbers.last().is_some_and(Option::is_some);
        let wild_unit = tokens.iter().any(|token| matches!(token, Token::Wild { has_unit: true, .. }));
        Self { default, each: (count > 0 && !once_for_all) || wild_unit, any: !all.is_empty() }
    }
}

/// The amount of a token that stands for a rating, if it does.
pub(super) fn amount(token: &Token, units: Units) -> Option<Amount> {
    match token {
        Token::Number { text, unit } => number(text, *unit, units),
        // Five figures may be the four of the body and a rating, its unit not its own, that ran into them.
        Token::Conformity(_, Some(BodyNumber::Odd(text))) if may_have_run_on(text, units) => {
            Some(illegible(text, true))
        }
        Token::Unknown(text) if begins_like_number(text) => Some(illegible(text, true)),
        Token::Wild { text, unit, has_unit } => Some(Amount { unit: *unit, ..illegible(text, !has_unit) }),
        _ => None,
    }
}

/// A figure first, or behind a sign or letter that may be one.
fn begins_like_number(text: &str) -> bool {
    let head: Vec<char> = text.chars().take(2).collect();
    head.iter().all(|c| words::may_be_figure(*c)) && head.iter().any(char::is_ascii_digit)
        || text.starts_with(|c: char| c.is_ascii_digit())
}

/// A body number that is too long, right before a number: the two may have been one mark and a rating.
pub(super) fn run_on_body(tokens: &[Token]) -> Option<Amount> {
    match tokens {
        [Token::Conformity(_, Some(BodyNumber::Odd(text))), Token::Number { .. } | Token::Wild { .. }, ..] => {
            Some(illegible(text, true))
        }
        _ => None,
    }
}

fn may_have_run_on(body: &str, units: Units) -> bool {
    body.len() > 4 && !units.each && words::standard(body).is_none()
}

/// The same for tokens that stand for something else unless a rating is missing.
pub(super) fn last_resort(token: &Token) -> Option<Amount> {
    match token {
        Token::Class { letter, labelled: false, .. } => Some(illegible(letter.code(), true)),
        Token::ClassIllegible(text) | Token::YearIllegible(text) | Token::Unknown(text) => Some(illegible(text, true)),
        Token::Number { text, .. } => Some(illegible(text, true)),
        _ => None,
    }
}

pub(super) fn illegible(typed: &str, optional: bool) -> Amount {
    Amount { typed: typed.to_owned(), force: Err(Flaw::Illegible), unit: None, has_unit: !optional, optional }
}

/// A bare number that is too long for a rating in kN is taken for another mark, unless it is so long that a
/// rating may have run into it; one that begins with a nought may be the tail of a rating.
fn number(text: &str, unit: Option<Unit>, units: Units) -> Option<Amount> {
    if unit.is_none() && is_large(text) && !matches!(units.default, Some(Unit::PoundForce)) {
        return (text.len() >= 5).then(|| illegible(text, true));
    }
    if unit.is_none() && text.starts_with('0') {
        return Some(illegible(text, true));
    }
    let force = match unit.or(units.default) {
        Some(known) => force(text, known).ok_or(Flaw::Illegible).and_then(plausible),
        None => Err(Flaw::Illegible),
    };
    let typed = unit.map_or_else(|| text.to_owned(), |unit| format!("{text} {}", unit.symbol()));
    Some(Amount { typed, force, unit, has_unit: unit.is_some(), optional: unit.is_none() && units.each })
}

fn is_large(text: &str) -> bool {
    text.chars().take_while(char::is_ascii_digit).count() >= 3
}

fn plausible(force: Force) -> Result<Force, Flaw> {
    (LIMITS.lowest_rating <= force && force <= LIMITS.highest_rating).then_some(force).ok_or(Flaw::Implausible)
}

/// `None` where the figures can be read in two ways: "22,500 kN".
fn force(text: &str, unit: Unit) -> Option<Force> {
    let thousands = text.split_once(['.', ',']).filter(|(_, after)| after.len() == 3);
    let value: f64 = match thousands {
        Some(_) if unit == Unit::Kilonewton => return None,
        Some((before, after)) => format!("{before}{after}").parse().ok()?,
        None => text.replace(',', ".").parse().ok()?,
    };
    Some(unit.force(value))
}

impl Unit {
    fn force(self, value: f64) -> Force {
        match self {
            Self::Kilonewton => Force::from_kn(value),
            Self::Newton => Force::from_newtons(value),
            Self::Decanewton => Force::from_newtons(value * 10.0),
            Self::PoundForce => Force::from_lbf(value),
            Self::KilogramForce => Force::from_newtons(value * STANDARD_GRAVITY),
        }
    }

    pub fn symbol(self) -> &'static str {
        match self {
            Self::Kilonewton => "kN",
            Self::Newton => "N",
            Self::Decanewton => "daN",
            Self::PoundForce => "lbf",
            Self::KilogramForce => "kg",
        }
    }
}

/// Two figures of one rating in two units: "22 kN (4950 lbf)". The first stands if both are the same force.
pub(super) fn pair(first: &Amount, second: &Amount) -> Option<Amount> {
    if !first.has_unit || !second.has_unit || first.unit == second.unit {
        return None;
    }
    let force = match (first.force, second.force) {
        (Ok(a), Ok(b)) if same(a, b) => Ok(a),
        (Ok(a), Ok(b)) => Err(Flaw::Disagree(a, b)),
        (Err(flaw), _) | (_, Err(flaw)) => Err(flaw),
    };
    Some(Amount { typed: format!("{} / {}", first.typed, second.typed), force, ..first.clone() })
}

fn same(a: Force, b: Force) -> bool {
    (a.newtons() - b.newtons()).abs() <= LIMITS.unit_pair_tolerance * a.newtons()
}

/// Figures that stand apart with no unit between them may be one number pulled apart: they are read as neither.
pub(super) fn fused(first: &Amount, second: &Amount) -> Option<Amount> {
    (!first.has_unit).then(|| Amount {
        typed: format!("{} {}", first.typed, second.typed),
        force: Err(Flaw::Illegible),
        optional: first.optional && second.optional,
        ..second.clone()
    })
}

/// "2 B": a number of one figure that may be one of two, the second typed as the letter that it looks like.
pub(super) fn may_run_on(first: &Amount, letter: TypeLetter) -> bool {
    let tenfold = first.force.ok().map(|force| Force::from_newtons(force.newtons() * 10.0));
    let one_figure = first.typed.chars().count() == 1 && !first.has_unit;
    one_figure && words::is_typed_for_figure(letter) && tenfold.is_some_and(|force| force <= LIMITS.highest_rating)
}

/// In whole pounds-force, for people who compare.
pub(super) fn whole_lbf(force: Force) -> String {
    format!("{:.0}", force.lbf())
}
