//! Inspections: by options for many pieces at once, or piece by piece with few keystrokes.

use super::happen::Paper;
use super::{Answer, Fault, Line, Rack, Result, View, record, words};
use crate::texts;
use async_recursion::async_recursion as boxed;
use register::event::{Event, Grade, Inspection, Remark};
use register::history::{History, Past, effective};
use register::id::Id;
use register::moment::Moment;
use register::piece::Piece;
use register::private::Aside;
use register::standing::{State, Why, standing};
use register::summary::Summary;
use std::collections::BTreeMap;
use std::sync::Arc;
use trade::checklist::{Checklist, checklist};
use trade::gear::Gear;
use trade::rack::Occasion;

/// What an inspection finds at a point, as somebody tells it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The point's code.
    pub point: String,
    /// What is found.
    pub grade: Grade,
    /// A remark.
    pub note: Option<String>,
    /// A photo.
    pub photo: Option<Paper>,
}

/// A piece under inspection: its list, and what an inspection may clear.
#[derive(Debug)]
pub struct Form {
    /// The piece.
    pub row: Summary,
    /// What to look at.
    pub list: Checklist,
    /// Entries that it waits for an inspection to clear: number and what happened.
    pub open: Vec<(i64, String)>,
    /// Where it stands, in words.
    pub standing: String,
    /// What keeps it out of use even where every point passes, and all that is open is cleared.
    pub stays: Vec<Stays>,
}

/// A reason that no inspection clears.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stays {
    /// Its code.
    pub code: &'static str,
    /// In words.
    pub text: String,
}

/// What a typed line asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// Show what to look for at each point, and ask again.
    Explain,
    /// This piece is left as it is.
    Skip,
    /// No more pieces.
    Stop,
    /// The piece was looked at: all but what was found passes.
    Done {
        /// What was found.
        found: Vec<Found>,
        /// Whether the open entries are cleared.
        clears: bool,
    },
}

impl Form {
    /// Reads a typed line: `p` all passes, `pc` and clears what is open, `3w rust` watch at point 3, `5d` a defect there, `7n` not
    /// looked at, several parted by `;`, and the rest passes; `s` skips the piece, `q` stops, `?` explains.
    ///
    /// # Errors
    /// Where the line is none of these.
    pub fn read(&self, line: &str) -> std::result::Result<Step, Fault> {
        match line.trim() {
            "?" => Ok(Step::Explain),
            "s" => Ok(Step::Skip),
            "q" => Ok(Step::Stop),
            "p" => Ok(Step::Done { found: Vec::new(), clears: false }),
            "pc" => Ok(Step::Done { found: Vec::new(), clears: true }),
            remarks => {
                let found = remarks.split(';').map(|remark| self.remark(remark.trim()));
                Ok(Step::Done { found: found.collect::<std::result::Result<_, _>>()?, clears: false })
            }
        }
    }

    fn remark(&self, text: &str) -> std::result::Result<Found, Fault> {
        let fault =
            || Fault::new("no-step", &[("value", text.to_owned()), ("points", self.list.points.len().to_string())]);
        let digits = text.chars().take_while(char::is_ascii_digit).count();
        let (number, rest) = text.split_at(digits);
        let place = number.parse::<usize>().ok().and_then(|number| number.checked_sub(1)).ok_or_else(fault)?;
        let point = self.list.points.get(place).ok_or_else(fault)?;
        let (sign, note) = rest.split_at_checked(1).ok_or_else(fault)?;
        let grade = match sign {
            "w" => Grade::Watch,
            "d" => Grade::Defect,
            "n" => Grade::NotLookedAt,
            _ => return Err(fault()),
        };
        let note = Some(note.trim().to_owned()).filter(|note| !note.is_empty());
        Ok(Found { point: point.code.clone(), grade, note, photo: None })
    }

