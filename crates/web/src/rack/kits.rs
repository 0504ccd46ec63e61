//! Kits: put together, out, and back.

use super::seen;
use crate::cliff::keep;
use crate::form::{Field, Form, Kind, against, choices};
use crate::layout::{Room, address, page, part};
use crate::problem::{Problem, Wrong};
use crate::typed::Typed;
use crate::{Shared, Site, line, word};
use axum::extract::{Path, Query};
use axum::response::{IntoResponse, Redirect, Response};
use desk::rack::labels::compact;
use desk::texts;
use maud::{Markup, html};
use serde::Deserialize;
use trade::rack::Occasion;

/// Kits on a page.
const ROWS: u32 = 100;

#[derive(Deserialize)]
struct Kits {
    kits: Vec<Kit>,
    after: Option<String>,
}

#[derive(Deserialize)]
struct Kit {
    kit: String,
    out: Option<Out>,
    late: bool,
    #[serde(default)]
    contents: Vec<String>,
    #[serde(default)]
    short: Vec<String>,
    #[serde(default)]
    wet: Vec<String>,
}

#[derive(Deserialize)]
struct Out {
    since: String,
    to: Option<String>,
    due: Option<String>,
}

pub async fn list(Shared(site): Shared, Query(asked): Query<Vec<(String, String)>>) -> Result<Markup, Problem> {
    draw_list(&site, &Typed::asked(asked), &[]).await
}

async fn draw_list(site: &Site, typed: &Typed, wrong: &[Wrong]) -> Result<Markup, Problem> {
    let Kits { kits, after } = seen(site.rack.list_kits(false, typed.some("after"), ROWS).await?)?;
    Ok(page(
        Room::Kits,
        &word("nav-kits"),
        html! {
            @if kits.is_empty() { p { (word("kits-empty")) } }
            ul.rows {
                @for kit in &kits {
                    li { a href={ "/kits/" (part(&kit.kit)) } { (kit.kit) } " " (whereabouts(kit)) }
                }
            }
            @if let Some(after) = &after { p { a.button href=(address("/kits", &[("after", after)])) { (word("next-page")) } } }
            section { h2 { (word("kit-set")) } p { (word("kit-set-lead")) } (set_form().draw(site, typed, wrong)) }
        },
    ))
}

fn whereabouts(kit: &Kit) -> Markup {
    html! {
        @match &kit.out {
            None => { (word("kit-is-in")) }
            Some(out) => {
                (line("kit-out-since", &out.since)) " " (out.to.as_deref().unwrap_or_default()) " "
                @if let Some(due) = &out.due { (texts::rack("until", &[("value", due.clone())])) " " }
                @if kit.late { strong.late { (texts::rack("late", &[])) } }
            }
        }
    }
}

fn set_form() -> Form {
    let label = Field::new("kit", word("kit"), Kind::Line).required();
    let contents = Field::new("contents", word("kit-contents"), Kind::Lines).required().hint(word("kit-contents-hint"));
    Form::new("/kits", word("kit-set"), vec![label, contents])
}

fn out_form(kit: &str, people: Vec<String>) -> Form {
    let people = people.into_iter().map(|name| (name.clone(), name));
    let to = Field::new("to", word("field-person"), choices(word("not-told"), people)).hint(word("person-hint"));
    let back = Field::new("back", word("back-by"), Kind::Day);
    Form::new(format!("/kits/{}/out", part(kit)), word("kit-out"), vec![to, back])
}

fn back_form(kit: &str) -> Form {
    let short = Field::new("short", word("kit-short"), Kind::Line).hint(word("kit-contents-hint"));
    let wet = Field::new("wet", word("kit-wet"), Kind::Line).hint(word("labels-hint"));
    Form::new(format!("/kits/{}/back", part(kit)), word("kit-back"), vec![short, wet])
}

pub async fn kit(Shared(site): Shared, Path(label): Path<String>) -> Result<Markup, Problem> {
    draw_kit(&site, &label, &Typed::default(), &[]).await
}

async fn draw_kit(site: &Site, label: &str, typed: &Typed, wrong: &[Wrong]) -> Result<Markup, Problem> {
    let kit: Kit = seen(site.rack.show_kit(label).await?)?;
    let people = super::group::names(site).await?;
    let form = if kit.out.is_some() { back_form(label) } else { out_form(label, people) };
    // Of a lot only some belong to a kit; a check-list is for the lot.
    let pieces: Vec<String> =
        kit.contents.iter().map(|held| held.split('=').next().unwrap_or(held).to_owned()).collect();
    let rack = |code, labels: &[String]| texts::rack(code, &[("pieces", compact(labels))]);
    Ok(page(
        Room::Kits,
        label,
        html! {
            p { (whereabouts(&kit)) }
            p { (rack("kit-holds", &kit.contents)) }
            p.doing {
                a href=(address("/rack", &[("kit", label)])) { (word("as-list")) } " · "
                a href=(address("/inspect", &[("labels", &compact(&pieces)), ("occasion", "before-each-use")])) { (word("inspect-these")) } " · "
                a href=(address("/take-along", &[("labels", &compact(&pieces))])) { (word("take-along")) } " · "
                a href=(address("/sheet/pack-list", &[("kit", label)])) { (word("sheet-pack-list")) } " · "
                a href=(address("/kits", &[("kit", label), ("contents", &compact(&kit.contents))])) { (word("kit-change")) } " · "
                a href=(address("/labels", &[("kit", label)])) { (word("sheet-labels")) }
            }
            (keep(&format!("/kits/{}", part(label)), &pieces, Occasion::BeforeEachUse))
            @if !kit.short.is_empty() { p.alert { (rack("kit-short", &kit.short)) } }
            @if !kit.wet.is_empty() { p.alert { (rack("kit-wet", &kit.wet)) } }
            section { h2 { (form.submit) } (form.draw(site, typed, wrong)) }
        },
    ))
}

fn to_kit(label: &str) -> Response {
    Redirect::to(&format!("/kits/{}", part(label))).into_response()
}

pub async fn set(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    let contents = typed.get("contents").lines().map(|line| line.trim().trim_end_matches(',')).collect::<Vec<_>>();
    match typed.rack(&site).set_kit(typed.get("kit"), &contents.join(", ")).await {
        Ok(_) => Ok(to_kit(typed.get("kit"))),
        Err(refused) => Ok(draw_list(&site, &typed, &against(refused.into())?).await?.into_response()),
    }
}

pub async fn out(Shared(site): Shared, Path(label): Path<String>, typed: Typed) -> Result<Response, Problem> {
    match typed.rack(&site).kit_out(&label, typed.some("to"), typed.some("back")).await {
        Ok(_) => Ok(to_kit(&label)),
        Err(refused) => Ok(draw_kit(&site, &label, &typed, &against(refused.into())?).await?.into_response()),
    }
}

pub async fn back(Shared(site): Shared, Path(label): Path<String>, typed: Typed) -> Result<Response, Problem> {
    match typed.rack(&site).kit_back(&label, typed.some("short"), typed.some("wet")).await {
        Ok(_) => Ok(to_kit(&label)),
        Err(refused) => Ok(draw_kit(&site, &label, &typed, &against(refused.into())?).await?.into_response()),
    }
}
