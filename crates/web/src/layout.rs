//! What every page has: its head, the way around, its title block, and the cautions.

use crate::{line, word};
use desk::texts;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};

/// A room of the pages, as named in the way around.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Room {
    None,
    Rack,
    Due,
    Kits,
    Rigs,
    Outings,
    Cases,
    Log,
    Group,
    Handbook,
    Cliff,
}

impl Room {
    const SHOWN: [(Self, &'static str, &'static str); 10] = [
        (Self::Rack, "/rack", "nav-rack"),
        (Self::Due, "/due", "nav-due"),
        (Self::Kits, "/kits", "nav-kits"),
        (Self::Rigs, "/rigs", "nav-rigs"),
        (Self::Outings, "/outings", "nav-outings"),
        (Self::Cases, "/cases", "nav-cases"),
        (Self::Log, "/log", "nav-log"),
        (Self::Group, "/group", "nav-group"),
        (Self::Handbook, "/handbook", "nav-handbook"),
        (Self::Cliff, "/waiting", "nav-cliff"),
    ];
}

tokio::task_local! {
    /// Who is signed in, while a request of theirs is answered: every page tells it, and the pages of what went wrong.
    static WHO: String;
}

/// Answers a request of somebody who is signed in.
pub async fn told_who<T>(name: String, answer: impl Future<Output = T>) -> T {
    WHO.scope(name, answer).await
}

fn who() -> Option<String> {
    WHO.try_with(Clone::clone).ok()
}

/// A page of a room.
pub fn page(here: Room, title: &str, body: Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " · Linkwright" }
                link rel="stylesheet" href="/assets/style.css";
                link rel="manifest" href="/manifest.webmanifest" crossorigin="use-credentials";
                link rel="icon" href="/assets/icon.svg" type="image/svg+xml";
                script type="module" src="/assets/pages.js" {}
            }
            body {
                a.skip href="#main" { (word("skip")) }
                header {
                    a.mark href="/" { "Linkwright" }
                    nav aria-label=(word("nav")) {
                        @for (room, path, code) in Room::SHOWN {
                            a href=(path) aria-current=[(room == here).then_some("page")] { (word(code)) @if room == Room::Cliff { " " span.count data-count hidden {} } }
                        }
                    }
                    @if let Some(name) = who() { p.who { a href="/me" { (line("signed-in", name)) } } }
                }
                main #main {
                    p.alert data-as-kept hidden { (word("as-kept")) " " span data-at {} }
                    h1 { (title) } (body)
                }
                footer {
                    p.caption { (texts::rack("cautions", &[])) }
                    ul { @for caution in texts::cautions() { li { (caution) } } }
                    p.units { a href="/units" { (word("units")) } }
                }
            }
        }
    }
}

/// A drawing of ours inside a page.
pub fn drawing(svg: &str) -> Markup {
    html! { figure.sheet tabindex="0" aria-label=(word("drawing")) { (PreEscaped(svg)) } }
}

/// A drawing of what is stamped on a piece: no unit of it is another one's.
pub fn stamped(svg: &str) -> Markup {
    html! { figure.sheet data-as-written tabindex="0" aria-label=(word("drawing")) { (PreEscaped(svg)) } }
}

/// All but what a part of an address may hold as it is.
const PART: &AsciiSet = &NON_ALPHANUMERIC.remove(b'-').remove(b'_').remove(b'.').remove(b'~');

/// A text as one part of an address.
pub fn part(text: &str) -> String {
    utf8_percent_encode(text, PART).to_string()
}

/// An address with what is asked of it; what is empty is left out.
pub fn address(path: &str, asked: &[(&str, &str)]) -> String {
    let asked: Vec<_> = asked.iter().filter(|(_, value)| !value.is_empty()).collect();
    let pairs: Vec<_> = asked.iter().map(|(name, value)| format!("{name}={}", part(value))).collect();
    if pairs.is_empty() { path.to_owned() } else { format!("{path}?{}", pairs.join("&")) }
}
