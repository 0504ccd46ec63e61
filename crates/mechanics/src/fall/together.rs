//! Falls of one shape that run side by side, each as it would alone.

use super::peaks::{NodePeak, Peaks};
use super::{Fall, Fault, Kind, Leg, Line, Moment, Node, Piece, Steady, Tear, Watch, lowest, run};
use crate::number::{Lanes, Number};
use crate::rope::Response;
use crate::vector::Vector;

/// How many falls run side by side at the most.
pub const MOST_LANES: usize = 4;

/// Something that is shown every moment of one fall among several.
pub trait WatchLane {
    /// Called once a step; `lane` is the fall's place among those that run side by side.
    fn see<N: Number>(&mut self, moment: &Moment<'_, N>, lane: usize);
}

/// Watches nothing.
impl WatchLane for () {
    fn see<N: Number>(&mut self, _: &Moment<'_, N>, _: usize) {}
}

/// Shows each lane to its own watcher.
struct Each<'w, W>(&'w mut [W]);

impl<N: Number, W: WatchLane> Watch<N> for Each<'_, W> {
    fn see(&mut self, moment: &Moment<'_, N>) {
        self.0.iter_mut().enumerate().for_each(|(lane, watch)| watch.see(moment, lane));
    }
}

/// Follows falls of one shape side by side in steps of at most `step` seconds, each shown to its own watcher: at least one
/// and at most [`MOST_LANES`].
///
/// # Errors
/// The [`Fault`] of one of them; which one is not told.
///
/// # Panics
/// Where their shapes differ ([`Fall::is_shaped_like`]), their number is none of those, or an index points at nothing.
pub fn run_together<W: WatchLane>(falls: &[Fall<f64>], step: f64, watch: &mut [W]) -> Result<Vec<Peaks<f64>>, Fault> {
    assert_alike(falls);
    assert!(falls.len() == watch.len(), "a watcher for each fall");
    let mut each = Each(watch);
    match falls {
        [fall] => Ok(vec![run(fall, step, &mut each)?]),
        [_, _] => Ok(run(&side_by_side::<2>(falls), step, &mut each)?.apart(2)),
        _ => Ok(run(&side_by_side::<MOST_LANES>(falls), step, &mut each)?.apart(falls.len())),
    }
}

/// Follows falls of one shape side by side as [`run_together`] does, and only for how low each point comes, in m: by fall.
///
/// # Errors
/// As [`run_together`].
///
/// # Panics
/// As [`run_together`].
pub fn lowest_together(falls: &[Fall<f64>], step: f64) -> Result<Vec<Vec<f64>>, Fault> {
    fn apart<N: Number>(lowest: &[N], count: usize) -> Vec<Vec<f64>> {
        (0..count).map(|lane| lowest.iter().map(|height| height.lane(lane)).collect()).collect()
    }
    assert_alike(falls);
    match falls {
        [fall] => Ok(vec![lowest(fall, step)?]),
        [_, _] => Ok(apart(&lowest(&side_by_side::<2>(falls), step)?, 2)),
        _ => Ok(apart(&lowest(&side_by_side::<MOST_LANES>(falls), step)?, falls.len())),
    }
}

fn assert_alike(falls: &[Fall<f64>]) {
    assert!((1..=MOST_LANES).contains(&falls.len()), "{} falls side by side", falls.len());
    assert!(falls.windows(2).all(|pair| pair[0].is_shaped_like(&pair[1])), "falls of one shape");
}

impl Fall<f64> {
    /// Whether the two differ in numbers alone, so that they can run side by side.
    #[must_use]
    pub fn is_shaped_like(&self, other: &Self) -> bool {
        fn all<T>(one: &[T], other: &[T], alike: impl Fn(&T, &T) -> bool) -> bool {
            one.len() == other.len() && one.iter().zip(other).all(|(one, other)| alike(one, other))
        }
        let moves_alike = |one: &Node<f64>, other: &Node<f64>| {
            std::mem::discriminant(&one.kind) == std::mem::discriminant(&other.kind)
        };
        let pulls_out_alike = |one: &Piece<f64>, other: &Piece<f64>| {
            one.node == other.node && all(&one.holds, &other.holds, |one, other| one.0 == other.0)
        };
        self.until == other.until
            && all(&self.nodes, &other.nodes, moves_alike)
            && all(&self.legs, &other.legs, |one, other| one.ends == other.ends)
            && all(&self.lines, &other.lines, |one, other| one.through == other.through)
            && all(&self.tears, &other.tears, |one, other| one.leg == other.leg)
            && all(&self.pieces, &other.pieces, pulls_out_alike)
            && all(&self.steady, &other.steady, |one, other| one.node == other.node)
    }
}

