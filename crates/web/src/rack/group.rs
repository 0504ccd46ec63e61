//! The group: its people, what they may sign, and its policy.

use super::seen;
use crate::form::{Field, Form, Kind, against};
use crate::layout::{Room, page};
use crate::problem::{Problem, Wrong};
use crate::typed::Typed;
use crate::{Shared, Site, line, word};
use axum::response::{IntoResponse, Redirect, Response};
use desk::rack::Answer;
use desk::texts;
use maud::{Markup, html};
use serde::Deserialize;

#[derive(Deserialize)]
struct People {
    people: Vec<Person>,
}

#[derive(Deserialize)]
struct Person {
    name: String,
}

/// The forms of this page, by the part of it that they stand in.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Add,
    Allow,
    Erase,
    Policy,
}

impl Part {
    const ALL: [Self; 4] = [Self::Add, Self::Allow, Self::Erase, Self::Policy];

    fn form(self) -> Form {
        let name = || Field::new("name", word("person-name"), Kind::Line).required();
        match self {
            Self::Add => Form::new("/people", word("person-add"), vec![name()]),
            Self::Allow => {
                let right = Field::new("right", word("right"), Kind::Line).required().hint(word("right-hint"));
                let until = Field::new("until", word("right-until"), Kind::Day).required();
                Form::new("/people/allow", word("person-allow"), vec![name(), right, until])
            }
            Self::Erase => Form::new("/people/erase", word("person-erase"), {
                let also = Field::new("also", word("erase-also"), Kind::Line).hint(word("people-hint"));
                vec![name().hint(word("erase-hint")), also]
            }),
            Self::Policy => {
                let text = Field::new("policy", word("policy-text"), Kind::Lines).required().hint(word("policy-hint"));
                let on = Field::new("on", word("policy-from"), Kind::Day);
                Form::new("/policy", word("policy-set"), vec![text, on])
            }
        }
    }
}

pub async fn group(Shared(site): Shared) -> Result<Markup, Problem> {
    draw(&site, &Typed::default(), None).await
}

async fn draw(site: &Site, typed: &Typed, wrong: Option<(Part, Vec<Wrong>)>) -> Result<Markup, Problem> {
    let People { people } = seen(site.rack.people().await?)?;
    let form = |part: Part| match &wrong {
        Some((at, wrong)) if *at == part => part.form().draw(site, typed, wrong),
        _ => part.form().empty(site),
    };
    let is_open = |part: Part| wrong.as_ref().is_some_and(|(at, _)| *at == part);
    Ok(page(
        Room::Group,
        &word("nav-group"),
        html! {
            h2 { (word("people")) }
            @if people.is_empty() { p { (texts::rack("nobody", &[])) } }
            ul.rows { @for person in &people { li { (person.name) } } }
            @for part in Part::ALL { details open[is_open(part)] { summary { (part.form().submit) } (form(part)) } }
            p.hint { (line("writes-as", &site.writer)) }
        },
    ))
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
    let done = typed.rack(&site).allow(typed.get("name"), typed.get("right"), typed.get("until")).await;
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

pub async fn policy(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    let done =
        typed.rack(&site).set_policy_text(&word("policy-text"), typed.get("policy").to_owned(), typed.some("on")).await;
    after(&site, &typed, Part::Policy, done.map_err(Problem::from)).await
}
