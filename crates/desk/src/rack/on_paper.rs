//! What the rack puts on paper: inspection records, incident records, recall lists, pack lists of kits.

use super::cases::Closing;
use super::enter::TOGETHER;
use super::labels::compact;
use super::show::{self, Filter};
use super::words;
use super::{Fault, Rack, Refused, Result, View};
use crate::sheets::{
    self, CaseTold, Duty, Happened, Inspected, OnRecord, PackList, Packed, Proof, Sheet, case_record,
    inspection_record, pack_list,
};
use crate::texts;
use async_recursion::async_recursion as boxed;
use register::event::{Event, Inspection, KitPart, Remark};
use register::group::{Case, CaseKind};
use register::history::{History, Past};
use register::id::Id;
use register::kit::Kit;
use register::piece::Piece;
use register::standing::{Standing, State, standing};
use register::summary::Summary;
use std::collections::BTreeMap;

/// Which pieces a record is of.
#[derive(Debug, Clone, PartialEq)]
pub enum Which {
    /// By label, ranges among them.
    Labels(String),
    /// All that a list would show.
    Filter(Filter),
}

impl Rack<'_> {
    /// The inspection record of pieces: of one its whole history, of many the latest inspection each.
    ///
    /// # Errors
    /// Where a label or a word of the filter is unknown, or nothing meets it.
    #[boxed]
    pub async fn inspection_record(&self, which: &Which) -> Result<Sheet> {
        let view = self.view().await?;
        let rows = self.rows_of(which, &view).await?;
        let mut pieces = Vec::new();
        for some in rows.chunks(TOGETHER) {
            for folded in self.fold_all(some, &view).await? {
                pieces.push(self.on_record(folded, rows.len() == 1, &view).await?);
            }
        }
        // Asked last: what stands on the sheet is in the log up to there.
        Ok(inspection_record(&pieces, view.now.on, &self.proof().await?))
    }

    async fn rows_of(&self, which: &Which, view: &View) -> Result<Vec<Summary>> {
        let rows = match which {
            Which::Labels(labels) => self.find_all(labels).await?,
            Which::Filter(filter) => self.all(self.query(filter, view).await?).await?,
        };
        if rows.is_empty() { Err(Fault::new("nothing-on-record", &[]).into()) } else { Ok(rows) }
    }

    /// The labels of some pieces, in few words.
    ///
    /// # Errors
    /// As [`Rack::inspection_record`].
    #[boxed]
    pub async fn labels_for(&self, which: &Which) -> Result<String> {
        let rows = self.rows_of(which, &self.view().await?).await?;
        Ok(compact(&rows.into_iter().map(|row| row.label).collect::<Vec<_>>()))
    }

    async fn proof(&self) -> Result<Proof> {
        let head = self.store.head().await?;
        Ok(Proof { entry: head.seq, hash: head.hash })
    }

    /// What is on record of a piece; of a piece among many, no more than its latest inspection.
    async fn on_record(&self, (piece, history): (Piece, History), whole: bool, view: &View) -> Result<OnRecord> {
        let about: Vec<&Past> = piece.of(&history).collect();
        let stands = standing(&piece, &history, &view.group, view.now.on);
        let mut record = OnRecord {
            told: view.told(&piece),
            user: piece.holder.as_ref().map(|person| view.name(person)),
            site: piece.site.clone(),
            work: show::work(&piece),
            standing: texts::state(stands.state),
            why: why(&stands),
            inspect_by: stands.next_inspection,
            ..OnRecord::default()
        };
        if record.told.is.bought.is_none() {
            record.told.is.bought = bought(&about);
        }
        let (inspections, others): (Vec<&Past>, Vec<&Past>) = about.into_iter().partition(|past| is_inspection(past));
        let latest = if whole { 0 } else { inspections.len().saturating_sub(1) };
        for past in &inspections[latest..] {
            record.inspections.extend(self.inspected(past, &piece, view).await?);
        }
        for past in others.iter().filter(|_| whole) {
            record.others.push(self.happened(past, view).await?);
        }
        Ok(record)
    }

    async fn inspected(&self, past: &Past, piece: &Piece, view: &View) -> Result<Option<Inspected>> {
        let Event::Inspected(inspection) = &past.record.event else { return Ok(None) };
        let mut findings = Vec::new();
        for remark in remarks_of(inspection, piece.id) {
            findings.push(self.finding(remark).await?);
        }
        findings.extend(self.note(past).await?);
        let Inspection { occasion, list, clears, .. } = inspection.clone();
        let by = view.name(&past.writer);
        Ok(Some(Inspected { entry: past.seq, on: past.happened.date, occasion, list, findings, clears, by }))
    }

    async fn finding(&self, remark: &Remark) -> Result<String> {
        let found = words::remark(remark);
        let Some(note) = &remark.note else { return Ok(found) };
        Ok(format!("{found}: {}", self.text_or_erased(note).await?))
    }

    async fn note(&self, past: &Past) -> Result<Option<String>> {
        let Some(note) = &past.record.note else { return Ok(None) };
        self.text_or_erased(note).await.map(Some)
    }

    async fn happened(&self, past: &Past, view: &View) -> Result<Happened> {
        Ok(Happened {
            entry: past.seq,
            on: past.happened.date,
            what: words::event(&past.record.event, view),
            remarks: self.note(past).await?.into_iter().collect(),
            by: view.name(&past.writer),
        })
    }

    /// The record of an incident, or the list of a recall: frozen where it is closed, or else as it stands.
    ///
    /// # Errors
    /// Where there is no such case, it is of the other kind, or what was frozen is gone.
    #[boxed]
    pub async fn case_record(&self, entry: i64, is_recall: bool) -> Result<Sheet> {
        let view = self.view().await?;
        let case = view.case(entry)?;
        if matches!(case.kind, CaseKind::Recall(_)) != is_recall {
            let code = if is_recall { "case-is-incident" } else { "case-is-recall" };
            return Err(Fault::new(code, &[("entry", entry.to_string())]).into());
        }
        let (told, frozen_on, proof) = match self.closing(case).await? {
            Some(closing) => self.frozen_case(entry, closing).await?,
            None => (read_case(&self.show_case(entry).await?.json.to_string(), entry)?, None, self.proof().await?),
        };
        let people = people(case, &view);
        Ok(case_record(&told, &sheets::Told { people: &people, frozen_on, on: view.now.on, proof: &proof }))
    }

    async fn frozen_case(&self, entry: i64, closing: Closing) -> Result<(CaseTold, Option<jiff::civil::Date>, Proof)> {
        let gone = || Refused::from(Fault::new("frozen-gone", &[("entry", entry.to_string())]));
        let told = read_case(&closing.frozen.ok_or_else(gone)?, entry)?;
        let closed = self.store.entries(closing.entry, 1).await?.pop().ok_or_else(gone)?;
        Ok((told, Some(closing.on), Proof { entry: closed.seq, hash: closed.hash }))
    }

    /// What a kit holds as a pack list, by kind of gear, shared by some people (0: nobody said).
    ///
    /// # Errors
    /// Where there is no such kit.
    #[boxed]
    pub async fn pack_list(&self, label: &str, people: u32) -> Result<Sheet> {
        let view = self.view().await?;
        let kit = self.kit(label).await?;
        let mut duties: BTreeMap<String, Vec<Packed>> = BTreeMap::new();
        let mut unfit = Vec::new();
        for part in &kit.contents {
            let Some(row) = self.store.piece(part.piece).await? else { continue };
            let (piece, _) = self.fold(&row, &view).await?;
            let gear = row.gear.clone().unwrap_or_else(|| sheets::word("no-kind"));
            duties.entry(gear).or_default().push(packed(part, &row, &kit, &view.told(&piece)));
            unfit.extend((row.standing >= State::Quarantined).then_some(row.label));
        }
        let duties = duties.into_iter().map(|(name, pieces)| Duty { name, asks: String::new(), pieces }).collect();
        let values = [("kit", kit.label.clone()), ("day", view.now.on.to_string())];
        Ok(pack_list(&PackList {
            title: texts::fill(&sheets::word("pack-list"), &values),
            subtitle: texts::fill(&sheets::word("pack-of-kit"), &values),
            duties,
            people,
            short: if unfit.is_empty() {
                Vec::new()
            } else {
                vec![texts::fill(&sheets::word("pack-unfit"), &[("pieces", compact(&unfit))])]
            },
        }))
    }
}

