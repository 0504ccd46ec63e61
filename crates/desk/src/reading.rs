//! A marking read: the plate drawn back, and what is to be said of it.

use crate::texts;
use draw::plate::{PlateLine, PlateMark};
use serde::Serialize;
use trade::marking::{Mark, NoteKind, PlateSymbol, RatedPosition, Reading, read};

/// What is said, in the order of what matters.
const KINDS: [(NoteKind, &str); 5] = [
    (NoteKind::MissingMatters, "Missing, and it matters"),
    (NoteKind::Unread, "Not read"),
    (NoteKind::DoesNotAddUp, "Does not add up"),
    (NoteKind::Meaning, "What the marks mean"),
    (NoteKind::MissingNoDefect, "Missing, and no defect"),
];

/// The first so many of these say what is wrong with a marking.
const MATTER: usize = 3;

/// The reading as text for people.
#[must_use]
pub fn text(marking: &str) -> String {
    let reading = read(marking);
    let mut sections = vec![reading.plate().to_text()];
    for (kind, title) in KINDS {
        let notes = reading.notes.iter().filter(|note| note.kind() == kind);
        let lines: String = notes.map(|note| format!("  {}\n", texts::note(note).0)).collect();
        if !lines.is_empty() {
            sections.push(format!("{title}\n{lines}"));
        }
    }
    let cautions: String = texts::cautions().iter().map(|caution| format!("  {caution}\n")).collect();
    sections.push(format!("Cautions\n{cautions}"));
    sections.join("\n")
}

/// What is said of a marking, and why that matters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// The line.
    pub text: String,
    /// The paragraph of the handbook.
    pub why: String,
    /// Whether something is missing, not read, or does not add up; and not only what a mark means.
    pub matters: bool,
}

/// What is to be said of a marking, what matters first.
#[must_use]
pub fn notes(marking: &str) -> Vec<Said> {
    let reading = read(marking);
    let of_kind = |(place, (kind, _)): (usize, &(NoteKind, &str))| {
        let said = |note| {
            let (text, why) = texts::note(note);
            Said { text, why, matters: place < MATTER }
        };
        reading.notes.iter().filter(|note| note.kind() == *kind).map(said).collect::<Vec<_>>()
    };
    KINDS.iter().enumerate().flat_map(of_kind).collect()
}

/// The plate as an SVG document.
#[must_use]
pub fn svg(marking: &str) -> String {
    let lines: Vec<_> = read(marking).plate().lines.into_iter().map(drawn).collect();
    draw::plate::plate(&lines)
}

fn drawn(line: trade::marking::PlateLine) -> PlateLine {
    let mark = match line.symbol {
        PlateSymbol::Closed => PlateMark::Closed,
        PlateSymbol::Open => PlateMark::Open,
        PlateSymbol::Minor => PlateMark::Minor,
        PlateSymbol::Class => PlateMark::Letter,
        PlateSymbol::Instructions => PlateMark::Book,
        word => PlateMark::Word(word.code().to_owned()),
    };
    PlateLine { mark, value: line.value, meaning: line.meaning, legible: line.legible }
}

#[derive(Debug, Serialize)]
struct Answer {
    as_typed: String,
    has_legible_strength: bool,
    sets: Vec<Set>,
    year: Option<u16>,
    batch: Option<String>,
    notes: Vec<Note>,
    cautions: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Set {
    standard: Option<&'static str>,
    class: Option<&'static str>,
    closed_kn: Option<f64>,
    open_kn: Option<f64>,
    minor_kn: Option<f64>,
}

#[derive(Debug, Serialize)]
struct Note {
    code: &'static str,
    text: String,
    why: String,
    source: String,
}

/// The reading as one JSON object. What was not read is null.
///
/// # Panics
/// Never: every part of it can be written as JSON.
#[must_use]
pub fn json(marking: &str) -> String {
    crate::json::written(&answer(&read(marking)))
}

fn answer(reading: &Reading) -> Answer {
    let note = |note| {
        let (text, why) = texts::note(note);
        Note { code: note.code(), text, why, source: texts::note_source(note) }
    };
    Answer {
        as_typed: reading.as_typed.clone(),
        has_legible_strength: reading.has_legible_strength(),
        sets: reading.sets.iter().map(set).collect(),
        year: reading.year.value().copied(),
        batch: reading.batch.value().cloned(),
        notes: reading.notes.iter().map(note).collect(),
        cautions: texts::cautions(),
    }
}

fn set(set: &trade::marking::RatingSet) -> Set {
    let kn = |position| Mark::value(set.rating(position)).map(|force| force.kn());
    Set {
        standard: set.standard.map(|standard| standard.code()),
        class: set.class.value().map(|letter| letter.code()),
        closed_kn: kn(RatedPosition::Closed),
        open_kn: kn(RatedPosition::Open),
        minor_kn: kn(RatedPosition::Minor),
    }
}
