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

/// Another label in the place of one, so many times.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exchange {
    /// What goes out.
    pub label: String,
    /// What comes in.
    pub to: String,
    /// How often, in the order of taking.
    pub times: u32,
}

impl Exchange {
    /// Whether it is the turn of this label.
    fn takes(&mut self, label: &str) -> bool {
        let is_its = self.times > 0 && self.label == label;
        self.times -= u32::from(is_its);
        is_its
    }
}

impl Unit {
    fn exchanged(&self, exchanges: &mut [Exchange]) -> Self {
        let mut pieces = Vec::new();
        for taken in &self.pieces {
            let other = exchanges.iter_mut().find_map(|one| one.takes(&taken.label).then(|| one.to.clone()));
            let label = other.unwrap_or_else(|| taken.label.clone());
            (0..taken.count).for_each(|_| Taken::add(&mut pieces, label.clone()));
        }
        Self { pieces }
    }
}

impl Choice {
    /// The same with other pieces in the places of some, all at once: what one exchange brings in no other takes out again.
    #[must_use]
    pub fn exchanged(&self, outing: &Outing, need: usize, exchanges: &[Exchange]) -> Self {
        let mut left = exchanges.to_vec();
        let mut choice = self.clone();
        choice.units[need] = self.units[need].iter().map(|unit| unit.exchanged(&mut left)).collect();
        choice.weighed(outing)
    }

    /// The same with what it comes to in mass and over the budget, and no other goal: nobody asked a solver.
    #[must_use]
    pub fn weighed(self, outing: &Outing) -> Self {
        let taken = (0..self.units.len()).flat_map(|need| self.taken(need)).chain(self.idle(outing));
        let mass = |taken: Taken| outing.piece(&taken.label).map_or(0, |piece| outing.mass_g(piece) * taken.count);
        let grams: i64 = taken.map(|taken| i64::from(mass(taken))).sum();
        let over = outing.budget_g.map_or(0, |budget| (grams - i64::from(budget)).max(0));
        Self { goals: vec![(Goal::Over, over), (Goal::Mass, grams)], ..self }
    }

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

#[cfg(test)]
mod tests {
    use super::*;

    fn one(label: &str) -> Unit {
        Unit { pieces: vec![Taken { label: label.to_owned(), count: 1 }] }
    }

    #[test]
    fn exchanges_are_made_all_at_once_and_weighed() {
        let piece = |label: &str, mass_g| Piece { label: label.to_owned(), count: 1, mass_g, ..Piece::default() };
        let pieces = vec![piece("A", Some(50)), piece("B", Some(80)), piece("C", None)];
        let outing = Outing { pieces, budget_g: Some(100), ..Outing::default() };
        let choice = Choice { units: vec![vec![one("A"), one("B")]], short: vec![0], ..Choice::default() };
        let exchange = |label: &str, to: &str| Exchange { label: label.to_owned(), to: to.to_owned(), times: 1 };
        let turned = choice.exchanged(&outing, 0, &[exchange("A", "B"), exchange("B", "A")]);
        assert_eq!(turned.units[0], [one("B"), one("A")]);
        assert_eq!((turned.goal(Goal::Mass), turned.goal(Goal::Over)), (130, 30));
        let other = choice.exchanged(&outing, 0, &[exchange("A", "C")]);
        assert_eq!(other.goal(Goal::Mass), 160, "what nobody weighed counts as the heaviest");
    }
}