    /// The piece, where it stands, the points by number, and the keys.
    #[must_use]
    pub fn prompt(&self) -> String {
        let gear = self.row.gear.clone().unwrap_or_default();
        let mut text = format!("\n{}  {gear}  {}\n", self.row.label, self.standing);
        for (entry, what) in &self.open {
            let values = [("entry", entry.to_string()), ("what", what.clone())];
            text += &format!("  {}\n", texts::rack("open-entry", &values));
        }
        for stays in &self.stays {
            text += &format!("  {}\n", texts::rack("stays-out", &[("value", stays.text.clone())]));
        }
        let points = self.list.points.iter().enumerate();
        let points: Vec<_> = points.map(|(place, point)| format!("{} {}", place + 1, point.name)).collect();
        let keys = if self.open.is_empty() { "keys" } else { "keys-and-clear" };
        text + &format!("  {}\n  {} ", points.join(" · "), texts::rack(keys, &[]))
    }

    /// What to look for at each point.
    #[must_use]
    pub fn explain(&self) -> String {
        let points = self.list.points.iter().enumerate();
        let line = |(place, point): (usize, &&trade::checklist::Point)| {
            format!("  {:>2} {}: {} [{}]\n", place + 1, point.name, point.look_for, texts::source(&point.source))
        };
        points.map(line).collect()
    }
}

impl Rack<'_> {
    /// The form for the piece with a label.
    ///
    /// # Errors
    /// Where the piece or its kind is unknown.
    #[boxed]
    pub async fn form(&self, label: &str, occasion: Occasion) -> Result<Form> {
        let view = self.view().await?;
        let row = self.find(label).await?;
        let list = checklist(gear(&row)?, occasion);
        let (piece, history) = self.fold(&row, &view).await?;
        let standing = standing(&piece, &history, &view.group, view.now.on);
        let open = self.clearable(&standing.reasons, &history, &view).await?;
        let clears = open.iter().map(|(entry, _)| *entry).collect();
        let (occasion, reference) = (occasion.code().to_owned(), list.reference.clone());
        let passing = Inspection { occasion, list: reference, remarks: Vec::new(), clears };
        let stays = self.stays(&piece, &history, passing, &view);
        Ok(Form { row, list, open, standing: texts::state(standing.state), stays })
    }

    /// The entries behind reasons that an inspection may clear, with what each says. A recall may be older than the piece.
    async fn clearable(&self, reasons: &[Why], history: &[Past], view: &View) -> Result<Vec<(i64, String)>> {
        let mut open: BTreeMap<i64, String> = BTreeMap::new();
        for why in reasons.iter().filter(|why| matches!(why.state, State::Quarantined | State::Watch)) {
            let Some(entry) = why.entry else { continue };
            let past = match history.iter().find(|past| past.seq == entry) {
                Some(past) => past.clone(),
                None => self.past(entry).await?,
            };
            open.insert(entry, words::event(&past.record.event, view));
        }
        Ok(open.into_iter().collect())
    }

    /// What would keep a piece out of use on the day after an inspection, were it written today.
    fn stays(&self, piece: &Piece, history: &History, inspection: Inspection, view: &View) -> Vec<Stays> {
        let seq = history.iter().map(|past| past.seq).max().unwrap_or_default() + 1;
        let record = Arc::new(record(vec![piece.id], Event::Inspected(inspection)));
        let (happened, writer) = (Moment::on(view.now.on), self.writer.clone());
        let looked_at = Past { seq, happened, written_ms: view.now.ms, writer, record };
        let history = effective(history.iter().cloned().chain([looked_at]).collect());
        let next_day = view.now.on.tomorrow().unwrap_or(view.now.on);
        let Some(piece) = Piece::fold(piece.id, &history, next_day) else { return Vec::new() };
        let reasons = standing(&piece, &history, &view.group, next_day).reasons;
        let grave = reasons.iter().filter(|why| why.state >= State::Quarantined);
        grave.map(|why| Stays { code: why.reason.code(), text: texts::reason(&why.reason) }).collect()
    }

    /// Writes an inspection of some pieces with the same findings: one entry for each kind of gear among them.
    ///
    /// # Errors
    /// Where a piece, its kind or a point is unknown, an entry to clear is not in the log, or who writes may not sign it.
    #[boxed]
    pub async fn inspect(
        &self,
        labels: &str,
        occasion: Occasion,
        found: &[Found],
        clears: &[i64],
        on: Option<&str>,
    ) -> Result {
        let view = self.view().await?;
        let rows = self.find_all(labels).await?;
        if occasion != Occasion::BeforeEachUse {
            self.may(&view, "inspect", &rows)?;
        }
        for entry in clears {
            self.past(*entry).await?;
        }
        let mut kinds: BTreeMap<Gear, Vec<&Summary>> = BTreeMap::new();
        for row in &rows {
            kinds.entry(gear(row)?).or_default().push(row);
        }
        let happened = self.moment(on)?;
        let mut lines = Vec::new();
        for (gear, rows) in kinds {
            let (event, asides) = self.inspection(&checklist(gear, occasion), occasion, found, clears)?;
            let ids: Vec<Id> = rows.iter().map(|row| row.id).collect();
            lines.push(Line { happened: happened.clone(), record: record(ids, event), asides });
        }
        let told: Vec<_> = lines.iter().map(|line| words::event(&line.record.event, &view)).collect();
        let entries = self.write(lines).await?;
        self.after(&entries, &told.join("; "), &rows).await
    }

    fn inspection(
        &self,
        list: &Checklist,
        occasion: Occasion,
        found: &[Found],
        clears: &[i64],
    ) -> std::result::Result<(Event, Vec<Aside>), Fault> {
        let (mut remarks, mut asides) = (Vec::new(), Vec::new());
        for one in found {
            if !list.points.iter().any(|point| point.code == one.point) {
                return Err(Fault::no_such_word(&one.point, list.points.iter().map(|point| point.code.as_str())));
            }
            let note = one.note.as_ref().map(|note| self.aside(note, None));
            let photo = one.photo.as_ref().map(|paper| self.photo(paper)).transpose()?;
            let name = |aside: &Option<Aside>| aside.as_ref().map(|aside| aside.private.clone());
            let (point, grade) = (one.point.clone(), one.grade);
            remarks.push(Remark { piece: None, point, grade, note: name(&note), photo: name(&photo) });
            asides.extend(note.into_iter().chain(photo));
        }
        let (occasion, list) = (occasion.code().to_owned(), list.reference.clone());
        Ok((Event::Inspected(Inspection { occasion, list, remarks, clears: clears.to_vec() }), asides))
    }
}

