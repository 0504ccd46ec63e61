//! Who may ask: pages of this program alone, under the names it answers to; and what a browser may do with an answer.

use crate::api::Trouble;
use crate::problem::Problem;
use crate::{Site, door, layout};
use axum::extract::{Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, COOKIE, HOST, HeaderMap, HeaderName, HeaderValue, ORIGIN, REFERRER_POLICY,
    SET_COOKIE, X_CONTENT_TYPE_OPTIONS,
};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use base64::Engine;
use base64::prelude::BASE64_STANDARD;
use sha2::{Digest, Sha256};
use std::sync::{Arc, LazyLock};

/// Nothing but what this program itself sends; drawings bring their one style sheet, which is known by its hash.
static POLICY: LazyLock<HeaderValue> = LazyLock::new(|| {
    let hash = BASE64_STANDARD.encode(Sha256::digest(draw::svg::style_element()));
    let policy = format!(
        "default-src 'none'; script-src 'self'; style-src 'self' 'sha256-{hash}'; img-src 'self' data: blob:; \
         connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; \
         frame-ancestors 'none'"
    );
    HeaderValue::from_str(&policy).unwrap_or_else(|fault| panic!("the content policy: {fault}"))
});

/// Tells the worker whose pages these are.
const PERSON: HeaderName = HeaderName::from_static("linkwright-person");
const SITE_OF_REQUEST: HeaderName = HeaderName::from_static("sec-fetch-site");

/// Refuses what comes under another name or from another origin, and tells the browser what an answer may do.
pub async fn guard(State(site): State<Arc<Site>>, request: Request, next: Next) -> Response {
    let mut response = match refused(&site, &request) {
        Some(problem) => problem.into_response(),
        None if site.guesses.is_some() => for_those_who_may(&site, request, next).await,
        None => for_those_with_the_pass(site, request, next).await,
    };
    let headers = response.headers_mut();
    headers.insert(CONTENT_SECURITY_POLICY, POLICY.clone());
    headers.insert(X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(REFERRER_POLICY, HeaderValue::from_static("same-origin"));
    headers.entry(CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

/// Answers who is signed in and may do what is asked for.
async fn for_those_who_may(site: &Arc<Site>, request: Request, next: Next) -> Response {
    let is_program = request.uri().path().starts_with("/api/");
    let admitted = match door::Asked::by(site, &request) {
        Ok(asked) => door::admit(site, asked).await,
        Err(problem) => Err(problem),
    };
    match admitted {
        Ok(site) => answer(site, request, next).await,
        Err(problem) if is_program => Trouble::from(problem).into_response(),
        Err(Problem::MayNot { name, right, who }) => {
            let told = async { Problem::MayNot { name: name.clone(), right, who }.into_response() };
            layout::told_who(name.clone(), told).await
        }
        Err(problem) => problem.into_response(),
    }
}

async fn for_those_with_the_pass(site: Arc<Site>, request: Request, next: Next) -> Response {
    match admitted(&site, &request) {
        Admitted::No => Problem::NoPass.into_response(),
        Admitted::Now(cookie) => ([(SET_COOKIE, cookie)], Redirect::to(request.uri().path())).into_response(),
        Admitted::Yes => answer(site, request, next).await,
    }
}

/// Goes on with the site as whoever asks sees it; pages tell who that is.
async fn answer(site: Arc<Site>, mut request: Request, next: Next) -> Response {
    let Some(guest) = &site.guest else {
        request.extensions_mut().insert(site);
        return next.run(request).await;
    };
    let (name, person) = (guest.name.clone(), HeaderValue::from_str(&guest.person));
    request.extensions_mut().insert(site);
    let mut response = layout::told_who(name, next.run(request)).await;
    // A browser keeps pages of one person at a time.
    response.headers_mut().extend(person.ok().map(|person| (PERSON, person)));
    response
}

fn refused(site: &Site, request: &Request) -> Option<Problem> {
    let headers = request.headers();
    let host = text(headers, &HOST).or_else(|| request.uri().authority().map(|authority| authority.as_str()));
    if !host.is_some_and(|host| site.reach.answers_to(host)) {
        return Some(Problem::OtherHost);
    }
    let asks_only = request.method().is_safe();
    (!asks_only && !is_from_here(site, headers)).then_some(Problem::OtherOrigin)
}

/// A browser says where a form or a script came from; a program that is none says nothing.
fn is_from_here(site: &Site, headers: &HeaderMap) -> bool {
    let same_site = text(headers, &SITE_OF_REQUEST).is_none_or(|from| matches!(from, "same-origin" | "none"));
    let same_origin = headers.get(ORIGIN).is_none_or(|origin| {
        let origin = origin.to_str().unwrap_or_default();
        let scheme = if site.reach.is_tls { "https://" } else { "http://" };
        origin.strip_prefix(scheme).is_some_and(|host| site.reach.answers_to(host))
    });
    same_site && same_origin
}

fn text<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    headers.get(name).and_then(|value| value.to_str().ok())
}

/// Whether somebody may come in.
enum Admitted {
    Yes,
    /// The address holds the pass; the browser is given this to show from now on.
    Now(String),
    No,
}

/// How long a browser keeps the pass, seconds: the longest that browsers keep anything (RFC 6265bis).
const KEPT_S: u32 = 400 * 24 * 3600;

fn admitted(site: &Site, request: &Request) -> Admitted {
    let Some(pass) = &site.reach.pass else { return Admitted::Yes };
    // By their digests, so that the time it takes tells nothing.
    let is_it = |shown: &str| Sha256::digest(shown) == Sha256::digest(pass);
    let cookies = text(request.headers(), &COOKIE).unwrap_or_default();
    if cookies.split(';').filter_map(|one| one.trim().strip_prefix("pass=")).any(is_it) {
        return Admitted::Yes;
    }
    let asked = request.uri().query().unwrap_or_default();
    let shown = asked.split('&').filter_map(|one| one.strip_prefix("pass=")).any(is_it);
    if shown && request.method().is_safe() {
        return Admitted::Now(format!("pass={pass}; Path=/; Max-Age={KEPT_S}; HttpOnly; Secure; SameSite=Lax"));
    }
    Admitted::No
}
