//! An outing goes out as a kit, is found again while it is out, and comes back.

use super::fields::day as day_of;
use super::{Fault, Line, Rack, Refused, Result, View, record, text_of};
use crate::outing::KeptOuting;
use crate::rack::Answer;
use crate::texts;
use async_recursion::async_recursion as boxed;
use plan::choice::{Choice, Taken};
use plan::outing::Outing;
use register::event::{Event, KitPart, Record};
use register::id::Id;
use register::kit::Kit;
use register::private::Aside;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// The most outings that are told as out.
const MOST: usize = 50;

/// How an outing goes out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct GoesOut {
    /// What the kit is called that it goes out as.
    pub kit: String,
    /// Who takes it.
    pub to: Option<String>,
    /// When it is to be back.
    pub back: Option<String>,
}

/// What came back of an outing that went out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CameBack {
    /// The entry by which it went out.
    pub entry: i64,
    /// Labels that are missing, of lots with how many.
    pub short: Option<String>,
    /// Labels that are wet.
    pub wet: Option<String>,
}

/// All that a choice takes along, for its needs or beside them.
pub(super) fn all_taken(outing: &Outing, choice: &Choice) -> Vec<Taken> {
    let mut all: Vec<Taken> = Vec::new();
    let needs = (0..outing.needs.len()).flat_map(|need| choice.taken(need));
    for taken in needs.chain(choice.idle(outing)) {
        match all.iter_mut().find(|own| own.label == taken.label) {
            Some(own) => own.count += taken.count,
            None => all.push(taken),
        }
    }
    all
}

