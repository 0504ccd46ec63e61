//! Ropes on the move against closed forms: the capstan law, tackles, inclined turns, stretch and weight.

use mechanics::fall::Leg;
use mechanics::rest::{Hold, Net, Node, Unrest};
use mechanics::running::{Rope, Running, Turn, Unsteady, Way, solve};
use mechanics::vector::Vector;
use std::f64::consts::PI;

const LOAD: f64 = 1000.0;

fn node(at: [f64; 3], hold: Hold, down: f64) -> Node {
    Node { at: Vector(at), hold, load: Vector([0.0, 0.0, -down]) }
}

fn fixed(x: f64, z: f64) -> Node {
    node([x, 0.0, z], Hold::Fixed, 0.0)
}

fn rope(net: &Net, through: &[usize], friction: &[f64], way: Way) -> Rope {
    let length = through.windows(2).map(|pair| (net.nodes[pair[1]].at - net.nodes[pair[0]].at).norm()).sum();
    let turns = friction.iter().map(|&friction| Turn { friction, factor: 1.0 }).collect();
    Rope { stiffness: 30e3, through: through.to_vec(), turns, length, weight: 0.0, way, pull: None }
}

/// Friction coefficient of a pulley by what it passes on over half a turn.
fn sheave(efficiency: f64) -> f64 {
    -efficiency.ln() / PI
}

fn close(got: f64, asked: f64, share: f64) {
    assert!((got - asked).abs() <= share * asked.abs(), "{got} is not {asked}");
}

/// Hands at (0.2, 0), a pulley far above, a load that hangs on the other side.
fn one_turn(friction: f64, way: Way) -> Running {
    let nodes = vec![fixed(0.0, -1e4), fixed(0.0, 0.0), node([0.0, 0.0, -1e4], Hold::Free, LOAD)];
    let net = Net { nodes, ..Net::default() };
    let rope = rope(&net, &[0, 1, 2], &[0.0, friction, 0.0], way);
    solve(&net, &[rope]).expect("steady")
}

#[test]
fn over_one_turn_the_side_it_runs_to_has_the_capstan_ratio_more() {
    for friction in [0.0, 0.1, 0.25, 0.6] {
        close(one_turn(friction, Way::In).pulls[0], LOAD * (PI * friction).exp(), 1e-9);
        close(one_turn(friction, Way::Out).pulls[0], LOAD / (PI * friction).exp(), 1e-9);
    }
}

#[test]
fn half_a_turn_of_a_device_counts_whatever_the_angle() {
    let nodes = vec![fixed(5.0, 0.0), fixed(0.0, 0.0), node([0.0, 0.0, -9.0], Hold::Free, LOAD)];
    let net = Net { nodes, ..Net::default() };
    let mut rope = rope(&net, &[0, 1, 2], &[0.0, 0.2, 0.0], Way::Out);
    rope.turns[1].factor = 7.0;
    let running = solve(&net, &[rope]).expect("steady");
    close(running.pulls[0], LOAD / (7.0 * (0.2 * PI / 2.0).exp()), 1e-9);
}

/// A Z rig drawn tall and narrow, so that its strands are parallel to a millionth: 1 + e₂ + e₁ e₂.
#[test]
fn a_z_rig_has_the_advantage_of_its_tension_count() {
    let tall = 1e4;
    for (anchor_pulley, hand_pulley) in [(0.9, 0.5), (0.5, 0.9), (0.75, 0.75), (1.0, 1.0)] {
        let nodes = vec![
            fixed(0.0, 0.0),
            node([0.0, 0.0, -tall], Hold::Free, 0.0),
            fixed(0.0, 0.0),
            node([0.0, 0.0, -tall - 5.0], Hold::Free, LOAD),
        ];
        let net = Net { nodes, legs: vec![Leg { ends: [1, 3], stiffness: 1e5, length: 5.0 }], ..Net::default() };
        let frictions = [0.0, sheave(hand_pulley), sheave(anchor_pulley), 0.0];
        let running = solve(&net, &[rope(&net, &[2, 1, 0, 1], &frictions, Way::In)]).expect("steady");
        close(LOAD / running.pulls[0], 1.0 + hand_pulley + anchor_pulley * hand_pulley, 1e-8);
    }
}

