//! Small outings, solved, against every assignment of pieces to needs that there is, each judged by the checker.

use linkwright_solve::solve;
use plan::checker::objections;
use plan::choice::{Choice, Remedies, Taken, Unit};
use plan::outing::{Need, Outing, Piece};
use plan::programme::Outcome;
use plan::statement::{Asked, Goal, Statement};
use proptest::prelude::*;
use terms::Force;
use trade::connector::{Class, Lock, Shape};
use trade::duty::{Strengths, Traits, duties};
use trade::gear::Gear;

fn need(name: &str, count: u32) -> Need {
    let duty = duties().iter().find(|duty| duty.name == name).expect(name).clone();
    Need {
        name: name.to_owned(),
        duty,
        count,
        loads: Strengths { closed: Some(Force::from_kn(10.0)), ..Strengths::default() },
        margins: [2.0, 1.0, 1.0],
        manual: None,
        size: None,
        least_length: None,
        diameter: None,
        locks: Vec::new(),
        mixed: false,
    }
}

fn pieces() -> impl Strategy<Value = Piece> {
    let shape = prop::sample::select(vec![Shape::Pear, Shape::D, Shape::Oval]);
    let lock = prop::sample::select(vec![Lock::Screw, Lock::TwoAction, Lock::None]);
    let model = prop::sample::select(vec![Some("one"), Some("other"), None]);
    let set = prop::sample::select(vec![None, None, None, Some("set")]);
    (shape, lock, model, set, 19u32..=24, prop::sample::select(vec!["L", "S"]), 30u32..=90, 0u32..=3, 1u32..=2)
        .prop_map(|(shape, lock, model, set, kn, size, mass_g, days, count)| Piece {
            label: String::new(),
            count,
            is: Traits {
                gear: Some(Gear::Connector),
                class: Some(Class::H),
                shape: Some(shape),
                lock: Some(lock),
                bears: Strengths {
                    closed: Some(Force::from_kn(f64::from(kn))),
                    open: Some(Force::from_kn(8.0)),
                    minor: Some(Force::from_kn(8.0)),
                },
                size: Some(size.to_owned()),
                ..Traits::default()
            },
            model: model.map(str::to_owned),
            mass_g: Some(mass_g),
            days,
            set: set.map(str::to_owned),
            ..Piece::default()
        })
}

/// Up to five pieces, three needs, and a budget now and then.
fn outings() -> impl Strategy<Value = Outing> {
    let needs = prop::sample::subsequence(vec!["belay", "master-point", "pulley"], 1..=3);
    (prop::collection::vec(pieces(), 1..=5), needs, 1u32..=2, prop::option::of(50u32..300), prop::bool::ANY).prop_map(
        |(mut pieces, names, count, budget_g, mixed)| {
            pieces.iter_mut().enumerate().for_each(|(place, piece)| piece.label = format!("P-{place}"));
            let needs = names.iter().map(|name| Need { mixed, ..need(name, count) }).collect();
            Outing { needs, pieces, budget_g }
        },
    )
}

/// Every choice: each piece at each place of each need, or nothing there.
fn every(outing: &Outing) -> Vec<Choice> {
    let mut begun = vec![Choice { units: vec![Vec::new(); outing.needs.len()], ..Choice::default() }];
    for (place, need) in outing.needs.iter().enumerate() {
        let pairs: Vec<Vec<&str>> = if need.duty.is_paired {
            let labels = || outing.pieces.iter().map(|piece| piece.label.as_str());
            labels()
                .flat_map(|one| labels().filter(move |other| one <= *other).map(move |other| vec![one, other]))
                .collect()
        } else {
            outing.pieces.iter().map(|piece| vec![piece.label.as_str()]).collect()
        };
        for _ in 0..need.count {
            let more: Vec<Choice> = begun
                .iter()
                .flat_map(|choice| {
                    pairs.iter().map(move |labels| {
                        let mut choice = choice.clone();
                        let mut pieces = Vec::new();
                        labels.iter().for_each(|label| Taken::add(&mut pieces, (*label).to_owned()));
                        choice.units[place].push(Unit { pieces });
                        choice
                    })
                })
                .filter(|choice| is_open(outing, choice))
                .collect();
            begun.extend(more);
        }
    }
    for choice in &mut begun {
        choice.short =
            outing.needs.iter().zip(&choice.units).map(|(need, units)| need.count - units.len() as u32).collect();
        choice.remedies = Remedies::default();
    }
    begun.sort_by_key(|choice| format!("{:?}", choice.units));
    begun.dedup();
    begun
}

