//! The figures of this room that no measurement gives, each with its source: `data/wear.toml`.

use serde::{Deserialize, Deserializer, de};
use std::sync::LazyLock;
use terms::{Length, Quality, Source};

static PRACTICE: LazyLock<Practice> = LazyLock::new(|| parse(include_str!("../data/wear.toml")));

/// A figure and where it comes from.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figure {
    /// The figure, in the unit of its key.
    pub value: f64,
    source: String,
    #[serde(deserialize_with = "quality")]
    quality: Quality,
}

impl Figure {
    /// Where it comes from.
    #[must_use]
    pub fn source(&self) -> Source {
        Source { text: self.source.clone(), quality: self.quality }
    }
}

/// Limits, callipers, and what is taken where nothing was measured.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Practice {
    /// Depth at which a piece is withdrawn, mm.
    pub limit_mm: Figure,
    /// The same as a share of the bar.
    pub limit_share_of_bar: Figure,
    /// Largest error of a calliper, mm.
    pub calliper_error_mm: Figure,
    /// Standard deviation of one calliper reading from placing the jaws, mm.
    pub calliper_placing_mm: Figure,
    /// Width of a calliper's jaw, mm.
    pub calliper_jaw_mm: Figure,
    /// Thinnest bar that is believed, mm.
    pub bar_from_mm: Figure,
    /// Thickest bar that is believed, mm.
    pub bar_to_mm: Figure,
    /// Standard deviation of the depth of a new piece, mm.
    pub start_new_mm: Figure,
    /// Standard deviation of the depth at the start of the record of a used piece, mm.
    pub start_worn_mm: Figure,
    /// Standard deviation of a rate of wear of which nothing is known, mm per MN m.
    pub rate_wide_mm_per_mn_m: Figure,
    /// Degrees of freedom of the prior of the scatter.
    pub scatter_degrees: Figure,
    /// Standard deviations by which a depth may seem to fall.
    pub fell_deviations: Figure,
    /// Probability that depth rises with use, below which wear cannot be told from none.
    pub told_from_none: Figure,
    /// Multiple of the use in the record beyond which a forecast is far.
    pub far_beyond_record: Figure,
}

/// The table.
#[must_use]
pub fn practice() -> &'static Practice {
    &PRACTICE
}

/// The depth at which a piece is withdrawn: the figure of common practice, or a share of the bar where that is reached
/// sooner.
#[must_use]
pub fn limit(bar: Option<Length>) -> Length {
    let flat = practice().limit_mm.value;
    let share = bar.map(|bar| practice().limit_share_of_bar.value * bar.mm());
    Length::from_mm(share.map_or(flat, |share| share.min(flat)))
}

/// Parses a data file that is part of the program.
pub(crate) fn parse<T: de::DeserializeOwned>(text: &str) -> T {
    toml::from_str(text).unwrap_or_else(|fault| panic!("built-in table: {fault}"))
}

pub(crate) fn quality<'de, D: Deserializer<'de>>(from: D) -> Result<Quality, D::Error> {
    let words = String::deserialize(from)?;
    Quality::from_words(&words).ok_or_else(|| de::Error::custom(format!("no such quality: {words}")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_limit_is_common_practice_and_nothing_more() {
        assert_eq!(practice().limit_mm.source().quality, Quality::CommonPractice);
        assert_eq!(practice().calliper_error_mm.source().quality, Quality::OurDefault);
    }

    #[test]
    fn a_slim_bar_reaches_its_limit_sooner() {
        assert_eq!(limit(None), limit(Some(Length::from_mm(12.0))));
        let slim = limit(Some(Length::from_mm(7.0))).mm();
        assert!((slim - 0.7).abs() < 1e-12, "{slim}");
    }
}
