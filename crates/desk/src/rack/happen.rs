//! What happened, written into the log; and slips undone.

use super::labels::compact;
use super::show::{standing_json, words_json};
use super::{Answer, Fault, Line, Pick, Rack, Result, View, record, words};
use crate::texts;
use async_recursion::async_recursion as boxed;
use register::event::{Correction, Event, Use};
use register::history::{Past, effective};
use register::id::Id;
use register::private::Aside;
use register::standing::{State, standing};
use register::store::read;
use register::summary::Summary;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The media that can stand beside the log, by the end of a file's name.
const MEDIA: [(&str, &str); 4] =
    [("jpg", "image/jpeg"), ("jpeg", "image/jpeg"), ("png", "image/png"), ("pdf", "application/pdf")];

/// A photo or paper that is larger is not kept, bytes.
const LARGEST_PHOTO: usize = 40_000_000;

/// Past this many, the pieces' standings are counted by state instead of told one by one.
const TOLD: usize = 12;

/// To which pieces something happened, when, and what else is to be kept.
#[derive(Debug, Clone)]
pub struct About {
    /// Which pieces.
    pub pick: Pick,
    /// When; today where nothing is told.
    pub on: Option<String>,
    /// A remark.
    pub note: Option<String>,
    /// Photos and papers.
    pub photos: Vec<Paper>,
}

/// What stands in place of a wrong entry; what is left out stays as it was told.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Anew {
    /// The day on which it happened.
    pub on: Option<String>,
    /// The pieces to which it happened.
    pub labels: Option<String>,
    /// Its remark.
    pub remark: Option<String>,
}

/// A photo or paper that is to be kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Paper {
    /// In a file at this path.
    File(String),
    /// In hand, with the name it came under.
    InHand {
        /// Its name; the ending says what it is.
        name: String,
        /// What it holds.
        bytes: Vec<u8>,
    },
}

