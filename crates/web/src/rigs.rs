//! The drawing board: a rig drawn and pulled about, with its file always beside it.

use crate::form::token;
use crate::layout::{Room, address, page};
use crate::problem::{Problem, Wrong, told};
use crate::rack::take_along::{self, Along};
use crate::typed::Typed;
use crate::units::{Chosen, Unit, Units};
use crate::{Shared, Site, api, sheets, word};
use axum::Router;
use axum::extract::Query;
use axum::response::Response;
use axum::routing::{get, post};
use desk::beginning::{NotBegun, begin};
use desk::rack::Fault;
use desk::texts;
use maud::{Markup, html};
use rig::scene::{Answers, Kind as Asks, Question, Scene};
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::Arc;
use trade::connector::Connector;

/// Rigs of an invented school: name in the address, and text.
pub const EXAMPLES: [(&str, &str); 7] = [
    ("lead-sea-cliff", include_str!("../../../examples/lead-sea-cliff.toml")),
    ("three-leg-anchor", include_str!("../../../examples/three-leg-anchor.toml")),
    ("top-rope-master-point", include_str!("../../../examples/top-rope-master-point.toml")),
    ("ground-slab", include_str!("../../../examples/ground-slab.toml")),
    ("high-line-inlet", include_str!("../../../examples/high-line-inlet.toml")),
    ("haul-sea-cliff", include_str!("../../../examples/haul-sea-cliff.toml")),
    ("rappel-sea-cliff", include_str!("../../../examples/rappel-sea-cliff.toml")),
];

pub fn routes() -> Router<Arc<Site>> {
    Router::new()
        .route("/rigs", get(rigs))
        .route("/rigs/board", get(example))
        .route("/rigs/begin", get(questions))
        .route("/rigs/scene", get(scene))
        .route("/rigs/out", post(out))
}

async fn rigs() -> Markup {
    page(
        Room::Rigs,
        &word("nav-rigs"),
        html! {
            p.lead { (word("rigs-lead")) }
            section data-kept hidden { h2 { (word("rigs-kept")) } ul.rows {} }
            section {
                h2 { (word("rigs-scenes")) }
                ul.rows { @for scene in Scene::ALL {
                    li { a href=(address("/rigs/begin", &[("scene", scene.code())])) { (scene.title()) } }
                } }
            }
            section {
                h2 { (word("rigs-examples")) }
                ul.rows { @for (name, text) in EXAMPLES {
                    li { a href=(address("/rigs/board", &[("example", name)])) { (title(text)) } }
                } }
            }
            p { a.button href="/rigs/board" { (word("rigs-own")) } }
            script type="module" src="/assets/board.js" {}
        },
    )
}

/// The title that a rig file gives itself.
fn title(text: &str) -> &str {
    let line = text.lines().find_map(|line| line.strip_prefix("title = \""));
    line.and_then(|line| line.split('"').next()).unwrap_or_default()
}

