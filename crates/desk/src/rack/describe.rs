//! What is known of pieces, told anew: each time an entry of its own, so that the log keeps what stood there before.

use super::enter::Known;
use super::fields::{Field, Told};
use super::{Fault, Line, Rack, Result, View, record, words};
use crate::texts;
use async_recursion::async_recursion as boxed;
use register::event::{Correction, Description, Event, Mark, Record};
use register::history::{History, Past};
use register::id::Id;
use register::moment::Moment;
use register::piece::Piece;
use register::store::Batch;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Something of a piece that stands otherwise than before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// What.
    pub field: Field,
    /// As it stood before; empty where nothing was told.
    pub before: String,
    /// As it stands since; empty where it is not known any more.
    pub after: String,
}

impl Change {
    pub(super) fn json(&self) -> Value {
        json!({ "field": self.field.code(), "before": self.before, "after": self.after })
    }

    pub(super) fn text(&self) -> String {
        let or_nothing = |text: &str| match text {
            "" => texts::rack("not-known", &[]),
            text => text.to_owned(),
        };
        let name = texts::field(self.field).to_owned();
        let values = [("field", name), ("before", or_nothing(&self.before)), ("after", or_nothing(&self.after))];
        texts::rack("changed", &values)
    }
}

/// What differs between two tellings of one piece.
pub(super) fn changes(before: &Told, after: &Told) -> Vec<Change> {
    let change = |field: &Field| {
        let (before, after) = (field.get(before), field.get(after));
        (before != after).then_some(Change { field: *field, before, after })
    };
    Field::ALL.iter().filter_map(change).collect()
}

impl Told {
    /// What is told here, and where nothing is, what was known.
    fn over(&self, known: &Self) -> Self {
        let or = |told: &Option<String>, known: &Option<String>| told.clone().or_else(|| known.clone());
        Self {
            label: known.label.clone(),
            serial: or(&self.serial, &known.serial),
            maker: or(&self.maker, &known.maker),
            model: or(&self.model, &known.model),
            first_use: known.first_use,
            is: self.is.clone().or(&known.is),
        }
    }
}

impl Rack<'_> {
    /// What would stand otherwise of a piece if `told` were told of it; nothing is written.
    ///
    /// # Errors
    /// As [`Rack::describe`].
    #[boxed]
    pub async fn changes(&self, label: &str, told: &Told) -> Result<Vec<Change>> {
        not_of_entry(told)?;
        let view = self.view().await?;
        let (piece, _) = self.fold(&self.find(label).await?, &view).await?;
        let known = view.told(&piece);
        Ok(changes(&known, &told.over(&known)))
    }

    /// What is known of a piece, as somebody would tell it.
    ///
    /// # Errors
    /// Where no piece has the label.
    #[boxed]
    pub async fn told(&self, label: &str) -> Result<Told> {
        let view = self.view().await?;
        let (piece, _) = self.fold(&self.find(label).await?, &view).await?;
        Ok(view.told(&piece))
    }

    /// Tells anew what is known of some pieces: only what is given changes. A maker or a model makes them of that model, which is
    /// entered where nobody knows it yet; a serial is told of one piece alone.
    ///
    /// # Errors
    /// Where a piece is unknown, nothing is told, or what is told stands in an entry of its own.
    #[boxed]
    pub async fn describe(&self, labels: &str, told: &Told, on: Option<&str>) -> Result {
        not_of_entry(told)?;
        let rows = self.find_all(labels).await?;
        if told.serial.is_some() && rows.len() > 1 {
            return Err(Fault::new("serial-of-many", &[]).into());
        }
        if *told == Told::default() {
            return Err(Fault::new("nothing-told", &[]).into());
        }
        let (view, happened) = (self.view().await?, self.moment(on)?);
        let folded = self.fold_all(&rows, &view).await?;
        let mut batch = self.begin().await?;
        let (by_model, mut entries) = self.by_model(&mut batch, told, &folded, &view, &happened).await?;
        let described = by_model.into_iter().filter_map(|(model, ids)| {
            let is = Description { model, ..told.is.clone() };
            (is != Description::default()).then(|| (happened.clone(), record(ids, Event::Described(is))))
        });
        let mut lines: Vec<_> = described.collect();
        if let (Some(serial), [(piece, history)]) = (&told.serial, &folded[..]) {
            lines.push((self.moment(None)?, record(Vec::new(), with_serial(piece, history, serial))));
        }
        for (happened, record) in lines {
            entries.push(batch.push(self.draft(Line::new(happened, record))).await?.seq);
        }
        batch.commit().await?;
        let what = format!("{}: {}", texts::event("described"), words::told(told).join(", "));
        self.after(&entries, &what, &rows).await
    }

    /// The pieces by the model that they are of from now on, `None` where neither maker nor model is told; and the entries of models
    /// that nobody knew yet.
    async fn by_model(
        &self,
        batch: &mut Batch,
        told: &Told,
        folded: &[(Piece, History)],
        view: &View,
        on: &Moment,
    ) -> Result<(BTreeMap<Option<Id>, Vec<Id>>, Vec<i64>)> {
        let (mut models, mut entries, mut by_model) = (view.models(), Vec::new(), BTreeMap::<_, Vec<Id>>::new());
        for (piece, _) in folded {
            let of = told.model_key().map(|_| told.over(&view.told(piece)));
            let model = match of.as_ref().and_then(Told::model_key) {
                Some(key) => {
                    let gear = of.and_then(|of| of.is.gear);
                    let known = Known { models: &mut models, entries: &mut entries };
                    Some(self.model(batch, key, gear, on, known).await?)
                }
                None => None,
            };
            by_model.entry(model).or_default().push(piece.id);
        }
        Ok((by_model, entries))
    }
}

