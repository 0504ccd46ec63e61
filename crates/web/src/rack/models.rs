//! What kinds of thing there are: each model with how many of it stand where, and what is known of it.

use super::{Row, seen, standing, table};
use crate::layout::{Room, address, page};
use crate::problem::Problem;
use crate::typed::Typed;
use crate::{Shared, line, word};
use axum::extract::{Path, Query};
use desk::texts;
use maud::{Markup, html};
use register::id::Id;
use serde::Deserialize;
use std::collections::BTreeMap;

/// Pieces on the page of a model.
const ROWS: u32 = 50;

#[derive(Deserialize)]
struct Models {
    models: Vec<Model>,
}

#[derive(Deserialize)]
struct Model {
    model: Option<i64>,
    name: String,
    gear: String,
    count: i64,
    standings: BTreeMap<String, i64>,
}

#[derive(Deserialize)]
struct Shown {
    name: String,
    facts: Vec<String>,
    count: i64,
    standings: BTreeMap<String, i64>,
    pieces: Vec<Row>,
    after: Option<String>,
}

fn path(model: i64) -> String {
    format!("/models/{model}")
}

pub async fn list(Shared(site): Shared) -> Result<Markup, Problem> {
    let Models { models } = seen(site.rack.models().await?)?;
    Ok(page(
        Room::Rack,
        &word("models"),
        html! {
            p { (word("models-lead")) }
            @if models.is_empty() { p { (word("models-empty")) " " a href="/rack/new" { (word("begin-piece-do")) } } } @else { (rows(&models)) }
        },
    ))
}

fn rows(models: &[Model]) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label=(word("models")) {
            table.stacks {
                thead { tr { @for code in ["models-name", "models-kind", "models-count", "models-standings"] { th scope="col" { (word(code)) } } } }
                tbody {
                    @for model in models {
                        tr {
                            th scope="row" { a href=(own_path(model)) { (model.name) } }
                            td data-head=(word("models-kind")) { (model.gear) }
                            td data-head=(word("models-count")) { (model.count) }
                            td data-head=(word("models-standings")) { (standings(&model.standings)) }
                        }
                    }
                }
            }
        }
    }
}

/// Pieces of no known model stand on the list of their kind, among the others.
fn own_path(model: &Model) -> String {
    model.model.map_or_else(|| address("/rack", &[("gear", &model.gear)]), path)
}

fn standings(counts: &BTreeMap<String, i64>) -> Markup {
    html! { @for (code, count) in counts { (count) " " (standing(code)) " " } }
}

/// The models that are known, by number and name: what a form offers.
pub async fn choices(site: &crate::Site) -> Result<Vec<(String, String)>, Problem> {
    let names = site.rack.model_names().await?;
    Ok(names.into_iter().map(|(id, name)| (id.number().to_string(), name)).collect())
}

pub async fn model(
    Shared(site): Shared,
    Path(number): Path<i64>,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Markup, Problem> {
    let asked = Typed::asked(asked);
    let shown: Shown = seen(site.rack.show_model(Id::from_number(number), asked.some("after"), ROWS).await?)?;
    let of_model = number.to_string();
    Ok(page(
        Room::Rack,
        &shown.name,
        html! {
            p.doing {
                a.button href=(address("/cases", &[("model", &of_model)])) { (word("recalls-open")) } " "
                a href="/models" { (word("models")) }
            }
            section { h2 { (texts::rack("known", &[])) } ul { @for fact in &shown.facts { li data-as-written { (fact) } } } }
            section { h2 { (line("models-pieces", shown.count)) }
                @if shown.pieces.is_empty() { p { (word("models-no-pieces")) " " a href="/rack/new" { (word("begin-piece-do")) } } }
                @else { p { (standings(&shown.standings)) } (table(&shown.pieces)) }
                @if let Some(after) = &shown.after { p { a.button rel="next" href=(address(&path(number), &[("after", after)])) { (word("next-page")) } } }
            }
        },
    ))
}
