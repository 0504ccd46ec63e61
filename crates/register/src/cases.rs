//! Incidents and recalls: the closure list, what was used together with a piece, and who had it.

use crate::event::Event;
use crate::group::Case;
use crate::history::{History, Past};
use crate::id::{Id, PersonId};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// One line of a closure list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The piece.
    pub piece: Id,
    /// How it was settled, when and by which entry; `None` while it is open.
    pub settled: Option<Settled>,
}

/// How a line was settled.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settled {
    /// The entry.
    pub entry: i64,
    /// The day.
    pub on: Date,
    /// How.
    pub outcome: String,
}

/// The closure list of a case: every piece that it was opened about, and every one that a line was settled for, in the order of
/// their names. Of several entries for one piece the last holds. `history` holds the entries that settle lines of it.
#[must_use]
pub fn lines(case: &Case, history: &History) -> Vec<Line> {
    let mut lines: BTreeMap<Id, Option<Settled>> = case.about.iter().map(|piece| (*piece, None)).collect();
    for past in history.iter() {
        let Event::Settled { case: settled, outcome } = &past.record.event else { continue };
        if *settled == case.entry {
            let how = Settled { entry: past.seq, on: past.happened.date, outcome: outcome.clone() };
            lines.extend(past.record.about.iter().map(|piece| (*piece, Some(how.clone()))));
        }
    }
    lines.into_iter().map(|(piece, settled)| Line { piece, settled }).collect()
}

/// The pieces that were used together with one between two days, both included: named by the same entry of use. With the entries
/// that say so, in the order of the pieces' names.
#[must_use]
pub fn used_with(piece: Id, history: &History, from: Date, until: Date) -> BTreeMap<Id, Vec<i64>> {
    let mut with: BTreeMap<Id, Vec<i64>> = BTreeMap::new();
    let uses = history.iter().filter(|past| (from..=until).contains(&past.happened.date) && is_use_of(past, piece));
    for past in uses {
        for other in past.record.about.iter().filter(|other| **other != piece) {
            with.entry(*other).or_default().push(past.seq);
        }
    }
    with
}

fn is_use_of(past: &Past, piece: Id) -> bool {
    let is_use = matches!(past.record.event, Event::Used(_) | Event::FirstUse);
    is_use && past.record.about.contains(&piece)
}

/// Somebody had a piece, or it was somewhere.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holding {
    /// The entry that says so.
    pub entry: i64,
    /// Since when.
    pub from: Date,
    /// Until when, that day included; `None` where it is so still.
    pub until: Option<Date>,
    /// Who.
    pub person: Option<PersonId>,
    /// Where.
    pub site: Option<String>,
    /// The kit that it went out with.
    pub kit: Option<Id>,
}

/// Who had a piece, and where, one after the other. `history` holds its entries, those of its kits among them.
#[must_use]
pub fn holdings(piece: Id, history: &History) -> Vec<Holding> {
    let mut holdings: Vec<Holding> = Vec::new();
    for past in history.iter() {
        let Some(next) = handed(piece, past) else { continue };
        if let Some(last) = holdings.last_mut().filter(|last| last.until.is_none()) {
            last.until = Some(past.happened.date);
        }
        holdings.extend(next);
    }
    holdings
}

/// `None` where an entry does not change who has the piece; within, nothing where it is back.
fn handed(piece: Id, past: &Past) -> Option<Option<Holding>> {
    let is_about = past.record.about.contains(&piece);
    let holding = |person: &Option<PersonId>, site: &Option<String>, kit| {
        let (person, site) = (person.clone(), site.clone());
        Holding { entry: past.seq, from: past.happened.date, until: None, person, site, kit }
    };
    match &past.record.event {
        Event::HandedTo { person, site } if is_about => Some(Some(holding(person, site, None))),
        Event::KitIssued { kit, to, .. } if is_about => Some(Some(holding(to, &None, Some(*kit)))),
        Event::Returned if is_about => Some(None),
        Event::KitReturned { short, .. } if is_about && !short.iter().any(|part| part.piece == piece) => Some(None),
        _ => None,
    }
}