/// Label and first use stand in entries of their own, which are corrected themselves.
fn not_of_entry(told: &Told) -> std::result::Result<(), Fault> {
    let own = [Field::Label, Field::FirstUse].into_iter().find(|field| !field.get(told).is_empty());
    own.map_or(Ok(()), |field| Err(Fault::new("not-told-anew", &[("field", field.code().to_owned())])))
}

/// The entry that brought a piece in, told anew with another serial of it.
fn with_serial(piece: &Piece, history: &History, serial: &str) -> Event {
    let with = history.iter().find(|past| past.seq == piece.id.seq()).map(|birth| {
        let mut record = (*birth.record).clone();
        if let Some(mark) = mark(&mut record.event, piece.id) {
            mark.serial = Some(serial.to_owned());
        }
        Box::new(Correction { happened: birth.happened.clone(), record })
    });
    Event::Corrected { entry: piece.id.seq(), with }
}

/// What the entry that brought a piece in says of it alone.
fn mark(event: &mut Event, id: Id) -> Option<&mut Mark> {
    let place = id.place();
    match event {
        Event::Entered(entered) => entered.pieces.get_mut(place),
        Event::Divided { into } => into.get_mut(place).map(|share| &mut share.mark),
        _ => None,
    }
}

/// What each of some entries of a piece changed of what was known of it; `written` holds all of them as they were written.
pub(super) fn told_by(about: &[&Past], piece: &Piece, written: &[Past], view: &View) -> Vec<Vec<Change>> {
    let mut known = Told::default();
    let mut told = |is: &Description| {
        let before = std::mem::take(&mut known);
        known = view.told_of(is, &before);
        changes(&before, &known)
    };
    let each = about.iter().map(|past| match &past.record.event {
        Event::Entered(entered) => {
            told(&entered.is);
            Vec::new()
        }
        Event::Described(is) => told(is),
        Event::Corrected { with: Some(with), .. } => {
            corrected(past, written).map_or_else(Vec::new, |before| serials(before, &with.record, piece.id))
        }
        _ => Vec::new(),
    });
    each.collect()
}

/// What stood in the log in place of what a correction tells, until it was written.
pub(super) fn corrected<'p>(correction: &Past, written: &'p [Past]) -> Option<&'p Record> {
    let Event::Corrected { entry: of, .. } = &correction.record.event else { return None };
    let earlier = written.iter().filter(|past| past.seq < correction.seq);
    let said = earlier.filter_map(|past| match &past.record.event {
        Event::Corrected { entry, with: Some(with) } if entry == of => Some((past.seq, &with.record)),
        _ if past.seq == *of => Some((past.seq, &*past.record)),
        _ => None,
    });
    said.max_by_key(|(seq, _)| *seq).map(|(_, record)| record)
}

fn serials(before: &Record, after: &Record, id: Id) -> Vec<Change> {
    let serial = |record: &Record| {
        let serial = mark(&mut record.event.clone(), id).and_then(|mark| mark.serial.clone());
        Told { serial, ..Told::default() }
    };
    changes(&serial(before), &serial(after))
}

impl View {
    /// What a description says over what was known.
    fn told_of(&self, is: &Description, known: &Told) -> Told {
        let model = is.model.and_then(|model| self.group.model(model));
        let (maker, name) = (model.and_then(|model| model.maker.clone()), model.map(|model| model.name.clone()));
        let told = Told { maker, model: name, is: Description { model: None, ..is.clone() }, ..Told::default() };
        told.over(known)
    }
}
