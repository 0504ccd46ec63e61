//! Equilibrium under steady loads: the minimum of the potential energy of slings, ropes and loads.
//!
//! Slings and ropes only pull, so the energy is convex and the forces have one answer; ropes with a weight of their own
//! keep it so unless they hang deep and run over points between their ends. It is found by Newton's method
//! with the damping of K. Levenberg (1944) and D. Marquardt (1963), the damping steered by the gain of each step
//! (H. B. Nielsen, Damping parameter in Marquardt's method, 1999).

mod catenary;
mod envelope;
mod hung;
mod run;

use crate::fall::Leg;
use crate::vector::Vector;
use envelope::{Envelope, neighbourly_order};
use hung::Hung;
pub use run::{Pull, Run};

type Point = Vector<f64>;

/// Forces balance to this share of the largest force.
const BALANCE: f64 = 1e-11;
/// Rounds that nothing ordinary needs; slings that are about to come taut, loaded a million times less than they are stiff,
/// took some two thousand.
const MOST_ROUNDS: usize = 4000;
/// Near balance, a thousand times the share above, Newton's method doubles its digits each round. After so many rounds that
/// did not even halve what is out of balance, the arithmetic can do no better.
const NEAR_BALANCE: f64 = 1e3 * BALANCE;
const MOST_IDLE_ROUNDS: usize = 12;
/// Damping to begin with and at the least, as a share of the largest stiffness.
const FIRST_DAMPING: f64 = 0.1;
const LEAST_DAMPING: f64 = 1e-14;

/// How a point is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hold {
    /// It does not move.
    Fixed,
    /// It goes where the forces on it balance.
    Free,
    /// It does not move while the upward pull on it is at most the weight in its load; else it is free.
    Stands,
}

/// A point of a net.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// A first guess, m; where it is, if fixed.
    pub at: Point,
    /// How it is held.
    pub hold: Hold,
    /// The steady load on it, weight included, N.
    pub load: Point,
}

/// A rope without friction: one tension from end to end, but for its own weight.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Force per unit strain, N.
    pub stiffness: f64,
    /// Weight per unstretched metre, N/m; zero for a rope that hangs straight.
    pub weight: f64,
    /// Its points, at least two.
    pub through: Vec<usize>,
    /// Its unstretched length, m.
    pub length: f64,
}

/// A net under steady loads.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Net {
    /// Its points.
    pub nodes: Vec<Node>,
    /// Its strands of sling.
    pub legs: Vec<Leg<f64>>,
    /// Its ropes.
    pub lines: Vec<Line>,
    /// Ropes on the move, for turns that are known.
    pub runs: Vec<Run>,
}

/// A net at rest, in the order of the net.
#[derive(Debug, Clone, PartialEq)]
pub struct Rest {
    /// Where each point came to rest, m.
    pub at: Vec<Point>,
    /// Tension of each strand of sling, N.
    pub legs: Vec<f64>,
    /// Largest tension of each rope, N.
    pub lines: Vec<f64>,
    /// The one tension of each rope on the move, N.
    pub runs: Vec<f64>,
    /// Each rope from point to point.
    pub strands: Vec<Vec<Strand>>,
    /// Newton rounds it took.
    pub rounds: usize,
}

/// A rope between two of its points.
#[derive(Debug, Clone, PartialEq)]
pub struct Strand {
    /// What it pulls with on the point it comes from and the one it goes to, N.
    pub pulls: [Point; 2],
    /// Largest tension, N.
    pub tension: f64,
    /// Unstretched length, m; of a slack rope without weight its share by distance.
    pub length: f64,
    /// Height of its lowest place, m.
    pub lowest: f64,
    /// Places along it, ends included, m.
    pub shape: Vec<Point>,
}

