//! Order of accuracy, and that numbers follow when a rig is mirrored, turned, told backwards or made heavier.

use crate::rigs;
use mechanics::fall::{self, Fall, Kind, Moment, Peaks};
use mechanics::vector::Vector;

/// The height of a point after the whole run.
fn last_height(fall: &Fall<f64>, node: usize, step: f64) -> f64 {
    let mut height = f64::NAN;
    fall::run(fall, step, &mut |moment: &Moment<'_, f64>| height = moment.at(node).0[2]).expect("a run");
    height
}

/// Error at `step` divided by the error at half of it, both against a run at a 64th.
fn gain_of_halving(measure: impl Fn(f64) -> f64, step: f64) -> f64 {
    let exact = measure(step / 64.0);
    let [whole, half] = [step, step / 2.0].map(|step| (measure(step) - exact).abs());
    assert!(whole > 1e-12, "no error to halve: {whole}");
    whole / half
}

/// A mass that swings on a taut viscous rope, with nothing that happens suddenly.
fn pendulum() -> Fall<f64> {
    let mut fall = rigs::empty(1.0);
    let anchor = rigs::point(&mut fall, Kind::Fixed, [0.0, 0.0, 0.0]);
    let mass = rigs::point(&mut fall, Kind::Free(80.0), [4.0, 0.0, -3.0]);
    rigs::line(&mut fall, rigs::ordinary(), &[anchor, mass], 0.0, 0.0);
    fall.lines[0].lengths[0] = 4.5;
    fall
}

#[test]
fn halving_the_step_quarters_the_error_of_a_swing() {
    let gain = gain_of_halving(|step| last_height(&pendulum(), 1, step), 4e-3);
    assert!((3.8..4.2).contains(&gain), "{gain}");
}

#[test]
fn halving_the_step_quarters_the_error_on_a_sling() {
    let mut fall = rigs::empty(0.5);
    let anchor = rigs::point(&mut fall, Kind::Fixed, [0.0, 0.0, 0.0]);
    let mass = rigs::point(&mut fall, Kind::Free(80.0), [0.8, 0.0, -0.6]);
    rigs::leg(&mut fall, [anchor, mass], 400e3, 0.9988);
    let gain = gain_of_halving(|step| last_height(&fall, mass, step), 1e-3);
    assert!((3.7..4.3).contains(&gain), "{gain}");
}

#[test]
fn halving_the_step_quarters_the_error_where_rope_runs_over_an_edge() {
    let mut fall = rigs::empty(0.4);
    let anchor = rigs::point(&mut fall, Kind::Fixed, [0.0, 0.0, 0.0]);
    let edge = rigs::point(&mut fall, Kind::Fixed, [1.0, 0.0, 3.0]);
    let mass = rigs::point(&mut fall, Kind::Free(80.0), [2.0, 0.0, 0.0]);
    rigs::line(&mut fall, rigs::ordinary(), &[anchor, edge, mass], 0.25, 0.0);
    let gain = gain_of_halving(|step| last_height(&fall, mass, step), 4e-3);
    assert!((3.5..4.5).contains(&gain), "{gain}");
}

/// With events (taut, slack, stick, slip, brake, lift) the order is at least the first: the error stays below a line
/// through zero. (Not below halves of the error before: where within a step an event falls is luck.)
#[test]
fn the_error_of_a_whole_fall_goes_to_zero_at_least_in_step_with_the_step() {
    let fall = rigs::lead(4);
    let peak = |step: f64| fall::run(&fall, step, &mut ()).expect("a run").segments[0][4];
    let exact = peak(2e-3 / 128.0);
    for step in [2e-3, 1e-3, 5e-4, 2.5e-4] {
        let error = (peak(step) / exact - 1.0).abs();
        assert!(error < 0.1 * step, "{error} at {step} s");
    }
}

#[test]
fn the_elastic_peak_of_factor_two_is_the_closed_one() {
    // F = m g + √((m g)² + 2 m g h k): the standard equation for impact force.
    let (mass, slow, length) = (80.0, 20e3, 2.6);
    let fall = rigs::straight_drop(rigs::elastic(slow), mass, length, 2.0 * length);
    let peak = fall::run(&fall, 1e-3, &mut ()).expect("a run").segments[0][0];
    let weight: f64 = mass * mechanics::GRAVITY;
    let expected = weight + (weight * weight + 2.0 * weight * 2.0 * length * slow / length).sqrt();
    assert!((peak / expected - 1.0).abs() < 2e-4, "{peak} {expected}");
}

/// The fall with every place and vector changed by a linear map.
fn moved(fall: &Fall<f64>, map: impl Fn(Vector<f64>) -> Vector<f64>) -> Fall<f64> {
    let mut moved = fall.clone();
    moved.nodes.iter_mut().for_each(|node| node.at = map(node.at));
    moved
}

/// The largest relative difference between the tensions and heights of two runs.
fn difference(left: &Peaks<f64>, right: &Peaks<f64>) -> f64 {
    let numbers = |peaks: &Peaks<f64>| -> Vec<f64> {
        let nodes = peaks.nodes.iter().flat_map(|node| [node.all, node.ropes, node.lowest, node.highest]);
        nodes.chain(peaks.legs.iter().copied()).chain(peaks.segments.iter().flatten().copied()).collect()
    };
    let relative = |(a, b): (f64, f64)| (a - b).abs() / a.abs().max(b.abs()).max(1.0);
    numbers(left).into_iter().zip(numbers(right)).map(relative).fold(0.0, f64::max)
}

fn run(fall: &Fall<f64>) -> Peaks<f64> {
    fall::run(fall, fall::default_step(fall), &mut ()).expect("a run")
}

/// Ordinary falls in space: those by name lie in a plane.
fn falls() -> Vec<Fall<f64>> {
    let shear = |at: Vector<f64>| Vector([at.0[0], at.0[1] + 0.1 * at.0[2] + 0.3 * at.0[0], at.0[2]]);
    vec![moved(&rigs::lead(4), shear), rigs::swinging_draws(3)]
}

#[test]
fn mirrored_falls_are_mirrored_bit_for_bit() {
    for fall in falls() {
        let mirrored = run(&moved(&fall, |at| Vector([-at.0[0], at.0[1], at.0[2]])));
        let mut expected = run(&fall);
        for node in &mut expected.nodes {
            node.all_vector.0[0] = -node.all_vector.0[0];
            node.ropes_vector.0[0] = -node.ropes_vector.0[0];
        }
        assert_eq!(mirrored, expected);
    }
}

/// Rounding differs when a rig is turned; what snaps taut magnifies it, hence a millionth and no less.
#[test]
fn turned_falls_are_turned() {
    let (sine, cosine) = 1.1_f64.sin_cos();
    let turn =
        |at: Vector<f64>| Vector([cosine * at.0[0] - sine * at.0[1], sine * at.0[0] + cosine * at.0[1], at.0[2]]);
    for fall in falls() {
        let (turned, straight) = (run(&moved(&fall, turn)), run(&fall));
        let apart = difference(&turned, &straight);
        assert!(apart < 1e-6, "{apart}");
        for (turned, straight) in turned.nodes.iter().zip(&straight.nodes) {
            let apart = (turned.all_vector - turn(straight.all_vector)).norm();
            assert!(apart <= 1e-6 * straight.all.max(1.0), "{apart} of {}", straight.all);
        }
    }
}

#[test]
fn shifted_falls_are_shifted() {
    for fall in falls() {
        let mut shifted = run(&moved(&fall, |at| at + Vector([16.0, -8.0, 0.0])));
        let straight = run(&fall);
        shifted.nodes.iter_mut().for_each(|node| node.stopped_at = f64::INFINITY);
        let apart = difference(&shifted, &straight);
        assert!(apart < 1e-6, "{apart}");
    }
}

/// The rope may be told from either end, unless a brake sits at the first name.
#[test]
fn a_rope_told_backwards_is_the_same_rope() {
    for mut fall in falls() {
        fall.lines[0].brake = f64::INFINITY;
        let mut backwards = fall.clone();
        backwards.lines[0].through.reverse();
        backwards.lines[0].lengths.reverse();
        backwards.lines[0].friction.reverse();
        let mut told = run(&backwards);
        told.segments[0].reverse();
        let apart = difference(&told, &run(&fall));
        assert!(apart < 1e-6, "{apart}");
    }
}

/// Twice all masses, moduli and brakes: twice all forces, bit for bit, since 2 is a power of two.
#[test]
fn twice_the_mass_and_stiffness_is_twice_the_force() {
    for fall in falls() {
        let mut heavy = fall.clone();
        for node in &mut heavy.nodes {
            node.kind = match node.kind {
                Kind::Fixed => Kind::Fixed,
                Kind::Free(mass) => Kind::Free(2.0 * mass),
                Kind::Stands(mass) => Kind::Stands(2.0 * mass),
            };
        }
        heavy.legs.iter_mut().for_each(|leg| leg.stiffness *= 2.0);
        for line in &mut heavy.lines {
            (line.response.slow, line.response.fast, line.brake) =
                (2.0 * line.response.slow, 2.0 * line.response.fast, 2.0 * line.brake);
        }
        let (heavy, light) = (run(&heavy), run(&fall));
        for (heavy, light) in heavy.segments[0].iter().zip(&light.segments[0]) {
            assert_eq!(*heavy, 2.0 * light);
        }
        for (heavy, light) in heavy.nodes.iter().zip(&light.nodes) {
            assert_eq!((heavy.all, heavy.lowest, heavy.highest), (2.0 * light.all, light.lowest, light.highest));
        }
    }
}
