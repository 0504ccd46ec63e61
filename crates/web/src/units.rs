//! Values in the units that somebody chose, and times in their zone: at the last moment, in the page as it goes out. All else knows SI and UTC alone.
//!
//! ```text
//!   page in SI ─▶ text of elements: "5.3 to 8 kN" ─▶ "1190 to 1800 lbf"     what is stamped or typed stays as it is
//!              ─▶ fields of a unit: label, value ─▶ and what they are typed in goes back with the form
//! ```

use crate::form::{Field, Form, Kind};
use crate::layout::{Room, page};
use crate::problem::Problem;
use crate::typed::Typed;
use crate::{Shared, word};
use axum::body::{Body, to_bytes};
use axum::extract::Request;
use axum::http::header::{CONTENT_LENGTH, CONTENT_TYPE, COOKIE, HeaderMap, SET_COOKIE};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use maud::{Markup, html};
use std::borrow::Cow;
use terms::{Force, Length, Mass};

/// The cookie, and the field of a form, that names units.
pub const UNITS: &str = "units";
/// The cookie that names a time zone, as the browser knows it.
const ZONE: &str = "zone";
/// How long a browser keeps the choice, seconds: the longest that browsers keep anything (RFC 6265bis).
const KEPT_S: u32 = 400 * 24 * 3600;

/// What values are in on pages, where nobody chose otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    Kn,
    Mm,
    Cm,
    M,
    G,
    Kg,
}

impl Unit {
    const ALL: [Self; 6] = [Self::Kn, Self::Mm, Self::Cm, Self::M, Self::G, Self::Kg];

    /// As it is written.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Kn => "kN",
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::M => "m",
            Self::G => "g",
            Self::Kg => "kg",
        }
    }

    /// What takes its place.
    const fn other(self) -> &'static str {
        match self {
            Self::Kn => "lbf",
            Self::Mm | Self::Cm => "in",
            Self::M => "ft",
            Self::G => "oz",
            Self::Kg => "lb",
        }
    }

    fn other_of(self, value: f64) -> f64 {
        match self {
            Self::Kn => Force::from_kn(value).lbf(),
            Self::Mm => Length::from_mm(value).inches(),
            Self::Cm => Length::from_mm(10.0 * value).inches(),
            Self::M => Length::from_m(value).feet(),
            Self::G => Mass::from_g(value).ounces(),
            Self::Kg => Mass::from_kg(value).pounds(),
        }
    }

    fn of_other(self, value: f64) -> f64 {
        match self {
            Self::Kn => Force::from_lbf(value).kn(),
            Self::Mm => Length::from_inches(value).mm(),
            Self::Cm => Length::from_inches(value).mm() / 10.0,
            Self::M => Length::from_feet(value).m(),
            Self::G => Mass::from_ounces(value).g(),
            Self::Kg => Mass::from_pounds(value).kg(),
        }
    }

    /// The unit that the end of a label names: `Height, m`.
    pub fn at_end(label: &str) -> Option<(&str, Self)> {
        let (name, code) = label.rsplit_once(", ")?;
        Self::ALL.into_iter().find(|unit| unit.code() == code).map(|unit| (name, unit))
    }

    /// The unit in which a question asks for an answer: `How high is it, in m above the ground?`
    pub fn asked_in(question: &str) -> Option<Self> {
        let words: Vec<&str> = question.split([' ', ',', '?']).collect();
        let named = words.windows(2).filter(|pair| pair[0] == "in");
        named.filter_map(|pair| Self::ALL.into_iter().find(|unit| unit.code() == pair[1])).next()
    }

    fn coded(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|unit| unit.code() == code)
    }
}

/// For force, length and mass: whether it is shown in pounds-force, in inches and feet, in pounds and ounces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Units {
    lbf: bool,
    inches: bool,
    pounds: bool,
}

impl Units {
    /// As the cookie and the field of a form tell them; SI where they tell nothing.
    pub fn told(text: &str) -> Self {
        let has = |code: &str| text.split('.').any(|known| known == code);
        Self { lbf: has("lbf"), inches: has("in"), pounds: has("lb") }
    }

    fn text(self) -> String {
        let one = |chosen: bool, other: &'static str, own: &'static str| if chosen { other } else { own };
        [one(self.lbf, "lbf", "kN"), one(self.inches, "in", "mm"), one(self.pounds, "lb", "kg")].join(".")
    }

    const fn changes(self, unit: Unit) -> bool {
        match unit {
            Unit::Kn => self.lbf,
            Unit::Mm | Unit::Cm | Unit::M => self.inches,
            Unit::G | Unit::Kg => self.pounds,
        }
    }