/// Why there is no rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Unrest {
    /// Nothing holds the load on this point.
    #[error("nothing holds the load on point {node}")]
    NotHeld {
        /// The point.
        node: usize,
    },
    /// The forces on this point could not be balanced, or are not finite.
    #[error("the forces on point {node} do not come to balance")]
    NotBalanced {
        /// The point where the balance is worst.
        node: usize,
    },
}

/// Finds where a net comes to rest.
///
/// # Errors
/// [`Unrest`] names the point that nothing holds, or whose forces do not balance.
pub fn solve(net: &Net) -> Result<Rest, Unrest> {
    solve_from(net, FIRST_DAMPING)
}

/// The same for a net that is drawn near to where it comes to rest: it begins with a whole step of Newton's method.
pub(crate) fn solve_near(net: &Net) -> Result<Rest, Unrest> {
    solve_from(net, LEAST_DAMPING)
}

fn solve_from(net: &Net, damping: f64) -> Result<Rest, Unrest> {
    let mut held: Vec<bool> = net.nodes.iter().map(|node| node.hold != Hold::Free).collect();
    loop {
        let rest = Solver::new(net, &held)?.solve(damping)?;
        let lifted: Vec<usize> = (0..net.nodes.len())
            .filter(|&node| held[node] && net.nodes[node].hold == Hold::Stands)
            .filter(|&node| net.pulls_on(node, &rest).0[2] + net.nodes[node].load.0[2] > 0.0)
            .collect();
        if lifted.is_empty() {
            return Ok(rest);
        }
        lifted.iter().for_each(|&node| held[node] = false);
    }
}

impl Net {
    /// The resultant of slings and ropes on a point, N.
    #[must_use]
    pub fn pulls_on(&self, node: usize, rest: &Rest) -> Point {
        let mut sum = Vector::zero();
        self.each_pull(rest, |place, _, pull| {
            if place == node {
                sum += pull;
            }
        });
        sum
    }

    /// Calls `see` with each pull of a sling or rope segment on a point: the point, the other end, the force in N.
    pub fn each_pull(&self, rest: &Rest, mut see: impl FnMut(usize, usize, Point)) {
        let mut both = |from: usize, to: usize, tension: f64| {
            let (_, direction) = (rest.at[to] - rest.at[from]).length_and_direction();
            see(from, to, direction * tension);
            see(to, from, -direction * tension);
        };
        for (leg, &tension) in self.legs.iter().zip(&rest.legs) {
            both(leg.ends[0], leg.ends[1], tension);
        }
        for (run, &pull) in self.runs.iter().zip(&rest.runs) {
            let pairs = run.through.windows(2).enumerate();
            pairs.for_each(|(segment, pair)| both(pair[0], pair[1], run.tension(segment, pull)));
        }
        for (line, strands) in self.lines.iter().zip(&rest.strands) {
            for (pair, strand) in line.through.windows(2).zip(strands) {
                see(pair[0], pair[1], strand.pulls[0]);
                see(pair[1], pair[0], strand.pulls[1]);
            }
        }
    }

    /// The largest stiffness of a sling or rope, N/m: a scale that is there even while everything hangs slack.
    fn largest_stiffness(&self) -> f64 {
        let legs = self.legs.iter().map(|leg| leg.stiffness);
        let lines = self.lines.iter().map(|line| line.stiffness / line.length);
        legs.chain(lines).chain(self.runs.iter().map(Run::stiffness)).fold(f64::MIN_POSITIVE, f64::max)
    }

    /// Which points are tied to which, directly: by a sling, by sharing a rope, by being next to each other on one whose pull
    /// is given.
    fn ties(&self) -> impl Iterator<Item = [usize; 2]> + '_ {
        let shared = |through: &Vec<usize>| {
            let through = through.clone();
            (0..through.len())
                .flat_map(move |i| (0..i).map(|j| [i, j]).collect::<Vec<_>>())
                .map(move |pair| pair.map(|place| through[place]))
        };
        let given = |run: &&Run| matches!(run.pull, Pull::Given(_));
        let grows = self.runs.iter().filter(move |run| !given(run));
        let ropes = self.lines.iter().map(|line| &line.through).chain(grows.map(|run| &run.through));
        let next = self.runs.iter().filter(given).flat_map(|run| run.through.windows(2).map(|pair| [pair[0], pair[1]]));
        self.legs.iter().map(|leg| leg.ends).chain(ropes.flat_map(shared)).chain(next).filter(|[a, b]| a != b)
    }
}

