//! Ropes with a weight of their own: closed forms, symmetry, balance, and the limit of many small weights.

mod common;

use common::Random;
use mechanics::rest::{Hold, Line, Net, Node, Rest, solve};
use mechanics::vector::Vector;

fn node(at: [f64; 3], hold: Hold, load: [f64; 3]) -> Node {
    Node { at: Vector(at), hold, load: Vector(load) }
}

fn net(nodes: Vec<Node>, through: Vec<usize>, stiffness: f64, weight: f64, length: f64) -> Net {
    Net { nodes, legs: Vec::new(), lines: vec![Line { stiffness, weight, through, length }], runs: Vec::new() }
}

fn hangs(span: f64, length: f64, stiffness: f64, weight: f64) -> Rest {
    let nodes = vec![node([0.0; 3], Hold::Fixed, [0.0; 3]), node([span, 0.0, 0.0], Hold::Fixed, [0.0; 3])];
    solve(&net(nodes, vec![0, 1], stiffness, weight, length)).expect("a rope between two points hangs")
}

#[test]
fn an_inextensible_rope_hangs_as_a_catenary() {
    // L = 2 c sinh(a / 2c), sag = c (cosh(a / 2c) − 1), T = w (c + sag).
    for depth in [0.05, 0.4, 1.0, 2.5] {
        let (span, weight) = (80.0, 5.0);
        let c = span / (2.0 * depth);
        let rest = hangs(span, 2.0 * c * f64::sinh(depth), 1e13, weight);
        let sag = c * (f64::cosh(depth) - 1.0);
        let strand = &rest.strands[0][0];
        assert!((strand.lowest + sag).abs() < 1e-6 * sag, "{depth}: {} {sag}", strand.lowest);
        let tension = weight * (c + sag);
        assert!((strand.tension / tension - 1.0).abs() < 1e-6, "{depth}: {} {tension}", strand.tension);
    }
}

/// A line over a point that slides along it, with a load there, and one over a point that stays.
fn loaded(random: &mut Random) -> Net {
    let span = random.between(10.0, 60.0);
    // Level enough for the loaded point to find a place between the ends.
    let high = random.between(-0.02, 0.02) * span;
    let middle = [0.4 * span, random.between(-0.5, 0.5), -1.0];
    let load = [0.0, random.between(-20.0, 20.0), -random.between(400.0, 2500.0)];
    let nodes = vec![
        node([0.0; 3], Hold::Fixed, [0.0; 3]),
        node(middle, Hold::Free, load),
        node([span, 0.0, high], Hold::Fixed, [0.0; 3]),
        node([1.6 * span, 3.0, high], Hold::Fixed, [0.0; 3]),
    ];
    let length = 1.65 * span * random.between(1.0, 1.06);
    net(nodes, vec![0, 1, 2, 3], random.between(2e4, 5e5), random.between(0.4, 9.0), length)
}

#[test]
fn forces_balance_and_the_rope_has_one_tension_on_both_sides_of_a_point() {
    let mut random = Random(11);
    for case in 0..300 {
        let net = loaded(&mut random);
        let rest = solve(&net).unwrap_or_else(|unrest| panic!("{case}: {unrest}"));
        let load = net.nodes[1].load;
        let sum = net.pulls_on(1, &rest) + load;
        assert!(sum.norm() < 1e-7 * (load.norm() + rest.lines[0]), "{case}: {sum:?}");
        for pair in rest.strands[0].windows(2) {
            let [before, after] = [pair[0].pulls[1].norm(), pair[1].pulls[0].norm()];
            assert!((before - after).abs() < 1e-7 * before, "{case}: {before} {after}");
        }
        let length: f64 = rest.strands[0].iter().map(|strand| strand.length).sum();
        assert!((length / net.lines[0].length - 1.0).abs() < 1e-12, "{case}: {length}");
        let weight: f64 = rest.strands[0].iter().map(|strand| strand.pulls[0].0[2] + strand.pulls[1].0[2]).sum();
        assert!((weight + net.lines[0].weight * length).abs() < 1e-9 * rest.lines[0], "{case}: {weight}");
    }
}

#[test]
fn a_mirrored_line_hangs_mirrored() {
    let mut random = Random(5);
    for case in 0..50 {
        let net = loaded(&mut random);
        let mut mirrored = net.clone();
        for node in &mut mirrored.nodes {
            node.at.0[0] = -node.at.0[0];
            node.load.0[0] = -node.load.0[0];
        }
        mirrored.lines[0].through.reverse();
        let (one, other) = (solve(&net).expect("at rest"), solve(&mirrored).expect("at rest"));
        assert!((one.lines[0] / other.lines[0] - 1.0).abs() < 1e-8, "{case}");
        assert!((one.at[1].0[0] + other.at[1].0[0]).abs() < 1e-6, "{case}");
        assert!((one.at[1].0[2] - other.at[1].0[2]).abs() < 1e-6, "{case}");
    }
}

#[test]
fn a_rope_without_weight_is_the_limit_of_a_light_one() {
    let mut random = Random(3);
    for case in 0..50 {
        let mut net = loaded(&mut random);
        net.lines[0].length *= 0.95;
        net.lines[0].weight = 1e-3;
        let light = solve(&net).expect("at rest");
        net.lines[0].weight = 0.0;
        let weightless = solve(&net).expect("at rest");
        let [light, weightless] = [light.lines[0], weightless.lines[0]];
        assert!((light / weightless - 1.0).abs() < 1e-4, "{case}: {light} {weightless}");
    }
}

#[test]
fn many_small_weights_on_a_rope_come_near_its_own() {
    let (span, length, stiffness, weight) = (40.0, 40.5, 3e4, 6.0);
    let exact = hangs(span, length, stiffness, weight).lines[0];
    let error = |parts: usize| {
        let share = 1.0 / parts as f64;
        let at = |index: usize| [span * share * index as f64, 0.0, 0.0];
        let load = |index: usize| {
            if index == 0 || index == parts { [0.0; 3] } else { [0.0, 0.0, -weight * length * share] }
        };
        let hold = |index: usize| if index == 0 || index == parts { Hold::Fixed } else { Hold::Free };
        let nodes = (0..=parts).map(|index| node(at(index), hold(index), load(index))).collect();
        let line =
            |index: usize| Line { stiffness, weight: 0.0, through: vec![index, index + 1], length: length * share };
        let lumped = Net { nodes, legs: Vec::new(), lines: (0..parts).map(line).collect(), runs: Vec::new() };
        let end = solve(&lumped).expect("at rest").lines[0];
        // The half weight next to the anchor hangs on it and not on the rope.
        (end - exact).abs() / exact
    };
    let [coarse, fine] = [error(20), error(160)];
    assert!(fine < coarse / 4.0 && fine < 2e-3, "{coarse} {fine}");
}