async fn example(
    Shared(site): Shared,
    Chosen(units): Chosen,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Markup, Problem> {
    let asked = Typed::asked(asked);
    let Some(name) = asked.some("example") else { return Ok(board(&site, units, &word("rigs-own"), "")) };
    let found = EXAMPLES.iter().find(|(known, _)| *known == name);
    found.map(|(_, text)| board(&site, units, title(text), text)).ok_or_else(|| Problem::NoSuchPage(name.to_owned()))
}

fn scene_asked(asked: &Typed) -> Result<Scene, Problem> {
    let code = asked.get("scene");
    Scene::from_code(code).ok_or_else(|| Problem::NoSuchPage(code.to_owned()))
}

async fn questions(Query(asked): Query<Vec<(String, String)>>) -> Result<Markup, Problem> {
    let asked = Typed::asked(asked);
    Ok(ask(scene_asked(&asked)?, &asked, &[]))
}

fn ask(scene: Scene, asked: &Typed, wrong: &[Wrong]) -> Markup {
    page(
        Room::Rigs,
        scene.title(),
        html! {
            form action="/rigs/scene" {
                @if !wrong.is_empty() { (told(wrong)) }
                input type="hidden" name="scene" value=(scene.code());
                @for question in scene.questions() { (answer(question, asked)) }
                button type="submit" { (word("rigs-draw")) }
            }
        },
    )
}

fn answer(question: &Question, asked: &Typed) -> Markup {
    let units = (!question.units.is_empty()).then(|| question.units.join("/"));
    let given = asked.some(&question.key).map(|_| answered(question, asked));
    let value = given.as_deref().unwrap_or(&question.default);
    html! {
        div.field {
            label for={ "q-" (question.key) } { (question.asks) }
            @if let Asks::Words(words) = &question.kind {
                select id={ "q-" (question.key) } name=(question.key) {
                    @for word in words { option value=(word) selected[*word == value] { (word) } }
                }
            } @else {
                input id={ "q-" (question.key) } type="text" data-unit=[units] name=(question.key) value=(value) autocomplete="off";
            }
        }
    }
}

/// An answer in the units that the rig file holds.
fn answered(question: &Question, asked: &Typed) -> String {
    let each: Vec<Option<Unit>> = question.units.iter().map(|code| Unit::coded(code)).collect();
    asked.values(&question.key, &each, 3)
}

/// A rig begun from answers; where one does not do, the questions again.
async fn scene(
    Shared(site): Shared,
    Chosen(units): Chosen,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Markup, Problem> {
    let asked = Typed::asked(asked);
    let scene = scene_asked(&asked)?;
    let given =
        |question: &Question| asked.some(&question.key).map(|_| (question.key.clone(), answered(question, &asked)));
    let answers: Answers = scene.questions().iter().filter_map(given).collect();
    match begin(scene, &answers) {
        Ok(text) => Ok(board(&site, units, scene.title(), &text)),
        Err(NotBegun::Answer(bad)) => {
            let asks = scene.questions().iter().find(|question| question.key == bad.key);
            let what = format!("{}: {}", asks.map_or(bad.key.as_str(), |question| &question.asks), bad.message);
            Ok(ask(scene, &asked, &[Wrong::new(what, bad.help)]))
        }
        Err(other) => Err(Problem::Unreadable(other.to_string())),
    }
}

/// The board itself. What moves on it is in `board.js`; without it the text can still be checked on the command line.
fn board(site: &Site, units: Units, title: &str, text: &str) -> Markup {
    let words = [
        "undone",
        "not-computed",
        "grab",
        "saved",
        "no-links",
        "at-moment",
        "placing",
        "joining",
        "running",
        "inspect-by",
        "over",
        "yes",
        "no",
        "none-chosen",
        "no-anchor",
        "no-sling",
        "chosen",
        "no-piece",
        "because",
        "loss",
        "loss-weakest",
        "as-lost",
        "not-held",
        "refused",
    ];
    let said: Vec<_> = words.iter().map(|code| (*code, word(&format!("board-{code}")))).collect();
    html! {
        (page(Room::Rigs, title, html! {
            form #out method="post" action="/rigs/out" data-stays { (token(site)) }
            div.board data-words=(as_json(&said.into_iter().collect::<BTreeMap<_, _>>())) data-units=(as_json(&units.others())) {
                div {
                    svg.plane viewBox="0 0 800 600" role="group" aria-label=(word("board-plane")) {}
                    div.bar {
                        button type="button" data-do="undo" { (word("board-undo")) }
                        button type="button" data-do="redo" { (word("board-redo")) }
                        button type="button" data-do="place" aria-pressed="false" { (word("board-place")) }
                        span.what {
                            label for="what" { (word("board-what")) }
                            select #what data-what {
                                @for what in ["anchor", "joint", "person"] { option value=(what) { (word(&format!("board-a-{what}"))) } }
                            }
                        }
                        button type="button" data-do="join" aria-pressed="false" { (word("board-join")) }
                        button type="button" data-do="hang" { (word("board-draw")) }
                        span.what {
                            label for="kind" { (word("board-draw-kind")) }
                            select #kind data-kind {}
                        }
                        button type="button" data-do="run" aria-pressed="false" { (word("board-run")) }
                        button type="button" data-do="connect" { (word("board-connect")) }
                        button type="button" data-do="remove" { (word("board-remove")) }
                    }
                    div data-wrong role="alert" {}
                    p data-said role="status" {}
                    p.hint { (word("board-hint")) }
                    section.thing data-figures hidden {
                        h2 { label for="thing" { (word("board-figures")) } }
                        select #thing {} " "
                        button type="button" { (word("board-take")) }
                        div.search {}
                        details { summary { (word("board-more")) } div.search {} }
                    }
                    div.plot hidden {
                        label { (word("board-moment")) input type="range" min="0" value="0"; }
                        svg viewBox="0 0 800 240" role="img" aria-label=(word("board-plot")) {}
                    }
                }
                div {
                    label for="text" { (word("board-text")) }
                    textarea #text name="rig" form="out" spellcheck="false" autocapitalize="off" { (text) }
                }
            }
            div.bar {
                button type="button" data-do="keep" { (word("board-keep")) }
                a.button data-do="download" download="rig.toml" href="#text" { (word("board-download")) }
                a.button data-do="drawing" download="rig.svg" href="#drawing" { (word("board-drawing")) }
                button form="out" name="as" value="pdf" { (word("board-pdf")) }
                button form="out" name="as" value="teaching-card" { (word("board-teaching")) }
                button form="out" name="as" value="take-along" { (word("take-along")) }
            }
            section data-report hidden {
                h2 { (word("board-report")) }
                div data-head aria-live="polite" {}
                div.parts data-parts {}
            }
            section { h2 { (word("board-findings")) }
                p.ticks { label.tick { input type="checkbox" data-do="losses"; (word("board-losses")) } }
                p.ticks { @for how in terms::How::ALL {
                    label.tick { input type="checkbox" data-how=(how.code()) checked; (texts::how(*how).name) }
                } }
                div.scroll tabindex="0" role="region" aria-label=(word("board-findings")) {
                    table.figures.stacks {
                        thead { tr { @for code in ["link", "position", "sees", "bears", "margin", "finding"] { th scope="col" { (word(&format!("board-{code}"))) } } } }
                        tbody data-links {}
                    }
                }
            }
            section data-connectors hidden { h2 { (word("board-hangs")) }
                p.hint { (word("board-hangs-hint")) }
                div.search {}
                datalist #pieces {}
            }
            section data-helps hidden { h2 { (word("board-helps")) } ul {} }
            section data-losses hidden { h2 { (word("board-lost")) } p.hint { (word("board-lost-hint")) } ul.rows {} ul data-basis {} }
            section { h2 { (word("board-elevation")) } figure #drawing.sheet.wide tabindex="0" aria-label=(word("drawing")) {} }
            section.paper { h2 { (word("board-text")) } pre data-paper data-as-written { (text) } }
            dl hidden data-names {
                @for position in trade::position::Position::ALL { dt { (position.code()) } dd { (texts::position(*position).name) } }
                @for finding in terms::Finding::ALL { dt { (finding.code()) } dd { (texts::finding(*finding).name) } }
            }
            script type="module" src="/assets/board.js" {}
        }))
    }
}

fn as_json(value: &impl Serialize) -> String {
    serde_json::to_string(value).unwrap_or_default()
}

/// The rig on paper, or in a file that needs no server.
async fn out(Shared(site): Shared, Chosen(units): Chosen, typed: Typed) -> Result<Response, Problem> {
    let (_, checked) = api::drawn(&site, typed.get("rig").to_owned(), None, desk::board::Board::checked).await?;
    if typed.get("as") == "pdf" {
        return sheets::pdf(&site, desk::sheets::rig_card(&checked, units), "rig-card").await;
    }
    if typed.get("as") == "teaching-card" {
        return sheets::pdf(&site, sheets::teaching_of(weakest(&checked)?)?, "teaching-card").await;
    }
    let labels = checked.rig.connectors.iter().filter_map(|seated| seated.connector.piece.clone()).collect();
    take_along::file(&site, &Along::of_rack(checked.rig.title.clone(), labels, vec![checked]), units).await
}

/// The connector that the first finding is about.
fn weakest(checked: &desk::checking::Checked) -> Result<&Connector, Fault> {
    let names = checked.check.worst_first().into_iter().map(|place| &checked.check.links[place].name);
    let mut of_name = names.filter_map(|name| {
        checked.rig.connectors.iter().map(|seated| &seated.connector).find(|connector| connector.name == *name)
    });
    of_name.next().ok_or_else(|| Fault::new("no-connector", &[]))
}
