//! The page of one piece: its plate, its standing and why, what is known of it, its history on a line.

use super::{parts, seen, standing};
use crate::layout::{Room, address, drawing, page, part, stamped};
use crate::problem::Problem;
use crate::units::{Chosen, Unit, instant};
use crate::{Shared, line, sheets, word};
use axum::extract::Path;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use desk::rack::fields::{Field, Told};
use desk::reading::Said;
use desk::{forecasting, texts};
use jiff::Timestamp;
use maud::{Markup, html};
use register::event::{Description, Event, Record};
use serde::Deserialize;
use trade::connector::{Connector, Gate, Lock, Nose, Shape};
use trade::gear::Gear;

/// A piece as its page shows it.
#[derive(Deserialize)]
pub struct Piece {
    pub label: String,
    serial: Option<String>,
    pub is: Description,
    maker: Option<String>,
    model: Option<String>,
    first_use: Option<jiff::civil::Date>,
    days: u32,
    rappels: u32,
    lowers: u32,
    falls: u32,
    holder: Option<String>,
    site: Option<String>,
    pub standing: Standing,
    kits: Vec<InKit>,
    history: Vec<Past>,
}

/// A kit that it, or some of a lot, belongs to.
#[derive(Deserialize)]
struct InKit {
    kit: String,
    count: u32,
    out: u32,
    with: Option<String>,
    short: u32,
}

/// Where it stands, and why.
#[derive(Deserialize)]
pub struct Standing {
    pub state: String,
    restricted_to: Vec<String>,
    reasons: Vec<Reason>,
    changes: Option<String>,
    inspect_by: Option<String>,
    lost: bool,
    destroyed: bool,
}

#[derive(Deserialize)]
struct Reason {
    code: String,
    text: String,
    entry: Option<i64>,
    source: Option<String>,
}

/// An entry of the log.
#[derive(Deserialize)]
pub struct Past {
    pub entry: i64,
    pub happened: String,
    pub writer: String,
    written: Timestamp,
    pub text: String,
    #[serde(default)]
    pub notes: Vec<String>,
    /// What it changed of what was known of the piece.
    #[serde(default)]
    changes: Vec<Changed>,
    /// What the entry said that it corrects.
    #[serde(default)]
    was: Option<String>,
    /// The pieces that it is about, where many pieces' entries are told, and how many more there are.
    #[serde(default)]
    labels: Vec<String>,
    #[serde(default)]
    more_pieces: usize,
    record: Record,
}

#[derive(Deserialize)]
struct Changed {
    field: String,
    before: String,
    after: String,
}

/// How many pieces of an entry are named.
const NAMED: usize = 12;

impl Past {
    /// Its text in parts, each with whether it stays as it is written: of what somebody told of a piece only masses and lengths are no words or stamps of theirs.
    fn parts(&self) -> Vec<(&str, bool)> {
        let is = match &self.record.event {
            Event::Entered(entered) => &entered.is,
            Event::Described(is) => is,
            Event::Corrected { .. } => return vec![(&self.text, true)],
            _ => return vec![(&self.text, false)],
        };
        let told = Told { is: is.clone(), ..Told::default() };
        let values = Field::ALL.iter().filter(|field| field.unit().is_some()).filter_map(|field| field.in_words(&told));
        let mut parts = Vec::new();
        let mut rest = self.text.as_str();
        for value in values {
            let Some(start) = rest.find(&value) else { continue };
            parts.extend([(&rest[..start], true), (&rest[start..start + value.len()], false)]);
            rest = &rest[start + value.len()..];
        }
        parts.push((rest, true));
        parts
    }

    /// Whether what stands beside it is an outing that went out by it.
    fn is_outing(&self) -> bool {
        matches!(self.record.event, Event::KitIssued { .. }) && !self.record.photos.is_empty()
    }

    /// How many photos and papers stand beside it.
    fn photos(&self) -> usize {
        if self.is_outing() {
            return 0;
        }
        let remarks = match &self.record.event {
            Event::Inspected(inspection) => inspection.remarks.iter().filter(|remark| remark.photo.is_some()).count(),
            _ => 0,
        };
        self.record.photos.len() + remarks
    }
}

