//! The pages and the JSON interface: requests in, use cases of [`desk`] called, HTML and JSON out. No formula and no rule stands
//! here, and no word: those are in the desk's file of texts.
//!
//! Everything that a page needs is inside the program; nothing is fetched from elsewhere.

mod api;
mod assets;
mod begin;
mod form;
mod guard;
mod handbook;
mod in_hand;
mod layout;
mod outings;
mod problem;
mod rack;
mod rigs;
mod serve;
mod typed;

pub use serve::{Place, ServeError, asked_to_stop, serve};

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::get;
use desk::Surroundings;
use desk::rack::Rack;
use desk::texts;
use std::sync::Arc;
use tower_http::compression::CompressionLayer;

/// The largest upload, bytes: a photo of a good camera, or the sheet of a large rack.
const LARGEST_BODY: usize = 40_000_000;

/// What every request can reach.
pub struct Site {
    pub(crate) rack: Rack<'static>,
    pub(crate) outside: &'static dyn Surroundings,
    /// Who writes, as they are called.
    pub(crate) writer: String,
    /// What every form must give back; nobody else can know it.
    pub(crate) token: String,
    /// The names under which the pages may be asked for, with the port.
    hosts: Vec<String>,
}

impl Site {
    /// The site of a rack on which `writer` writes; it answers to `hosts` alone.
    #[must_use]
    pub fn new(rack: Rack<'static>, outside: &'static dyn Surroundings, writer: String, hosts: Vec<String>) -> Self {
        let bytes = [outside.random(), outside.random()].concat();
        let token = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
        Self { rack, outside, writer, token, hosts }
    }

    /// Ends it, once what was begun is done.
    pub async fn close(self) {
        self.rack.close().await;
    }
}

type Shared = axum::extract::State<Arc<Site>>;

/// All pages and the interface, guarded.
pub fn app(site: Arc<Site>) -> Router {
    Router::new()
        .route("/", get(begin::home))
        .merge(begin::routes())
        .merge(rack::routes())
        .merge(rigs::routes())
        .merge(outings::routes())
        .route("/handbook", get(handbook::handbook))
        .nest("/api", api::routes())
        .route("/assets/{name}", get(assets::asset))
        .fallback(problem::no_such_page)
        .layer(DefaultBodyLimit::max(LARGEST_BODY))
        .layer(axum::middleware::from_fn_with_state(Arc::clone(&site), guard::guard))
        .layer(CompressionLayer::new())
        .with_state(site)
}

/// A line of a page.
fn word(code: &str) -> String {
    texts::page(code, &[])
}

/// A line of a page with its one value.
fn line(code: &str, value: impl ToString) -> String {
    texts::page(code, &[("value", value.to_string())])
}
