//! An outing as an integer programme, and its solution as a choice.
//!
//! ```text
//!   ask n in way w:    y(n,w) times                      Σw y + short = count
//!   its part p:        x(n,w,p,s) pieces of stock s      Σs x + bought = y × pieces of the part
//!   stock s:           Σ x + idle = taken                along ≤ taken ≤ count, of a set that stays ≤ 0
//! ```
//! Needs for which the same stocks do equally well are one ask; what it takes is handed out to them afterwards, in their order.
//! Pieces that are alike in all that counts are one stock.
//!
//! Goals, the most important first: what stays short; what is over the budget; (what is bought, borrowed, inspected); (what changes); the order of
//! shapes; mass; the order of locks; use so far.

use crate::choice::{Choice, Remedies, Taken, Unit};
use crate::outing::{Need, Outing, Piece, Stays};
use crate::programme::{Programme, Row, Solution, Term};
use std::collections::{BTreeMap, BTreeSet};
use trade::connector::Lock;
use trade::duty::Grade;

/// What else is asked of a choice.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Asked {
    /// Whether what is short may be bought, borrowed or inspected.
    pub remedies: bool,
    /// A choice from which as little as possible is to change.
    pub keep: Option<Choice>,
    /// The least margin over load, where a load is known.
    pub least_margin: Option<f64>,
    /// A need (by place) and a label, with all that is alike, that it must not take.
    pub without: Option<(usize, String)>,
}

/// An outing, stated.
#[derive(Debug, Clone, PartialEq)]
pub struct Statement {
    /// What to solve.
    pub programme: Programme,
    /// What each goal means.
    pub goals: Vec<Goal>,
    stocks: Vec<Stock>,
    asks: Vec<Ask>,
}

terms::coded!(
    /// What a goal makes least.
    Goal {
        /// Times that a need is not met.
        Short = "short",
        /// Grams over the budget.
        Over = "over",
        /// Pieces to buy.
        Bought = "bought",
        /// Pieces to borrow from another site.
        Borrowed = "borrowed",
        /// Pieces to inspect first.
        Inspected = "inspected",
        /// Pieces of an earlier choice that do something else or nothing.
        Changed = "changed",
        /// Places in the orders of shapes.
        Shape = "shape",
        /// Grams.
        Mass = "mass",
        /// Places in the orders of locks.
        Lock = "lock",
        /// Days of use so far.
        Use = "use",
    }
);

/// Pieces that are alike.
#[derive(Debug, Clone, PartialEq)]
struct Stock {
    /// Places of the pieces in the outing.
    pieces: Vec<usize>,
    count: u32,
    mass_g: u32,
}

/// Needs that ask for the same.
#[derive(Debug, Clone, PartialEq)]
struct Ask {
    needs: Vec<usize>,
    ways: Vec<Way>,
}

/// A way in which it is met.
#[derive(Debug, Clone, PartialEq)]
struct Way {
    /// How many times.
    times: usize,
    parts: Vec<Part>,
}

/// What does for a need, and how well: the stocks by the way that they do it in, and by their part in it.
type Suited = BTreeMap<String, [Vec<(usize, Grade)>; 2]>;

/// Some pieces of a way that may stand for one another.
#[derive(Debug, Clone, PartialEq)]
struct Part {
    each: u32,
    /// Stock, and unknown.
    from: Vec<(usize, usize)>,
}

/// A programme in the making, and what it is made from.
struct Draft<'a> {
    outing: &'a Outing,
    asked: &'a Asked,
    programme: Programme,
    goals: BTreeMap<Goal, Vec<Term>>,
    /// By what twins have in common: how many times pairs of them are taken, and the stocks that they come from.
    pairs: BTreeMap<String, (Vec<usize>, BTreeSet<usize>)>,
}

