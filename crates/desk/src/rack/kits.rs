//! Kits: put together, out, and back, short or wet.

use super::fields::day;
use super::labels::compact;
use super::{Answer, Fault, Line, Rack, Result, View, record, words};
use crate::texts;
use async_recursion::async_recursion as boxed;
use register::event::{Event, KitPart};
use register::id::Id;
use register::kit::Kit;
use register::piece::Piece;
use register::standing::State;
use register::store::KitRow;
use serde_json::{Value, json};
use std::collections::BTreeMap;

impl Rack<'_> {
    /// The kit with a label.
    pub(super) async fn kit(&self, label: &str) -> Result<Kit> {
        let found = self.store.kit(label).await?;
        found.ok_or_else(|| Fault::new("no-such-kit", &[("label", label.to_owned())]).into())
    }

    /// The label of every kit.
    pub(super) async fn kit_labels(&self) -> Result<BTreeMap<Id, String>> {
        let mut labels = BTreeMap::new();
        let mut after = None;
        loop {
            let page = self.store.kits(after.as_ref(), 1000, None).await?;
            labels.extend(page.kits.into_iter().map(|kit| (kit.id, kit.label)));
            match page.next {
                Some(next) => after = Some(next),
                None => return Ok(labels),
            }
        }
    }

    /// Puts a kit together, or changes it: its whole contents, `C-001..C-010, N-1=4` for four of a lot.
    ///
    /// # Errors
    /// Where a piece is unknown, a lot stands there without a count, or other kits hold so many that not enough are left.
    #[boxed]
    pub async fn set_kit(&self, label: &str, contents: &str) -> Result {
        super::labels::fit(label)?;
        let view = self.view().await?;
        let parts = self.parts(contents, &view).await?;
        let kit = self.store.kit(label).await?.map(|kit| kit.id);
        for Part { piece, count } in &parts {
            let others = piece.in_kits.iter().filter(|(other, _)| Some(**other) != kit);
            let left = piece.count().saturating_sub(others.map(|(_, part)| part.count).sum());
            if *count > left {
                let values = [("piece", piece.label.clone()), ("count", count.to_string()), ("left", left.to_string())];
                return Err(Fault::new("kit-too-many", &values).into());
            }
        }
        let contents: Vec<KitPart> = parts.iter().map(Part::named).collect();
        let count = contents.len();
        let event = Event::KitSet { kit, label: label.to_owned(), contents };
        let entries = self.write(vec![Line::new(self.moment(None)?, record(Vec::new(), event))]).await?;
        let values = [("kit", label.to_owned()), ("count", count.to_string())];
        Ok(Answer::new(texts::rack("kit-set", &values) + "\n", json!({ "entries": entries, "kit": label })))
    }

    pub(super) async fn parts(&self, text: &str, view: &View) -> Result<Vec<Part>> {
        let mut parts: Vec<Part> = Vec::new();
        for part in text.split(',').map(str::trim) {
            let (labels, count) = match part.split_once('=') {
                Some((labels, count)) => (labels, Some(super::fields::decimal(count, 0)?)),
                None => (part, None),
            };
            for row in self.find_all(labels).await? {
                let (piece, _) = self.fold(&row, view).await?;
                let values = [("label", piece.label.clone()), ("count", piece.count().to_string())];
                if parts.iter().any(|known| known.piece.id == piece.id) {
                    return Err(Fault::new("label-twice", &values).into());
                }
                let count = match count {
                    None if piece.is_lot() => return Err(Fault::new("how-many", &values).into()),
                    Some(0) => return Err(Fault::new("how-many", &values).into()),
                    count => count.unwrap_or(1),
                };
                parts.push(Part { piece, count });
            }
        }
        Ok(parts)
    }

    /// Gives a kit out. What may not be used now is told, and the kit stays.
    ///
    /// # Errors
    /// Where it is out already, or a piece of it is quarantined or withdrawn.
    #[boxed]
    pub async fn kit_out(&self, label: &str, to: Option<&str>, back: Option<&str>) -> Result {
        let view = self.view().await?;
        let kit = self.kit(label).await?;
        if let Some(out) = &kit.out {
            let values = [("kit", label.to_owned()), ("day", out.since.to_string())];
            return Err(Fault::new("kit-is-out", &values).into());
        }
        let there = kit.there();
        self.refuse_unfit(&there).await?;
        let to = to.map(|name| view.person(name)).transpose()?;
        let event = Event::KitIssued { kit: kit.id, to, due: back.map(day).transpose()? };
        self.kit_moves(&kit, &there, event, &view).await
    }

    pub(super) async fn refuse_unfit(&self, parts: &[KitPart]) -> Result<()> {
        let mut unfit = Vec::new();
        for part in parts {
            let row = self.store.piece(part.piece).await?;
            unfit.extend(row.filter(|row| row.standing >= State::Quarantined).map(|row| row.label));
        }
        if unfit.is_empty() {
            return Ok(());
        }
        Err(Fault::new("kit-unfit", &[("pieces", compact(&unfit))]).into())
    }

    /// Takes a kit back: what is missing, and what is wet.
    ///
    /// # Errors
    /// Where it is not out, or a piece named is not in it.
    #[boxed]
    pub async fn kit_back(&self, label: &str, short: Option<&str>, wet: Option<&str>) -> Result {
        let view = self.view().await?;
        let kit = self.kit(label).await?;
        if kit.out.is_none() {
            return Err(Fault::new("kit-is-in", &[("kit", label.to_owned())]).into());
        }
        let short: Vec<KitPart> = match short {
            Some(short) => self.parts(short, &view).await?.iter().map(Part::named).collect(),
            None => Vec::new(),
        };
        let wet: Vec<Id> = match wet {
            Some(wet) => self.find_all(wet).await?.into_iter().map(|row| row.id).collect(),
            None => Vec::new(),
        };
        let holds = |id: Id| kit.contents.iter().any(|part| part.piece == id);
        if !short.iter().map(|part| part.piece).chain(wet.iter().copied()).all(holds) {
            return Err(Fault::new("not-in-kit", &[("kit", label.to_owned())]).into());
        }
        let went_out =
            |part: &KitPart| kit.there().iter().any(|out| out.piece == part.piece && part.count <= out.count);
        if let Some(part) = short.iter().find(|part| !went_out(part)) {
            let label = self.store.piece(part.piece).await?.map(|row| row.label).unwrap_or_default();
            let values = [("kit", kit.label.clone()), ("piece", label), ("count", part.count.to_string())];
            return Err(Fault::new("short-of-more", &values).into());
        }
        let short = still_short(&kit, short);
        let event = Event::KitReturned { kit: kit.id, short, wet };
        self.kit_moves(&kit, &kit.there(), event, &view).await
    }

    async fn kit_moves(&self, kit: &Kit, there: &[KitPart], event: Event, view: &View) -> Result {
        let what = words::event(&event, view);
        let mut line = Line::new(self.moment(None)?, record(there.iter().map(|part| part.piece).collect(), event));
        line.record.by_kit = Some(kit.id);
        let entries = self.write(vec![line]).await?;
        let mut answer = self.show_kit(&kit.label).await?;
        let numbers = entries.iter().map(i64::to_string).collect::<Vec<_>>().join(", ");
        let values = [("entries", numbers), ("what", what), ("pieces", kit.label.clone())];
        answer.text = texts::rack("written", &values) + "\n" + &answer.text;
        answer.json["entries"] = json!(entries);
        Ok(answer)
    }

    /// A kit: what belongs to it, what is missing or wet, and where it is.
    ///
    /// # Errors
    /// Where there is no such kit.
    #[boxed]
    pub async fn show_kit(&self, label: &str) -> Result {
        let view = self.view().await?;
        let kit = self.kit(label).await?;
        let labels = self.labels(&kit).await?;
        let name = |id: &Id| labels.get(id).cloned().unwrap_or_default();
        let part = |part: &KitPart| {
            if part.count == 1 { name(&part.piece) } else { format!("{}={}", name(&part.piece), part.count) }
        };
        let parts = |parts: &[KitPart]| compact(&parts.iter().map(part).collect::<Vec<_>>());
        let row = KitRow::from(&kit);
        let mut text = format!("{}\n", kit_line(&row, &view));
        text += &format!("  {}\n", texts::rack("kit-holds", &[("pieces", parts(&kit.contents))]));
        if !kit.short.is_empty() {
            text += &format!("  {}\n", texts::rack("kit-short", &[("pieces", parts(&kit.short))]));
        }
        if !kit.wet.is_empty() {
            let wet: Vec<_> = kit.wet.iter().map(name).collect();
            text += &format!("  {}\n", texts::rack("kit-wet", &[("pieces", compact(&wet))]));
        }
        let mut json = kit_json(&row, &view);
        json["contents"] = json!(kit.contents.iter().map(part).collect::<Vec<_>>());
        json["short"] = json!(kit.short.iter().map(part).collect::<Vec<_>>());
        json["wet"] = json!(kit.wet.iter().map(name).collect::<Vec<_>>());
        Ok(Answer::cautioned(text, json))
    }

    async fn labels(&self, kit: &Kit) -> Result<BTreeMap<Id, String>> {
        let mut labels = BTreeMap::new();
        for id in kit.contents.iter().chain(&kit.short).map(|part| part.piece).chain(kit.wet.iter().copied()) {
            labels.extend(self.store.piece(id).await?.map(|row| (id, row.label)));
        }
        Ok(labels)
    }

    /// A page of the kits, or of the late ones alone, and where each is; where any is late, a script should stop.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn list_kits(&self, late: bool, after: Option<&str>, limit: u32) -> Result {
        let view = self.view().await?;
        let after = after.map(super::show::cursor).transpose()?;
        let page = self.store.kits(after.as_ref(), limit, late.then_some(view.now.on)).await?;
        let mut text: String = page.kits.iter().map(|kit| format!("{}\n", kit_line(kit, &view))).collect();
        if page.kits.is_empty() {
            text = texts::rack("no-kits", &[]) + "\n";
        }
        let next = page.next.as_ref().and_then(|cursor| serde_json::to_string(cursor).ok());
        text.extend(next.iter().map(|next| {
            let values = [("count", page.kits.len().to_string()), ("after", next.clone())];
            texts::rack("more", &values) + "\n"
        }));
        let count = self.store.late_kits(view.now.on).await?;
        if count > 0 {
            text += &format!("{}\n", texts::rack("late-kits", &[("count", count.to_string())]));
        }
        let json: Vec<Value> = page.kits.iter().map(|kit| kit_json(kit, &view)).collect();
        let mut answer = Answer::cautioned(text, json!({ "kits": json, "after": next, "late": count }));
        answer.counts = count > 0;
        Ok(answer)
    }
}

