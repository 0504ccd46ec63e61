//! Pieces that come onto the rack, from options or from a sheet, are divided, and get a part replaced.

use super::fields::{Field, Told};
use super::labels::{compact, expand};
use super::sheet::Wrong;
use super::{Answer, Fault, Line, Rack, Refused, Result, View, record, sheet};
use crate::texts;
use async_recursion::async_recursion as boxed;
use register::event::{Dated, Description, Entered, Event, Mark, Model, Share};
use register::id::Id;
use register::moment::Moment;
use register::piece::Piece;
use register::standing::State;
use register::store::{Batch, Query};
use register::summary::Summary;
use serde_json::json;
use std::collections::BTreeMap;
use trade::gear::Gear;
use trade::part::parts;

/// How many pieces are told of what goes in.
const FIRST: usize = 20;

/// How many pieces are read at a time.
pub(super) const TOGETHER: usize = 10_000;

/// What tells a model from others: its name and its maker.
pub(super) type ModelKey = (String, Option<String>);

/// The models that are known, and what was written up to now: a model that nobody knows yet adds to both.
pub(super) struct Known<'k> {
    pub models: &'k mut BTreeMap<ModelKey, Id>,
    pub entries: &'k mut Vec<i64>,
}

/// Pieces alike but for label and serial, and the lines of the sheet they came from.
struct Alike<'t> {
    told: &'t Told,
    marks: Vec<Mark>,
}

