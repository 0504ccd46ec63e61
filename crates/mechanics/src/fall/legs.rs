//! Slings in a fall: linearly implicit, solved together wherever light points hang on one another.

use super::{Fall, Kind, Leg};
use crate::number::{Mask, Number};
use crate::vector::Vector;

/// Share of critical damping of a leg on its lighter end: without it a light joint rings without end.
const DAMPING_RATIO: f64 = 0.1;

/// The legs of a fall, and the groups of moving points that they tie together.
#[derive(Debug, Clone)]
pub(super) struct Legs<N: Number> {
    pub state: Vec<LegState<N>>,
    groups: Vec<Group<N>>,
}

/// A leg at the moment of a step.
#[derive(Debug, Clone, Copy)]
pub(super) struct LegState<N: Number> {
    ends: [usize; 2],
    stiffness: N,
    damping: N,
    length: N,
    /// Of the first end toward the second.
    direction: Vector<N>,
    distance: N,
    taut: N::Mask,
    /// At the moment that is being looked at.
    pub tension: N,
    pub tears: Tearing<N>,
}

/// What is left to tear in a leg.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tearing<N: Number> {
    at: N,
    /// How much, m: zero where it does not tear.
    pub left: N,
    /// Whether it tears at this moment.
    goes_on: N::Mask,
    /// How far the leg was stretched at the end of the step before, m.
    stretched: N,
}

/// Moving points tied by legs, and the matrix of their common kick.
#[derive(Debug, Clone)]
struct Group<N> {
    nodes: Vec<usize>,
    legs: Vec<usize>,
    /// For each leg, the places of its ends within the group.
    places: Vec<[Option<usize>; 2]>,
    matrix: Vec<N>,
    right: Vec<N>,
}

impl<N: Number> Legs<N> {
    pub fn new(fall: &Fall<N>) -> Self {
        let mut state: Vec<_> = fall.legs.iter().map(|leg| LegState::new(leg, fall)).collect();
        for tear in &fall.tears {
            state[tear.leg].tears = Tearing { at: tear.at, left: tear.most, ..state[tear.leg].tears };
        }
        Self { state, groups: groups(fall) }
    }

    /// Which points move in common with others through legs.
    pub fn grouped(&self) -> impl Iterator<Item = usize> + '_ {
        self.groups.iter().flat_map(|group| group.nodes.iter().copied())
    }

    /// Pulls of the legs on their ends with the positions and velocities as they stand, added to `force`.
    #[inline]
    pub fn pull(&mut self, at: &[Vector<N>], velocity: &[Vector<N>], force: &mut [Vector<N>]) {
        self.state.iter_mut().for_each(|leg| leg.measure(at, velocity));
        self.add_pulls(force);
    }

    /// Adds the tensions of the moment to the forces on the ends.
    #[inline]
    pub fn add_pulls(&self, force: &mut [Vector<N>]) {
        for leg in &self.state {
            let pull = leg.direction * leg.tension;
            force[leg.ends[0]] += pull;
            force[leg.ends[1]] -= pull;
        }
    }

    /// What the stretched legs store, J.
    pub fn stored(&self) -> N {
        let half = N::splat(0.5);
        self.state.iter().fold(N::zero(), |energy, leg| {
            let stretch = (leg.distance - leg.length).max(N::zero());
            energy + half * leg.stiffness * stretch * stretch
        })
    }

    /// The change of velocity over `span` seconds of all points in groups, given the forces on them.
    ///
    /// (M + h²/4 K + h/2 C) Δv = span F, with h the whole step.
    #[inline]
    pub fn kick(&mut self, step: f64, span: N, mass: &[N], force: &[Vector<N>], change: &mut [Vector<N>]) {
        for group in &mut self.groups {
            group.kick(&self.state, step, span, mass, force, change);
        }
    }

    /// Brings the tensions to the moment within the kick where positions and velocities belong together: past `share`
    /// of it.
    #[inline]
    pub fn centre(&mut self, change: &[Vector<N>], share: N) {
        for leg in &mut self.state {
            let [first, second] = leg.ends;
            let rate = leg.direction.dot(change[second] - change[first]) * share;
            let tension = (leg.tension + leg.damping * rate).max(N::zero());
            leg.tension = leg.tears.cap(N::select(leg.taut, tension, N::zero()));
        }
    }
}

