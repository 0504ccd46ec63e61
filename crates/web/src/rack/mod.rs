//! Pages about the rack and its log.

mod add;
mod cases;
mod describe;
mod due;
mod group;
mod happened;
mod inspect;
mod kits;
pub mod list;
mod models;
mod parts;
mod piece;
mod policy;
mod sheet;
mod slip;
pub mod take_along;
mod wear;

use crate::layout::part;
use crate::problem::Problem;
use crate::{Site, word};
use axum::Router;
use axum::response::Redirect;
use axum::routing::{get, post};
use desk::rack::Answer;
use desk::texts;
use maud::{Markup, html};
use register::standing::State as Standing;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use std::sync::Arc;
use trade::gear::Gear;

pub use happened::KINDS;
pub use sheet::form as sheet_form;

pub fn routes() -> Router<Arc<Site>> {
    Router::new()
        .route("/rack", get(list::list))
        .route("/rack.csv", get(list::sheet))
        .route("/begin/sheet", get(sheet::blank).post(sheet::enter))
        .route("/models", get(models::list))
        .route("/models/{model}", get(models::model))
        .route("/rack/new", get(add::blank).post(add::enter))
        .route("/piece/{label}", get(piece::piece))
        .route("/piece/{label}/wear", get(wear::blank).post(wear::measure))
        .route("/piece/{label}/correct", get(describe::blank).post(describe::correct))
        .route("/piece/{label}/part", get(parts::part).post(parts::replace))
        .route("/piece/{label}/divide", get(parts::divide).post(parts::divided))
        .route("/photo/{entry}/{place}", get(piece::photo))
        .route("/take-along", get(take_along::page))
        .route("/log", get(happened::entries))
        .route("/log/new", get(happened::blank).post(happened::write))
        .route("/log/{entry}/correct", get(slip::blank).post(slip::correct))
        .route("/log/take-back", post(happened::take_back))
        .route("/inspect", get(inspect::form).post(inspect::write))
        .route("/due", get(due::due))
        .route("/due.ics", get(due::calendar))
        .route("/kits", get(kits::list).post(kits::set))
        .route("/kits/{label}", get(kits::kit))
        .route("/kits/{label}/out", post(kits::out))
        .route("/kits/{label}/back", post(kits::back))
        .route("/cases", get(cases::list))
        .route("/incidents", post(cases::incident))
        .route("/recalls", post(cases::recall))
        .route("/cases/{entry}", get(cases::case))
        .route("/cases/{entry}/settle", post(cases::settle))
        .route("/cases/{entry}/close", post(cases::close))
        .route("/group", get(group::group))
        .route("/people", post(group::add))
        .route("/people/allow", post(group::allow))
        .route("/people/erase", post(group::erase))
        .route("/policy", get(policy::show).post(policy::set))
        .route("/policy/change", get(policy::blank).post(policy::change))
}

/// What a page shows of an answer: the same that programs get.
fn seen<T: DeserializeOwned>(answer: Answer) -> Result<T, Problem> {
    serde_json::from_value(answer.json).map_err(|why| Problem::Unreadable(why.to_string()))
}

/// A piece on a list.
#[derive(Debug, Deserialize)]
struct Row {
    label: String,
    gear: Option<String>,
    standing: String,
    inspect_by: Option<String>,
    overdue: bool,
    site: Option<String>,
    holder: Option<String>,
}

fn piece_path(label: &str) -> String {
    format!("/piece/{}", part(label))
}

fn piece_link(label: &str) -> Markup {
    html! { a href=(piece_path(label)) { (label) } }
}

/// A standing: its words and, for the eye, a mark that is no colour.
fn standing(code: &str) -> Markup {
    let words = Standing::from_code(code).map_or_else(|| code.to_owned(), texts::state);
    html! { span class={ "standing " (code) } { (words) } }
}

/// A button that reads a label by the camera into a field, where the browser can.
fn scan(field: &str) -> Markup {
    let words = json!({ "look": word("scan-look"), "stop": word("scan-stop"), "none": word("scan-none") });
    html! {
        button type="button" hidden data-scan=(field) data-words=(words) { (word("scan")) }
        script type="module" src="/assets/scan.js" {}
    }
}

/// Pieces in a table.
fn table(rows: &[Row]) -> Markup {
    let heading = |code: &str| texts::rack(&format!("column-{code}"), &[]);
    html! {
        div.scroll tabindex="0" role="region" aria-label=(word("pieces")) {
            table {
                thead { tr {
                    @for code in ["label", "kind", "standing", "inspect-by", "where", "who"] {
                        th scope="col" { (heading(code)) }
                    }
                } }
                tbody {
                    @for row in rows {
                        tr {
                            th scope="row" { (piece_link(&row.label)) }
                            td { (row.gear.as_deref().unwrap_or_default()) }
                            td { (standing(&row.standing)) }
                            td { (row.inspect_by.as_deref().unwrap_or_default())
                                @if row.overdue { " " strong { (word("overdue")) } } }
                            td { (row.site.as_deref().unwrap_or_default()) }
                            td { (row.holder.as_deref().unwrap_or_default()) }
                        }
                    }
                }
            }
        }
    }
}

/// The kinds of gear as choices.
fn kinds() -> impl Iterator<Item = (String, String)> {
    Gear::ALL.iter().map(|gear| (gear.code().to_owned(), gear.code().to_owned()))
}

/// To the page that shows what was written: the piece's own if it was one, or the log; at the last entry.
fn to_entry(labels: &str, answer: &Answer) -> Redirect {
    let entry = answer.json["entries"].as_array().and_then(|entries| entries.last()).and_then(Value::as_i64);
    let place = entry.map(|entry| format!("#entry-{entry}")).unwrap_or_default();
    let is_one = !labels.contains(',') && !labels.contains("..") && !labels.trim().is_empty();
    let path = if is_one { piece_path(labels.trim()) } else { "/log".to_owned() };
    Redirect::to(&format!("{path}{place}"))
}
