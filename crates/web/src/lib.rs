//! The pages and the JSON interface: requests in, use cases of [`desk`] called, HTML and JSON out. No formula and no rule stands
//! here, and no word: those are in the desk's file of texts.
//!
//! Everything that a page needs is inside the program; nothing is fetched from elsewhere.

mod accounts;
mod api;
mod assets;
mod begin;
mod cliff;
mod door;
mod form;
mod guard;
mod guesses;
mod handbook;
mod in_hand;
mod layout;
mod outings;
mod problem;
mod rack;
mod report;
pub mod rights;
mod rigs;
mod serve;
mod sheets;
mod sign_in;
mod typed;
mod units;

pub use rack::KINDS;
pub use serve::{Door, Place, ServeError, asked_to_stop, serve};

use crate::door::Guest;
use crate::guesses::Guesses;
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::get;
use desk::Surroundings;
use desk::rack::Rack;
use desk::rack::accounts::Visitor;
use desk::texts;
use register::private::hex;
use sha2::{Digest, Sha256};
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
    pub(crate) reach: Arc<Reach>,
    /// The tries of passwords of late, where people sign in.
    pub(crate) guesses: Option<Arc<Guesses>>,
    /// Who is signed in.
    pub(crate) guest: Option<Guest>,
}

/// Who reaches the pages, and how.
pub struct Reach {
    /// The names under which they may be asked for, with the port.
    hosts: Vec<String>,
    /// Whether they come over HTTPS.
    pub(crate) is_tls: bool,
    /// What must be shown to come in; nothing on the loopback.
    pub(crate) pass: Option<String>,
}

impl Reach {
    /// Under some names, at a port.
    #[must_use]
    pub fn new(names: &[String], port: u16, is_tls: bool, pass: Option<String>) -> Self {
        let usual = if is_tls { 443 } else { 80 };
        let bare = names.iter().filter(|_| port == usual).cloned();
        let hosts = names.iter().map(|name| format!("{name}:{port}")).chain(bare).collect();
        Self { hosts, is_tls, pass }
    }

    pub(crate) fn answers_to(&self, host: &str) -> bool {
        self.hosts.iter().any(|known| known.eq_ignore_ascii_case(host))
    }
}

impl Site {
    /// The site of a rack on which `writer` writes.
    #[must_use]
    pub fn new(rack: Rack<'static>, outside: &'static dyn Surroundings, writer: String, reach: Reach) -> Self {
        let token = hex(&[outside.random(), outside.random()].concat());
        Self { rack, outside, writer, token, reach: Arc::new(reach), guesses: None, guest: None }
    }

    /// The same site for those alone who sign in.
    #[must_use]
    pub fn with_accounts(self) -> Self {
        Self { guesses: Some(Arc::new(Guesses::new())), ..self }
    }

    /// The site as somebody sees it who is signed in: they write, and its forms hold a token of this sign-in alone.
    fn seen_by(&self, visitor: Visitor<'static>, secret: String) -> Self {
        let Visitor { rack, person, name, keeps, .. } = visitor;
        Self {
            rack,
            outside: self.outside,
            writer: name.clone(),
            token: hex(&Sha256::digest(format!("form {secret}"))),
            reach: Arc::clone(&self.reach),
            guesses: self.guesses.clone(),
            guest: Some(Guest { person: person.0, name, keeps, secret }),
        }
    }

    /// Who writes what a form of this page says: an opaque word and a name where people sign in, and else nothing.
    fn as_whom(&self) -> String {
        self.guest.as_ref().map(|guest| format!("{} {}", guest.person, guest.name)).unwrap_or_default()
    }

    /// Ends it, once what was begun is done.
    pub async fn close(self) {
        self.rack.close().await;
    }
}

/// The site, as whoever sent the request sees it.
struct Shared(Arc<Site>);

/// All pages and the interface, guarded.
pub fn app(site: Arc<Site>) -> Router {
    let has_accounts = site.guesses.is_some();
    let accounts = if has_accounts { sign_in::routes().merge(accounts::routes()) } else { Router::new() };
    Router::new()
        .route("/", get(begin::home))
        .merge(begin::routes())
        .merge(rack::routes())
        .merge(rigs::routes())
        .merge(outings::routes())
        .merge(cliff::routes())
        .merge(sheets::routes())
        .merge(accounts)
        .route("/units", get(units::choose).post(units::chosen))
        .route("/handbook", get(handbook::handbook))
        .nest("/api", api::routes())
        .route("/assets/{name}", get(assets::asset))
        .fallback(problem::no_such_page)
        .layer(DefaultBodyLimit::max(LARGEST_BODY))
        .layer(axum::middleware::from_fn(units::show))
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