impl<N: Number> LegState<N> {
    fn new(leg: &Leg<N>, fall: &Fall<N>) -> Self {
        let lighter = leg.ends.iter().filter_map(|&end| mass(fall, end)).reduce(N::min).unwrap_or(N::zero());
        let damping = N::splat(2.0 * DAMPING_RATIO) * (leg.stiffness * lighter).sqrt();
        Self {
            ends: leg.ends,
            stiffness: leg.stiffness,
            damping,
            length: leg.length,
            direction: Vector::zero(),
            distance: N::zero(),
            taut: N::Mask::splat(false),
            tension: N::zero(),
            tears: Tearing {
                at: N::splat(f64::INFINITY),
                left: N::zero(),
                goes_on: N::Mask::splat(false),
                stretched: N::zero(),
            },
        }
    }

    /// tension = k (d − length) + 2 · 0.1 · √(k m) d' where the leg is stretched and the sum is positive, else 0.
    #[inline]
    fn measure(&mut self, at: &[Vector<N>], velocity: &[Vector<N>]) {
        let [first, second] = self.ends;
        (self.distance, self.direction) = (at[second] - at[first]).length_and_direction();
        let stretch = self.distance - self.length;
        let rate = self.direction.dot(velocity[second] - velocity[first]);
        let tension = self.stiffness * stretch + self.damping * rate;
        self.taut = stretch.gt(N::zero()) & tension.gt(N::zero());
        self.tension = self.tears.cap(N::select(self.taut, tension, N::zero()));
    }

    /// Gives way where spring and damper together would pull harder than it tears, by as much as brings them back to that
    /// (implicit return; J. C. Simo, T. J. R. Hughes, Computational Inelasticity, 1998, ch. 1.4).
    #[inline]
    pub fn tear(&mut self, at: &[Vector<N>], step: f64) {
        let rate = self.damping / N::splat(step);
        let stretch = (at[self.ends[1]] - at[self.ends[0]]).norm() - self.length;
        let pull = self.stiffness * stretch + rate * (stretch - self.tears.stretched);
        let borne = (self.tears.at + rate * self.tears.stretched) / (self.stiffness + rate);
        let gives = pull.gt(self.tears.at) & self.tears.left.gt(N::zero());
        let torn = N::select(gives, (stretch - borne).max(N::zero()).min(self.tears.left), N::zero());
        self.length += torn;
        self.tears.left -= torn;
        self.tears.goes_on = gives & self.tears.left.gt(N::zero());
        self.tears.stretched = (stretch - torn).max(N::zero());
    }

    /// h²/4 of the stiffness and h/2 of the damping, along the leg and across it; zero where slack.
    #[inline]
    fn implicit(&self, step: f64) -> (N, N) {
        let quarter = N::splat(step * step / 4.0);
        let across = quarter * self.stiffness * (self.distance - self.length) / self.distance;
        let along = quarter * self.stiffness + N::splat(step / 2.0) * self.damping;
        (N::select(self.taut & !self.tears.goes_on, along, N::zero()), N::select(self.taut, across, N::zero()))
    }

    /// The same as a matrix.
    #[inline]
    fn implicit_matrix(&self, step: f64) -> [[N; 3]; 3] {
        let (along, across) = self.implicit(step);
        let direction = self.direction.0;
        std::array::from_fn(|row| {
            std::array::from_fn(|column| {
                let value = (along - across) * direction[row] * direction[column];
                if row == column { value + across } else { value }
            })
        })
    }
}

