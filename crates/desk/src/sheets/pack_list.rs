//! The pack list: what goes along by duty, boxes to tick out and in, mass in all and for each person.

use super::{Sheet, heads, word};
use crate::{figures, texts};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// What goes along.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PackList {
    /// What it is for.
    pub title: String,
    /// Where, when, for whom.
    pub subtitle: String,
    /// The duties, each with its pieces.
    pub duties: Vec<Duty>,
    /// How many carry; 0 where nobody said.
    pub people: u32,
    /// What is missing or in doubt, a line each.
    pub short: Vec<String>,
}

/// A duty and the pieces that do it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Duty {
    /// Its name.
    pub name: String,
    /// What it asks for, if anything.
    pub asks: String,
    /// The pieces.
    pub pieces: Vec<Packed>,
}

/// A piece, or some of a lot.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Packed {
    /// Its label.
    pub label: String,
    /// How many.
    pub count: u32,
    /// What it is: kind, maker, model.
    pub model: String,
    /// Mass of each, g, where it is known.
    pub mass_g: Option<u32>,
    /// What to know of it.
    pub remark: String,
}

impl Packed {
    /// Label, model, mass of all of it, and what to know of it.
    #[must_use]
    pub fn row(&self) -> [String; 4] {
        let label = if self.count == 1 { self.label.clone() } else { format!("{} × {}", self.count, self.label) };
        let mass = self.all_g().map_or_else(|| word("not-told"), |grams| figures::mass(grams.cast_signed()));
        [label, self.model.clone(), mass, self.remark.clone()]
    }

    fn all_g(&self) -> Option<u64> {
        self.mass_g.map(|mass| u64::from(mass) * u64::from(self.count))
    }
}

/// The mass of some pieces, g, and how many labels among them tell none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mass {
    /// What is known, g.
    pub known_g: u64,
    /// Labels whose mass nobody told.
    pub unknown: usize,
}

impl PackList {
    /// The mass of all that goes along.
    #[must_use]
    pub fn mass(&self) -> Mass {
        mass(self.duties.iter().flat_map(|duty| &duty.pieces))
    }
}

fn mass<'p>(pieces: impl Iterator<Item = &'p Packed>) -> Mass {
    pieces.fold(Mass { known_g: 0, unknown: 0 }, |sum, piece| match piece.all_g() {
        Some(mass_g) => Mass { known_g: sum.known_g + mass_g, ..sum },
        None => Mass { unknown: sum.unknown + 1, ..sum },
    })
}

/// The sheet of a pack list.
#[must_use]
pub fn pack_list(list: &PackList) -> Sheet {
    let data = json!({
        "title": list.title,
        "subtitle": list.subtitle,
        "duties": list.duties.iter().map(duty).collect::<Vec<_>>(),
        "mass": masses(list),
        "short": list.short,
        "words": {
            "columns": heads("pack-columns"), "mass": word("mass"), "short": word("pack-short"),
            "signatures": heads("pack-signatures"),
        },
    });
    Sheet { template: "pack-list.typ", data, drawings: BTreeMap::new() }
}

fn duty(duty: &Duty) -> Value {
    json!({ "name": duty.name, "asks": duty.asks, "pieces": duty.pieces.iter().map(Packed::row).collect::<Vec<_>>() })
}

/// Each duty's mass where there are several, that of all, and a person's share.
fn masses(list: &PackList) -> Vec<[String; 2]> {
    let duties = list.duties.iter().filter(|_| list.duties.len() > 1);
    let duties = duties.map(|duty| [duty.name.clone(), told(mass(duty.pieces.iter()), 1)]);
    let all = list.mass();
    let share = (list.people > 0).then(|| {
        let people = texts::fill(&word("mass-each"), &[("people", list.people.to_string())]);
        [people, told(all, u64::from(list.people))]
    });
    duties.chain([[word("mass-all"), told(all, 1)]]).chain(share).collect()
}

/// A share of a mass; where some of it is unknown, at least so much.
fn told(mass: Mass, shares: u64) -> String {
    let known = figures::mass(mass.known_g.div_ceil(shares).cast_signed());
    match mass.unknown {
        0 => known,
        _ if mass.known_g == 0 => word("not-told"),
        unknown => texts::fill(&word("mass-at-least"), &[("mass", known), ("count", unknown.to_string())]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(label: &str, count: u32, mass_g: Option<u32>) -> Packed {
        Packed { label: label.to_owned(), count, mass_g, ..Packed::default() }
    }

    #[test]
    fn mass_counts_lots_by_their_number_and_says_what_is_not_known() {
        let pieces = vec![piece("C-1", 1, Some(60)), piece("N-1", 4, Some(250)), piece("S-1", 1, None)];
        let duty = Duty { name: "anchor".to_owned(), asks: String::new(), pieces };
        let list = PackList {
            title: String::new(),
            subtitle: String::new(),
            duties: vec![duty],
            people: 3,
            short: Vec::new(),
        };
        assert_eq!(list.mass(), Mass { known_g: 1060, unknown: 1 });
        let rows = masses(&list);
        assert_eq!(rows.len(), 2, "one duty needs no line of its own");
        assert!(rows[0][1].contains("1.06 kg") && rows[0][1].contains('1'), "{rows:?}");
        assert!(rows[1][1].contains("354 g"), "a share is rounded up: {rows:?}");
    }
}
