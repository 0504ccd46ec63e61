//! What gives way in a fall: absorbers that tear, pieces that pull out, and steady forces beside weight.

mod common;

use common::{DYNAMIC, ELASTIC, line, node};
use mechanics::GRAVITY;
use mechanics::fall::{Fall, Kind, Leg, Moment, Peaks, Piece, Steady, Tear, run};
use mechanics::vector::Vector;

const STEP: f64 = 1e-4;
const DOWN: Vector<f64> = Vector([0.0, 0.0, -1.0]);

/// A mass 2 m above its anchor on 2 m of sling, which tears at `at` by at most `most`.
fn absorber(mass: f64, at: f64, most: f64) -> Fall<f64> {
    Fall {
        nodes: vec![node([0.0; 3], Kind::Fixed), node([0.0, 0.0, 2.0], Kind::Free(mass))],
        legs: vec![Leg { ends: [0, 1], stiffness: 2e5, length: 2.0 }],
        lines: Vec::new(),
        tears: vec![Tear { leg: 0, at, most }],
        pieces: Vec::new(),
        steady: Vec::new(),
        until: 1.8,
    }
}

fn peaks(fall: &Fall<f64>, step: f64) -> Peaks<f64> {
    run(fall, step, &mut ()).expect("the fall runs")
}

#[test]
fn an_absorber_tears_as_far_as_the_energy_of_the_fall_asks() {
    // m g (h + x + e) = F x + F e / 2 with e = F / k what the sling is stretched by when it tears.
    for (mass, force) in [(100.0, 4500.0), (60.0, 3000.0), (120.0, 5200.0)] {
        let fall = absorber(mass, force, 3.0);
        let found = peaks(&fall, STEP);
        let weight = mass * GRAVITY;
        let stretch = force / fall.legs[0].stiffness;
        let expected = (weight * (4.0 + stretch) - 0.5 * force * stretch) / (force - weight);
        assert!((found.legs[0] - force).abs() < 1e-9 * force, "never above its force: {}", found.legs[0]);
        assert!((found.torn[0] / expected - 1.0).abs() < 0.02, "{mass}: {} {expected}", found.torn[0]);
    }
}

#[test]
fn an_absorber_is_stiff_again_when_all_of_it_is_torn() {
    let spent = peaks(&absorber(100.0, 4500.0, 0.3), STEP);
    assert_eq!(spent.torn[0], 0.3);
    let stiff = peaks(&absorber(100.0, 1e9, 0.3), STEP);
    assert!(spent.legs[0] > 2.0 * 4500.0 && spent.legs[0] < stiff.legs[0], "{} {}", spent.legs[0], stiff.legs[0]);
}

#[test]
fn tearing_converges_with_the_step() {
    let fall = absorber(100.0, 4500.0, 3.0);
    let torn = |step: f64| peaks(&fall, step).torn[0];
    let exact = torn(STEP / 16.0);
    let [coarse, fine] = [torn(8.0 * STEP), torn(STEP)].map(|torn| (torn - exact).abs());
    assert!(fine < coarse / 3.0, "{coarse} {fine}");
}

#[test]
fn what_tears_takes_energy_and_gives_none_back() {
    let fall = absorber(100.0, 4500.0, 3.0);
    let mut before = f64::INFINITY;
    let mut start = None;
    let mut see = |moment: &Moment<'_, f64>| {
        let energy = moment.energy();
        let scale = *start.get_or_insert(energy.abs() + 100.0 * GRAVITY * 4.0);
        assert!(energy < before + 2e-3 * scale, "{} s: {energy} {before}", moment.time());
        before = before.min(energy);
    };
    run(&fall, STEP, &mut see).expect("the fall runs");
    let lost = 100.0 * GRAVITY * 2.0 - before;
    assert!(lost > 0.9 * 4500.0 * peaks(&fall, STEP).torn[0], "{lost}");
}