fn gear(row: &Summary) -> std::result::Result<Gear, Fault> {
    let found = row.gear.as_deref().and_then(Gear::from_code);
    found.ok_or_else(|| Fault::new("no-kind", &[("label", row.label.clone())]))
}

/// A finding as an option tells it: the point's code, and after `=` a remark.
#[must_use]
pub fn found(text: &str, grade: Grade) -> Found {
    let (point, note) =
        text.split_once('=').map_or((text, None), |(point, note)| (point, Some(note.trim().to_owned())));
    Found { point: point.trim().to_owned(), grade, note, photo: None }
}

/// The check-list of a kind of gear, to be read.
#[must_use]
pub fn list_answer(gear: Gear, occasion: Occasion) -> Answer {
    let list = checklist(gear, occasion);
    let line = |point: &&trade::checklist::Point| {
        format!("{}: {} [{}]\n", point.name, point.look_for, texts::source(&point.source))
    };
    let json = |point: &&trade::checklist::Point| {
        let source = texts::source(&point.source);
        serde_json::json!({ "code": point.code, "name": point.name, "look_for": point.look_for, "source": source })
    };
    let text: String = list.points.iter().map(line).collect();
    let points: Vec<_> = list.points.iter().map(json).collect();
    Answer::cautioned(text, serde_json::json!({ "list": list.reference, "points": points }))
}