impl Draft<'_> {
    fn unknown(&mut self, most: u32) -> usize {
        self.programme.most.push(most);
        self.programme.most.len() - 1
    }

    fn row(&mut self, terms: Vec<Term>, least: Option<i64>, most: Option<i64>) {
        self.programme.rows.push(Row { terms, least, most });
    }

    fn counts(&mut self, goal: Goal, unknown: usize, times: u32) {
        let terms = self.goals.entry(goal).or_default();
        if times > 0 {
            terms.push(term(i64::from(times), unknown));
        }
    }
}

const fn term(times: i64, unknown: usize) -> Term {
    Term { times, unknown }
}

impl Statement {
    /// States an outing.
    #[must_use]
    pub fn of(outing: &Outing, asked: &Asked) -> Self {
        // Goals that everything is asked for stand even where nothing adds to them.
        let goals = [Goal::Short, Goal::Shape, Goal::Mass, Goal::Lock, Goal::Use].map(|goal| (goal, Vec::new()));
        let mut draft =
            Draft { outing, asked, programme: Programme::default(), goals: goals.into(), pairs: BTreeMap::new() };
        let stocks = stocks(outing, asked.remedies);
        let mut asks: Vec<(Vec<usize>, Suited)> = Vec::new();
        let mut known: BTreeMap<_, usize> = BTreeMap::new();
        for (place, need) in outing.needs.iter().enumerate() {
            let suited = draft.suited(place, need, &stocks);
            // What is to change as little as can be is told need by need.
            let own = asked.keep.as_ref().map(|_| place);
            let ask = *known.entry((own, need.pieces_each(), need.mixed, suited.clone())).or_insert(asks.len());
            if ask == asks.len() {
                asks.push((Vec::new(), suited));
            }
            asks[ask].0.push(place);
        }
        let asks = asks.into_iter().map(|(needs, suited)| draft.ask(needs, &suited, &stocks)).collect();
        let mut statement = Self { programme: Programme::default(), goals: Vec::new(), stocks, asks };
        statement.bound_stocks(&mut draft);
        statement.bound_pairs(&mut draft);
        if let Some(earlier) = &asked.keep {
            statement.keep(earlier, &mut draft);
        }
        statement.goals = draft.goals.keys().copied().collect();
        statement.programme = Programme { goals: draft.goals.into_values().collect(), ..draft.programme };
        statement
    }

    /// No more is taken than there is, what must come along does, sets stay whole, and all of it weighs.
    fn bound_stocks(&self, draft: &mut Draft<'_>) {
        let outing = draft.outing;
        let mut of_stock: Vec<Vec<Term>> = vec![Vec::new(); self.stocks.len()];
        let ways = self.asks.iter().flat_map(|ask| &ask.ways);
        for (stock, unknown) in ways.flat_map(|way| &way.parts).flat_map(|part| &part.from) {
            of_stock[*stock].push(term(1, *unknown));
        }
        let mut weighs: Vec<Term> = Vec::new();
        let mut sets: BTreeMap<&str, usize> = BTreeMap::new();
        for (place, stock) in self.stocks.iter().enumerate() {
            let piece = &outing.pieces[stock.pieces[0]];
            if piece.along > 0 {
                let idle = draft.unknown(piece.along);
                of_stock[place].push(term(1, idle));
                draft.row(of_stock[place].clone(), Some(i64::from(piece.along)), None);
            }
            if of_stock[place].is_empty() {
                continue;
            }
            let Some(set) = piece.goes_with() else {
                weighs.extend(of_stock[place].iter().map(|one| term(i64::from(stock.mass_g), one.unknown)));
                draft.row(of_stock[place].clone(), None, Some(i64::from(stock.count)));
                continue;
            };
            let goes = *sets.entry(set).or_insert_with(|| draft.unknown(1));
            let taken = of_stock[place].iter().copied().chain([term(-i64::from(stock.count), goes)]);
            draft.row(taken.collect(), None, Some(0));
        }
        weighs.extend(sets.into_iter().map(|(set, goes)| term(i64::from(mass_of_set(outing, set)), goes)));
        if let Some(budget) = outing.budget_g {
            let all: u32 = outing.pieces.iter().map(|piece| piece.count * outing.mass_g(piece)).sum();
            let over = draft.unknown(all);
            draft.counts(Goal::Over, over, 1);
            draft.row(weighs.iter().copied().chain([term(-1, over)]).collect(), None, Some(i64::from(budget)));
        }
        draft.goals.entry(Goal::Mass).or_default().extend(weighs.into_iter().filter(|one| one.times != 0));
    }

