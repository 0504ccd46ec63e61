//! What a fall brings: point masses, slings that pull, ropes that run, step by step.
//!
//! One step, in order (each a method of `Motion`):
//!
//! 1. *kick*: forces change the velocities. Slings are stiff and their ends light, so they enter linearly implicitly
//!    (average acceleration; N. M. Newmark, A method of computation for structural dynamics, J. Eng. Mech. Div. ASCE
//!    85, 1959); everything else is a leapfrog. Second order where the motion is smooth.
//! 2. *look*: peaks are taken while positions, velocities and forces belong to one moment.
//! 3. *drift*: velocities change the positions; who lands or is stopped, stops.
//! 4. *run*: rope runs through its points until the friction law holds (`flow.rs`); what tears, tears.

mod legs;
mod motion;
mod peaks;
mod piece;
mod together;

use crate::number::Number;
use crate::rope::Response;
use crate::vector::Vector;
pub use motion::Moment;
use motion::Motion;
pub use peaks::{NodePeak, Peaks};
pub use together::{MOST_LANES, WatchLane, lowest_together, run_together};

/// The longest default step in s: a person on a rope swings a thousand times more slowly than this.
const LONGEST_STEP: f64 = 2e-3;
/// The shortest default step in s: stiffer slings ring faster, but their ringing is carried implicitly.
const SHORTEST_STEP: f64 = 1e-4;
/// How near (m) a person who was lifted comes to the next point of their line.
const NEAREST: f64 = 0.3;

/// How a point moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind<N> {
    /// Not at all.
    Fixed,
    /// Freely, with this mass in kg.
    Free(N),
    /// A person of this mass in kg, standing on a floor at the height where they start.
    Stands(N),
}

/// A point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node<N> {
    /// Where it is at t = 0, in m.
    pub at: Vector<N>,
    /// How it moves.
    pub kind: Kind<N>,
}

/// A strand of sling between two points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg<N> {
    /// Places of its two ends among the points.
    pub ends: [usize; 2],
    /// Force per metre of stretch, N/m.
    pub stiffness: N,
    /// Unstretched length, m.
    pub length: N,
}

/// A rope that is fast at both ends and runs through the points between.
#[derive(Debug, Clone, PartialEq)]
pub struct Line<N> {
    /// How it answers to strain.
    pub response: Response<N>,
    /// Places of its points, at least two.
    pub through: Vec<usize>,
    /// Unstretched length of each segment, m; one fewer than points.
    pub lengths: Vec<N>,
    /// Capstan friction at each point; the first and the last are not used.
    pub friction: Vec<N>,
    /// The tension in N above which the first point pays rope out; infinite where it never does.
    pub brake: N,
}

/// A leg that tears open at a force and is whole again when all of it is torn: an energy absorber.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tear<N> {
    /// Place of the leg.
    pub leg: usize,
    /// The force at which it tears, N.
    pub at: N,
    /// By how much it can lengthen so, m.
    pub most: N,
}

/// A fixed point that pulls out and then goes on as a free one.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece<N> {
    /// Place of the point, which is [`Kind::Fixed`].
    pub node: usize,
    /// Its mass once it is out, kg.
    pub mass: N,
    /// The direction it was placed for: a unit vector.
    pub direction: Vector<N>,
    /// What it holds, N, by the least cosine between that direction and the pull; the largest cosine first, the last −1.
    pub holds: Vec<(f64, N)>,
}

/// A steady force.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steady<N> {
    /// Place of the point it acts on.
    pub node: usize,
    /// The force, N.
    pub force: Vector<N>,
}

/// A fall to follow.
#[derive(Debug, Clone, PartialEq)]
pub struct Fall<N> {
    /// Its points.
    pub nodes: Vec<Node<N>>,
    /// Its strands of sling.
    pub legs: Vec<Leg<N>>,
    /// Its ropes.
    pub lines: Vec<Line<N>>,
    /// Those of its legs that tear, each once.
    pub tears: Vec<Tear<N>>,
    /// Those of its fixed points that pull out, each once.
    pub pieces: Vec<Piece<N>>,
    /// Forces beside weight that do not change.
    pub steady: Vec<Steady<N>>,
    /// How long it is followed, in s.
    pub until: f64,
}

impl<N> Default for Fall<N> {
    /// Nothing that falls, for no time: to be filled in.
    fn default() -> Self {
        let (nodes, legs, lines) = (Vec::new(), Vec::new(), Vec::new());
        Self { nodes, legs, lines, tears: Vec::new(), pieces: Vec::new(), steady: Vec::new(), until: 0.0 }
    }
}

impl<N: Number> Fall<N> {
    /// Whether a point can move at all.
    fn moves(&self, node: usize) -> bool {
        !matches!(self.nodes[node].kind, Kind::Fixed) || self.pieces.iter().any(|piece| piece.node == node)
    }
}

