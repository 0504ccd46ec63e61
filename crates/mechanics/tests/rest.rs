//! Nets at rest: balance, minimum, refusal.

mod common;

use common::Random;
use mechanics::fall::Leg;
use mechanics::rest::{Hold, Line, Net, Node, Rest, Unrest, solve};
use mechanics::vector::Vector;

fn node(at: [f64; 3], hold: Hold, load: [f64; 3]) -> Node {
    Node { at: Vector(at), hold, load: Vector(load) }
}

fn leg(net: &Net, ends: [usize; 2], modulus: f64, length_factor: f64) -> Leg<f64> {
    let length = (net.nodes[ends[0]].at - net.nodes[ends[1]].at).norm() * length_factor;
    Leg { ends, stiffness: modulus / length, length }
}

/// Anchors above, joints below, legs between most of them, some slack, a loop in some.
fn random_net(random: &mut Random) -> Net {
    let mut net = Net::default();
    let anchors = 2 + (random.unit() * 4.0) as usize;
    let joints = 1 + (random.unit() * 6.0) as usize;
    for _ in 0..anchors {
        let at = [random.between(-1.0, 1.0), random.between(-1.0, 1.0), random.between(0.0, 0.6)];
        net.nodes.push(node(at, Hold::Fixed, [0.0; 3]));
    }
    for joint in 0..joints {
        let at = [random.between(-1.0, 1.0), random.between(-1.0, 1.0), random.between(-2.0, -0.4)];
        let load = [random.between(-1e3, 1e3), random.between(-1e3, 1e3), random.between(-8e3, -1e2)];
        net.nodes.push(node(at, Hold::Free, load));
        let this = anchors + joint;
        for other in 0..this {
            if other == joint % anchors || random.chance(0.4) {
                let modulus = 10.0_f64.powf(random.between(3.5, 7.0));
                let one = leg(&net, [other, this], modulus, random.between(0.9, 1.3));
                net.legs.push(one);
            }
        }
        if random.chance(0.4) {
            let through = vec![0, this, 1];
            let length: f64 =
                through.windows(2).map(|pair| (net.nodes[pair[0]].at - net.nodes[pair[1]].at).norm()).sum();
            net.lines.push(Line {
                stiffness: random.between(5e3, 9e4),
                weight: 0.0,
                through,
                length: length * random.between(0.95, 1.1),
            });
        }
    }
    net
}

fn energy(net: &Net, at: &[Vector<f64>]) -> f64 {
    let distance = |a: usize, b: usize| (at[a] - at[b]).norm();
    let legs: f64 = net
        .legs
        .iter()
        .map(|leg| 0.5 * leg.stiffness * (distance(leg.ends[0], leg.ends[1]) - leg.length).max(0.0).powi(2))
        .sum();
    let lines: f64 = net
        .lines
        .iter()
        .map(|line| {
            let span: f64 = line.through.windows(2).map(|pair| distance(pair[0], pair[1])).sum();
            0.5 * line.stiffness * line.length * (span / line.length - 1.0).max(0.0).powi(2)
        })
        .sum();
    let loads: f64 = net.nodes.iter().zip(at).map(|(node, &at)| node.load.dot(at)).sum();
    legs + lines - loads
}

fn solved(net: &Net, seed: u64) -> Rest {
    solve(net).unwrap_or_else(|unrest| panic!("seed {seed}: {unrest}"))
}

#[test]
fn forces_balance_at_every_free_point() {
    for seed in 1..=400 {
        let net = random_net(&mut Random(seed));
        let rest = solved(&net, seed);
        for (place, node) in net.nodes.iter().enumerate().filter(|(_, node)| node.hold == Hold::Free) {
            let left = net.pulls_on(place, &rest) + node.load;
            assert!(left.norm() < 1e-6 * 8e3, "seed {seed}: {left:?} at {place}");
        }
        assert!(rest.legs.iter().chain(&rest.lines).all(|tension| *tension >= 0.0));
    }
}

#[test]
fn no_place_nearby_has_less_energy() {
    for seed in 1..=60 {
        let net = random_net(&mut Random(seed));
        let rest = solved(&net, seed);
        let least = energy(&net, &rest.at);
        let mut random = Random(seed + 1000);
        for _ in 0..30 {
            let mut moved = rest.at.clone();
            for (at, node) in moved.iter_mut().zip(&net.nodes) {
                if node.hold == Hold::Free {
                    *at += Vector(std::array::from_fn(|_| random.between(-0.01, 0.01)));
                }
            }
            assert!(energy(&net, &moved) >= least - 1e-6 * least.abs(), "seed {seed}");
        }
    }
}

#[test]
fn a_load_that_nothing_holds_is_refused_by_name() {
    let mut net = Net::default();
    net.nodes.push(node([0.0; 3], Hold::Fixed, [0.0; 3]));
    net.nodes.push(node([0.0, 0.0, -1.0], Hold::Free, [0.0, 0.0, -1e3]));
    net.nodes.push(node([1.0, 0.0, -1.0], Hold::Free, [0.0, 0.0, -1e3]));
    let held = leg(&net, [0, 1], 1e5, 1.0);
    net.legs.push(held);
    assert_eq!(solve(&net), Err(Unrest::NotHeld { node: 2 }));
    let tied = leg(&net, [1, 2], 1e5, 1.0);
    net.legs.push(tied);
    assert!(solve(&net).is_ok());
}

#[test]
fn a_hundred_joints_come_to_rest() {
    let (rows, columns) = (10, 10);
    let mut net = Net::default();
    for row in 0..=rows {
        for column in 0..columns {
            let at = [0.3 * column as f64, 0.0, -0.3 * row as f64];
            let hold = if row == 0 { Hold::Fixed } else { Hold::Free };
            net.nodes.push(node(at, hold, if row == rows { [20.0, 5.0, -500.0] } else { [0.0; 3] }));
        }
    }
    let place = |row: usize, column: usize| row * columns + column;
    for row in 0..rows {
        for column in 0..columns {
            let down = leg(&net, [place(row, column), place(row + 1, column)], 6e4, 1.0);
            net.legs.push(down);
            if column + 1 < columns {
                let across = leg(&net, [place(row + 1, column), place(row + 1, column + 1)], 6e4, 1.0);
                net.legs.push(across);
            }
        }
    }
    let rest = solved(&net, 0);
    let held: f64 = (0..columns).map(|column| net.pulls_on(column, &rest).0[2]).sum();
    assert!((held / (500.0 * columns as f64) + 1.0).abs() < 1e-9, "the anchors hold the whole load: {held}");
}
