//! Pieces of the rack as an outing sees them.

use super::lend::strength;
use super::{Fault, Rack, Result, View};
use crate::outing::Day;
use async_recursion::async_recursion as boxed;
use jiff::civil::Date;
use plan::outing::{Piece, Stays};
use register::event::{Description, Event};
use register::id::Id;
use register::standing::{State, standing};
use register::store::Query;
use register::summary::Summary;
use std::collections::{BTreeMap, BTreeSet};
use terms::Length;
use trade::connector::{Lock, Shape};
use trade::duty::{Manual, Strengths, Traits};
use trade::gear::Gear;
use trade::marking::{Mark, RatedPosition, read};

/// What a piece is, as far as duties ask: strengths from its marking alone.
#[must_use]
pub(crate) fn traits(is: &Description) -> Traits {
    let reading = is.marking.as_deref().map(read);
    let marked = |position| reading.as_ref().and_then(|reading| strength(reading, position));
    Traits {
        gear: is.gear.as_deref().and_then(Gear::from_code),
        class: reading
            .as_ref()
            .and_then(|reading| reading.sets.iter().find_map(|set| Mark::value(&set.class)?.class())),
        shape: is.shape.as_deref().and_then(Shape::from_code),
        lock: is.lock.as_deref().and_then(Lock::from_code),
        bears: Strengths {
            closed: marked(RatedPosition::Closed),
            open: marked(RatedPosition::Open),
            minor: marked(RatedPosition::Minor),
        },
        size: is.size.clone(),
        length: is.length_mm.map(|mm| Length::from_mm(f64::from(mm))),
        diameter: is.diameter_um.map(|um| Length::from_mm(f64::from(um) / 1000.0)),
    }
}

impl Rack<'_> {
    /// The pieces of some kinds as they stand on a day, for an outing from a site; those of other sites could be borrowed.
    ///
    /// # Errors
    /// Where the store cannot be read.
    async fn stock(&self, gears: &BTreeSet<Gear>, day: Date, site: Option<&str>) -> Result<Vec<Piece>> {
        let view = self.view().await?;
        let kits = self.kit_labels().await?;
        let mut pieces = Vec::new();
        for gear in gears {
            let query = Query { gear: Some(gear.code().to_owned()), limit: 1000, ..Query::default() };
            for row in self.all(query).await? {
                if row.standing < State::Withdrawn {
                    pieces.push(self.stocked(&row, &view, &kits, day, site).await?);
                }
            }
        }
        Ok(pieces)
    }

    /// What the rack has for a day: its pieces, and what the instructions of the day's devices allow.
    ///
    /// # Errors
    /// Where the store cannot be read, or no model has the name of a device.
    #[boxed]
    pub async fn stock_for(&self, day: &Day) -> Result<(Vec<Piece>, BTreeMap<String, Manual>)> {
        let stock = self.stock(&day.gears(), day.day, day.file.site.as_deref()).await?;
        let mut manuals = BTreeMap::new();
        for model in day.devices() {
            let manual = self.manual(&model).await?;
            manuals.insert(model, manual);
        }
        Ok((stock, manuals))
    }

    async fn stocked(
        &self,
        row: &Summary,
        view: &View,
        kits: &BTreeMap<Id, String>,
        day: Date,
        site: Option<&str>,
    ) -> Result<Piece> {
        let (piece, history) = self.fold(row, view).await?;
        let stands = standing(&piece, &history, &view.group, day);
        let told = view.told(&piece);
        let elsewhere = site.is_some_and(|site| piece.site.as_deref().is_some_and(|own| own != site));
        let overdue = stands.next_inspection.is_some_and(|due| due < day);
        // What was not used yet goes along once somebody has looked at it.
        let was_inspected = piece.of(&history).any(|past| matches!(past.record.event, Event::Inspected(_)));
        let is_missing = !piece.is_lot() && piece.in_kits.values().any(|part| part.short > 0);
        let is_away = is_missing || piece.holder.is_some() || piece.lost.is_some() || piece.destroyed.is_some();
        let stays = if stands.state >= State::Quarantined || is_away {
            Some(Stays::Out)
        } else if (stands.state == State::NotYetInService && !was_inspected) || overdue {
            Some(Stays::Uninspected)
        } else {
            elsewhere.then_some(Stays::Elsewhere)
        };
        // What kits hold of a lot goes along with them, and is not told apart here; a piece goes along with its kit.
        let in_kits = piece.in_kits.values().map(|part| part.count).sum();
        let (count, set) = match piece.is_lot() {
            true => (piece.count().saturating_sub(in_kits), None),
            false => (1, piece.kit.and_then(|kit| kits.get(&kit).cloned())),
        };
        Ok(Piece {
            label: piece.label.clone(),
            count,
            is: traits(&told.is),
            model: told
                .model
                .clone()
                .map(|model| told.maker.clone().into_iter().chain([model]).collect::<Vec<_>>().join(" ")),
            mass_g: told.is.mass_g,
            days: piece.work.days,
            restricted_to: if stands.state == State::Restricted { stands.restricted_to } else { Vec::new() },
            lives_on: None,
            set,
            stays,
            along: 0,
        })
    }

    /// What the instructions of a device allow of the connector in it, as they were typed for its model.
    ///
    /// # Errors
    /// Where no model has the name.
    async fn manual(&self, model: &str) -> Result<Manual> {
        let view = self.view().await?;
        let known = view.group.models().find(|(_, known)| known.name == model).map(|(_, known)| known);
        let known = known.ok_or_else(|| Fault::new("no-such-model", &[("model", model.to_owned())]))?;
        let fits = known.fits.iter().filter(|fit| fit.with == Gear::Connector.code());
        let (mut shapes, mut locks) = (Vec::new(), Vec::new());
        for fit in fits {
            shapes.extend(fit.shapes.iter().filter_map(|code| Shape::from_code(code)));
            locks.extend(fit.locks.iter().filter_map(|code| Lock::from_code(code)));
        }
        Ok(Manual { shapes, locks })
    }
}
