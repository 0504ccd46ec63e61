//! A choice: which pieces do what.

use crate::outing::{Outing, Piece};
use crate::statement::Goal;

/// Which pieces do what.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Choice {
    /// For each need, the pieces of each time that it is met.
    pub units: Vec<Vec<Unit>>,
    /// For each need, how many times it is not met.
    pub short: Vec<u32>,
    /// What each goal comes to.
    pub goals: Vec<(Goal, i64)>,
    /// What would have to be done first.
    pub remedies: Remedies,
}

/// The pieces that do a duty once: one, or a pair.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Unit {
    /// The pieces.
    pub pieces: Vec<Taken>,
}

/// So many of a label: one, but of lots.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// The label.
    pub label: String,
    /// How many.
    pub count: u32,
}

/// What would have to be done for a choice to come about.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Remedies {
    /// Need by place, how many pieces, and the label of one that they must equal.
    pub buy: Vec<(usize, u32, Option<String>)>,
    /// Pieces to borrow from another site.
    pub borrow: Vec<Taken>,
    /// Pieces to inspect first.
    pub inspect: Vec<Taken>,
}

impl Taken {
    /// Adds one of a label to a list.
    pub fn add(list: &mut Vec<Self>, label: String) {
        match list.iter_mut().find(|taken| taken.label == label) {
            Some(taken) => taken.count += 1,
            None => list.push(Self { label, count: 1 }),
        }
    }
}

impl Remedies {
    /// Adds pieces to buy for a need.
    pub fn buy(&mut self, need: usize, count: u32, like: Option<String>) {
        match self.buy.iter_mut().find(|(own, _, own_like)| *own == need && *own_like == like) {
            Some((_, own, _)) => *own += count,
            None => self.buy.push((need, count, like)),
        }
    }
}

impl Choice {
    /// What a goal comes to; 0 where it was not asked for.
    #[must_use]
    pub fn goal(&self, goal: Goal) -> i64 {
        self.goals.iter().find(|(own, _)| *own == goal).map_or(0, |(_, sum)| *sum)
    }

    /// Whether some need is not met in full.
    #[must_use]
    pub fn is_short(&self) -> bool {
        self.short.iter().any(|short| *short > 0)
    }

    /// What a need takes in all, by label, in the order of taking.
    #[must_use]
    pub fn taken(&self, need: usize) -> Vec<Taken> {
        let mut all: Vec<Taken> = Vec::new();
        for taken in self.units[need].iter().flat_map(|unit| &unit.pieces) {
            (0..taken.count).for_each(|_| Taken::add(&mut all, taken.label.clone()));
        }
        all
    }

    /// What must come along and does no duty, and what goes along only because its set does.
    #[must_use]
    pub fn idle(&self, outing: &Outing) -> Vec<Taken> {
        let used: Vec<Taken> = (0..self.units.len()).flat_map(|need| self.taken(need)).collect();
        let of = |label: &str| used.iter().filter(|taken| taken.label == label).map(|taken| taken.count).sum::<u32>();
        let mut idle = Vec::new();
        for piece in &outing.pieces {
            let comes = match piece.goes_with() {
                Some(set) if self.goes(outing, set) => piece.count,
                _ => piece.along,
            };
            let more = comes.saturating_sub(of(&piece.label));
            if more > 0 {
                idle.push(Taken { label: piece.label.clone(), count: more });
            }
        }
        idle
    }

    /// What belongs to a set that goes along, and stays.
    #[must_use]
    pub fn left(&self, outing: &Outing) -> Vec<Taken> {
        let left = outing.pieces.iter().filter(|piece| {
            piece.stays.is_some()
                && piece.set.as_deref().is_some_and(|set| self.goes(outing, set))
                && !self.takes(piece)
        });
        left.map(|piece| Taken { label: piece.label.clone(), count: piece.count }).collect()
    }

    /// Whether a set goes along: for a piece of it that is needed, or must.
    fn goes(&self, outing: &Outing, set: &str) -> bool {
        let mut of_set = outing.pieces.iter().filter(|piece| piece.goes_with() == Some(set));
        of_set.any(|piece| piece.along > 0 || self.takes(piece))
    }

    fn takes(&self, piece: &Piece) -> bool {
        let mut all = self.units.iter().flatten().flat_map(|unit| &unit.pieces);
        all.any(|taken| taken.label == piece.label)
    }
}
