//! What is to be said of a reading: what marks mean, what is missing, what does not add up.

use terms::{Force, Quality};

use crate::standards::{self, Minimum, Standard, TypeLetter};

use super::amount::{self, Amount, Flaw, Units};
use super::assemble::Seen;
use super::note::{MarkKind, MarkNote};
use super::reading::{Mark, RatedPosition, RatingSet, Reading};
use super::token::{BodyNumber, Token};
use super::words::Unit;

/// What is to be said of one side of a reading.
type Part = fn(&Reading, &[Token]) -> Vec<MarkNote>;

pub(super) fn notes(reading: &Reading, tokens: &[Token], seen: &[Seen]) -> Vec<MarkNote> {
    let parts: [Part; 7] = [ratings, classes, standards_named, conformity, other_marks, missing, unread];
    let mut notes: Vec<MarkNote> = Vec::new();
    let amounts = seen.iter().flat_map(|(position, amount)| amount_notes(*position, amount, Units::of(tokens)));
    for note in parts.iter().flat_map(|part| part(reading, tokens)).chain(amounts) {
        if !notes.contains(&note) {
            notes.push(note);
        }
    }
    notes
}

fn ratings(reading: &Reading, _: &[Token]) -> Vec<MarkNote> {
    let of_set = |set: &RatingSet| {
        let below = below_minimum(set, reading);
        RatedPosition::ALL.iter().filter_map(|position| rating(set, *position)).chain(below).collect::<Vec<_>>()
    };
    reading.sets.iter().flat_map(of_set).collect()
}

fn rating(set: &RatingSet, position: RatedPosition) -> Option<MarkNote> {
    match set.rating(position) {
        Mark::Read(rating) => Some(MarkNote::RatingRead { position, rating: *rating }),
        Mark::Illegible { as_typed } => Some(MarkNote::RatingIllegible { position, as_typed: as_typed.clone() }),
        Mark::Undecided { as_typed } => Some(MarkNote::RatingUndecided { position, as_typed: as_typed.clone() }),
        Mark::Conflicting(values) => {
            let (first, second) = (*values.first()?, *values.last()?);
            Some(MarkNote::RatingsConflict { position, first, second })
        }
        Mark::Absent => None,
    }
}

/// Compared with the standard that is named, or with each that the letter may be of: below all of them is below.
fn below_minimum(set: &RatingSet, reading: &Reading) -> Vec<MarkNote> {
    let Some(letter) = set.class.value().copied() else { return Vec::new() };
    let of_1998 =
        |standard| reading.standards.iter().any(|named| named.standard == standard && named.edition == Some(1998));
    let candidates: Vec<(Standard, Minimum)> = Standard::ALL
        .iter()
        .filter(|standard| set.standard.is_none_or(|named| named == **standard) && !of_1998(**standard))
        .filter_map(|standard| Some((*standard, standards::minimum(*standard, letter)?)))
        .filter(|(_, minimum)| minimum.source.quality != Quality::FromMemory)
        .collect();
    let below = |position: &RatedPosition| {
        let rating = *set.rating(*position).value()?;
        let (standard, minimum) = lowest(&candidates, *position)?;
        (rating < minimum).then_some(MarkNote::BelowMinimum { position: *position, rating, standard, letter, minimum })
    };
    RatedPosition::ALL.iter().filter_map(below).collect()
}

/// The lowest demand; none if one of the standards demands nothing here.
fn lowest(candidates: &[(Standard, Minimum)], position: RatedPosition) -> Option<(Standard, Force)> {
    let demands: Option<Vec<_>> =
        candidates.iter().map(|(standard, minimum)| Some((*standard, demand(minimum, position)?))).collect();
    demands?.into_iter().min_by(|(_, a), (_, b)| a.newtons().total_cmp(&b.newtons()))
}

fn demand(minimum: &Minimum, position: RatedPosition) -> Option<Force> {
    match position {
        RatedPosition::Closed => minimum.closed.or(minimum.closed_locked),
        RatedPosition::Open => minimum.open,
        RatedPosition::Minor => minimum.minor,
    }
}

