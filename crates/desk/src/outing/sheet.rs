//! A plan on paper.

use super::Day;
use crate::sheets::{self, Duty, PackList, Packed};
use crate::texts;
use plan::choice::{Choice, Taken};
use plan::outing::Outing;

/// The pack list of a choice on paper.
#[must_use]
pub fn pack_list(day: &Day, outing: &Outing, choice: &Choice) -> sheets::Sheet {
    sheets::pack_list(&packed(day, outing, choice))
}

/// The pack list of a choice: pieces by need, what goes along beside, and what is short.
#[must_use]
pub fn packed(day: &Day, outing: &Outing, choice: &Choice) -> PackList {
    let piece = |taken: &Taken| {
        let piece = outing.piece(&taken.label);
        let model = piece.and_then(|piece| {
            piece
                .model
                .clone()
                .or_else(|| Some(piece.is.shape.map_or(piece.is.gear?.code(), |shape| shape.code()).to_owned()))
        });
        Packed {
            label: taken.label.clone(),
            count: taken.count,
            model: model.unwrap_or_default(),
            mass_g: piece.and_then(|piece| piece.mass_g),
            remark: piece.and_then(|piece| piece.is.size.clone()).unwrap_or_default(),
        }
    };
    let packed = |list: &[Taken]| list.iter().map(piece).collect::<Vec<_>>();
    let mut duties: Vec<Duty> = Vec::new();
    for (place, need) in outing.needs.iter().enumerate() {
        let taken = choice.taken(place);
        if !taken.is_empty() {
            duties.push(Duty { name: need.name.clone(), asks: need.duty.reason.clone(), pieces: packed(&taken) });
        }
    }
    let idle = choice.idle(outing);
    if !idle.is_empty() {
        duties.push(Duty { name: texts::outing("pack-along", &[]), asks: String::new(), pieces: packed(&idle) });
    }
    let short = outing.needs.iter().zip(&choice.short).filter(|(_, short)| **short > 0);
    let short = short.map(|(need, count)| super::tell::short(need, *count)).chain(super::tell::left(outing, choice));
    PackList {
        title: day.file.title.clone(),
        subtitle: day.when(),
        duties,
        people: day.file.people,
        short: short.collect(),
    }
}
