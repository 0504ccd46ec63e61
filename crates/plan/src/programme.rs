//! An integer programme, and how it goes to a solver and comes back.

use serde::{Deserialize, Serialize};

/// The version of orders and answers. One of another version is refused.
pub const VERSION: u32 = 2;

/// Whole unknowns from 0 to a bound, rows that must hold, and goals to be made least, the most important first.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Programme {
    /// The upper bound of each unknown.
    pub most: Vec<u32>,
    /// What must hold.
    pub rows: Vec<Row>,
    /// What is to be least. A later goal counts only among what is best by all before it.
    pub goals: Vec<Vec<Term>>,
}

/// So many times an unknown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Term {
    /// How many times.
    pub times: i64,
    /// Its place in [`Programme::most`].
    pub unknown: usize,
}

/// A sum that must lie between bounds, both allowed.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// The sum.
    pub terms: Vec<Term>,
    /// At least so much.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least: Option<i64>,
    /// At most so much.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most: Option<i64>,
}

/// The best there is, proven so goal after goal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Solution {
    /// The unknowns.
    pub values: Vec<u32>,
    /// What each goal comes to.
    pub goals: Vec<i64>,
}

/// What is asked of a solver.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Order {
    /// [`VERSION`].
    pub version: u32,
    /// What to solve.
    pub programme: Programme,
    /// What its goals come to at least, in their order and each where those before it come to just that, as far as it is known: as of a
    /// programme with fewer rows. The first goal that comes to more is the last that is asked for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub least: Vec<i64>,
}

/// What a solver says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    /// [`VERSION`].
    pub version: u32,
    /// What came of it.
    pub outcome: Outcome,
}

/// What came of an order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// The best there is.
    Solved(Solution),
    /// No values meet all rows.
    Impossible,
    /// It could not be solved: why.
    Failed(String),
}

/// Why values are no solution.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Broken {
    /// Not one value for each unknown.
    #[error("{given} values for {asked} unknowns")]
    Count {
        /// Values.
        given: usize,
        /// Unknowns.
        asked: usize,
    },
    /// A value over its bound.
    #[error("unknown {unknown} is {value}, over its bound")]
    Bound {
        /// The unknown.
        unknown: usize,
        /// Its value.
        value: u32,
    },
    /// A sum out of its bounds.
    #[error("row {row} comes to {sum}, out of its bounds")]
    Row {
        /// The row's place.
        row: usize,
        /// The sum.
        sum: i64,
    },
}

impl Programme {
    /// What each goal comes to with these values, in whole numbers throughout.
    ///
    /// # Errors
    /// [`Broken`] where they do not meet bounds and rows.
    pub fn judge(&self, values: &[u32]) -> Result<Vec<i64>, Broken> {
        if values.len() != self.most.len() {
            return Err(Broken::Count { given: values.len(), asked: self.most.len() });
        }
        if let Some(unknown) = (0..values.len()).find(|&unknown| values[unknown] > self.most[unknown]) {
            return Err(Broken::Bound { unknown, value: values[unknown] });
        }
        let sum = |terms: &[Term]| terms.iter().map(|term| term.times * i64::from(values[term.unknown])).sum::<i64>();
        for (row, asked) in self.rows.iter().enumerate() {
            let sum = sum(&asked.terms);
            if asked.least.is_some_and(|least| sum < least) || asked.most.is_some_and(|most| sum > most) {
                return Err(Broken::Row { row, sum });
            }
        }
        Ok(self.goals.iter().map(|goal| sum(goal)).collect())
    }

    /// The first term that names an unknown which is not there.
    #[must_use]
    pub fn dangling(&self) -> Option<Term> {
        let rows = self.rows.iter().flat_map(|row| &row.terms);
        rows.chain(self.goals.iter().flatten()).find(|term| term.unknown >= self.most.len()).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two unknowns up to 3 that come to at least 4 together.
    fn both() -> Programme {
        let one = |unknown| Term { times: 1, unknown };
        Programme {
            most: vec![3, 3],
            rows: vec![Row { terms: vec![one(0), one(1)], least: Some(4), most: None }],
            goals: vec![vec![Term { times: 2, unknown: 0 }, Term { times: 3, unknown: 1 }]],
        }
    }

    #[test]
    fn values_are_judged_by_bounds_rows_and_goals() {
        assert_eq!(both().judge(&[3, 1]), Ok(vec![9]));
        assert_eq!(both().judge(&[3]), Err(Broken::Count { given: 1, asked: 2 }));
        assert_eq!(both().judge(&[4, 0]), Err(Broken::Bound { unknown: 0, value: 4 }));
        assert_eq!(both().judge(&[2, 1]), Err(Broken::Row { row: 0, sum: 3 }));
    }

    #[test]
    fn a_term_that_names_nothing_is_found() {
        assert_eq!(both().dangling(), None);
        let lost = Term { times: 1, unknown: 2 };
        assert_eq!(Programme { goals: vec![vec![lost]], ..both() }.dangling(), Some(lost));
    }
}