/// The energy of a net as a function of its free points.
struct Solver<'a> {
    net: &'a Net,
    /// For each point its place in the system of equations, three rows a place; none where held.
    place: Vec<Option<usize>>,
    free: Vec<usize>,
    /// How far each point has moved from where it was drawn, m. Stretches are computed from this: the difference of
    /// two long distances would lose what a stiff sling needs.
    moved: Vec<Point>,
    hessian: Envelope,
    force_scale: f64,
}

/// Energy and its gradient.
struct Slope {
    energy: f64,
    gradient: Vec<f64>,
}

impl<'a> Solver<'a> {
    fn new(net: &'a Net, held: &[bool]) -> Result<Self, Unrest> {
        refuse_unheld(net, held)?;
        let mut neighbours = vec![Vec::new(); net.nodes.len()];
        for [a, b] in net.ties().filter(|tie| tie.iter().all(|&node| !held[node])) {
            neighbours[a].push(b);
            neighbours[b].push(a);
        }
        let order: Vec<usize> = neighbourly_order(&neighbours).into_iter().filter(|&node| !held[node]).collect();
        let mut place = vec![None; net.nodes.len()];
        order.iter().enumerate().for_each(|(index, &node)| place[node] = Some(index));
        let load = net.nodes.iter().map(|node| node.load.norm()).fold(0.0, f64::max);
        let mut solver = Self {
            net,
            hessian: Envelope::new(envelope_of(&order, &place, &neighbours)),
            place,
            free: order,
            moved: vec![Vector::zero(); net.nodes.len()],
            force_scale: load,
        };
        let drawn = solver.slope(&solver.moved);
        solver.force_scale = drawn.gradient.iter().fold(load, |most, component| most.max(component.abs()));
        Ok(solver)
    }

    fn solve(mut self, mut damping: f64) -> Result<Rest, Unrest> {
        let mut slope = self.slope(&self.moved);
        let mut growth = 2.0;
        let (mut least, mut idle) = (f64::INFINITY, 0);
        for rounds in 0..MOST_ROUNDS {
            let unbalanced = largest(&slope.gradient) / self.force_scale;
            (least, idle) = if unbalanced < 0.5 * least { (unbalanced, 0) } else { (least, idle + 1) };
            let is_all_there_is = unbalanced <= NEAR_BALANCE && idle > MOST_IDLE_ROUNDS;
            if unbalanced <= BALANCE || is_all_there_is {
                return Ok(self.rest(rounds));
            }
            self.assemble();
            let stiffness = self.net.largest_stiffness();
            self.hessian.add_to_diagonal(damping * stiffness);
            let mut step: Vec<f64> = slope.gradient.iter().map(|component| -component).collect();
            let trial = self.hessian.solve(&mut step).then(|| self.moved_by(&step));
            let gain = trial
                .as_ref()
                .map(|moved| (self.slope(moved), predicted_gain(&step, &slope.gradient, damping * stiffness)));
            match (trial, gain) {
                (Some(moved), Some((next, predicted))) if accepts(&slope, &next, predicted) => {
                    let gained = slope.energy - next.energy;
                    let ratio = if is_lost(&slope, predicted) { 1.0 } else { gained / predicted };
                    damping = (damping * (1.0 - (2.0 * ratio - 1.0).powi(3)).clamp(0.02, 2.0)).max(LEAST_DAMPING);
                    growth = 2.0;
                    (self.moved, slope) = (moved, next);
                }
                _ => {
                    damping *= growth;
                    growth *= 2.0;
                }
            }
            if !damping.is_finite() || damping > 1e12 {
                break;
            }
        }
        if largest(&slope.gradient) <= NEAR_BALANCE * self.force_scale {
            return Ok(self.rest(MOST_ROUNDS));
        }
        Err(Unrest::NotBalanced { node: self.worst(&slope.gradient) })
    }

