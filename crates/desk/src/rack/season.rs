//! A season ahead: what will be withdrawn by itself until a day, and the spares for it.

use super::fields::day;
use super::labels::compact;
use super::wear::{Limit, limit};
use super::{Answer, Fault, Rack, Result, View};
use crate::columns::columns;
use crate::figures::two_figures;
use crate::outing::Day;
use crate::texts;
use async_recursion::async_recursion as boxed;
use jiff::civil::Date;
use plan::choice::Choice;
use plan::outing::{Need, Outing, Stays};
use register::history::{History, Past};
use register::piece::Piece;
use register::standing::{State, standing};
use register::store::Query;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// What log, policy and date say of the pieces of some kinds, up to a day, and what the forecasts of their grooves do.
#[derive(Debug)]
pub struct Ahead {
    until: Date,
    /// By label.
    leaving: BTreeMap<String, Leaves>,
    /// By why nothing can be forecast: labels of which a groove was measured.
    untold: BTreeMap<String, Vec<String>>,
}

/// That a piece is withdrawn.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Leaves {
    on: Date,
    why: String,
    /// Whether it is withdrawn by age or limit, or worn even at the high end of its forecast; it may be fit otherwise.
    is_sure: bool,
    is_by_wear: bool,
}

impl Rack<'_> {
    /// What the pieces of an outing's kinds will be up to a day, if nothing more is written and they are used as often as so far.
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
        let mut ahead = Ahead { until, leaving: BTreeMap::new(), untold: BTreeMap::new() };
        for gear in of.gears() {
            let rows = self.all(Query { gear: Some(gear.code().to_owned()), ..Query::default() }).await?;
            for (row, (piece, history)) in rows.iter().zip(self.fold_all(&rows, &view).await?) {
                if row.standing == State::Withdrawn {
                    continue;
                }
                let wears = wears(&piece, &history, &view)?;
                let worn = wears.as_ref().and_then(|limit| worn(limit, view.now.on, until));
                let by = [leaves(&piece, &history, &view, until), worn];
                // What is sure counts before what may be, and then what is sooner.
                if let Some(leaves) = by.into_iter().flatten().min_by_key(|leaves| (!leaves.is_sure, leaves.on)) {
                    ahead.leaving.insert(row.label.clone(), leaves);
                } else if let Some(Limit::Untold(why)) = wears {
                    ahead.untold.entry(why).or_default().push(row.label.clone());
                }
            }
        }
        Ok(ahead)
    }
}

/// When its groove comes to its limit, where one was measured.
fn wears(piece: &Piece, history: &History, view: &View) -> Result<Option<Limit>> {
    let about: Vec<&Past> = piece.of(history).collect();
    let found = limit(&piece.label, &about, view.now.on)?;
    // One without an interval says how deep it is, and not how fast it deepens.
    let bare = || Limit::Untold(texts::outing("season-no-interval", &[]));
    Ok(found.or_else(|| piece.readings.contains_key("groove").then(bare)))
}

/// By when its forecast has it worn, where its low end lies within the season: a spare too many stays at home, one too few is missed.
fn worn(limit: &Limit, today: Date, until: Date) -> Option<Leaves> {
    let told = |on, code, values: &[(&str, String)], is_sure| {
        Some(Leaves { on, why: texts::outing(code, values), is_sure, is_by_wear: true })
    };
    match limit {
        Limit::Reached => told(today, "season-worn-now", &[], true),
        Limit::Within(band) if band.low <= until => {
            let values = [("median", band.median.to_string()), ("high", band.high.to_string())];
            let is_sure = band.high <= until;
            told(band.low, if is_sure { "season-worn" } else { "season-may-wear" }, &values, is_sure)
        }
        Limit::Within(_) | Limit::Untold(_) => None,
    }
}

/// From which day up to `until` it is withdrawn, and why, if nothing more is written.
fn leaves(piece: &Piece, history: &History, view: &View, until: Date) -> Option<Leaves> {
    let mut on = view.now.on;
    loop {
        let stands = standing(piece, history, &view.group, on);
        if stands.state == State::Withdrawn {
            let why = stands.reasons.first().map(|why| texts::reason(&why.reason)).unwrap_or_default();
            return Some(Leaves { on, why, is_sure: true, is_by_wear: false });
        }
        on = stands.changes_on.filter(|next| *next > on && *next <= until)?;
    }
}

/// The pieces of a model, now and then.
struct Model {
    name: String,
    now: u32,
    gone: u32,
    /// Of those that are gone: how many may still be fit.
    maybe: u32,
    first: Option<Leaves>,
}

impl Model {
    fn all(outing: &Outing, ahead: &Ahead) -> Vec<Self> {
        let mut models: BTreeMap<String, Self> = BTreeMap::new();
        for piece in outing.pieces.iter().filter(|piece| piece.stays != Some(Stays::Out)) {
            let gear = piece.is.gear.map_or("-", |gear| gear.code());
            let name = piece.model.clone().unwrap_or_else(|| gear.to_owned());
            let new = Self { name: name.clone(), now: 0, gone: 0, maybe: 0, first: None };
            let model = models.entry(name).or_insert(new);
            model.now += piece.count;
            if let Some(leaves) = ahead.leaving.get(&piece.label) {
                model.gone += piece.count;
                model.maybe += if leaves.is_sure { 0 } else { piece.count };
                model.first = model.first.take().into_iter().chain([leaves.clone()]).min();
            }
        }
        models.into_values().collect()
    }

    fn row(&self) -> Vec<String> {
        let (on, why) = self.first.clone().map_or_else(Default::default, |first| (first.on.to_string(), first.why));
        let counts = [self.now, self.gone, self.maybe].map(|count| count.to_string());
        [self.name.clone()].into_iter().chain(counts).chain([on, why]).collect()
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
        let maybe = models.iter().map(|model| model.maybe).sum::<u32>();
        let counts = [("count", gone), ("all", all), ("maybe", maybe)].map(|(name, count)| (name, count.to_string()));
        let values: Vec<_> = counts.into_iter().chain([("until", self.until.to_string())]).collect();
        let mut text = texts::outing("season", &values) + "\n";
        if gone > 0 {
            let head = texts::outing("season-columns", &[]).split('|').map(str::to_owned).collect();
            let rows = models.iter().filter(|model| model.gone > 0).map(Model::row);
            text += &columns(&std::iter::once(head).chain(rows).collect::<Vec<_>>());
        }
        let met = spares.is_empty().then(|| texts::outing("season-met", &[]));
        let wears = self.leaving.values().any(|leaves| leaves.is_by_wear).then(|| texts::outing("season-wear", &[]));
        let untold = self
            .untold
            .iter()
            .map(|(why, labels)| texts::outing("season-untold", &[("labels", compact(labels)), ("why", why.clone())]));
        for line in wears.into_iter().chain(met).chain(spares.iter().map(Spare::words)).chain(untold) {
            text += &format!("{line}\n");
        }
        let leaving = self.leaving.iter().map(|(label, leaves)| {
            json!({ "label": label, "on": leaves.on.to_string(), "why": leaves.why, "is_sure": leaves.is_sure })
        });
        let untold = self
            .untold
            .iter()
            .flat_map(|(why, labels)| labels.iter().map(move |label| json!({ "label": label, "why": why })));
        let json = json!({
            "until": self.until.to_string(), "withdrawn": leaving.collect::<Vec<_>>(), "not_forecast": untold.collect::<Vec<_>>(),
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
