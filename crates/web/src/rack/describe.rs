//! What is known of a piece, corrected: shown before and after, and then an entry of its own.

use super::add::{kind, value};
use super::piece_path;
use crate::form::{Field as Typing, Form, Kind, against};
use crate::layout::{Room, page};
use crate::problem::{Problem, Wrong};
use crate::typed::Typed;
use crate::units::{UNITS, Units};
use crate::{Shared, Site, line, word};
use axum::extract::Path;
use axum::response::{IntoResponse, Redirect, Response};
use desk::rack::Fault;
use desk::rack::describe::Change;
use desk::rack::fields::{Field, Told};
use desk::texts;
use maud::{Markup, html};

/// What a piece is told by at first, and what is corrected most.
const FIRST: [Field; 7] =
    [Field::Marking, Field::Maker, Field::Model, Field::Made, Field::Serial, Field::Site, Field::Gear];

/// Every field that is told anew here; label and first use stand in entries of their own.
fn fields() -> impl Iterator<Item = Field> {
    let rest = Field::ALL.iter().copied().filter(|field| !FIRST.contains(field));
    FIRST.into_iter().chain(rest.filter(|field| !matches!(field, Field::Label | Field::FirstUse)))
}

pub async fn blank(Shared(site): Shared, Path(label): Path<String>) -> Result<Markup, Problem> {
    let told = site.rack.told(&label).await?;
    let known = fields().map(|field| (field.code().to_owned(), field.get(&told))).collect();
    Ok(draw(&site, &label, &Typed::asked(known), &[]))
}

fn draw(site: &Site, label: &str, typed: &Typed, wrong: &[Wrong]) -> Markup {
    let typing = |field: Field| Typing::new(field.code(), texts::field(field).to_owned(), kind(field));
    let since = Typing::new("on", word("since"), Kind::Day).hint(word("since-hint"));
    let form = Form::new(path(label), word("describe-look"), fields().map(typing).chain([since]).collect());
    page(
        Room::Rack,
        &line("describe-of", label),
        html! {
            p { (word("describe-lead")) }
            (form.draw(site, typed, wrong))
        },
    )
}

fn path(label: &str) -> String {
    format!("{}/correct", piece_path(label))
}

pub async fn correct(Shared(site): Shared, Path(label): Path<String>, typed: Typed) -> Result<Response, Problem> {
    match corrected(&site, &label, &typed).await {
        Ok(done) => Ok(done),
        Err(problem) => Ok(draw(&site, &label, &typed, &against(problem)?).into_response()),
    }
}

async fn corrected(site: &Site, label: &str, typed: &Typed) -> Result<Response, Problem> {
    let told = anew(&site.rack.told(label).await?, typed)?;
    if typed.some("sure").is_some() {
        let answer = typed.rack(site).describe(label, &told, typed.some("on")).await?;
        return Ok(super::to_entry(label, &answer).into_response());
    }
    let changes = site.rack.changes(label, &told).await?;
    if changes.is_empty() {
        return Ok(Redirect::to(&piece_path(label)).into_response());
    }
    Ok(before_and_after(site, label, typed, &changes).into_response())
}

/// What was typed otherwise than it is known.
fn anew(known: &Told, typed: &Typed) -> Result<Told, Problem> {
    let mut told = Told::default();
    for field in fields() {
        let was = field.get(known);
        let is_as_shown = match kind(field) {
            Kind::Value(unit, _) => typed.get(field.code()) == Units::told(typed.get(UNITS)).in_field(&was, unit),
            _ => typed.get(field.code()) == was,
        };
        if is_as_shown {
            continue;
        }
        if typed.some(field.code()).is_none() {
            return Err(Fault::new("not-untold", &[("field", texts::field(field).to_owned())]).into());
        }
        field.put(&mut told, &value(field, typed))?;
    }
    Ok(told)
}

/// What would be written, and the form that writes it: it holds all that was typed.
fn before_and_after(site: &Site, label: &str, typed: &Typed, changes: &[Change]) -> Markup {
    let names = fields().map(Field::code).chain(["on", UNITS]);
    let given = names.filter_map(|name| Some(Typing::given(name, typed.some(name)?)));
    let form = Form::new(path(label), word("describe-write"), given.chain([Typing::given("sure", "yes")]).collect());
    page(
        Room::Rack,
        &line("describe-of", label),
        html! {
            p { (word("describe-sure")) }
            (table(changes.iter().map(|change| (change.field, change.before.as_str(), change.after.as_str()))))
            (form.empty(site))
            p { a href=(path(label)) { (word("describe-back")) } }
        },
    )
}

/// Fields as they stood before and stand since.
fn table<'c>(changes: impl Iterator<Item = (Field, &'c str, &'c str)>) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label=(word("before-and-after")) {
            table {
                thead { tr { th scope="col" { (word("what")) } th scope="col" { (word("before")) } th scope="col" { (word("after")) } } }
                tbody {
                    @for (field, before, after) in changes {
                        tr { th scope="row" { (texts::field(field)) } td data-as-written { (or_not_told(before)) } td data-as-written { strong { (or_not_told(after)) } } }
                    }
                }
            }
        }
    }
}

fn or_not_told(text: &str) -> String {
    if text.is_empty() { word("not-told") } else { text.to_owned() }
}