impl<N: Number> Tearing<N> {
    /// What it tears at while it does; no more than that while there is something left to tear.
    #[inline]
    fn cap(&self, tension: N) -> N {
        let capped = N::select(self.left.gt(N::zero()), tension.min(self.at), tension);
        N::select(self.goes_on, self.at, capped)
    }
}

impl<N: Number> Group<N> {
    fn kick(
        &mut self,
        legs: &[LegState<N>],
        step: f64,
        span: N,
        mass: &[N],
        force: &[Vector<N>],
        change: &mut [Vector<N>],
    ) {
        if let [node] = self.nodes[..] {
            let legs = self.legs.iter().map(|&leg| legs[leg].implicit_matrix(step));
            change[node] = kick_of_one(mass[node], legs, force[node] * span);
            return;
        }
        let size = 3 * self.nodes.len();
        self.matrix.fill(N::zero());
        for (place, &node) in self.nodes.iter().enumerate() {
            for axis in 0..3 {
                self.matrix[(3 * place + axis) * (size + 1)] = mass[node];
                self.right[3 * place + axis] = force[node].0[axis] * span;
            }
        }
        for index in 0..self.legs.len() {
            self.stiffen(&legs[self.legs[index]], self.places[index], step);
        }
        solve_symmetric(&mut self.matrix, &mut self.right, size);
        for (place, &node) in self.nodes.iter().enumerate() {
            change[node] = Vector(std::array::from_fn(|axis| self.right[3 * place + axis]));
        }
    }

    /// Adds one leg to the lower triangle of the matrix.
    #[inline]
    fn stiffen(&mut self, leg: &LegState<N>, places: [Option<usize>; 2], step: f64) {
        let size = 3 * self.nodes.len();
        let block = leg.implicit_matrix(step);
        for (row, column, sign) in [(0, 0, 1.0), (1, 1, 1.0), (0, 1, -1.0), (1, 0, -1.0)] {
            if let (Some(row), Some(column)) = (places[row], places[column]) {
                for (row_axis, entries) in block.iter().enumerate() {
                    for (column_axis, &entry) in entries.iter().enumerate() {
                        self.matrix[(3 * row + row_axis) * size + 3 * column + column_axis] += N::splat(sign) * entry;
                    }
                }
            }
        }
    }
}

/// The kick of a point that legs tie to nothing else that moves, as most draws are: [`solve_symmetric`] written out for three
/// rows, bit for bit.
#[inline]
fn kick_of_one<N: Number>(mass: N, legs: impl Iterator<Item = [[N; 3]; 3]>, push: Vector<N>) -> Vector<N> {
    let zero = N::zero();
    let mut sum = [[mass, zero, zero], [zero, mass, zero], [zero, zero, mass]];
    for block in legs {
        for (sum, block) in sum.iter_mut().flatten().zip(block.iter().flatten()) {
            *sum += *block;
        }
    }
    let [[d0, ..], [m10, m11, _], [m20, m21, m22]] = sum;
    let [r0, r1, r2] = push.0;
    let l10 = m10 / d0;
    let d1 = m11 - l10 * l10 * d0;
    let r1 = r1 - l10 * r0;
    let l20 = m20 / d0;
    let l21 = (m21 - l20 * l10 * d0) / d1;
    let d2 = m22 - l20 * l20 * d0 - l21 * l21 * d1;
    let r2 = r2 - l20 * r0 - l21 * r1;
    let x2 = r2 / d2;
    let x1 = r1 / d1 - l21 * x2;
    Vector([r0 / d0 - l10 * x1 - l20 * x2, x1, x2])
}

