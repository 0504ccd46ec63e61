//! What is known of a piece or lot: its log, folded.

use crate::event::{Dated, Description, Event, Mark, Reading, Share, Use};
use crate::group::Group;
use crate::history::{History, Past, descents, is_concerned};
use crate::id::{Id, PersonId};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// What is known of a piece or lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Its name in the log.
    pub id: Id,
    /// Its label.
    pub label: String,
    /// The maker's serial.
    pub serial: Option<String>,
    /// The day it came onto the rack; for a share of a divided piece, that of the dividing.
    pub entered: Date,
    /// What was told of it; what its model adds is in [`Piece::described`].
    pub is: Description,
    /// Day and entry of its first use.
    pub first_use: Option<(Date, i64)>,
    /// What it did.
    pub work: Work,
    /// The last day on which each thing was measured, and what was read then, with the entry.
    pub readings: BTreeMap<String, (Date, Vec<(i64, Reading)>)>,
    /// Parts that were replaced, by name: day, entry, and when the new part was made.
    pub parts: BTreeMap<String, Part>,
    /// Who has it.
    pub holder: Option<PersonId>,
    /// Where it is.
    pub site: Option<String>,
    /// The kit that it belongs to; of a lot, the one that took some of it last.
    pub kit: Option<Id>,
    /// What of it is in kits.
    pub in_kits: BTreeMap<Id, InKit>,
    /// The entry after which nobody knows where it is.
    pub lost: Option<i64>,
    /// The entry by which it was made unusable.
    pub destroyed: Option<i64>,
    /// The entry by which it became several.
    pub divided: Option<i64>,
    /// A share that was scrap from the start.
    pub is_scrap: bool,
    /// It must dry before it is stored.
    pub is_wet: bool,
    /// The pieces whose history it has, itself first, and up to which day.
    pub line: Vec<(Id, Option<Date>)>,
    /// The kits that it was in at some time: one that is put together without it says that it is out.
    kits: Vec<Id>,
}

/// What of a piece or lot is in a kit.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct InKit {
    /// How many belong to the kit.
    pub count: u32,
    /// How many of these are out.
    pub out: u32,
    /// Who has those, where somebody was named.
    pub with: Option<PersonId>,
    /// How many were missing when the kit came back last.
    pub short: u32,
}

/// What a piece did, all in all.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Work {
    /// Days of use.
    pub days: u32,
    /// Rappels.
    pub rappels: u32,
    /// Lowers.
    pub lowers: u32,
    /// Metres of rope run under load.
    pub run_m: u64,
    /// Falls held.
    pub falls: u32,
    /// The largest force of those falls, N, where one is known.
    pub hardest_fall_n: Option<u32>,
    last_day: Option<Date>,
}

/// A part that was replaced.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// When.
    pub since: Date,
    /// By which entry.
    pub entry: i64,
    /// When the new part was made.
    pub made: Option<Dated>,
    /// The piece that was put in, where it is on the rack by itself.
    pub piece: Option<Id>,
}

impl Dated {
    /// The first day that it may be.
    #[must_use]
    pub fn earliest(self) -> Date {
        match self {
            Self::Year(year) => Date::new(year, 1, 1).unwrap_or(Date::MIN),
            Self::Month(year, month) => Date::new(year, month, 1).unwrap_or(Date::MIN),
            Self::Day(day) => day,
        }
    }

    /// The last day that it may be.
    #[must_use]
    pub fn latest(self) -> Date {
        match self {
            Self::Year(year) => Date::new(year, 12, 31).unwrap_or(Date::MAX),
            Self::Month(..) => self.earliest().last_of_month(),
            Self::Day(day) => day,
        }
    }
}

impl Description {
    /// What is told here, and where nothing is, what `other` tells.
    #[must_use]
    pub fn or(self, other: &Self) -> Self {
        Self {
            gear: self.gear.or_else(|| other.gear.clone()),
            model: self.model.or(other.model),
            count: self.count.or(other.count),
            marking: self.marking.or_else(|| other.marking.clone()),
            made: self.made.or(other.made),
            bought: self.bought.or(other.bought),
            mass_g: self.mass_g.or(other.mass_g),
            length_mm: self.length_mm.or(other.length_mm),
            diameter_um: self.diameter_um.or(other.diameter_um),
            size: self.size.or_else(|| other.size.clone()),
            material: self.material.or_else(|| other.material.clone()),
            shape: self.shape.or_else(|| other.shape.clone()),
            gate: self.gate.or_else(|| other.gate.clone()),
            lock: self.lock.or_else(|| other.lock.clone()),
            nose: self.nose.or_else(|| other.nose.clone()),
            site: self.site.or_else(|| other.site.clone()),
            supplier: self.supplier.or_else(|| other.supplier.clone()),
        }
    }
}