/// The falls as one; where there are fewer than lanes the last stands for the rest.
fn side_by_side<const L: usize>(falls: &[Fall<f64>]) -> Fall<Lanes<L>> {
    let fall = |lane: usize| &falls[lane.min(falls.len() - 1)];
    let lanes = |of: &dyn Fn(&Fall<f64>) -> f64| Lanes(std::array::from_fn(|lane| of(fall(lane))));
    let vector = |of: &dyn Fn(&Fall<f64>) -> Vector<f64>| {
        Vector(std::array::from_fn(|axis| lanes(&|fall: &Fall<f64>| of(fall).0[axis])))
    };
    let mass = |node: usize| {
        lanes(&|fall: &Fall<f64>| match fall.nodes[node].kind {
            Kind::Free(mass) | Kind::Stands(mass) => mass,
            Kind::Fixed => 0.0,
        })
    };
    let first = &falls[0];
    Fall {
        nodes: each(&first.nodes, |place, node| Node {
            at: vector(&|fall| fall.nodes[place].at),
            kind: match node.kind {
                Kind::Fixed => Kind::Fixed,
                Kind::Free(_) => Kind::Free(mass(place)),
                Kind::Stands(_) => Kind::Stands(mass(place)),
            },
        }),
        legs: each(&first.legs, |place, leg| Leg {
            ends: leg.ends,
            stiffness: lanes(&|fall| fall.legs[place].stiffness),
            length: lanes(&|fall| fall.legs[place].length),
        }),
        lines: each(&first.lines, |place, line| Line {
            response: Response {
                slow: lanes(&|fall| fall.lines[place].response.slow),
                fast: lanes(&|fall| fall.lines[place].response.fast),
                relax: lanes(&|fall| fall.lines[place].response.relax),
            },
            through: line.through.clone(),
            lengths: each(&line.lengths, |segment, _| lanes(&|fall| fall.lines[place].lengths[segment])),
            friction: each(&line.friction, |point, _| lanes(&|fall| fall.lines[place].friction[point])),
            brake: lanes(&|fall| fall.lines[place].brake),
        }),
        tears: each(&first.tears, |place, tear| Tear {
            leg: tear.leg,
            at: lanes(&|fall| fall.tears[place].at),
            most: lanes(&|fall| fall.tears[place].most),
        }),
        pieces: each(&first.pieces, |place, piece| Piece {
            node: piece.node,
            mass: lanes(&|fall| fall.pieces[place].mass),
            direction: vector(&|fall| fall.pieces[place].direction),
            holds: each(&piece.holds, |sector, &(cosine, _)| {
                (cosine, lanes(&|fall| fall.pieces[place].holds[sector].1))
            }),
        }),
        steady: each(&first.steady, |place, steady| Steady {
            node: steady.node,
            force: vector(&|fall| fall.steady[place].force),
        }),
        until: first.until,
    }
}

fn each<T, U>(items: &[T], of: impl Fn(usize, &T) -> U) -> Vec<U> {
    items.iter().enumerate().map(|(place, item)| of(place, item)).collect()
}

impl<N: Number> Peaks<N> {
    /// Those of the first lanes.
    fn apart(&self, count: usize) -> Vec<Peaks<f64>> {
        (0..count).map(|lane| self.lane(lane)).collect()
    }

    /// Those of one lane.
    fn lane(&self, lane: usize) -> Peaks<f64> {
        let numbers = |numbers: &[N]| -> Vec<f64> { numbers.iter().map(|number| number.lane(lane)).collect() };
        Peaks {
            nodes: self.nodes.iter().map(|node| node.lane(lane)).collect(),
            legs: numbers(&self.legs),
            segments: self.segments.iter().map(|line| numbers(line)).collect(),
            torn: numbers(&self.torn),
            out_at: numbers(&self.out_at),
        }
    }
}

impl<N: Number> NodePeak<N> {
    fn lane(&self, lane: usize) -> NodePeak<f64> {
        NodePeak {
            all: self.all.lane(lane),
            all_vector: self.all_vector.lane(lane),
            all_time: self.all_time.lane(lane),
            ropes: self.ropes.lane(lane),
            ropes_vector: self.ropes_vector.lane(lane),
            ropes_time: self.ropes_time.lane(lane),
            lowest: self.lowest.lane(lane),
            highest: self.highest.lane(lane),
            stopped_at: self.stopped_at.lane(lane),
        }
    }
}
