//! What cannot be done, told on a page or as JSON: what is wrong, and what would be right.

use crate::layout::{Room, page};
use crate::{line, sign_in, word};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use desk::board::NotDrawn;
use desk::outing::NotPlanned;
use desk::rack::{Fault, Refused};
use desk::sheets::SheetTrouble;
use desk::texts::{self, Read};
use maud::{Markup, html};
use serde_json::{Value, json};

/// One thing that is wrong, and what would be right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wrong {
    pub what: String,
    pub help: String,
    /// Line and column in what was typed, from 1.
    pub at: Option<[usize; 2]>,
}

impl Wrong {
    pub const fn new(what: String, help: String) -> Self {
        Self { what, help, at: None }
    }
}

/// Why a request is not answered as asked.
#[derive(Debug)]
pub enum Problem {
    /// It came under a name that is not ours.
    OtherHost,
    /// It came from a page that is not ours.
    OtherOrigin,
    /// A form without its token, or with an old one.
    NoToken,
    /// It comes from somebody who was not let in.
    NoPass,
    /// Nobody is signed in who could ask for it; once somebody is, that page is opened.
    NotSignedIn { to: String },
    /// Who is signed in has not the right; these have.
    MayNot { name: String, right: &'static str, who: String },
    /// The form was filled in as somebody else, or by nobody.
    OtherWriter,
    /// What it says was written before, as this entry.
    Written(i64),
    /// There is no such page.
    NoSuchPage(String),
    /// What was sent cannot be read.
    Unreadable(String),
    /// The body cannot be taken: too large, or of another kind.
    Rejected(StatusCode, String),
    /// That cannot be done at this address.
    WrongMethod,
    /// A rig is at fault.
    NotDrawn(NotDrawn),
    /// An outing is at fault, or cannot be planned.
    NotPlanned(NotPlanned),
    /// A sheet cannot be printed.
    NotPrinted(SheetTrouble),
    /// The desk refused it.
    Refused(Refused),
}

impl From<Refused> for Problem {
    fn from(refused: Refused) -> Self {
        Self::Refused(refused)
    }
}

impl From<NotPlanned> for Problem {
    fn from(not: NotPlanned) -> Self {
        Self::NotPlanned(not)
    }
}

impl From<Fault> for Problem {
    fn from(fault: Fault) -> Self {
        Self::Refused(fault.into())
    }
}

/// Whether something that was named is not there; a word that is none of a list is a slip of another kind.
fn is_missing(fault: &Fault) -> bool {
    fault.code.starts_with("no-such-") && fault.code != "no-such-word"
}

/// All that the desk says against it.
pub fn wrongs(refused: &Refused) -> Vec<Wrong> {
    let of = |(what, help): (String, String)| Wrong::new(what, help);
    match refused {
        Refused::Fault(fault) => vec![of(fault.words(Read::OnPage))],
        Refused::Store(error) => vec![Wrong::new(error.to_string(), word("store-help"))],
        Refused::Sheet { path, wrong } => wrong
            .iter()
            .map(|wrong| {
                let (what, help) = wrong.fault.words(Read::OnPage);
                let column = wrong.column.as_ref().map(|column| format!(" {column}:")).unwrap_or_default();
                Wrong::new(format!("{path}:{}:{column} {what}", wrong.line), help)
            })
            .collect(),
    }
}

/// All that is wrong with a file.
fn file_wrongs(wrongs: Vec<desk::checking::Wrong>) -> Vec<Wrong> {
    wrongs.into_iter().map(|(what, help, at)| Wrong { what, help, at }).collect()
}

/// What is wrong, as a part of a page.
pub fn told(wrongs: &[Wrong]) -> Markup {
    html! {
        div.wrong role="alert" {
            @for wrong in wrongs { p { @if let Some([line, column]) = wrong.at { (line) ":" (column) " " } strong { (wrong.what) } @if !wrong.help.is_empty() { br; (wrong.help) } } }
        }
    }
}

impl Problem {
    pub fn status(&self) -> StatusCode {
        match self {
            Self::OtherHost => StatusCode::MISDIRECTED_REQUEST,
            Self::OtherOrigin | Self::NoToken | Self::MayNot { .. } => StatusCode::FORBIDDEN,
            Self::NoPass | Self::NotSignedIn { .. } => StatusCode::UNAUTHORIZED,
            Self::OtherWriter => StatusCode::CONFLICT,
            Self::Written(_) => StatusCode::SEE_OTHER,
            Self::NoSuchPage(_) => StatusCode::NOT_FOUND,
            Self::Unreadable(_) => StatusCode::BAD_REQUEST,
            Self::Rejected(status, _) => *status,
            Self::NotPrinted(SheetTrouble::Helper(_)) => StatusCode::NOT_IMPLEMENTED,
            Self::NotPrinted(SheetTrouble::Template(_)) => StatusCode::INTERNAL_SERVER_ERROR,
            Self::WrongMethod => StatusCode::METHOD_NOT_ALLOWED,
            Self::Refused(Refused::Fault(fault)) if is_missing(fault) => StatusCode::NOT_FOUND,
            Self::Refused(Refused::Store(_)) => StatusCode::INTERNAL_SERVER_ERROR,
            Self::NotDrawn(_) | Self::NotPlanned(_) | Self::Refused(_) => StatusCode::UNPROCESSABLE_ENTITY,
        }
    }

