//! What an inspection looks at, by kind of gear and occasion.

use crate::cited::{self, Read};
use crate::gear::Gear;
use crate::rack::Occasion;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;
use terms::Source;

static TABLE: LazyLock<Table> = LazyLock::new(|| complete(cited::parse(include_str!("../data/checklists.toml"))));

/// One thing to look at.
#[derive(Debug)]
pub struct Point {
    /// Its code in the log.
    pub code: String,
    /// Its name in lists.
    pub name: String,
    /// What to look for.
    pub look_for: String,
    /// When it is looked at.
    pub occasions: Vec<Occasion>,
    /// Where it comes from.
    pub source: Source,
}

/// The points for one kind of gear on one occasion, in the order in which hands go over a piece.
#[derive(Debug)]
pub struct Checklist {
    /// What a record of this inspection names: kind and edition, such as `connector-1`.
    pub reference: String,
    /// What to look at.
    pub points: Vec<&'static Point>,
}

/// The check-list of a kind of gear for an occasion.
#[must_use]
pub fn checklist(gear: Gear, occasion: Occasion) -> Checklist {
    let codes = TABLE.lists.get(gear.code()).map_or(&[][..], Vec::as_slice);
    let points = codes.iter().filter_map(|code| point(code)).filter(|point| point.occasions.contains(&occasion));
    Checklist { reference: format!("{}-{}", gear.code(), TABLE.edition), points: points.collect() }
}

/// Every point of every list.
pub fn points() -> impl Iterator<Item = &'static Point> {
    TABLE.points.values()
}

/// The point that `code` names, if any.
#[must_use]
pub fn point(code: &str) -> Option<&'static Point> {
    TABLE.points.get(code)
}

struct Table {
    edition: u32,
    lists: BTreeMap<String, Vec<String>>,
    points: BTreeMap<String, Point>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    edition: u32,
    list: BTreeMap<String, Vec<String>>,
    point: BTreeMap<String, Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    look_for: String,
    occasions: Vec<Occasion>,
    source: String,
    quality: Read,
}

fn complete(file: File) -> Table {
    let points = file.point.into_iter().map(|(code, row)| (code.clone(), row.complete(code))).collect();
    Table { edition: file.edition, lists: file.list, points }
}

impl Row {
    fn complete(self, code: String) -> Point {
        let source = cited::source(&self.source, self.quality);
        Point { code, name: self.name, look_for: self.look_for, occasions: self.occasions, source }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_kind_of_gear_has_a_list_for_every_occasion() {
        for gear in Gear::ALL {
            for occasion in Occasion::ALL {
                let list = checklist(*gear, *occasion);
                assert!(list.points.len() >= 3, "{gear:?} {occasion:?}: {} points", list.points.len());
                assert_eq!(list.reference, format!("{}-1", gear.code()));
            }
        }
        assert_eq!(TABLE.lists.len(), Gear::ALL.len());
    }

    #[test]
    fn lists_and_points_name_one_another() {
        let named: BTreeSet<_> = TABLE.lists.values().flatten().collect();
        assert_eq!(named, TABLE.points.keys().collect());
        let file: File = cited::parse(include_str!("../data/checklists.toml"));
        for (code, row) in file.point {
            let read = TABLE.points[&code].occasions.len();
            assert!(read > 0 && read == row.occasions.len(), "an occasion of `{code}` is no word that is known");
        }
    }

    #[test]
    fn metal_that_rope_runs_over_is_felt_by_fingertip() {
        for gear in [Gear::Connector, Gear::Draw, Gear::BelayDevice, Gear::RappelDevice, Gear::Pulley] {
            let list = checklist(gear, Occasion::BeforeEachUse);
            let felt = list.points.iter().any(|point| point.look_for.contains("fingertip"));
            assert!(felt, "{gear:?}");
        }
    }
}
