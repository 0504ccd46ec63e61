//! A season ahead: what will be withdrawn by itself until a day, and the spares for it.

use super::fields::day;
use super::labels::compact;
use super::{Answer, Fault, Rack, Result, View};
use crate::columns::columns;
use crate::figures::two_figures;
use crate::outing::Day;
use crate::texts;
use async_recursion::async_recursion as boxed;
use jiff::civil::Date;
use plan::choice::Choice;
use plan::outing::{Need, Outing, Stays};
use register::history::History;
use register::piece::Piece;
use register::standing::{State, standing};
use register::store::Query;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// What the log, the policy and the date alone say of the pieces of some kinds, up to a day.
#[derive(Debug)]
pub struct Ahead {
    until: Date,
    /// By label: from which day it is withdrawn, and why.
    leaving: BTreeMap<String, (Date, String)>,
    /// Labels of which a groove was measured.
    measured: Vec<String>,
}

impl Rack<'_> {
    /// What the pieces of an outing's kinds will be up to a day, if nothing more is written. Wear is not forecast from the log: a reading there does not
    /// tell the rope that ran until then.
    ///
    /// # Errors
    /// Where the store cannot be read, or `until` is no day to come.
    #[boxed]
    pub async fn season(&self, of: &Day, until: &str) -> Result<Ahead> {
        let until = day(until)?;
        let today = self.outside.today();
        if until <= today {
            return Err(Fault::new("not-ahead", &[("day", until.to_string()), ("today", today.to_string())]).into());
        }
        self.ahead(of, until).await
    }

    async fn ahead(&self, of: &Day, until: Date) -> Result<Ahead> {
        let view = self.view().await?;
        let mut ahead = Ahead { until, leaving: BTreeMap::new(), measured: Vec::new() };
        for gear in of.gears() {
            let rows = self.all(Query { gear: Some(gear.code().to_owned()), ..Query::default() }).await?;
            for (row, (piece, history)) in rows.iter().zip(self.fold_all(&rows, &view).await?) {
                if row.standing == State::Withdrawn {
                    continue;
                }
                if let Some(leaves) = leaves(&piece, &history, &view, until) {
                    ahead.leaving.insert(row.label.clone(), leaves);
                } else if piece.readings.contains_key("groove") {
                    ahead.measured.push(row.label.clone());
                }
            }
        }
        Ok(ahead)
    }
}

/// From which day up to `until` it is withdrawn, and why, if nothing more is written.
fn leaves(piece: &Piece, history: &History, view: &View, until: Date) -> Option<(Date, String)> {
    let mut on = view.now.on;
    loop {
        let stands = standing(piece, history, &view.group, on);
        if stands.state == State::Withdrawn {
            let why = stands.reasons.first().map(|why| texts::reason(&why.reason));
            return Some((on, why.unwrap_or_default()));
        }
        on = stands.changes_on.filter(|next| *next > on && *next <= until)?;
    }
}

/// The pieces of a model, now and then.
struct Model {
    name: String,
    now: u32,
    gone: u32,
    first: Option<(Date, String)>,
}

impl Model {
    fn all(outing: &Outing, ahead: &Ahead) -> Vec<Self> {
        let mut models: BTreeMap<String, Self> = BTreeMap::new();
        for piece in outing.pieces.iter().filter(|piece| piece.stays != Some(Stays::Out)) {
            let gear = piece.is.gear.map_or("-", |gear| gear.code());
            let name = piece.model.clone().unwrap_or_else(|| gear.to_owned());
            let new = Self { name: name.clone(), now: 0, gone: 0, first: None };
            let model = models.entry(name).or_insert(new);
            model.now += piece.count;
            if let Some(leaves) = ahead.leaving.get(&piece.label) {
                model.gone += piece.count;
                model.first = model.first.take().into_iter().chain([leaves.clone()]).min();
            }
        }
        models.into_values().collect()
    }

    fn row(&self) -> Vec<String> {
        let (on, why) = self.first.clone().map_or_else(Default::default, |(on, why)| (on.to_string(), why));
        vec![self.name.clone(), self.now.to_string(), self.gone.to_string(), on, why]
    }
}

impl Ahead {
    /// The outing with the pieces that will be left.
    #[must_use]
    pub fn left_of(&self, outing: &Outing) -> Outing {
        let mut left = outing.clone();
        left.pieces.retain(|piece| !self.leaving.contains_key(&piece.label));
        left
    }

    /// Told: how many of each model are withdrawn, and what mends the outing then, each with the offer that costs least a year.
    #[must_use]
    pub fn told(&self, of: &Day, outing: &Outing, mended: &Choice) -> Answer {
        let models = Model::all(outing, self);
        let spares: Vec<Spare> =
            mended.remedies.buy.iter().map(|(need, count, _)| Spare::of(&outing.needs[*need], *count, of)).collect();
        let gone = models.iter().map(|model| model.gone).sum::<u32>();
        let all = models.iter().map(|model| model.now).sum::<u32>();
        let values = [("until", self.until.to_string()), ("count", gone.to_string()), ("all", all.to_string())];
        let mut text = texts::outing("season", &values) + "\n";
        if gone > 0 {
            let head = texts::outing("season-columns", &[]).split('|').map(str::to_owned).collect();
            let rows = models.iter().filter(|model| model.gone > 0).map(Model::row);
            text += &columns(&std::iter::once(head).chain(rows).collect::<Vec<_>>());
        }
        let met = spares.is_empty().then(|| texts::outing("season-met", &[]));
        let measured = (!self.measured.is_empty())
            .then(|| texts::outing("season-measured", &[("labels", compact(&self.measured))]));
        for line in met.into_iter().chain(spares.iter().map(Spare::words)).chain(measured) {
            text += &format!("{line}\n");
        }
        let leaving =
            self.leaving.iter().map(|(label, (on, why))| json!({ "label": label, "on": on.to_string(), "why": why }));
        let json = json!({
            "until": self.until.to_string(), "withdrawn": leaving.collect::<Vec<_>>(), "measured": self.measured,
            "spares": spares.iter().map(Spare::json).collect::<Vec<_>>(),
        });
        let mut answer = Answer::cautioned(text, json);
        answer.counts = !spares.is_empty();
        answer
    }
}

/// What would have to be bought for a need.
struct Spare {
    need: String,
    count: u32,
    /// Label of an offer, and what so many cost a year of service.
    offer: Option<(String, f64)>,
}

impl Spare {
    fn of(need: &Need, count: u32, of: &Day) -> Self {
        let does = of.file.offers.iter().filter(|offer| need.suit(&offer.piece).is_ok());
        let least = does.min_by(|one, other| one.a_year().total_cmp(&other.a_year()));
        let offer = least.map(|offer| (offer.piece.label.clone(), offer.a_year() * f64::from(count)));
        Self { need: need.name.clone(), count, offer }
    }

    fn words(&self) -> String {
        let mut values = vec![("need", self.need.clone()), ("count", self.count.to_string())];
        let Some((label, a_year)) = &self.offer else { return texts::outing("season-spare", &values) };
        values.extend([("offer", label.clone()), ("cost", two_figures(*a_year))]);
        texts::outing("season-spare-offer", &values)
    }

    fn json(&self) -> Value {
        let offer = self.offer.as_ref();
        json!({
            "need": self.need, "count": self.count, "offer": offer.map(|(label, _)| label), "cost_a_year": offer.map(|(_, a_year)| a_year),
        })
    }
}
