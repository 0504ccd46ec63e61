//! What is taken along to where there is no signal: pieces with plate, standing and check-list, as one file that needs no server.

use super::piece::Piece;
use super::{seen, standing};
use crate::problem::Problem;
use crate::typed::Typed;
use crate::units::{Chosen, Units};
use crate::{Shared, Site, line, word};
use axum::extract::Query;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use desk::checking::Checked;
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

/// What goes along.
pub struct Along {
    pub title: String,
    pub labels: Vec<String>,
    pub rigs: Vec<Checked>,
}

pub async fn page(
    Shared(site): Shared,
    Chosen(units): Chosen,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Response, Problem> {
    let labels = expand(Typed::asked(asked).get("labels"))?;
    file(&site, &Along { title: word("take-along"), labels, rigs: Vec::new() }, units).await
}

/// One file with all of it, its drawings in some units.
pub async fn file(site: &Site, along: &Along, units: Units) -> Result<Response, Problem> {
    if along.labels.len() > MOST {
        return Err(Problem::Unreadable(line("take-along-most", MOST)));
    }
    let mut pieces = Vec::new();
    for label in &along.labels {
        pieces.push(seen(site.rack.show(label).await?)?);
    }
    let file = draw(along, &pieces, units).into_string();
    let kind = (CONTENT_TYPE, "text/html; charset=utf-8");
    Ok(([kind, (CONTENT_DISPOSITION, "attachment; filename=\"take-along.html\"")], file).into_response())
}

fn draw(along: &Along, pieces: &[Piece], units: Units) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (along.title) " · Linkwright" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    h1 { (along.title) }
                    p { (word("take-along-lead")) }
                    @for rig in &along.rigs { (of_rig(rig, units)) }
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

/// A rig's drawing, and its report as the command line tells it.
fn of_rig(rig: &Checked, units: Units) -> Markup {
    html! {
        section {
            h2 { (rig.rig.title) }
            figure.sheet.wide data-as-written { (PreEscaped(desk::picture::svg(rig, units))) }
            details open { summary { (word("board-findings")) } pre { (desk::report::text(rig)) } }
        }
    }
}

fn part(piece: &Piece) -> Markup {
    let gear = piece.is.gear.as_deref().and_then(Gear::from_code);
    html! {
        details {
            summary { (piece.label) " · " (piece.is.gear.as_deref().unwrap_or_default()) " · " (standing(&piece.standing.state)) }
            (super::piece::why(&piece.standing))
            @if let Some(marking) = &piece.is.marking { figure.sheet data-as-written { (PreEscaped(desk::reading::svg(marking))) } }
            @if let Some(gear) = gear {
                ul { @for point in checklist(gear, Occasion::BeforeEachUse).points {
                    li { label.tick { input type="checkbox"; span { strong { (point.name) } ": " (point.look_for) } } }
                } }
            }
        }
    }
}
