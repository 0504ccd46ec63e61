//! Ropes steadily on the move: a friction limit state with a direction.
//!
//! At each turn the tension on the side that the rope runs to is the capstan ratio times that on the other (L. Euler,
//! 1775), so for known turns all tensions of a rope follow from the one at the hand, and the rest is a minimum of energy
//! ([`crate::rest`]). Turns and rest are found in turn until neither changes.

use crate::capstan;
use crate::rest::{self, Net, Pull, Rest, Run, Unrest};
use crate::vector::Vector;

type Point = Vector<f64>;

/// Turns and rest agree to this share of a tension.
const AGREEMENT: f64 = 1e-10;
/// Rounds that nothing ordinary needs.
const MOST_ROUNDS: usize = 400;
/// Up to which round what share of each change is taken: turns that overshoot each other are taken more slowly.
const SHARES: [(usize, f64); 4] = [(40, 1.0), (100, 0.5), (180, 0.25), (MOST_ROUNDS, 0.1)];

/// Which way a rope runs at the hand that holds it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Towards the hand: hauling, taking in.
    In,
    /// Away from it: lowering, paying out, descending.
    Out,
}

impl Way {
    /// The other way.
    #[must_use]
    pub const fn back(self) -> Self {
        match self {
            Self::In => Self::Out,
            Self::Out => Self::In,
        }
    }
}

/// What a rope meets at a point where it turns: the tensions on both sides differ by `factor` × exp(`friction` × angle).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// Per radian of the turn that is seen.
    pub friction: f64,
    /// What comes to that whatever the turn, at least 1: turns round a bar, a device.
    pub factor: f64,
}

/// A rope on the move.
#[derive(Debug, Clone, PartialEq)]
pub struct Rope {
    /// Force per unit strain, N.
    pub stiffness: f64,
    /// Its points from the hand on, at least two.
    pub through: Vec<usize>,
    /// What it meets at each of its points; the first and the last are not used.
    pub turns: Vec<Turn>,
    /// Its unstretched length, m; not used where the pull is given.
    pub length: f64,
    /// Its weight per metre as it hangs, N/m.
    pub weight: f64,
    /// Which way it runs.
    pub way: Way,
    /// The tension at the hand, N, where it is given.
    pub pull: Option<f64>,
}

/// A net with ropes on the move.
#[derive(Debug, Clone, PartialEq)]
pub struct Running {
    /// The net as it runs: at rest as it was found, the weight of ropes on its points.
    pub net: Net,
    /// Points, tensions of slings and of ropes that do not run.
    pub rest: Rest,
    /// The pull of each rope on the move at its hand, N.
    pub pulls: Vec<f64>,
    /// Tension of each of its segments half way along, N, from the hand on.
    pub tensions: Vec<Vec<f64>>,
    /// Everything that pulls on each point, weight of rope included and loads not, N.
    pub resultants: Vec<Point>,
    /// Rounds of turns and rest.
    pub rounds: usize,
}

/// Why there is no steady motion.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Unsteady {
    /// There is no rest even for fixed turns.
    #[error(transparent)]
    Unrest(Unrest),
    /// Turns and rest do not come to agree.
    #[error("the turns of rope {rope} and the forces on them do not come to agree")]
    NotSettled {
        /// The rope.
        rope: usize,
    },
}

