//! What a marking says, mark by mark.

use terms::{Force, coded};

use crate::connector::Connector;
use crate::standards::{Standard, TypeLetter};

use super::note::MarkNote;
pub use super::token::ConformitySign;

coded!(
    /// The three positions that a connector is stamped for.
    RatedPosition {
        /// Major axis, gate closed.
        Closed = "closed",
        /// Major axis, gate open.
        Open = "gate-open",
        /// Minor axis, gate closed.
        Minor = "cross-loaded",
    }
);

/// What became of one mark. Only `Read` is a value.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Mark<T> {
    /// Legible, and it can mean only this.
    Read(T),
    /// It is there and cannot be read.
    Illegible {
        /// What was typed for it.
        as_typed: String,
    },
    /// Figures can be read and what they stand for cannot be told.
    Undecided {
        /// What was typed for it.
        as_typed: String,
    },
    /// Two readings that exclude each other.
    Conflicting(Vec<T>),
    /// Nothing was typed for it.
    #[default]
    Absent,
}

impl<T> Mark<T> {
    /// The value, where there is exactly one.
    pub const fn value(&self) -> Option<&T> {
        match self {
            Self::Read(value) => Some(value),
            _ => None,
        }
    }

    /// Whether nothing was typed for it.
    pub const fn is_absent(&self) -> bool {
        matches!(self, Self::Absent)
    }
}

impl<T: PartialEq> Mark<T> {
    /// Takes in one more reading of the same mark. Figures that disagree are kept side by side.
    pub(super) fn add(&mut self, next: Self) {
        *self = match (std::mem::take(self), next) {
            (Self::Absent, next) => next,
            (before, Self::Absent) => before,
            (Self::Read(a), Self::Read(b)) if a == b => Self::Read(a),
            (Self::Read(a), Self::Read(b)) => Self::Conflicting(vec![a, b]),
            (Self::Conflicting(mut all), Self::Read(b)) => {
                all.push(b);
                Self::Conflicting(all)
            }
            // Something that cannot be read beside a value may be another value.
            (Self::Read(_), next) => next,
            (before, _) => before,
        };
    }
}

/// The ratings under one standard, or under none that is named.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RatingSet {
    /// The standard that they are said to be of.
    pub standard: Option<Standard>,
    /// Type letter.
    pub class: Mark<TypeLetter>,
    /// Major axis, gate closed.
    pub closed: Mark<Force>,
    /// Major axis, gate open.
    pub open: Mark<Force>,
    /// Minor axis, gate closed.
    pub minor: Mark<Force>,
}

impl RatingSet {
    /// The rating of one position.
    #[must_use]
    pub const fn rating(&self, position: RatedPosition) -> &Mark<Force> {
        match position {
            RatedPosition::Closed => &self.closed,
            RatedPosition::Open => &self.open,
            RatedPosition::Minor => &self.minor,
        }
    }

    pub(super) const fn rating_mut(&mut self, position: RatedPosition) -> &mut Mark<Force> {
        match position {
            RatedPosition::Closed => &mut self.closed,
            RatedPosition::Open => &mut self.open,
            RatedPosition::Minor => &mut self.minor,
        }
    }
}

/// CE or UKCA, and the number of the body behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct Conformity {
    /// Which sign.
    pub sign: ConformitySign,
    /// Four figures, leading zeros kept.
    pub body: Mark<String>,
}

/// A standard that is named on the piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NamedStandard {
    /// Which one.
    pub standard: Standard,
    /// The year of its edition, where that is stamped too.
    pub edition: Option<u16>,
}

/// What a marking says, what is missing and what does not add up.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Reading {
    /// The text that was read.
    pub as_typed: String,
    /// One set of ratings per standard that is named; one without a standard if none is. Never empty.
    pub sets: Vec<RatingSet>,
    /// Year of manufacture.
    pub year: Mark<u16>,
    /// Batch, lot or serial number, where a word says that it is one.
    pub batch: Mark<String>,
    /// CE and UKCA.
    pub conformity: Vec<Conformity>,
    /// The federation's own label.
    pub uiaa_label: bool,
    /// EN 12275 and EN 362, where named.
    pub standards: Vec<NamedStandard>,
    /// Other standards named, as typed.
    pub other_standards: Vec<String>,
    /// The pictogram that asks to read the instructions.
    pub instructions: bool,
    /// What may be ratings and cannot be given a position.
    pub unplaced: Vec<String>,
    /// What was not understood.
    pub unread: Vec<String>,
    /// What each mark means, what is missing and what does not add up, in that order.
    pub notes: Vec<MarkNote>,
}

impl Reading {
    /// The set that counts for climbing: that of EN 12275, else the one without a standard, else that of EN 362.
    #[must_use]
    pub fn ratings(&self) -> Option<&RatingSet> {
        [Some(Standard::En12275), None, Some(Standard::En362)]
            .into_iter()
            .find_map(|standard| self.sets.iter().find(|set| set.standard == standard))
    }

    /// The set of one standard.
    #[must_use]
    pub fn set(&self, standard: Standard) -> Option<&RatingSet> {
        self.sets.iter().find(|set| set.standard == Some(standard))
    }

    /// Whether a strength can be read: that of the major axis, gate closed. Without it the piece is quarantined.
    #[must_use]
    pub fn has_legible_strength(&self) -> bool {
        self.ratings().is_some_and(|set| set.closed.value().is_some())
    }

    /// Writes what was read into `connector`; what was not read stays as it is there, and no class minimum is lent.
    /// A letter that EN 12275:2013 does not know, or that stands under EN 362 alone, is no class.
    pub fn apply(&self, connector: &mut Connector) {
        let Some(set) = self.ratings() else { return };
        let class =
            set.class.value().filter(|_| set.standard != Some(Standard::En362)).and_then(|letter| letter.class());
        connector.class = class.or(connector.class);
        connector.closed = set.closed.value().copied().or(connector.closed);
        connector.open = set.open.value().copied().or(connector.open);
        connector.minor = set.minor.value().copied().or(connector.minor);
    }
}
