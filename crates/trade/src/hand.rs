//! What a hand gives.

use crate::cited::{self, Read};
use serde::Deserialize;
use std::sync::LazyLock;
use terms::{Force, Source};

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    least_kn: f64,
    typical_kn: f64,
    most_kn: f64,
    source: String,
    quality: Read,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    grip: Row,
}

static HAND: LazyLock<Table> = LazyLock::new(|| cited::parse(include_str!("../data/hand.toml")));

/// The grip of one hand on a moving rope, over the people who were tested.
#[derive(Debug, Clone, PartialEq)]
pub struct Grip {
    /// The weakest.
    pub least: Force,
    /// The average.
    pub typical: Force,
    /// The strongest.
    pub most: Force,
    /// Where it comes from.
    pub source: Source,
}

/// What one hand holds on a moving rope.
#[must_use]
pub fn grip() -> Grip {
    let row = &HAND.grip;
    Grip {
        least: Force::from_kn(row.least_kn),
        typical: Force::from_kn(row.typical_kn),
        most: Force::from_kn(row.most_kn),
        source: cited::source(&row.source, row.quality),
    }
}

#[cfg(test)]
mod tests {
    /// Mauthner, quoted by Moyer 2006, slide 2: 46, 209 and 425 N.
    #[test]
    fn the_grip_is_as_published() {
        let grip = super::grip();
        assert_eq!([grip.least, grip.typical, grip.most].map(|force| force.newtons().round()), [46.0, 209.0, 425.0]);
    }
}
