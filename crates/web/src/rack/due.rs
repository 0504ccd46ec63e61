//! What is to be inspected, and by when.

use super::{Row, scan, seen, table};
use crate::cliff::keep;
use crate::layout::{Room, address, page};
use crate::problem::Problem;
use crate::typed::Typed;
use crate::{Shared, line, word};
use axum::extract::Query;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use desk::rack::labels::compact;
use desk::texts;
use maud::{Markup, html};
use register::standing::State;
use serde::Deserialize;
use trade::rack::Occasion;

/// How far ahead is looked where nobody asks otherwise, days.
const AHEAD: u32 = 30;
/// Rows on the page.
const ROWS: u32 = 200;

#[derive(Deserialize)]
struct Due {
    until: String,
    count: i64,
    pieces: Vec<Row>,
}

fn within(asked: &Typed) -> Result<u32, Problem> {
    if asked.some("within").is_some() { asked.count("within") } else { Ok(AHEAD) }
}

pub async fn due(Shared(site): Shared, Query(asked): Query<Vec<(String, String)>>) -> Result<Markup, Problem> {
    let asked = Typed::asked(asked);
    let days = within(&asked)?;
    let place = asked.some("site");
    let Due { until, count, pieces } = seen(site.rack.due(days, place, ROWS).await?)?;
    let each: Vec<String> = pieces.iter().map(|row| row.label.clone()).collect();
    let labels = compact(&each);
    let calendar = address("/due.ics", &[("within", &days.to_string()), ("site", asked.get("site"))]);
    let values = [("count", count.to_string()), ("until", until)];
    Ok(page(
        Room::Due,
        &word("nav-due"),
        html! {
            form.search action="/due" {
                div.field { label for="s-within" { (word("within-days")) }
                    input #s-within type="number" name="within" min="0" value=(days); }
                div.field { label for="s-site" { (texts::rack("column-where", &[])) }
                    input #s-site type="text" name="site" value=(asked.get("site")); }
                button type="submit" { (word("show-due")) }
            }
            form.search action="/inspect" data-goes {
                div.field { label for="s-label" { (word("label-of")) } input #s-label type="text" name="labels" required autocomplete="off"; }
                button type="submit" { (word("inspect")) } " "
                (scan("s-label"))
            }
            p { (texts::rack("due", &values)) }
            @if pieces.is_empty() { p { (line("due-empty", days)) } } @else {
                p.doing {
                    a.button href=(address("/inspect", &[("labels", &labels)])) { (word("inspect-these")) } " "
                    a href=(address("/take-along", &[("labels", &labels)])) { (word("take-along")) } " · "
                    a href=(address("/sheet/inspection-record", &[("labels", &labels)])) { (word("sheet-record")) } " · "
                    a href=(address("/labels", &[("labels", &labels)])) { (word("sheet-labels")) } " · "
                    a href=(calendar) { (word("calendar")) }
                }
                (keep("/due", &each, Occasion::Periodic))
                (table(&pieces))
            }
            p { a href=(address("/rack", &[("standing", State::NotYetInService.code())])) { (word("never-inspected")) } }
        },
    ))
}

/// The same for a calendar (RFC 5545).
pub async fn calendar(Shared(site): Shared, Query(asked): Query<Vec<(String, String)>>) -> Result<Response, Problem> {
    let asked = Typed::asked(asked);
    let (text, _) = site.rack.calendar_due(within(&asked)?, asked.some("site")).await?;
    let kind = (CONTENT_TYPE, "text/calendar; charset=utf-8");
    Ok(([kind, (CONTENT_DISPOSITION, "attachment; filename=\"due.ics\"")], text).into_response())
}
