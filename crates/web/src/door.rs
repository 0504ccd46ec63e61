//! The door where people sign in: whose request it is, and whether they may.

use crate::problem::Problem;
use crate::rights::Need;
use crate::{Shared, Site};
use axum::extract::{MatchedPath, Request};
use axum::http::HeaderMap;
use axum::http::header::COOKIE;
use desk::rack::accounts::{LONGEST_MS, Visitor};
use std::sync::Arc;

/// Who is signed in, as a page has to know it.
pub struct Guest {
    /// As the log names them.
    pub person: String,
    /// What they are called.
    pub name: String,
    /// Whether they keep the rack.
    pub keeps: bool,
    /// What their browser holds.
    pub secret: String,
}

/// What a request asks of the door.
pub struct Asked {
    need: Need,
    /// What its browser holds.
    secret: Option<String>,
    /// Where it leads once somebody has signed in.
    to: String,
}

impl Asked {
    /// Of what stands in no table nothing is asked: it is not there.
    pub fn by(site: &Site, request: &Request) -> Result<Self, Problem> {
        let path = request.extensions().get::<MatchedPath>().map(MatchedPath::as_str);
        let need = match path {
            Some(path) => Need::of(path, request.method()).ok_or_else(|| Problem::NoSuchPage(path.to_owned()))?,
            // Nothing is routed there, which is told to those alone who may look around.
            None => Need::Look,
        };
        let asked = request.uri().path_and_query().map_or("/", |asked| asked.as_str());
        // What was sent is not sent again by itself.
        let to = if request.method().is_safe() { asked } else { "/" };
        Ok(Self { need, secret: shown(site, request.headers()).map(str::to_owned), to: to.to_owned() })
    }
}

/// The site as whoever asks sees it, where they may do what they ask for.
pub async fn admit(site: &Arc<Site>, asked: Asked) -> Result<Arc<Site>, Problem> {
    let Asked { need, secret, to } = asked;
    let nobody = || if need == Need::Anybody { Ok(Arc::clone(site)) } else { Err(Problem::NotSignedIn { to }) };
    if need == Need::Nothing {
        return Ok(Arc::clone(site));
    }
    let Some(secret) = secret else { return nobody() };
    match site.rack.visitor(&secret).await? {
        None => nobody(),
        Some(visitor) if need.is_met_by(&visitor) => Ok(Arc::new(site.seen_by(visitor, secret))),
        Some(Visitor { rack, name, .. }) => {
            let right = need.right().unwrap_or_default();
            Err(Problem::MayNot { name, right, who: rack.who_may(right).await? })
        }
    }
}

/// The name of the cookie that holds the secret; one that is bound to this very host where the browser allows it.
fn cookie(site: &Site) -> &'static str {
    if site.reach.is_tls { "__Host-sign-in" } else { "sign-in" }
}

fn shown<'r>(site: &Site, headers: &'r HeaderMap) -> Option<&'r str> {
    let cookies = headers.get_all(COOKIE).iter().filter_map(|cookies| cookies.to_str().ok());
    let mut pairs = cookies.flat_map(|cookies| cookies.split(';')).filter_map(|one| one.trim().split_once('='));
    pairs.find(|(name, _)| *name == cookie(site)).map(|(_, secret)| secret)
}

/// What a browser is told to hold, until the sign-in runs out; an empty secret takes it away.
pub fn held(site: &Site, secret: &str) -> String {
    let secure = if site.reach.is_tls { "; Secure" } else { "" };
    let age_s = if secret.is_empty() { 0 } else { LONGEST_MS / 1000 };
    format!("{}={secret}; Path=/; Max-Age={age_s}; HttpOnly; SameSite=Strict{secure}", cookie(site))
}

impl<S: Sync> axum::extract::FromRequestParts<S> for Shared {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut axum::http::request::Parts, _: &S) -> Result<Self, Problem> {
        // The guard put it there, or nobody came through the guard.
        parts.extensions.get::<Arc<Site>>().cloned().map(Self).ok_or(Problem::OtherHost)
    }
}