impl Piece {
    /// What `history` tells of a piece or lot up to a day, that day included; it has to hold the entries of those that the
    /// piece descends from too. Up to a day before it came in, it is told as on the day that it did: where it is still yesterday,
    /// a piece is known that came in today further east. `None` where nothing brings it in.
    #[must_use]
    pub fn fold(id: Id, history: &History, on: Date) -> Option<Self> {
        let line = line(id, history);
        let birth = history.iter().find(|past| past.seq == id.seq())?;
        let on = on.max(birth.happened.date);
        let mut piece = Self::born(id, birth, line)?;
        piece.kits = kits(id, history);
        let concerning: Vec<_> = piece.of(history).filter(|past| past.happened.date <= on).collect();
        concerning.iter().for_each(|past| piece.take(past));
        let is_lost = |past: &&&Past| {
            matches!(past.record.event, Event::Lost) && found(&concerning, past).is_none_or(|day| on < day)
        };
        piece.lost = concerning.iter().rev().find(is_lost).map(|past| past.seq);
        Some(piece)
    }

    /// The entries about it and those that it descends from, up to the day that each parted.
    pub fn of<'a>(&self, history: &'a History) -> impl Iterator<Item = &'a Past> + use<'a> {
        let (line, kits) = (self.line.clone(), self.kits.clone());
        history.iter().filter(move |past| is_about(past, &line) || puts_together(past, &kits))
    }

    /// What is known of it, its model's share included.
    #[must_use]
    pub fn described(&self, group: &Group) -> Description {
        let model = self.is.model.and_then(|model| group.model(model));
        model.map_or_else(|| self.is.clone(), |model| self.is.clone().or(&model.is))
    }

    /// How many it is: one, but for lots.
    #[must_use]
    pub fn count(&self) -> u32 {
        self.is.count.unwrap_or(1)
    }

    /// Whether it is a lot: several without marks of their own.
    #[must_use]
    pub fn is_lot(&self) -> bool {
        self.count() > 1
    }

    fn born(id: Id, birth: &Past, line: Vec<(Id, Option<Date>)>) -> Option<Self> {
        let place = usize::try_from(id.number() - Id::new(id.seq(), 0)?.number()).ok()?;
        let mark: &Mark = match &birth.record.event {
            Event::Entered(entered) => entered.pieces.get(place)?,
            Event::Divided { into } => &into.get(place)?.mark,
            _ => return None,
        };
        Some(Self {
            id,
            label: mark.label.clone(),
            serial: mark.serial.clone(),
            entered: birth.happened.date,
            is: Description::default(),
            first_use: None,
            work: Work::default(),
            readings: BTreeMap::new(),
            parts: BTreeMap::new(),
            holder: None,
            site: None,
            kit: None,
            in_kits: BTreeMap::new(),
            lost: None,
            destroyed: None,
            divided: None,
            is_scrap: false,
            is_wet: false,
            line,
            kits: Vec::new(),
        })
    }

    fn take(&mut self, past: &Past) {
        let day = past.happened.date;
        match &past.record.event {
            Event::Entered(entered) => self.tell(&entered.is),
            Event::Described(is) => self.tell(is),
            Event::Divided { into } => self.divide(past, into),
            Event::FirstUse => self.begin_use(day, past.seq),
            Event::Used(work) => {
                self.begin_use(day, past.seq);
                self.work.add(day, work);
            }
            Event::Measured(reading) => self.measure(past, reading),
            Event::PartReplaced { part, made, new, .. } if past.record.about.contains(&self.id) => {
                self.replace(part, Part { since: day, entry: past.seq, made: *made, piece: *new });
            }
            event => self.place(past, event),
        }
    }

    /// Where it is and who has it.
    fn place(&mut self, past: &Past, event: &Event) {
        let is_itself = past.record.about.contains(&self.id);
        match event {
            Event::HandedTo { person, site } => {
                self.holder.clone_from(person);
                self.site = site.clone().or(self.site.take());
            }
            Event::Returned => self.holder = None,
            Event::Destroyed if is_itself => self.destroyed = Some(past.seq),
            Event::Cleaned => self.is_wet = false,
            Event::KitSet { kit, contents, .. } => {
                let count = contents.iter().filter(|part| part.piece == self.id).map(|part| part.count).sum();
                self.put_in(kit.or_else(|| Id::new(past.seq, 0)), count);
            }
            Event::KitIssued { kit, to, .. } => self.go_out(*kit, to.as_ref()),
            Event::KitReturned { kit, wet, short } => {
                let short = short.iter().filter(|part| part.piece == self.id).map(|part| part.count).sum();
                self.come_back(*kit, short);
                self.is_wet |= wet.contains(&self.id);
            }
            _ => {}
        }
    }

    /// Of a kit's whole contents, `count` are of this piece or lot.
    fn put_in(&mut self, kit: Option<Id>, count: u32) {
        let Some(kit) = kit else { return };
        if count > 0 {
            self.kit = Some(kit);
            let before = self.in_kits.remove(&kit).unwrap_or_default();
            self.in_kits.insert(kit, InKit { count, short: 0, ..before });
        } else {
            self.in_kits.remove(&kit);
            self.kit = self.kit.filter(|now| *now != kit).or_else(|| self.in_kits.keys().next_back().copied());
        }
    }

    /// A lot stays where it is when some of it go out.
    fn go_out(&mut self, kit: Id, to: Option<&PersonId>) {
        if !self.is_lot() {
            self.holder = to.cloned();
        }
        if let Some(part) = self.in_kits.get_mut(&kit) {
            (part.out, part.with) = (part.count.saturating_sub(part.short), to.cloned());
        }
    }

    fn come_back(&mut self, kit: Id, short: u32) {
        if short == 0 && !self.is_lot() {
            self.holder = None;
        }
        if let Some(part) = self.in_kits.get_mut(&kit) {
            (part.out, part.with, part.short) = (0, None, short);
        }
    }

    fn tell(&mut self, is: &Description) {
        if is.site.is_some() {
            self.site.clone_from(&is.site);
        }
        self.is = is.clone().or(&self.is);
    }

    fn divide(&mut self, past: &Past, into: &[Share]) {
        if past.seq == self.id.seq() {
            let place = usize::try_from(self.id.number() - past.seq * i64::from(crate::id::PER_ENTRY));
            if let Some(share) = place.ok().and_then(|place| into.get(place)) {
                self.tell(&share.is);
                self.is_scrap = share.scrap;
            }
        } else if past.record.about.contains(&self.id) {
            self.divided = Some(past.seq);
        }
    }

    fn begin_use(&mut self, day: Date, entry: i64) {
        self.first_use = Some(self.first_use.map_or((day, entry), |first| first.min((day, entry))));
    }

    /// Of two of one day, the older counts.
    fn replace(&mut self, name: &str, part: Part) {
        let is_older = |known: &Part| known.since == part.since && known.made.is_none_or(|made| Some(made) < part.made);
        if !self.parts.get(name).is_some_and(is_older) {
            self.parts.insert(name.to_owned(), part);
        }
    }

    fn measure(&mut self, past: &Past, reading: &Reading) {
        let day = past.happened.date;
        let last = self.readings.entry(reading.what.clone()).or_insert_with(|| (day, Vec::new()));
        if last.0 != day {
            *last = (day, Vec::new());
        }
        last.1.push((past.seq, reading.clone()));
    }
}

