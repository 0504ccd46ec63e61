//! The first five minutes: three ways to begin an empty rack.

use crate::form::Form;
use crate::layout::{Room, page};
use crate::problem::Problem;
use crate::rack::sheet_form;
use crate::typed::Typed;
use crate::{Shared, Site, word};
use axum::Router;
use axum::response::Redirect;
use axum::routing::{get, post};
use desk::rack::sheet::Columns;
use desk::rack::show::Filter;
use maud::{Markup, html};
use std::sync::Arc;

/// The rack of an invented school.
const EXAMPLE: (&str, &str) = ("rack.csv", include_str!("../../../examples/rack.csv"));

pub fn routes() -> Router<Arc<Site>> {
    Router::new().route("/begin", get(greeting)).route("/begin/example", post(example))
}

/// The rack, or the greeting where there is nothing on it.
pub async fn home(Shared(site): Shared) -> Result<Redirect, Problem> {
    Ok(Redirect::to(if is_empty(&site).await? { "/begin" } else { "/rack" }))
}

async fn is_empty(site: &Site) -> Result<bool, Problem> {
    let first = site.rack.list(&Filter { limit: 1, ..Filter::default() }).await?;
    Ok(first.json["pieces"].as_array().is_none_or(Vec::is_empty))
}

/// Of a rack that is kept already, the ways to more pieces; the example is for an empty one.
async fn greeting(Shared(site): Shared) -> Result<Markup, Problem> {
    let is_empty = is_empty(&site).await?;
    let example = Form::new("/begin/example", word("begin-example-do"), Vec::new());
    Ok(page(
        Room::Rack,
        &word(if is_empty { "begin" } else { "begin-more" }),
        html! {
            p.lead { (word(if is_empty { "begin-lead" } else { "begin-more-lead" })) }
            div.ways {
                section { h2 { (word("begin-piece")) } p { (word("begin-piece-text")) }
                    p { a.button href="/rack/new" { (word("begin-piece-do")) } } }
                section { h2 { (word("begin-sheet")) } p { (word("begin-sheet-text")) }
                    (sheet_form().draw(&site, &Typed::default(), &[])) }
                @if is_empty {
                    section { h2 { (word("begin-example")) } p { (word("begin-example-text")) } (example.empty(&site)) }
                }
            }
            p { (word("begin-rigs")) " " a href="/rigs" { (word("nav-rigs")) } }
        },
    ))
}

async fn example(Shared(site): Shared, typed: Typed) -> Result<Redirect, Problem> {
    let (name, text) = EXAMPLE;
    typed.rack(&site).import_text(name, text, &Columns::default(), None, false).await?;
    Ok(Redirect::to("/rack"))
}
