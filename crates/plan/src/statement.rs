//! An outing as an integer programme, and its solution as a choice.
//!
//! ```text
//!   need n in way w:   y(n,w) times                      Σw y + short = count
//!   its part p:        x(n,w,p,s) pieces of stock s      Σs x + bought = y × pieces of the part
//!   stock s:           Σ x + idle = taken                along ≤ taken ≤ count
//!   set:               what is taken of it needs the whole of it to go along
//! ```
//! Goals, the most important first: what stays short; what is over the budget; (what is bought, borrowed, inspected); (what changes);
//! the order of shapes; mass; the order of locks; use so far. Pieces that are alike in all of that are one stock.

use crate::choice::{Choice, Remedies, Taken, Unit};
use crate::outing::{Need, Outing, Piece, Stays, Suit};
use crate::programme::{Programme, Row, Solution, Term};
use std::collections::BTreeMap;
use trade::connector::Lock;

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
    ways: Vec<Way>,
    short: Vec<usize>,
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

/// A way in which a need is met.
#[derive(Debug, Clone, PartialEq)]
struct Way {
    need: usize,
    /// How many times.
    times: usize,
    parts: Vec<Part>,
}

/// Some pieces of a way that may stand for one another.
#[derive(Debug, Clone, PartialEq)]
struct Part {
    each: u32,
    /// Stock, and unknown.
    from: Vec<(usize, usize)>,
    bought: Option<usize>,
}

/// A programme in the making, and what it is made from.
struct Draft<'a> {
    outing: &'a Outing,
    asked: &'a Asked,
    programme: Programme,
    goals: BTreeMap<Goal, Vec<Term>>,
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
        let mut draft = Draft { outing, asked, programme: Programme::default(), goals: goals.into() };
        let stocks = stocks(outing, asked.remedies);
        let mut ways = Vec::new();
        let mut short = Vec::new();
        for (place, need) in outing.needs.iter().enumerate() {
            let begun = ways.len();
            ways.extend(draft.ways(place, need, &stocks));
            let missing = draft.unknown(need.count);
            draft.counts(Goal::Short, missing, need.pieces_each());
            let times = ways[begun..].iter().map(|way| term(1, way.times)).chain([term(1, missing)]).collect();
            draft.row(times, Some(i64::from(need.count)), Some(i64::from(need.count)));
            short.push(missing);
        }
        let mut statement = Self { programme: Programme::default(), goals: Vec::new(), stocks, ways, short };
        statement.bound_stocks(&mut draft);
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
        for (stock, unknown) in self.ways.iter().flat_map(|way| &way.parts).flat_map(|part| &part.from) {
            of_stock[*stock].push(term(1, *unknown));
        }
        let mut weighs: Vec<Term> = Vec::new();
        let mut sets: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
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
            draft.row(of_stock[place].clone(), None, Some(i64::from(stock.count)));
            match &piece.set {
                Some(set) => sets.entry(set).or_default().push(place),
                None => weighs.extend(of_stock[place].iter().map(|one| term(i64::from(stock.mass_g), one.unknown))),
            }
        }
        for (set, places) in sets {
            let goes = draft.unknown(1);
            let mut taken: Vec<Term> = places.iter().flat_map(|place| of_stock[*place].clone()).collect();
            let all: u32 = places.iter().map(|place| self.stocks[*place].count).sum();
            taken.push(term(-i64::from(all), goes));
            draft.row(taken, None, Some(0));
            weighs.push(term(i64::from(mass_of_set(outing, set)), goes));
        }
        if let Some(budget) = outing.budget_g {
            let all: u32 = outing.pieces.iter().map(|piece| piece.count * mass(outing, piece)).sum();
            let over = draft.unknown(all);
            draft.counts(Goal::Over, over, 1);
            draft.row(weighs.iter().copied().chain([term(-1, over)]).collect(), None, Some(i64::from(budget)));
        }
        draft.goals.entry(Goal::Mass).or_default().extend(weighs.into_iter().filter(|one| one.times != 0));
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
                let parts = self.ways.iter().filter(|way| way.need == need).flat_map(|way| &way.parts);
                let taken = parts.flat_map(|part| &part.from).filter(|(from, _)| *from == stock);
                let terms = taken.map(|(_, unknown)| term(1, *unknown)).chain([term(1, lost)]).collect();
                draft.row(terms, Some(i64::from(count)), None);
            }
        }
    }

    /// What a solution means: named pieces for each time that a need is met.
    #[must_use]
    pub fn choice(&self, outing: &Outing, solution: &Solution) -> Choice {
        let value = |unknown: usize| solution.values[unknown];
        let mut left: Vec<Vec<(usize, u32)>> = self.stocks.iter().map(|stock| stock.counts(outing)).collect();
        let mut units: Vec<Vec<Unit>> = vec![Vec::new(); outing.needs.len()];
        let mut remedies = Remedies::default();
        for way in &self.ways {
            let mut supplies: Vec<Vec<(usize, u32)>> = Vec::new();
            for part in &way.parts {
                supplies.push(part.from.iter().map(|(stock, unknown)| (*stock, value(*unknown))).collect());
                if let Some(count) = part.bought.map(value).filter(|count| *count > 0) {
                    let like =
                        part.from.first().map(|(stock, _)| outing.pieces[self.stocks[*stock].pieces[0]].label.clone());
                    remedies.buy.push((way.need, count, like.filter(|_| part.each == 2)));
                }
            }
            for _ in 0..value(way.times) {
                let mut pieces: Vec<Taken> = Vec::new();
                for (part, supply) in way.parts.iter().zip(&mut supplies) {
                    for _ in 0..part.each {
                        let Some(from) = supply.iter_mut().find(|(_, count)| *count > 0) else { break };
                        from.1 -= 1;
                        Taken::add(&mut pieces, take(&mut left[from.0], outing));
                    }
                }
                units[way.need].push(Unit { pieces });
            }
        }
        for taken in units.iter().flatten().flat_map(|unit| &unit.pieces) {
            match outing.piece(&taken.label).and_then(|piece| piece.stays) {
                Some(Stays::Elsewhere) => remedies.borrow.push(taken.clone()),
                Some(Stays::Uninspected) => remedies.inspect.push(taken.clone()),
                _ => {}
            }
        }
        let short = self.short.iter().map(|unknown| value(*unknown)).collect();
        let goals = self.goals.iter().copied().zip(solution.goals.iter().copied()).collect();
        Choice { units, short, goals, remedies }
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
    let members = outing.pieces.iter().filter(|piece| piece.set.as_deref() == Some(set));
    members.map(|piece| piece.count * mass(outing, piece)).sum()
}

