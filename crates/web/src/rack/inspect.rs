//! Inspections piece by piece: two taps where all passes, the first of which says that it was in hand; two for what does not pass; and on to the next.

use super::piece_link;
use crate::form::{against, token};
use crate::layout::{Room, address, page};
use crate::problem::{Problem, Wrong, told};
use crate::typed::{PHOTOS, Typed, Upload};
use crate::{Shared, Site, line, word};
use axum::extract::Query;
use axum::response::{IntoResponse, Redirect, Response};
use desk::rack::Fault;
use desk::rack::inspect::{Form, Found};
use desk::rack::labels::{compact, expand};
use desk::texts;
use maud::{Markup, html};
use register::event::Grade;
use trade::checklist::Point;
use trade::rack::Occasion;

/// The reason that a marking tells no strength: a correction mends it, no inspection.
const MARKING: &str = "marking-unreadable";

/// What can be found at a point, each with its key.
const GRADES: [(&str, Grade, &str); 4] = [
    ("pass", Grade::Pass, "p"),
    ("watch", Grade::Watch, "w"),
    ("defect", Grade::Defect, "d"),
    (NOT_LOOKED_AT, Grade::NotLookedAt, "n"),
];

/// What a point counts as that nobody marked.
const NOT_LOOKED_AT: &str = "not-looked-at";

pub async fn form(Shared(site): Shared, Query(asked): Query<Vec<(String, String)>>) -> Result<Markup, Problem> {
    draw(&site, &Typed::asked(asked), &[]).await
}

fn occasion(typed: &Typed) -> Result<Occasion, Problem> {
    let code = typed.some("occasion").unwrap_or(Occasion::Periodic.code());
    Occasion::from_code(code).ok_or_else(|| Problem::NoSuchPage(code.to_owned()))
}

async fn draw(site: &Site, typed: &Typed, wrong: &[Wrong]) -> Result<Markup, Problem> {
    let occasion = occasion(typed)?;
    let labels = expand(typed.get("labels"))?;
    let [label, rest @ ..] = labels.as_slice() else { return Err(Problem::NoSuchPage(String::new())) };
    let form = site.rack.form(label, occasion).await?;
    let rest = if rest.is_empty() { String::new() } else { compact(rest) };
    let case = typed.get("case");
    let skip = address("/inspect", &[("labels", &rest), ("occasion", occasion.code()), ("case", case)]);
    Ok(page(
        Room::Due,
        &line("inspect-piece", label),
        html! {
            (before(typed))
            p { (piece_link(label)) " · " (form.row.gear.as_deref().unwrap_or_default()) " · " (form.standing) }
            (occasions(typed, occasion))
            form.inspect method="post" action="/inspect" enctype="multipart/form-data" {
                @if !wrong.is_empty() { (told(wrong)) }
                (token(site))
                input type="hidden" name="labels" value=(label);
                input type="hidden" name="rest" value=(rest);
                input type="hidden" name="occasion" value=(occasion.code());
                @if !case.is_empty() { input type="hidden" name="case" value=(case); }
                (open(&form, case))
                (stays(&form))
                p.alert data-marked hidden { (word("all-but-marked")) }
                p.doing.pass {
                    label.tick { input type="checkbox" name="hand" value="yes" required data-key="p"; (line("in-hand", label)) }
                    button type="submit" name="all" value="pass" { (word("all-pass")) }
                }
                @for point in &form.list.points { (at(point, typed)) }
                p.doing {
                    button type="submit" formnovalidate { (word("as-marked")) } " "
                    @if !rest.is_empty() { a.button href=(skip) data-key="s" { (word("skip-piece")) } }
                }
            }
            p.hint { (word("inspect-keys")) }
            script type="module" src="/assets/inspect.js" {}
        },
    ))
}

/// What was written of the piece before, and where that can be taken back.
fn before(typed: &Typed) -> Markup {
    let written = typed.some("written").zip(typed.get("entry").parse::<i64>().ok());
    html! {
        @if let Some((label, entry)) = written {
            p.state-of role="status" { (line("inspect-written", label)) " " a href={ "/log#entry-" (entry) } { (line("entry-taken-back", entry)) } }
        }
    }
}

/// For which occasion; another one has other points.
fn occasions(typed: &Typed, now: Occasion) -> Markup {
    let other = |code: &str| {
        address("/inspect", &[("labels", typed.get("labels")), ("occasion", code), ("case", typed.get("case"))])
    };
    html! {
        nav.kinds aria-label=(word("occasion")) {
            @for occasion in Occasion::ALL {
                a href=(other(occasion.code())) aria-current=[(*occasion == now).then_some("true")] { (texts::rule(occasion.code()).unwrap_or_default()) }
            }
        }
    }
}

