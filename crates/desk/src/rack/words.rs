//! What happened, in words.

use super::View;
use super::fields::{Field, Told, decimal_text};
use crate::texts;
use register::event::{Description, Event, Inspection, Model, Reading, Recall, Remark, Use};
use register::history::Past;
use trade::checklist;

/// What happened, in one line: what kind of thing, and its values.
pub(super) fn event(event: &Event, view: &View) -> String {
    let details: Vec<String> = details(event, view).into_iter().filter(|detail| !detail.is_empty()).collect();
    let name = texts::event(event.kind());
    if details.is_empty() { name } else { format!("{name}: {}", details.join(", ")) }
}

/// A line of a history: day, number, what happened, who wrote it.
pub(super) fn line(past: &Past, view: &View) -> String {
    format!("{}  {:>5}  {}  ({})", past.happened, past.seq, event(&past.record.event, view), view.name(&past.writer))
}

fn details(event: &Event, view: &View) -> Vec<String> {
    let one = |text: &Option<String>| vec![text.clone().unwrap_or_default()];
    match event {
        Event::Entered(entered) => described(&entered.is),
        Event::Described(is) => {
            let model = is.model.and_then(|model| view.group.model(model)).map(model_name);
            model.into_iter().chain(described(is)).collect()
        }
        Event::ModelEntered(model) | Event::ModelDescribed { is: model, .. } => {
            vec![model.name.clone(), model.maker.clone().unwrap_or_default()]
        }
        Event::Bought { supplier } => one(supplier),
        Event::Used(work) => used(work),
        Event::Dropped { height_mm, onto } => vec![
            height_mm.map(|mm| said("metres", length(mm))).unwrap_or_default(),
            onto.clone().map(|onto| said("onto", onto)).unwrap_or_default(),
        ],
        Event::Exposed { to } => vec![to.clone()],
        Event::Measured(reading) => vec![measured(reading)],
        Event::Inspected(inspection) => inspected(inspection),
        Event::Repaired { part } => vec![point(part)],
        Event::Restricted { to } => to.clone(),
        Event::Quarantined { why, .. } | Event::Withdrawn { why } => vec![why.clone()],
        Event::HandedTo { person, site } => {
            vec![person.as_ref().map(|person| view.name(person)).unwrap_or_default(), site.clone().unwrap_or_default()]
        }
        event => about_others(event, view),
    }
}

fn about_others(event: &Event, view: &View) -> Vec<String> {
    let entry = |number: &i64| vec![said("entry", number.to_string())];
    match event {
        Event::Corrected { entry, with } => {
            let code = if with.is_some() { "told-anew" } else { "taken-back" };
            vec![said("entry", entry.to_string()), texts::rack(code, &[])]
        }
        Event::Divided { into } => into.iter().map(|share| share.mark.label.clone()).collect(),
        Event::PartReplaced { part: code, .. } => {
            let name = trade::part::parts(None).find(|part| part.code == *code).map(|part| part.name.clone());
            vec![name.unwrap_or_else(|| code.clone())]
        }
        Event::KitSet { label, contents, .. } => {
            vec![label.clone(), texts::rack("kit-of", &[("count", contents.len().to_string())])]
        }
        Event::KitIssued { to, due, .. } => vec![
            to.as_ref().map(|person| view.name(person)).unwrap_or_default(),
            due.map(|day| said("until", day.to_string())).unwrap_or_default(),
        ],
        Event::KitReturned { short, wet, .. } => {
            let count = |code, count: usize| if count == 0 { String::new() } else { said(code, count.to_string()) };
            let short = short.iter().map(|part| part.count as usize).sum();
            vec![count("short", short), count("wet", wet.len())]
        }
        Event::PersonEntered { person, .. } | Event::PersonErased { person, .. } => vec![view.name(person)],
        Event::RightSet { person, right, until } => {
            vec![view.name(person), right.clone(), said("until", until.to_string())]
        }
        Event::Settled { case, outcome } => vec![texts::outcome(outcome), said("entry", case.to_string())],
        Event::CaseClosed { case, .. } => entry(case),
        Event::RecallOpened(recall) => vec![called_back(recall, view)],
        _ => Vec::new(),
    }
}

