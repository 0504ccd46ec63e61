//! Plans by HiGHS: an integer programme in, the best choice out, proven goal after goal.
//!
//! ```text
//!   for each goal:  relaxation ─▶ prices of rows ─▶ bound, in whole numbers
//!                   its values where they are whole, or else branch and bound, reach it
//!                   the bound narrows what stays open for the goals after it
//! ```
//! The solver computes in floating point. What it gives back is rounded and judged in whole numbers before it goes out.

mod open;
mod solver;

use open::{Open, sum};
use plan::programme::{Outcome, Programme, Solution, Term};
use solver::{Relaxation, Trouble, whole};

/// Coefficients beyond this have no exact place beside others in floating point at the solver's tolerances.
const LARGEST: i64 = 1_000_000_000;
/// What is this close to a whole number is tried as one. Whether it is one is judged after that.
const NEARLY: f64 = 1e-6;

/// Solves a programme, one goal after another, up to the first that comes to more than its `least`, if there are any.
#[must_use]
pub fn solve(programme: &Programme, least: &[i64]) -> Outcome {
    match best(programme, least) {
        Ok(values) => match programme.judge(&values) {
            Ok(goals) => Outcome::Solved(Solution { values, goals }),
            Err(broken) => Outcome::Failed(format!("what the solver found is none: {broken}")),
        },
        Err(Trouble::Impossible) => Outcome::Impossible,
        Err(Trouble::Failed(why)) => Outcome::Failed(why),
    }
}

/// A goal whose bound is whole mostly comes to it. So it is taken to, and whole values are looked for together with those for the goals after it:
/// where they are found, they prove the bounds and the bounds prove them. Where they are not, the first goal that is not proven is met by itself.
fn best(programme: &Programme, least: &[i64]) -> Result<Vec<u32>, Trouble> {
    refuse(programme)?;
    // Without a goal any values that meet the rows will do.
    let goals = if programme.goals.is_empty() { &[Vec::new()][..] } else { &programme.goals };
    let mut search = Search::from(Open::of(programme))?;
    let (mut place, mut proven, mut doubted) = (0, (0, search.open.clone()), None);
    while place < goals.len() {
        let hopes = place + 1 < goals.len() && doubted != Some(place);
        match search.meet(&goals[place], hopes, least.get(place).copied()) {
            Ok(Met::AsKnown) => place += 1,
            Ok(Met::Worse) => break,
            Err(Trouble::Impossible) if place > proven.0 => {
                place = proven.0;
                doubted = Some(place);
                search = Search::from(proven.1.clone())?;
            }
            Err(trouble) => return Err(trouble),
        }
        if search.values.is_some() {
            proven = (place, search.open.clone());
        }
    }
    let values = search.values.unwrap_or_default().into_iter().map(u32::try_from);
    values.collect::<Result<_, _>>().map_err(|_| Trouble::Failed("an unknown is below 0".to_owned()))
}

/// How a goal was met.
enum Met {
    /// At what it was known to come to at least, or nothing was known of it.
    AsKnown,
    /// At more.
    Worse,
}

/// Goals on their way.
struct Search {
    open: Open,
    relaxation: Relaxation,
    /// Whole values that are best in all goals so far; none where some are only hoped for.
    values: Option<Vec<i64>>,
}

impl Search {
    fn from(open: Open) -> Result<Self, Trouble> {
        Ok(Self { relaxation: Relaxation::of(&open)?, open, values: None })
    }

    /// Meets a goal, or takes it to come to its bound, or to what it is known to come to at least.
    fn meet(&mut self, goal: &[Term], hopes: bool, least: Option<i64>) -> Result<Met, Trouble> {
        let relaxed = self.relaxation.least(&self.open, goal)?;
        let bound = self.open.bound(goal, &relaxed.prices);
        let at_hand = [rounded(&relaxed.values), self.values.take()].into_iter().flatten();
        let is_best = |sum: i64| bound.proves(sum) || least.is_some_and(|least| sum <= least);
        self.values = at_hand.into_iter().find(|values| is_best(sum(goal, values)) && self.open.allows(values));
        let hoped = least.map_or_else(|| bound.whole(), |least| Some(least).filter(|least| bound.allows(*least)));
        let reached = match (&self.values, hoped.filter(|_| hopes)) {
            (Some(values), _) => sum(goal, values),
            (None, Some(hoped)) => hoped,
            (None, None) => sum(goal, self.values.insert(branched(&self.open, goal)?)),
        };
        if !self.open.narrow(&bound, reached) {
            self.open.add(goal, None, Some(reached));
        }
        Ok(if least.is_some_and(|least| reached > least) { Met::Worse } else { Met::AsKnown })
    }
}

/// Refuses what cannot be solved as it stands.
fn refuse(programme: &Programme) -> Result<(), Trouble> {
    if let Some(term) = programme.dangling() {
        let (unknown, unknowns) = (term.unknown, programme.most.len());
        return Err(Trouble::Failed(format!("a term names unknown {unknown}, and there are {unknowns}")));
    }
    let terms = programme.rows.iter().flat_map(|row| &row.terms).chain(programme.goals.iter().flatten());
    match terms.map(|term| term.times.abs()).max() {
        Some(times) if times > LARGEST => Err(Trouble::Failed(format!("a coefficient is larger than {LARGEST}"))),
        _ => Ok(()),
    }
}

/// Whole values, where these nearly are.
fn rounded(values: &[f64]) -> Option<Vec<i64>> {
    let whole = values.iter().all(|value| (value - value.round()).abs() < NEARLY);
    whole.then(|| values.iter().map(|value| value.round() as i64).collect())
}

/// The best by branch and bound.
fn branched(open: &Open, goal: &[Term]) -> Result<Vec<i64>, Trouble> {
    let values: Vec<i64> = whole(open, goal)?.iter().map(|value| value.round() as i64).collect();
    if open.allows(&values) { Ok(values) } else { Err(Trouble::Failed("what the solver found is none".to_owned())) }
}
