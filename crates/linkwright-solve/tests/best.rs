//! What the solver calls best, against looking at every choice there is.

use linkwright_solve::solve;
use plan::programme::{Outcome, Programme, Row, Solution, Term};
use proptest::prelude::*;

/// Up to five unknowns of up to 3, up to four rows, up to three goals.
fn programmes() -> impl Strategy<Value = Programme> {
    prop::collection::vec(0u32..=3, 1..=5).prop_flat_map(|most| {
        let count = most.len();
        let terms = move || {
            prop::collection::vec((-5i64..=9, 0..count), 0..=4)
                .prop_map(|terms| terms.into_iter().map(|(times, unknown)| Term { times, unknown }).collect::<Vec<_>>())
        };
        let row = (terms(), prop::option::of(-4i64..=12), prop::option::of(-4i64..=20))
            .prop_map(|(terms, least, most)| Row { terms, least, most });
        (Just(most), prop::collection::vec(row, 0..=4), prop::collection::vec(terms(), 0..=3))
            .prop_map(|(most, rows, goals)| Programme { most, rows, goals })
    })
}

/// What the goals come to at best, by trying all values.
fn by_trying(programme: &Programme) -> Option<Vec<i64>> {
    let every = programme.most.iter().fold(vec![Vec::new()], |begun, &most| {
        begun
            .iter()
            .flat_map(|values| (0..=most).map(move |value| [&values[..], &[value]].concat()))
            .collect::<Vec<_>>()
    });
    every.iter().filter_map(|values| programme.judge(values).ok()).min()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn the_best_is_the_best_of_all(programme in programmes()) {
        match (solve(&programme, &[]), by_trying(&programme)) {
            (Outcome::Solved(Solution { values, goals }), Some(best)) => {
                prop_assert_eq!(programme.judge(&values), Ok(goals.clone()));
                prop_assert_eq!(goals, best);
            }
            (Outcome::Impossible, None) => {}
            (outcome, best) => prop_assert!(false, "{outcome:?} where trying finds {best:?}"),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Up to the first goal that the row makes worse.
    #[test]
    fn what_is_known_of_a_programme_with_a_row_fewer_changes_no_answer(programme in programmes()) {
        let rows = programme.rows.iter().skip(1).cloned().collect();
        let least = by_trying(&Programme { rows, ..programme.clone() }).unwrap_or_default();
        match (solve(&programme, &least), by_trying(&programme)) {
            (Outcome::Solved(Solution { values, goals }), Some(best)) => {
                prop_assert_eq!(programme.judge(&values), Ok(goals.clone()));
                let worse = least.iter().zip(&best).position(|(least, best)| least != best);
                let told = worse.map_or(best.len(), |goal| goal + 1);
                prop_assert_eq!(&goals[..told], &best[..told]);
            }
            (Outcome::Impossible, None) => {}
            (found, best) => prop_assert!(false, "{:?} where the best is {:?}", found, best),
        }
    }
}

#[test]
fn an_order_that_names_nothing_is_refused() {
    let lost = Term { times: 1, unknown: 1 };
    let programme = Programme { most: vec![1], goals: vec![vec![lost]], ..Programme::default() };
    assert!(matches!(solve(&programme, &[]), Outcome::Failed(why) if why.contains("unknown 1")));
}

#[test]
fn a_goal_that_comes_later_counts_only_among_equals() {
    // Three of two kinds; the first goal asks for few of the second, the next for few of the first.
    let term = |times, unknown| Term { times, unknown };
    let three = Row { terms: vec![term(1, 0), term(1, 1)], least: Some(3), most: None };
    let programme = Programme { most: vec![2, 3], rows: vec![three], goals: vec![vec![term(1, 1)], vec![term(1, 0)]] };
    assert_eq!(solve(&programme, &[]), Outcome::Solved(Solution { values: vec![2, 1], goals: vec![1, 2] }));
}

/// In halves the first goal comes to 0, a whole number that it cannot come to: twice the second unknown and the first are 3.
#[test]
fn a_goal_that_cannot_come_to_its_bound_is_met_as_well_as_it_can_be() {
    let term = |times, unknown| Term { times, unknown };
    let three = Row { terms: vec![term(1, 0), term(2, 1)], least: Some(3), most: Some(3) };
    let goals = vec![vec![term(1, 0)], vec![term(1, 2)], vec![term(1, 1)]];
    let programme = Programme { most: vec![3, 3, 1], rows: vec![three], goals };
    assert_eq!(solve(&programme, &[]), Outcome::Solved(Solution { values: vec![1, 1, 0], goals: vec![1, 0, 1] }));
}
