//! Swaps by hand: as a form asks for them, and as the page asks while somebody selects.

use super::told::Said;
use super::{AtHand, Read, computed};
use crate::Shared;
use crate::api::Trouble;
use crate::problem::{Problem, Wrong};
use crate::typed::Typed;
use crate::word;
use axum::Json;
use axum::extract::rejection::JsonRejection;
use desk::outing::by_hand::{ByHand, by_hand};
use desk::outing::{Kept, KeptOuting, NotPlanned};
use plan::choice::Choice;
use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeMap;

/// The swaps that were selected. Each selection stands beside the field that says how often.
pub fn typed(typed: &Typed) -> Result<Vec<ByHand>, Problem> {
    let mut swaps = Vec::new();
    for (swap, times) in typed.all("swap").zip(typed.all("swap-times")).filter(|(swap, _)| !swap.is_empty()) {
        let unreadable = || Problem::Unreadable(format!("swap: {swap} × {times}"));
        let mut swap: ByHand = serde_json::from_str(swap).map_err(|_| unreadable())?;
        swap.times = times.parse().map_err(|_| unreadable())?;
        swaps.push(swap);
    }
    Ok(swaps)
}

/// What swaps change; they are taken where that is asked and no rule is broken.
pub fn judged(read: &Read, before: &Choice, swaps: &[ByHand], take: bool) -> Result<Said, NotPlanned> {
    let judged = by_hand(&read.outing, before, swaps)?;
    let stands = judged.against.is_empty();
    let answer = judged.told(&read.day, &read.outing, before);
    if swaps.is_empty() {
        let wrong = Wrong::new(word("outings-no-swap"), word("outings-no-swap-help"));
        return Ok(Said { wrong: vec![wrong], ..Said::again(read, before) });
    }
    if !take {
        return Ok(Said { swaps: swaps.to_vec(), hand: Some(answer), ..Said::again(read, before) });
    }
    if stands {
        return Ok(Said { hand: Some(answer), ..Said::again(read, &judged.choice) });
    }
    let wrong = judged.against.into_iter().map(|what| Wrong::new(what, word("outings-not-taken"))).collect();
    Ok(Said { swaps: swaps.to_vec(), wrong, ..Said::again(read, before) })
}

/// What a page asks while somebody selects.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Asked {
    text: String,
    #[serde(default)]
    rigs: BTreeMap<String, String>,
    choice: Kept,
    #[serde(default)]
    swaps: Vec<ByHand>,
}

/// What swaps by hand change, and which rules they break.
pub async fn swap(Shared(site): Shared, asked: Result<Json<Asked>, JsonRejection>) -> Result<Json<Value>, Trouble> {
    let Json(Asked { text, rigs, choice, swaps }) = asked?;
    let kept = KeptOuting { text, choice: None, rigs: rigs.into_iter().collect() };
    let at_hand = AtHand { kept, ..AtHand::default() };
    let read = Read::new(&site, &at_hand, false).await?;
    let told = computed(move || {
        let before = choice.choice(&read.outing, super::NAME)?;
        Ok(by_hand(&read.outing, &before, &swaps)?.told(&read.day, &read.outing, &before).json)
    });
    Ok(Json(told.await?))
}
