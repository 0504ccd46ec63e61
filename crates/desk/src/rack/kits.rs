//! Kits: put together, out, and back, short or wet.

use super::fields::day;
use super::labels::{compact, expand};
use super::{Answer, Fault, Line, Rack, Result, View, record, words};
use crate::texts;
use register::event::{Event, KitPart};
use register::history::effective;
use register::id::Id;
use register::kit::Kit;
use register::standing::State;
use register::store::GROUP;
use serde_json::{Value, json};
use std::collections::BTreeMap;

impl Rack<'_> {
    /// The kit with a label.
    pub(super) async fn kit(&self, label: &str) -> Result<Kit> {
        let found = self.kits().await?.into_iter().find(|kit| kit.label == label);
        found.ok_or_else(|| Fault::new("no-such-kit", &[("label", label.to_owned())]).into())
    }

    async fn kits(&self) -> Result<Vec<Kit>> {
        let today = self.outside.today();
        let mut ids = Vec::new();
        for past in effective(self.store.history(GROUP).await?).iter() {
            if let Event::KitSet { kit: None, .. } = past.record.event {
                ids.extend(Id::new(past.seq, 0));
            }
        }
        let mut kits = Vec::new();
        for id in ids {
            kits.extend(Kit::fold(id, &effective(self.store.history(id).await?), today));
        }
        Ok(kits)
    }

    /// Puts a kit together, or changes it: its whole contents, `C-001..C-010, N-1=4` for four of a lot.
    ///
    /// # Errors
    /// Where a piece is unknown.
    pub async fn set_kit(&self, label: &str, contents: &str) -> Result {
        super::labels::fit(label)?;
        let contents = self.parts(contents).await?;
        let kit = self.kits().await?.into_iter().find(|kit| kit.label == label).map(|kit| kit.id);
        let count = contents.len();
        let event = Event::KitSet { kit, label: label.to_owned(), contents };
        let entries = self.write(vec![Line::new(self.moment(None)?, record(Vec::new(), event))]).await?;
        let values = [("kit", label.to_owned()), ("count", count.to_string())];
        Ok(Answer::new(texts::rack("kit-set", &values) + "\n", json!({ "entries": entries, "kit": label })))
    }

    async fn parts(&self, text: &str) -> Result<Vec<KitPart>> {
        let mut parts = Vec::new();
        for part in text.split(',').map(str::trim) {
            let (labels, count) = match part.split_once('=') {
                Some((labels, count)) => (labels, super::fields::decimal(count, 0)?),
                None => (part, 1),
            };
            for label in expand(labels)? {
                parts.push(KitPart { piece: self.find(&label).await?.id, count });
            }
        }
        Ok(parts)
    }

    /// Gives a kit out. What may not be used now is told, and the kit stays.
    ///
    /// # Errors
    /// Where it is out already, or a piece of it is quarantined or withdrawn.
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

    async fn refuse_unfit(&self, parts: &[KitPart]) -> Result<()> {
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
    pub async fn kit_back(&self, label: &str, short: Option<&str>, wet: Option<&str>) -> Result {
        let view = self.view().await?;
        let kit = self.kit(label).await?;
        if kit.out.is_none() {
            return Err(Fault::new("kit-is-in", &[("kit", label.to_owned())]).into());
        }
        let short = match short {
            Some(short) => self.parts(short).await?,
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
    pub async fn show_kit(&self, label: &str) -> Result {
        let view = self.view().await?;
        let kit = self.kit(label).await?;
        let labels = self.labels(&kit).await?;
        let name = |id: &Id| labels.get(id).cloned().unwrap_or_default();
        let part = |part: &KitPart| {
            if part.count == 1 { name(&part.piece) } else { format!("{}={}", name(&part.piece), part.count) }
        };
        let parts = |parts: &[KitPart]| compact(&parts.iter().map(part).collect::<Vec<_>>());
        let mut text = format!("{}\n", kit_line(&kit, &view));
        text += &format!("  {}\n", texts::rack("kit-holds", &[("pieces", parts(&kit.contents))]));
        if !kit.short.is_empty() {
            text += &format!("  {}\n", texts::rack("kit-short", &[("pieces", parts(&kit.short))]));
        }
        if !kit.wet.is_empty() {
            let wet: Vec<_> = kit.wet.iter().map(name).collect();
            text += &format!("  {}\n", texts::rack("kit-wet", &[("pieces", compact(&wet))]));
        }
        let mut json = kit_json(&kit, &view);
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

    /// Every kit, and where it is; late ones count.
    ///
    /// # Errors
    /// Where the store cannot be read.
    pub async fn list_kits(&self) -> Result {
        let view = self.view().await?;
        let kits = self.kits().await?;
        let mut text: String = kits.iter().map(|kit| format!("{}\n", kit_line(kit, &view))).collect();
        if kits.is_empty() {
            text = texts::rack("no-kits", &[]) + "\n";
        }
        let json: Vec<Value> = kits.iter().map(|kit| kit_json(kit, &view)).collect();
        let mut answer = Answer::cautioned(text, json!({ "kits": json }));
        answer.counts = kits.iter().any(|kit| kit.is_late(view.now.on));
        Ok(answer)
    }
}

fn kit_line(kit: &Kit, view: &View) -> String {
    let Some(out) = &kit.out else {
        return texts::rack("kit-in", &[("kit", kit.label.clone()), ("count", kit.contents.len().to_string())]);
    };
    let to = out.to.as_ref().map_or_else(|| texts::rack("somebody", &[]), |person| view.name(person));
    let due = out.due.map(|day| texts::rack("until", &[("value", day.to_string())])).unwrap_or_default();
    let late = if kit.is_late(view.now.on) { texts::rack("late", &[]) } else { String::new() };
    let values = [("kit", kit.label.clone()), ("to", to), ("day", out.since.to_string()), ("due", due), ("late", late)];
    texts::rack("kit-out", &values).trim_end().to_owned()
}

fn kit_json(kit: &Kit, view: &View) -> Value {
    let out = kit.out.as_ref().map(
        |out| json!({ "since": out.since, "to": out.to.as_ref().map(|person| view.name(person)), "due": out.due }),
    );
    json!({ "kit": kit.label, "out": out, "late": kit.is_late(view.now.on) })
}