    /// A value that was typed in these units, in the one that the rack keeps, to so many decimal places; what is no number as it was typed. Several
    /// numbers with a slash between them are as many values.
    pub fn typed(self, text: &str, unit: Unit, places: usize) -> String {
        if !self.changes(unit) {
            return text.to_owned();
        }
        let value = |part: &str| part.trim().replace(',', ".").parse::<f64>().ok().filter(|value| value.is_finite());
        let values: Option<Vec<String>> = text
            .split('/')
            .map(|part| value(part).map(|value| trimmed(&format!("{:.places$}", unit.of_other(value)))))
            .collect();
        values.map_or_else(|| text.to_owned(), |values| values.join("/"))
    }

    /// A value in SI as it stands in a field: as typed, to four digits.
    fn in_field(self, text: &str, unit: Unit) -> String {
        let one = |part: &str| {
            let value = part.trim().parse::<f64>().ok().filter(|value| value.is_finite());
            value.map_or_else(|| part.to_owned(), |value| trimmed(&to_digits(unit.other_of(value), 4)))
        };
        text.split('/').map(one).collect::<Vec<_>>().join("/")
    }
}

/// Without zeros that say nothing.
fn trimmed(text: &str) -> String {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text.to_owned() }
}

/// With so many digits that count.
#[allow(clippy::cast_possible_truncation)]
fn to_digits(value: f64, digits: i32) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let places = digits - 1 - value.abs().log10().floor() as i32;
    let step = 10_f64.powi(places);
    let rounded = (value * step).round() / step;
    format!("{rounded:.*}", usize::try_from(places).unwrap_or(0))
}

/// A number in another unit, with as many digits as it came with, and one more where its first digit has become smaller: otherwise 8 would come out as coarse as
/// 2000 (the rule of NIST SP 811, B.7, from memory).
fn converted(text: &str, unit: Unit) -> String {
    let Ok(value) = text.parse::<f64>() else { return text.to_owned() };
    let first = |text: &str| text.bytes().find(|byte| (b'1'..=b'9').contains(byte));
    let digits = text.bytes().filter(u8::is_ascii_digit).skip_while(|byte| *byte == b'0').count();
    let digits = i32::try_from(digits).unwrap_or(1);
    let other = unit.other_of(value);
    let became_less = first(&to_digits(other, digits)) < first(text);
    to_digits(other, digits + i32::from(became_less))
}

/// How somebody sees pages.
#[derive(Debug, Clone, Default)]
struct Shown {
    units: Units,
    zone: Option<TimeZone>,
}

/// What stands between numbers of one unit.
const BETWEEN: [&str; 6] = [" to ", " and ", " or ", "–", " … ", "/"];

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
            out += &self.text(text);
            let (tag, after) = tail.split_at(tail.find('>').map_or(tail.len(), |end| end + 1));
            let (inside, after) = after.split_at(if is_as_written(tag) { length_inside(tag, after) } else { 0 });
            out += &self.field(tag);
            out += &self.instant(tag, inside);
            rest = after;
        }
        out + &self.text(rest)
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

    /// A field of a unit: its value, and beside it what it is typed in.
    fn field<'t>(&self, tag: &'t str) -> Cow<'t, str> {
        let unit = attribute(tag, "data-unit").and_then(Unit::coded).filter(|unit| self.units.changes(*unit));
        let Some(unit) = unit else { return Cow::Borrowed(tag) };
        let value = attribute(tag, "value").unwrap_or_default();
        let shown = self.units.in_field(value, unit);
        let field = tag.replacen(&format!(" value=\"{value}\""), &format!(" value=\"{shown}\""), 1);
        Cow::Owned(format!("{field}<input type=\"hidden\" name=\"{UNITS}\" value=\"{}\">", self.units.text()))
    }

    /// A text: its numbers that a unit stands behind, and units that are asked for.
    fn text<'t>(&self, text: &'t str) -> Cow<'t, str> {
        if self.units == Units::default() {
            return Cow::Borrowed(text);
        }
        if let Some((name, unit)) = Unit::at_end(text).filter(|(_, unit)| self.units.changes(*unit)) {
            return Cow::Owned(format!("{name}, {}", unit.other()));
        }
        let mut out = String::with_capacity(text.len());
        let mut rest = text;
        let mut before = ' ';
        while let Some(next) = rest.chars().next() {
            let is_start = !(before.is_alphanumeric() || matches!(before, '.' | ',' | '-' | '#' | '&'));
            let read = if is_start { self.values(rest).or_else(|| self.asked(rest)) } else { None };
            let length = match read {
                Some((told, length)) => {
                    out += &told;
                    length
                }
                None => {
                    out.push(next);
                    next.len_utf8()
                }
            };
            before = rest[..length].chars().next_back().unwrap_or(' ');
            rest = &rest[length..];
        }
        Cow::Owned(out)
    }

    /// Numbers and their unit at the start of a text, converted; and how long they are.
    fn values(&self, text: &str) -> Option<(String, usize)> {
        let mut numbers: Vec<(&str, &str)> = vec![("", number(text)?)];
        let mut length = numbers[0].1.len();
        while let Some((between, more)) =
            BETWEEN.iter().find_map(|between| Some((*between, number(text[length..].strip_prefix(between)?)?)))
        {
            numbers.push((between, more));
            length += between.len() + more.len();
        }
        let unit = self.unit(text[length..].strip_prefix(' ')?)?;
        let told: String = numbers.iter().map(|(between, one)| format!("{between}{}", converted(one, unit))).collect();
        Some((format!("{told} {}", unit.other()), length + 1 + unit.code().len()))
    }

    /// `in m` at the start of a text, as a question asks.
    fn asked(&self, text: &str) -> Option<(String, usize)> {
        let unit = self.unit(text.strip_prefix("in ")?)?;
        Some((format!("in {}", unit.other()), "in ".len() + unit.code().len()))
    }

    /// A unit that is to be changed, at the start of a text, and not the beginning of another: no kN m, m/s or m².
    fn unit(&self, text: &str) -> Option<Unit> {
        let is_whole = |rest: &str| {
            let next = rest.chars().next();
            !next.is_some_and(|next| next.is_alphanumeric() || matches!(next, '/' | '·' | '_')) && !is_times_m(rest)
        };
        let found = Unit::ALL.into_iter().find(|unit| text.strip_prefix(unit.code()).is_some_and(is_whole));
        found.filter(|unit| self.units.changes(*unit))
    }
}