/// What is to be said of units, pairs of them, and numbers that are none of a connector.
fn amount_notes(position: Option<RatedPosition>, amount: &Amount, units: Units) -> Vec<MarkNote> {
    match (amount.force, position) {
        (Err(Flaw::Implausible), _) => vec![MarkNote::ImplausibleRating { as_typed: amount.typed.clone() }],
        (Err(Flaw::Disagree(first, second)), _) => {
            vec![MarkNote::UnitsDisagree { first, second, first_lbf: amount::whole_lbf(first) }]
        }
        (Ok(rating), Some(position)) => {
            let unit = amount.unit.or(units.default).filter(|unit| *unit != Unit::Kilonewton);
            let converted = unit.map(|_| MarkNote::UnitConverted { position, rating });
            let assumed = (!units.any).then_some(MarkNote::UnitAssumed { position, rating });
            converted.into_iter().chain(assumed).collect()
        }
        _ => Vec::new(),
    }
}

fn classes(reading: &Reading, _: &[Token]) -> Vec<MarkNote> {
    reading.sets.iter().flat_map(class).collect()
}

fn class(set: &RatingSet) -> Vec<MarkNote> {
    match &set.class {
        Mark::Read(letter) => class_means(set.standard, *letter),
        Mark::Illegible { as_typed } => {
            vec![MarkNote::MarkIllegible { mark: MarkKind::Class, as_typed: as_typed.clone() }]
        }
        Mark::Conflicting(_) => vec![MarkNote::MarksConflict { mark: MarkKind::Class }],
        Mark::Undecided { .. } | Mark::Absent => Vec::new(),
    }
}

fn class_means(standard: Option<Standard>, letter: TypeLetter) -> Vec<MarkNote> {
    if let Some(standard) = standard.filter(|standard| !letter.is_of(*standard)) {
        return vec![MarkNote::ClassNotInStandard { standard, letter }];
    }
    if letter == TypeLetter::D {
        return vec![MarkNote::ClassDirectional];
    }
    let has_it = |of: &&Standard| standard.is_none_or(|named| named == **of) && letter.is_of(**of);
    let meanings: Vec<MarkNote> = Standard::ALL
        .iter()
        .filter(has_it)
        .filter_map(|of| Some((*of, standards::minimum(*of, letter)?.description)))
        .map(|(standard, description)| MarkNote::ClassMeans { standard, letter, description })
        .collect();
    if meanings.len() > 1 { vec![MarkNote::ClassOfEither { letter }] } else { meanings }
}

fn standards_named(reading: &Reading, _: &[Token]) -> Vec<MarkNote> {
    let mut notes: Vec<MarkNote> =
        reading.standards.iter().map(|named| MarkNote::StandardNamed { standard: named.standard }).collect();
    if reading.standards.iter().any(|named| named.edition == Some(1998)) {
        notes.push(MarkNote::EditionOf1998);
    }
    if reading.standards.len() > 1 {
        notes.push(MarkNote::TwoStandards);
    }
    notes.extend(reading.other_standards.iter().map(|name| MarkNote::OtherStandard { name: name.clone() }));
    notes
}

fn conformity(reading: &Reading, tokens: &[Token]) -> Vec<MarkNote> {
    let mut notes = Vec::new();
    for conformity in &reading.conformity {
        let sign = conformity.sign;
        notes.push(MarkNote::ConformityMeans { sign });
        notes.extend(match &conformity.body {
            Mark::Read(number) => Some(MarkNote::BodyMeans { sign, number: number.clone() }),
            Mark::Absent => Some(MarkNote::BodyMissing { sign }),
            Mark::Undecided { as_typed } => Some(MarkNote::BodyOrYear { sign, number: as_typed.clone() }),
            Mark::Conflicting(_) => Some(MarkNote::MarksConflict { mark: MarkKind::Body }),
            Mark::Illegible { .. } => None,
        });
    }
    notes.extend(tokens.iter().filter_map(odd_number));
    notes
}

/// Numbers behind a sign or label that are of another kind.
fn odd_number(token: &Token) -> Option<MarkNote> {
    match token {
        Token::Conformity(sign, Some(BodyNumber::Odd(number))) => {
            let (sign, number) = (*sign, number.clone());
            let of_standard = super::words::standard(&number).is_some() || number == UIAA_CONNECTORS;
            Some(if of_standard {
                MarkNote::StandardAsBody { sign, number }
            } else {
                MarkNote::BodyNumberLength { sign, number }
            })
        }
        Token::Conformity(_, Some(BodyNumber::Illegible(as_typed))) => {
            Some(MarkNote::MarkIllegible { mark: MarkKind::Body, as_typed: as_typed.clone() })
        }
        Token::Uiaa(Some(number)) if number != UIAA_CONNECTORS => Some(MarkNote::UiaaNumber { number: number.clone() }),
        _ => None,
    }
}