pub async fn piece(Shared(site): Shared, Chosen(units): Chosen, Path(label): Path<String>) -> Result<Markup, Problem> {
    let piece: Piece = seen(site.rack.show(&label).await?)?;
    let forecasted = site.rack.wear(&label).await?;
    // Markings are read as those of connectors: what is stamped on a rope or a harness says other things.
    let is_connector = piece.is.gear.as_deref().is_none_or(|gear| gear == Gear::Connector.code());
    let marking = piece.is.marking.as_deref().filter(|_| is_connector);
    Ok(page(
        Room::Rack,
        &piece.label,
        html! {
            (why(&piece.standing))
            (doing(&piece))
            div.beside {
                section { h2 { (texts::rack("known", &[])) } (known(&piece)) (of_kits(&piece)) }
                @if let Some(marking) = marking {
                    section { h2 { (word("plate")) } (stamped(&desk::reading::svg(marking))) (notes(marking)) }
                }
            }
            @if let Some(forecasted) = &forecasted {
                section { h2 { (word("wear-so-far")) }
                    (drawing(&forecasting::svg(forecasted, units)))
                    details { summary { (word("outings-words")) } pre.told tabindex="0" { (forecasting::text(forecasted)) } }
                    p.hint { (word("wear-so-far-hint")) }
                }
            }
            section { h2 { (texts::rack("history", &[])) } (history(&piece.history)) }
        },
    ))
}

/// The standing and its reasons, each with its entry and its source.
pub fn why(found: &Standing) -> Markup {
    let rack = |code, value: &str| texts::rack(code, &[("value", value.to_owned())]);
    html! {
        section.why {
            p.state { (standing(&found.state)) }
            ul {
                @for reason in &found.reasons {
                    li { a href={ "/handbook#reason-" (reason.code) } { (reason.text) }
                        @if let Some(entry) = reason.entry { " " a href={ "#entry-" (entry) } { (line("entry", entry)) } }
                        @if let Some(source) = &reason.source { " " span.source { (source) } }
                    }
                }
                @if !found.restricted_to.is_empty() { li { (rack("restricted-to", &found.restricted_to.join(", "))) } }
                @if let Some(changes) = &found.changes { li { (changes) } }
                @if let Some(day) = &found.inspect_by { li { (rack("inspect-by", day)) } }
                @if found.lost { li { (texts::rack("is-lost", &[])) } }
                @if found.destroyed { li { (texts::rack("is-destroyed", &[])) } }
            }
        }
    }
}

fn doing(piece: &Piece) -> Markup {
    let label = &piece.label;
    let own = super::piece_path(label);
    let marking = piece.is.marking.as_deref().unwrap_or_default();
    let card = Some(marking).filter(|marking| !marking.is_empty()).and_then(|_| {
        let (is, coded) = (&piece.is, Connector::default());
        let coded = Connector {
            shape: is.shape.as_deref().and_then(Shape::from_code),
            gate: is.gate.as_deref().and_then(Gate::from_code),
            lock: is.lock.as_deref().and_then(Lock::from_code),
            nose: is.nose.as_deref().and_then(Nose::from_code),
            ..coded
        };
        sheets::teaching_address(&coded, marking)
    });
    let log = |what: &str| address("/log/new", &[("what", what), ("labels", label)]);
    html! {
        p.doing {
            a.button href=(address("/inspect", &[("labels", label)])) { (word("inspect")) } " "
            a.button href=(log("used")) { (word("happened")) } " "
            a.button href={ (own) "/wear" } { (word("wear")) } " "
            a.button href={ (own) "/correct" } { (word("describe")) } " "
            @if parts::has_parts(piece) { a href={ (own) "/part" } { (word("part")) } " · " }
            @if parts::is_divisible(piece) { a href={ (own) "/divide" } { (word("divide")) } " · " }
            @for what in ["handed-to", "quarantined", "withdrawn"] { a href=(log(what)) { (texts::event(what)) } " · " }
            a href=(address("/cases", &[("labels", label)])) { (word("incident")) } " · "
            a href=(address("/sheet/inspection-record", &[("labels", label)])) { (word("sheet-record")) } " · "
            a href=(address("/labels", &[("labels", label)])) { (word("sheet-label")) } " · "
            @if let Some(card) = card { a href=(card) { (word("sheet-teaching")) } " · " }
            a href={ "/api/pieces/" (part(label)) } { (word("as-json")) }
        }
    }
}

/// What is to be said of its marking, as where it is read as one types.
fn notes(marking: &str) -> Markup {
    let notes = desk::reading::notes(marking);
    let (matter, other): (Vec<_>, Vec<_>) = notes.iter().partition(|said| said.matters);
    let list = |notes: &[&Said]| html! { ul.notes { @for said in notes { li data-as-written title=(said.why) { (said.text) } } } };
    html! {
        @if !matter.is_empty() { (list(&matter)) }
        @if !other.is_empty() { details { summary { (word("plate-meaning")) } (list(&other)) } }
    }
}