    /// An odd one out is no pair. Whole numbers alone say so too, and a solver gets there sooner when it is told.
    fn bound_pairs(&self, draft: &mut Draft<'_>) {
        if draft.asked.remedies {
            // What is bought may stand beside the odd one.
            return;
        }
        for (times, stocks) in std::mem::take(&mut draft.pairs).into_values() {
            let pieces: u32 = stocks.into_iter().map(|stock| self.stocks[stock].count).sum();
            let times = times.into_iter().map(|times| term(1, times)).collect();
            draft.row(times, None, Some(i64::from(pieces / 2)));
        }
    }

    /// What an earlier choice took for a need and is not taken for it now counts as a change.
    fn keep(&self, earlier: &Choice, draft: &mut Draft<'_>) {
        let outing = draft.outing;
        draft.goals.entry(Goal::Changed).or_default();
        for (need, units) in earlier.units.iter().enumerate() {
            let mut took: BTreeMap<usize, u32> = BTreeMap::new();
            for taken in units.iter().flat_map(|unit| &unit.pieces) {
                let of = |stock: &Stock| stock.pieces.iter().any(|piece| outing.pieces[*piece].label == taken.label);
                if let Some(stock) = self.stocks.iter().position(of) {
                    *took.entry(stock).or_default() += taken.count;
                }
            }
            for (stock, count) in took {
                let lost = draft.unknown(count);
                draft.counts(Goal::Changed, lost, 1);
                let ways = self.asks.iter().filter(|ask| ask.needs.contains(&need)).flat_map(|ask| &ask.ways);
                let taken =
                    ways.flat_map(|way| &way.parts).flat_map(|part| &part.from).filter(|(from, _)| *from == stock);
                let terms = taken.map(|(_, unknown)| term(1, *unknown)).chain([term(1, lost)]).collect();
                draft.row(terms, Some(i64::from(count)), None);
            }
        }
    }

    /// What a solution means: named pieces for each time that a need is met.
    #[must_use]
    pub fn choice(&self, outing: &Outing, solution: &Solution) -> Choice {
        let mut left: Vec<Vec<(usize, u32)>> = self.stocks.iter().map(|stock| stock.counts(outing)).collect();
        let mut units: Vec<Vec<Unit>> = vec![Vec::new(); outing.needs.len()];
        let mut short = vec![0; outing.needs.len()];
        let mut remedies = Remedies::default();
        for ask in &self.asks {
            let mut met = ask.ways.iter().flat_map(|way| self.met(way, outing, solution, &mut left));
            for &need in &ask.needs {
                let times = usize::try_from(outing.needs[need].count).unwrap_or(usize::MAX);
                for (unit, bought, like) in met.by_ref().take(times) {
                    if bought > 0 {
                        remedies.buy(need, bought, like);
                    }
                    units[need].push(unit);
                }
                short[need] =
                    outing.needs[need].count.saturating_sub(u32::try_from(units[need].len()).unwrap_or(u32::MAX));
            }
        }
        for taken in units.iter().flatten().flat_map(|unit| &unit.pieces) {
            match outing.piece(&taken.label).and_then(|piece| piece.stays) {
                Some(Stays::Elsewhere) => remedies.borrow.push(taken.clone()),
                Some(Stays::Uninspected) => remedies.inspect.push(taken.clone()),
                _ => {}
            }
        }
        let goals = self.goals.iter().copied().zip(solution.goals.iter().copied()).collect();
        Choice { units, short, goals, remedies }
    }

