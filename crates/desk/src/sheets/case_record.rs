//! The incident record and the recall list: a case as it was frozen when it was closed, or as it stands.

use super::{Proof, Sheet, heads, word};
use crate::texts;
use jiff::civil::Date;
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// An incident or a recall, as `incident show --json` tells it and as it is frozen.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct CaseTold {
    /// The entry that opened it.
    pub case: i64,
    /// A recall, or else an incident.
    pub is_recall: bool,
    /// What happened, or what is called back.
    pub what: String,
    /// The day it was opened.
    pub opened: Date,
    /// Its pieces.
    pub lines: Vec<LineTold>,
    /// What was used with them.
    pub used_with: Vec<String>,
}

/// A piece of a case.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct LineTold {
    /// Its label.
    pub label: String,
    /// What it is; frozen records of an earlier version do not say.
    #[serde(default)]
    pub is: String,
    /// How it was settled.
    pub outcome: Option<String>,
    /// By which entry.
    pub settled_by: Option<i64>,
    /// On which day; frozen records of an earlier version do not say.
    #[serde(default)]
    pub settled_on: Option<Date>,
    /// The code of its standing.
    pub standing: String,
    /// Who had it, and since when.
    pub held: String,
    /// How it meets a recall.
    pub meets: String,
}

/// What a case's sheet says beside the case itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told<'t> {
    /// Who was there, by name.
    pub people: &'t [String],
    /// The day it was closed and frozen; `None` while it is open.
    pub frozen_on: Option<Date>,
    /// Today.
    pub on: Date,
    /// Where the log stood: at its closing, or now.
    pub proof: &'t Proof,
}

/// The sheet of a case.
#[must_use]
pub fn case_record(case: &CaseTold, told: &Told<'_>) -> Sheet {
    let (title, columns) =
        if case.is_recall { ("recall-list", "recall-columns") } else { ("incident-record", "incident-columns") };
    let (subtitle, day) = match told.frozen_on {
        Some(day) => ("case-frozen", day),
        None => ("case-open", told.on),
    };
    let data = json!({
        "title": texts::fill(&word(title), &[("case", case.case.to_string())]),
        "subtitle": texts::fill(&word(subtitle), &[("day", day.to_string()), ("opened", case.opened.to_string())]),
        "what": case.what,
        "facts": facts(case, told.people),
        "is_recall": case.is_recall,
        "lines": case.lines.iter().map(line).collect::<Vec<_>>(),
        "proof": told.proof.on_sheet(),
        "words": {
            "pieces": texts::fill(&word("case-pieces"), &[("count", case.lines.len().to_string())]),
            "columns": heads(columns), "signatures": heads("case-signatures"),
        },
    });
    Sheet { template: "case-record.typ", data, drawings: BTreeMap::new() }
}

fn facts(case: &CaseTold, people: &[String]) -> Vec<[String; 2]> {
    if case.is_recall {
        return Vec::new();
    }
    let list = |list: &[String]| if list.is_empty() { word("not-told") } else { list.join(", ") };
    vec![[word("fact-people"), list(people)], [word("fact-used-with"), list(&case.used_with)]]
}

fn line(line: &LineTold) -> Value {
    let by = |entry: i64| {
        let day = line.settled_on.map(|day| day.to_string()).unwrap_or_default();
        texts::fill(&word("settled-by"), &[("entry", entry.to_string()), ("day", day)])
    };
    let standing = register::standing::State::from_code(&line.standing).map(texts::state);
    json!({
        "label": line.label,
        "is": line.is,
        "meets": line.meets,
        "held": line.held,
        "standing": standing.unwrap_or_else(|| line.standing.clone()),
        "outcome": line.outcome.clone().unwrap_or_else(|| word("case-line-open")),
        "by": line.settled_by.map(by),
        "is_open": line.outcome.is_none(),
    })
}
