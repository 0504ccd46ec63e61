//! Restrictions: the last day on which one was written decides, and of one day the strictest. Only who may inspect widens one.

use super::case::Case;
use super::{Ground, State};
use crate::event::Event;
use crate::history::Past;
use jiff::civil::Date;
use std::collections::BTreeSet;
use terms::Reason;

/// What holds after a day: the duties that are left, `None` for all; and the entries that say so.
#[derive(Clone, Default)]
struct Left {
    duties: Option<BTreeSet<String>>,
    entries: Vec<(Date, i64)>,
}

impl Left {
    fn narrow(&mut self, past: &Past, duties: BTreeSet<String>) {
        self.duties = Some(match &self.duties {
            Some(before) => before.intersection(&duties).cloned().collect(),
            None => duties,
        });
        self.entries.push((past.happened.date, past.seq));
    }
}

pub(super) fn restrictions(case: &Case<'_>) -> Vec<Ground> {
    let left = left(case);
    let mut grounds: Vec<_> = case.entries.iter().filter_map(|past| not_counted(case, past)).collect();
    if let Some(duties) = &left.duties {
        let reason = match duties.is_empty() {
            true => Reason::RestrictionsExclude,
            false => Reason::RestrictedTo { duties: joined(duties) },
        };
        let state = if duties.is_empty() { State::Quarantined } else { State::Restricted };
        let entries = left.entries.iter();
        grounds.extend(entries.map(|(day, entry)| Ground::new(state, reason.clone(), *day).by(*entry)));
    }
    grounds
}

/// The duties that are left, in order; none where no restriction holds.
pub(super) fn duties(case: &Case<'_>) -> Vec<String> {
    left(case).duties.into_iter().flatten().collect()
}

fn left(case: &Case<'_>) -> Left {
    let written: Vec<_> = case.entries.iter().filter_map(|past| Some((*past, restriction(past)?))).collect();
    let mut left = Left::default();
    for day in written.chunk_by(|(one, _), (next, _)| one.happened.date == next.happened.date) {
        // Who may give back begins anew; who may not, narrows what stands.
        if day.iter().any(|(past, _)| case.has_right(past, "inspect")) {
            left = Left::default();
        }
        for (past, duties) in day.iter().filter(|(_, duties)| !duties.is_empty()) {
            left.narrow(past, duties.clone());
        }
    }
    left
}

fn restriction(past: &Past) -> Option<BTreeSet<String>> {
    let Event::Restricted { to } = &past.record.event else { return None };
    Some(to.iter().cloned().collect())
}

/// A lift by somebody who may not give back. For information, until one by somebody who may.
fn not_counted(case: &Case<'_>, past: &Past) -> Option<Ground> {
    let is_lift = restriction(past)?.is_empty();
    let later = case.entries.iter().filter(|later| restriction(later).is_some() && case.has_right(later, "inspect"));
    let until = later.map(|later| later.happened.date).filter(|day| *day > past.happened.date).min();
    let ground = Ground::new(State::InService, Reason::LiftWithoutRight, past.happened.date).by(past.seq).until(until);
    (is_lift && !case.has_right(past, "inspect")).then_some(ground)
}

fn joined(duties: &BTreeSet<String>) -> String {
    duties.iter().map(String::as_str).collect::<Vec<_>>().join(", ")
}