/// A leader 2 m above the last of three pieces, the belayer fixed; each piece holds `holds` downward.
fn zipper(holds: [f64; 3]) -> Fall<f64> {
    let nodes = vec![
        node([0.5, 0.0, 0.0], Kind::Fixed),
        node([0.0, 0.0, 3.0], Kind::Fixed),
        node([0.2, 0.0, 6.0], Kind::Fixed),
        node([0.0, 0.0, 9.0], Kind::Fixed),
        node([0.3, 0.0, 11.0], Kind::Free(80.0)),
    ];
    let rope = line(&nodes, &[0, 1, 2, 3, 4], DYNAMIC, 0.3, 0.2);
    let piece = |(index, holds): (usize, f64)| Piece {
        node: index + 1,
        mass: 0.1,
        direction: DOWN,
        holds: vec![(0.7, holds), (-0.7, 0.8 * holds), (-1.0, 0.3 * holds)],
    };
    Fall {
        nodes,
        lines: vec![rope],
        pieces: holds.into_iter().enumerate().map(piece).collect(),
        until: 3.0,
        ..Fall::default()
    }
}

#[test]
fn a_piece_that_holds_is_as_good_as_a_fixed_point() {
    let held = zipper([1e6; 3]);
    let fixed = Fall { pieces: Vec::new(), ..held.clone() };
    let (held, fixed) = (peaks(&held, STEP), peaks(&fixed, STEP));
    assert_eq!(held.segments, fixed.segments);
    assert!(held.out_at.iter().all(|time| time.is_infinite()));
}

#[test]
fn pieces_pull_out_one_after_the_other_until_one_holds() {
    let found = peaks(&zipper([40e3, 3e3, 3e3]), STEP);
    assert!(found.out_at[2] < found.out_at[1] && found.out_at[1].is_finite(), "{:?}", found.out_at);
    assert!(found.out_at[0].is_infinite(), "{:?}", found.out_at);
    let held = peaks(&zipper([40e3; 3]), STEP);
    assert!(found.nodes[4].lowest < held.nodes[4].lowest - 6.0, "falls past the pieces that went");
    // What a piece saw before it went is what it held, give or take what one step adds.
    for place in [2, 3] {
        assert!(found.nodes[place].all > 0.8 * 3e3, "{}", found.nodes[place].all);
    }
}

#[test]
fn when_all_pieces_go_the_rope_to_the_belay_holds() {
    let found = peaks(&zipper([2e3; 3]), STEP);
    assert!(found.out_at.iter().all(|time| time.is_finite()), "{:?}", found.out_at);
    let rope: f64 = zipper([2e3; 3]).lines[0].lengths.iter().sum();
    let lowest = found.nodes[4].lowest;
    assert!(lowest < -rope && lowest > -1.6 * rope, "{lowest} {rope}");
}

#[test]
fn a_mirrored_zipper_falls_mirrored() {
    let fall = zipper([40e3, 3e3, 3e3]);
    let mut mirrored = fall.clone();
    mirrored.nodes.iter_mut().for_each(|node| node.at.0[0] = -node.at.0[0]);
    let (one, other) = (peaks(&fall, STEP), peaks(&mirrored, STEP));
    assert_eq!(one.segments, other.segments);
    assert_eq!(one.out_at, other.out_at);
}

#[test]
fn a_steady_force_pulls_as_a_weight_does() {
    let hanging = |steady: f64, mass: f64| {
        let nodes = vec![node([0.0; 3], Kind::Fixed), node([0.0, 0.0, -5.0], Kind::Free(mass))];
        let rope = line(&nodes, &[0, 1], ELASTIC, 0.0, 0.0);
        let steady = vec![Steady { node: 1, force: DOWN * steady }];
        let (legs, tears, pieces) = (Vec::new(), Vec::new(), Vec::new());
        peaks(&Fall { nodes, legs, lines: vec![rope], tears, pieces, steady, until: 2.0 }, STEP).segments[0][0]
    };
    // Let go on a just-taut rope: twice the load, whatever the mass.
    for mass in [40.0, 80.0] {
        let load = 500.0 + mass * GRAVITY;
        let found = hanging(500.0, mass);
        assert!((found / (2.0 * load) - 1.0).abs() < 1e-3, "{found}");
    }
}
