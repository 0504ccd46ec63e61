//! What each address asks of whoever opens it, where people sign in: one table, by which the guard lets in or refuses. What stands in no row
//! is refused.

use Need::{Anybody, Keep, Log, Look, Nothing};
use axum::http::Method;
use desk::rack::accounts::Visitor;
use register::group::KEEP;

/// What somebody must be let to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// Nothing, and nobody is asked who they are: files of the program itself.
    Nothing,
    /// Nothing; but who is signed in is greeted.
    Anybody,
    /// To look: whoever is signed in.
    Look,
    /// To write down what happened: who has the right `log`. What an entry signs for is looked at once more where it is written.
    Log,
    /// To keep the rack: who was given the right `keep`.
    Keep,
}

/// An address, what it takes to open it, and what to send something there; nothing where that cannot be done.
#[derive(Debug, Clone, Copy)]
pub struct Route {
    /// As it is routed.
    pub path: &'static str,
    /// What opening it asks for.
    pub look: Option<Need>,
    /// What sending a form or a question there asks for.
    pub send: Option<Need>,
}

const fn look(path: &'static str, need: Need) -> Route {
    Route { path, look: Some(need), send: None }
}

const fn send(path: &'static str, need: Need) -> Route {
    Route { path, look: None, send: Some(need) }
}

const fn both(path: &'static str, look: Need, send: Need) -> Route {
    Route { path, look: Some(look), send: Some(send) }
}

/// Every address there is.
pub const ROUTES: &[Route] = &[
    look("/assets/{name}", Nothing),
    look("/manifest.webmanifest", Nothing),
    look("/worker.js", Nothing),
    look("/api/openapi.json", Nothing),
    both("/sign-in", Anybody, Anybody),
    look("/waiting", Anybody),
    look("/waiting/who", Anybody),
    send("/sign-out", Look),
    look("/me", Look),
    send("/me/password", Look),
    send("/me/sign-out-everywhere", Look),
    both("/accounts", Keep, Keep),
    send("/accounts/password", Keep),
    send("/accounts/end", Keep),
    send("/accounts/remove", Keep),
    look("/", Look),
    look("/handbook", Look),
    both("/units", Look, Look),
    look("/begin", Look),
    send("/begin/example", Keep),
    both("/begin/sheet", Look, Keep),
    look("/rack", Look),
    look("/rack.csv", Look),
    look("/models", Look),
    look("/models/{model}", Look),
    both("/rack/new", Look, Keep),
    look("/piece/{label}", Look),
    both("/piece/{label}/wear", Look, Log),
    both("/piece/{label}/correct", Look, Keep),
    both("/piece/{label}/part", Look, Log),
    both("/piece/{label}/divide", Look, Keep),
    look("/photo/{entry}/{place}", Look),
    look("/take-along", Look),
    look("/log", Look),
    both("/log/new", Look, Log),
    both("/log/{entry}/correct", Look, Log),
    send("/log/take-back", Log),
    both("/inspect", Look, Log),
    look("/due", Look),
    look("/due.ics", Look),
    both("/kits", Look, Keep),
    look("/kits/{label}", Look),
    send("/kits/{label}/out", Log),
    send("/kits/{label}/back", Log),
    look("/cases", Look),
    send("/incidents", Log),
    send("/recalls", Keep),
    look("/cases/{entry}", Look),
    send("/cases/{entry}/settle", Keep),
    send("/cases/{entry}/close", Keep),
    look("/group", Look),
    send("/people", Keep),
    send("/people/allow", Keep),
    send("/people/erase", Keep),
    both("/policy", Look, Keep),
    both("/policy/change", Look, Keep),
    look("/rigs", Look),
    look("/rigs/board", Look),
    look("/rigs/begin", Look),
    look("/rigs/scene", Look),
    send("/rigs/out", Look),
    both("/outings", Look, Look),
    send("/outings/out", Log),
    send("/outings/close", Log),
    look("/labels", Look),
    look("/sheet/labels", Look),
    look("/sheet/teaching-card", Look),
    look("/sheet/inspection-record", Look),
    look("/sheet/pack-list", Look),
    look("/sheet/case", Look),
    look("/sheet/measuring", Look),
    look("/api/pieces", Look),
    look("/api/pieces/{label}", Look),
    look("/api/due", Look),
    look("/api/marking", Look),
    send("/api/rig/quick", Look),
    send("/api/rig/check", Look),
    send("/api/outing/swap", Look),
];

impl Need {
    /// What a request of this method to an address as routed asks for; `None` where no row says.
    pub fn of(path: &str, method: &Method) -> Option<Self> {
        let route = ROUTES.iter().find(|route| route.path == path)?;
        // What the address does not do is refused behind the guard, to those alone who may look.
        Some(if method.is_safe() { route.look } else { route.send }.unwrap_or(Look))
    }

    /// Whether somebody who is signed in may.
    pub const fn is_met_by(self, visitor: &Visitor<'_>) -> bool {
        match self {
            Nothing | Anybody | Look => true,
            Log => visitor.may_log,
            Keep => visitor.keeps,
        }
    }

    /// The right that it asks for, where it asks for one.
    pub const fn right(self) -> Option<&'static str> {
        match self {
            Nothing | Anybody | Look => None,
            Log => Some("log"),
            Keep => Some(KEEP),
        }
    }
}