/// The mass of a piece, g. One that nobody weighed counts as the heaviest of its kind, so that it is not taken for being unknown.
fn mass(outing: &Outing, piece: &Piece) -> u32 {
    let heaviest = || {
        let alike = outing.pieces.iter().filter(|other| other.is.gear == piece.is.gear);
        alike.filter_map(|other| other.mass_g).max().unwrap_or(0)
    };
    piece.mass_g.unwrap_or_else(heaviest)
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
            stocks.push(Stock { pieces: Vec::new(), count: 0, mass_g: mass(outing, piece) });
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
    /// The ways in which a need can be met.
    fn ways(&mut self, place: usize, need: &Need, stocks: &[Stock]) -> Vec<Way> {
        // Stocks that do, by the way that they do it in and their part in it.
        let mut ways: BTreeMap<String, [Vec<(usize, Suit)>; 2]> = BTreeMap::new();
        let mixed = need.mixed && need.duty.is_paired;
        for (index, stock) in stocks.iter().enumerate() {
            let piece = &self.outing.pieces[stock.pieces[0]];
            let Some(suit) = self.suit(place, need, stock) else { continue };
            let key = if need.duty.is_paired { twin(piece, mixed) } else { String::new() };
            let part = usize::from(mixed && piece.is.lock.is_some_and(Lock::is_automatic));
            ways.entry(key).or_default()[part].push((index, suit));
        }
        if self.asked.remedies {
            // Something new altogether.
            ways.entry("new".to_owned()).or_default();
        }
        let mut stated = Vec::new();
        for (_, [first, second]) in ways {
            let times = self.unknown(need.count);
            let parts = if mixed { vec![(1, first), (1, second)] } else { vec![(need.pieces_each(), first)] };
            let parts =
                parts.into_iter().map(|(each, from)| self.part(need.count, each, &from, times, stocks)).collect();
            stated.push(Way { need: place, times, parts });
        }
        stated
    }

    /// How a stock does for a need, where it does and may.
    fn suit(&self, place: usize, need: &Need, stock: &Stock) -> Option<Suit> {
        let of = |label: &str| stock.pieces.iter().any(|piece| self.outing.pieces[*piece].label == label);
        if self.asked.without.as_ref().is_some_and(|(barred, label)| *barred == place && of(label)) {
            return None;
        }
        let suit = need.suit(&self.outing.pieces[stock.pieces[0]]).ok()?;
        let is_enough = |margin: f64| self.asked.least_margin.is_none_or(|least| margin >= least);
        suit.margin.is_none_or(is_enough).then_some(suit)
    }

    /// A part of a way that is gone `times`: what it takes of each stock, and what is bought for it.
    fn part(&mut self, count: u32, each: u32, from: &[(usize, Suit)], times: usize, stocks: &[Stock]) -> Part {
        let most = count * each;
        let mut terms = vec![term(-i64::from(each), times)];
        let mut unknowns = Vec::new();
        for &(stock, suit) in from {
            let piece = &self.outing.pieces[stocks[stock].pieces[0]];
            let unknown = self.unknown(most.min(stocks[stock].count));
            self.counts(Goal::Shape, unknown, suit.grade.shape);
            self.counts(Goal::Lock, unknown, suit.grade.lock);
            self.counts(Goal::Use, unknown, piece.days);
            match piece.stays {
                Some(Stays::Elsewhere) => self.counts(Goal::Borrowed, unknown, 1),
                Some(Stays::Uninspected) => self.counts(Goal::Inspected, unknown, 1),
                _ => {}
            }
            terms.push(term(1, unknown));
            unknowns.push((stock, unknown));
        }
        let bought = self.asked.remedies.then(|| {
            let unknown = self.unknown(most);
            self.counts(Goal::Bought, unknown, 1);
            terms.push(term(1, unknown));
            unknown
        });
        self.row(terms, Some(0), Some(0));
        Part { each, from: unknowns, bought }
    }
}