/// Finds the steady motion of some ropes through a net, which is given without them.
///
/// # Errors
/// [`Unsteady`] names the point that nothing holds, or the rope that does not settle.
pub fn solve(net: &Net, ropes: &[Rope]) -> Result<Running, Unsteady> {
    let mut at: Vec<Point> = net.nodes.iter().map(|node| node.at).collect();
    let mut runs: Vec<Run> = ropes.iter().map(|rope| rope.run(&at)).collect();
    for rounds in 1..=MOST_ROUNDS {
        let loaded = loaded(net, ropes, &runs, &at);
        let rest = if rounds == 1 { rest::solve(&loaded) } else { rest::solve_near(&loaded) };
        let rest = rest.map_err(Unsteady::Unrest)?;
        at.clone_from(&rest.at);
        let next: Vec<Run> = ropes.iter().map(|rope| rope.run(&at)).collect();
        let worst = (0..ropes.len()).map(|rope| (disagreement(&runs[rope], &next[rope], rest.runs[rope], &rest), rope));
        let (worst, rope) = worst.fold((0.0, 0), |most, next| if next.0 > most.0 { next } else { most });
        if worst <= AGREEMENT {
            return Ok(running(&loaded, ropes, rest, rounds));
        }
        if rounds == MOST_ROUNDS || !worst.is_finite() {
            return Err(Unsteady::NotSettled { rope });
        }
        let share = SHARES.iter().find(|(until, _)| rounds <= *until).map_or(1.0, |(_, share)| *share);
        runs = if share < 1.0 { between(&runs, next, share) } else { next };
    }
    unreachable!("the last round returns")
}

/// The net with the ropes as they run and half the weight of each segment at its ends.
fn loaded(net: &Net, ropes: &[Rope], runs: &[Run], at: &[Point]) -> Net {
    let mut loaded = Net { runs: runs.to_vec(), ..net.clone() };
    for (node, &at) in loaded.nodes.iter_mut().zip(at) {
        node.at = at;
    }
    each_weight(ropes, at, |end, weight| loaded.nodes[end].load += weight);
    loaded
}

/// Calls `bear` with each point and its half of the weight of a segment that ends there.
fn each_weight(ropes: &[Rope], at: &[Point], mut bear: impl FnMut(usize, Point)) {
    for rope in ropes.iter().filter(|rope| rope.weight > 0.0) {
        for (pair, distance) in rope.through.windows(2).zip(rope.distances(at)) {
            pair.iter().for_each(|&end| bear(end, Vector([0.0, 0.0, -0.5 * rope.weight * distance])));
        }
    }
}

/// How far two tellings of a rope differ, as a share of its largest tension.
fn disagreement(before: &Run, after: &Run, pull: f64, rest: &Rest) -> f64 {
    let segments = || 0..before.shares.len();
    let largest = segments().map(|segment| before.tension(segment, pull).abs()).fold(f64::MIN_POSITIVE, f64::max);
    let turned = segments().map(|segment| (before.tension(segment, pull) - after.tension(segment, pull)).abs());
    let stretched = match after.pull {
        Pull::Given(_) => 0.0,
        Pull::Grows { stiffness, length } => {
            let spans = before.through.windows(2).map(|pair| (rest.at[pair[1]] - rest.at[pair[0]]).norm());
            let weighted: f64 = spans.zip(&after.shares).map(|(distance, share)| distance * share).sum();
            // A stiff rope makes a force of the rounding of its length.
            let rounding = 8.0 * f64::EPSILON * stiffness * length.abs();
            ((stiffness * (weighted - length) - pull).max(-pull).abs() - rounding).max(0.0)
        }
    };
    turned.fold(stretched, f64::max) / largest
}

/// A share of the way from one telling to the next.
fn between(before: &[Run], mut after: Vec<Run>, share: f64) -> Vec<Run> {
    let toward = |before: f64, after: f64| before + share * (after - before);
    for (before, after) in before.iter().zip(&mut after) {
        let pairs = after.shares.iter_mut().zip(&before.shares).chain(after.more.iter_mut().zip(&before.more));
        pairs.for_each(|(after, before)| *after = toward(*before, *after));
        if let (Pull::Grows { length: before, .. }, Pull::Grows { length, .. }) = (before.pull, &mut after.pull) {
            *length = toward(before, *length);
        }
    }
    after
}

