//! Parts of composed gear that are replaced by themselves, where the maker's instructions allow it.

use crate::cited::{self, Read};
use crate::gear::Gear;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;
use terms::Source;

static PARTS: LazyLock<Vec<Part>> = LazyLock::new(|| {
    let file: File = cited::parse(include_str!("../data/parts.toml"));
    file.part.into_iter().map(|(code, row)| row.complete(code)).collect()
});

/// A part that is replaced by itself.
#[derive(Debug)]
pub struct Part {
    /// Its code in the log.
    pub code: String,
    /// Its name in lists.
    pub name: String,
    /// The kinds of gear that have it.
    pub gear: Vec<Gear>,
    /// Where it comes from.
    pub source: Source,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    part: BTreeMap<String, Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    gear: Vec<String>,
    source: String,
    quality: Read,
}

impl Row {
    fn complete(self, code: String) -> Part {
        let gear = |word: &String| Gear::from_code(word).unwrap_or_else(|| panic!("part {code}: no gear `{word}`"));
        let (gear, source) = (self.gear.iter().map(gear).collect(), cited::source(&self.source, self.quality));
        Part { name: self.name, gear, source, code }
    }
}

/// The parts that a kind of gear has; of gear of an unknown kind, every part there is.
pub fn parts(gear: Option<Gear>) -> impl Iterator<Item = &'static Part> {
    PARTS.iter().filter(move |part| gear.is_none_or(|gear| part.gear.contains(&gear)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_draw_has_a_sling_and_a_connector_has_no_part_that_is_replaced() {
        let codes = |gear| parts(Some(gear)).map(|part| part.code.as_str()).collect::<Vec<_>>();
        assert_eq!(codes(Gear::Draw), ["bolt-end", "keeper", "rope-end", "sling"]);
        assert!(codes(Gear::Lanyard).contains(&"absorber"));
        assert_eq!(codes(Gear::Connector), [""; 0]);
        assert_eq!(parts(None).count(), PARTS.len());
    }
}