/// Solves A x = b for a symmetric positive definite A by A = L D Lᵀ; `right` becomes x. Only the lower triangle is read.
fn solve_symmetric<N: Number>(matrix: &mut [N], right: &mut [N], size: usize) {
    for row in 0..size {
        for column in 0..row {
            let mut sum = matrix[row * size + column];
            for inner in 0..column {
                sum -= matrix[row * size + inner] * matrix[column * size + inner] * matrix[inner * (size + 1)];
            }
            matrix[row * size + column] = sum / matrix[column * (size + 1)];
        }
        for inner in 0..row {
            let factor = matrix[row * size + inner];
            let pivot = factor * factor * matrix[inner * (size + 1)];
            matrix[row * (size + 1)] -= pivot;
            let above = right[inner];
            right[row] -= factor * above;
        }
    }
    for row in (0..size).rev() {
        let mut value = right[row] / matrix[row * (size + 1)];
        for below in row + 1..size {
            value -= matrix[below * size + row] * right[below];
        }
        right[row] = value;
    }
}

fn mass<N: Number>(fall: &Fall<N>, node: usize) -> Option<N> {
    match fall.nodes[node].kind {
        Kind::Fixed => None,
        Kind::Free(mass) | Kind::Stands(mass) => Some(mass),
    }
}

/// The moving points that legs tie together, group by group in the order of their first leg.
fn groups<N: Number>(fall: &Fall<N>) -> Vec<Group<N>> {
    let mut group_of: Vec<Option<usize>> = vec![None; fall.nodes.len()];
    let mut count = 0;
    for leg in &fall.legs {
        let moving: Vec<usize> = leg.ends.into_iter().filter(|&end| fall.moves(end)).collect();
        let known: Vec<usize> = moving.iter().filter_map(|&end| group_of[end]).collect();
        let group = known.first().copied().unwrap_or_else(|| {
            count += 1;
            count - 1
        });
        moving.iter().for_each(|&end| group_of[end] = Some(group));
        for place in group_of.iter_mut().filter(|place| place.is_some_and(|other| known.contains(&other))) {
            *place = Some(group);
        }
    }
    (0..count).map(|group| gather(fall, &group_of, group)).filter(|group| !group.nodes.is_empty()).collect()
}

fn gather<N: Number>(fall: &Fall<N>, group_of: &[Option<usize>], group: usize) -> Group<N> {
    let nodes: Vec<usize> = (0..group_of.len()).filter(|&node| group_of[node] == Some(group)).collect();
    let place = |end: usize| nodes.iter().position(|&node| node == end);
    let legs: Vec<usize> =
        (0..fall.legs.len()).filter(|&leg| fall.legs[leg].ends.iter().any(|&end| place(end).is_some())).collect();
    let places = legs.iter().map(|&leg| fall.legs[leg].ends.map(place)).collect();
    let size = 3 * nodes.len();
    Group { places, legs, matrix: vec![N::zero(); size * size], right: vec![N::zero(); size], nodes }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_rows_written_out_give_the_bits_of_the_general_way() {
        let [along, up] = [[0.3, -0.2, 0.933], [0.01, 0.05, -0.999]];
        let block =
            |direction: [f64; 3], stiffness: f64| direction.map(|row| direction.map(|column| stiffness * row * column));
        let legs = [block(along, 0.7), block(up, 12.0)];
        let (mass, push) = (0.1, [3.0, -1.0, 7.0]);
        let entry = |row: usize, column: usize| {
            let mass = if row == column { mass } else { 0.0 };
            mass + legs[0][row][column] + legs[1][row][column]
        };
        let mut matrix: Vec<f64> = (0..9).map(|place| entry(place / 3, place % 3)).collect();
        let mut right = push;
        solve_symmetric(&mut matrix, &mut right, 3);
        assert_eq!(kick_of_one(mass, legs.into_iter(), Vector(push)).0.map(f64::to_bits), right.map(f64::to_bits));
        let back = |row: usize| (0..3).map(|column| entry(row, column) * right[column]).sum::<f64>();
        assert!((0..3).all(|row| (back(row) - push[row]).abs() < 1e-12), "and solve the system");
    }
}
