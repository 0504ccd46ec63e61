//! Lists of pieces, and the page of one.

use super::describe::{Change, corrected, told_by};
use super::{Answer, Fault, Rack, Result, View, text_of, words};
use crate::columns::columns;
use crate::texts;
use async_recursion::async_recursion as boxed;
use jiff::Timestamp;
use register::event::{Event, Inspection};
use register::fit::{Fits, fitting};
use register::history::{History, Past, effective};
use register::id::Id;
use register::piece::{InKit, Piece};
use register::private::Private;
use register::standing::{Standing, State, Why, standing};
use register::store::{Cursor, Query};
use register::summary::Summary;
use serde_json::{Value, json};
use trade::gear::Gear;
use trade::marking;

/// What to list, as typed.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Filter {
    /// Words, each the beginning of one of the piece's own.
    pub text: String,
    /// Kind of gear.
    pub gear: Option<String>,
    /// Standing.
    pub standing: Option<String>,
    /// Where it is.
    pub site: Option<String>,
    /// Who has it.
    pub holder: Option<String>,
    /// The kit that it belongs to.
    pub kit: Option<String>,
    /// The model that it is of.
    pub model: Option<Id>,
    /// What the page before said.
    pub after: Option<String>,
    /// How many.
    pub limit: u32,
}

