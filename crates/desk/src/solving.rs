//! From an integer programme to its best solution, by the helper program.

use crate::helper::{HelperTrouble, SOLVE, What};
use crate::{Surroundings, texts};
use plan::programme::{Answer, Order, Outcome, Programme, Solution, VERSION};
use std::time::Duration;

/// Why there is no solution.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SolveTrouble {
    /// The helper program did not help.
    Helper(HelperTrouble),
    /// No values meet all rows.
    Impossible,
    /// It could not be solved: why.
    Failed(String),
}

impl SolveTrouble {
    /// Whether there was no time for it.
    #[must_use]
    pub const fn is_slow(&self) -> bool {
        matches!(self, Self::Helper(HelperTrouble { what: What::TooSlow { .. }, .. }))
    }

    /// What is wrong, and what would help.
    #[must_use]
    pub fn words(&self) -> (String, String) {
        match self {
            Self::Helper(trouble) => trouble.words(),
            Self::Impossible => texts::failure("solver-impossible", &[]),
            Self::Failed(why) => texts::failure("solver-failed", &[("why", why.clone())]),
        }
    }
}

/// The helper program, and how long it may take for what it is asked at once. What it has not proven by then is not told at all.
#[derive(Clone, Copy)]
pub struct Solver<'a> {
    /// The way to it.
    pub surroundings: &'a dyn Surroundings,
    /// How long it may take.
    pub patience: Duration,
}

impl<'a> Solver<'a> {
    /// How long it may take where nobody says: what takes longer has mostly gone wrong.
    pub const PATIENCE: Duration = Duration::from_secs(120);

    /// The helper program, with as much patience as nobody asks for.
    #[must_use]
    pub fn new(surroundings: &'a dyn Surroundings) -> Self {
        Self { surroundings, patience: Self::PATIENCE }
    }

    /// Has a programme solved.
    ///
    /// # Errors
    /// [`SolveTrouble`] says what is wrong and what would help.
    pub fn solve(&self, programme: &Programme) -> Result<Solution, SolveTrouble> {
        self.solve_each(std::slice::from_ref(programme), &[])?.swap_remove(0)
    }

    /// Has several programmes solved: one answer each. Of those that it had no time for the answer is that it was too slow. What the goals of all
    /// come to at least, as far as that is known, saves time; each is solved up to the first goal that comes to more.
    ///
    /// # Errors
    /// Where the helper program did not help.
    pub fn solve_each(
        &self,
        programmes: &[Programme],
        least: &[i64],
    ) -> Result<Vec<Result<Solution, SolveTrouble>>, SolveTrouble> {
        let order = |programme: &Programme| {
            let order = Order { version: VERSION, programme: programme.clone(), least: least.to_vec() };
            serde_json::to_string(&order).map_err(|why| SolveTrouble::Failed(why.to_string()))
        };
        let orders = programmes.iter().map(order).collect::<Result<Vec<_>, _>>()?.join("\n");
        match self.surroundings.ask_helper(SOLVE, &orders, self.patience) {
            Ok(said) => {
                let count = lines(&said).count();
                if count != programmes.len() {
                    return Err(garbled(format!("{count} answers to {} orders", programmes.len())));
                }
                Ok(answers(programmes, &said))
            }
            Err(HelperTrouble { what: What::TooSlow { limit, said }, .. }) => {
                let whole = said.iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
                let slow = What::TooSlow { limit, said: Vec::new() };
                let slow = std::iter::repeat(Err(SolveTrouble::Helper(HelperTrouble::new(SOLVE, slow))));
                Ok(answers(programmes, &said[..whole]).into_iter().chain(slow).take(programmes.len()).collect())
            }
            Err(trouble) => Err(SolveTrouble::Helper(trouble)),
        }
    }
}

fn lines(said: &[u8]) -> impl Iterator<Item = &[u8]> {
    said.split(|byte| *byte == b'\n').filter(|line| !line.is_empty())
}

/// The answers that were given, a line each, to the first programmes.
fn answers(programmes: &[Programme], said: &[u8]) -> Vec<Result<Solution, SolveTrouble>> {
    programmes.iter().zip(lines(said)).map(|(programme, said)| understand(programme, said)).collect()
}

fn garbled(why: String) -> SolveTrouble {
    SolveTrouble::Helper(HelperTrouble::new(SOLVE, What::Garbled(why)))
}

/// A solution is taken from no helper without being judged here.
fn understand(programme: &Programme, said: &[u8]) -> Result<Solution, SolveTrouble> {
    let answer: Answer = serde_json::from_slice(said).map_err(|why| garbled(why.to_string()))?;
    if answer.version != VERSION {
        return Err(garbled(format!("version {} where {VERSION} was asked", answer.version)));
    }
    match answer.outcome {
        Outcome::Impossible => Err(SolveTrouble::Impossible),
        Outcome::Failed(why) => Err(SolveTrouble::Failed(why)),
        Outcome::Solved(solution) => match programme.judge(&solution.values) {
            Ok(goals) if goals == solution.goals => Ok(solution),
            Ok(goals) => Err(garbled(format!("its goals come to {goals:?}, not to {:?}", solution.goals))),
            Err(broken) => Err(garbled(broken.to_string())),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plan::programme::{Row, Term};

    /// At least one of an unknown up to 2.
    fn programme() -> Programme {
        let one = Term { times: 1, unknown: 0 };
        Programme {
            most: vec![2],
            rows: vec![Row { terms: vec![one], least: Some(1), most: None }],
            goals: vec![vec![one]],
        }
    }

    #[test]
    fn a_solution_is_judged_before_it_is_taken() {
        let said = |values: &str, goals: &str| {
            let line = format!(
                "{{\"version\":{VERSION},\"outcome\":{{\"solved\":{{\"values\":{values},\"goals\":{goals}}}}}}}\n"
            );
            understand(&programme(), line.as_bytes())
        };
        assert_eq!(said("[1]", "[1]"), Ok(Solution { values: vec![1], goals: vec![1] }));
        for (values, goals) in [("[0]", "[0]"), ("[3]", "[3]"), ("[1]", "[0]"), ("[]", "[]")] {
            let trouble = said(values, goals).expect_err(values);
            assert!(
                matches!(trouble, SolveTrouble::Helper(HelperTrouble { what: What::Garbled(_), .. })),
                "{trouble:?}"
            );
        }
    }

    #[test]
    fn no_choice_no_answer_and_another_version_are_told_apart() {
        let trouble = |said: &str| understand(&programme(), said.as_bytes()).expect_err(said);
        assert_eq!(trouble(r#"{"version":2,"outcome":"impossible"}"#), SolveTrouble::Impossible);
        assert_eq!(trouble(r#"{"version":2,"outcome":{"failed":"no"}}"#), SolveTrouble::Failed("no".to_owned()));
        for said in ["", "hello", r#"{"version":1,"outcome":"impossible"}"#] {
            assert!(matches!(trouble(said), SolveTrouble::Helper(_)), "{said}");
        }
    }
}
