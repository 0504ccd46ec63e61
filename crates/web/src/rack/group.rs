//! The group: its people, and what each may sign until when.

use super::seen;
use crate::form::{Field, Form, Kind, against, choices};
use crate::layout::{Room, page};
use crate::problem::{Problem, Wrong};
use crate::typed::Typed;
use crate::{Shared, Site, line, word};
use axum::response::{IntoResponse, Redirect, Response};
use desk::rack::Answer;
use desk::texts;
use maud::{Markup, html};
use register::group::{KEEP, RIGHTS};
use serde::Deserialize;

#[derive(Deserialize)]
struct People {
    people: Vec<Person>,
    /// The rights that nobody was ever given, and everybody has.
    free: Vec<String>,
}

#[derive(Deserialize)]
struct Person {
    name: String,
    rights: Vec<Right>,
}

#[derive(Deserialize)]
struct Right {
    right: String,
    until: String,
    holds: bool,
}

impl Right {
    /// In words, with the kind of gear that it is for where it is for one.
    fn words(&self) -> String {
        match self.right.split_once(':') {
            None => name(&self.right),
            Some((right, kind)) => format!("{}, {}", name(right), line("right-only", kind)),
        }
    }
}

/// What a right lets somebody do.
fn name(right: &str) -> String {
    word(&format!("right-name-{right}"))
}

/// The forms of this page, by the part of it that they stand in.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Add,
    Allow,
    Erase,
}

impl Part {
    const ALL: [Self; 3] = [Self::Add, Self::Allow, Self::Erase];

    fn form(self, people: &[Person]) -> Form {
        let known = || {
            let names = people.iter().map(|person| (person.name.clone(), person.name.clone()));
            Field::new("name", word("person-name"), choices(word("choose"), names)).required()
        };
        match self {
            Self::Add => {
                let name = Field::new("name", word("person-name"), Kind::Line).required();
                Form::new("/people", word("person-add"), vec![name])
            }
            Self::Allow => {
                let rights = RIGHTS.map(|right| (right.to_owned(), name(right))).to_vec();
                let right = Field::new("right", word("right"), Kind::Choice(rights));
                let gear = Field::new("gear", word("right-gear"), choices(word("right-any-gear"), super::kinds()));
                let until =
                    Field::new("until", word("right-until"), Kind::Day).required().hint(word("right-until-hint"));
                Form::new(
                    "/people/allow",
                    word("person-allow"),
                    vec![known(), right, gear.hint(word("right-hint")), until],
                )
            }
            Self::Erase => {
                let also = Field::new("also", word("erase-also"), Kind::Line).hint(word("people-hint"));
                Form::new("/people/erase", word("person-erase"), vec![known().hint(word("erase-hint")), also])
            }
        }
    }
}

pub async fn group(Shared(site): Shared) -> Result<Markup, Problem> {
    draw(&site, &Typed::default(), None).await
}

async fn draw(site: &Site, typed: &Typed, wrong: Option<(Part, Vec<Wrong>)>) -> Result<Markup, Problem> {
    let People { people, free } = seen(site.rack.people().await?)?;
    let form = |part: Part| match &wrong {
        Some((at, wrong)) if *at == part => part.form(&people).draw(site, typed, wrong),
        _ => part.form(&people).empty(site),
    };
    let is_open = |part: Part| wrong.as_ref().is_some_and(|(at, _)| *at == part);
    let is_offered = |part: &&Part| **part == Part::Add || !people.is_empty();
    Ok(page(
        Room::Group,
        &word("nav-group"),
        html! {
            p.doing { a.button href="/policy" { (word("policy-in-force")) } }
            section { h2 { (word("people")) }
                @if people.is_empty() { p { (texts::rack("nobody", &[])) } } @else { (table(&people)) }
                @if !free.is_empty() {
                    p { (word("right-free")) }
                    ul { @for right in &free { li { (name(right)) } } }
                }
                p.hint { (line("right-keep-given", name(KEEP))) }
            }
            @for part in Part::ALL.iter().filter(is_offered) {
                details open[is_open(*part)] { summary { (part.form(&people).submit) } (form(*part)) }
            }
            @if site.guest.as_ref().is_some_and(|guest| guest.keeps) { p { a href="/accounts" { (word("accounts")) } } }
            p.hint { (line("writes-as", &site.writer)) }
        },
    ))
}

/// The names of everybody who is known: what a form offers.
pub async fn names(site: &Site) -> Result<Vec<String>, Problem> {
    let People { people, .. } = seen(site.rack.people().await?)?;
    Ok(people.into_iter().map(|person| person.name).collect())
}

/// Who may sign what, and until when.
fn table(people: &[Person]) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label=(word("people")) {
            table.stacks {
                thead { tr { th scope="col" { (word("person-name")) } th scope="col" { (word("right-given")) } } }
                tbody {
                    @for person in people {
                        tr {
                            th scope="row" { (person.name) }
                            td data-head=(word("right-given")) {
                                @if person.rights.is_empty() { (texts::rack("no-rights", &[])) }
                                @for right in &person.rights {
                                    div { (right.words()) ", " (word("right-up-to")) " " time { (right.until) } @if !right.holds { " " strong.late { (word("right-past")) } } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Back to the page, or to the form with what is wrong.
async fn after(site: &Site, typed: &Typed, part: Part, done: Result<Answer, Problem>) -> Result<Response, Problem> {
    match done {
        Ok(_) => Ok(Redirect::to("/group").into_response()),
        Err(problem) => Ok(draw(site, typed, Some((part, against(problem)?))).await?.into_response()),
    }
}

pub async fn add(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    let done = typed.rack(&site).add_person(typed.get("name")).await;
    after(&site, &typed, Part::Add, done.map_err(Problem::from)).await
}

pub async fn allow(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    let right = match typed.some("gear") {
        Some(gear) => format!("{}:{gear}", typed.get("right")),
        None => typed.get("right").to_owned(),
    };
    let done = typed.rack(&site).allow(typed.get("name"), &right, typed.get("until")).await;
    after(&site, &typed, Part::Allow, done.map_err(Problem::from)).await
}

pub async fn erase(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    let also: Vec<String> =
        typed.get("also").split(',').map(str::trim).filter(|name| !name.is_empty()).map(str::to_owned).collect();
    let done = typed.rack(&site).erase(typed.get("name"), &also).await;
    if let Ok(answer) = &done
        && answer.counts
    {
        // The name still stands somewhere: whoever erased it must know where.
        return Ok(page(Room::Group, &word("person-erase"), html! { pre { (answer.text) } }).into_response());
    }
    after(&site, &typed, Part::Erase, done.map_err(Problem::from)).await
}
