//! Pieces onto the rack, one or many alike; the marking is read as one types.

use super::{kinds, to_entry};
use crate::form::{Field as Typing, Form, Kind, against, choices};
use crate::layout::{Room, page, stamped};
use crate::problem::{Problem, Wrong};
use crate::typed::Typed;
use crate::units::Unit;
use crate::{Shared, Site, word};
use axum::response::{IntoResponse, Response};
use desk::rack::fields::{Field, Told};
use desk::texts;
use maud::{Markup, html};
use trade::connector::{Gate, Lock, Nose, Shape};

/// The fields that most pieces need; the others stand below a fold.
const FIRST: [Field; 4] = [Field::Gear, Field::Made, Field::Model, Field::Site];

pub async fn blank(Shared(site): Shared) -> Markup {
    draw(&site, &Typed::default(), &[])
}

fn draw(site: &Site, typed: &Typed, wrong: &[Wrong]) -> Markup {
    let marking = typed.get("marking");
    page(
        Room::Rack,
        &word("begin-piece-do"),
        html! {
            p { (word("add-lead")) }
            div.beside.reading data-reads="marking" {
                (form().draw(site, typed, wrong))
                section aria-live="polite" {
                    h2 { (word("plate")) }
                    div data-plate { @if !marking.is_empty() { (stamped(&desk::reading::svg(marking))) } }
                    ul data-notes {}
                }
            }
            script type="module" src="/assets/marking.js" {}
        },
    )
}

fn form() -> Form {
    let line = |field: Field| Typing::new(field.code(), texts::field(field).to_owned(), kind(field));
    let labels = Typing::new("labels", word("labels"), Kind::Line).required().hint(word("labels-hint"));
    let marking = line(Field::Marking).hint(word("marking-hint"));
    let rest = Field::ALL.iter().filter(|field| !FIRST.contains(field));
    let rest = rest.filter(|field| !matches!(field, Field::Label | Field::Marking));
    let mut fields = vec![marking, labels];
    fields.extend(FIRST.into_iter().map(line));
    fields.extend(rest.copied().map(line));
    Form::new("/rack/new", word("enter"), fields)
}

/// How a field is typed.
pub fn kind(field: Field) -> Kind {
    let words = |codes: Vec<&'static str>| {
        choices(word("not-told"), codes.into_iter().map(|code| (code.to_owned(), code.to_owned())))
    };
    match field {
        Field::Gear => choices(word("not-told"), kinds()),
        Field::Shape => words(Shape::ALL.iter().map(|is| is.code()).collect()),
        Field::Gate => words(Gate::ALL.iter().map(|is| is.code()).collect()),
        Field::Lock => words(Lock::ALL.iter().map(|is| is.code()).collect()),
        Field::Nose => words(Nose::ALL.iter().map(|is| is.code()).collect()),
        Field::FirstUse => Kind::Day,
        Field::Count => Kind::Count,
        Field::Mass => Kind::Value(Unit::G, 0),
        Field::Length => Kind::Value(Unit::M, 3),
        Field::Diameter => Kind::Value(Unit::Mm, 3),
        _ => Kind::Line,
    }
}

pub async fn enter(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    match told(&site, &typed).await {
        Ok(done) => Ok(done),
        Err(problem) => Ok(draw(&site, &typed, &against(problem)?).into_response()),
    }
}

async fn told(site: &Site, typed: &Typed) -> Result<Response, Problem> {
    let mut told = Told::default();
    for field in Field::ALL.iter().filter(|field| **field != Field::Label) {
        field.put(&mut told, &value(*field, typed))?;
    }
    let labels = typed.get("labels");
    let answer = typed.rack(site).add(labels, &told, None).await?;
    Ok(to_entry(labels, &answer).into_response())
}

/// What was typed into a field, as the rack keeps it.
pub fn value(field: Field, typed: &Typed) -> String {
    match kind(field) {
        Kind::Value(unit, places) => typed.value(field.code(), unit, places),
        _ => typed.get(field.code()).to_owned(),
    }
}
