//! Kinetic, potential and stored energy together never grow.

use crate::rigs;
use mechanics::GRAVITY;
use mechanics::fall::{self, Fall, Kind, Moment, Peaks};

/// The largest growth of energy from one moment to a later one, as a share of the energy that is in play: the weight
/// of everyone who moves, times how far they moved up and down.
fn growth(fall: &Fall<f64>, step: f64) -> f64 {
    let (mut least, mut most_growth) = (f64::INFINITY, 0.0_f64);
    let peaks = fall::run(fall, step, &mut |moment: &Moment<'_, f64>| {
        let energy = moment.energy();
        least = least.min(energy);
        most_growth = most_growth.max(energy - least);
    });
    most_growth / in_play(fall, &peaks.expect("a run"))
}

fn in_play(fall: &Fall<f64>, peaks: &Peaks<f64>) -> f64 {
    let weight = |kind: Kind<f64>| match kind {
        Kind::Fixed => 0.0,
        Kind::Free(mass) | Kind::Stands(mass) => mass * GRAVITY,
    };
    let travel =
        |(node, peak): (&fall::Node<f64>, &fall::NodePeak<f64>)| weight(node.kind) * (peak.highest - peak.lowest);
    fall.nodes.iter().zip(&peaks.nodes).map(travel).sum()
}

/// The growth over 40 random falls, at the default step and at a quarter of it.
fn growths(change: impl Fn(&mut Fall<f64>)) -> Vec<[f64; 2]> {
    let falls = (0..40).map(rigs::random).map(|mut fall| {
        change(&mut fall);
        fall
    });
    falls.map(|fall| [1.0, 0.25].map(|share| growth(&fall, fall::default_step(&fall) * share))).collect()
}

fn worst(growths: &[[f64; 2]]) -> [f64; 2] {
    [0, 1].map(|place| growths.iter().map(|growth| growth[place]).fold(0.0, f64::max))
}

/// An ordinary fall only loses energy, up to rounding: what friction and viscosity take is more than the steps err.
#[test]
fn energy_never_grows_in_an_ordinary_fall() {
    for fall in [rigs::lead(4), rigs::swinging_draws(3), rigs::straight_drop(rigs::ordinary(), 80.0, 2.6, 5.0)] {
        let growth = growth(&fall, fall::default_step(&fall));
        assert!(growth < 1e-11, "{growth}");
    }
}

/// Of an elastic rope alone nothing takes energy: it wavers by the error of the step, which falls with its square.
#[test]
fn energy_of_an_elastic_fall_wavers_by_the_square_of_the_step() {
    let fall = rigs::straight_drop(rigs::elastic(20e3), 80.0, 2.6, 2.6);
    let [whole, half] = [2e-3, 1e-3].map(|step| growth(&fall, step));
    assert!(whole < 1e-4 && (3.8..4.2).contains(&(whole / half)), "{whole} {half}");
}

/// In elastic falls with draws, friction, brakes, belayers nothing brings energy in: what grows is the error of the
/// steps, largest where a light joint rings as fast as the default step can follow, and it goes with the step.
#[test]
fn energy_comes_from_nowhere_in_random_elastic_falls() {
    let growths = growths(|fall| fall.lines.iter_mut().for_each(|line| line.response.fast = 0.0));
    let [default, quarter] = worst(&growths);
    assert!(default < 5e-3 && quarter < 1e-4, "{default} {quarter}");
}

/// With viscosity the same, but for one rule: rope that runs into a segment takes on the relaxing tension there. Where
/// that is larger than what it had, the rule adds a little energy, whatever the step: below a thousandth of what is in
/// play.
#[test]
fn energy_grows_by_no_more_than_running_rope_takes_on_in_random_falls() {
    let growths = growths(|_| ());
    let [default, quarter] = worst(&growths);
    assert!(default < 5e-3 && quarter < 1e-3, "{default} {quarter}");
}

/// Viscosity only takes: the more of it, the less is left of a drop's energy when the rope is at its longest.
#[test]
fn a_stretched_rope_that_relaxes_loses_energy() {
    let mut fall = rigs::straight_drop(rigs::ordinary(), 80.0, 2.6, 2.6);
    fall.until = 1.5;
    let (mut first, mut last) = (None, 0.0);
    fall::run(&fall, 2e-3, &mut |moment: &Moment<'_, f64>| {
        first.get_or_insert(moment.energy());
        last = moment.energy();
    })
    .expect("a run");
    let lost = first.expect("a moment") - last;
    assert!(lost > 0.3 * 80.0 * GRAVITY * 2.6, "{lost}");
}
