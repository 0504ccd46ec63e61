//! The day itself: what was chosen goes out, and comes back with what it went through.

use super::at_hand::AtHand;
use super::told::Said;
use super::{Read, against_form, draw, fields};
use crate::form::{Field, Kind};
use crate::layout::address;
use crate::problem::Problem;
use crate::typed::Typed;
use crate::{Shared, Site, line, word};
use axum::response::{IntoResponse, Redirect, Response};
use desk::outing::draft::{Asked, Draft, OUTING, Place, asked_after};
use desk::outing::file::read;
use desk::outing::{KeptOuting, NotPlanned};
use desk::rack::Answer;
use desk::rack::close::Past;
use desk::rack::day_out::{CameBack, GoesOut};
use desk::rack::labels::expand;
use desk::texts;
use maud::{Markup, html};
use serde::Deserialize;

#[derive(Deserialize)]
struct Out {
    entry: i64,
    kit: String,
    since: String,
    to: Option<String>,
    due: Option<String>,
    late: bool,
}

/// The outings that are out.
pub async fn out_now(site: &Site) -> Result<Markup, Problem> {
    let told = site.rack.outings_out().await?.json["outings"].take();
    let out: Vec<Out> = serde_json::from_value(told).map_err(|why| Problem::Unreadable(why.to_string()))?;
    Ok(html! {
        @if !out.is_empty() {
            section {
                h2 { (word("outings-out-now")) }
                ul.rows {
                    @for one in &out {
                        li {
                            a href=(address("/outings", &[("entry", &one.entry.to_string())])) { (one.kit) } " "
                            (line("kit-out-since", &one.since)) " " (one.to.as_deref().unwrap_or_default()) " "
                            @if let Some(due) = &one.due { (texts::rack("until", &[("value", due.clone())])) " " }
                            @if one.late { strong.late { (texts::rack("late", &[])) } }
                        }
                    }
                }
            }
        }
    })
}

/// An outing that went out, opened again.
pub async fn opened(site: &Site, entry: &str) -> Result<Markup, Problem> {
    let entry = entry.parse().map_err(|_| Problem::NoSuchPage(entry.to_owned()))?;
    let (kept, kit) = site.rack.outing_of(entry).await?;
    let at_hand = AtHand { kept, entry: kit.is_some().then_some(entry), ..AtHand::default() };
    match again(site, &at_hand).await {
        Ok(said) => draw(site, &at_hand, &Typed::default(), &[], Some(&said)).await,
        Err(problem) => draw(site, &at_hand, &Typed::default(), &against_form(problem)?, None).await,
    }
}

async fn again(site: &Site, at_hand: &AtHand) -> Result<Said, Problem> {
    let read = Read::new(site, at_hand, true).await?;
    let choice = read.chosen(at_hand.kept.choice.as_ref())?.ok_or_else(NotPlanned::unchosen)?;
    Ok(Said::again(&read, &choice))
}

fn line_field(name: &str, label: &str, hint: &str) -> Field {
    Field::new(name, word(label), Kind::Line).hint(word(hint))
}

/// What there is to do with the choice.
pub fn section(at_hand: &AtHand, typed: &Typed, said: &Said) -> Markup {
    html! {
        @if said.kept.is_some() {
            section #day {
                h2 { (word("outings-day")) }
                @if !said.is_of_rack { p { (word("outings-day-of-file")) } } @else {
                    @if at_hand.entry.is_none() { (goes_out(at_hand, typed)) } @else { p { (word("outings-is-out")) } }
                    (comes_back(at_hand, typed, said))
                }
            }
        }
    }
}

fn goes_out(at_hand: &AtHand, typed: &Typed) -> Markup {
    let title = super::title(&at_hand.kept.text).replace(',', " ");
    let kit = line_field("out.kit", "outings-kit", "outings-kit-hint");
    let mut shown = vec![("out.kit".to_owned(), typed.some("out.kit").unwrap_or(&title).to_owned())];
    shown.extend(["out.to", "out.back"].map(|name| (name.to_owned(), typed.get(name).to_owned())));
    let shown = Typed::asked(shown);
    html! {
        fieldset {
            legend { (word("kit-out")) }
            (kit.draw("outing", &shown))
            (line_field("out.to", "field-person", "person-hint").draw("outing", &shown))
            (Field::new("out.back", word("back-by"), Kind::Day).draw("outing", &shown))
            p.doing { button formaction="/outings/out" name="what" value="out" { (word("kit-out")) } }
        }
    }
}

/// What the day did, duty by duty, and what came back.
fn comes_back(at_hand: &AtHand, typed: &Typed, said: &Said) -> Markup {
    let text = &at_hand.kept.text;
    let needs = read(text, super::NAME).map(|file| file.needs).unwrap_or_default();
    let draft = Draft::read(text);
    let asked = |name: &str, duty: &str| {
        let place = draft.as_ref().and_then(|draft| draft.find_done(name));
        let told = |asked: Asked| place.and_then(|place| Some(draft.as_ref()?.told(place, asked))).unwrap_or_default();
        asked_after(duty).into_iter().map(|asked| (asked, told(asked))).collect::<Vec<_>>()
    };
    html! {
        details #after open[at_hand.entry.is_some() || said.booked.is_some()] {
            summary { (word("outings-after")) }
            p.hint { (word("outings-after-hint")) }
            @for (place, need) in needs.iter().enumerate() {
                @let asked = asked(&need.name, &need.duty.name);
                @if !asked.is_empty() {
                    fieldset.done {
                        legend { (need.name) }
                        @for (asked, now) in &asked {
                            @let prefix = format!("done-{place}-");
                            div { (fields::field(&prefix, *asked, now, &[]).draw("outing", &Typed::asked(vec![(fields::named(&prefix, *asked), now.clone())]))) }
                        }
                    }
                }
            }
            (line_field("close.stayed", "outings-stayed", "labels-hint").draw("outing", typed))
            @if at_hand.entry.is_some() {
                (line_field("close.short", "kit-short", "kit-contents-hint").draw("outing", typed))
                (line_field("close.wet", "kit-wet", "labels-hint").draw("outing", typed))
            }
            p.doing { button formaction="/outings/close" name="what" value="show" { (word("outings-close-show")) } }
            @if let Some(booked) = &said.booked {
                h3 { (word("outings-close-would")) }
                (written(booked))
                p.doing { button formaction="/outings/close" name="what" value="write" { (word("write")) } }
            }
        }
    }
}

