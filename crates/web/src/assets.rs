//! The files that pages need, inside the program.

use crate::problem::Problem;
use axum::extract::Path;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};

const SCRIPT: &str = "text/javascript; charset=utf-8";

/// Name, kind and content.
const ASSETS: [(&str, &str, &str); 16] = [
    ("style.css", "text/css; charset=utf-8", include_str!("../assets/style.css")),
    ("pages.js", SCRIPT, include_str!("../assets/pages.js")),
    ("units.js", SCRIPT, include_str!("../assets/units.js")),
    ("queue.js", SCRIPT, include_str!("../assets/queue.js")),
    ("waiting.js", SCRIPT, include_str!("../assets/waiting.js")),
    ("scan.js", SCRIPT, include_str!("../assets/scan.js")),
    ("inspect.js", SCRIPT, include_str!("../assets/inspect.js")),
    ("marking.js", SCRIPT, include_str!("../assets/marking.js")),
    ("board.js", SCRIPT, include_str!("../assets/board.js")),
    ("figures.js", SCRIPT, include_str!("../assets/figures.js")),
    ("outing.js", SCRIPT, include_str!("../assets/outing.js")),
    ("picture.js", SCRIPT, include_str!("../assets/picture.js")),
    ("links.js", SCRIPT, include_str!("../assets/links.js")),
    ("report.js", SCRIPT, include_str!("../assets/report.js")),
    ("plot.js", SCRIPT, include_str!("../assets/plot.js")),
    ("icon.svg", "image/svg+xml", include_str!("../assets/icon.svg")),
];

pub async fn asset(Path(name): Path<String>) -> Response {
    match ASSETS.iter().find(|(known, _, _)| *known == name) {
        Some((_, kind, text)) => ([(CONTENT_TYPE, *kind), (CACHE_CONTROL, "no-cache")], *text).into_response(),
        None => Problem::NoSuchPage(format!("/assets/{name}")).into_response(),
    }
}
