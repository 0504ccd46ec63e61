//! Which things an entry bears upon.

use crate::event::{Event, Record};
use crate::group::Group;
use crate::history::{concerns, descents};
use crate::id::Id;

/// What stands for the whole rack among the things: policies, rights, models and cases. No entry can give this name.
pub const GROUP: Id = Id::from_number(0);

/// What stands for everybody who is known by name.
pub const PEOPLE: Id = Id::from_number(1);

/// The first name that an entry can give.
pub(super) const FIRST: i64 = crate::id::PER_ENTRY as i64;

/// The things that an entry bears upon by itself; what it leans on is to be added.
pub(super) fn things(seq: i64, record: &Record) -> Vec<i64> {
    let mut things: Vec<i64> = concerns(seq, record).into_iter().map(Id::number).collect();
    things.extend(of_all(&record.event).map(Id::number));
    things
}

/// [`GROUP`] or [`PEOPLE`], where the event concerns one of them.
fn of_all(event: &Event) -> Option<Id> {
    match event {
        Event::Corrected { with: Some(with), .. } => of_all(&with.record.event),
        Event::PersonEntered { .. } | Event::PersonErased { .. } => Some(PEOPLE),
        event => Group::concerns(event).then_some(GROUP),
    }
}

/// The earlier entry whose things this one bears upon as well.
pub(super) const fn leans_on(event: &Event) -> Option<i64> {
    match event {
        Event::Corrected { entry, .. } => Some(*entry),
        Event::CaseClosed { case, .. } => Some(*case),
        _ => None,
    }
}

/// Whether standings that the entry does not name may change by it.
pub(super) const fn wide(event: &Event) -> bool {
    matches!(event, Event::PolicySet { .. } | Event::RightSet { .. } | Event::RecallOpened(_))
}

/// Whose history each thing's history takes in: pairs of thing and source.
pub(super) fn links(seq: i64, record: &Record) -> Vec<(i64, i64)> {
    let mut links: Vec<(i64, i64)> =
        descents(seq, record).into_iter().map(|(thing, source)| (thing.number(), source.number())).collect();
    if let Event::KitSet { kit, contents, .. } = &record.event
        && let Some(kit) = kit.or_else(|| Id::new(seq, 0))
    {
        links.extend(contents.iter().map(|part| (part.piece.number(), kit.number())));
    }
    links
}