impl Rack<'_> {
    /// A page of the pieces that meet all that is given.
    ///
    /// # Errors
    /// Where a word of the filter is unknown.
    #[boxed]
    pub async fn list(&self, filter: &Filter) -> Result {
        let view = self.view().await?;
        let page = self.store.pieces(&self.query(filter, &view).await?).await?;
        let next = page.next.as_ref().and_then(|cursor| serde_json::to_string(cursor).ok());
        let rows: Vec<_> = page.pieces.iter().map(|row| row_json(row, &view)).collect();
        let mut text = table(&page.pieces, &view);
        if page.pieces.is_empty() {
            text = texts::rack("none-found", &[]) + "\n";
        }
        if let Some(next) = &next {
            let values = [("count", page.pieces.len().to_string()), ("after", next.clone())];
            text += &format!("{}\n", texts::rack("more", &values));
        }
        Ok(Answer::cautioned(text, json!({ "pieces": rows, "after": next })))
    }

    pub(super) async fn query(&self, filter: &Filter, view: &View) -> Result<Query> {
        if let Some(gear) = filter.gear.as_ref().filter(|gear| Gear::from_code(gear).is_none()) {
            return Err(Fault::no_such_word(gear, Gear::ALL.iter().map(|gear| gear.code())).into());
        }
        Ok(Query {
            text: filter.text.clone(),
            gear: filter.gear.clone(),
            standing: filter.standing.as_deref().map(state).transpose()?,
            site: filter.site.clone(),
            holder: filter.holder.as_deref().map(|name| view.person(name)).transpose()?,
            kit: match &filter.kit {
                Some(label) => Some(self.kit(label).await?.id),
                None => None,
            },
            model: filter.model,
            after: filter.after.as_deref().map(cursor).transpose()?,
            limit: filter.limit,
            ..Query::default()
        })
    }

    /// The page of a piece: its plate, its standing and why, what is known of it, its history.
    ///
    /// # Errors
    /// Where no piece has the label.
    #[boxed]
    pub async fn show(&self, label: &str) -> Result {
        let view = self.view().await?;
        let row = self.find(label).await?;
        let written = self.store.history(row.id).await?;
        let (piece, history) = folded(&row, written.clone(), &view)?;
        let standing = standing(&piece, &history, &view.group, view.now.on);
        let corrections = written.iter().filter(|past| matches!(past.record.event, Event::Corrected { .. }));
        let mut about: Vec<&Past> = piece.of(&history).chain(corrections).collect();
        about.sort_by_key(|past| (past.happened.date, past.seq));
        let notes = self.notes(&about).await?;
        let beside = beside(&about, &notes, &piece, &written, &view);
        let kits = self.kits_of(&piece, &view).await?;
        let mut json = page_json(&piece, &standing, &about, &beside, &view);
        json["kits"] = kits.iter().map(|(_, json)| json.clone()).collect();
        let kits: Vec<String> = kits.into_iter().map(|(text, _)| text).collect();
        Ok(Answer::cautioned(page(&piece, &standing, &about, &beside, &kits, &view), json))
    }

    pub(super) async fn fold(&self, row: &Summary, view: &View) -> Result<(Piece, History)> {
        folded(row, self.store.history(row.id).await?, view)
    }

    /// As [`Rack::fold`], of many at once, in their order.
    pub(super) async fn fold_all(&self, rows: &[Summary], view: &View) -> Result<Vec<(Piece, History)>> {
        let ids: Vec<Id> = rows.iter().map(|row| row.id).collect();
        let mut histories = self.store.histories(&ids).await?;
        rows.iter().map(|row| folded(row, histories.remove(&row.id).unwrap_or_default(), view)).collect()
    }

    /// Whether a piece goes with another by the instructions of that one's maker, in a mode of use; where it does not, a script should
    /// stop.
    ///
    /// # Errors
    /// Where a piece is unknown, or of no model.
    #[boxed]
    pub async fn fit(&self, device: &str, other: &str, mode: Option<&str>) -> Result {
        let view = self.view().await?;
        let (device, _) = self.fold(&self.find(device).await?, &view).await?;
        let (other, _) = self.fold(&self.find(other).await?, &view).await?;
        let model = device.described(&view.group).model.and_then(|model| view.group.model(model));
        let model = model.ok_or_else(|| Fault::new("of-no-model", &[("label", device.label.clone())]))?;
        let fitting = fitting(model, &other.described(&view.group), mode);
        let code = match fitting.fits {
            Fits::Yes => "fit-yes",
            Fits::Unknown => "fit-unknown",
            Fits::No => "fit-no",
        };
        let values = [("device", device.label.clone()), ("model", words::model_name(model)), ("other", other.label)];
        let mut text = texts::rack(code, &values) + "\n";
        text.extend(fitting.reasons.iter().map(|why| format!("  {}\n", texts::reason(why))));
        let reasons: Vec<_> =
            fitting.reasons.iter().map(|why| json!({ "code": why.code(), "text": texts::reason(why) })).collect();
        let mut answer = Answer::cautioned(text, json!({ "fits": code, "reasons": reasons }));
        answer.counts = fitting.fits == Fits::No;
        Ok(answer)
    }

    /// The first photo that was kept with a measurement of a piece, to compare later ones with.
    ///
    /// # Errors
    /// Where there is no such piece, or no such photo of it.
    #[boxed]
    pub async fn first_photo(&self, label: &str) -> Result<Vec<u8>> {
        let row = self.find(label).await?;
        let history = effective(self.store.history(row.id).await?);
        let measured = history.iter().filter(|past| matches!(past.record.event, Event::Measured(_)));
        for private in measured.flat_map(|past| &past.record.photos) {
            if let Some(aside) = self.store.aside(private).await? {
                return Ok(aside.content);
            }
        }
        Err(Fault::new("no-first-photo", &[("label", label.to_owned())]).into())
    }

    /// The remarks that stand beside some entries, each entry's by itself.
    async fn notes(&self, about: &[&Past]) -> Result<Vec<Vec<String>>> {
        let names: Vec<Private> = about.iter().flat_map(|past| notes_of(past)).cloned().collect();
        let there = self.store.asides(&names).await?;
        let note = |name: &Private| there.get(name).and_then(text_of).unwrap_or_else(|| texts::rack("erased", &[]));
        Ok(about.iter().map(|past| notes_of(past).map(note).collect()).collect())
    }

    /// The kits that a piece or some of a lot belong to, each with where these are, as text and as JSON.
    async fn kits_of(&self, piece: &Piece, view: &View) -> Result<Vec<(String, Value)>> {
        let mut kits = Vec::new();
        for (id, InKit { count, out, with, short }) in &piece.in_kits {
            let Some(kit) = self.store.kit_row(*id).await? else { continue };
            let with = with.as_ref().map(|person| view.name(person));
            let said = [
                (*out > 0).then(|| {
                    let who = with.clone().unwrap_or_else(|| texts::rack("somebody", &[]));
                    texts::rack("in-kit-out", &[("count", out.to_string()), ("who", who)])
                }),
                (*short > 0).then(|| texts::rack("in-kit-short", &[("count", short.to_string())])),
            ];
            let said = said.into_iter().flatten().map(|said| format!(", {said}")).collect::<String>();
            let code = if piece.is_lot() { "some-in-kit" } else { "in-kit" };
            let values = [("kit", kit.label.clone()), ("count", count.to_string()), ("of", piece.count().to_string())];
            let json = json!({ "kit": kit.label, "count": count, "out": out, "with": with, "short": short });
            kits.push((texts::rack(code, &values) + &said, json));
        }
        Ok(kits)
    }
}

/// What stands with an entry of a piece's history.
struct Beside {
    /// Its remarks.
    notes: Vec<String>,
    /// What it changed of what was known.
    changes: Vec<Change>,
    /// What the entry said that it corrects.
    was: Option<String>,
}

