//! Falls side by side give the bits of falls one by one; so do many threads.

use crate::rigs;
use mechanics::fall::{self, Fall, Kind, Leg, Line, Node, NodePeak, Peaks};
use mechanics::number::Lanes;
use mechanics::rope::Response;
use mechanics::vector::Vector;
use std::array::from_fn;

const LANES: usize = 4;
type Wide = Lanes<LANES>;

/// Puts one number of each of four falls side by side.
fn wide<'a, T>(four: &'a [T; LANES], number: impl Fn(&'a T) -> f64) -> Wide {
    Lanes(from_fn(|lane| number(&four[lane])))
}

fn wide_vector(four: &[Vector<f64>; LANES]) -> Vector<Wide> {
    Vector(from_fn(|axis| wide(four, |vector| vector.0[axis])))
}

fn wide_kind(four: &[Kind<f64>; LANES]) -> Kind<Wide> {
    let mass = |kind: &Kind<f64>| match *kind {
        Kind::Fixed => f64::NAN,
        Kind::Free(mass) | Kind::Stands(mass) => mass,
    };
    match four[0] {
        Kind::Fixed => Kind::Fixed,
        Kind::Free(_) => Kind::Free(wide(four, mass)),
        Kind::Stands(_) => Kind::Stands(wide(four, mass)),
    }
}

fn wide_line(four: [&Line<f64>; LANES]) -> Line<Wide> {
    let each = |numbers: fn(&Line<f64>) -> &Vec<f64>| {
        (0..numbers(four[0]).len()).map(|place| wide(&four, |line| numbers(line)[place])).collect()
    };
    Line {
        response: Response {
            slow: wide(&four, |line| line.response.slow),
            fast: wide(&four, |line| line.response.fast),
            relax: wide(&four, |line| line.response.relax),
        },
        through: four[0].through.clone(),
        lengths: each(|line| &line.lengths),
        friction: each(|line| &line.friction),
        brake: wide(&four, |line| line.brake),
    }
}

fn side_by_side(four: &[Fall<f64>; LANES]) -> Fall<Wide> {
    let node = |place: usize| Node {
        at: wide_vector(&from_fn(|lane| four[lane].nodes[place].at)),
        kind: wide_kind(&from_fn(|lane| four[lane].nodes[place].kind)),
    };
    let leg = |place: usize| Leg {
        ends: four[0].legs[place].ends,
        stiffness: wide(four, |fall| fall.legs[place].stiffness),
        length: wide(four, |fall| fall.legs[place].length),
    };
    Fall {
        nodes: (0..four[0].nodes.len()).map(node).collect(),
        legs: (0..four[0].legs.len()).map(leg).collect(),
        lines: (0..four[0].lines.len()).map(|line| wide_line(from_fn(|lane| &four[lane].lines[line]))).collect(),
        until: four[0].until,
        ..Fall::default()
    }
}

/// The peaks of one lane.
fn one_lane(peaks: &Peaks<Wide>, lane: usize) -> Peaks<f64> {
    let vector = |vector: Vector<Wide>| Vector(vector.0.map(|component| component.0[lane]));
    let node = |node: &NodePeak<Wide>| NodePeak {
        all: node.all.0[lane],
        all_vector: vector(node.all_vector),
        all_time: node.all_time.0[lane],
        ropes: node.ropes.0[lane],
        ropes_vector: vector(node.ropes_vector),
        ropes_time: node.ropes_time.0[lane],
        lowest: node.lowest.0[lane],
        highest: node.highest.0[lane],
        stopped_at: node.stopped_at.0[lane],
    };
    let lane_of = |numbers: &Vec<Wide>| numbers.iter().map(|number| number.0[lane]).collect();
    Peaks {
        nodes: peaks.nodes.iter().map(node).collect(),
        legs: lane_of(&peaks.legs),
        segments: peaks.segments.iter().map(lane_of).collect(),
        torn: lane_of(&peaks.torn),
        out_at: lane_of(&peaks.out_at),
    }
}

/// Four falls of one shape that differ in friction, brake, masses, slack and sling.
fn four_of(fall: &Fall<f64>, seed: u64) -> [Fall<f64>; LANES] {
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

#[test]
fn four_falls_in_lanes_give_the_bits_of_four_runs() {
    let shapes = [rigs::lead(4), rigs::swinging_draws(3)].into_iter().chain((0..16).map(rigs::random));
    for (seed, shape) in (0..).zip(shapes) {
        let four = four_of(&shape, seed);
        let step = fall::default_step(&four[0]);
        let wide = fall::run(&side_by_side(&four), step, &mut ()).expect("a run in lanes");
        for (lane, alone) in four.iter().enumerate() {
            let alone = fall::run(alone, step, &mut ()).expect("a run alone");
            assert_eq!(one_lane(&wide, lane), alone, "shape {seed}, lane {lane}");
        }
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
