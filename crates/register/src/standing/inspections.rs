//! What inspections found, and those that do not count.

use super::case::{Case, Held};
use super::{Ground, State};
use terms::Reason;

/// Defects and points to watch. Anybody may find them; a later inspection that names this one clears them.
pub(super) fn remarks(case: &Case<'_>) -> Vec<Ground> {
    case.inspections.iter().flat_map(|held| [defects(case, held), to_watch(case, held)]).flatten().collect()
}

fn defects(case: &Case<'_>, held: &Held<'_>) -> Option<Ground> {
    let reason = Reason::DefectFound { points: some(&held.defects)? };
    Some(case.by_entry(held.past, State::Quarantined, reason))
}

fn to_watch(case: &Case<'_>, held: &Held<'_>) -> Option<Ground> {
    let reason = Reason::PointToWatch { points: some(&held.to_watch)? };
    Some(case.by_entry(held.past, State::Watch, reason))
}

fn some(points: &[&str]) -> Option<String> {
    (!points.is_empty()).then(|| points.join(", "))
}

/// Inspections that do not count, until one that does. For information.
pub(super) fn not_counted(case: &Case<'_>) -> Vec<Ground> {
    case.inspections.iter().flat_map(|held| reasons(case, held)).collect()
}

fn reasons(case: &Case<'_>, held: &Held<'_>) -> Vec<Ground> {
    let day = held.past.happened.date;
    let next = case.inspections.iter().filter(|next| next.counts()).map(|next| next.past.happened.date);
    let until = next.filter(|next| *next > day).min();
    let unsigned = (!held.is_signed).then_some(Reason::InspectionWithoutRight);
    let incomplete = some(&held.left_out).map(|points| Reason::InspectionIncomplete { points });
    let reasons = unsigned.into_iter().chain(incomplete);
    reasons.map(|reason| Ground::new(State::InService, reason, day).by(held.past.seq).until(until)).collect()
}
