//! Rules of rest that hang on single persons and loads.

use mechanics::GRAVITY;
use mechanics::fall::Leg;
use mechanics::rest::{self, Hold, Line, Net, Node, Unrest};
use mechanics::vector::Vector;

const MASS: f64 = 70.0;

fn node(at: [f64; 3], hold: Hold, load: [f64; 3]) -> Node {
    Node { at: Vector(at), hold, load: Vector(load) }
}

/// A person who stands, tied by a rope over a free ring to a load on the other side of a fixed anchor.
fn belayed(load: f64) -> Net {
    Net {
        nodes: vec![
            node([0.0, 0.0, 0.0], Hold::Stands, [0.0, 0.0, -MASS * GRAVITY]),
            node([0.0, 0.0, 10.0], Hold::Fixed, [0.0; 3]),
            node([0.5, 0.0, 5.0], Hold::Free, [0.0, 0.0, -load]),
        ],
        legs: Vec::new(),
        lines: vec![Line { stiffness: 10e3, weight: 0.0, through: vec![0, 1, 2], length: 15.0 }],
        runs: Vec::new(),
    }
}

#[test]
fn who_stands_is_not_moved_by_less_than_their_weight() {
    let rest = rest::solve(&belayed(0.9 * MASS * GRAVITY)).expect("rest");
    assert_eq!(rest.at[0], Vector([0.0, 0.0, 0.0]));
    assert!((rest.lines[0] / (0.9 * MASS * GRAVITY) - 1.0).abs() < 1e-6, "{}", rest.lines[0]);
}

/// A free net hangs from the person who stands: with more than their weight it takes them off the floor.
#[test]
fn who_stands_is_lifted_by_more_than_their_weight() {
    let mut net = belayed(0.0);
    // A sling up to an anchor that is shorter than the way: it lifts until it carries the person's weight.
    net.lines.clear();
    net.legs.push(Leg { ends: [0, 1], stiffness: 50e3, length: 9.0 });
    net.nodes.truncate(2);
    let rest = rest::solve(&net).expect("rest");
    let weight = MASS * GRAVITY;
    assert!((rest.legs[0] / weight - 1.0).abs() < 1e-9, "{}", rest.legs[0]);
    let height = 10.0 - (9.0 + weight / 50e3);
    assert!((rest.at[0].0[2] - height).abs() < 1e-9, "{}", rest.at[0].0[2]);
}

#[test]
fn a_load_beyond_the_weight_of_who_stands_finds_no_balance() {
    assert!(matches!(rest::solve(&belayed(1.2 * MASS * GRAVITY)), Err(Unrest::NotBalanced { .. })));
}

/// Slings a million times stiffer than others share a load as their geometry says: three legs, one of them slack.
#[test]
fn stiffness_may_differ_a_millionfold() {
    let mut net = Net::default();
    net.nodes.push(node([-1.0, 0.0, 1.0], Hold::Fixed, [0.0; 3]));
    net.nodes.push(node([1.0, 0.0, 1.0], Hold::Fixed, [0.0; 3]));
    net.nodes.push(node([0.0, 0.0, 0.0], Hold::Free, [0.0; 3]));
    net.nodes.push(node([0.0, 0.0, -1.0], Hold::Free, [0.0, 0.0, -1e3]));
    let diagonal = 2.0_f64.sqrt();
    net.legs.push(Leg { ends: [0, 2], stiffness: 1e9, length: diagonal });
    net.legs.push(Leg { ends: [1, 2], stiffness: 1e9, length: diagonal });
    net.legs.push(Leg { ends: [0, 2], stiffness: 1e9, length: 2.0 });
    net.legs.push(Leg { ends: [2, 3], stiffness: 1e3, length: 1.0 });
    let rest = rest::solve(&net).expect("rest");
    assert!((rest.legs[0] * diagonal / 1e3 - 1.0).abs() < 1e-5, "{}", rest.legs[0]);
    assert!((rest.legs[1] / rest.legs[0] - 1.0).abs() < 1e-6);
    assert_eq!(rest.legs[2], 0.0);
    assert!((rest.legs[3] / 1e3 - 1.0).abs() < 1e-8);
    assert!((rest.at[3].0[2] + 2.0).abs() < 1e-5, "{}", rest.at[3].0[2]);
}