/// Whether a choice that is not complete may still become one without objections.
fn is_open(outing: &Outing, choice: &Choice) -> bool {
    let short = outing.needs.iter().zip(&choice.units);
    let short = short.map(|(need, units)| need.count.saturating_sub(units.len() as u32)).collect();
    choice.units.iter().zip(&outing.needs).all(|(units, need)| units.len() as u32 <= need.count)
        && objections(outing, &Choice { short, ..choice.clone() }).is_empty()
}

/// What the goals come to, from the choice alone.
fn sums(outing: &Outing, choice: &Choice) -> Vec<i64> {
    let of = |label: &str| outing.pieces.iter().find(|piece| piece.label == label).expect(label);
    let each = |value: &dyn Fn(&Need, &Piece) -> u32| -> i64 {
        let needs = outing.needs.iter().zip(&choice.units);
        let taken =
            needs.flat_map(|(need, units)| units.iter().flat_map(|unit| &unit.pieces).map(move |taken| (need, taken)));
        taken.map(|(need, taken)| i64::from(value(need, of(&taken.label)) * taken.count)).sum()
    };
    let place = |order: usize| u32::try_from(order).expect("short");
    let mass: i64 = {
        let used = |piece: &&Piece| {
            choice.units.iter().flatten().flat_map(|unit| &unit.pieces).any(|taken| taken.label == piece.label)
        };
        let sets: Vec<_> = outing.pieces.iter().filter(used).filter_map(|piece| piece.set.clone()).collect();
        let whole = outing.pieces.iter().filter(|piece| piece.set.as_ref().is_some_and(|set| sets.contains(set)));
        let whole: i64 = whole.map(|piece| i64::from(piece.count * piece.mass_g.unwrap_or(0))).sum();
        whole + each(&|_, piece| if piece.set.is_some() { 0 } else { piece.mass_g.unwrap_or(0) })
    };
    let short = outing.needs.iter().zip(&choice.short).map(|(need, short)| i64::from(short * need.pieces_each())).sum();
    let shape = each(&|need, piece| {
        place(need.duty.shapes.iter().position(|own| Some(*own) == piece.is.shape).expect("suits"))
    });
    let lock =
        each(&|need, piece| place(need.duty.locks.iter().position(|own| Some(*own) == piece.is.lock).expect("suits")));
    let over = outing.budget_g.map(|budget| (mass - i64::from(budget)).max(0));
    [Some(short), over, Some(shape), Some(mass), Some(lock), Some(each(&|_, piece| piece.days))]
        .into_iter()
        .flatten()
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]

    #[test]
    fn the_choice_is_the_best_of_all_and_nobody_objects(outing in outings()) {
        let statement = Statement::of(&outing, &Asked::default());
        let Outcome::Solved(solution) = solve(&statement.programme, &[]) else { panic!("always something") };
        let choice = statement.choice(&outing, &solution);
        prop_assert_eq!(objections(&outing, &choice), vec![]);
        prop_assert_eq!(&sums(&outing, &choice), &solution.goals, "goals mean what they say: {:?}", choice);
        let best = every(&outing).iter().map(|choice| sums(&outing, choice)).min().expect("the empty choice");
        prop_assert_eq!(solution.goals, best);
    }

    #[test]
    fn with_remedies_nothing_stays_short(outing in outings()) {
        let statement = Statement::of(&outing, &Asked { remedies: true, ..Asked::default() });
        let Outcome::Solved(solution) = solve(&statement.programme, &[]) else { panic!("always something") };
        let choice = statement.choice(&outing, &solution);
        prop_assert_eq!(choice.goal(Goal::Short), 0);
        prop_assert_eq!(objections(&outing, &choice), vec![]);
        let bought: u32 = choice.remedies.buy.iter().map(|(_, count, _)| count).sum();
        prop_assert_eq!(i64::from(bought), choice.goal(Goal::Bought));
    }
}