impl Rack<'_> {
    /// Enters a piece for each of `labels`, alike in what `told` says.
    ///
    /// # Errors
    /// Where a label is taken already, or one serial is told of several pieces.
    #[boxed]
    pub async fn add(&self, labels: &str, told: &Told, on: Option<&str>) -> Result {
        let labels = expand(labels)?;
        if told.serial.is_some() && labels.len() > 1 {
            return Err(Fault::new("serial-of-many", &[]).into());
        }
        let one = |label: String| (0, Told { label, ..told.clone() });
        let pieces: Vec<_> = labels.into_iter().map(one).collect();
        let entries = self.enter(&pieces, &self.moment(on)?, false).await.map_err(first_fault)?;
        self.entered(&pieces, &entries, false).await
    }

    /// Enters all of what was read from the file at `path`, or none of it.
    pub(super) async fn import_pieces(
        &self,
        path: &str,
        pieces: &[(u64, Told)],
        on: Option<&str>,
        dry: bool,
    ) -> Result {
        let entries = self.enter(pieces, &self.moment(on)?, dry).await.map_err(|fault| match fault {
            Refused::Sheet { wrong, .. } => Refused::Sheet { path: path.to_owned(), wrong },
            other => other,
        })?;
        self.entered(pieces, &entries, dry).await
    }

    /// The sheet of all pieces that are not withdrawn.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn export_sheet(&self) -> Result<String> {
        let view = self.view().await?;
        let mut rows = self.all(Query::default()).await?;
        rows.retain(|row| row.standing != State::Withdrawn);
        let mut pieces = Vec::with_capacity(rows.len());
        for some in rows.chunks(TOGETHER) {
            pieces.extend(self.fold_all(some, &view).await?.iter().map(|(piece, _)| view.told(piece)));
            self.outside.progress(pieces.len() as u64, rows.len() as u64);
        }
        Ok(sheet::write(&pieces))
    }

    /// Every row that a query finds, page after page.
    pub(super) async fn all(&self, mut query: Query) -> Result<Vec<Summary>> {
        query.limit = 1000;
        let mut rows = Vec::new();
        loop {
            let page = self.store.pieces(&query).await?;
            rows.extend(page.pieces);
            match page.next {
                Some(next) => query.after = Some(next),
                None => return Ok(rows),
            }
        }
    }

    async fn enter(&self, pieces: &[(u64, Told)], on: &Moment, dry: bool) -> Result<Vec<i64>> {
        let view = self.view().await?;
        let mut batch = self.begin().await?;
        let wrong = taken(&mut batch, pieces).await?;
        if !wrong.is_empty() {
            return Err(Refused::Sheet { path: String::new(), wrong });
        }
        let mut models = view.models();
        let mut entries = Vec::new();
        for alike in alike(pieces) {
            let model = match alike.told.model_key() {
                Some(key) => {
                    let known = Known { models: &mut models, entries: &mut entries };
                    Some(self.model(&mut batch, key, alike.told.is.gear.clone(), on, known).await?)
                }
                None => None,
            };
            let is = Description { model, ..alike.told.is.clone() };
            let count = alike.marks.len();
            let event = Event::Entered(Entered { pieces: alike.marks, is });
            let seq = batch.push(self.draft(Line::new(on.clone(), record(Vec::new(), event)))).await?.seq;
            entries.push(seq);
            if let Some(day) = alike.told.first_use {
                let ids =
                    (0..u32::try_from(count).unwrap_or(u32::MAX)).map_while(|place| Id::new(seq, place)).collect();
                let line = Line::new(Moment::on(day), record(ids, Event::FirstUse));
                entries.push(batch.push(self.draft(line)).await?.seq);
            }
        }
        if !dry {
            batch.commit().await?;
        }
        Ok(entries)
    }

    /// The model that is named, entered where nobody knows it yet.
    pub(super) async fn model(
        &self,
        batch: &mut Batch,
        key: ModelKey,
        gear: Option<String>,
        on: &Moment,
        known: Known<'_>,
    ) -> Result<Id> {
        if let Some(id) = known.models.get(&key) {
            return Ok(*id);
        }
        let (name, maker) = key.clone();
        let is = Description { gear, ..Description::default() };
        let (limits, fits, papers) = Default::default();
        let event = Event::ModelEntered(Model { name, maker, is, limits, fits, papers });
        let written = batch.push(self.draft(Line::new(on.clone(), record(Vec::new(), event)))).await?;
        known.entries.push(written.seq);
        let id = Id::new(written.seq, 0).unwrap_or_else(|| unreachable!("the first thing of an entry has a name"));
        known.models.insert(key, id);
        Ok(id)
    }

    async fn entered(&self, pieces: &[(u64, Told)], entries: &[i64], dry: bool) -> Result {
        let labels: Vec<String> = pieces.iter().map(|(_, told)| told.label.clone()).collect();
        let values = [("count", labels.len().to_string()), ("pieces", compact(&labels))];
        let text = texts::rack(if dry { "would-enter" } else { "entered" }, &values);
        let entries = if dry { &[] } else { entries };
        let shown = |(_, told): &(u64, Told)| {
            let [marking, site] = [Field::Marking, Field::Site].map(|field| field.get(told));
            json!({ "label": told.label, "is": told.in_short(), "marking": marking, "site": site })
        };
        let first: Vec<_> = pieces.iter().take(FIRST).map(shown).collect();
        let json = json!({ "entries": entries, "pieces": labels, "first": first, "dry_run": dry });
        Ok(Answer::new(format!("{text}\n"), json))
    }

    /// Divides a piece: each share with its label and what is other than before. A scrap share is out of use from the start.
    ///
    /// # Errors
    /// Where the piece is unknown or none that can be divided, a label is taken, or the shares are not what there is.
    #[boxed]
    pub async fn divide(&self, label: &str, shares: &[(String, Told)], scrap: &[String], on: Option<&str>) -> Result {
        let pieces: Vec<_> =
            shares.iter().map(|(label, told)| (0, Told { label: label.clone(), ..told.clone() })).collect();
        let wrong = taken(&mut self.begin().await?, &pieces).await?;
        if !wrong.is_empty() {
            return Err(first_fault(Refused::Sheet { path: String::new(), wrong }));
        }
        let view = self.view().await?;
        let (whole, _) = self.fold(&self.find(label).await?, &view).await?;
        parts_of(&whole, &view, &pieces)?;
        let share = |(label, told): &(String, Told)| Share {
            mark: Mark { label: label.clone(), serial: told.serial.clone() },
            is: told.is.clone(),
            scrap: scrap.contains(label),
        };
        self.happened_to(label, Event::Divided { into: shares.iter().map(share).collect() }, on).await
    }

    /// A part of a piece was replaced; the new part's history begins, the rest goes on.
    ///
    /// # Errors
    /// Where a piece is unknown, or gear of its kind has no such part that can be replaced.
    #[boxed]
    pub async fn replace(
        &self,
        label: &str,
        part: &str,
        old: Option<&str>,
        new: Option<&str>,
        made: Option<Dated>,
        on: Option<&str>,
    ) -> Result {
        let old = match old {
            Some(old) => Some(self.find(old).await?.id),
            None => None,
        };
        let new = match new {
            Some(new) => Some(self.find(new).await?.id),
            None => None,
        };
        let gear = self.find(label).await?.gear.as_deref().and_then(Gear::from_code);
        let known: Vec<&str> = parts(gear).map(|part| part.code.as_str()).collect();
        if !known.contains(&part) {
            return Err(no_such_part(part, label, &known).into());
        }
        self.happened_to(label, Event::PartReplaced { part: part.to_owned(), old, new, made }, on).await
    }

    pub(super) fn read(&self, path: &str) -> std::result::Result<String, Fault> {
        let unreadable =
            |why: std::io::Error| Fault::new("unreadable", &[("path", path.to_owned()), ("why", why.to_string())]);
        self.outside.read(path).map_err(unreadable)
    }
}