impl Rack<'_> {
    /// Gives out what an outing takes along: pieces as a kit of their own, and kits that go whole as they are. All of it or nothing.
    ///
    /// # Errors
    /// Where there is such a kit already, a kit of it is out, or a piece is quarantined or withdrawn.
    #[boxed]
    pub async fn outing_out(&self, outing: &Outing, choice: &Choice, kept: &KeptOuting, out: &GoesOut) -> Result {
        super::labels::fit(&out.kit)?;
        let view = self.view().await?;
        let known = self.store.kit(&out.kit).await?;
        if known.as_ref().is_some_and(|kit| !kit.contents.is_empty() || kit.out.is_some()) {
            return Err(Fault::new("kit-name-taken", &[("kit", out.kit.clone())]).into());
        }
        let (contents, kits) = self.parted(outing, choice).await?;
        self.refuse_unfit(&contents).await?;
        for kit in &kits {
            self.refuse_out(kit).await?;
        }
        let to = out.to.as_deref().map(|name| view.person(name)).transpose()?;
        let due = out.back.as_deref().map(day_of).transpose()?;
        let issued = |kit: Id, there: &[KitPart]| {
            let about = there.iter().map(|part| part.piece).collect();
            Record { by_kit: Some(kit), ..record(about, Event::KitIssued { kit, to: to.clone(), due }) }
        };
        let paper = serde_json::to_string(kept).unwrap_or_else(|fault| unreachable!("{fault}"));
        let paper = Aside::text(&paper, self.outside.random(), None);

        let on = self.moment(None)?;
        let id = known.map(|kit| kit.id);
        let set = Event::KitSet { kit: id, label: out.kit.clone(), contents: contents.clone() };
        let mut batch = self.begin().await?;
        let written = batch.push_all(vec![self.draft(Line::new(on.clone(), record(Vec::new(), set)))]).await?;
        let set = written.first().map(|written| written.seq).unwrap_or_default();
        let id =
            id.or_else(|| Id::new(set, 0)).ok_or_else(|| Fault::new("no-such-kit", &[("label", out.kit.clone())]))?;
        let mut own = Line::new(on.clone(), issued(id, &contents));
        own.record.photos.push(paper.private.clone());
        own.asides.push(paper);
        let others = kits.iter().map(|kit| Line::new(on.clone(), issued(kit.id, &kit.there())));
        let lines = std::iter::once(own).chain(others).map(|line| self.draft(line)).collect();
        let entry = batch.push_all(lines).await?.first().map(|written| written.seq);
        batch.commit().await?;
        Ok(Answer::cautioned(
            texts::rack("outing-is-out", &[("kit", out.kit.clone())]) + "\n",
            json!({ "entry": entry, "kit": out.kit }),
        ))
    }

    /// What goes by itself, and the kits that go whole.
    async fn parted(&self, outing: &Outing, choice: &Choice) -> Result<(Vec<KitPart>, Vec<Kit>)> {
        let (mut contents, mut labels) = (Vec::new(), BTreeSet::new());
        for taken in all_taken(outing, choice) {
            match outing.piece(&taken.label).and_then(|piece| piece.goes_with()) {
                Some(kit) => drop(labels.insert(kit.to_owned())),
                None => {
                    contents.push(KitPart { piece: self.find(&taken.label).await?.id, count: taken.count });
                }
            }
        }
        let mut kits = Vec::new();
        for label in labels {
            kits.push(self.kit(&label).await?);
        }
        Ok((contents, kits))
    }

    async fn refuse_out(&self, kit: &Kit) -> Result<()> {
        if let Some(out) = &kit.out {
            let values = [("kit", kit.label.clone()), ("day", out.since.to_string())];
            return Err(Fault::new("kit-is-out", &values).into());
        }
        self.refuse_unfit(&kit.there()).await
    }

    /// The outings that are out as kits, by the names of these.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn outings_out(&self) -> Result {
        let view = self.view().await?;
        let mut told = Vec::new();
        for label in self.kits_out().await? {
            let Some(kit) = self.store.kit(&label).await? else { continue };
            told.extend(self.told_out(&kit, &view).await?);
            if told.len() == MOST {
                break;
            }
        }
        let line = |told: &Value| format!("{}\n", told["kit"].as_str().unwrap_or_default());
        Ok(Answer::cautioned(told.iter().map(line).collect(), json!({ "outings": told })))
    }

    async fn kits_out(&self) -> Result<Vec<String>> {
        let (mut labels, mut after) = (Vec::new(), None);
        loop {
            let page = self.store.kits(after.as_ref(), 1000, None).await?;
            labels.extend(page.kits.into_iter().filter(|kit| kit.since.is_some()).map(|kit| kit.label));
            match page.next {
                Some(next) => after = Some(next),
                None => return Ok(labels),
            }
        }
    }

    async fn told_out(&self, kit: &Kit, view: &View) -> Result<Option<Value>> {
        let Some(out) = &kit.out else { return Ok(None) };
        let kept = self.kept_beside(&self.past(out.entry).await?.record).await?;
        Ok(kept.map(|_| {
            let to = out.to.as_ref().map(|person| view.name(person));
            json!({
                "entry": out.entry, "kit": kit.label, "since": out.since, "to": to, "due": out.due, "late": kit.is_late(view.now.on),
            })
        }))
    }

    /// The outing that went out by an entry, and the kit that it is still out as.
    ///
    /// # Errors
    /// Where no outing went out by that entry.
    #[boxed]
    pub async fn outing_of(&self, entry: i64) -> Result<(KeptOuting, Option<String>)> {
        let none = || Refused::from(Fault::new("no-such-outing", &[("entry", entry.to_string())]));
        let past = self.past(entry).await?;
        let kept = self.kept_beside(&past.record).await?.ok_or_else(none)?;
        Ok((kept, self.out_by(entry).await?.map(|kit| kit.label)))
    }

    async fn kept_beside(&self, record: &Record) -> Result<Option<KeptOuting>> {
        let (Event::KitIssued { .. }, Some(paper)) = (&record.event, record.photos.first()) else { return Ok(None) };
        let aside = self.store.aside(paper).await?;
        Ok(aside.as_ref().and_then(text_of).and_then(|text| serde_json::from_str(&text).ok()))
    }

    /// The kit that is out by an entry.
    async fn out_by(&self, entry: i64) -> Result<Option<Kit>> {
        let Event::KitIssued { kit, .. } = self.past(entry).await?.record.event else { return Ok(None) };
        let labels = self.kit_labels().await?;
        let Some(label) = labels.get(&kit) else { return Ok(None) };
        let kit = self.store.kit(label).await?;
        Ok(kit.filter(|kit| kit.out.as_ref().is_some_and(|out| out.entry == entry)))
    }

    /// What takes an outing back in: its kit, which is taken apart unless something of it is missing, and the kits that went whole.
    pub(super) async fn back_in(&self, outing: &Outing, choice: &Choice, back: &CameBack) -> Result<Vec<Line>> {
        let view = self.view().await?;
        let Some(own) = self.out_by(back.entry).await? else {
            return Err(Fault::new("outing-is-in", &[("entry", back.entry.to_string())]).into());
        };
        let (own_id, own_label) = (own.id, own.label.clone());
        let mut kits = vec![own];
        let sets: BTreeSet<String> = all_taken(outing, choice)
            .iter()
            .filter_map(|taken| outing.piece(&taken.label)?.set.clone())
            .filter(|label| *label != own_label)
            .collect();
        for label in sets {
            kits.extend(self.store.kit(&label).await?.filter(|kit| kit.out.is_some()));
        }
        let short = match &back.short {
            Some(short) => self.parts(short, &view).await?.iter().map(super::kits::Part::named).collect(),
            None => Vec::new(),
        };
        let wet: Vec<Id> = match &back.wet {
            Some(wet) => self.find_all(wet).await?.into_iter().map(|row| row.id).collect(),
            None => Vec::new(),
        };
        let mut lines = Vec::new();
        let (mut short, mut wet): (Vec<KitPart>, Vec<Id>) = (short, wet);
        for kit in &kits {
            let went: BTreeMap<Id, u32> = kit.there().iter().map(|part| (part.piece, part.count)).collect();
            let of_kit = |part: &KitPart| went.get(&part.piece).is_some_and(|count| part.count <= *count);
            let (is_short, others): (Vec<KitPart>, Vec<KitPart>) = short.into_iter().partition(of_kit);
            let (is_wet, others_wet): (Vec<Id>, Vec<Id>) = wet.into_iter().partition(|id| went.contains_key(id));
            (short, wet) = (others, others_wet);
            let is_whole = is_short.is_empty();
            let event = Event::KitReturned { kit: kit.id, short: super::kits::still_short(kit, is_short), wet: is_wet };
            let mut line = Line::new(self.moment(None)?, record(went.keys().copied().collect(), event));
            line.record.by_kit = Some(kit.id);
            lines.push(line);
            if kit.id == own_id && is_whole {
                // Its pieces are free again: a kit goes whole or not at all.
                let event = Event::KitSet { kit: Some(kit.id), label: kit.label.clone(), contents: Vec::new() };
                lines.push(Line::new(self.moment(None)?, record(Vec::new(), event)));
            }
        }
        if short.is_empty() && wet.is_empty() {
            return Ok(lines);
        }
        Err(Fault::new("not-in-kit", &[("kit", own_label)]).into())
    }
}