/// A pulley that hangs in a rope between two anchors is pulled along until both sides carry their part: forces balance
/// on it with the capstan ratio of the very turn that it ends with.
#[test]
fn turns_and_forces_agree_at_a_pulley_that_finds_its_own_place() {
    let nodes = vec![fixed(0.0, 0.0), node([1.4, 0.0, -1.0], Hold::Free, LOAD), fixed(3.0, 0.5)];
    let net = Net { nodes, ..Net::default() };
    for way in [Way::In, Way::Out] {
        let running = solve(&net, &[rope(&net, &[0, 1, 2], &[0.0, 0.3, 0.0], way)]).expect("steady");
        let at = &running.rest.at;
        let (before, after) = (at[1] - at[0], at[2] - at[1]);
        let angle = before.angle_to(after);
        let ratio = running.tensions[0][1] / running.tensions[0][0];
        let asked = if way == Way::In { (-0.3 * angle).exp() } else { (0.3 * angle).exp() };
        close(ratio, asked, 1e-8);
        close(running.resultants[1].0[2], LOAD, 1e-8);
        assert!(running.resultants[1].0[0].abs() < 1e-6 * LOAD);
    }
}

#[test]
fn every_segment_stretches_by_its_own_tension() {
    let running = one_turn(0.3, Way::In);
    let at = &running.rest.at;
    let unstretched: f64 = [(0, 1), (1, 2)]
        .iter()
        .zip(&running.tensions[0])
        .map(|(&(a, b), tension)| (at[b] - at[a]).norm() / (1.0 + tension / 30e3))
        .sum();
    close(unstretched, 2e4, 1e-9);
}

/// A rope of 0.7 N/m over a turn: 40 m hang on one side, 10 m on the hand's.
#[test]
fn the_weight_of_the_rope_is_carried_and_multiplied_by_friction() {
    let nodes = vec![fixed(0.0, -10.0), fixed(0.0, 0.0), fixed(0.0, -40.0)];
    let net = Net { nodes, ..Net::default() };
    let mut rope = rope(&net, &[0, 1, 2], &[0.0, 0.2, 0.0], Way::Out);
    (rope.weight, rope.pull) = (0.7, Some(5.0));
    let running = solve(&net, &[rope]).expect("steady");
    let beyond = (5.0 + 7.0) * (0.2 * PI).exp();
    close(running.tensions[0][0], 5.0 + 3.5, 1e-12);
    close(running.tensions[0][1], beyond - 14.0, 1e-12);
    // The support takes both sides as they come to it.
    close(-running.resultants[1].0[2], 12.0 + beyond, 1e-12);
}

#[test]
fn a_given_pull_on_a_load_that_is_held_brings_what_the_rope_makes_of_it() {
    let nodes = vec![fixed(0.3, -5.0), fixed(0.0, 0.0), fixed(0.0, -9.0)];
    let net = Net { nodes, ..Net::default() };
    let mut rope = rope(&net, &[0, 1, 2], &[0.0, 0.25, 0.0], Way::In);
    rope.pull = Some(400.0);
    let angle = PI - (0.3_f64 / 5.0).atan();
    let running = solve(&net, &[rope]).expect("steady");
    close(running.resultants[2].0[2], 400.0 / (0.25 * angle).exp(), 1e-12);
}

#[test]
fn a_load_that_the_given_pull_does_not_balance_is_refused() {
    let nodes = vec![fixed(0.0, -5.0), fixed(0.0, 0.0), node([0.0, 0.0, -9.0], Hold::Free, LOAD)];
    let net = Net { nodes, ..Net::default() };
    let mut rope = rope(&net, &[0, 1, 2], &[0.0, 0.25, 0.0], Way::In);
    rope.pull = Some(400.0);
    let fault = solve(&net, &[rope]).expect_err("it falls");
    assert_eq!(fault, Unsteady::Unrest(Unrest::NotBalanced { node: 2 }));
}

#[test]
fn running_back_and_forth_brackets_the_frictionless_pull() {
    let nodes = vec![fixed(2.0, -3.0), fixed(0.5, 0.0), fixed(-0.5, 0.2), node([-0.6, 0.0, -4.0], Hold::Free, LOAD)];
    let net = Net { nodes, ..Net::default() };
    let pull =
        |friction: f64, way| solve(&net, &[rope(&net, &[0, 1, 2, 3], &[friction; 4], way)]).expect("steady").pulls[0];
    assert!(pull(0.25, Way::Out) < pull(0.0, Way::In) && pull(0.0, Way::In) < pull(0.25, Way::In));
    close(pull(0.0, Way::Out), pull(0.0, Way::In), 1e-12);
}