/// Whether another unit follows, as in `kN m`.
fn is_times_m(rest: &str) -> bool {
    rest.strip_prefix(" m").is_some_and(|rest| !rest.starts_with(char::is_alphanumeric))
}

/// The number at the start of a text.
fn number(text: &str) -> Option<&str> {
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let whole = digits(text);
    let part = text[whole..].strip_prefix('.').map_or(0, digits);
    let length = if part > 0 { whole + 1 + part } else { whole };
    (whole > 0).then(|| &text[..length])
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
    let text = Shown::of(&headers).units.text();
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
    let cookie = format!("{UNITS}={}; Path=/; Max-Age={KEPT_S}; SameSite=Lax{secure}", units.text());
    ([(SET_COOKIE, cookie)], Redirect::to("/units")).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all() -> Shown {
        Shown { units: Units::told("lbf.in.lb"), zone: TimeZone::get("America/New_York").ok() }
    }

    /// The exact factors by hand: 24 / 4.4482216 kN is 5395.4 lbf, 8 is 1798.5; 9.8 mm is 0.38583 in, 60 m 196.85 ft; 80 kg is 176.37 lb, 62 g 2.187 oz.
    #[test]
    fn numbers_before_a_unit_are_converted_with_their_digits() {
        for (text, told) in [
            ("Sees 5.3 to 8 kN.", "Sees 1190 to 1800 lbf."),
            ("24 kN", "5400 lbf"),
            ("of 9.8 mm, 60 m long", "of 0.386 in, 197 ft long"),
            ("80/70 kg", "176/154 lb"),
            ("62 g and 1.25 kg", "2.19 oz and 2.76 lb"),
            ("How high is it, in m above the ground?", "How high is it, in ft above the ground?"),
            ("Height, m", "Height, ft"),
            ("0 kN", "0 lbf"),
        ] {
            assert_eq!(all().text(text), told);
        }
    }

    #[test]
    fn what_is_no_value_of_a_unit_stays() {
        for text in
            ["3.2 kN m", "5 m/s", "C-24 mm", "12 m²", "60 minutes", "&#39;1", "in many ways", "2 gates", "at 14:30"]
        {
            assert_eq!(all().text(text), text);
        }
        let half = Shown { units: Units::told("kN.in.kg"), zone: None };
        assert_eq!(half.text("24 kN at 9.8 mm and 80 kg"), "24 kN at 0.386 in and 80 kg");
    }

    #[test]
    fn what_is_stamped_or_typed_stays_as_written() {
        let page = "<h1>5 m sling</h1><p>It bears 24 kN.</p><figure data-as-written><figure>8 kN</figure>24 kN</figure><textarea>9 mm</textarea>\
                    <a href=\"/piece/R\">60 m</a><p class=\"note\">2 kg</p><th scope=\"row\">60 m rope</th><td>60 m</td>";
        let told = page.replace("It bears 24 kN.", "It bears 5400 lbf.").replace("<td>60 m", "<td>197 ft");
        assert_eq!(all().page(page), told);
    }

    #[test]
    fn a_field_says_what_it_is_typed_in_and_comes_back_in_si() {
        let field = "<input data-unit=\"m\" name=\"height\" value=\"12\">";
        let told = "<input data-unit=\"m\" name=\"height\" value=\"39.37\"><input type=\"hidden\" name=\"units\" value=\"lbf.in.lb\">";
        assert_eq!(all().page(field), told);
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
