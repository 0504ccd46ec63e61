//! The interface for programs, under `/api`: JSON in, JSON out, told in OpenAPI 3.1 by `/api/openapi.json`. The pages use it for what
//! moves. Nothing here changes anything but `POST /api/entries`, which wants the token.

use crate::problem::Problem;
use crate::units::Chosen;
use crate::{Shared, Site, outings};
use axum::extract::rejection::{JsonRejection, QueryRejection};
use axum::extract::{Path, Query};
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router};
use desk::board::{Board, Change, NotDrawn};
use desk::rack::show::Filter;
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::Arc;

const OPENAPI: &str = include_str!("../assets/openapi.json");

/// A problem as JSON.
pub struct Trouble(Problem);

impl<P: Into<Problem>> From<P> for Trouble {
    fn from(problem: P) -> Self {
        Self(problem.into())
    }
}

impl From<JsonRejection> for Problem {
    fn from(why: JsonRejection) -> Self {
        match why {
            // The text is JSON and says something that nobody asked for.
            JsonRejection::JsonDataError(why) => Self::Unreadable(why.body_text()),
            why => Self::Rejected(why.status(), why.body_text()),
        }
    }
}

impl From<QueryRejection> for Problem {
    fn from(why: QueryRejection) -> Self {
        Self::Unreadable(why.body_text())
    }
}

impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        (self.0.status(), Json(self.0.json())).into_response()
    }
}

type Answered = Result<Json<Value>, Trouble>;

pub fn routes() -> Router<Arc<Site>> {
    Router::new()
        .route("/openapi.json", get(openapi))
        .route("/pieces", get(pieces))
        .route("/pieces/{label}", get(piece))
        .route("/due", get(due))
        .route("/marking", get(marking))
        .route("/rig/quick", post(quick))
        .route("/rig/check", post(check))
        .route("/outing/swap", post(outings::swap))
        .method_not_allowed_fallback(async || Trouble(Problem::WrongMethod))
        .fallback(async || Trouble(Problem::NoSuchPage("/api".to_owned())))
}

async fn openapi() -> impl IntoResponse {
    ([(CONTENT_TYPE, "application/json")], OPENAPI)
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Pieces {
    #[serde(default)]
    text: String,
    gear: Option<String>,
    standing: Option<String>,
    site: Option<String>,
    holder: Option<String>,
    kit: Option<String>,
    after: Option<String>,
    #[serde(default)]
    limit: u32,
}

async fn pieces(Shared(site): Shared, asked: Result<Query<Pieces>, QueryRejection>) -> Answered {
    let Query(Pieces { text, gear, standing, site: place, holder, kit, after, limit }) = asked?;
    let filter = Filter { text, gear, standing, site: place, holder, kit, model: None, after, limit };
    Ok(Json(site.rack.list(&filter).await?.json))
}

async fn piece(Shared(site): Shared, Path(label): Path<String>) -> Answered {
    Ok(Json(site.rack.show(&label).await?.json))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Due {
    #[serde(default)]
    within: u32,
    site: Option<String>,
    #[serde(default)]
    limit: u32,
}

async fn due(Shared(site): Shared, asked: Result<Query<Due>, QueryRejection>) -> Answered {
    let Query(due) = asked?;
    Ok(Json(site.rack.due(due.within, due.site.as_deref(), due.limit).await?.json))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Marking {
    text: String,
}

/// A marking read, with its plate drawn.
async fn marking(asked: Result<Query<Marking>, QueryRejection>) -> Answered {
    let Query(Marking { text }) = asked?;
    let mut answer: Value = serde_json::from_str(&desk::reading::json(&text)).unwrap_or_default();
    answer["plate"] = json!(desk::reading::svg(&text));
    Ok(Json(answer))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RigText {
    text: String,
    change: Option<Change>,
}

type Rig = Result<Json<RigText>, JsonRejection>;

/// A rig with the numbers as typed, at once; it is changed first where that is asked.
async fn quick(Shared(site): Shared, asked: Rig) -> Answered {
    on_board(&site, asked, Board::quick).await
}

/// A rig with its bands, findings and what would help, and its drawing in the units of whoever asks.
async fn check(Shared(site): Shared, Chosen(units): Chosen, asked: Rig) -> Answered {
    on_board(&site, asked, move |board| board.check(units)).await
}

async fn on_board(
    site: &Site,
    asked: Rig,
    what: impl FnOnce(Board) -> Result<Value, NotDrawn> + Send + 'static,
) -> Answered {
    let Json(RigText { text, change }) = asked?;
    Ok(Json(drawn(site, text, change, what).await?))
}

/// What becomes of a rig with the pieces of the rack that it names. It is computed beside the server, so that no request waits for
/// another's rig.
pub async fn drawn<T: Send + 'static>(
    site: &Site,
    text: String,
    change: Option<Change>,
    what: impl FnOnce(Board) -> Result<T, NotDrawn> + Send + 'static,
) -> Result<T, Problem> {
    let mut board = computed(move || Board::read(&text, change.as_ref())).await?;
    site.rack.lend(&mut board.read.rig).await?;
    computed(move || what(board)).await
}

async fn computed<T: Send + 'static>(
    what: impl FnOnce() -> Result<T, NotDrawn> + Send + 'static,
) -> Result<T, Problem> {
    let done = tokio::task::spawn_blocking(what).await.map_err(|why| Problem::Unreadable(why.to_string()))?;
    done.map_err(Problem::NotDrawn)
}
