//! What the state of a rope makes of it, what dynamic ropes are tested with, and what the standards ask of low-stretch ropes and energy absorbers.

use crate::cited::{self, Read};
use serde::Deserialize;
use std::sync::LazyLock;
use terms::{Force, Length, Mass, Source};

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    state: Vec<StateRow>,
    dynamic: Dynamic<DynamicRow>,
    low_stretch: Vec<LowStretchRow>,
    absorber: Vec<AbsorberRow>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct StateRow {
    name: String,
    stiffness_low: f64,
    stiffness_high: f64,
    source: String,
    quality: Read,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct DynamicRow {
    drop_mass_kg: f64,
    source: String,
    quality: Read,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct LowStretchRow {
    type_letter: String,
    elongation_most_pct: f64,
    strength_least_kn: f64,
    knotted_least_kn: f64,
    drop_mass_kg: f64,
    drop_factor: f64,
    drop_most_kn: f64,
    source: String,
    quality: Read,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct AbsorberRow {
    standard: String,
    mass_low_kg: f64,
    mass_high_kg: f64,
    force_most_kn: f64,
    extension_most_m: Option<f64>,
    light_force_most_kn: Option<f64>,
    source: String,
    quality: Read,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| cited::parse(include_str!("../data/ropes.toml")));

/// The state of a rope: the range of a factor on its stiffness.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// The least of the factor.
    pub low: f64,
    /// The most of the factor.
    pub high: f64,
    /// Where it comes from.
    pub source: Source,
}

/// A state by its name in the table, if it is listed.
#[must_use]
pub fn state(name: &str) -> Option<State> {
    TABLE.state.iter().find(|row| row.name == name).map(|row| State {
        low: row.stiffness_low,
        high: row.stiffness_high,
        source: cited::source(&row.source, row.quality),
    })
}

/// The names of the states that are listed.
#[must_use]
pub fn state_names() -> Vec<&'static str> {
    TABLE.state.iter().map(|row| row.name.as_str()).collect()
}

/// Something for each kind of dynamic rope.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dynamic<T> {
    /// For single ropes.
    pub single: T,
    /// For half ropes.
    pub half: T,
    /// For twin ropes.
    pub twin: T,
}

/// The mass of EN 892's drop test.
#[derive(Debug, Clone, PartialEq)]
pub struct DropMass {
    /// The mass.
    pub mass: Mass,
    /// Where it comes from.
    pub source: Source,
}

/// The masses with which EN 892 tests dynamic ropes: one strand of single and half ropes, two of twin ropes.
#[must_use]
pub fn drop_masses() -> Dynamic<DropMass> {
    let mass = |row: &DynamicRow| DropMass {
        mass: Mass::from_kg(row.drop_mass_kg),
        source: cited::source(&row.source, row.quality),
    };
    let Dynamic { single, half, twin } = &TABLE.dynamic;
    Dynamic { single: mass(single), half: mass(half), twin: mass(twin) }
}

/// What EN 1891 asks of a low-stretch rope.
#[derive(Debug, Clone, PartialEq)]
pub struct LowStretch {
    /// The most it may lengthen from 50 to 150 kg, in percent.
    pub elongation_most_pct: f64,
    /// The least it holds without knots.
    pub strength_least: Force,
    /// The least it holds with figure-eight ends.
    pub knotted_least: Force,
    /// Mass and fall factor of the drop in which its force is limited.
    pub drop: (Mass, f64),
    /// The most force in that drop.
    pub drop_most: Force,
    /// Where it comes from.
    pub source: Source,
}

/// What EN 1891 asks of type "A" or "B".
#[must_use]
pub fn low_stretch(type_letter: &str) -> Option<LowStretch> {
    TABLE.low_stretch.iter().find(|row| row.type_letter == type_letter).map(|row| LowStretch {
        elongation_most_pct: row.elongation_most_pct,
        strength_least: Force::from_kn(row.strength_least_kn),
        knotted_least: Force::from_kn(row.knotted_least_kn),
        drop: (Mass::from_kg(row.drop_mass_kg), row.drop_factor),
        drop_most: Force::from_kn(row.drop_most_kn),
        source: cited::source(&row.source, row.quality),
    })
}

/// What a standard asks of an energy absorber.
#[derive(Debug, Clone, PartialEq)]
pub struct Absorber {
    /// The masses it is tested with, lightest first.
    pub masses: [Mass; 2],
    /// The most force.
    pub force_most: Force,
    /// The most force that is advised for the lightest, where the standard says so.
    pub light_force_most: Option<Force>,
    /// The most it may lengthen, where the standard says so.
    pub extension_most: Option<Length>,
    /// Where it comes from.
    pub source: Source,
}

/// What "EN 355" or "EN 958" asks of an energy absorber.
#[must_use]
pub fn absorber(standard: &str) -> Option<Absorber> {
    TABLE.absorber.iter().find(|row| row.standard == standard).map(|row| Absorber {
        masses: [row.mass_low_kg, row.mass_high_kg].map(Mass::from_kg),
        force_most: Force::from_kn(row.force_most_kn),
        light_force_most: row.light_force_most_kn.map(Force::from_kn),
        extension_most: row.extension_most_m.map(Length::from_m),
        source: cited::source(&row.source, row.quality),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_in_order_and_has_a_source() {
        for name in state_names() {
            let state = state(name).expect("listed");
            assert!(0.5 < state.low && state.low <= state.high && !state.source.text.is_empty(), "{name}");
        }
        let Dynamic { single, half, twin } = drop_masses();
        for asked in [single, half, twin] {
            assert!((20.0..=200.0).contains(&asked.mass.kg()) && !asked.source.text.is_empty(), "{asked:?}");
        }
        for letter in ["A", "B"] {
            let asked = low_stretch(letter).expect("listed");
            assert!(asked.knotted_least < asked.strength_least && !asked.source.text.is_empty(), "{letter}");
        }
        for standard in ["EN 355", "EN 958"] {
            let asked = absorber(standard).expect("listed");
            assert!(asked.masses[0] <= asked.masses[1] && !asked.source.text.is_empty(), "{standard}");
        }
    }

    #[test]
    fn what_is_not_listed_is_not_there() {
        assert_eq!((state("dry"), low_stretch("C"), absorber("EN 1")), (None, None, None));
    }
}
