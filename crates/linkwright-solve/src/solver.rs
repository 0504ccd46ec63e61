//! HiGHS: the only place that knows it. What it finds is floating point and proves nothing by itself.

use crate::open::{Open, PARTS};
use highs::{Col, HighsModelStatus, HighsSolutionStatus, Model, RowProblem, Sense, SolvedModel};
use plan::programme::Term;

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trouble {
    /// Nothing meets all rows.
    Impossible,
    /// It gave up: why.
    Failed(String),
}

/// The best where halves and the like are allowed, and what its rows are worth.
#[derive(Debug, Clone, PartialEq)]
pub struct Relaxed {
    /// The unknowns.
    pub values: Vec<f64>,
    /// The price of each row, in [`PARTS`].
    pub prices: Vec<i64>,
}

/// A programme without whole numbers, kept from goal to goal: each starts where the one before ended.
pub struct Relaxation {
    model: Option<Model>,
    columns: Vec<Col>,
    costs: Vec<f64>,
    low: Vec<i64>,
    high: Vec<i64>,
    rows: usize,
}

impl Relaxation {
    /// Of all that is open.
    ///
    /// # Errors
    /// Where HiGHS does not take it.
    pub fn of(open: &Open) -> Result<Self, Trouble> {
        let mut problem = RowProblem::default();
        let columns: Vec<Col> = bounds(open).map(|(low, high)| problem.add_column(0.0, low..=high)).collect();
        for row in 0..open.rows.len() {
            problem.add_row(0..=0, row_factors(open, row, &columns));
        }
        let model = problem.try_optimise(Sense::Minimise).map_err(failed)?;
        let costs = vec![0.0; columns.len()];
        Ok(Self {
            model: Some(model),
            columns,
            costs,
            low: open.low.clone(),
            high: open.high.clone(),
            rows: open.rows.len(),
        })
    }

    /// The least that a goal comes to in what is open.
    ///
    /// # Errors
    /// [`Trouble`] says why not.
    pub fn least(&mut self, open: &Open, goal: &[Term]) -> Result<Relaxed, Trouble> {
        let mut model = self.model.take().ok_or_else(|| Trouble::Failed("it failed before".to_owned()))?;
        self.follow(&mut model, open, goal)?;
        let solved = model.try_solve().map_err(failed)?;
        let answer = answer(&solved).map(|(values, prices)| Relaxed {
            values: values[..open.unknowns].to_vec(),
            prices: prices.iter().map(|price| (price * PARTS as f64).round() as i64).collect(),
        });
        self.model = Some(solved.into());
        answer
    }

    /// Tells the model what changed since it was asked last.
    fn follow(&mut self, model: &mut Model, open: &Open, goal: &[Term]) -> Result<(), Trouble> {
        for row in self.rows..open.rows.len() {
            let place = open.unknowns + row;
            let row = model.try_add_row(0..=0, row_factors(open, row, &self.columns)).map_err(failed)?;
            let ends = open.low[place] as f64..=open.high[place] as f64;
            self.columns.push(model.try_add_column(0.0, ends, [(row, -1.0)]).map_err(failed)?);
            self.costs.push(0.0);
            self.low.push(open.low[place]);
            self.high.push(open.high[place]);
        }
        self.rows = open.rows.len();
        let mut costs = vec![0.0; self.costs.len()];
        goal.iter().for_each(|term| costs[term.unknown] += term.times as f64);
        for (place, column) in self.columns.iter().enumerate() {
            if costs[place] != self.costs[place] {
                model.change_column_cost(*column, costs[place]);
            }
            if (open.low[place], open.high[place]) != (self.low[place], self.high[place]) {
                model.change_column_bounds(*column, open.low[place] as f64..=open.high[place] as f64);
            }
        }
        self.costs = costs;
        self.low.clone_from(&open.low);
        self.high.clone_from(&open.high);
        Ok(())
    }
}

fn bounds(open: &Open) -> impl Iterator<Item = (f64, f64)> {
    open.low.iter().zip(&open.high).map(|(low, high)| (*low as f64, *high as f64))
}

/// A row's terms and, where it has a column already, the sum of them taken away.
fn row_factors(open: &Open, row: usize, columns: &[Col]) -> Vec<(Col, f64)> {
    let terms = open.rows[row].iter().map(|term| (columns[term.unknown], term.times as f64));
    terms.chain(columns.get(open.unknowns + row).map(|column| (*column, -1.0))).collect()
}

/// The whole values with which a goal comes to the least, among those that are open.
///
/// # Errors
/// [`Trouble`] says why not.
pub fn whole(open: &Open, goal: &[Term]) -> Result<Vec<f64>, Trouble> {
    let mut costs = vec![0.0; open.unknowns];
    goal.iter().for_each(|term| costs[term.unknown] += term.times as f64);
    let mut problem = RowProblem::default();
    let ends = bounds(open).take(open.unknowns).zip(costs);
    let columns: Vec<Col> = ends.map(|((low, high), cost)| problem.add_integer_column(cost, low..=high)).collect();
    for (terms, (low, high)) in open.rows.iter().zip(bounds(open).skip(open.unknowns)) {
        problem.add_row(low..=high, terms.iter().map(|term| (columns[term.unknown], term.times as f64)));
    }
    let mut model = problem.try_optimise(Sense::Minimise).map_err(failed)?;
    // Goals are whole: what is less than one better is equally good. No start is given from the goal before: HiGHS was seen to hand such a
    // start back as best where it was not.
    for (option, gap) in [("mip_rel_gap", 0.0), ("mip_abs_gap", 0.9)] {
        model.try_set_option(option, gap).map_err(|_| Trouble::Failed(format!("there is no option {option}")))?;
    }
    Ok(answer(&model.try_solve().map_err(failed)?)?.0)
}

/// Values and prices of what was solved to its end.
fn answer(solved: &SolvedModel) -> Result<(Vec<f64>, Vec<f64>), Trouble> {
    match solved.status() {
        HighsModelStatus::Optimal | HighsModelStatus::ModelEmpty => {}
        HighsModelStatus::Infeasible => return Err(Trouble::Impossible),
        other => return Err(failed(other)),
    }
    if solved.primal_solution_status() != HighsSolutionStatus::Feasible {
        return Err(Trouble::Failed("it says that there is a best, and gives none".to_owned()));
    }
    let solution = solved.get_solution();
    Ok((solution.columns().to_vec(), solution.dual_rows().to_vec()))
}

fn failed(why: impl std::fmt::Debug) -> Trouble {
    Trouble::Failed(format!("HiGHS ended with {why:?}"))
}
