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

#[test]
fn probe() {
    let mut all = vec![];
    for seed in 0..100 {
        let fall = rigs::random(seed);
        let h = fall::default_step(&fall);
        let g: Vec<f64> = [1.0, 2.0, 4.0].iter().map(|d| growth(&fall, h / d)).collect();
        all.push((g, seed, h));
    }
    all.sort_by(|a, b| a.0[0].total_cmp(&b.0[0]));
    for (g, seed, h) in all {
        println!("{seed} {h:.5} {g:?}");
    }
    for fall in [
        rigs::lead(4),
        rigs::swinging_draws(3),
        rigs::straight_drop(rigs::ordinary(), 80.0, 2.6, 2.6 * 2.0),
        rigs::straight_drop(rigs::elastic(2e4), 80.0, 2.6, 2.6),
    ] {
        let h = fall::default_step(&fall);
        let g: Vec<f64> = [1.0, 2.0, 4.0].iter().map(|d| growth(&fall, h / d)).collect();
        println!("named {h:.5} {g:?}");
    }
}
#[test]
fn probe2() {
    for seed in [42, 4, 90, 89, 14] {
        let fall = rigs::random(seed);
        let h = fall::default_step(&fall) / 2.0;
        println!(
            "== {seed} {:#?}",
            fall.nodes
                .iter()
                .map(|n| (n.at.0, n.kind))
                .collect::<Vec<_>>()
                .iter()
                .map(|x| format!("{x:?}"))
                .collect::<Vec<_>>()
        );
        for l in &fall.lines {
            println!("{l:?}");
        }
        let mut last = f64::INFINITY;
        let mut lines = vec![];
        fall::run(&fall, h, &mut |m: &Moment<'_, f64>| {
            let e = m.energy();
            if e > last + 1e-9 * last.abs() {
                let t: Vec<f64> = (0..fall.lines[0].lengths.len()).map(|s| m.tension(0, s)).collect();
                lines.push(format!(
                    "{:.4} {:.6} T {t:.0?} legs {:.0?} belayer {:.3?}",
                    m.time(),
                    e - last,
                    (0..fall.legs.len()).map(|l| m.leg_tension(l)).collect::<Vec<_>>(),
                    m.at(0).0
                ));
            }
            last = e;
        })
        .unwrap();
        println!("{} growths", lines.len());
        for l in lines.iter().step_by((lines.len() / 12).max(1)) {
            println!("{l}");
        }
    }
}
