//! What is taken along to where there is no signal: pieces with plate, standing and check-list, as one file that needs no server.

use super::piece::Piece;
use super::{seen, standing};
use crate::problem::Problem;
use crate::typed::Typed;
use crate::{Shared, line, word};
use axum::extract::{Query, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use desk::rack::labels::expand;
use desk::texts;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use trade::checklist::checklist;
use trade::gear::Gear;
use trade::rack::Occasion;

/// The most pieces in one file: what somebody can carry, and a phone can show.
const MOST: usize = 300;

/// The file brings its style with it, as nothing else will be there.
const STYLE: &str = include_str!("../../assets/style.css");

pub async fn page(State(site): Shared, Query(asked): Query<Vec<(String, String)>>) -> Result<Response, Problem> {
    let labels = expand(Typed::asked(asked).get("labels"))?;
    if labels.len() > MOST {
        return Err(Problem::Unreadable(line("take-along-most", MOST)));
    }
    let mut pieces = Vec::new();
    for label in &labels {
        pieces.push(seen(site.rack.show(label).await?)?);
    }
    let file = draw(&pieces).into_string();
    let kind = (CONTENT_TYPE, "text/html; charset=utf-8");
    Ok(([kind, (CONTENT_DISPOSITION, "attachment; filename=\"take-along.html\"")], file).into_response())
}

fn draw(pieces: &[Piece]) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (word("take-along")) " · Linkwright" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    h1 { (word("take-along")) }
                    p { (word("take-along-lead")) }
                    @for piece in pieces { (part(piece)) }
                }
                footer {
                    p.caption { (texts::rack("cautions", &[])) }
                    ul { @for caution in texts::cautions() { li { (caution) } } }
                }
            }
        }
    }
}

fn part(piece: &Piece) -> Markup {
    let gear = piece.is.gear.as_deref().and_then(Gear::from_code);
    html! {
        details {
            summary { (piece.label) " · " (piece.is.gear.as_deref().unwrap_or_default()) " · " (standing(&piece.standing.state)) }
            (super::piece::why(&piece.standing))
            @if let Some(marking) = &piece.is.marking { figure.sheet { (PreEscaped(desk::reading::svg(marking))) } }
            @if let Some(gear) = gear {
                ul { @for point in checklist(gear, Occasion::BeforeEachUse).points {
                    li { label.tick { input type="checkbox"; span { strong { (point.name) } ": " (point.look_for) } } }
                } }
            }
        }
    }
}