impl Rack<'_> {
    /// Writes what happened, and tells the standings that follow.
    ///
    /// # Errors
    /// Where a piece is unknown, the day is yet to come, or a right is missing.
    #[boxed]
    pub async fn log(&self, about: &About, event: Event) -> Result {
        let (rows, by_kit) = self.pick(&about.pick).await?;
        let ids = rows.iter().map(|row| row.id).collect();
        self.log_each(about, &rows, by_kit, vec![(event, ids)]).await
    }

    /// Writes several things that happened at once, each to its pieces.
    pub(super) async fn log_each(
        &self,
        about: &About,
        rows: &[Summary],
        by_kit: Option<Id>,
        events: Vec<(Event, Vec<Id>)>,
    ) -> Result {
        let view = self.view().await?;
        let happened = self.moment(about.on.as_deref())?;
        let ends = |event: &Event| matches!(event, Event::Withdrawn { .. } | Event::Destroyed);
        if events.iter().any(|(event, _)| ends(event)) {
            self.may(&view, "withdraw", rows)?;
        }
        let note = about.note.as_ref().map(|note| self.aside(note, None));
        let photos = about.photos.iter().map(|paper| self.photo(paper)).collect::<std::result::Result<Vec<_>, _>>()?;
        let told: Vec<String> = events.iter().map(|(event, _)| words::event(event, &view)).collect();
        let line = |(event, ids): (Event, Vec<Id>)| {
            let mut line = Line::new(happened.clone(), record(ids, event));
            line.record.by_kit = by_kit;
            line.record.note = note.as_ref().map(|note| note.private.clone());
            line.record.photos = photos.iter().map(|photo| photo.private.clone()).collect();
            line.asides = note.iter().chain(&photos).cloned().collect();
            line
        };
        let entries = self.write(events.into_iter().map(line).collect()).await?;
        self.after(&entries, &told.join("; "), rows).await
    }

    pub(super) async fn happened_to(&self, labels: &str, event: Event, on: Option<&str>) -> Result {
        let (pick, on) = (Pick::Labels(labels.to_owned()), on.map(str::to_owned));
        self.log(&About { pick, on, note: None, photos: Vec::new() }, event).await
    }

    pub(super) async fn pick(&self, pick: &Pick) -> Result<(Vec<Summary>, Option<Id>)> {
        match pick {
            Pick::Labels(labels) => Ok((self.find_all(labels).await?, None)),
            Pick::Kit(label) => {
                let kit = self.kit(label).await?;
                let mut rows = Vec::new();
                for part in &kit.contents {
                    rows.extend(self.store.piece(part.piece).await?);
                }
                Ok((rows, Some(kit.id)))
            }
        }
    }

    /// Whether who writes may sign this for each of the pieces.
    pub(super) fn may(&self, view: &View, right: &str, rows: &[Summary]) -> std::result::Result<(), Fault> {
        let lacks = |row: &&Summary| !view.may(&self.writer, right, row.gear.as_deref());
        match rows.iter().find(lacks) {
            None => Ok(()),
            Some(row) => {
                let gear = row.gear.clone().unwrap_or_default();
                let who = view.who_may(right, row.gear.as_deref());
                let values =
                    [("name", view.name(&self.writer)), ("right", right.to_owned()), ("gear", gear), ("who", who)];
                Err(Fault::new("no-right", &values))
            }
        }
    }

    pub(super) fn photo(&self, paper: &Paper) -> std::result::Result<Aside, Fault> {
        let (Paper::File(name) | Paper::InHand { name, .. }) = paper;
        let end = name.rsplit('.').next().unwrap_or_default().to_lowercase();
        let media = MEDIA.iter().find(|(known, _)| *known == end).map(|(_, media)| *media);
        let media = media.ok_or_else(|| Fault::new("no-photo", &[("path", name.clone())]))?;
        let bytes = match paper {
            Paper::InHand { bytes, .. } => bytes.clone(),
            Paper::File(path) => self
                .outside
                .read_bytes(path, LARGEST_PHOTO)
                .map_err(|why| Fault::new("unreadable", &[("path", path.clone()), ("why", why.to_string())]))?,
        };
        if bytes.len() > LARGEST_PHOTO {
            let values = [("path", name.clone()), ("most", (LARGEST_PHOTO / 1_000_000).to_string())];
            return Err(Fault::new("photo-too-large", &values));
        }
        Ok(Aside::new(media, bytes, self.outside.random(), None))
    }

    /// What was written, and where the pieces stand now.
    pub(super) async fn after(&self, entries: &[i64], told: &str, rows: &[Summary]) -> Result {
        let view = self.view().await?;
        let labels: Vec<String> = rows.iter().map(|row| row.label.clone()).collect();
        let numbers = entries.iter().map(i64::to_string).collect::<Vec<_>>().join(", ");
        let values = [("entries", numbers), ("what", told.to_owned()), ("pieces", compact(&labels))];
        let mut text = texts::rack("written", &values) + "\n";
        let (standings, json) = self.standings(rows, &view).await?;
        text += &standings;
        Ok(Answer::cautioned(text, json!({ "entries": entries, "pieces": json })))
    }

    async fn standings(&self, rows: &[Summary], view: &View) -> Result<(String, Vec<Value>)> {
        let mut states: BTreeMap<_, Vec<String>> = BTreeMap::new();
        let (mut text, mut json) = (String::new(), Vec::new());
        for (row, (piece, history)) in rows.iter().zip(self.fold_all(rows, view).await?) {
            let standing = standing(&piece, &history, &view.group, view.now.on);
            let why = standing.reasons.first().map(|why| texts::reason(&why.reason)).unwrap_or_default();
            if rows.len() <= TOLD {
                text += format!("  {}: {}. {why}", row.label, texts::state(standing.state)).trim_end();
                if standing.state == State::Quarantined && standing.changes_on == view.now.on.tomorrow().ok() {
                    text += &format!(" {}", texts::rack("worst-of-the-day", &[]));
                }
                text += "\n";
            }
            states.entry(standing.state).or_default().push(row.label.clone());
            json.push(json!({ "label": row.label, "standing": standing_json(&standing) }));
        }
        if rows.len() > TOLD {
            let line =
                |(state, labels): (State, Vec<String>)| format!("  {}: {}\n", texts::state(state), compact(&labels));
            text = states.into_iter().map(line).collect();
        }
        Ok((text, json))
    }

    /// The last entries of the log, or those up to `before`.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn entries(&self, before: Option<i64>, limit: i64) -> Result {
        let view = self.view().await?;
        let end = match before {
            Some(before) => before,
            None => self.store.head().await?.seq + 1,
        };
        let from = (end - limit).max(1);
        let entries = self.store.entries(from, (end - from).max(0)).await?;
        let pasts = entries.iter().map(read).collect::<std::result::Result<Vec<Past>, _>>()?;
        let (mut text, mut json) = (String::new(), Vec::new());
        for past in &pasts {
            let (labels, more) = self.labels_of(past).await?;
            let of = if labels.is_empty() { String::new() } else { format!("  {}", compact(&labels)) };
            let and = if more > 0 { format!(" +{more}") } else { String::new() };
            text += &format!("{}{of}{and}\n", words::line(past, &view));
            let mut told = words_json(past, &view);
            (told["labels"], told["more_pieces"]) = (json!(labels), json!(more));
            json.push(told);
        }
        if from > 1 {
            text = format!("{}\n{text}", texts::rack("earlier", &[("value", from.to_string())]));
        }
        Ok(Answer::cautioned(text, json!({ "entries": json })))
    }

    /// The labels of what an entry is about, as they are now, and how many more there are.
    async fn labels_of(&self, past: &Past) -> Result<(Vec<String>, usize)> {
        let mut labels = Vec::new();
        for id in past.record.about.iter().take(TOLD) {
            labels.extend(self.store.piece(*id).await?.map(|row| row.label));
        }
        if let Event::Entered(entered) = &past.record.event {
            labels.extend(entered.pieces.iter().map(|mark| mark.label.clone()));
        }
        Ok((labels, past.record.about.len().saturating_sub(TOLD)))
    }

    /// Takes an entry back, or tells it anew as `anew` says. The entry stays; a correction is an entry too, with a `note` of its own.
    ///
    /// # Errors
    /// Where there is no such entry, or a piece or day that is told is none.
    #[boxed]
    pub async fn correct(&self, entry: i64, anew: &Anew, note: Option<&str>) -> Result {
        let view = self.view().await?;
        let past = self.past_as_it_holds(entry).await?;
        let (with, remark) = self.told_anew(&past, anew).await?;
        let event = Event::Corrected { entry, with: with.map(Box::new) };
        let told = words::event(&event, &view);
        let mut line = Line::new(self.moment(None)?, record(Vec::new(), event));
        let note = note.map(|note| self.aside(note, None));
        line.record.note = note.as_ref().map(|note| note.private.clone());
        line.asides = note.into_iter().chain(remark).collect();
        let written = self.write(vec![line]).await?;
        let mut rows = Vec::new();
        for id in &past.record.about {
            rows.extend(self.store.piece(*id).await?);
        }
        let told = format!("{told} ({})", words::event(&past.record.event, &view));
        self.after(&written, &told, &rows).await
    }

    /// What stands in place of an entry, and the remark of it; nothing where nothing is told anew.
    async fn told_anew(&self, past: &Past, anew: &Anew) -> Result<(Option<Correction>, Option<Aside>)> {
        if *anew == Anew::default() {
            return Ok((None, None));
        }
        let mut with = Correction { happened: past.happened.clone(), record: (*past.record).clone() };
        if let Some(on) = &anew.on {
            with.happened = self.moment(Some(on))?;
        }
        if let Some(labels) = &anew.labels {
            with.record.about = self.find_all(labels).await?.into_iter().map(|row| row.id).collect();
        }
        let remark = anew.remark.as_ref().map(|remark| self.aside(remark, None));
        with.record.note = remark.as_ref().map(|remark| remark.private.clone()).or(with.record.note);
        Ok((Some(with), remark))
    }

    /// An entry of the log as it holds: its words, the pieces that it is about, and its remark.
    ///
    /// # Errors
    /// Where there is no such entry.
    #[boxed]
    pub async fn entry(&self, entry: i64) -> Result {
        let view = self.view().await?;
        let past = self.past_as_it_holds(entry).await?;
        let mut labels = Vec::new();
        for id in &past.record.about {
            labels.extend(self.store.piece(*id).await?.map(|row| row.label));
        }
        let remark = match &past.record.note {
            Some(note) => Some(self.text_or_erased(note).await?),
            None => None,
        };
        let text = format!("{}\n", words::line(&past, &view));
        let mut json = words_json(&past, &view);
        (json["labels"], json["remark"]) = (json!(labels), json!(remark));
        Ok(Answer::cautioned(text, json))
    }

    /// An entry with the correction of it that holds, if one does.
    async fn past_as_it_holds(&self, entry: i64) -> Result<Past> {
        let written = self.past(entry).await?;
        let Some(id) = written.record.about.first() else { return Ok(written) };
        let history = effective(self.store.history(*id).await?);
        Ok(history.iter().find(|past| past.seq == entry).cloned().unwrap_or(written))
    }

    pub(super) async fn past(&self, entry: i64) -> Result<Past> {
        let found = self.store.entries(entry, 1).await?.into_iter().find(|found| found.seq == entry);
        match found {
            Some(found) => Ok(read(&found)?),
            None => Err(Fault::new("no-such-entry", &[("entry", entry.to_string())]).into()),
        }
    }
}

/// A day of use, from what was typed. A force is in kN.
///
/// # Errors
/// Where a force is no number, or is told without a fall.
pub fn day_of_use(
    duty: Option<String>,
    rappels: u32,
    lowers: u32,
    run_m: u32,
    falls: u32,
    force: Option<&str>,
    severe: bool,
) -> std::result::Result<Event, Fault> {
    let force_n = force.map(|force| super::fields::decimal(force, 3)).transpose()?;
    if falls == 0 && (force_n.is_some() || severe) {
        return Err(Fault::new("no-fall", &[]));
    }
    let fall = register::event::Fall { force_n, from_check: None, severe };
    let falls = vec![fall; falls as usize];
    Ok(Event::Used(Use { duty, rappels, lowers, run_m, falls }))
}