/// Why a piece stands where it does, and what else holds of it.
fn why(stands: &Standing) -> Vec<String> {
    [show::reasons(stands), show::gone(stands)].concat()
}

fn is_inspection(past: &Past) -> bool {
    matches!(past.record.event, Event::Inspected(_))
}

/// The remarks of an inspection that are about a piece.
fn remarks_of(inspection: &Inspection, piece: Id) -> impl Iterator<Item = &Remark> {
    inspection.remarks.iter().filter(move |remark| remark.piece.is_none_or(|about| about == piece))
}

/// The day it was bought, where the log tells it as something that happened.
fn bought(about: &[&Past]) -> Option<register::event::Dated> {
    let bought = about.iter().find(|past| matches!(past.record.event, Event::Bought { .. }))?;
    Some(register::event::Dated::Day(bought.happened.date))
}

fn read_case(json: &str, entry: i64) -> std::result::Result<CaseTold, Fault> {
    serde_json::from_str(json).map_err(|_| Fault::new("frozen-gone", &[("entry", entry.to_string())]))
}

fn people(case: &Case, view: &View) -> Vec<String> {
    match &case.kind {
        CaseKind::Incident(incident) => incident.people.iter().map(|person| view.name(person)).collect(),
        CaseKind::Recall(_) => Vec::new(),
    }
}

fn packed(part: &KitPart, row: &Summary, kit: &Kit, told: &super::fields::Told) -> Packed {
    let is_short = kit.short.iter().any(|short| short.piece == part.piece);
    let said = [
        (row.standing != State::InService).then(|| texts::state(row.standing)),
        is_short.then(|| sheets::word("pack-missing")),
        kit.wet.contains(&part.piece).then(|| sheets::word("pack-wet")),
    ];
    Packed {
        label: row.label.clone(),
        count: part.count,
        model: told.in_short(),
        mass_g: told.is.mass_g,
        remark: said.into_iter().flatten().collect::<Vec<_>>().join(", "),
    }
}