fn beside(about: &[&Past], notes: &[Vec<String>], piece: &Piece, written: &[Past], view: &View) -> Vec<Beside> {
    let changes = told_by(about, piece, written, view);
    let each = about.iter().zip(notes).zip(changes).map(|((past, notes), changes)| {
        // Where only something beside the words was corrected, these would stand there twice.
        let now = match &past.record.event {
            Event::Corrected { with: Some(with), .. } => words::event(&with.record.event, view),
            _ => String::new(),
        };
        let was = corrected(past, written).map(|record| words::event(&record.event, view)).filter(|was| *was != now);
        Beside { notes: notes.clone(), changes, was }
    });
    each.collect()
}

impl Beside {
    /// A line each.
    fn lines(&self) -> impl Iterator<Item = String> {
        let was = self.was.iter().map(|was| texts::rack("it-said", &[("value", was.clone())]));
        was.chain(self.changes.iter().map(Change::text)).chain(self.notes.iter().cloned())
    }
}

/// The names of the remarks of an entry.
fn notes_of(past: &Past) -> impl Iterator<Item = &Private> {
    let remarks = match &past.record.event {
        Event::Inspected(Inspection { remarks, .. }) => remarks.as_slice(),
        _ => &[],
    };
    past.record.note.iter().chain(remarks.iter().filter_map(|remark| remark.note.as_ref()))
}

fn folded(row: &Summary, history: Vec<Past>, view: &View) -> Result<(Piece, History)> {
    let history = effective(history);
    let piece = Piece::fold(row.id, &history, view.now.on).ok_or_else(|| super::no_such_piece(&row.label))?;
    Ok((piece, history))
}

/// Where a page goes on, as the one before it said.
pub(super) fn cursor(text: &str) -> std::result::Result<Cursor, Fault> {
    serde_json::from_str(text).map_err(|_| Fault::new("no-page", &[]))
}

fn state(code: &str) -> std::result::Result<State, Fault> {
    State::from_code(code).ok_or_else(|| Fault::no_such_word(code, State::ALL.iter().map(|state| state.code())))
}

/// Rows in columns: label, kind, standing, inspection due, where, who.
pub(super) fn table(rows: &[Summary], view: &View) -> String {
    let day = |day: Option<jiff::civil::Date>| day.map(|day| day.to_string()).unwrap_or_default();
    let cells = rows.iter().map(|row| {
        let holder = row.holder.as_ref().map(|person| view.name(person)).unwrap_or_default();
        let (gear, site) = (row.gear.clone().unwrap_or_default(), row.site.clone().unwrap_or_default());
        vec![row.label.clone(), gear, texts::state(row.standing), day(row.due_on), site, holder]
    });
    let headings = ["label", "kind", "standing", "inspect-by", "where", "who"];
    let head = headings.map(|heading| texts::rack(&format!("column-{heading}"), &[])).to_vec();
    columns(&std::iter::once(head).chain(cells).collect::<Vec<_>>())
}

pub(super) fn row_json(row: &Summary, view: &View) -> Value {
    json!({
        "label": row.label,
        "id": row.id,
        "serial": row.serial,
        "gear": row.gear,
        "standing": row.standing.code(),
        "changes_on": row.changes_on,
        "inspect_by": row.due_on,
        "overdue": row.due_on.is_some_and(|day| day < view.now.on),
        "site": row.site,
        "holder": row.holder.as_ref().map(|person| view.name(person)),
    })
}

/// The standing and its reasons, each with its entry and its source.
pub(super) fn standing_text(standing: &Standing) -> String {
    let mut text = texts::rack("standing", &[("state", texts::state(standing.state))]) + "\n";
    let inspect_by = standing.next_inspection.map(|day| texts::rack("inspect-by", &[("value", day.to_string())]));
    let days = [changes(standing), inspect_by];
    for line in reasons(standing).into_iter().chain(days.into_iter().flatten()).chain(gone(standing)) {
        text += &format!("  {line}\n");
    }
    text
}

/// What the days alone bring. Nothing leaves quarantine by itself: there they only add to what is said against a piece.
fn changes(standing: &Standing) -> Option<String> {
    let code = match standing.state {
        State::Withdrawn => return None,
        State::Quarantined => "more-on",
        _ => "changes-on",
    };
    standing.changes_on.map(|day| texts::rack(code, &[("value", day.to_string())]))
}

/// Why it stands there, and what it is restricted to, a line each.
pub(super) fn reasons(standing: &Standing) -> Vec<String> {
    let only = (!standing.restricted_to.is_empty())
        .then(|| texts::rack("restricted-to", &[("value", standing.restricted_to.join(", "))]));
    standing.reasons.iter().map(reason_text).chain(only).collect()
}

