//! Falls side by side give the bits of falls one by one; so do many threads.

use crate::rigs;
use mechanics::fall::{self, Fall, Kind, MOST_LANES, Peaks, Piece, Steady, Tear};
use mechanics::number::{Lanes, Number};
use mechanics::vector::Vector;
use std::array::from_fn;

/// Four falls of one shape that differ in friction, brake, masses, slack and sling.
fn four_of(fall: &Fall<f64>, seed: u64) -> [Fall<f64>; MOST_LANES] {
    let mut dice = rigs::Dice(seed);
    from_fn(|_| {
        let mut fall = fall.clone();
        for node in &mut fall.nodes {
            let factor = dice.between(0.7, 1.4);
            node.kind = match node.kind {
                Kind::Fixed => Kind::Fixed,
                Kind::Free(mass) => Kind::Free(mass * factor),
                Kind::Stands(mass) => Kind::Stands(mass * factor),
            };
        }
        fall.legs.iter_mut().for_each(|leg| leg.stiffness *= dice.between(0.5, 1.0));
        for line in &mut fall.lines {
            line.friction.iter_mut().for_each(|friction| *friction = dice.between(0.0, 0.5));
            line.brake = if dice.chance(0.3) { f64::INFINITY } else { dice.between(500.0, 4000.0) };
            *line.lengths.last_mut().expect("a segment") += dice.between(0.0, 1.0);
        }
        fall
    })
}

/// The same with a leg that tears, a piece that pulls out and a steady force.
fn with_all_there_is(mut fall: Fall<f64>) -> Fall<f64> {
    let fixed = fall.nodes.iter().rposition(|node| matches!(node.kind, Kind::Fixed)).expect("a fixed point");
    let free = fall.nodes.iter().rposition(|node| matches!(node.kind, Kind::Free(_))).expect("a free point");
    fall.tears = vec![Tear { leg: fall.legs.len() - 1, at: 2e3, most: 0.2 }];
    let holds = vec![(0.7, 4e3), (-1.0, 1.5e3)];
    fall.pieces = vec![Piece { node: fixed, mass: 0.1, direction: Vector([0.0, 0.0, -1.0]), holds }];
    fall.steady = vec![Steady { node: free, force: Vector([30.0, 10.0, 0.0]) }];
    fall
}

#[test]
fn falls_in_lanes_give_the_bits_of_runs_alone() {
    let shapes = [rigs::lead(4), rigs::swinging_draws(3), with_all_there_is(rigs::swinging_draws(3))];
    for (seed, shape) in (0..).zip(shapes.into_iter().chain((0..16).map(rigs::random))) {
        let four = four_of(&shape, seed);
        let step = fall::default_step(&four[0]);
        let alone = four.each_ref().map(|fall| fall::run(fall, step, &mut ()).expect("a run alone"));
        for count in 1..=MOST_LANES {
            let watch = &mut vec![(); count];
            let together = fall::run_together(&four[..count], step, watch).expect("a run in lanes");
            assert_eq!(together, alone[..count], "shape {seed}, {count} falls");
            let heights = fall::lowest_together(&four[..count], step).expect("a run in lanes");
            let lowest = |peaks: &Peaks<f64>| peaks.nodes.iter().map(|node| node.lowest).collect();
            let of_peaks: Vec<Vec<f64>> = alone[..count].iter().map(lowest).collect();
            assert_eq!(heights, of_peaks, "shape {seed}, {count} falls, heights alone");
        }
        assert!(alone.windows(2).all(|pair| pair[0] != pair[1]), "four falls, not one four times");
    }
}

#[test]
fn what_is_not_finite_in_one_lane_is_seen() {
    assert!(!Lanes([1.0, f64::NAN, 1.0, 1.0]).is_finite());
    let four = four_of(&rigs::swinging_draws(3), 1);
    let mut faulty = four.clone();
    faulty[2].nodes.last_mut().expect("a point").at = Vector([f64::NAN; 3]);
    let fault = fall::run_together(&faulty, 1e-3, &mut [(); MOST_LANES]).expect_err("one of them is undefined");
    assert!(matches!(fault, fall::Fault::NotFinite { .. }), "{fault}");
    assert!(fall::run_together(&four, 1e-3, &mut [(); MOST_LANES]).is_ok());
}

/// Only falls that differ in numbers alone may run side by side.
#[test]
fn another_shape_is_told() {
    let fall = with_all_there_is(rigs::swinging_draws(3));
    assert!(fall.is_shaped_like(&four_of(&fall, 3)[2]));
    let others: [fn(&mut Fall<f64>); 6] = [
        |fall| fall.until += 1.0,
        |fall| fall.nodes[0].kind = Kind::Fixed,
        |fall| fall.lines[0].through.swap(0, 1),
        |fall| fall.legs[0].ends.reverse(),
        |fall| fall.pieces[0].holds[0].0 = 0.5,
        |fall| fall.steady.clear(),
    ];
    for (place, change) in others.iter().enumerate() {
        let mut other = fall.clone();
        change(&mut other);
        assert!(!fall.is_shaped_like(&other), "change {place}");
    }
}

#[test]
fn many_threads_give_the_bits_of_one() {
    let one = |seed: u64| {
        let fall = rigs::random(seed);
        fall::run(&fall, fall::default_step(&fall), &mut ()).expect("a run")
    };
    let alone: Vec<_> = (0..24).map(one).collect();
    let together: Vec<_> = std::thread::scope(|scope| {
        let handles: Vec<_> = (0..24).map(|seed| scope.spawn(move || one(seed))).collect();
        handles.into_iter().map(|handle| handle.join().expect("a thread")).collect()
    });
    assert_eq!(alone, together);
}