    pub fn wrongs(&self) -> Vec<Wrong> {
        let one = |what: String, help: &str| vec![Wrong::new(what, word(help))];
        match self {
            Self::OtherHost => one(word("other-host"), "other-host-help"),
            Self::OtherOrigin => one(word("other-origin"), "other-origin-help"),
            Self::NoToken => one(word("no-token"), "no-token-help"),
            Self::NoPass => one(word("no-pass"), "no-pass-help"),
            Self::NotSignedIn { .. } => one(word("not-signed-in"), "not-signed-in-help"),
            Self::MayNot { name, right, who } => {
                let what = texts::page(&format!("may-not-{right}"), &[("name", name.clone())]);
                vec![Wrong::new(what, line("may-not-help", who))]
            }
            Self::OtherWriter => one(word("other-writer"), "other-writer-help"),
            Self::Written(_) => Vec::new(),
            Self::NoSuchPage(path) => one(line("no-such-page", path), "no-such-page-help"),
            Self::Unreadable(why) | Self::Rejected(_, why) => {
                one(line("unreadable-request", why), "unreadable-request-help")
            }
            Self::WrongMethod => one(word("wrong-method"), "no-such-page-help"),
            Self::NotPrinted(trouble) => vec![Wrong::new(trouble.to_string(), trouble.help())],
            Self::NotDrawn(not) => file_wrongs(not.wrongs()),
            Self::NotPlanned(not) => file_wrongs(not.wrongs()),
            Self::Refused(refused) => wrongs(refused),
        }
    }

    /// The same for programs.
    pub fn json(&self) -> Value {
        let wrong = |wrong: &Wrong| json!({ "what": wrong.what, "help": wrong.help, "at": wrong.at });
        json!({ "wrong": self.wrongs().iter().map(wrong).collect::<Vec<_>>() })
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        if let Self::Written(entry) = self {
            return Redirect::to(&format!("/log?before={}#entry-{entry}", entry + 1)).into_response();
        }
        if let Self::NotSignedIn { to } = &self {
            return (self.status(), sign_in::asked(to, "", &self.wrongs())).into_response();
        }
        (self.status(), page(Room::None, &word("problem"), told(&self.wrongs()))).into_response()
    }
}

pub async fn no_such_page(uri: Uri) -> Problem {
    Problem::NoSuchPage(uri.path().to_owned())
}
