//! The inspection record: one piece with its whole history, or many with the latest inspection each.

use super::{Proof, Sheet, heads, word};
use crate::rack::fields::{Field, Told};
use crate::texts;
use jiff::civil::Date;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// What is on record of a piece.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OnRecord {
    /// What is known of it.
    pub told: Told,
    /// Who has it.
    pub user: Option<String>,
    /// Where it is.
    pub site: Option<String>,
    /// What it did, in words.
    pub work: Option<String>,
    /// Where it stands, in words.
    pub standing: String,
    /// Why, each reason with its entry and source.
    pub why: Vec<String>,
    /// The day by which it is to be inspected.
    pub inspect_by: Option<Date>,
    /// Its inspections, the first first.
    pub inspections: Vec<Inspected>,
    /// What else happened, the first first.
    pub others: Vec<Happened>,
}

/// An inspection of a piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Inspected {
    /// The entry.
    pub entry: i64,
    /// The day.
    pub on: Date,
    /// On what occasion.
    pub occasion: String,
    /// The check-list: its code and edition.
    pub list: String,
    /// Every point that is no plain pass, in words; nothing where all passed.
    pub findings: Vec<String>,
    /// The entries that it cleared.
    pub clears: Vec<i64>,
    /// Who signed.
    pub by: String,
}

/// Something else that happened to a piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Happened {
    /// The entry.
    pub entry: i64,
    /// The day.
    pub on: Date,
    /// What, in words.
    pub what: String,
    /// Remarks beside it.
    pub remarks: Vec<String>,
    /// Who wrote it.
    pub by: String,
}

/// What a record of equipment asks for: it stands on the sheet even where it is not known.
const ALWAYS: [Field; 8] = [
    Field::Gear,
    Field::Maker,
    Field::Model,
    Field::Serial,
    Field::Made,
    Field::Bought,
    Field::Supplier,
    Field::FirstUse,
];

/// The record of pieces as the log told it on a day: one piece with its whole history, or many with the latest inspection each.
#[must_use]
pub fn inspection_record(pieces: &[OnRecord], on: Date, proof: &Proof) -> Sheet {
    let (title, subtitle) = match pieces {
        [piece] => (texts::fill(&word("record-of"), &[("label", piece.told.label.clone())]), word("record-whole")),
        _ => (texts::fill(&word("record"), &[("count", pieces.len().to_string())]), word("record-latest")),
    };
    let many: &[OnRecord] = if pieces.len() > 1 { pieces } else { &[] };
    let data = json!({
        "title": title,
        "subtitle": texts::fill(&subtitle, &[("day", on.to_string())]),
        "asks": texts::asked_of_records(),
        "one": pieces.first().filter(|_| pieces.len() == 1).map(whole),
        "rows": many.iter().map(row).collect::<Vec<_>>(),
        "proof": proof.on_sheet(),
        "words": {
            "standing": word("standing"), "history": word("history"), "inspections": word("inspections"),
            "inspection_columns": heads("inspection-columns"), "history_columns": heads("history-columns"),
            "row_columns": heads("record-columns"), "signatures": heads("record-signatures"),
            "none": word("no-inspection"),
        },
    });
    Sheet { template: "inspection-record.typ", data, drawings: BTreeMap::new() }
}

fn whole(piece: &OnRecord) -> Value {
    let inspections = piece
        .inspections
        .iter()
        .map(|done| [done.entry.to_string(), done.on.to_string(), occasion(done), findings(done), done.by.clone()]);
    let others = piece.others.iter().map(|past| {
        let what = std::iter::once(past.what.clone()).chain(past.remarks.iter().cloned()).collect::<Vec<_>>();
        [past.entry.to_string(), past.on.to_string(), what.join(". "), past.by.clone()]
    });
    json!({
        "facts": facts(piece),
        "standing": piece.standing,
        "why": piece.why,
        "inspections": inspections.collect::<Vec<_>>(),
        "others": others.collect::<Vec<_>>(),
    })
}

/// What is known of a piece, each with its name: what is asked for in any case, the rest where it is told.
fn facts(piece: &OnRecord) -> Vec<[String; 2]> {
    let name = |code: &str| word(&format!("fact-{code}"));
    let others = Field::ALL.iter().filter(|field| !matches!(field, Field::Label | Field::Site));
    let others = others.filter(|field| !ALWAYS.contains(field));
    let told = |field: &Field| [name(field.code()), field.get(&piece.told)];
    let asked = ALWAYS.iter().map(told).chain([
        [name("user"), piece.user.clone().unwrap_or_default()],
        [name("site"), piece.site.clone().unwrap_or_default()],
        [name("inspect-by"), piece.inspect_by.map(|day| day.to_string()).unwrap_or_default()],
    ]);
    let asked = asked.map(|[name, value]| [name, if value.is_empty() { word("not-told") } else { value }]);
    let rest = others.map(told).chain([[name("work"), piece.work.clone().unwrap_or_default()]]);
    asked.chain(rest.filter(|[_, value]| !value.is_empty())).collect()
}

fn row(piece: &OnRecord) -> Vec<String> {
    let told = |field: Field| field.get(&piece.told);
    let last = piece.inspections.last();
    let day = |day: Option<Date>| day.map(|day| day.to_string()).unwrap_or_default();
    vec![
        told(Field::Label),
        piece.told.in_short(),
        told(Field::Serial),
        told(Field::Made),
        told(Field::Bought),
        told(Field::FirstUse),
        piece.user.iter().chain(&piece.site).cloned().collect::<Vec<_>>().join(", "),
        day(last.map(|done| done.on)),
        last.map_or_else(|| word("no-inspection"), findings),
        last.map(|done| done.by.clone()).unwrap_or_default(),
        piece.standing.clone(),
        day(piece.inspect_by),
    ]
}

fn occasion(done: &Inspected) -> String {
    format!("{} ({})", done.occasion, done.list)
}

fn findings(done: &Inspected) -> String {
    let found = if done.findings.is_empty() { word("all-passed") } else { done.findings.join("; ") };
    let clears = done.clears.iter().map(i64::to_string).collect::<Vec<_>>().join(", ");
    if clears.is_empty() { found } else { format!("{found}; {}", texts::fill(&word("clears"), &[("entries", clears)])) }
}