fn said(code: &str, value: String) -> String {
    texts::rack(code, &[("value", value)])
}

fn length(mm: i64) -> String {
    u32::try_from(mm).map_or_else(|_| mm.to_string(), |mm| decimal_text(mm, 3))
}

/// What is told in a description, each with its name.
fn described(is: &Description) -> Vec<String> {
    told(&Told { is: is.clone(), ..Told::default() })
}

/// What is told of a piece but its label, each with its name.
pub(super) fn told(told: &Told) -> Vec<String> {
    let fields = Field::ALL.iter().filter(|field| **field != Field::Label);
    fields.filter_map(|field| field.in_words(told)).collect()
}

fn used(work: &Use) -> Vec<String> {
    let counted = |code, count: u32| if count == 0 { String::new() } else { said(code, count.to_string()) };
    let falls = u32::try_from(work.falls.len()).unwrap_or(u32::MAX);
    let hardest = work.falls.iter().filter_map(|fall| fall.force_n).max();
    let severe = work.falls.iter().any(|fall| fall.severe);
    vec![
        work.duty.clone().unwrap_or_default(),
        counted("rappels", work.rappels),
        counted("lowers", work.lowers),
        counted("run", work.run_m),
        counted("falls", falls),
        hardest.map(|force| said("force", decimal_text(force, 3))).unwrap_or_default(),
        if severe { texts::rack("severe", &[]) } else { String::new() },
    ]
}

fn measured(reading: &Reading) -> String {
    if reading.is_first_photo() {
        return texts::rack("first-photo", &[]);
    }
    let value = u32::try_from(reading.value).map_or_else(
        |_| reading.value.to_string(),
        |value| match reading.what.as_str() {
            "mass" => format!("{value} g"),
            _ => format!("{} mm", decimal_text(value, 3)),
        },
    );
    format!("{} {value} ({})", reading.what, reading.how)
}

/// What was found at a point.
pub(super) fn remark(remark: &Remark) -> String {
    format!("{}: {}", texts::grade(remark.grade), point(&remark.point))
}

/// The name of a point of the check-lists; what is none stays as it was told.
fn point(code: &str) -> String {
    checklist::point(code).map_or_else(|| code.to_owned(), |point| point.name.clone())
}

fn inspected(inspection: &Inspection) -> Vec<String> {
    let clears = inspection.clears.iter().map(i64::to_string).collect::<Vec<_>>().join(" ");
    let occasion = texts::rule(&inspection.occasion).unwrap_or_else(|| inspection.occasion.clone());
    let head = [occasion, inspection.list.clone()];
    let tail = if clears.is_empty() { String::new() } else { said("clears", clears) };
    head.into_iter().chain(inspection.remarks.iter().map(remark)).chain([tail]).collect()
}

/// What a recall calls back: its notice, and what it tells pieces by.
pub(super) fn called_back(recall: &Recall, view: &View) -> String {
    let span = |(first, last): (String, String)| format!("{first}..{last}");
    let parts = [
        recall.notice.clone(),
        recall.gear.clone().unwrap_or_default(),
        recall.model.and_then(|model| view.group.model(model)).map(model_name).unwrap_or_default(),
        recall.made.map(|(first, last)| said("made", span((first.to_string(), last.to_string())))).unwrap_or_default(),
        if recall.batches.is_empty() { String::new() } else { said("batch", recall.batches.join(" ")) },
        recall.serials.clone().map(|serials| said("serial", span(serials))).unwrap_or_default(),
    ];
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
}

/// A model with its maker, as it is known.
pub(super) fn model_name(model: &Model) -> String {
    let name = [model.maker.as_deref().unwrap_or_default(), &model.name].join(" ");
    name.trim().to_owned()
}