fn running(net: &Net, ropes: &[Rope], rest: Rest, rounds: usize) -> Running {
    let mut resultants = vec![Vector::zero(); net.nodes.len()];
    net.each_pull(&rest, |place, _, pull| resultants[place] += pull);
    each_weight(ropes, &rest.at, |end, weight| resultants[end] += weight);
    let tensions =
        |(run, &pull): (&Run, &f64)| (0..run.shares.len()).map(|segment| run.tension(segment, pull)).collect();
    Running {
        tensions: net.runs.iter().zip(&rest.runs).map(tensions).collect(),
        pulls: rest.runs.clone(),
        resultants,
        net: net.clone(),
        rest,
        rounds,
    }
}

impl Rope {
    fn distances<'a>(&'a self, at: &'a [Point]) -> impl Iterator<Item = f64> + 'a {
        self.through.windows(2).map(|pair| (at[pair[1]] - at[pair[0]]).norm())
    }

    /// The rope as it runs with its points where they are.
    fn run(&self, at: &[Point]) -> Run {
        let (shares, more) = self.tensions_by_pull(at);
        let pull = self.pull.map_or_else(|| self.growth(&shares, &more, at), Pull::Given);
        Run { through: self.through.clone(), shares, more, pull }
    }

    /// By segment, half way along: what it takes of the pull at the hand, and what the weight of the rope adds.
    fn tensions_by_pull(&self, at: &[Point]) -> (Vec<f64>, Vec<f64>) {
        let (mut share, mut more) = (1.0, 0.0);
        let (mut shares, mut mores) = (Vec::new(), Vec::new());
        for segment in 0..self.through.len() - 1 {
            if segment > 0 {
                let ratio = self.ratio(segment, at);
                (share, more) = (share * ratio, more * ratio);
            }
            let [from, to] = [segment, segment + 1].map(|place| at[self.through[place]].0[2]);
            let half = 0.5 * self.weight * (to - from);
            shares.push(share);
            mores.push(more + half);
            more += 2.0 * half;
        }
        (shares, mores)
    }

    /// Tension beyond a turn over that on the hand's side.
    fn ratio(&self, place: usize, at: &[Point]) -> f64 {
        let [before, here, after] = [place - 1, place, place + 1].map(|place| at[self.through[place]]);
        let angle = (here - before).angle_to(after - here);
        let Turn { friction, factor } = self.turns[place];
        let ratio = capstan::ratio(friction, angle) * factor;
        match self.way {
            Way::In => ratio.recip(),
            Way::Out => ratio,
        }
    }

    /// How the pull grows near the one at which the segments, each stretched by its own tension, have the rope's length.
    fn growth(&self, shares: &[f64], more: &[f64], at: &[Point]) -> Pull {
        let distances: Vec<f64> = self.distances(at).collect();
        let weighted: f64 = distances.iter().zip(shares).map(|(distance, share)| distance * share).sum();
        // As the pull grows where the far end, which is mostly the load, gives way.
        let stiffness = self.stiffness / (weighted * shares[shares.len() - 1]);
        let pull = self.pull_by_length(shares, more, &distances);
        Pull::Grows { stiffness, length: weighted - pull / stiffness }
    }

    /// Solves Σ distance / (1 + tension / stiffness) = length by Newton's method; negative where the rope is slack.
    fn pull_by_length(&self, shares: &[f64], more: &[f64], distances: &[f64]) -> f64 {
        let mut pull = 0.0;
        for _ in 0..50 {
            let (mut length, mut slope) = (0.0, 0.0);
            for ((share, more), distance) in shares.iter().zip(more).zip(distances) {
                let stretch = (1.0 + (share * pull + more) / self.stiffness).max(0.1);
                length += distance / stretch;
                slope -= distance / (stretch * stretch) * share / self.stiffness;
            }
            let step = (self.length - length) / slope;
            pull += step;
            if step.abs() <= 1e-14 * (pull.abs() + 1e-9 * self.stiffness) {
                break;
            }
        }
        pull
    }
}
