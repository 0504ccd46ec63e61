//! What happened, told into the log; the log itself; slips taken back.

use super::piece::{Past, entry};
use super::{seen, to_entry};
use crate::form::{Field, Form, Kind, against, choices, token};
use crate::layout::{Room, address, page};
use crate::problem::{Problem, Wrong};
use crate::typed::{PHOTOS, Typed, Upload};
use crate::units::Unit;
use crate::{Shared, Site, word};
use axum::extract::Query;
use axum::response::{IntoResponse, Redirect, Response};
use desk::rack::Pick;
use desk::rack::fields::decimal;
use desk::rack::happen::{About, Anew, day_of_use};
use desk::texts;
use maud::{Markup, html};
use register::event::{Event, Reading};
use serde::Deserialize;
use trade::checklist;
use trade::duty::duties;
use trade::rack::exposures;

/// What can be told here, by the code of its kind of event.
pub const KINDS: [&str; 16] = [
    "used",
    "first-use",
    "dropped",
    "exposed",
    "cleaned",
    "measured",
    "repaired",
    "restricted",
    "quarantined",
    "handed-to",
    "returned",
    "lost",
    "found",
    "bought",
    "withdrawn",
    "destroyed",
];

/// Entries on a page of the log.
const ENTRIES: i64 = 50;

pub async fn blank(Shared(site): Shared, Query(asked): Query<Vec<(String, String)>>) -> Result<Markup, Problem> {
    draw(&site, &Typed::asked(asked), &[]).await
}

async fn draw(site: &Site, typed: &Typed, wrong: &[Wrong]) -> Result<Markup, Problem> {
    let what = typed.some("what").unwrap_or(KINDS[0]);
    if !KINDS.contains(&what) {
        return Err(Problem::NoSuchPage(what.to_owned()));
    }
    let people = super::group::names(site).await?;
    let other = |code: &str| address("/log/new", &[("what", code), ("labels", typed.get("labels"))]);
    Ok(page(
        Room::Log,
        &word("happened"),
        html! {
            nav.kinds aria-label=(word("what-happened")) {
                @for code in KINDS {
                    a href=(other(code)) aria-current=[(code == what).then_some("true")] { (texts::event(code)) }
                }
            }
            (form(what, people).draw(site, typed, wrong))
        },
    ))
}

fn form(what: &str, people: Vec<String>) -> Form {
    let labels = Field::new("labels", word("labels"), Kind::Line).hint(word("labels-hint"));
    let kit = Field::new("kit", word("or-kit"), Kind::Line);
    let last = [
        Field::new("on", word("day"), Kind::Day).hint(word("day-hint")),
        Field::new("note", word("note"), Kind::Lines),
        Field::new("photo", word("photo"), Kind::File(PHOTOS)),
    ];
    let fields = [Field::given("what", what), labels, kit].into_iter().chain(own_fields(what, people)).chain(last);
    Form::new("/log/new", word("write"), fields.collect())
}

fn own_fields(what: &str, people: Vec<String>) -> Vec<Field> {
    let coded = |name: &str, codes: Vec<(String, String)>| {
        Field::new(name, word(&format!("field-{name}")), choices(word("not-told"), codes.into_iter()))
    };
    let words = |name: &str| Field::new(name, word(&format!("field-{name}")), Kind::Line);
    let count = |name: &str| Field::new(name, word(&format!("field-{name}")), Kind::Count);
    let value = |name: &str, unit, places| Field::new(name, word(&format!("field-{name}")), Kind::Value(unit, places));
    match what {
        "used" => vec![
            coded("duty", duties().iter().map(|duty| (duty.name.clone(), duty.title.clone())).collect()),
            count("rappels"),
            count("lowers"),
            value("run", Unit::M, 0),
            count("falls"),
            value("force", Unit::Kn, 3),
            Field::new("severe", word("field-severe"), Kind::Tick),
        ],
        "dropped" => vec![value("height", Unit::M, 3), words("onto")],
        "exposed" => {
            let codes = exposures().iter().map(|one| (one.code.clone(), one.what.clone())).collect();
            vec![Field::new("to", word("field-exposed-to"), Kind::Choice(codes))]
        }
        "measured" => {
            let codes = ["groove", "diameter", "mass", "length"].map(|code| (code.to_owned(), code.to_owned()));
            let how = ["calliper", "photo", "scale"].map(|code| (code.to_owned(), code.to_owned()));
            vec![
                Field::new("measured", word("field-measured"), Kind::Choice(codes.to_vec())),
                Field::new("how", word("field-how"), Kind::Choice(how.to_vec())),
                value("mm", Unit::Mm, 3).required(),
            ]
        }
        "repaired" => {
            let points = checklist::points().map(|point| (point.code.clone(), point.name.clone()));
            vec![coded("part", points.collect()).required()]
        }
        "restricted" => vec![words("restrict").required()],
        "quarantined" | "withdrawn" => vec![words("why").required()],
        "handed-to" => {
            let people = people.into_iter().map(|name| (name.clone(), name)).collect();
            vec![coded("person", people).hint(word("person-hint")), words("site")]
        }
        "bought" => vec![words("supplier")],
        _ => Vec::new(),
    }
}

