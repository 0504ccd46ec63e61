//! The rack as a list; what is looked for stays in the address.

use super::{Row, kinds, seen, table};
use crate::form::{Kind, choices};
use crate::layout::{Room, address, page};
use crate::problem::Problem;
use crate::typed::Typed;
use crate::{Shared, word};
use axum::extract::Query;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use desk::rack::show::Filter;
use desk::texts;
use maud::{Markup, html};
use register::standing::State as Standing;
use serde::Deserialize;

/// Rows on a page.
const ROWS: u32 = 50;

#[derive(Deserialize)]
struct Page {
    pieces: Vec<Row>,
    after: Option<String>,
}

/// What a list can be asked for.
pub const ASKED: [&str; 6] = ["text", "gear", "standing", "site", "holder", "kit"];

pub async fn list(Shared(site): Shared, Query(asked): Query<Vec<(String, String)>>) -> Result<Markup, Problem> {
    let asked = Typed::asked(asked);
    let filter = Filter { after: asked.owned("after"), limit: ROWS, ..filter(&asked) };
    let Page { pieces, after } = seen(site.rack.list(&filter).await?)?;
    let people = super::group::names(&site).await?;
    Ok(page(
        Room::Rack,
        &word("nav-rack"),
        html! {
            (search(&asked, people))
            @if pieces.is_empty() { (nothing(&asked)) } @else { (table(&pieces)) }
            @if let Some(after) = &after {
                p { a.button rel="next" href=(next(&asked, after)) { (word("next-page")) } }
            }
            p.doing {
                a.button href="/rack/new" { (word("begin-piece-do")) } " "
                a href="/begin/sheet" { (word("begin-sheet-do")) } " · "
                a href="/models" { (word("models")) } " · "
                a href="/rack.csv" { (word("export")) }
                @if !pieces.is_empty() {
                    " · " a href=(about("/labels", &asked)) { (word("sheet-labels")) }
                    " · " a href=(about("/sheet/inspection-record", &asked)) { (word("sheet-record")) }
                    " · " a href=(about("/api/pieces", &asked)) { (word("as-json")) }
                }
            }
        },
    ))
}

/// What is looked for.
pub fn filter(asked: &Typed) -> Filter {
    Filter {
        text: asked.get("text").to_owned(),
        gear: asked.owned("gear"),
        standing: asked.owned("standing"),
        site: asked.owned("site"),
        holder: asked.owned("holder"),
        kit: asked.owned("kit"),
        ..Filter::default()
    }
}

/// The address of something else about what is looked for.
fn about(path: &str, asked: &Typed) -> String {
    address(path, &ASKED.map(|name| (name, asked.get(name))))
}

fn next(asked: &Typed, after: &str) -> String {
    let mut pairs: Vec<_> = ASKED.iter().map(|name| (*name, asked.get(name))).collect();
    pairs.push(("after", after));
    address("/rack", &pairs)
}

fn nothing(asked: &Typed) -> Markup {
    let is_filtered = ASKED.iter().any(|name| asked.some(name).is_some());
    html! {
        @if is_filtered { p { (texts::rack("none-found", &[])) " " a href="/rack" { (word("all-pieces")) } } }
        @else { p { (word("rack-empty")) " " a href="/begin" { (word("begin")) } } }
    }
}

fn search(asked: &Typed, people: Vec<String>) -> Markup {
    let people = people.into_iter().map(|name| (name.clone(), name));
    let states = Standing::ALL.iter().map(|state| (state.code().to_owned(), texts::state(*state)));
    let selects = [
        ("gear", texts::rack("column-kind", &[]), choices(word("any"), kinds())),
        ("standing", texts::rack("column-standing", &[]), choices(word("any"), states)),
        ("holder", texts::rack("column-who", &[]), choices(word("any"), people)),
    ];
    let lines = [("site", texts::rack("column-where", &[])), ("kit", word("kit"))];
    html! {
        form.search role="search" action="/rack" {
            div.field { label for="s-text" { (word("search")) }
                input #s-text type="search" name="text" value=(asked.get("text")) autocomplete="off"; }
            @for (name, label, kind) in &selects {
                @if let Kind::Choice(choices) = kind {
                    div.field { label for={ "s-" (name) } { (label) }
                        select id={ "s-" (name) } name=(name) {
                            @for (code, words) in choices {
                                option value=(code) selected[code == asked.get(name)] { (words) }
                            }
                        } }
                }
            }
            @for (name, label) in &lines {
                div.field { label for={ "s-" (name) } { (label) }
                    input id={ "s-" (name) } type="text" name=(name) value=(asked.get(name)) autocomplete="off"; }
            }
            button type="submit" { (word("search-do")) }
        }
    }
}

/// The rack as a sheet that reads back the same.
pub async fn sheet(Shared(site): Shared) -> Result<Response, Problem> {
    let text = site.rack.export_sheet().await?;
    let kind = (CONTENT_TYPE, "text/csv; charset=utf-8");
    Ok(([kind, (CONTENT_DISPOSITION, "attachment; filename=\"rack.csv\"")], text).into_response())
}
