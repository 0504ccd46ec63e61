//! Plans by HiGHS: an integer programme in, the best choice out, proven goal after goal.
//!
//! The solver computes in floating point. What it gives back is rounded and judged in whole numbers before it goes out.

use good_lp::solvers::highs::highs;
use good_lp::{Expression, ProblemVariables, ResolutionError, Solution as _, SolverModel, Variable, variable};
use plan::programme::{Outcome, Programme, Row, Solution, Term};

/// Coefficients beyond this have no exact place beside others in floating point at the solver's tolerances.
const LARGEST: i64 = 1_000_000_000;

/// Solves a programme, one goal after another.
#[must_use]
pub fn solve(programme: &Programme) -> Outcome {
    if let Some(term) = programme.dangling() {
        return Outcome::Failed(format!(
            "a term names unknown {}, and there are {}",
            term.unknown,
            programme.most.len()
        ));
    }
    if programme
        .rows
        .iter()
        .flat_map(|row| &row.terms)
        .chain(programme.goals.iter().flatten())
        .any(|term| term.times.abs() > LARGEST)
    {
        return Outcome::Failed(format!("a coefficient is larger than {LARGEST}"));
    }
    let mut held = programme.rows.clone();
    let mut best: Option<Solution> = None;
    // Without a goal any values that meet the rows will do.
    let goals = if programme.goals.is_empty() { &[Vec::new()][..] } else { &programme.goals };
    for goal in goals {
        let values = match least(&programme.most, &held, goal) {
            Ok(values) => values,
            Err(outcome) => return outcome,
        };
        let goals = match programme.judge(&values) {
            Ok(goals) => goals,
            Err(broken) => return Outcome::Failed(format!("what the solver found is none: {broken}")),
        };
        let reached = goal.iter().map(|term| term.times * i64::from(values[term.unknown])).sum();
        held.push(Row { terms: goal.clone(), least: None, most: Some(reached) });
        best = Some(Solution { values, goals });
    }
    best.map_or(Outcome::Impossible, Outcome::Solved)
}

/// The values that make one goal least.
fn least(most: &[u32], rows: &[Row], goal: &[Term]) -> Result<Vec<u32>, Outcome> {
    let mut unknowns = ProblemVariables::new();
    let places: Vec<Variable> = most.iter().map(|most| unknowns.add(variable().integer().min(0).max(*most))).collect();
    let sum =
        |terms: &[Term]| -> Expression { terms.iter().map(|term| term.times as f64 * places[term.unknown]).sum() };
    // Goals are whole: what is less than one better is equally good.
    let mut model = unknowns.minimise(sum(goal)).using(highs).set_mip_rel_gap(0.0).map_err(failed)?;
    model = model.set_mip_abs_gap(0.9).map_err(failed)?;
    for row in rows {
        if let Some(bound) = row.least {
            model.add_constraint(sum(&row.terms).geq(bound as f64));
        }
        if let Some(bound) = row.most {
            model.add_constraint(sum(&row.terms).leq(bound as f64));
        }
    }
    // No start is given from the goal before: HiGHS was seen to hand such a start back as best where it was not.
    let solved = model.solve().map_err(|error| match error {
        ResolutionError::Infeasible => Outcome::Impossible,
        other => failed(other),
    })?;
    Ok(places.iter().map(|place| solved.value(*place).round().max(0.0) as u32).collect())
}

fn failed(why: impl std::fmt::Display) -> Outcome {
    Outcome::Failed(format!("the solver: {why}"))
}