impl Told {
    /// The model that it names: a maker alone stands for a model without a name.
    pub(super) fn model_key(&self) -> Option<ModelKey> {
        let name = self.model.clone().or_else(|| self.maker.as_ref().map(|_| String::new()))?;
        Some((name, self.maker.clone()))
    }
}

impl View {
    pub(super) fn models(&self) -> BTreeMap<ModelKey, Id> {
        self.group.models().map(|(id, model)| ((model.name.clone(), model.maker.clone()), id)).collect()
    }
}

/// Whether shares can be those of a piece: all of a lot, no more than the length of a rope, a cord or a sling.
fn parts_of(whole: &Piece, view: &View, shares: &[(u64, Told)]) -> std::result::Result<(), Fault> {
    let is = whole.described(&view.group);
    let gear = is.gear.as_deref().and_then(Gear::from_code);
    let has_length = matches!(gear, None | Some(Gear::Rope | Gear::Cord | Gear::Sling));
    if whole.divided.or(whole.destroyed).is_some() || !(whole.is_lot() || has_length) {
        return Err(Fault::new("not-to-divide", &[("label", whole.label.clone())]));
    }
    let sum = |size: fn(&Description) -> Option<u32>| shares.iter().filter_map(|(_, told)| size(&told.is)).sum::<u32>();
    let (count, length) = (sum(|is| is.count), sum(|is| is.length_mm));
    let is_all = if whole.is_lot() {
        shares.iter().all(|(_, told)| told.is.count.is_some()) && count == whole.count()
    } else {
        is.length_mm.is_none_or(|whole| length <= whole)
    };
    if is_all {
        return Ok(());
    }
    let metres = |mm| format!("{} m", super::fields::decimal_text(mm, 3));
    let (shares, there) = match whole.is_lot() {
        true => (count.to_string(), whole.count().to_string()),
        false => (metres(length), is.length_mm.map(metres).unwrap_or_default()),
    };
    Err(Fault::new("shares-are-other", &[("label", whole.label.clone()), ("shares", shares), ("whole", there)]))
}

fn no_such_part(part: &str, label: &str, known: &[&str]) -> Fault {
    let code = if known.is_empty() { "no-part" } else { "no-such-part" };
    let values = [("part", part.to_owned()), ("label", label.to_owned()), ("parts", known.join(", "))];
    Fault::new(code, &values)
}

fn first_fault(refused: Refused) -> Refused {
    match refused {
        Refused::Sheet { mut wrong, .. } if !wrong.is_empty() => wrong.swap_remove(0).fault.into(),
        other => other,
    }
}

async fn taken(batch: &mut Batch, pieces: &[(u64, Told)]) -> Result<Vec<Wrong>> {
    let mut wrong = Vec::new();
    for (line, told) in pieces {
        if batch.piece_by_label(&told.label).await?.is_some() {
            let fault = Fault::new("label-taken", &[("label", told.label.clone())]);
            wrong.push(Wrong::of_cell(*line, Field::Label.code(), &told.label, fault));
        }
    }
    Ok(wrong)
}

/// Neighbours that differ in label and serial only, together.
fn alike(pieces: &[(u64, Told)]) -> Vec<Alike<'_>> {
    let same = |one: &Told, other: &Told| {
        (&one.maker, &one.model, one.first_use, &one.is) == (&other.maker, &other.model, other.first_use, &other.is)
    };
    let mut all: Vec<Alike<'_>> = Vec::new();
    for (_, told) in pieces {
        let mark = Mark { label: told.label.clone(), serial: told.serial.clone() };
        match all.last_mut() {
            Some(last) if same(last.told, told) && last.marks.len() < 10_000 => last.marks.push(mark),
            _ => all.push(Alike { told, marks: vec![mark] }),
        }
    }
    all
}
