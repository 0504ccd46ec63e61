//! Who has an account: for those who keep the rack.

use crate::form::{Field, Form, Kind, against};
use crate::layout::{Room, page};
use crate::problem::{Problem, Wrong};
use crate::typed::Typed;
use crate::{Shared, Site, word};
use axum::Router;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use desk::rack::Answer;
use maud::{Markup, html};
use std::sync::Arc;

pub fn routes() -> Router<Arc<Site>> {
    Router::new()
        .route("/accounts", get(list).post(add))
        .route("/accounts/password", post(reset))
        .route("/accounts/end", post(end))
        .route("/accounts/remove", post(remove))
}

/// The forms of this page.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Add,
    Password,
    End,
    Remove,
}

impl Part {
    const ALL: [Self; 4] = [Self::Add, Self::Password, Self::End, Self::Remove];

    fn form(self) -> Form {
        let name = Field::new("name", word("person-name"), Kind::Line).required();
        let password = || {
            let field = Field::new("password", word("password"), Kind::Secret("new-password"));
            field.required().hint(word("password-given-hint"))
        };
        match self {
            Self::Add => {
                let name = name.hint(word("account-add-hint"));
                Form::new("/accounts", word("account-add"), vec![name, password()])
            }
            Self::Password => Form::new("/accounts/password", word("account-password"), vec![name, password()]),
            Self::End => Form::new("/accounts/end", word("account-end"), vec![name]),
            Self::Remove => Form::new("/accounts/remove", word("account-remove"), vec![name]),
        }
    }
}

async fn list(Shared(site): Shared) -> Result<Markup, Problem> {
    draw(&site, &Typed::default(), None).await
}

async fn draw(site: &Site, typed: &Typed, wrong: Option<(Part, Vec<Wrong>)>) -> Result<Markup, Problem> {
    let accounts = site.rack.accounts().await?.text;
    let form = |part: Part| match &wrong {
        Some((at, wrong)) if *at == part => part.form().draw(site, typed, wrong),
        _ => part.form().empty(site),
    };
    let is_open = |part: Part| wrong.as_ref().is_some_and(|(at, _)| *at == part);
    Ok(page(
        Room::Group,
        &word("accounts"),
        html! {
            pre tabindex="0" role="region" aria-label=(word("accounts")) { (accounts) }
            @for part in Part::ALL { details open[is_open(part)] { summary { (part.form().submit) } (form(part)) } }
            p.hint { (word("accounts-hint")) }
        },
    ))
}

/// Back to the list, or to the form with what is wrong.
async fn after(site: &Site, typed: &Typed, part: Part, done: desk::rack::Result<Answer>) -> Result<Response, Problem> {
    match done {
        Ok(_) => Ok(Redirect::to("/accounts").into_response()),
        Err(refused) => Ok(draw(site, typed, Some((part, against(Problem::Refused(refused))?))).await?.into_response()),
    }
}

async fn add(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    let done = site.rack.add_account(typed.get("name"), typed.secret("password")).await;
    after(&site, &typed, Part::Add, done).await
}

async fn reset(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    let done = site.rack.reset_password(typed.get("name"), typed.secret("password")).await;
    after(&site, &typed, Part::Password, done).await
}

async fn end(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    after(&site, &typed, Part::End, site.rack.end_sign_ins(typed.get("name")).await).await
}

async fn remove(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    after(&site, &typed, Part::Remove, site.rack.remove_account(typed.get("name")).await).await
}