    /// The pieces of each time that a way is gone, how many are bought for it, and the label of one that these must equal.
    fn met(
        &self,
        way: &Way,
        outing: &Outing,
        solution: &Solution,
        left: &mut [Vec<(usize, u32)>],
    ) -> Vec<(Unit, u32, Option<String>)> {
        let value = |unknown: usize| solution.values[unknown];
        let supply = |part: &Part| part.from.iter().map(|(stock, unknown)| (*stock, value(*unknown))).collect();
        let mut supplies: Vec<Vec<(usize, u32)>> = way.parts.iter().map(supply).collect();
        let first = way.parts.first().filter(|part| part.each == 2).and_then(|part| part.from.first());
        let like = first.map(|(stock, _)| outing.pieces[self.stocks[*stock].pieces[0]].label.clone());
        let mut met = Vec::new();
        for _ in 0..value(way.times) {
            let mut pieces: Vec<Taken> = Vec::new();
            let mut bought = 0;
            for (part, supply) in way.parts.iter().zip(&mut supplies) {
                for _ in 0..part.each {
                    match supply.iter_mut().find(|(_, count)| *count > 0) {
                        None => bought += 1,
                        Some(from) => {
                            from.1 -= 1;
                            Taken::add(&mut pieces, take(&mut left[from.0], outing));
                        }
                    }
                }
            }
            met.push((Unit { pieces }, bought, like.clone()));
        }
        met
    }
}

/// One of a stock, the pieces in the order of the outing.
fn take(left: &mut [(usize, u32)], outing: &Outing) -> String {
    let Some(one) = left.iter_mut().find(|(_, count)| *count > 0) else { return String::new() };
    one.1 -= 1;
    outing.pieces[one.0].label.clone()
}

impl Stock {
    fn counts(&self, outing: &Outing) -> Vec<(usize, u32)> {
        self.pieces.iter().map(|piece| (*piece, outing.pieces[*piece].count)).collect()
    }
}

fn mass_of_set(outing: &Outing, set: &str) -> u32 {
    let members = outing.pieces.iter().filter(|piece| piece.goes_with() == Some(set));
    members.map(|piece| piece.count * outing.mass_g(piece)).sum()
}

/// Groups pieces that are alike but for their labels; those that stay are left out unless remedies are asked for.
fn stocks(outing: &Outing, remedies: bool) -> Vec<Stock> {
    let mut stocks: Vec<Stock> = Vec::new();
    let mut known: BTreeMap<String, usize> = BTreeMap::new();
    for (place, piece) in outing.pieces.iter().enumerate() {
        let goes = match piece.stays {
            None => true,
            Some(Stays::Uninspected | Stays::Elsewhere) => remedies,
            Some(Stays::Out) => false,
        };
        if !goes {
            continue;
        }
        // All but label and count; what must come along is told apart by its label.
        let own = if piece.along > 0 { piece.label.clone() } else { String::new() };
        let key = format!("{:?}", Piece { label: own, count: 0, ..piece.clone() });
        let stock = *known.entry(key).or_insert_with(|| {
            stocks.push(Stock { pieces: Vec::new(), count: 0, mass_g: outing.mass_g(piece) });
            stocks.len() - 1
        });
        stocks[stock].pieces.push(place);
        stocks[stock].count += piece.count;
    }
    stocks
}

/// What two pieces of a pair must have in common; of one model and size, or where no model is known, in all that a duty looks at.
fn twin(piece: &Piece, mixed: bool) -> String {
    let is = &piece.is;
    match (&piece.model, mixed) {
        (_, true) => format!("{:?} {:?}", is.shape, is.size),
        (Some(model), false) => format!("{model} {:?} {:?} {:?}", is.shape, is.size, is.lock),
        (None, false) => format!("{is:?}"),
    }
}