/// Whether it is lost or destroyed, a line each.
pub(super) fn gone(standing: &Standing) -> Vec<String> {
    let [lost, destroyed] = [("is-lost", standing.is_lost), ("is-destroyed", standing.is_destroyed)]
        .map(|(code, holds)| holds.then(|| texts::rack(code, &[])));
    lost.into_iter().chain(destroyed).collect()
}

/// A reason with its entry and its source.
fn reason_text(why: &Why) -> String {
    let entry = why.entry.map(|entry| texts::rack("by-entry", &[("value", entry.to_string())])).unwrap_or_default();
    let source = why.source.as_ref().map(|source| format!(" [{}]", texts::source(source))).unwrap_or_default();
    format!("{}{entry}{source}", texts::reason(&why.reason))
}

pub(super) fn standing_json(standing: &Standing) -> Value {
    let why = |why: &Why| {
        json!({
            "asks_for": why.state.code(),
            "code": why.reason.code(),
            "text": texts::reason(&why.reason),
            "entry": why.entry,
            "source": why.source.as_ref().map(texts::source),
        })
    };
    json!({
        "state": standing.state.code(),
        "restricted_to": standing.restricted_to,
        "reasons": standing.reasons.iter().map(why).collect::<Vec<_>>(),
        "changes_on": standing.changes_on,
        "changes": changes(standing),
        "inspect_by": standing.next_inspection,
        "lost": standing.is_lost,
        "destroyed": standing.is_destroyed,
    })
}

fn page(
    piece: &Piece,
    standing: &Standing,
    about: &[&Past],
    beside: &[Beside],
    kits: &[String],
    view: &View,
) -> String {
    let is = piece.described(&view.group);
    let mut text = format!("{}\n", piece.label);
    if let Some(plate) = is.marking.as_deref().map(|marking| marking::read(marking).plate().to_text()) {
        text += &format!("{}\n", plate.trim_end());
    }
    text += &format!("\n{}\n{}\n", standing_text(standing), texts::rack("known", &[]));
    text.extend(words::told(&view.told(piece)).iter().map(|detail| format!("  {detail}\n")));
    text.extend(work(piece).map(|work| format!("  {work}\n")));
    let owners =
        [("who-has-it", piece.holder.as_ref().map(|person| view.name(person))), ("where-it-is", piece.site.clone())];
    for (code, value) in owners {
        text.extend(value.map(|value| format!("  {}\n", texts::rack(code, &[("value", value)]))));
    }
    text.extend(kits.iter().map(|kit| format!("  {kit}\n")));
    text += &format!("\n{}\n", texts::rack("history", &[]));
    for (past, beside) in about.iter().zip(beside) {
        text += &format!("  {}\n", words::line(past, view));
        text.extend(beside.lines().map(|line| format!("      {line}\n")));
    }
    text
}

pub(super) fn work(piece: &Piece) -> Option<String> {
    let work = &piece.work;
    let values = [
        ("days", work.days.to_string()),
        ("rappels", work.rappels.to_string()),
        ("lowers", work.lowers.to_string()),
        ("falls", work.falls.to_string()),
    ];
    (work.days > 0).then(|| texts::rack("work", &values))
}

fn page_json(piece: &Piece, standing: &Standing, about: &[&Past], beside: &[Beside], view: &View) -> Value {
    let entry = |(past, beside): (&&Past, &Beside)| {
        let mut json = words_json(past, view);
        json["notes"] = json!(beside.notes);
        json["changes"] = beside.changes.iter().map(Change::json).collect();
        json["was"] = json!(beside.was);
        json
    };
    let told = view.told(piece);
    json!({
        "label": piece.label,
        "id": piece.id,
        "serial": piece.serial,
        "is": piece.described(&view.group),
        "maker": told.maker,
        "model": told.model,
        "first_use": piece.first_use.map(|(day, _)| day),
        "days": piece.work.days,
        "rappels": piece.work.rappels,
        "lowers": piece.work.lowers,
        "falls": piece.work.falls,
        "hardest_fall_n": piece.work.hardest_fall_n,
        "holder": piece.holder.as_ref().map(|person| view.name(person)),
        "site": piece.site,
        "standing": standing_json(standing),
        "history": about.iter().zip(beside).map(entry).collect::<Vec<_>>(),
    })
}

/// An entry for programs.
pub(super) fn words_json(past: &Past, view: &View) -> Value {
    json!({
        "entry": past.seq,
        "happened": past.happened.to_string(),
        "written": Timestamp::from_millisecond(past.written_ms).unwrap_or_default(),
        "writer": view.name(&past.writer),
        "text": words::event(&past.record.event, view),
        "record": past.record,
    })
}
