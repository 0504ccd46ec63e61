//! A choice kept as the JSON that `outing plan` gives.

use super::{NotPlanned, fault};
use crate::Surroundings;
use plan::choice::{Choice, Remedies, Taken, Unit};
use plan::outing::{Need, Outing};
use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize};

/// An outing as a page keeps it: all that it takes to open it again.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct KeptOuting {
    /// The text of its file.
    pub text: String,
    /// What was chosen, where that was done.
    pub choice: Option<Kept>,
    /// Rig files of somebody's own that it names: name and text.
    #[serde(default)]
    pub rigs: Vec<(String, String)>,
}

/// What is kept of a choice: which labels each need took.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Kept {
    /// By need, in the order of the file.
    pub needs: Vec<KeptNeed>,
}

/// What a need took.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptNeed {
    /// Its name.
    pub name: String,
    /// Labels and counts of each time.
    pub units: Vec<Vec<KeptLabel>>,
}

/// So many of a label.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptLabel {
    /// The label.
    pub label: String,
    /// How many.
    #[serde(deserialize_with = "whole")]
    pub count: u32,
}

/// A whole number, as JSON may write it: `2.0` is one.
pub(super) fn whole<'de, D: Deserializer<'de>, T: TryFrom<u64>>(from: D) -> Result<T, D::Error> {
    let number = serde_json::Number::deserialize(from)?;
    let is_whole = |value: &f64| value.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(value);
    // Exact within that range.
    let whole = number.as_u64().or_else(|| number.as_f64().filter(is_whole).map(|value| value as u64));
    let fits = whole.and_then(|whole| T::try_from(whole).ok());
    fits.ok_or_else(|| D::Error::custom(format!("{number} is no whole number from 0 to {}", u32::MAX)))
}

impl Kept {
    /// What is kept of a choice.
    #[must_use]
    pub fn of(outing: &Outing, choice: &Choice) -> Self {
        let label = |taken: &Taken| KeptLabel { label: taken.label.clone(), count: taken.count };
        let unit = |unit: &Unit| unit.pieces.iter().map(label).collect();
        let needs = outing.needs.iter().zip(&choice.units);
        Self {
            needs: needs
                .map(|(need, units)| KeptNeed { name: need.name.clone(), units: units.iter().map(unit).collect() })
                .collect(),
        }
    }

    /// Reads what was kept.
    ///
    /// # Errors
    /// Where the file cannot be read or holds no choice.
    pub fn read(surroundings: &dyn Surroundings, path: &str) -> Result<Self, NotPlanned> {
        let text = surroundings
            .read(path)
            .map_err(|why| NotPlanned::Unreadable { path: path.to_owned(), why: why.to_string() })?;
        serde_json::from_str(&text)
            .map_err(|why| fault("outing-no-choice", &[("path", path.to_owned()), ("why", why.to_string())]))
    }

    /// The choice for an outing: its needs by name, in the order of the outing.
    ///
    /// # Errors
    /// Where it is the choice of another outing.
    pub fn choice(&self, outing: &Outing, path: &str) -> Result<Choice, NotPlanned> {
        let names = |need: &KeptNeed| need.name.clone();
        if self.needs.iter().map(names).ne(outing.needs.iter().map(|need| need.name.clone())) {
            return Err(fault("outing-other-choice", &[("path", path.to_owned())]));
        }
        let fits = |(need, of): (&KeptNeed, &Need)| {
            let pieces = |unit: &Vec<KeptLabel>| unit.iter().map(|label| u64::from(label.count)).sum::<u64>();
            need.units.len() <= of.count as usize
                && need.units.iter().all(|unit| pieces(unit) <= u64::from(of.pieces_each()))
        };
        if !self.needs.iter().zip(&outing.needs).all(fits) {
            return Err(fault("outing-other-choice", &[("path", path.to_owned())]));
        }
        let taken = |kept: &KeptLabel| Taken { label: kept.label.clone(), count: kept.count };
        let units: Vec<Vec<Unit>> = self
            .needs
            .iter()
            .map(|need| need.units.iter().map(|unit| Unit { pieces: unit.iter().map(taken).collect() }).collect())
            .collect();
        let short = outing.needs.iter().zip(&units).map(|(need, units)| need.count.saturating_sub(units.len() as u32));
        Ok(Choice { short: short.collect(), units, goals: Vec::new(), remedies: Remedies::default() })
    }
}
