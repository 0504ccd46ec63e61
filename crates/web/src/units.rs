//! Pages in the units that somebody chose, and times in their zone: at the last moment, in the page as it goes out.
//!
//! ```text
//!   page in SI ─▶ text of elements: "5.3 to 8 kN" ─▶ "1190 to 1798 lbf"     what is stamped or typed stays as it is
//!              ─▶ fields of a unit: label, value ─▶ and what they are typed in goes back with the form
//! ```

use crate::form::{Field, Form, Kind};
use crate::layout::{Room, page};
use crate::problem::Problem;
use crate::typed::Typed;
use crate::{Shared, word};
use axum::body::{Body, to_bytes};
use axum::extract::{FromRequestParts, Request};
use axum::http::header::{CONTENT_LENGTH, CONTENT_TYPE, COOKIE, HeaderMap, SET_COOKIE};
use axum::http::request::Parts;
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
pub use desk::units::{Unit, Units};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use maud::{Markup, html};
use std::borrow::Cow;
use std::convert::Infallible;

/// The cookie, and the field of a form, that names units.
pub const UNITS: &str = "units";
/// The cookie that names a time zone, as the browser knows it.
const ZONE: &str = "zone";
/// How long a browser keeps the choice, seconds: the longest that browsers keep anything (RFC 6265bis).
const KEPT_S: u32 = 400 * 24 * 3600;

/// How somebody sees pages.
#[derive(Debug, Clone, Default)]
struct Shown {
    units: Units,
    zone: Option<TimeZone>,
}

impl Shown {
    fn of(headers: &HeaderMap) -> Self {
        let cookie = |name: &str| {
            let all = headers.get_all(COOKIE).iter().filter_map(|value| value.to_str().ok());
            let mut pairs = all.flat_map(|text| text.split(';')).filter_map(|one| one.trim().split_once('='));
            pairs.find(|(known, _)| *known == name).map(|(_, value)| value.to_owned())
        };
        let zone = cookie(ZONE).and_then(|name| TimeZone::get(&name).ok());
        Self { units: Units::told(&cookie(UNITS).unwrap_or_default()), zone }
    }

    fn changes_nothing(&self) -> bool {
        self.units == Units::default() && self.zone.is_none()
    }

    /// The page. It is our own, so that every `<` begins a tag and no attribute holds a `>`.
    fn page(&self, html: &str) -> String {
        let mut out = String::with_capacity(html.len() + html.len() / 16);
        let mut rest = html;
        while let Some((text, tail)) = rest.find('<').map(|start| rest.split_at(start)) {
            out += &self.units.text(text);
            let (tag, after) = tail.split_at(tail.find('>').map_or(tail.len(), |end| end + 1));
            let (inside, after) = after.split_at(if is_as_written(tag) { length_inside(tag, after) } else { 0 });
            out += &self.field(tag);
            out += &self.instant(tag, inside);
            rest = after;
        }
        out + &self.units.text(rest)
    }

    /// The text of a time, as it is in the zone.
    fn instant<'t>(&self, tag: &str, inside: &'t str) -> Cow<'t, str> {
        let instant = attribute(tag, "data-instant").and_then(|text| text.parse::<Timestamp>().ok());
        match (instant, &self.zone) {
            (Some(instant), Some(zone)) => {
                Cow::Owned(instant.to_zoned(zone.clone()).strftime("%Y-%m-%d %H:%M %Z").to_string())
            }
            _ => Cow::Borrowed(inside),
        }
    }

    /// A field of a unit, or of several with a slash between: its value, and beside it what it is typed in.
    fn field<'t>(&self, tag: &'t str) -> Cow<'t, str> {
        let codes = attribute(tag, "data-unit").unwrap_or_default();
        let each: Vec<Option<Unit>> = codes.split('/').map(Unit::coded).collect();
        if !each.iter().flatten().any(|unit| self.units.changes(*unit)) {
            return Cow::Borrowed(tag);
        }
        let value = attribute(tag, "value").unwrap_or_default();
        let shown = self.units.in_field_each(value, &each);
        let field = tag.replacen(&format!(" value=\"{value}\""), &format!(" value=\"{shown}\""), 1);
        Cow::Owned(format!("{field}<input type=\"hidden\" name=\"{UNITS}\" value=\"{}\">", self.units.code()))
    }
}

/// The units of whoever asks, for plots and sheets: those are made in them.
pub struct Chosen(pub Units);

impl<S: Sync> FromRequestParts<S> for Chosen {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        Ok(Self(Shown::of(&parts.headers).units))
    }
}

/// Elements whose text is somebody's own, or is quoted: what is stamped, typed or written by others.
fn is_as_written(tag: &str) -> bool {
    let names = ["<script", "<style", "<textarea", "<code", "<h1", "<title", "<time"];
    let marks = [" data-as-written", "class=\"source\"", "class=\"formula\"", "class=\"note\"", " href=\"/piece/"];
    let is_name = |name: &str| tag.strip_prefix(name).is_some_and(|rest| rest.starts_with([' ', '>']));
    names.into_iter().any(is_name)
        || tag.starts_with("<th scope=\"row\"")
        || marks.iter().any(|mark| tag.contains(mark))
}