fn locker(label: &str, shape: Shape, mass_g: u32, size: &str) -> Piece {
    let kn = |kn| Some(Force::from_kn(kn));
    Piece {
        label: label.to_owned(),
        count: 1,
        is: Traits {
            gear: Some(Gear::Connector),
            class: Some(Class::H),
            shape: Some(shape),
            lock: Some(Lock::Screw),
            bears: Strengths { closed: kn(24.0), open: kn(8.0), minor: kn(8.0) },
            size: Some(size.to_owned()),
            ..Traits::default()
        },
        model: Some("one".to_owned()),
        mass_g: Some(mass_g),
        ..Piece::default()
    }
}

fn taken(outing: &Outing) -> (Vec<String>, i64) {
    let statement = Statement::of(outing, &Asked::default());
    let Outcome::Solved(solution) = solve(&statement.programme, &[]) else { panic!("solved") };
    let choice = statement.choice(outing, &solution);
    assert_eq!(objections(outing, &choice), vec![]);
    (choice.taken(0).into_iter().map(|taken| taken.label).collect(), choice.goal(Goal::Short))
}

/// Common practice, no source: an oval is for pulleys, clamps and aid, and loses to a D elsewhere, however light it is.
#[test]
fn an_oval_loses_to_a_d_wherever_a_d_will_do() {
    let pieces = vec![locker("oval", Shape::Oval, 40, "M"), locker("d", Shape::D, 90, "M")];
    for duty in duties().iter().filter(|duty| duty.shapes.contains(&Shape::Oval) && duty.shapes[0] != Shape::Oval) {
        let outing = Outing {
            needs: vec![Need { loads: Strengths::default(), ..need(&duty.name, 1) }],
            pieces: pieces.clone(),
            budget_g: None,
        };
        assert_eq!(taken(&outing).0, ["d"], "{}", duty.name);
    }
    let pulley = Outing { needs: vec![need("pulley", 1)], pieces, budget_g: None };
    assert_eq!(taken(&pulley).0, ["oval"], "a pulley asks for an oval");
}

/// Common practice, no source.
#[test]
fn two_lockers_of_unlike_size_are_never_a_pair() {
    let pieces = vec![locker("large", Shape::Pear, 80, "L"), locker("small", Shape::Pear, 60, "S")];
    let mut outing = Outing { needs: vec![need("master-point", 1)], pieces, budget_g: None };
    assert_eq!(taken(&outing), (vec![], 2));
    outing.pieces.push(locker("second", Shape::Pear, 80, "L"));
    assert_eq!(taken(&outing), (vec!["large".to_owned(), "second".to_owned()], 0));
}

/// Common practice, no source: the device's instructions allow both, so the pear is taken, though the D is lighter.
#[test]
fn no_pear_is_skipped_for_a_d_where_the_manual_allows_both() {
    use trade::duty::Manual;
    let pieces = vec![locker("d", Shape::D, 40, "M"), locker("pear", Shape::Pear, 90, "M")];
    let manual = |shapes| Some(Manual { shapes, locks: Vec::new() });
    let mut outing = Outing { needs: vec![need("belay", 1)], pieces, budget_g: None };
    outing.needs[0].manual = manual(vec![Shape::Pear, Shape::D]);
    assert_eq!(taken(&outing).0, ["pear"]);
    outing.needs[0].manual = manual(vec![Shape::D]);
    assert_eq!(taken(&outing).0, ["d"], "the manual wins");
}
