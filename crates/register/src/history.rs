//! What happened, with corrections applied: the log as it is believed to be true.

use crate::event::{Event, KitPart, Record};
use crate::id::{Id, PersonId};
use crate::moment::Moment;
use std::collections::BTreeMap;
use std::ops::Deref;
use std::sync::Arc;

/// An entry of the log, read.
#[derive(Debug, Clone, PartialEq)]
pub struct Past {
    /// Its number.
    pub seq: i64,
    /// When it happened.
    pub happened: Moment,
    /// When it was written, milliseconds since 1970 in UTC.
    pub written_ms: i64,
    /// Who wrote it.
    pub writer: PersonId,
    /// What happened, and to what: one entry bears upon many things, and each of their histories has it.
    pub record: Arc<Record>,
}

/// Entries that hold: no correction among them, and none that was corrected away. By day, then by number.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct History(Vec<Past>);

impl Deref for History {
    type Target = [Past];

    fn deref(&self) -> &[Past] {
        &self.0
    }
}

/// Applies corrections.
///
/// Of several corrections of one entry, the last written holds. What a correction puts in place keeps the number of the
/// entry that it corrects, and so the names of what that brought in; when it was written, and by whom, is that of the
/// correction. A correction that is itself corrected does nothing, so that what it put away holds again. A correction of an
/// entry that was written later, or of itself, is none.
#[must_use]
pub fn effective(mut entries: Vec<Past>) -> History {
    entries.sort_by_key(|past| past.seq);
    let mut put: BTreeMap<i64, Option<Past>> = BTreeMap::new();
    let mut held = Vec::with_capacity(entries.len());
    while let Some(written) = entries.pop() {
        let seq = written.seq;
        // What stands in place of an entry that is not among these is told too: it may concern the piece that they are about.
        while let Some(last) = put.last_entry().filter(|last| *last.key() > seq) {
            held.extend(last.remove());
        }
        let Some(past) = put.remove(&seq).unwrap_or(Some(written)) else { continue };
        correct_or_hold(past, &mut put, &mut held);
    }
    held.extend(put.into_values().flatten());
    held.sort_by_key(|past| (past.happened.date, past.seq));
    History(held)
}

fn correct_or_hold(past: Past, put: &mut BTreeMap<i64, Option<Past>>, held: &mut Vec<Past>) {
    match &past.record.event {
        Event::Corrected { entry, with } if *entry < past.seq => {
            put.entry(*entry).or_insert_with(|| with.as_ref().map(|with| replaced(*entry, &past, with)));
        }
        Event::Corrected { .. } => {}
        _ => held.push(past),
    }
}

fn replaced(seq: i64, by: &Past, with: &crate::event::Correction) -> Past {
    let (happened, record) = (with.happened.clone(), Arc::new(with.record.clone()));
    Past { seq, happened, written_ms: by.written_ms, writer: by.writer.clone(), record }
}

/// The pieces, lots, kits and models that a record written as entry `seq` is about, brings in or names, each once. A
/// correction concerns, besides these, all that the entry concerned which it corrects: that is for the store to add.
#[must_use]
pub fn concerns(seq: i64, record: &Record) -> Vec<Id> {
    let mut ids = record.about.clone();
    ids.extend(record.by_kit);
    ids.extend(brought_in(seq, &record.event));
    ids.extend(named(&record.event));
    if let Event::Corrected { entry, with: Some(with) } = &record.event {
        ids.extend(concerns(*entry, &with.record));
    }
    ids.sort_unstable();
    ids.dedup();
    ids
}

/// Whether a thing is among those that [`concerns`] gives.
#[must_use]
pub fn is_concerned(id: Id, seq: i64, record: &Record) -> bool {
    record.about.contains(&id)
        || record.by_kit == Some(id)
        || brought_in(seq, &record.event).any(|brought| brought == id)
        || named(&record.event).any(|named| named == id)
        || matches!(&record.event, Event::Corrected { entry, with: Some(with) } if is_concerned(id, *entry, &with.record))
}

fn brought_in(seq: i64, event: &Event) -> impl Iterator<Item = Id> + use<> {
    let count = match event {
        Event::Entered(entered) => entered.pieces.len(),
        Event::Divided { into } => into.len(),
        Event::ModelEntered(_) | Event::KitSet { kit: None, .. } => 1,
        _ => 0,
    };
    (0..u32::try_from(count).unwrap_or(u32::MAX)).map_while(move |place| Id::new(seq, place))
}

fn named(event: &Event) -> impl Iterator<Item = Id> {
    let (first, second, parts, others): (_, _, &[KitPart], &[Id]) = match event {
        Event::ModelDescribed { model, .. } => (Some(*model), None, &[], &[]),
        Event::PartReplaced { old, new, .. } => (*old, *new, &[], &[]),
        Event::KitSet { kit, contents, .. } => (*kit, None, contents, &[]),
        Event::KitIssued { kit, .. } => (Some(*kit), None, &[], &[]),
        Event::KitReturned { kit, short, wet } => (Some(*kit), None, short, wet),
        _ => (None, None, &[], &[]),
    };
    first.into_iter().chain(second).chain(parts.iter().map(|part| part.piece)).chain(others.iter().copied())
}

/// Where a piece's history comes from besides itself: each pair is a piece, and one whose history up to this record it
/// inherits. Shares inherit from what was divided, a composed piece from the part put in, a part taken out from what it was in.
#[must_use]
pub fn descents(seq: i64, record: &Record) -> Vec<(Id, Id)> {
    let whole = record.about.first().copied();
    match (&record.event, whole) {
        (Event::Divided { .. }, Some(whole)) => brought_in(seq, &record.event).map(|share| (share, whole)).collect(),
        (Event::PartReplaced { old, new, .. }, Some(whole)) => {
            new.iter().map(|new| (whole, *new)).chain(old.iter().map(|old| (*old, whole))).collect()
        }
        (Event::Corrected { entry, with: Some(with) }, _) => descents(*entry, &with.record),
        _ => Vec::new(),
    }
}