/// How much of `after` stands inside the element that a tag opens.
fn length_inside(tag: &str, after: &str) -> usize {
    let name: String = tag.chars().skip(1).take_while(|letter| letter.is_alphanumeric()).collect();
    let (opens, closes) = (format!("<{name}"), format!("</{name}>"));
    let (mut at, mut depth) = (0, 1);
    while let Some(end) = after[at..].find(&closes) {
        depth += after[at..at + end].matches(&opens).count();
        depth -= 1;
        if depth == 0 {
            return at + end;
        }
        at += end + closes.len();
    }
    0
}

fn attribute<'t>(tag: &'t str, name: &str) -> Option<&'t str> {
    tag.split_once(&format!(" {name}=\""))?.1.split('"').next()
}

/// A time, in UTC until it is known where it is read.
pub fn instant(at: Timestamp) -> Markup {
    html! { time datetime=(at) data-instant=(at) { (at.strftime("%Y-%m-%d %H:%M UTC")) } }
}

/// Shows pages as somebody asked to see them.
pub async fn show(request: Request, next: Next) -> Response {
    let shown = Shown::of(request.headers());
    let response = next.run(request).await;
    let is_page = response.headers().get(CONTENT_TYPE).is_some_and(|kind| kind.as_bytes().starts_with(b"text/html"));
    if !is_page || shown.changes_nothing() {
        return response;
    }
    let (mut parts, body) = response.into_parts();
    let Ok(bytes) = to_bytes(body, usize::MAX).await else {
        return Problem::Unreadable(UNITS.to_owned()).into_response();
    };
    parts.headers.remove(CONTENT_LENGTH);
    Response::from_parts(parts, Body::from(shown.page(&String::from_utf8_lossy(&bytes))))
}

/// The page on which units are chosen.
pub async fn choose(Shared(site): Shared, headers: HeaderMap) -> Markup {
    let text = Shown::of(&headers).units.code();
    let chosen: Vec<(String, String)> =
        ["force", "length", "mass"].into_iter().map(str::to_owned).zip(text.split('.').map(str::to_owned)).collect();
    let field = |name: &str, codes: [&str; 2]| {
        let choices = codes.map(|code| (code.to_owned(), word(&format!("units-{code}"))));
        Field::new(name, word(&format!("units-{name}")), Kind::Choice(choices.to_vec()))
    };
    let fields = vec![field("force", ["kN", "lbf"]), field("length", ["mm", "in"]), field("mass", ["kg", "lb"])];
    let form = Form::new("/units", word("units-choose"), fields);
    page(
        Room::None,
        &word("units"),
        html! {
            p { (word("units-lead")) }
            (form.draw(&site, &Typed::asked(chosen), &[]))
            p.hint { (word("units-zone")) }
        },
    )
}

/// Keeps the choice in the browser.
pub async fn chosen(Shared(site): Shared, typed: Typed) -> Response {
    let units = Units::told(&["force", "length", "mass"].map(|name| typed.get(name)).join("."));
    let secure = if site.reach.is_tls { "; Secure" } else { "" };
    let cookie = format!("{UNITS}={}; Path=/; Max-Age={KEPT_S}; SameSite=Lax{secure}", units.code());
    ([(SET_COOKIE, cookie)], Redirect::to("/units")).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all() -> Shown {
        Shown { units: Units::told("lbf.in.lb"), zone: TimeZone::get("America/New_York").ok() }
    }

    #[test]
    fn what_is_stamped_or_typed_stays_as_written() {
        let page = "<h1>5 m sling</h1><p>It bears 24 kN.</p><figure data-as-written><figure>8 kN</figure>24 kN</figure><textarea>9 mm</textarea>\
                    <a href=\"/piece/R\">60 m</a><p class=\"note\">2 kg</p><th scope=\"row\">60 m rope</th><td>60 m</td>";
        let told = page.replace("It bears 24 kN.", "It bears 5395 lbf.").replace("<td>60 m", "<td>197 ft");
        assert_eq!(all().page(page), told);
    }

    #[test]
    fn a_field_says_what_it_is_typed_in_and_comes_back_in_si() {
        let field = "<input data-unit=\"m\" name=\"height\" value=\"12\">";
        let told = "<input data-unit=\"m\" name=\"height\" value=\"39.37\"><input type=\"hidden\" name=\"units\" value=\"lbf.in.lb\">";
        assert_eq!(all().page(field), told);
        let force = "<input data-unit=\"kN/degrees\" name=\"load\" value=\"6/10\">";
        assert!(all().page(force).contains("value=\"1349/10\""), "degrees are no force");
        let units = all().units;
        assert_eq!(units.typed("39.37", Unit::M, 3), "12");
        assert_eq!(units.typed("176/154", Unit::Kg, 1), "79.8/69.9");
        assert_eq!(units.typed("a lot", Unit::Kg, 1), "a lot");
        assert_eq!(Units::told("").typed("39,37", Unit::M, 3), "39,37", "what is SI is left to who reads it");
    }

    #[test]
    fn a_time_is_told_in_the_zone() {
        let page = "<time data-instant=\"2026-07-01T18:30:00Z\">2026-07-01 18:30 UTC</time>";
        assert_eq!(all().page(page), page.replace("2026-07-01 18:30 UTC", "2026-07-01 14:30 EDT"));
        assert_eq!(Shown::default().page(page), page);
    }
}
