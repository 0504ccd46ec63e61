//! What the standards ask of connectors and of the gear around them: `data/standards.toml`, parsed once.
//!
//! A class minimum is for comparing with a mark. It is never lent to a piece whose mark cannot be read.

use std::sync::LazyLock;

use serde::Deserialize;
use terms::{Force, Source, coded};

use crate::cited::{self, Read};
use crate::connector::Class;

coded!(
    /// The two standards that a connector may carry ratings of. They share letters, not demands.
    Standard {
        /// Mountaineering connectors.
        En12275 = "EN 12275",
        /// Connectors for work at height.
        En362 = "EN 362",
    }
);

coded!(
    /// A type letter as stamped. B, T, A and Q stand in both standards and do not ask for the same there.
    TypeLetter {
        /// Basic, in both standards.
        B = "B",
        /// HMS: EN 12275 only.
        H = "H",
        /// Via ferrata: EN 12275 only.
        K = "K",
        /// Anchor, in both standards.
        A = "A",
        /// Termination, in both standards.
        T = "T",
        /// Quick link, in both standards.
        Q = "Q",
        /// Oval: EN 12275 only.
        X = "X",
        /// Directional: EN 12275:1998 only; class T took its place.
        D = "D",
        /// Multi-use: EN 362 only.
        M = "M",
    }
);

impl TypeLetter {
    /// The type of EN 12275:2013 with this letter, if there is one.
    #[must_use]
    pub fn class(self) -> Option<Class> {
        Class::from_code(self.code())
    }

    /// Whether any edition of `standard` has this letter.
    #[must_use]
    pub fn is_of(self, standard: Standard) -> bool {
        editions(standard).any(|table| table.row(self).is_some())
    }
}

/// What one class of one standard asks for. `None`: nothing is asked, or nothing was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Minimum {
    /// Major axis, gate closed (for EN 362: not locked).
    pub closed: Option<Force>,
    /// Major axis, gate closed and locked, where the standard sets it apart.
    pub closed_locked: Option<Force>,
    /// Major axis, gate open.
    pub open: Option<Force>,
    /// Minor axis, gate closed.
    pub minor: Option<Force>,
    /// What the letter stands for.
    pub description: String,
    /// Footnote letters of the row, and the footnotes of the table.
    pub notes: String,
    /// Where the row comes from.
    pub source: Source,
}

/// A minimum strength of other gear.
#[derive(Debug, Clone, PartialEq)]
pub struct GearMinimum {
    /// The standard, as "EN 566".
    pub standard: String,
    /// The part or direction.
    pub part: String,
    /// The least strength.
    pub minimum: Force,
    /// Under what conditions; may be empty.
    pub conditions: String,
    /// Where it comes from.
    pub source: Source,
}

/// What the current edition of `standard` asks of `letter`: EN 12275:2013 or EN 362:2004.
#[must_use]
pub fn minimum(standard: Standard, letter: TypeLetter) -> Option<Minimum> {
    editions(standard).max_by_key(|table| table.edition).and_then(|table| table.minimum(letter))
}

/// What one edition asks, by its year. EN 12275:1998 is from memory: to be shown, never judged by.
#[must_use]
pub fn minimum_of_edition(standard: Standard, edition: u16, letter: TypeLetter) -> Option<Minimum> {
    editions(standard).find(|table| table.edition == edition).and_then(|table| table.minimum(letter))
}

/// Whether `year` is an edition of `standard` that there is a table of.
#[must_use]
pub fn is_edition(standard: Standard, year: u16) -> bool {
    editions(standard).any(|table| table.edition == year)
}

/// The least strength of accessory cord in kN, F = k d², EN 564 (by an encyclopaedia article), `diameter_mm` in mm.
/// `None` outside 4 to 8 mm, where EN 564 says nothing.
#[must_use]
pub fn en564_minimum_kn(diameter_mm: f64) -> Option<f64> {
    let cord = &FILE.cord;
    (cord.smallest_mm..=cord.largest_mm)
        .contains(&diameter_mm)
        .then_some(cord.coefficient_kn_per_mm2 * diameter_mm * diameter_mm)
}