pub async fn write(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    match written(&site, &typed).await {
        Ok(done) => Ok(done.into_response()),
        Err(problem) => Ok(draw(&site, &typed, &against(problem)?).await?.into_response()),
    }
}

async fn written(site: &Site, typed: &Typed) -> Result<Redirect, Problem> {
    let labels = typed.get("labels");
    let pick =
        typed.owned("kit").filter(|_| labels.is_empty()).map_or_else(|| Pick::Labels(labels.to_owned()), Pick::Kit);
    let (on, note) = (typed.owned("on"), typed.owned("note"));
    let event = event(site, typed).await?;
    let answer = typed
        .rack(site)
        .log(&About { pick, on, note, photos: typed.uploads("photo").map(Upload::paper).collect() }, event)
        .await?;
    Ok(to_entry(labels, &answer))
}

async fn event(site: &Site, typed: &Typed) -> Result<Event, Problem> {
    let owned = |name: &str| typed.get(name).to_owned();
    Ok(match typed.get("what") {
        "used" => day_of_use(
            typed.owned("duty"),
            typed.count("rappels")?,
            typed.count("lowers")?,
            typed.count_of("run", Unit::M)?,
            typed.count("falls")?,
            typed.some_value("force", Unit::Kn, 3).as_deref(),
            typed.some("severe").is_some(),
        )?,
        "first-use" => Event::FirstUse,
        "bought" => Event::Bought { supplier: typed.owned("supplier") },
        "dropped" => {
            let height = typed.some_value("height", Unit::M, 3).map(|height| decimal(&height, 3)).transpose()?;
            Event::Dropped { height_mm: height.map(i64::from), onto: typed.owned("onto") }
        }
        "exposed" => Event::Exposed { to: owned("to") },
        "cleaned" => Event::Cleaned,
        "measured" => {
            let value = i64::from(decimal(&typed.value("mm", Unit::Mm, 3), 3)?);
            Event::Measured(Reading { what: owned("measured"), how: owned("how"), value, interval: None, bar_um: None })
        }
        "repaired" => Event::Repaired { part: owned("part") },
        "restricted" => {
            Event::Restricted { to: typed.get("restrict").split(',').map(|to| to.trim().to_owned()).collect() }
        }
        "quarantined" => Event::Quarantined { why: owned("why"), incident: None },
        "handed-to" => {
            let person = match typed.some("person") {
                Some(name) => Some(site.rack.person(name).await?),
                None => None,
            };
            Event::HandedTo { person, site: typed.owned("site") }
        }
        "returned" => Event::Returned,
        "withdrawn" => Event::Withdrawn { why: owned("why") },
        "destroyed" => Event::Destroyed,
        "lost" => Event::Lost,
        "found" => Event::Found,
        other => return Err(Problem::NoSuchPage(other.to_owned())),
    })
}

#[derive(Deserialize)]
struct Entries {
    entries: Vec<Past>,
}

pub async fn entries(Shared(site): Shared, Query(asked): Query<Vec<(String, String)>>) -> Result<Markup, Problem> {
    let asked = Typed::asked(asked);
    let before = asked.some("before").map(|text| text.parse::<i64>()).transpose();
    let before = before.map_err(|why| Problem::Unreadable(format!("before: {why}")))?;
    let Entries { entries } = seen(site.rack.entries(before, ENTRIES).await?)?;
    let earlier = entries.first().map(|past| past.entry).filter(|first| *first > 1);
    Ok(page(
        Room::Log,
        &word("nav-log"),
        html! {
            p.doing { a.button href="/log/new" { (word("happened")) } }
            @if entries.is_empty() { p { (word("log-empty")) } }
            ol.history { @for past in entries.iter().rev() { (entry(past)) } }
            @if let Some(first) = earlier {
                p { a href=(address("/log", &[("before", &first.to_string())])) { (word("earlier")) } }
            }
            @if let Some(last) = entries.last() { (undo(&site, last)) }
        },
    ))
}

/// Takes one entry back, by its number: a correction is an entry too.
fn undo(site: &Site, last: &Past) -> Markup {
    html! {
        details {
            summary { (word("take-back")) }
            form method="post" action="/log/take-back" {
                (token(site))
                div.field { label for="f-entry" { (word("entry-number")) }
                    input #f-entry type="number" name="entry" min="1" value=(last.entry) required; }
                div.field { label for="f-why" { (word("note")) } input #f-why type="text" name="note"; }
                button type="submit" { (word("take-back")) }
            }
        }
    }
}

pub async fn take_back(Shared(site): Shared, typed: Typed) -> Result<Redirect, Problem> {
    let entry = i64::from(typed.count("entry")?);
    own_or_kept(&site, entry).await?;
    let answer = typed.rack(&site).correct(entry, &Anew::default(), typed.some("note")).await?;
    Ok(to_entry("", &answer))
}

/// Whether whoever asks may correct an entry: their own of pieces, or any where they keep the rack.
pub async fn own_or_kept(site: &Site, entry: i64) -> Result<(), Problem> {
    let Some(guest) = site.guest.as_ref().filter(|guest| !guest.keeps) else { return Ok(()) };
    if site.rack.is_own_slip(entry).await? {
        return Ok(());
    }
    let (name, who) = (guest.name.clone(), site.rack.who_may("keep").await?);
    Err(Problem::MayNot { name, right: "take-back", who })
}