    /// Energy and gradient with the points moved so far: ½ k (d − l)² for each stretched leg, ½ S l (Σd / l − 1)² for each stretched
    /// rope, less the work of the loads.
    fn slope(&self, moved: &[Point]) -> Slope {
        let mut gradient = vec![0.0; 3 * self.free.len()];
        let mut energy = 0.0;
        for (&node, index) in self.free.iter().zip(0..) {
            energy -= self.net.nodes[node].load.dot(moved[node]);
            add(&mut gradient, index, -self.net.nodes[node].load);
        }
        let mut pull = |end: usize, force: Point| {
            if let Some(place) = self.place[end] {
                add(&mut gradient, place, force);
            }
        };
        for leg in &self.net.legs {
            let span = self.net.span(leg.ends, moved);
            let tension = leg_tension(leg, &span);
            energy += 0.5 * tension * tension / leg.stiffness;
            pull(leg.ends[0], -span.direction * tension);
            pull(leg.ends[1], span.direction * tension);
        }
        for line in self.net.lines.iter().filter(|line| line.weight > 0.0) {
            let hung = self.net.hung(line, moved);
            energy += hung.energy();
            hung.each_pull(|ends, pulls| ends.into_iter().zip(pulls).for_each(|(end, force)| pull(end, -force)));
        }
        for line in self.net.lines.iter().filter(|line| line.weight == 0.0) {
            let spans = self.net.spans(line, moved);
            let tension = line_tension(line, &spans);
            energy += 0.5 * tension * tension / line.stiffness * line.length;
            for (pair, span) in line.through.windows(2).zip(&spans) {
                pull(pair[0], -span.direction * tension);
                pull(pair[1], span.direction * tension);
            }
        }
        let mut slope = Slope { energy, gradient };
        self.add_runs(moved, &mut slope);
        slope
    }

    /// The second derivative: along each stretched strand its stiffness, across it tension over length.
    fn assemble(&mut self) {
        self.hessian.clear();
        for leg in &self.net.legs {
            let span = self.net.span(leg.ends, &self.moved);
            if span.stretch_over(leg.length) >= 0.0 {
                self.stiffen(leg.ends, span.direction, leg.stiffness, leg_tension(leg, &span) / span.distance);
            }
        }
        for line in &self.net.lines {
            if line.weight > 0.0 {
                let hung = self.net.hung(line, &self.moved);
                hung.each_block(&mut |row, column, block| self.add_block(row, column, |i, j| block[i][j]));
            } else {
                self.stiffen_line(line);
            }
        }
        for run in &self.net.runs {
            self.stiffen_run(run);
        }
    }

    fn stiffen_line(&mut self, line: &Line) {
        let spans = self.net.spans(line, &self.moved);
        if line_stretch(line, &spans) < 0.0 {
            return;
        }
        let tension = line_tension(line, &spans);
        let mut lengthening = vec![Vector::zero(); line.through.len()];
        for (segment, (pair, span)) in line.through.windows(2).zip(&spans).enumerate() {
            lengthening[segment] -= span.direction;
            lengthening[segment + 1] += span.direction;
            if span.distance > 0.0 {
                self.stiffen([pair[0], pair[1]], span.direction, 0.0, tension / span.distance);
            }
        }
        self.stiffen_together(&line.through, &lengthening, line.stiffness / line.length);
    }

    /// One stiffness against a length that changes with every one of some points, along `lengthening` with each.
    fn stiffen_together(&mut self, through: &[usize], lengthening: &[Point], stiffness: f64) {
        for (&row, &row_change) in through.iter().zip(lengthening) {
            for (&column, &column_change) in through.iter().zip(lengthening) {
                self.add_block(row, column, |i, j| stiffness * row_change.0[i] * column_change.0[j]);
            }
        }
    }

