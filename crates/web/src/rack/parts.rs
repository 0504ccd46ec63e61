//! A piece that changes in the workshop: a part of it is replaced, or it is divided.

use super::piece::Piece;
use super::{piece_path, seen, to_entry};
use crate::form::{Field, Form, Kind, against};
use crate::layout::{Room, page};
use crate::problem::{Problem, Wrong};
use crate::typed::Typed;
use crate::units::Unit;
use crate::{Shared, Site, line, word};
use axum::extract::Path;
use axum::response::{IntoResponse, Response};
use desk::rack::fields::{Field as Telling, Told, dated};
use maud::{Markup, html};
use trade::gear::Gear;
use trade::part::parts;

/// Shares that one form takes; a share can be divided again.
const SHARES: usize = 4;

/// Whether a piece has parts that are replaced by themselves.
pub fn has_parts(piece: &Piece) -> bool {
    gear(piece).is_none_or(|gear| parts(Some(gear)).next().is_some())
}

/// Whether a piece can be divided: a lot, or what is cut to length.
pub fn is_divisible(piece: &Piece) -> bool {
    is_lot(piece) || matches!(gear(piece), Some(Gear::Rope | Gear::Cord | Gear::Sling))
}

fn gear(piece: &Piece) -> Option<Gear> {
    piece.is.gear.as_deref().and_then(Gear::from_code)
}

fn is_lot(piece: &Piece) -> bool {
    piece.is.count.is_some_and(|count| count > 1)
}

pub async fn part(Shared(site): Shared, Path(label): Path<String>) -> Result<Markup, Problem> {
    draw_part(&site, &label, &Typed::default(), &[]).await
}

async fn draw_part(site: &Site, label: &str, typed: &Typed, wrong: &[Wrong]) -> Result<Markup, Problem> {
    let piece: Piece = seen(site.rack.show(label).await?)?;
    let codes: Vec<_> = parts(gear(&piece)).map(|part| (part.code.clone(), part.name.clone())).collect();
    let words = |name: &str| Field::new(name, word(&format!("part-{name}")), Kind::Line);
    let fields = vec![
        Field::new("part", word("field-part"), Kind::Choice(codes)),
        words("made").hint(word("dated-hint")),
        words("new").hint(word("part-on-rack")),
        words("old").hint(word("part-on-rack")),
        Field::new("on", word("day"), Kind::Day).hint(word("day-hint")),
    ];
    let form = Form::new(format!("{}/part", piece_path(label)), word("part-write"), fields);
    Ok(page(
        Room::Rack,
        &line("part-of", label),
        html! {
            p { (word("part-lead")) }
            @if has_parts(&piece) { (form.draw(site, typed, wrong)) } @else { p { (word("part-none")) " " a href=(piece_path(label)) { (label) } } }
        },
    ))
}

pub async fn replace(Shared(site): Shared, Path(label): Path<String>, typed: Typed) -> Result<Response, Problem> {
    match replaced(&site, &label, &typed).await {
        Ok(done) => Ok(done),
        Err(problem) => Ok(draw_part(&site, &label, &typed, &against(problem)?).await?.into_response()),
    }
}

async fn replaced(site: &Site, label: &str, typed: &Typed) -> Result<Response, Problem> {
    let made = typed.some("made").map(dated).transpose()?;
    let (old, new, on) = (typed.some("old"), typed.some("new"), typed.some("on"));
    let answer = typed.rack(site).replace(label, typed.get("part"), old, new, made, on).await?;
    Ok(to_entry(label, &answer).into_response())
}

pub async fn divide(Shared(site): Shared, Path(label): Path<String>) -> Result<Markup, Problem> {
    draw_divide(&site, &label, &Typed::default(), &[]).await
}

async fn draw_divide(site: &Site, label: &str, typed: &Typed, wrong: &[Wrong]) -> Result<Markup, Problem> {
    let piece: Piece = seen(site.rack.show(label).await?)?;
    let share = |place: usize| {
        let name = |what: &str| format!("{what}-{place}");
        let size = if is_lot(&piece) {
            Field::new(&name("count"), word("share-count"), Kind::Count)
        } else {
            Field::new(&name("length"), word("share-length"), Kind::Value(Unit::M, 3))
        };
        let label = Field::new(&name("label"), line("share-label", place), Kind::Line);
        let label = if place <= 2 { label.required() } else { label };
        [label, size, Field::new(&name("scrap"), word("share-scrap"), Kind::Tick)]
    };
    let on = Field::new("on", word("day"), Kind::Day).hint(word("day-hint"));
    let fields = (1..=SHARES).flat_map(share).chain([on]).collect();
    let form = Form::new(format!("{}/divide", piece_path(label)), word("divide-write"), fields);
    let whole = piece.is.count.filter(|_| is_lot(&piece)).map(|count| line("divide-count", count));
    Ok(page(
        Room::Rack,
        &line("divide-of", label),
        html! {
            p { (word("divide-lead")) }
            @if let Some(whole) = whole { p { (whole) } }
            @if is_divisible(&piece) { (form.draw(site, typed, wrong)) } @else { p { (word("divide-none")) " " a href=(piece_path(label)) { (label) } } }
        },
    ))
}

pub async fn divided(Shared(site): Shared, Path(label): Path<String>, typed: Typed) -> Result<Response, Problem> {
    match into_shares(&site, &label, &typed).await {
        Ok(done) => Ok(done),
        Err(problem) => Ok(draw_divide(&site, &label, &typed, &against(problem)?).await?.into_response()),
    }
}

async fn into_shares(site: &Site, label: &str, typed: &Typed) -> Result<Response, Problem> {
    let (mut shares, mut scrap) = (Vec::new(), Vec::new());
    for place in 1..=SHARES {
        let name = |what: &str| format!("{what}-{place}");
        let Some(share) = typed.owned(&name("label")) else { continue };
        let mut told = Told::default();
        Telling::Count.put(&mut told, typed.get(&name("count")))?;
        Telling::Length.put(&mut told, &typed.value(&name("length"), Unit::M, 3))?;
        scrap.extend(typed.some(&name("scrap")).map(|_| share.clone()));
        shares.push((share, told));
    }
    let answer = typed.rack(site).divide(label, &shares, &scrap, typed.some("on")).await?;
    Ok(to_entry(label, &answer).into_response())
}