#[derive(Deserialize)]
struct Line {
    day: String,
    what: String,
    pieces: String,
}

/// What would be written, line by line.
fn written(answer: &Answer) -> Markup {
    let lines: Vec<Line> = serde_json::from_value(answer.json["lines"].clone()).unwrap_or_default();
    html! {
        div.scroll tabindex="0" role="region" aria-label=(word("outings-close-would")) {
            table {
                thead { tr { th scope="col" { (word("day")) } th scope="col" { (word("what-happened")) } th scope="col" { (word("pieces")) } } }
                tbody { @for line in &lines { tr { td { (line.day) } td { (line.what) } td { (line.pieces) } } } }
            }
        }
    }
}

/// Gives out what was chosen.
pub async fn out(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    let (at_hand, wrong) = AtHand::typed(&typed);
    if !wrong.is_empty() {
        return Ok(draw(&site, &at_hand, &typed, &wrong, None).await?.into_response());
    }
    match given_out(&site, &at_hand, &typed).await {
        Ok(entry) => Ok(Redirect::to(&address("/outings", &[("entry", &entry.to_string())])).into_response()),
        Err(problem) => stopped(&site, &at_hand, &typed, problem).await,
    }
}

async fn given_out(site: &Site, at_hand: &AtHand, typed: &Typed) -> Result<i64, Problem> {
    let read = Read::new(site, at_hand, false).await?;
    if !read.is_of_rack() {
        return Err(NotPlanned::of_file().into());
    }
    let choice = read.chosen(at_hand.kept.choice.as_ref())?.ok_or_else(NotPlanned::unchosen)?;
    let kit = typed.some("out.kit").unwrap_or(&read.day.file.title).to_owned();
    let out = GoesOut { kit, to: typed.owned("out.to"), back: typed.owned("out.back") };
    let kept = KeptOuting { text: dated(&at_hand.kept.text, read.day.day), ..at_hand.kept.clone() };
    let answer = typed.rack(site).outing_out(&read.outing, &choice, &kept, &out).await?;
    Ok(answer.json["entry"].as_i64().unwrap_or_default())
}

/// A text that says its day: what went out today is not of the day on which it is booked.
fn dated(text: &str, day: jiff::civil::Date) -> String {
    let Some(mut draft) = Draft::read(text) else { return text.to_owned() };
    draft.put(Place::Outing, OUTING[1], &day.to_string());
    draft.text()
}

/// Books the day, or shows what that would write.
pub async fn close(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    let (at_hand, wrong) = AtHand::typed(&typed);
    if !wrong.is_empty() {
        return Ok(draw(&site, &at_hand, &typed, &wrong, None).await?.into_response());
    }
    match closed(&site, &at_hand, &typed).await {
        Ok(None) => Ok(Redirect::to("/log").into_response()),
        Ok(Some(said)) => Ok(draw(&site, &at_hand, &typed, &[], Some(&said)).await?.into_response()),
        Err(problem) => stopped(&site, &at_hand, &typed, problem).await,
    }
}

/// Nothing where it was written.
async fn closed(site: &Site, at_hand: &AtHand, typed: &Typed) -> Result<Option<Said>, Problem> {
    let read = Read::new(site, at_hand, true).await?;
    if !read.is_of_rack() {
        return Err(NotPlanned::of_file().into());
    }
    let choice = read.chosen(at_hand.kept.choice.as_ref())?.ok_or_else(NotPlanned::unchosen)?;
    let stayed = typed.some("close.stayed").map(expand).transpose()?.unwrap_or_default();
    let came = |entry| CameBack { entry, short: typed.owned("close.short"), wet: typed.owned("close.wet") };
    let back = at_hand.entry.map(came);
    let Read { day, outing, .. } = &read;
    let past = Past { day, outing, choice: &choice, stayed: &stayed, back: back.as_ref() };
    if typed.get("what") == "write" {
        typed.rack(site).close_outing(&past).await?;
        return Ok(None);
    }
    let booked = site.rack.before_closing(&past).await?;
    Ok(Some(Said { booked: Some(booked), ..Said::again(&read, &choice) }))
}

/// The page again, with what is wrong; the choice stays on it where it can be told.
async fn stopped(site: &Site, at_hand: &AtHand, typed: &Typed, problem: Problem) -> Result<Response, Problem> {
    let wrong = against_form(problem)?;
    let said = again(site, at_hand).await.ok();
    Ok(draw(site, at_hand, typed, &wrong, said.as_ref()).await?.into_response())
}