    fn stiffen(&mut self, ends: [usize; 2], direction: Point, along: f64, across: f64) {
        let entry =
            |i: usize, j: usize| (along - across) * direction.0[i] * direction.0[j] + if i == j { across } else { 0.0 };
        for row in ends {
            for column in ends {
                let sign = if row == column { 1.0 } else { -1.0 };
                self.add_block(row, column, |i, j| sign * entry(i, j));
            }
        }
    }

    /// Adds what lies in the lower triangle of the block of two points.
    fn add_block(&mut self, row: usize, column: usize, entry: impl Fn(usize, usize) -> f64) {
        let (Some(row), Some(column)) = (self.place[row], self.place[column]) else { return };
        for i in 0..3 {
            for j in 0..3 {
                if 3 * row + i >= 3 * column + j {
                    self.hessian.add(3 * row + i, 3 * column + j, entry(i, j));
                }
            }
        }
    }

    fn moved_by(&self, step: &[f64]) -> Vec<Point> {
        let mut moved = self.moved.clone();
        for (&node, change) in self.free.iter().zip(step.chunks_exact(3)) {
            moved[node] += Vector([change[0], change[1], change[2]]);
        }
        moved
    }

    fn worst(&self, gradient: &[f64]) -> usize {
        let size = |index: &usize| largest(&gradient[3 * index..3 * index + 3]);
        let worst = (0..self.free.len()).max_by(|a, b| size(a).total_cmp(&size(b)));
        worst.map_or(0, |index| self.free[index])
    }

    fn rest(self, rounds: usize) -> Rest {
        let (net, moved) = (self.net, &self.moved);
        let strands: Vec<Vec<Strand>> = net.lines.iter().map(|line| net.strands(line, moved)).collect();
        Rest {
            legs: net.legs.iter().map(|leg| leg_tension(leg, &net.span(leg.ends, moved))).collect(),
            lines: strands.iter().map(|line| line.iter().map(|strand| strand.tension).fold(0.0, f64::max)).collect(),
            runs: net.runs.iter().map(|run| net.pull_of(run, moved)).collect(),
            strands,
            at: net.nodes.iter().zip(moved).map(|(node, &moved)| node.at + moved).collect(),
            rounds,
        }
    }
}

/// From one point to another.
struct Span {
    distance: f64,
    direction: Point,
    /// The distance as drawn, and how much longer it has become.
    drawn: f64,
    lengthening: f64,
}

impl Span {
    /// How much longer this is than `length`; negative where shorter.
    fn stretch_over(&self, length: f64) -> f64 {
        self.lengthening + (self.drawn - length)
    }
}

impl Net {
    /// |r + Δ| − |r| = Δ · (2 r + Δ) / (|r + Δ| + |r|), which loses nothing where Δ is small.
    fn span(&self, [from, to]: [usize; 2], moved: &[Point]) -> Span {
        let drawn = self.nodes[to].at - self.nodes[from].at;
        let change = moved[to] - moved[from];
        let (distance, direction) = (drawn + change).length_and_direction();
        let length = drawn.norm();
        let lengthening = change.dot(drawn * 2.0 + change) / (distance + length).max(f64::MIN_POSITIVE);
        Span { distance, direction, drawn: length, lengthening }
    }

    fn hung(&self, line: &Line, moved: &[Point]) -> Hung {
        Hung::new(line, |node| self.nodes[node].at + moved[node])
    }

