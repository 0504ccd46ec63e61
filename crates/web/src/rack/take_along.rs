//! What is taken along to where there is no signal: pieces with plate, standing and check-list, as one file that needs no server.

use super::piece::Piece;
use super::{seen, standing};
use crate::problem::Problem;
use crate::report::report;
use crate::typed::Typed;
use crate::units::{Chosen, Units};
use crate::{Shared, Site, line, word};
use axum::extract::Query;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use desk::checking::Checked;
use desk::rack::labels::expand;
use desk::sheets::PackList;
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
    /// Which piece goes where, where somebody planned that.
    pub pack: Option<PackList>,
    pub pieces: Pieces,
    pub rigs: Vec<Checked>,
}

/// Where it stands what pieces are.
pub enum Pieces {
    /// On the rack, under these labels.
    OfRack(Vec<String>),
    /// In a file that tells them.
    OfFile(Vec<Told>),
}

/// A piece as a file tells it.
pub struct Told {
    pub label: String,
    pub gear: Option<Gear>,
    pub marking: Option<String>,
}

impl Along {
    /// Pieces of the rack that nobody planned a place for, and rigs.
    pub fn of_rack(title: String, labels: Vec<String>, rigs: Vec<Checked>) -> Self {
        Self { title, pack: None, pieces: Pieces::OfRack(labels), rigs }
    }
}

pub async fn page(
    Shared(site): Shared,
    Chosen(units): Chosen,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Response, Problem> {
    let labels = expand(Typed::asked(asked).get("labels"))?;
    file(&site, &Along::of_rack(word("take-along"), labels, Vec::new()), units).await
}

/// One file with all of it, its drawings in some units.
pub async fn file(site: &Site, along: &Along, units: Units) -> Result<Response, Problem> {
    let pieces = match &along.pieces {
        Pieces::OfFile(told) => told.iter().map(of_file).collect(),
        Pieces::OfRack(labels) => of_rack(site, labels).await?,
    };
    let file = draw(along, &pieces, units).into_string();
    let kind = (CONTENT_TYPE, "text/html; charset=utf-8");
    Ok(([kind, (CONTENT_DISPOSITION, "attachment; filename=\"take-along.html\"")], file).into_response())
}

async fn of_rack(site: &Site, labels: &[String]) -> Result<Vec<Markup>, Problem> {
    if labels.len() > MOST {
        return Err(Problem::Unreadable(line("take-along-most", MOST)));
    }
    let mut pieces = Vec::new();
    for label in labels {
        let piece: Piece = seen(site.rack.show(label).await?)?;
        let gear = piece.is.gear.as_deref().and_then(Gear::from_code);
        let state = standing(&piece.standing.state);
        pieces.push(part(
            &piece.label,
            gear,
            piece.is.marking.as_deref(),
            Some((&state, &super::piece::why(&piece.standing))),
        ));
    }
    Ok(pieces)
}

fn of_file(told: &Told) -> Markup {
    part(&told.label, told.gear, told.marking.as_deref(), None)
}

fn draw(along: &Along, pieces: &[Markup], units: Units) -> Markup {
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
                main.along {
                    h1 { (along.title) }
                    p { (word("take-along-lead")) }
                    @if let Some(list) = &along.pack { (pack(list)) }
                    @for rig in &along.rigs { (of_rig(rig, units)) }
                    @if !pieces.is_empty() { section { h2 { (word("take-along-pieces")) } @for piece in pieces { (piece) } } }
                }
                footer {
                    p.caption { (texts::rack("cautions", &[])) }
                    ul { @for caution in texts::cautions() { li { (caution) } } }
                }
            }
        }
    }
}

/// Which piece goes where: by duty, what goes along beside, and before all that what is missing.
fn pack(list: &PackList) -> Markup {
    html! {
        p { (list.subtitle) }
        @if !list.short.is_empty() {
            section { h2 { (word("take-along-short")) } @for short in &list.short { p.ground { (short) } } }
        }
        section {
            h2 { (word("take-along-pack")) }
            @for duty in &list.duties {
                h3 { (duty.name) }
                @if !duty.asks.is_empty() { p.source { (duty.asks) } }
                ul.rows { @for piece in &duty.pieces {
                    @let [label, more @ ..] = piece.row();
                    li { label.tick { input type="checkbox"; span { strong data-as-written { (label) } @for fact in more.iter().filter(|fact| !fact.is_empty()) { " · " (fact) } } } }
                } }
            }
        }
    }
}

/// A rig's drawing, and its report as the command line tells it.
fn of_rig(rig: &Checked, units: Units) -> Markup {
    html! {
        section.rig {
            h2 { (rig.rig.title) }
            (report(rig))
            figure.sheet data-as-written { (PreEscaped(desk::picture::svg(rig, units))) }
        }
    }
}

/// A piece with its plate, its standing where that is known, and what to look for before each use.
fn part(label: &str, gear: Option<Gear>, marking: Option<&str>, stands: Option<(&Markup, &Markup)>) -> Markup {
    html! {
        details {
            summary { (label) @if let Some(gear) = gear { " · " (gear.code()) } @if let Some((state, _)) = stands { " · " (state) } }
            @if let Some((_, why)) = stands { (why) }
            @if let Some(marking) = marking { figure.sheet data-as-written { (PreEscaped(desk::reading::svg(marking))) } }
            @if let Some(gear) = gear {
                ul.rows { @for point in checklist(gear, Occasion::BeforeEachUse).points {
                    li { label.tick { input type="checkbox"; span { strong { (point.name) } ": " (point.look_for) } } }
                } }
            }
        }
    }
}
