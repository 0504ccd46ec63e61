//! Kinds of gear, and what they are made of, as the rules of a rack name them.

use crate::cited::{self, Read};
use crate::gear::Gear;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt;
use std::sync::LazyLock;
use terms::coded;

coded!(
    /// What a kind of gear is made of.
    Body {
        /// Fibre.
        Textile = "textile",
        /// Metal.
        Metal = "metal",
        /// Plastic or foam.
        Shell = "shell",
        /// Metal with a sling that can be replaced.
        Composed = "composed",
    }
);

/// What a rule is for, narrowest first: a kind of gear, what it is made of, or everything.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(try_from = "String")]
pub enum Kind {
    /// A kind of gear.
    Gear(Gear),
    /// What is made of this.
    Body(Body),
    /// Everything.
    Any,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Bodies {
    gear: BTreeMap<String, String>,
    #[serde(rename = "source")]
    _source: String,
    #[serde(rename = "quality")]
    _quality: Read,
}

static BODIES: LazyLock<BTreeMap<Gear, Body>> = LazyLock::new(|| {
    let file: Bodies = cited::parse(include_str!("../../data/bodies.toml"));
    file.gear.iter().filter_map(|(gear, body)| Some((Gear::from_code(gear)?, Body::from_code(body)?))).collect()
});

impl Gear {
    /// What it is made of.
    ///
    /// # Panics
    /// Never: a test finds every kind in `data/bodies.toml`.
    #[must_use]
    pub fn body(self) -> Body {
        BODIES[&self]
    }
}

impl Kind {
    /// The rule kinds that cover `gear`, narrowest first; only the widest where the gear is unknown.
    #[must_use]
    pub fn covering(gear: Option<Gear>) -> Vec<Self> {
        let narrow = gear.map(|gear| [Self::Gear(gear), Self::Body(gear.body())]);
        narrow.into_iter().flatten().chain([Self::Any]).collect()
    }

    /// What it covers is made of, where that is one thing.
    #[must_use]
    pub fn body(self) -> Option<Body> {
        match self {
            Self::Gear(gear) => Some(gear.body()),
            Self::Body(body) => Some(body),
            Self::Any => None,
        }
    }

    /// The word used in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Gear(gear) => gear.code(),
            Self::Body(body) => body.code(),
            Self::Any => "any",
        }
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.code())
    }
}

impl TryFrom<String> for Kind {
    type Error = String;

    fn try_from(word: String) -> Result<Self, String> {
        let gear = || Gear::from_code(&word).map(Self::Gear);
        let body = || Body::from_code(&word).map(Self::Body);
        (word == "any").then_some(Self::Any).or_else(gear).or_else(body).ok_or_else(|| {
            let gear = Gear::ALL.iter().map(|gear| gear.code());
            let known: Vec<_> =
                ["any"].into_iter().chain(Body::ALL.iter().map(|body| body.code())).chain(gear).collect();
            format!("\"{word}\" is no kind of gear; those are {}", known.join(", "))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_gear_is_made_of_something() {
        assert_eq!(BODIES.len(), Gear::ALL.len());
        assert_eq!(Gear::Draw.body(), Body::Composed);
    }

    #[test]
    fn the_narrowest_rule_comes_first() {
        let kinds = Kind::covering(Some(Gear::Rope)).into_iter().map(Kind::code).collect::<Vec<_>>();
        assert_eq!(kinds, ["rope", "textile", "any"]);
        assert_eq!(Kind::covering(None), [Kind::Any]);
    }
}
