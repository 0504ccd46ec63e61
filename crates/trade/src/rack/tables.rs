//! What the rules of a rack are chosen from: regimes, how long textiles serve, what may harm gear.

use super::kind::{Body, Kind};
use super::words::{AgeFrom, Then};
use crate::cited::{self, Read};
use serde::Deserialize;
use std::sync::LazyLock;
use terms::Source;

static REGIMES: LazyLock<RegimeTable> = LazyLock::new(|| cited::parse(include_str!("../../data/regimes.toml")));
static LIVES: LazyLock<LifeTable> = LazyLock::new(|| cited::parse(include_str!("../../data/lives.toml")));
static EXPOSURES: LazyLock<ExposureTable> = LazyLock::new(|| cited::parse(include_str!("../../data/exposures.toml")));

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RegimeTable {
    regime: Vec<Regime>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct LifeTable {
    life: Vec<Voice>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct ExposureTable {
    exposure: Vec<Exposure>,
}

/// A rule that binds some groups: it holds only for those who say that it does.
#[derive(Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Regime {
    /// The word for it in a policy.
    pub code: String,
    /// What it is about.
    pub kinds: Vec<Kind>,
    /// Months between inspections, at most.
    pub months: u32,
    /// What it says.
    pub says: String,
    /// Where, and for whom.
    #[serde(rename = "where")]
    pub holds: String,
    source: String,
    quality: Read,
}

/// How long something serves, as somebody says.
#[derive(Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Voice {
    /// The word for it in a policy.
    pub code: String,
    /// What it is about.
    pub what: String,
    /// From when it counts.
    pub from: AgeFrom,
    /// Years, least and most.
    pub years: [u32; 2],
    source: String,
    quality: Read,
}

/// Something that may harm gear.
#[derive(Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Exposure {
    /// The word for it in the log.
    pub code: String,
    /// What it is.
    pub what: String,
    textile: Then,
    composed: Then,
    metal: Then,
    shell: Then,
    source: String,
    quality: Read,
}

macro_rules! sourced {
    ($($name:ident),+) => { $(
        impl $name {
            /// Where it comes from.
            #[must_use]
            pub fn source(&self) -> Source {
                cited::source(&self.source, self.quality)
            }
        }
    )+ };
}
sourced!(Regime, Voice, Exposure);

impl Exposure {
    /// What follows for what is made so.
    #[must_use]
    pub const fn then(&self, body: Body) -> Then {
        match body {
            Body::Textile => self.textile,
            Body::Metal => self.metal,
            Body::Shell => self.shell,
            Body::Composed => self.composed,
        }
    }
}

/// Every regime.
#[must_use]
pub fn regimes() -> &'static [Regime] {
    &REGIMES.regime
}

/// How long textiles serve, as others say; those from memory too.
#[must_use]
pub fn voices() -> &'static [Voice] {
    &LIVES.life
}

/// What may harm gear.
#[must_use]
pub fn exposures() -> &'static [Exposure] {
    &EXPOSURES.exposure
}

/// Looks a code up, telling what would do where there is none.
pub(super) fn find<T>(
    rows: &'static [T],
    code: impl Fn(&T) -> &str,
    wanted: &str,
    what: &str,
) -> Result<&'static T, String> {
    rows.iter().find(|row| code(row) == wanted).ok_or_else(|| {
        let known: Vec<_> = rows.iter().map(&code).collect();
        format!("\"{wanted}\" is no {what}; those are {}", known.join(", "))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn codes_are_unique_and_ranges_in_order() {
        assert_eq!(regimes().iter().map(|row| &row.code).collect::<BTreeSet<_>>().len(), regimes().len());
        assert_eq!(voices().iter().map(|row| &row.code).collect::<BTreeSet<_>>().len(), voices().len());
        assert_eq!(exposures().iter().map(|row| &row.code).collect::<BTreeSet<_>>().len(), exposures().len());
        assert!(voices().iter().all(|voice| voice.years[0] <= voice.years[1]));
    }
}
