//! Judges any choice, from the pieces and the duties themselves. Shares no code with the statement: neither how pieces suit, nor how
//! they are grouped, nor what is a pair.

use crate::choice::{Choice, Taken};
use crate::outing::{Need, Outing, Piece};
use std::collections::BTreeMap;
use terms::{Force, coded};
use trade::connector::Lock;
use trade::duty::Side;

coded!(
    /// What is wrong with a choice.
    Objection {
        /// Not one answer for each need.
        Needs = "needs",
        /// Times met and times short do not come to the count.
        Count = "count",
        /// A label that no piece has, or more of it than there is.
        Stock = "stock",
        /// A piece that does not go along, and was not told as to be borrowed or inspected.
        Stays = "stays",
        /// Not as many pieces as one time takes.
        Unit = "unit",
        /// Two that are no pair.
        Pair = "pair",
        /// Another kind of gear.
        Gear = "gear",
        /// A type letter that does not do.
        Class = "class",
        /// A shape that neither duty nor device allows.
        Shape = "shape",
        /// A lock that neither duty nor device allows.
        Lock = "lock",
        /// Marked for less than is asked for, or not at all.
        Strength = "strength",
        /// Too little margin over its load.
        Margin = "margin",
        /// It is restricted to other duties, or has lived on bolts.
        Restricted = "restricted",
        /// Size, length or diameter.
        Measure = "measure",
    }
);

/// All that is wrong with a choice: what, with which need, and which label.
#[must_use]
pub fn objections(outing: &Outing, choice: &Choice) -> Vec<(Objection, usize, String)> {
    let needs = outing.needs.len();
    if choice.units.len() != needs || choice.short.len() != needs {
        return vec![(Objection::Needs, needs, String::new())];
    }
    let mut wrong = Vec::new();
    let mut used: BTreeMap<&str, u32> = BTreeMap::new();
    let bought: BTreeMap<usize, u32> = choice.remedies.buy.iter().fold(BTreeMap::new(), |mut all, (need, count, _)| {
        *all.entry(*need).or_insert(0) += count;
        all
    });
    for (place, need) in outing.needs.iter().enumerate() {
        let units = &choice.units[place];
        if u32::try_from(units.len()).unwrap_or(u32::MAX).saturating_add(choice.short[place]) != need.count {
            wrong.push((Objection::Count, place, String::new()));
        }
        let mut missing = 0;
        for unit in units {
            let size: u32 = unit.pieces.iter().map(|taken| taken.count).sum();
            let asked = if need.duty.is_paired { 2 } else { 1 };
            if size > asked {
                wrong.push((Objection::Unit, place, String::new()));
            }
            missing += asked.saturating_sub(size);
            let mut pieces = Vec::new();
            for Taken { label, count } in &unit.pieces {
                *used.entry(label).or_default() += count;
                match outing.pieces.iter().find(|piece| piece.label == *label) {
                    None => wrong.push((Objection::Stock, place, label.clone())),
                    Some(piece) => {
                        wrong.extend(unsuited(need, piece).map(|what| (what, place, label.clone())));
                        (0..*count).for_each(|_| pieces.push(piece));
                    }
                }
            }
            if let [one, other] = pieces[..]
                && !is_pair(need, one, other)
            {
                wrong.push((Objection::Pair, place, one.label.clone()));
            }
        }
        if missing != bought.get(&place).copied().unwrap_or(0) {
            wrong.push((Objection::Unit, place, String::new()));
        }
    }
    wrong.extend(overdrawn(outing, choice, &used));
    wrong
}

