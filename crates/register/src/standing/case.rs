//! What the rules look at.

use super::{Ground, State};
use crate::event::{Description, Event, Grade, Inspection};
use crate::group::Group;
use crate::history::{History, Past};
use crate::piece::Piece;
use jiff::ToSpan;
use jiff::civil::Date;
use terms::{Reason, Source};
use trade::gear::Gear;
use trade::rack::{Rack, Then};

/// What the rules look at: a piece on a day, its entries up to that day, and what holds for the whole rack.
pub(super) struct Case<'a> {
    pub piece: &'a Piece,
    pub entries: Vec<&'a Past>,
    pub group: &'a Group,
    pub on: Date,
    pub is: Description,
    pub gear: Option<Gear>,
    pub inspections: Vec<Held<'a>>,
}

/// An inspection that was held.
pub(super) struct Held<'a> {
    pub past: &'a Past,
    pub is: &'a Inspection,
    /// Who wrote it had the right to sign it.
    pub is_signed: bool,
    /// Points that were not looked at.
    pub left_out: Vec<&'a str>,
    /// Points with a defect.
    pub defects: Vec<&'a str>,
    /// Points to watch.
    pub to_watch: Vec<&'a str>,
}

impl Held<'_> {
    /// Whether it counts: signed by somebody with the right to, and nothing left out.
    pub fn counts(&self) -> bool {
        self.is_signed && self.left_out.is_empty()
    }
}

impl<'a> Case<'a> {
    pub fn new(piece: &'a Piece, history: &'a History, group: &'a Group, on: Date) -> Self {
        let is = piece.described(group);
        let gear = is.gear.as_deref().and_then(Gear::from_code);
        let entries: Vec<_> = piece.of(history).filter(|past| past.happened.date <= on).collect();
        let inspections = entries.iter().filter_map(|past| held(past, piece, is.gear.as_deref(), group)).collect();
        Self { piece, entries, group, on, is, gear, inspections }
    }

    /// The rules of the rack on a day.
    pub fn rack(&self, on: Date) -> &'a Rack {
        &self.group.policy(on).rack
    }

    pub fn has_right(&self, past: &Past, right: &str) -> bool {
        self.group.has_right(&past.writer, right, self.is.gear.as_deref(), past.happened.date)
    }

    /// The first day on which an entry does not count any more, because an inspection cleared it. `open_until` is the day before
    /// which nothing clears it, where there is one.
    pub fn cleared(&self, past: &Past, open_until: Option<Date>) -> Option<Date> {
        self.cleared_entry(past.seq, open_until.map_or(past.happened.date, |day| day.max(past.happened.date)))
    }

    /// The same for what is not an entry about this piece: cleared by an inspection that names it, counts, finds no defect, and was
    /// held on `day` or later. On one day the worst counts, so that an inspection of that day counts from the next on.
    pub fn cleared_entry(&self, entry: i64, day: Date) -> Option<Date> {
        let clears = |held: &&Held<'_>| held.counts() && held.defects.is_empty() && held.is.clears.contains(&entry);
        let days = self.inspections.iter().filter(clears).map(|held| held.past.happened.date);
        let first = days.filter(|held| *held >= day).min()?;
        if first > day { Some(first) } else { first.tomorrow().ok() }
    }

    /// The ground that an entry gives by a rule of the policy, until an inspection clears it.
    pub fn ground(&self, past: &Past, then: Then, reason: Reason, source: Option<Source>) -> Option<Ground> {
        State::of(then).map(|state| self.by_entry(past, state, reason).sourced(source))
    }

    /// The ground that an entry gives until an inspection clears it.
    pub fn by_entry(&self, past: &Past, state: State, reason: Reason) -> Ground {
        Ground::new(state, reason, past.happened.date).by(past.seq).until(self.cleared(past, None))
    }
}

fn held<'a>(past: &'a Past, piece: &Piece, gear: Option<&str>, group: &Group) -> Option<Held<'a>> {
    let Event::Inspected(is) = &past.record.event else { return None };
    let remarks = is
        .remarks
        .iter()
        .filter(|remark| remark.piece.is_none_or(|about| piece.line.iter().any(|(id, _)| *id == about)));
    let graded = |grade| remarks.clone().filter(|row| row.grade == grade).map(|row| row.point.as_str()).collect();
    Some(Held {
        past,
        is,
        is_signed: group.has_right(&past.writer, "inspect", gear, past.happened.date),
        left_out: graded(Grade::NotLookedAt),
        defects: graded(Grade::Defect),
        to_watch: graded(Grade::Watch),
    })
}

/// The day some months after another; the last day of the month where it has fewer days.
pub(super) fn after_months(day: Date, months: u32) -> Date {
    day.checked_add(i64::from(months).months()).unwrap_or(Date::MAX)
}
