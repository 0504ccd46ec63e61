//! The table of positions: sources of the rules, and the thresholds and words that they use.

use super::Position;
use crate::cited::{self, Read};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;
use terms::Source;

/// A number that a rule compares with.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Threshold {
    /// The number, in the unit that its key names.
    pub value: f64,
    source: String,
    quality: Read,
}

impl Threshold {
    /// Where the number comes from.
    #[must_use]
    pub fn source(&self) -> Source {
        cited::source(&self.source, self.quality)
    }
}

/// The thresholds of the rules.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Thresholds {
    /// Spread of pulls on one end, in degrees, from which they no longer act as one.
    pub tri_axial_deg: Threshold,
    /// Spread of pulls on one end, in degrees, from which one of them lies away from the spine of a narrow shape.
    pub off_spine_deg: Threshold,
    /// How many things crowd a narrow shape.
    pub crowded_from: Threshold,
    /// Share of the largest pull below which a pull is left out.
    pub least_share: Threshold,
    /// Up to this angle, in degrees, from its direction (or from the opposite one) an anchor is pulled in line.
    pub anchor_in_line_deg: Threshold,
    /// Within this angle, in degrees, of a right angle an anchor is pulled across.
    pub anchor_across_deg: Threshold,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    source: String,
    quality: Read,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Words {
    pub(super) list: Vec<String>,
    source: String,
    quality: Read,
}

impl Words {
    fn source(&self) -> Source {
        cited::source(&self.source, self.quality)
    }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct WordLists {
    /// Shapes with room for several things side by side.
    pub(super) broad_shapes: Words,
    /// Duties at a harness, where the gear loops hang close by.
    pub(super) duties_at_harness: Words,
    /// Words of a duty that hold gear only.
    pub(super) gear_only: Words,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    position: BTreeMap<String, Row>,
    threshold: Thresholds,
    words: WordLists,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| cited::parse(include_str!("../../data/positions.toml")));

/// Where the rule of a position comes from.
///
/// # Panics
/// Where the built-in table lacks the position, which its test rules out.
#[must_use]
pub fn source(position: Position) -> Source {
    let row = &TABLE.position[position.code()];
    cited::source(&row.source, row.quality)
}

/// The thresholds that the rules use.
#[must_use]
pub fn thresholds() -> &'static Thresholds {
    &TABLE.threshold
}

/// What the rules rest on, beside the sources of the positions themselves: the name of each threshold or list, what it says and
/// where it comes from.
#[must_use]
pub fn settings() -> Vec<(&'static str, String, Source)> {
    let Thresholds { tri_axial_deg, off_spine_deg, crowded_from, least_share, anchor_in_line_deg, anchor_across_deg } =
        thresholds();
    let WordLists { broad_shapes, duties_at_harness, gear_only } = words();
    let number = |name, row: &Threshold| (name, row.value.to_string(), row.source());
    let list = |name, row: &Words| (name, row.list.join(", "), row.source());
    vec![
        number("tri_axial_deg", tri_axial_deg),
        number("off_spine_deg", off_spine_deg),
        number("crowded_from", crowded_from),
        number("least_share", least_share),
        number("anchor_in_line_deg", anchor_in_line_deg),
        number("anchor_across_deg", anchor_across_deg),
        list("broad-shapes", broad_shapes),
        list("duties-at-harness", duties_at_harness),
        list("gear-only", gear_only),
    ]
}

pub(super) fn words() -> &'static WordLists {
    &TABLE.words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_position_has_one_row_and_every_row_a_position() {
        let codes: Vec<_> = TABLE.position.keys().map(String::as_str).collect();
        let mut expected: Vec<_> = Position::ALL.iter().map(|position| position.code()).collect();
        expected.sort_unstable();
        assert_eq!(codes, expected);
        for &position in Position::ALL {
            assert!(!source(position).text.is_empty(), "{}", position.code());
        }
    }

    #[test]
    fn thresholds_are_in_order() {
        let limits = thresholds();
        assert!(0.0 < limits.off_spine_deg.value && limits.off_spine_deg.value < limits.tri_axial_deg.value);
        assert!(limits.tri_axial_deg.value < 180.0);
        assert!((0.0..1.0).contains(&limits.least_share.value));
        assert!(limits.anchor_in_line_deg.value <= 90.0 - limits.anchor_across_deg.value);
    }

    #[test]
    fn every_setting_says_something_and_where_from() {
        for (name, says, source) in settings() {
            assert!(!says.is_empty() && !source.text.is_empty(), "{name}");
        }
    }

    #[test]
    fn broad_shapes_are_shapes() {
        for word in &words().broad_shapes.list {
            assert!(crate::connector::Shape::from_code(word).is_some(), "{word}");
        }
    }
}
