//! Falls that run side by side give the same bits as falls that run alone.

mod common;

use common::four_clips;
use mechanics::fall::{Fall, Kind, Leg, Line, Node, run};
use mechanics::number::{Lanes, Number};
use mechanics::rope::Response;
use mechanics::vector::Vector;

const L: usize = 4;

/// Draws between the clips of the contract, so that legs run in lanes too.
fn with_draws() -> Fall<f64> {
    let mut fall = four_clips();
    for clip in 0..4 {
        let at = fall.nodes[clip].at.0;
        fall.nodes.push(Node { at: Vector([at[0], at[1], at[2] - 0.2]), kind: Kind::Free(0.1) });
        let joint = fall.nodes.len() - 1;
        fall.legs.push(Leg { ends: [clip, joint], stiffness: 6e5, length: 0.2 });
        fall.lines[0].through[clip + 1] = joint;
    }
    fall
}

/// One shape of fall with other numbers in each lane.
fn four_of_them() -> [Fall<f64>; L] {
    std::array::from_fn(|lane| {
        let mut fall = with_draws();
        let scale = lane as f64;
        fall.lines[0].friction.iter_mut().for_each(|friction| *friction = 0.1 + 0.08 * scale);
        fall.lines[0].brake = [3e3, f64::INFINITY, 1.1e3, 2e3][lane];
        fall.lines[0].lengths[4] += 0.3 * scale;
        fall.nodes[4].kind = Kind::Free(60.0 + 15.0 * scale);
        fall.nodes[5].kind = Kind::Stands(95.0 - 15.0 * scale);
        fall
    })
}

fn side_by_side(falls: &[Fall<f64>; L]) -> Fall<Lanes<L>> {
    let lanes = |of: &dyn Fn(&Fall<f64>) -> f64| Lanes(std::array::from_fn(|lane| of(&falls[lane])));
    let first = &falls[0];
    let nodes = (0..first.nodes.len()).map(|node| Node {
        at: Vector(std::array::from_fn(|axis| lanes(&|fall| fall.nodes[node].at.0[axis]))),
        kind: match first.nodes[node].kind {
            Kind::Fixed => Kind::Fixed,
            Kind::Free(_) => Kind::Free(lanes(&|fall| mass(fall, node))),
            Kind::Stands(_) => Kind::Stands(lanes(&|fall| mass(fall, node))),
        },
    });
    let legs = (0..first.legs.len()).map(|leg| Leg {
        ends: first.legs[leg].ends,
        stiffness: lanes(&|fall| fall.legs[leg].stiffness),
        length: lanes(&|fall| fall.legs[leg].length),
    });
    let lines = (0..first.lines.len()).map(|line| {
        let segments = first.lines[line].lengths.len();
        Line {
            response: Response {
                slow: lanes(&|fall| fall.lines[line].response.slow),
                fast: lanes(&|fall| fall.lines[line].response.fast),
                relax: lanes(&|fall| fall.lines[line].response.relax),
            },
            through: first.lines[line].through.clone(),
            lengths: (0..segments).map(|segment| lanes(&|fall| fall.lines[line].lengths[segment])).collect(),
            friction: (0..=segments).map(|point| lanes(&|fall| fall.lines[line].friction[point])).collect(),
            brake: lanes(&|fall| fall.lines[line].brake),
        }
    });
    Fall { nodes: nodes.collect(), legs: legs.collect(), lines: lines.collect(), until: first.until, ..Fall::default() }
}

fn mass(fall: &Fall<f64>, node: usize) -> f64 {
    match fall.nodes[node].kind {
        Kind::Free(mass) | Kind::Stands(mass) => mass,
        Kind::Fixed => 0.0,
    }
}

#[test]
fn four_lanes_give_the_same_bits_as_four_runs() {
    let falls = four_of_them();
    let together = run(&side_by_side(&falls), 4e-4, &mut ()).expect("four falls");
    for (lane, fall) in falls.iter().enumerate() {
        let alone = run(fall, 4e-4, &mut ()).expect("a fall");
        for (line, segments) in alone.segments.iter().enumerate() {
            for (segment, peak) in segments.iter().enumerate() {
                assert_eq!(together.segments[line][segment].0[lane].to_bits(), peak.to_bits(), "lane {lane}");
            }
        }
        for (node, peak) in alone.nodes.iter().enumerate() {
            let other = together.nodes[node];
            assert_eq!(other.all.0[lane].to_bits(), peak.all.to_bits());
            assert_eq!(other.lowest.0[lane].to_bits(), peak.lowest.to_bits());
            assert_eq!(other.stopped_at.0[lane].to_bits(), peak.stopped_at.to_bits());
        }
        for (leg, peak) in alone.legs.iter().enumerate() {
            assert_eq!(together.legs[leg].0[lane].to_bits(), peak.to_bits());
        }
    }
    let peaks = together.segments[0][4].0;
    assert!(peaks.windows(2).all(|pair| pair[0] != pair[1]), "four falls, not one four times: {peaks:?}");
    assert!(!Lanes([1.0, f64::NAN, 1.0, 1.0]).is_finite());
}