/// Labels of which more is taken than there is, and pieces that stay.
fn overdrawn(outing: &Outing, choice: &Choice, used: &BTreeMap<&str, u32>) -> Vec<(Objection, usize, String)> {
    let fetched = |label: &str| {
        let told = choice.remedies.borrow.iter().chain(&choice.remedies.inspect);
        told.filter(|taken| taken.label == label).map(|taken| taken.count).sum::<u32>()
    };
    let mut wrong = Vec::new();
    for (label, count) in used {
        let Some(piece) = outing.pieces.iter().find(|piece| piece.label == **label) else { continue };
        if *count > piece.count {
            wrong.push((Objection::Stock, 0, piece.label.clone()));
        }
        if piece.stays.is_some() && fetched(label) != *count {
            wrong.push((Objection::Stays, 0, piece.label.clone()));
        }
    }
    wrong
}

fn unsuited<'a>(need: &'a Need, piece: &'a Piece) -> impl Iterator<Item = Objection> + 'a {
    let duty = &need.duty;
    let manual = need.manual.as_ref().filter(|_| duty.goes_into_device);
    let allowed = |by_manual: Option<bool>, by_duty: bool| by_manual.unwrap_or(by_duty);
    let shape_by_manual = manual
        .filter(|manual| !manual.shapes.is_empty())
        .map(|manual| piece.is.shape.is_some_and(|shape| manual.shapes.contains(&shape)));
    let lock_by_manual = manual
        .filter(|manual| !manual.locks.is_empty())
        .map(|manual| piece.is.lock.is_some_and(|lock| manual.locks.contains(&lock)));
    let shape = duty.shapes.is_empty() || piece.is.shape.is_some_and(|shape| duty.shapes.contains(&shape));
    let lock = duty.locks.is_empty() || piece.is.lock.is_some_and(|lock| duty.locks.contains(&lock));
    let class = duty.classes.is_empty() || piece.is.class.is_some_and(|class| duty.classes.contains(&class));
    let holds =
        |bears: Option<Force>, least: Option<Force>| least.is_none_or(|least| bears.is_some_and(|own| own >= least));
    let bears = piece.is.bears;
    let strong = holds(bears.closed, duty.least.closed)
        && holds(bears.open, duty.least.open)
        && holds(bears.minor, duty.least.minor);
    let times = |load: Option<Force>, margin: f64| load.map(|load| Force::from_newtons(load.newtons() * margin));
    let spare = holds(bears.closed, times(need.loads.closed, need.margins[0]))
        && holds(bears.open, times(need.loads.open, need.margins[1]))
        && holds(bears.minor, times(need.loads.minor, need.margins[2]));
    let restricted = !piece.restricted_to.is_empty() && !piece.restricted_to.contains(&duty.name);
    let burred = duty.side == Some(Side::Rope) && piece.lives_on == Some(Side::Bolt);
    let size = need.size.is_none() || need.size == piece.is.size;
    let long = need.least_length.is_none_or(|least| piece.is.length.is_some_and(|own| own >= least));
    let thick =
        need.diameter.is_none_or(|(least, most)| piece.is.diameter.is_some_and(|own| own >= least && own <= most));
    [
        (piece.is.gear == Some(duty.gear), Objection::Gear),
        (class, Objection::Class),
        (allowed(shape_by_manual, shape), Objection::Shape),
        (allowed(lock_by_manual, lock), Objection::Lock),
        (strong, Objection::Strength),
        (spare, Objection::Margin),
        (!restricted && !burred, Objection::Restricted),
        (size && long && thick, Objection::Measure),
    ]
    .into_iter()
    .filter_map(|(holds, what)| (!holds).then_some(what))
}

/// Two of one size and shape and, unless one of each lock is asked for, of one model and lock.
fn is_pair(need: &Need, one: &Piece, other: &Piece) -> bool {
    let alike = one.is.shape == other.is.shape && one.is.size == other.is.size;
    let closes_itself = |piece: &Piece| piece.is.lock.is_some_and(Lock::is_automatic);
    if need.mixed {
        return alike && closes_itself(one) != closes_itself(other);
    }
    let one_model = match (&one.model, &other.model) {
        (Some(own), Some(others)) => own == others,
        (None, None) => one.is == other.is,
        _ => false,
    };
    alike && one_model && one.is.lock == other.is.lock
}