impl Draft<'_> {
    /// What does for a need, and how well.
    fn suited(&self, place: usize, need: &Need, stocks: &[Stock]) -> Suited {
        let mut suited = Suited::new();
        let mixed = need.mixed && need.duty.is_paired;
        for (index, stock) in stocks.iter().enumerate() {
            let piece = &self.outing.pieces[stock.pieces[0]];
            let Some(grade) = self.grade(place, need, stock) else { continue };
            let key = if need.duty.is_paired { twin(piece, mixed) } else { String::new() };
            let part = usize::from(mixed && piece.is.lock.is_some_and(Lock::is_automatic));
            suited.entry(key).or_default()[part].push((index, grade));
        }
        if self.asked.remedies {
            // Something new altogether.
            suited.entry("new".to_owned()).or_default();
        }
        suited
    }

    /// Needs that ask for the same, and the ways in which they can be met.
    fn ask(&mut self, needs: Vec<usize>, suited: &Suited, stocks: &[Stock]) -> Ask {
        let one = &self.outing.needs[needs[0]];
        let count = needs.iter().map(|need| self.outing.needs[*need].count).sum();
        let each = one.pieces_each();
        let mut ways = Vec::new();
        for (twins, [first, second]) in suited {
            let times = self.unknown(count);
            if each == 2 && !one.mixed {
                let pairs = self.pairs.entry(twins.clone()).or_default();
                pairs.0.push(times);
                pairs.1.extend(first.iter().map(|(stock, _)| *stock));
            }
            let parts = if one.mixed && each == 2 { vec![(1, first), (1, second)] } else { vec![(each, first)] };
            let parts = parts.into_iter().map(|(each, from)| self.part(count, each, from, times, stocks)).collect();
            ways.push(Way { times, parts });
        }
        let short = self.unknown(count);
        self.counts(Goal::Short, short, each);
        let times = ways.iter().map(|way| term(1, way.times)).chain([term(1, short)]).collect();
        self.row(times, Some(i64::from(count)), Some(i64::from(count)));
        Ask { needs, ways }
    }

    /// How a stock does for a need, where it does and may.
    fn grade(&self, place: usize, need: &Need, stock: &Stock) -> Option<Grade> {
        let of = |label: &str| stock.pieces.iter().any(|piece| self.outing.pieces[*piece].label == label);
        if self.asked.without.as_ref().is_some_and(|(barred, label)| *barred == place && of(label)) {
            return None;
        }
        let suit = need.suit(&self.outing.pieces[stock.pieces[0]]).ok()?;
        let is_enough = |margin: f64| self.asked.least_margin.is_none_or(|least| margin >= least);
        suit.margin.is_none_or(is_enough).then_some(suit.grade)
    }

    /// A part of a way that is gone `times`: what it takes of each stock, and what is bought for it.
    fn part(&mut self, count: u32, each: u32, from: &[(usize, Grade)], times: usize, stocks: &[Stock]) -> Part {
        let most = count * each;
        let mut terms = vec![term(-i64::from(each), times)];
        let mut unknowns = Vec::new();
        for &(stock, grade) in from {
            let piece = &self.outing.pieces[stocks[stock].pieces[0]];
            let unknown = self.unknown(most.min(stocks[stock].count));
            self.counts(Goal::Shape, unknown, grade.shape);
            self.counts(Goal::Lock, unknown, grade.lock);
            self.counts(Goal::Use, unknown, piece.days);
            match piece.stays {
                Some(Stays::Elsewhere) => self.counts(Goal::Borrowed, unknown, 1),
                Some(Stays::Uninspected) => self.counts(Goal::Inspected, unknown, 1),
                _ => {}
            }
            terms.push(term(1, unknown));
            unknowns.push((stock, unknown));
        }
        if self.asked.remedies {
            let bought = self.unknown(most);
            self.counts(Goal::Bought, bought, 1);
            terms.push(term(1, bought));
        }
        self.row(terms, Some(0), Some(0));
        Part { each, from: unknowns }
    }
}