/// The federation's standard for connectors, by its name: UIAA 121.
const UIAA_CONNECTORS: &str = "121";

fn other_marks(reading: &Reading, tokens: &[Token]) -> Vec<MarkNote> {
    let illegible = |mark, as_typed: &String| Some(MarkNote::MarkIllegible { mark, as_typed: as_typed.clone() });
    let or_edition = tokens.iter().any(|token| matches!(token, Token::YearOrEdition(_)));
    let year = match &reading.year {
        Mark::Read(year) => Some(MarkNote::YearRead { year: *year }),
        Mark::Illegible { as_typed } => illegible(MarkKind::Year, as_typed),
        Mark::Undecided { as_typed } if or_edition => Some(MarkNote::YearOrEdition { year: as_typed.clone() }),
        Mark::Conflicting(_) => Some(MarkNote::MarksConflict { mark: MarkKind::Year }),
        Mark::Undecided { .. } | Mark::Absent => None,
    };
    let batch = match &reading.batch {
        Mark::Read(batch) => Some(MarkNote::BatchRead { batch: batch.clone() }),
        Mark::Illegible { as_typed } => illegible(MarkKind::Batch, as_typed),
        Mark::Conflicting(_) => Some(MarkNote::MarksConflict { mark: MarkKind::Batch }),
        Mark::Undecided { .. } | Mark::Absent => None,
    };
    let label = reading.uiaa_label.then_some(MarkNote::UiaaLabelMeans);
    let book = reading.instructions.then_some(MarkNote::InstructionsMeans);
    [year, batch, label, book].into_iter().flatten().collect()
}

fn missing(reading: &Reading, tokens: &[Token]) -> Vec<MarkNote> {
    let mut notes = Vec::new();
    if !reading.has_legible_strength() {
        notes.push(MarkNote::NoLegibleStrength);
    }
    let set = reading.ratings();
    notes.extend(
        [RatedPosition::Open, RatedPosition::Minor].into_iter().filter_map(|position| missing_rating(set?, position)),
    );
    let standard_illegible = tokens.iter().any(|token| matches!(token, Token::StandardIllegible(_)));
    let no_standard = reading.standards.is_empty() && reading.other_standards.is_empty() && !standard_illegible;
    let absent = [
        (MarkKind::Class, set.is_none_or(|set| set.class.is_absent())),
        (MarkKind::Year, reading.year.is_absent()),
        (MarkKind::Batch, reading.batch.is_absent()),
        (MarkKind::Standard, no_standard),
        (MarkKind::Conformity, reading.conformity.is_empty()),
        (MarkKind::UiaaLabel, !reading.uiaa_label),
    ];
    notes.extend(absent.into_iter().filter(|(_, absent)| *absent).map(|(mark, _)| MarkNote::MarkMissing { mark }));
    notes
}

fn missing_rating(set: &RatingSet, position: RatedPosition) -> Option<MarkNote> {
    if !set.rating(position).is_absent() {
        return None;
    }
    let letter = set.class.value().copied();
    let standard = set.standard.unwrap_or(Standard::En12275);
    let row = letter.and_then(|letter| standards::minimum(standard, letter));
    Some(match (row, letter) {
        (Some(row), Some(letter)) if demand(&row, position).is_none() => {
            MarkNote::RatingNotDemanded { position, letter }
        }
        _ => MarkNote::RatingMissing { position },
    })
}

fn unread(reading: &Reading, tokens: &[Token]) -> Vec<MarkNote> {
    let no_signs = !tokens.iter().any(|token| matches!(token, Token::Position(_)));
    let bare = (no_signs && !reading.unplaced.is_empty())
        .then(|| MarkNote::NumbersWithoutPosition { as_typed: reading.unplaced.join(", ") });
    let standards = tokens.iter().filter_map(|token| match token {
        Token::StandardIllegible(as_typed) => {
            Some(MarkNote::MarkIllegible { mark: MarkKind::Standard, as_typed: as_typed.clone() })
        }
        _ => None,
    });
    let words = reading.unread.iter().map(|as_typed| MarkNote::NotUnderstood { as_typed: as_typed.clone() });
    bare.into_iter().chain(standards).chain(words).collect()
}