    fn strands(&self, line: &Line, moved: &[Point]) -> Vec<Strand> {
        let at = |node: usize| self.nodes[node].at + moved[node];
        if line.weight > 0.0 {
            return self.hung(line, moved).strands(at);
        }
        let spans = self.spans(line, moved);
        let tension = line_tension(line, &spans);
        let whole: f64 = spans.iter().map(|span| span.distance).sum();
        let strand = |(pair, span): (&[usize], &Span)| Strand {
            pulls: [span.direction * tension, -span.direction * tension],
            tension,
            length: line.length * span.distance / whole,
            lowest: at(pair[0]).0[2].min(at(pair[1]).0[2]),
            shape: vec![at(pair[0]), at(pair[1])],
        };
        line.through.windows(2).zip(&spans).map(strand).collect()
    }

    fn spans(&self, line: &Line, moved: &[Point]) -> Vec<Span> {
        line_spans(self, &line.through, moved)
    }
}

fn line_spans(net: &Net, through: &[usize], moved: &[Point]) -> Vec<Span> {
    through.windows(2).map(|pair| net.span([pair[0], pair[1]], moved)).collect()
}

fn leg_tension(leg: &Leg<f64>, span: &Span) -> f64 {
    (leg.stiffness * span.stretch_over(leg.length)).max(0.0)
}

fn line_stretch(line: &Line, spans: &[Span]) -> f64 {
    let drawn: f64 = spans.iter().map(|span| span.drawn).sum();
    spans.iter().map(|span| span.lengthening).sum::<f64>() + (drawn - line.length)
}

fn line_tension(line: &Line, spans: &[Span]) -> f64 {
    (line.stiffness * line_stretch(line, spans) / line.length).max(0.0)
}

fn add(gradient: &mut [f64], place: usize, force: Point) {
    for (component, force) in gradient[3 * place..3 * place + 3].iter_mut().zip(force.0) {
        *component += force;
    }
}

fn largest(components: &[f64]) -> f64 {
    components.iter().fold(0.0, |most, component| most.max(component.abs()))
}

/// What a step should gain by the quadratic model: ½ stepᵀ (damping step − gradient).
fn predicted_gain(step: &[f64], gradient: &[f64], damping: f64) -> f64 {
    step.iter().zip(gradient).map(|(step, slope)| 0.5 * step * (damping * step - slope)).sum()
}

/// A step is good if it gains energy as predicted; near the minimum, where the energy no longer tells, if the forces
/// come closer to balance.
fn accepts(before: &Slope, after: &Slope, predicted: f64) -> bool {
    let gained = before.energy - after.energy;
    let share = if is_lost(before, predicted) { 1.0 } else { 0.5 };
    after.energy.is_finite()
        && (gained > 1e-3 * predicted || largest(&after.gradient) < share * largest(&before.gradient))
}

/// Whether a gain is lost in the rounding of the energy.
fn is_lost(slope: &Slope, predicted: f64) -> bool {
    predicted < 1e-14 * slope.energy.abs()
}

/// Where the rows of the system begin: at the first point tied to theirs.
fn envelope_of(order: &[usize], place: &[Option<usize>], neighbours: &[Vec<usize>]) -> Vec<usize> {
    let first = |(index, &node): (usize, &usize)| {
        let least = neighbours[node].iter().filter_map(|&other| place[other]).min().unwrap_or(index).min(index);
        [3 * least; 3]
    };
    order.iter().enumerate().flat_map(first).collect()
}

/// A loaded point is held only where ties lead from it to a point that does not move.
fn refuse_unheld(net: &Net, held: &[bool]) -> Result<(), Unrest> {
    let mut reached = held.to_vec();
    let ties: Vec<_> = net.ties().collect();
    loop {
        let before = reached.iter().filter(|&&reached| reached).count();
        for &[a, b] in &ties {
            let either = reached[a] || reached[b];
            (reached[a], reached[b]) = (either, either);
        }
        if reached.iter().filter(|&&reached| reached).count() == before {
            break;
        }
    }
    match (0..net.nodes.len()).find(|&node| !reached[node] && net.nodes[node].load.norm() > 0.0) {
        Some(node) => Err(Unrest::NotHeld { node }),
        None => Ok(()),
    }
}
