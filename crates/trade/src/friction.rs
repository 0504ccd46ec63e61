//! Bands of what a rope meets: friction over metal, and the pull at which a brake pays rope out.

use crate::cited::{self, Read};
use serde::Deserialize;
use std::sync::LazyLock;
use terms::{Force, Quality, Source};

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Nominal {
    value: f64,
    source: String,
    quality: Read,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    over: String,
    low: f64,
    high: f64,
    source: String,
    quality: Read,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct FrictionTable {
    nominal: Nominal,
    figure: Vec<Row>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct BrakeRow {
    device: String,
    also: Vec<String>,
    slips_low_kn: f64,
    slips_high_kn: f64,
    source: String,
    quality: Read,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct BrakeTable {
    brake: Vec<BrakeRow>,
}

static FRICTION: LazyLock<FrictionTable> = LazyLock::new(|| cited::parse(include_str!("../data/friction.toml")));
static BRAKES: LazyLock<BrakeTable> = LazyLock::new(|| cited::parse(include_str!("../data/brakes.toml")));

/// One published figure of the capstan coefficient.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What the rope ran over.
    pub over: String,
    /// The least that was seen.
    pub low: f64,
    /// The most that was seen.
    pub high: f64,
    /// Where it comes from.
    pub source: Source,
}

impl Figure {
    /// Whether the band takes it in: a figure from memory is shown and no more.
    #[must_use]
    pub fn counts(&self) -> bool {
        self.source.quality != Quality::FromMemory
    }
}

/// The capstan coefficient of rope over metal.
#[derive(Debug, Clone, PartialEq)]
pub struct FrictionBand {
    /// The least of the figures that count.
    pub low: f64,
    /// Where nothing is given.
    pub nominal: f64,
    /// The most of the figures that count.
    pub high: f64,
    /// Where the nominal value comes from.
    pub nominal_source: Source,
    /// Every figure, those that do not count included.
    pub figures: Vec<Figure>,
}

/// The band of friction of rope over metal.
#[must_use]
pub fn friction_band() -> FrictionBand {
    let figures: Vec<_> = FRICTION.figure.iter().map(figure).collect();
    let counting = || figures.iter().filter(|figure| figure.counts());
    FrictionBand {
        low: counting().map(|figure| figure.low).fold(f64::INFINITY, f64::min),
        nominal: FRICTION.nominal.value,
        high: counting().map(|figure| figure.high).fold(0.0, f64::max),
        nominal_source: cited::source(&FRICTION.nominal.source, FRICTION.nominal.quality),
        figures,
    }
}

fn figure(row: &Row) -> Figure {
    Figure { over: row.over.clone(), low: row.low, high: row.high, source: cited::source(&row.source, row.quality) }
}

/// The pull at which a brake in a strong hand pays rope out.
#[derive(Debug, Clone, PartialEq)]
pub struct BrakeBand {
    /// The least.
    pub low: Force,
    /// The most.
    pub high: Force,
    /// Where it comes from.
    pub source: Source,
}

/// The band of a brake by its name in the trade; `None` where it is not listed.
#[must_use]
pub fn brake_band(device: &str) -> Option<BrakeBand> {
    let is_named = |row: &&BrakeRow| row.device == device || row.also.iter().any(|name| name == device);
    BRAKES.brake.iter().find(is_named).map(|row| BrakeBand {
        low: Force::from_kn(row.slips_low_kn),
        high: Force::from_kn(row.slips_high_kn),
        source: cited::source(&row.source, row.quality),
    })
}

/// The names of the brakes that are listed.
#[must_use]
pub fn brakes() -> Vec<&'static str> {
    BRAKES.brake.iter().map(|row| row.device.as_str()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Delaney 2022, p. 88 (metal hosts, 0.14 to 0.25), and Fuss and Niegl 2010 (0.2 to 0.3), both read in the source.
    #[test]
    fn the_band_spans_the_figures_that_were_read() {
        let band = friction_band();
        assert_eq!((band.low, band.high), (0.14, 0.30));
        assert!(band.low < band.nominal && band.nominal < band.high);
    }

    #[test]
    fn figures_from_memory_are_shown_and_do_not_widen_the_band() {
        let band = friction_band();
        let (counting, recalled): (Vec<_>, Vec<_>) = band.figures.iter().partition(|figure| figure.counts());
        assert!(!recalled.is_empty() && recalled.iter().all(|figure| figure.source.quality == Quality::FromMemory));
        assert!(
            counting.iter().any(|figure| figure.low == band.low)
                && counting.iter().any(|figure| figure.high == band.high)
        );
    }

    #[test]
    fn every_row_is_in_order_and_has_a_source() {
        for figure in friction_band().figures {
            assert!(0.0 < figure.low && figure.low <= figure.high && !figure.source.text.is_empty(), "{}", figure.over);
        }
        for device in brakes() {
            let band = brake_band(device).expect("listed");
            assert!(Force::default() < band.low && band.low < band.high && !band.source.text.is_empty(), "{device}");
        }
    }

    #[test]
    fn a_brake_goes_by_any_of_its_names_and_an_unlisted_one_has_no_band() {
        assert_eq!(brake_band("Munter hitch"), brake_band("HMS"));
        assert!(brake_band("Munter hitch").is_some());
        assert_eq!(brake_band("bare hands"), None);
    }
}
