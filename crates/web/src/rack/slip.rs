//! One entry of the log that is wrong: told anew or taken back, each by an entry of its own.

use super::piece::{Past, entry};
use super::{seen, to_entry};
use crate::form::{Field, Form, Kind, against};
use crate::layout::{Room, page};
use crate::problem::{Problem, Wrong};
use crate::typed::Typed;
use crate::{Shared, Site, line, word};
use axum::extract::Path;
use axum::response::{IntoResponse, Response};
use desk::rack::happen::Anew;
use desk::rack::labels::compact;
use maud::{Markup, html};
use serde::Deserialize;

/// An entry as it holds.
#[derive(Deserialize)]
struct Entry {
    #[serde(flatten)]
    past: Past,
    labels: Vec<String>,
    remark: Option<String>,
}

pub async fn blank(Shared(site): Shared, Path(number): Path<i64>) -> Result<Markup, Problem> {
    let as_it_holds = shown(&site, number).await?.typed();
    draw(&site, number, &as_it_holds, &[]).await
}

async fn shown(site: &Site, number: i64) -> Result<Entry, Problem> {
    seen(site.rack.entry(number).await?)
}

impl Entry {
    fn typed(&self) -> Typed {
        let day = self.past.happened.get(..10).unwrap_or_default();
        let told = [
            ("on", day.to_owned()),
            ("labels", compact(&self.labels)),
            ("remark", self.remark.clone().unwrap_or_default()),
        ];
        Typed::asked(told.map(|(name, value)| (name.to_owned(), value)).to_vec())
    }
}

async fn draw(site: &Site, number: i64, typed: &Typed, wrong: &[Wrong]) -> Result<Markup, Problem> {
    let shown = shown(site, number).await?;
    let note = || Field::new("note", word("slip-note"), Kind::Line);
    let day = Field::new("on", word("day"), Kind::Day);
    let labels = Field::new("labels", word("labels"), Kind::Line).required().hint(word("labels-hint"));
    let remark = Field::new("remark", word("note"), Kind::Lines);
    let of_pieces = if shown.labels.is_empty() { vec![day, note()] } else { vec![day, labels, remark, note()] };
    let anew = Form::new(format!("/log/{number}/correct"), word("slip-anew"), of_pieces);
    let back = Form::new("/log/take-back", word("take-back"), vec![Field::given("entry", number), note()]);
    Ok(page(
        Room::Log,
        &line("slip-of", number),
        html! {
            ol.history { (entry(&shown.past)) }
            p { (word("slip-lead")) }
            section { h2 { (word("slip-anew")) } (anew.draw(site, typed, wrong)) }
            section { h2 { (word("take-back")) } p.hint { (word("slip-back-hint")) } (back.empty(site)) }
        },
    ))
}

pub async fn correct(Shared(site): Shared, Path(number): Path<i64>, typed: Typed) -> Result<Response, Problem> {
    super::happened::own_or_kept(&site, number).await?;
    let shown = shown(&site, number).await?;
    let before = shown.typed();
    let other = |name: &str| typed.owned(name).filter(|text| text != before.get(name));
    let anew = Anew { on: other("on"), labels: other("labels"), remark: other("remark") };
    if anew == Anew::default() {
        let same = Wrong::new(word("slip-same"), word("slip-same-help"));
        return Ok(draw(&site, number, &typed, &[same]).await?.into_response());
    }
    match typed.rack(&site).correct(number, &anew, typed.some("note")).await {
        Ok(answer) => Ok(to_entry(typed.get("labels"), &answer).into_response()),
        Err(refused) => Ok(draw(&site, number, &typed, &against(refused.into())?).await?.into_response()),
    }
}
