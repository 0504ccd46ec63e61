//! The first five minutes: three ways to begin an empty rack.

use crate::form::{Field, Form, Kind, against};
use crate::layout::{Room, page};
use crate::problem::{Problem, Wrong};
use crate::typed::Typed;
use crate::{Shared, Site, word};
use axum::Router;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use desk::rack::sheet::Columns;
use desk::rack::show::Filter;
use maud::{Markup, html};
use std::sync::Arc;

/// The rack of an invented school.
const EXAMPLE: (&str, &str) = ("rack.csv", include_str!("../../../examples/rack.csv"));

pub fn routes() -> Router<Arc<Site>> {
    Router::new()
        .route("/begin", get(greeting))
        .route("/begin/example", post(example))
        .route("/begin/sheet", post(sheet))
}

/// The rack, or the greeting where there is nothing on it.
pub async fn home(Shared(site): Shared) -> Result<Redirect, Problem> {
    let first = site.rack.list(&Filter { limit: 1, ..Filter::default() }).await?;
    let is_empty = first.json["pieces"].as_array().is_none_or(Vec::is_empty);
    Ok(Redirect::to(if is_empty { "/begin" } else { "/rack" }))
}

async fn greeting(Shared(site): Shared) -> Markup {
    ways(&site, &Typed::default(), &[])
}

fn ways(site: &Site, typed: &Typed, wrong: &[Wrong]) -> Markup {
    let example = Form::new("/begin/example", word("begin-example-do"), Vec::new());
    page(
        Room::Rack,
        &word("begin"),
        html! {
            p.lead { (word("begin-lead")) }
            div.ways {
                section { h2 { (word("begin-piece")) } p { (word("begin-piece-text")) }
                    p { a.button href="/rack/new" { (word("begin-piece-do")) } } }
                section { h2 { (word("begin-sheet")) } p { (word("begin-sheet-text")) }
                    (sheet_form().draw(site, typed, wrong)) }
                section { h2 { (word("begin-example")) } p { (word("begin-example-text")) } (example.empty(site)) }
            }
            p { (word("begin-rigs")) " " a href="/rigs" { (word("nav-rigs")) } }
        },
    )
}

fn sheet_form() -> Form {
    let file = Field::new("sheet", word("sheet-file"), Kind::File(".csv,.json")).required().hint(word("sheet-hint"));
    let columns = Field::new("columns", word("sheet-columns"), Kind::Lines).hint(word("sheet-columns-hint"));
    let dry = Field::new("dry", word("sheet-dry"), Kind::Tick);
    Form::new("/begin/sheet", word("begin-sheet-do"), vec![file, columns, dry])
}

async fn example(Shared(site): Shared, typed: Typed) -> Result<Redirect, Problem> {
    let (name, text) = EXAMPLE;
    typed.rack(&site).import_text(name, text, &Columns::default(), None, false).await?;
    Ok(Redirect::to("/rack"))
}

async fn sheet(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    match import(&site, &typed).await {
        Ok(None) => Ok(Redirect::to("/rack").into_response()),
        Ok(Some(told)) => Ok(page(Room::Rack, &word("sheet-dry"), html! { pre { (told) } }).into_response()),
        Err(problem) => Ok(ways(&site, &typed, &against(problem)?).into_response()),
    }
}

/// Enters a sheet; a dry run gives what it would do.
async fn import(site: &Site, typed: &Typed) -> Result<Option<String>, Problem> {
    let Some(sheet) = typed.upload("sheet") else { return Err(Problem::Unreadable(word("sheet-file"))) };
    let text = std::str::from_utf8(&sheet.bytes).map_err(|why| Problem::Unreadable(why.to_string()))?;
    let mut columns = Columns::default();
    for map in typed.get("columns").lines().filter(|map| !map.trim().is_empty()) {
        let (heading, field) = map.rsplit_once('=').unwrap_or((map, ""));
        columns.add(heading.trim(), field.trim())?;
    }
    let dry = typed.some("dry").is_some();
    let answer = typed.rack(site).import_text(&sheet.name.to_lowercase(), text, &columns, None, dry).await?;
    Ok(dry.then_some(answer.text))
}
