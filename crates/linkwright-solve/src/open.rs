//! What is still open of a programme while its goals are met one after another, in whole numbers throughout.

use plan::programme::{Programme, Term};
use std::collections::BTreeMap;

/// Prices of rows are told in this part of one: what divides by all up to 16 has an exact place.
pub const PARTS: i64 = 720_720;

/// Unknowns, and after them the sum of each row, each between bounds that are narrowed as goals are met.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Open {
    /// The least that each may be.
    pub low: Vec<i64>,
    /// The most that each may be.
    pub high: Vec<i64>,
    /// The rows. The sum of row `i` stands at `unknowns + i`.
    pub rows: Vec<Vec<Term>>,
    /// How many unknowns there are.
    pub unknowns: usize,
}

/// A goal can come to no less than this; and what it costs, in parts, that an unknown or a sum is one off its cheaper bound.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bound {
    least: i128,
    slopes: Vec<i128>,
}

impl Open {
    /// All that a programme leaves open.
    #[must_use]
    pub fn of(programme: &Programme) -> Self {
        let high: Vec<i64> = programme.most.iter().map(|most| i64::from(*most)).collect();
        let unknowns = high.len();
        let mut open = Self { low: vec![0; unknowns], high, rows: Vec::new(), unknowns };
        for row in &programme.rows {
            open.add(&row.terms, row.least, row.most);
        }
        open
    }

    /// Adds a row. Where it has no bound its sum has those of its terms.
    pub fn add(&mut self, terms: &[Term], least: Option<i64>, most: Option<i64>) {
        let terms = gathered(terms);
        let reach = |up: bool| -> i64 {
            let end =
                |term: &Term| if (term.times > 0) == up { self.high[term.unknown] } else { self.low[term.unknown] };
            terms.iter().map(|term| term.times * end(term)).sum()
        };
        let bounds = (least.unwrap_or_else(|| reach(false)), most.unwrap_or_else(|| reach(true)));
        self.low.push(bounds.0);
        self.high.push(bounds.1);
        self.rows.push(terms);
    }

    /// Whether these values meet all that is open.
    #[must_use]
    pub fn allows(&self, values: &[i64]) -> bool {
        let within = |value: i64, place: usize| (self.low[place]..=self.high[place]).contains(&value);
        values.iter().enumerate().all(|(place, value)| within(*value, place))
            && self.rows.iter().enumerate().all(|(row, terms)| within(sum(terms, values), self.unknowns + row))
    }

    /// The bound that prices of the rows prove, whatever prices they are. With `x` the unknowns, `s = A x` the sums of rows and `y` prices,
    ///
    /// ```text
    ///   c·x = (c − Aᵀy)·x + y·s  ≥  Σ least of (c − Aᵀy)ⱼ xⱼ + Σ least of yᵢ sᵢ  within their bounds
    /// ```
    ///
    /// (A. M. Geoffrion, "Lagrangean relaxation for integer programming", Mathematical Programming Study 2, 1974, pp. 82-114.)
    #[must_use]
    pub fn bound(&self, goal: &[Term], prices: &[i64]) -> Bound {
        let mut slopes = vec![0_i128; self.low.len()];
        for term in goal {
            slopes[term.unknown] += i128::from(term.times) * i128::from(PARTS);
        }
        for (row, (terms, price)) in self.rows.iter().zip(prices).enumerate() {
            slopes[self.unknowns + row] = i128::from(*price);
            for term in terms {
                slopes[term.unknown] -= i128::from(term.times) * i128::from(*price);
            }
        }
        let ends = self.low.iter().zip(&self.high);
        let least = slopes
            .iter()
            .zip(ends)
            .map(|(slope, (low, high))| slope * i128::from(if *slope > 0 { *low } else { *high }));
        Bound { least: least.sum(), slopes }
    }

    /// Narrows all bounds to what a goal allows that may come to `reached` at most: being one off its cheaper bound costs its slope, and no more
    /// than lies between bound and `reached` can be spent (G. Dantzig, R. Fulkerson, S. Johnson, "Solution of a large-scale traveling-salesman
    /// problem", Operations Research 2, 1954, pp. 393-410). Gives whether that alone holds the goal, with no row for it.
    pub fn narrow(&mut self, bound: &Bound, reached: i64) -> bool {
        let spare = i128::from(reached) * i128::from(PARTS) - bound.least;
        let mut most = 0;
        for (place, slope) in bound.slopes.iter().enumerate().filter(|(_, slope)| **slope != 0) {
            let (low, high) = (&mut self.low[place], &mut self.high[place]);
            let reach = i64::try_from(spare / slope.abs()).unwrap_or(i64::MAX).min(*high - *low);
            if *slope > 0 {
                *high = *low + reach;
            } else {
                *low = *high - reach;
            }
            most += slope.abs() * i128::from(reach);
        }
        most < spare + i128::from(PARTS)
    }
}

impl Bound {
    /// The bound, where it is a whole number.
    #[must_use]
    pub fn whole(&self) -> Option<i64> {
        let parts = i128::from(PARTS);
        i64::try_from(self.least / parts).ok().filter(|_| self.least % parts == 0)
    }

    /// Whether it leaves `sum` possible.
    #[must_use]
    pub fn allows(&self, sum: i64) -> bool {
        self.least <= i128::from(sum) * i128::from(PARTS)
    }

    /// Whether nothing whole below `sum` is possible.
    #[must_use]
    pub fn proves(&self, sum: i64) -> bool {
        self.least > (i128::from(sum) - 1) * i128::from(PARTS)
    }
}

/// One term for each unknown.
fn gathered(terms: &[Term]) -> Vec<Term> {
    let mut times = BTreeMap::new();
    for term in terms {
        *times.entry(term.unknown).or_insert(0) += term.times;
    }
    times.into_iter().map(|(unknown, times)| Term { times, unknown }).collect()
}

/// What terms come to.
#[must_use]
pub fn sum(terms: &[Term], values: &[i64]) -> i64 {
    terms.iter().map(|term| term.times * values[term.unknown]).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use plan::programme::Row;

    const fn term(times: i64, unknown: usize) -> Term {
        Term { times, unknown }
    }

    /// Two unknowns up to 3 that come to at least 4 together.
    fn both() -> Open {
        Open::of(&Programme {
            most: vec![3, 3],
            rows: vec![Row { terms: vec![term(1, 0), term(1, 1)], least: Some(4), most: None }],
            goals: Vec::new(),
        })
    }

    #[test]
    fn a_price_proves_a_bound_and_narrows() {
        let mut open = both();
        let goal = [term(2, 0), term(3, 1)];
        // Three of the first, one of the second: 9. At the price of 3 a unit, 12 less 1 for each of the first.
        let bound = open.bound(&goal, &[3 * PARTS]);
        assert!(bound.proves(9) && !bound.proves(10));
        assert!(open.narrow(&bound, 9), "no row is needed");
        assert_eq!((open.low, open.high), (vec![3, 0, 4], vec![3, 3, 4]));
    }

    #[test]
    fn any_price_proves_something_true_and_narrows_no_solution_away() {
        let goal = [term(2, 0), term(3, 1)];
        for price in [-5, 0, 1, 2, 4, 7] {
            let mut open = both();
            let bound = open.bound(&goal, &[price * PARTS]);
            assert!(!bound.proves(10), "price {price}");
            open.narrow(&bound, 9);
            assert!(open.allows(&[3, 1]), "price {price}");
        }
    }
}