/// The least and the largest diameter of cord in mm that EN 564 asks something of.
#[must_use]
pub fn en564_diameters_mm() -> [f64; 2] {
    [FILE.cord.smallest_mm, FILE.cord.largest_mm]
}

/// Where the cord formula comes from.
#[must_use]
pub fn en564_source() -> Source {
    cited::source(&FILE.cord.source, FILE.cord.quality)
}

/// The minimum strengths of other gear under `standard` (as "EN 566"), in the order of the file.
pub fn gear(standard: &str) -> impl Iterator<Item = GearMinimum> {
    FILE.gear.iter().filter(move |row| row.standard == standard).map(|row| GearMinimum {
        standard: row.standard.clone(),
        part: row.part.clone(),
        minimum: Force::from_kn(row.minimum_kn),
        conditions: row.conditions.clone(),
        source: cited::source(&row.source, row.quality),
    })
}

/// What the marking reader takes for possible.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Limits {
    pub lowest_rating: Force,
    pub highest_rating: Force,
    /// How far apart a kN and an lbf figure of one rating may be, as a ratio.
    pub unit_pair_tolerance: f64,
    pub earliest_year: u16,
    pub latest_year: u16,
}

pub(crate) static LIMITS: LazyLock<Limits> = LazyLock::new(|| Limits {
    lowest_rating: Force::from_kn(limit("lowest-rating")),
    highest_rating: Force::from_kn(limit("highest-rating")),
    unit_pair_tolerance: limit("unit-pair-tolerance"),
    earliest_year: limit("earliest-year") as u16,
    latest_year: limit("latest-year") as u16,
});

static FILE: LazyLock<File> = LazyLock::new(|| cited::parse(include_str!("../data/standards.toml")));

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    standard: Vec<Table>,
    cord: Cord,
    gear: Vec<GearRow>,
    limit: Vec<LimitRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    name: String,
    edition: u16,
    notes: String,
    source: String,
    quality: Read,
    classes: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    letter: String,
    description: String,
    closed_kn: Option<f64>,
    closed_locked_kn: Option<f64>,
    open_kn: Option<f64>,
    minor_kn: Option<f64>,
    #[serde(default)]
    notes: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Cord {
    #[serde(rename = "standard")]
    _standard: String,
    coefficient_kn_per_mm2: f64,
    smallest_mm: f64,
    largest_mm: f64,
    #[serde(rename = "notes")]
    _notes: String,
    source: String,
    quality: Read,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct GearRow {
    standard: String,
    part: String,
    minimum_kn: f64,
    #[serde(default)]
    conditions: String,
    source: String,
    quality: Read,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LimitRow {
    name: String,
    value: f64,
    #[serde(rename = "unit")]
    _unit: String,
    #[serde(rename = "source")]
    _source: String,
    #[serde(rename = "quality")]
    _quality: Read,
}

impl Table {
    fn row(&self, letter: TypeLetter) -> Option<&Row> {
        self.classes.iter().find(|row| row.letter == letter.code())
    }

    fn minimum(&self, letter: TypeLetter) -> Option<Minimum> {
        let row = self.row(letter)?;
        Some(Minimum {
            closed: row.closed_kn.map(Force::from_kn),
            closed_locked: row.closed_locked_kn.map(Force::from_kn),
            open: row.open_kn.map(Force::from_kn),
            minor: row.minor_kn.map(Force::from_kn),
            description: row.description.clone(),
            notes: [row.notes.as_str(), self.notes.as_str()].join(" ").trim().to_owned(),
            source: cited::source(&self.source, self.quality),
        })
    }
}

fn editions(standard: Standard) -> impl Iterator<Item = &'static Table> {
    FILE.standard.iter().filter(move |table| table.name == standard.code())
}

fn limit(name: &str) -> f64 {
    FILE.limit.iter().find(|row| row.name == name).expect("data/standards.toml has every limit").value
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_of_the_file_is_a_type_letter() {
        for row in FILE.standard.iter().flat_map(|table| &table.classes) {
            assert!(TypeLetter::from_code(&row.letter).is_some(), "{}", row.letter);
        }
    }
}