impl Work {
    fn add(&mut self, day: Date, work: &Use) {
        if self.last_day != Some(day) {
            self.days += 1;
            self.last_day = Some(day);
        }
        self.rappels = self.rappels.saturating_add(work.rappels);
        self.lowers = self.lowers.saturating_add(work.lowers);
        self.run_m = self.run_m.saturating_add(u64::from(work.run_m));
        self.falls = self.falls.saturating_add(u32::try_from(work.falls.len()).unwrap_or(u32::MAX));
        self.hardest_fall_n = self.hardest_fall_n.max(work.falls.iter().filter_map(|fall| fall.force_n).max());
    }
}

fn is_about(past: &Past, line: &[(Id, Option<Date>)]) -> bool {
    let is_by_then = |until: Option<Date>| until.is_none_or(|until| past.happened.date <= until);
    line.iter().any(|(id, until)| is_by_then(*until) && is_concerned(*id, past.seq, &past.record))
}

/// Whether it puts one of some kits together anew.
fn puts_together(past: &Past, kits: &[Id]) -> bool {
    matches!(past.record.event, Event::KitSet { kit: Some(kit), .. } if kits.contains(&kit))
}

/// The kits that a piece was ever put into.
fn kits(id: Id, history: &History) -> Vec<Id> {
    let put = history.iter().filter_map(|past| match &past.record.event {
        Event::KitSet { kit, contents, .. } if contents.iter().any(|part| part.piece == id) => {
            kit.or_else(|| Id::new(past.seq, 0))
        }
        _ => None,
    });
    put.collect()
}

/// The first day on which what was lost by an entry is lost no more: that of its finding, or the day after where it was lost and
/// found on one day.
pub(crate) fn found(entries: &[&Past], lost: &Past) -> Option<Date> {
    let found = entries.iter().filter(|past| matches!(past.record.event, Event::Found)).map(|past| past.happened.date);
    let first = found.filter(|day| *day >= lost.happened.date).min()?;
    if first > lost.happened.date { Some(first) } else { first.tomorrow().ok() }
}

/// The pieces whose history a piece has, each with the last day that counts.
fn line(id: Id, history: &History) -> Vec<(Id, Option<Date>)> {
    let mut line = vec![(id, None)];
    let mut next = 0;
    while let Some(&(child, until)) = line.get(next) {
        next += 1;
        for past in history.iter().filter(|past| until.is_none_or(|until| past.happened.date <= until)) {
            let parents = descents(past.seq, &past.record).into_iter().filter(|(of, _)| *of == child);
            for (_, parent) in parents {
                let day = Some(past.happened.date);
                match line.iter_mut().find(|(known, _)| *known == parent) {
                    Some((_, known)) if known.is_some_and(|known| Some(known) < day) => *known = day,
                    Some(_) => {}
                    None => line.push((parent, day)),
                }
            }
        }
    }
    line
}
