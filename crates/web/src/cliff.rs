//! At the cliff: what a browser needs to keep pages where there is no signal, and to hold what is written there until it can be sent.
//!
//! The browser's worker (`worker.js`) keeps both; what arrives is taken like any other form, and once, by its wish.

use crate::layout::{Room, address, page, part};
use crate::rack::KINDS;
use crate::{Shared, word};
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::IntoResponse;
use axum::routing::get;
use axum::{Json, Router};
use desk::rack::labels::compact;
use desk::texts;
use maud::{Markup, html};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::sync::Arc;
use trade::checklist::points;
use trade::rack::{Occasion, exposures};

const WORKER: &str = include_str!("../assets/worker.js");

/// The most pieces whose pages are kept at once.
const MOST: usize = 100;

pub fn routes() -> Router<Arc<crate::Site>> {
    Router::new()
        .route("/waiting", get(waiting))
        .route("/waiting/who", get(who))
        .route("/manifest.webmanifest", get(manifest))
        .route("/worker.js", get(worker))
}

/// As whom what waits can be sent now, and by which token; as nobody where somebody has to sign in first.
async fn who(Shared(site): Shared) -> Json<Value> {
    let is_nobody = site.guesses.is_some() && site.guest.is_none();
    Json(json!({ "token": site.token, "writer": (!is_nobody).then(|| site.as_whom()) }))
}

/// At the root, as a worker has to do with what lies beneath it alone.
async fn worker() -> impl IntoResponse {
    ([(CONTENT_TYPE, "text/javascript; charset=utf-8"), (CACHE_CONTROL, "no-cache")], WORKER)
}

/// What a phone asks for before it puts the pages among its programs (W3C Web Application Manifest).
async fn manifest() -> impl IntoResponse {
    let told = json!({
        "name": "Linkwright",
        "short_name": "Linkwright",
        "description": word("manifest"),
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "background_color": "#f6f5f1",
        "theme_color": "#1c2126",
        "icons": [{ "src": "/assets/icon.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any" }],
    });
    ([(CONTENT_TYPE, "application/manifest+json")], told.to_string())
}

async fn waiting(Shared(site): Shared) -> Markup {
    let words: BTreeMap<_, _> =
        ["again", "drop", "clash", "seen", "forget", "refused", "of", "new", "inspect", "kits", "out", "back", "wear"]
            .into_iter()
            .map(|code| (code, word(&format!("waiting-{code}"))))
            .collect();
    let told = json!({ "fields": field_words(), "values": value_words() });
    let list = |kind: &str| {
        html! {
            h2 { (word(&format!("waiting-{kind}"))) }
            p data-none=(kind) { (word(&format!("waiting-no-{kind}"))) }
            ul.rows data-list=(kind) {}
        }
    };
    page(
        Room::Cliff,
        &word("nav-cliff"),
        html! {
            p.alert data-missed hidden { (word("page-not-kept")) }
            p.lead { (word("waiting-lead")) }
            div data-waits data-words=(json!(words)) data-told=(told) {
                @if site.guesses.is_some() {
                    p.alert data-sign-in hidden { (word("waiting-sign-in")) " " a href="/sign-in?to=/waiting" { (word("sign-in")) } }
                }
                section { (list("waits")) }
                section hidden { h2 { (word("waiting-held")) } p { (word("waiting-held-hint")) } ul.rows data-list="held" {} }
                section hidden { h2 { (word("waiting-clashes")) } p { (word("waiting-clashes-hint")) } ul.rows data-list="clashes" {} }
                section { (list("refused-ones")) }
                section { (list("kept")) }
            }
            noscript { p { (word("waiting-script")) } }
            p.hint { (word("waiting-needs")) }
            script type="module" src="/assets/waiting.js" {}
        },
    )
}

/// What the fields of forms that can wait are called.
fn field_words() -> BTreeMap<String, String> {
    let mut fields: BTreeMap<String, String> =
        FIELDS.iter().map(|(name, code)| ((*name).to_owned(), word(code))).collect();
    for point in points() {
        fields.insert(point.code.clone(), point.name.clone());
        for (of, code) in [("note", "note"), ("photo", "photo")] {
            fields.insert(format!("{}-{of}", point.code), format!("{}: {}", point.name, word(code)));
        }
    }
    fields
}

/// What can be chosen in them.
fn value_words() -> BTreeMap<String, String> {
    let kinds = KINDS.map(|code| (code.to_owned(), texts::event(code)));
    let occasions = Occasion::ALL.iter().map(|is| (is.code().to_owned(), texts::rule(is.code()).unwrap_or_default()));
    let exposures = exposures().iter().map(|one| (one.code.clone(), one.what.clone()));
    kinds.into_iter().chain(occasions).chain(exposures).collect()
}

/// The fields of those forms, each with the code of its words.
const FIELDS: [(&str, &str); 40] = [
    ("labels", "labels"),
    ("kit", "kit"),
    ("contents", "kit-contents"),
    ("what", "what-happened"),
    ("on", "day"),
    ("note", "note"),
    ("photo", "photo"),
    ("rest", "waiting-rest"),
    ("occasion", "occasion"),
    ("clears", "waiting-clears"),
    ("hand", "waiting-hand"),
    ("all", "waiting-all"),
    ("back", "back-by"),
    ("short", "kit-short"),
    ("wet", "kit-wet"),
    ("units", "units"),
    ("case", "waiting-case"),
    ("duty", "field-duty"),
    ("rappels", "field-rappels"),
    ("lowers", "field-lowers"),
    ("run", "field-run"),
    ("falls", "field-falls"),
    ("force", "field-force"),
    ("severe", "field-severe"),
    ("height", "field-height"),
    ("onto", "field-onto"),
    ("to", "waiting-to"),
    ("measured", "field-measured"),
    ("how", "field-how"),
    ("mm", "field-mm"),
    ("part", "field-part"),
    ("restrict", "field-restrict"),
    ("why", "field-why"),
    ("person", "field-person"),
    ("site", "field-site"),
    ("supplier", "field-supplier"),
    ("bar-height", "wear-bar-height"),
    ("scale-bar", "wear-scale-bar"),
    ("bar", "wear-bar"),
    ("keep", "wear-keep"),
];

/// A button that keeps what somebody needs to work on pieces where there is no signal: pages, check-lists one after another, and every
/// form of the log.
pub fn keep(here: &str, labels: &[String], occasion: Occasion) -> Markup {
    let labels = &labels[..labels.len().min(MOST)];
    let mut pages = vec![here.to_owned(), "/rack".to_owned(), "/kits".to_owned(), "/due".to_owned()];
    pages.extend(KINDS.map(|what| address("/log/new", &[("what", what)])));
    for (place, label) in labels.iter().enumerate() {
        pages.push(format!("/piece/{}", part(label)));
        pages.push(format!("/piece/{}/wear", part(label)));
        pages.push(address("/inspect", &[("labels", label)]));
        pages.push(address("/inspect", &[("labels", &compact(&labels[place..])), ("occasion", occasion.code())]));
    }
    html! {
        p.doing {
            button type="button" hidden data-keep=(json!(pages)) data-done=(word("keep-done")) data-failed=(word("keep-failed")) { (word("keep")) }
            output {}
        }
    }
}