/// What went wrong, with whom.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Element {
    /// A point.
    Node(usize),
    /// A strand of sling.
    Leg(usize),
    /// A segment of a rope.
    Segment {
        /// Which rope.
        line: usize,
        /// Which of its segments.
        segment: usize,
    },
}

/// A run that could not go on. Nothing of it is used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Fault {
    /// A number became infinite or undefined.
    #[error("{element:?} is not finite at {time} s")]
    NotFinite {
        /// Where it arose.
        element: Element,
        /// When, in s.
        time: f64,
    },
    /// The friction law could not be met.
    #[error("rope {line} finds no state that obeys the friction law at {time} s")]
    NotSettled {
        /// Which rope.
        line: usize,
        /// When, in s.
        time: f64,
    },
}

/// Something that is shown every moment of a run.
pub trait Watch<N: Number> {
    /// Called once a step.
    fn see(&mut self, moment: &Moment<'_, N>);
}

/// Watches nothing.
impl<N: Number> Watch<N> for () {
    fn see(&mut self, _: &Moment<'_, N>) {}
}

impl<N: Number, F: FnMut(&Moment<'_, N>)> Watch<N> for F {
    fn see(&mut self, moment: &Moment<'_, N>) {
        self(moment);
    }
}

/// Follows a fall in steps of at most `step` seconds.
///
/// # Errors
/// A [`Fault`] where a number is not finite or the friction law cannot be met.
///
/// # Panics
/// Where an index of the fall points at nothing.
pub fn run<N: Number>(fall: &Fall<N>, step: f64, watch: &mut impl Watch<N>) -> Result<Peaks<N>, Fault> {
    let mut peaks = Peaks::start(fall);
    follow(fall, step, |motion| motion.look(&mut peaks, watch))?;
    Ok(peaks)
}

/// Follows a fall as [`run`] does, and only for how low each point comes, in m: the same heights in less time.
///
/// # Errors
/// As [`run`].
///
/// # Panics
/// As [`run`].
pub fn lowest<N: Number>(fall: &Fall<N>, step: f64) -> Result<Vec<N>, Fault> {
    let mut lowest: Vec<N> = fall.nodes.iter().map(|node| node.at.0[2]).collect();
    follow(fall, step, |motion| motion.sink(&mut lowest))?;
    Ok(lowest)
}

/// Takes a fall step by step and shows every moment of it.
#[inline]
fn follow<N: Number>(fall: &Fall<N>, step: f64, mut look: impl FnMut(&mut Motion<'_, N>)) -> Result<(), Fault> {
    let count = (fall.until / step).ceil().max(1.0);
    let mut motion = Motion::start(fall, fall.until / count)?;
    for _ in 0..count as usize {
        motion.kick();
        look(&mut motion);
        motion.drift();
        motion.run_ropes()?;
    }
    motion.kick();
    look(&mut motion);
    Ok(())
}

/// The step in s that follows every sling and rope of the fall closely enough: one radian of the fastest ringing.
#[must_use]
pub fn default_step(fall: &Fall<f64>) -> f64 {
    let mut stiffness = vec![0.0; fall.nodes.len()];
    for leg in &fall.legs {
        leg.ends.iter().for_each(|&end| stiffness[end] += leg.stiffness);
    }
    add_ropes(fall, f64::INFINITY, &mut stiffness);
    step_for(fall, &stiffness)
}

/// The step in s that follows persons: one radian of the fastest ringing on ropes, each segment taken as short as a person
/// can come to the next point. Slings, which are implicit, may ring faster: how low somebody comes does not hang on it.
#[must_use]
pub fn step_for_persons(fall: &Fall<f64>) -> f64 {
    let mut stiffness = vec![0.0; fall.nodes.len()];
    add_ropes(fall, NEAREST, &mut stiffness);
    step_for(fall, &stiffness)
}

/// Adds the stiffness of ropes to the points at the ends of their segments, none longer than `longest`.
fn add_ropes(fall: &Fall<f64>, longest: f64, stiffness: &mut [f64]) {
    for line in &fall.lines {
        let modulus = line.response.slow + line.response.fast;
        for (pair, length) in line.through.windows(2).zip(&line.lengths) {
            pair.iter().for_each(|&end| stiffness[end] += modulus / length.min(longest));
        }
    }
}

fn step_for(fall: &Fall<f64>, stiffness: &[f64]) -> f64 {
    let ringing = fall.nodes.iter().zip(stiffness).filter_map(|(node, stiffness)| match node.kind {
        Kind::Fixed => None,
        Kind::Free(mass) | Kind::Stands(mass) => Some((mass / stiffness).sqrt()),
    });
    ringing.fold(LONGEST_STEP, f64::min).max(SHORTEST_STEP)
}