/// What keeps it out of use even where every point passes, and where that is mended.
fn stays(form: &Form) -> Markup {
    html! {
        @for stays in &form.stays {
            p.alert { (texts::rack("stays-out", &[("value", stays.text.clone())])) }
            @if stays.code == MARKING { p { a href={ (super::piece_path(&form.row.label)) "/correct" } { (word("describe")) } } }
        }
    }
}

/// What an inspection may clear; the case from which somebody comes is what they came for.
fn open(form: &Form, case: &str) -> Markup {
    html! {
        @for (entry, what) in &form.open {
            div.field.tick {
                input id={ "clears-" (entry) } type="checkbox" name="clears" value=(entry) checked[entry.to_string() == case];
                label for={ "clears-" (entry) } { (line("clears", entry)) ": " (what) }
            }
        }
    }
}

fn at(point: &Point, typed: &Typed) -> Markup {
    // Nothing is marked until somebody looked: what is left so was not looked at.
    let found = typed.get(&point.code);
    let note = format!("{}-note", point.code);
    html! {
        fieldset.point {
            legend { (point.name) }
            p { (point.look_for) " " span.source { (texts::source(&point.source)) } }
            div.grades {
                @for (code, grade, key) in GRADES {
                    label {
                        input type="radio" name=(point.code) value=(code) checked[code == found] data-key=(key);
                        span { (texts::grade(grade)) }
                    }
                }
            }
            div.field {
                label for={ "n-" (point.code) } { (word("note")) }
                input id={ "n-" (point.code) } type="text" name=(note) value=(typed.get(&note)) autocomplete="off";
            }
            details.photo {
                summary { (word("photo")) }
                input aria-label={ (word("photo")) ": " (point.name) } type="file" name={ (point.code) "-photo" } accept=(PHOTOS);
            }
        }
    }
}

pub async fn write(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    match written(&site, &typed).await {
        Ok(entry) => Ok(on(&typed, entry)?.into_response()),
        Err(problem) => Ok(draw(&site, &typed, &against(problem)?).await?.into_response()),
    }
}

/// To the next piece, or back to what is due.
fn on(typed: &Typed, entry: Option<i64>) -> Result<Redirect, Problem> {
    let entry = entry.map(|entry| entry.to_string()).unwrap_or_default();
    let next = [
        ("labels", typed.get("rest")),
        ("occasion", occasion(typed)?.code()),
        ("case", typed.get("case")),
        ("written", typed.get("labels")),
        ("entry", &entry),
    ];
    let last = || match typed.get("case").parse::<i64>() {
        Ok(case) => format!("/cases/{case}"),
        Err(_) => super::piece_path(typed.get("labels")),
    };
    Ok(Redirect::to(&typed.some("rest").map_or_else(last, |_| address("/inspect", &next))))
}

/// The entry that was written.
async fn written(site: &Site, typed: &Typed) -> Result<Option<i64>, Problem> {
    let occasion = occasion(typed)?;
    let label = typed.get("labels");
    let form = site.rack.form(label, occasion).await?;
    let points = &form.list.points;
    let found: Vec<Found> = match typed.some("all") {
        Some(_) if points.iter().any(|point| is_marked(point, typed)) => return Err(unfit("all-but-marked")),
        Some(_) if typed.some("hand").is_none() => return Err(unfit("not-in-hand")),
        Some(_) => Vec::new(),
        None if !points.iter().any(|point| is_marked(point, typed)) => return Err(unfit("nothing-marked")),
        None => points.iter().filter_map(|point| found(point, typed)).collect(),
    };
    let clears: Vec<i64> = typed.all("clears").filter_map(|entry| entry.parse().ok()).collect();
    let answer = typed.rack(site).inspect(label, occasion, &found, &clears, None).await?;
    Ok(answer.json["entries"][0].as_i64())
}

/// Whether something was found at a point: its mark, a remark or a photo.
fn is_marked(point: &Point, typed: &Typed) -> bool {
    let has = |what: &str| typed.some(&format!("{}-{what}", point.code)).is_some();
    typed.some(&point.code).is_some() || has("note") || typed.upload(&format!("{}-photo", point.code)).is_some()
}

/// What was found at a point, where it is not that it passes.
fn found(point: &Point, typed: &Typed) -> Option<Found> {
    let code = typed.some(&point.code).unwrap_or(NOT_LOOKED_AT);
    let (_, grade, _) = *GRADES.iter().find(|(known, _, _)| *known == code)?;
    let note = typed.owned(&format!("{}-note", point.code));
    let photo = typed.upload(&format!("{}-photo", point.code)).map(Upload::paper);
    let is_remark = grade != Grade::Pass || note.is_some() || photo.is_some();
    is_remark.then(|| Found { point: point.code.clone(), grade, note, photo })
}

/// A form that says nothing, or two things.
fn unfit(code: &'static str) -> Problem {
    Fault::new(code, &[]).into()
}