/// A piece, or some of a lot, as named for a kit.
pub(super) struct Part {
    piece: Piece,
    count: u32,
}

impl Part {
    pub(super) const fn named(&self) -> KitPart {
        KitPart { piece: self.piece.id, count: self.count }
    }
}

/// What is missing now: what was missing before it went out, and what it came back short of.
pub(super) fn still_short(kit: &Kit, short: Vec<KitPart>) -> Vec<KitPart> {
    let mut missing: BTreeMap<Id, u32> = BTreeMap::new();
    for part in kit.short.iter().chain(&short) {
        *missing.entry(part.piece).or_default() += part.count;
    }
    missing.into_iter().map(|(piece, count)| KitPart { piece, count }).collect()
}

fn kit_line(kit: &KitRow, view: &View) -> String {
    let Some(since) = kit.since else {
        return texts::rack("kit-in", &[("kit", kit.label.clone()), ("count", kit.parts.to_string())]);
    };
    let to = kit.holder.as_ref().map_or_else(|| texts::rack("somebody", &[]), |person| view.name(person));
    let due = kit.due.map(|day| texts::rack("until", &[("value", day.to_string())])).unwrap_or_default();
    let late = if kit.is_late(view.now.on) { texts::rack("late", &[]) } else { String::new() };
    let values = [("kit", kit.label.clone()), ("to", to), ("day", since.to_string()), ("due", due), ("late", late)];
    texts::rack("kit-out", &values).trim_end().to_owned()
}

fn kit_json(kit: &KitRow, view: &View) -> Value {
    let to = kit.holder.as_ref().map(|person| view.name(person));
    let out = kit.since.map(|since| json!({ "since": since, "to": to, "due": kit.due }));
    json!({ "kit": kit.label, "parts": kit.parts, "out": out, "late": kit.is_late(view.now.on) })
}
