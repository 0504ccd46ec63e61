//! What counts as use: load times length of rope run.
//!
//! Archard's law: worn volume = K F s / H, with the load F, the length of slide s, the hardness H of the softer body and
//! a number K without unit (Archard 1953, as in a handbook chapter on tribology). K and H are the same from one day to
//! the next, so F s is what adds up. In a groove that keeps the width of the rope, depth goes with volume.

use crate::practice::{parse, quality};
use serde::Deserialize;
use std::iter::Sum;
use std::ops::{Add, Sub};
use std::sync::LazyLock;
use terms::{Force, Length, Mass, Quality, STANDARD_GRAVITY, Source, coded};

/// Load times length of rope run; kilonewton metres inside.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Exposure(f64);

impl Exposure {
    /// In kilonewton metres.
    #[must_use]
    pub const fn from_kn_m(value: f64) -> Self {
        Self(value)
    }

    /// In kilonewton metres.
    #[must_use]
    pub const fn kn_m(self) -> f64 {
        self.0
    }

    /// That of rope running over a piece under load: `None` where load or length are negative or no number.
    #[must_use]
    pub fn of(load: Force, rope_run: Length) -> Option<Self> {
        let valid = |value: f64| value >= 0.0 && value.is_finite();
        (valid(load.kn()) && valid(rope_run.m())).then(|| Self(load.kn() * rope_run.m()))
    }
}

impl Add for Exposure {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Exposure {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Sum for Exposure {
    fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
        Self(items.map(Self::kn_m).sum())
    }
}

coded!(
    /// What is done with a piece.
    #[derive(Deserialize)]
    #[serde(rename_all = "kebab-case")]
    Activity {
        /// A person slides down the rope on a device in this piece.
        Rappel = "rappel",
        /// A person is lowered with a device in this piece, over a connector above.
        Lower = "lower",
        /// A person is lowered on the rope that turns over this piece.
        LowerOver = "lower-over",
        /// Slack rope is drawn through.
        TakeIn = "take-in",
        /// A person hangs, no rope runs.
        Hang = "hang",
    }
);

impl Activity {
    fn row(self) -> &'static Row {
        TABLE.activity.iter().find(|row| row.code == self).expect("every activity has its row, as a test says")
    }

    /// Pull on the piece while rope runs, as a share of the person's weight.
    #[must_use]
    pub fn share_of_weight(self) -> f64 {
        self.row().share_of_weight
    }

    /// Where that share comes from.
    #[must_use]
    pub fn source(self) -> Source {
        Source { text: self.row().source.clone(), quality: self.row().quality }
    }

    /// What one such act adds, for a person of this mass over this length of rope; where the load is known from a rig,
    /// [`Exposure::of`] takes it instead. `None` as there.
    #[must_use]
    pub fn exposure(self, person: Mass, rope_run: Length) -> Option<Exposure> {
        let weight = person.kg() * STANDARD_GRAVITY;
        Exposure::of(Force::from_newtons(self.share_of_weight() * weight), rope_run)
    }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    code: Activity,
    share_of_weight: f64,
    source: String,
    #[serde(deserialize_with = "quality")]
    quality: Quality,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    activity: Vec<Row>,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| parse(include_str!("../data/exposure.toml")));

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_activity_has_one_row_with_its_source() {
        assert_eq!(TABLE.activity.len(), Activity::ALL.len());
        for &activity in Activity::ALL {
            assert!(!activity.source().text.is_empty(), "{}", activity.code());
            assert_ne!(activity.source().quality, Quality::FromMemory);
        }
    }

    #[test]
    fn load_times_length_counts_and_standing_still_does_not() {
        let day = |activity: Activity| activity.exposure(Mass::from_kg(80.0), Length::from_m(25.0)).unwrap().kn_m();
        let weight_kn = 80.0 * STANDARD_GRAVITY / 1e3;
        assert!((day(Activity::Rappel) - 1.066 * weight_kn * 25.0).abs() < 1e-9);
        assert_eq!([day(Activity::Hang), day(Activity::TakeIn)], [0.0, 0.0]);
        assert!(day(Activity::LowerOver) > day(Activity::Rappel) && day(Activity::Rappel) > day(Activity::Lower));
    }

    #[test]
    fn what_is_no_load_or_no_length_is_refused() {
        for (load, length) in [(-1.0, 5.0), (1.0, -5.0), (f64::NAN, 5.0), (1.0, f64::INFINITY)] {
            assert_eq!(Exposure::of(Force::from_kn(load), Length::from_m(length)), None);
        }
    }
}