/// The kits that it belongs to, and what is missing of it there.
fn of_kits(piece: &Piece) -> Markup {
    let count = |code: &str, count: u32| texts::rack(code, &[("count", count.to_string())]);
    let whole = piece.is.count.unwrap_or(1);
    html! {
        @if !piece.kits.is_empty() {
            ul.rows {
                @for InKit { kit, count: of, out, with, short } in &piece.kits {
                    li {
                        (word("kit")) " " a href={ "/kits/" (part(kit)) } { (kit) }
                        @if whole > 1 { ": " (of) "/" (whole) }
                        @if *out > 0 { " · " (texts::rack("in-kit-out", &[("count", out.to_string()), ("who", with.clone().unwrap_or_else(|| texts::rack("somebody", &[])))])) }
                        @if *short > 0 { " · " strong.late { (count("in-kit-short", *short)) } }
                    }
                }
            }
        }
    }
}

fn known(piece: &Piece) -> Markup {
    let (maker, model, serial) = (piece.maker.clone(), piece.model.clone(), piece.serial.clone());
    let told = Told { label: String::new(), maker, model, serial, first_use: piece.first_use, is: piece.is.clone() };
    let facts = Field::ALL.iter().map(|field| (texts::field(*field), field.get(&told)));
    let facts = facts.filter(|(_, text)| !text.is_empty());
    // A number stands before its unit, and what is told in words stays as it is.
    let facts = facts.map(|(name, text)| match Unit::at_end(name) {
        Some((name, unit)) => (name, format!("{text} {}", unit.code()), false),
        None => (name, text, true),
    });
    let work = [
        ("days", piece.days.to_string()),
        ("rappels", piece.rappels.to_string()),
        ("lowers", piece.lowers.to_string()),
        ("falls", piece.falls.to_string()),
    ];
    html! {
        dl {
            @for (name, text, as_written) in facts { div { dt { (name) } dd data-as-written[as_written] { (text) } } }
            @if let Some(holder) = &piece.holder { div { dt { (texts::rack("column-who", &[])) } dd { (holder) } } }
            @if let Some(site) = piece.site.as_ref().filter(|site| piece.is.site.as_ref() != Some(*site)) { div { dt { (texts::rack("column-where", &[])) } dd { (site) } } }
        }
        @if piece.days > 0 { p { (texts::rack("work", &work)) } }
    }
}

/// Entries on a line, the oldest first.
fn history(entries: &[Past]) -> Markup {
    html! { ol.history { @for past in entries { (entry(past)) } } }
}

/// One entry of the log.
pub fn entry(past: &Past) -> Markup {
    html! {
            li id={ "entry-" (past.entry) } {
    time { (past.happened) } " " span.number { (past.entry) } " " span { @for (text, as_written) in past.parts() { span data-as-written[as_written] { (text) } } } " "
                @for label in past.labels.iter().take(NAMED) { a href={ "/piece/" (part(label)) } { (label) } " " }
                @let more = past.more_pieces + past.labels.len().saturating_sub(NAMED);
                @if more > 0 { "+" (more) " " }
                " " a.slip href={ "/log/" (past.entry) "/correct" } { (word("slip")) } " "
                span.writer { (past.writer) ", " (word("written")) " " (instant(past.written)) }
                @if let Some(was) = &past.was { p.note { (texts::rack("it-said", &[("value", was.clone())])) } }
                @for change in &past.changes { p.note { (changed(change)) } }
                @for note in &past.notes { p.note { (note) } }
                @if past.is_outing() { a href=(address("/outings", &[("entry", &past.entry.to_string())])) { (word("the-outing")) } }
                @for place in 0..past.photos() {
                    a href={ "/photo/" (past.entry) "/" (place) } {
                        img.photo src={ "/photo/" (past.entry) "/" (place) } alt=(line("photo-of-entry", past.entry)) loading="lazy";
                    }
                }
            }
        }
}

fn changed(Changed { field, before, after }: &Changed) -> String {
    let or_nothing = |text: &str| if text.is_empty() { texts::rack("not-known", &[]) } else { text.to_owned() };
    let name = Field::from_code(field).map_or_else(|| field.clone(), |field| texts::field(field).to_owned());
    texts::rack("changed", &[("field", name), ("before", or_nothing(before)), ("after", or_nothing(after))])
}

/// A photo that stands beside an entry.
pub async fn photo(Shared(site): Shared, Path((entry, place)): Path<(i64, usize)>) -> Result<Response, Problem> {
    let (media, bytes) = site.rack.photo_beside(entry, place).await?;
    Ok(([(CONTENT_TYPE, media)], bytes).into_response())
}
