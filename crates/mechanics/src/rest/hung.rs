//! A rope with a weight of its own, over points without friction: catenaries that share one rope.
//!
//! How much rope lies in which span is found within: where the energy is least, and the tension then is the same on
//! both sides of every point. A rope that hangs deep (sag over a third of the span) has more than one such place; the
//! one nearest to a share by distance is taken.

use super::catenary::{Catenary, Hanging};
use super::{Line, Point};
use crate::vector::Vector;

/// Two ends that stand one above the other are taken this share of the rope's length apart: the catenary has no
/// horizontal force to lose there.
const LEAST_APART: f64 = 1e-9;
/// Rounds in which the rope finds its place.
const MOST_ROUNDS: usize = 60;
/// How closely tensions agree at a point, as a share of the largest; and how closely where rounding allows no more.
const CLOSENESS: f64 = 1e-13;
const CLOSE_ENOUGH: f64 = 1e-10;
/// The share of its rope that a span may lose in one round.
const MOST_LOST: f64 = 0.5;

/// A rope in place over points.
#[derive(Debug, Clone)]
pub(super) struct Hung {
    spans: Vec<HungSpan>,
}

#[derive(Debug, Clone, Copy)]
struct HungSpan {
    /// Places of its ends among the points, and the height of the near one, m.
    ends: [usize; 2],
    height: f64,
    /// Horizontal unit vector from the near end to the far one.
    along: [f64; 2],
    hanging: Hanging,
}

/// The second derivative of a rope's energy: blocks of three rows and columns by two points.
pub(super) type Blocks<'a> = dyn FnMut(usize, usize, [[f64; 3]; 3]) + 'a;

impl Hung {
    pub fn new(line: &Line, at: impl Fn(usize) -> Point) -> Self {
        let place = |pair: &[usize]| (at(pair[1]) - at(pair[0]), at(pair[0]).0[2]);
        let chord: f64 = line.through.windows(2).map(|pair| place(pair).0.norm()).sum();
        let span = |pair: &[usize]| {
            let (way, height) = place(pair);
            let length = line.length * way.norm() / chord;
            HungSpan::new(line, [pair[0], pair[1]], way, height, length)
        };
        let mut hung = Self { spans: line.through.windows(2).map(span).collect() };
        hung.share_out();
        hung
    }

    /// Newton's method for the unstretched lengths, of which the sum is given.
    fn share_out(&mut self) {
        if self.spans.len() == 1 {
            return;
        }
        let mut before = f64::INFINITY;
        for _ in 0..MOST_ROUNDS {
            let worth: Vec<f64> = self.spans.iter().map(HungSpan::worth).collect();
            let give: Vec<f64> = self.spans.iter().map(|span| 1.0 / span.stiffening()).collect();
            let common = dot(&worth, &give) / give.iter().sum::<f64>();
            let tension = self.spans.iter().flat_map(|span| span.hanging.tension).fold(0.0, f64::max);
            let apart = worth.iter().map(|worth| (worth - common).abs() / tension).fold(0.0, f64::max);
            if apart <= CLOSENESS || (apart <= CLOSE_ENOUGH && apart > 0.5 * before) {
                return;
            }
            before = apart;
            let moved: Vec<f64> = worth.iter().zip(&give).map(|(worth, give)| give * (common - worth)).collect();
            let room = |(span, moved): (&HungSpan, &f64)| {
                if *moved < 0.0 { -MOST_LOST * span.hanging.span.length / moved } else { f64::INFINITY }
            };
            let share = self.spans.iter().zip(&moved).map(room).fold(1.0, f64::min);
            for (span, moved) in self.spans.iter_mut().zip(moved) {
                span.take(share * moved);
            }
        }
    }

    pub fn energy(&self) -> f64 {
        let height = |span: &HungSpan| span.height * span.hanging.span.weight * span.hanging.span.length;
        self.spans.iter().map(|span| span.hanging.energy() + height(span)).sum()
    }

    /// Calls `see` with the ends of each span and the pull on each of them.
    pub fn each_pull(&self, mut see: impl FnMut([usize; 2], [Point; 2])) {
        self.spans.iter().for_each(|span| see(span.ends, span.pulls()));
    }

    /// Calls `add` with the blocks of the second derivative; the lengths follow the points.
    pub fn each_block(&self, add: &mut Blocks<'_>) {
        let mut coupling: Vec<(usize, [f64; 3])> = Vec::new();
        let mut give = 0.0;
        for span in &self.spans {
            span.each_block(add);
            let stiffness = span.stiffening();
            give += 1.0 / stiffness;
            let ends = span.coupling();
            outer(&ends, &ends, -1.0 / stiffness, add);
            coupling.extend(ends.map(|(node, vector)| (node, vector.map(|entry| entry / stiffness))));
        }
        outer(&coupling, &coupling, 1.0 / give, add);
    }

    /// The spans as they hang.
    pub fn strands(&self, at: impl Fn(usize) -> Point) -> Vec<super::Strand> {
        self.spans.iter().map(|span| span.strand(at(span.ends[0]))).collect()
    }
}

/// Places along a span at which its shape is given.
const SHAPE_PLACES: usize = 24;

impl HungSpan {
    fn new(line: &Line, ends: [usize; 2], way: Point, height: f64, length: f64) -> Self {
        let [x, y, rise] = way.0;
        let level = x.hypot(y);
        let distance = level.max(LEAST_APART * line.length);
        let along = if level > 0.0 { [x / level, y / level] } else { [1.0, 0.0] };
        let span = Catenary { distance, rise, length, weight: line.weight, stiffness: line.stiffness };
        Self { ends, height, along, hanging: span.hang() }
    }

    /// What a metre of rope more in this span is worth, N.
    fn worth(&self) -> f64 {
        self.hanging.worth() + self.hanging.span.weight * self.height
    }

    /// How fast that grows with the length, N/m. A span that hangs too deep to hold its own goes the other way; its size
    /// then still tells how far to go.
    fn stiffening(&self) -> f64 {
        self.hanging.curvature().by_length.abs().max(f64::MIN_POSITIVE)
    }

    fn take(&mut self, length: f64) {
        let span = self.hanging.span;
        self.hanging = Catenary { length: span.length + length, ..span }.hang();
    }

    fn pulls(&self) -> [Point; 2] {
        let Hanging { horizontal, upward, .. } = self.hanging;
        let [x, y] = self.along.map(|part| part * horizontal);
        [Vector([x, y, upward[0]]), Vector([-x, -y, -upward[1]])]
    }

    fn each_block(&self, add: &mut Blocks<'_>) {
        let [[along, mixed], [_, up]] = self.hanging.curvature().by_place;
        let across = self.hanging.horizontal / self.hanging.span.distance;
        let [x, y] = self.along;
        let level = |a: f64, b: f64, same: f64| (along - across) * a * b + same * across;
        let block = [
            [level(x, x, 1.0), level(x, y, 0.0), mixed * x],
            [level(y, x, 0.0), level(y, y, 1.0), mixed * y],
            [mixed * x, mixed * y, up],
        ];
        for (row, row_sign) in self.ends.into_iter().zip([-1.0, 1.0]) {
            for (column, column_sign) in self.ends.into_iter().zip([-1.0, 1.0]) {
                add(row, column, block.map(|row| row.map(|entry| row_sign * column_sign * entry)));
            }
        }
    }

    /// The second derivative of the span's energy by its ends and its length.
    fn coupling(&self) -> [(usize, [f64; 3]); 2] {
        let [along, up] = self.hanging.curvature().by_place_and_length;
        let [x, y] = self.along.map(|part| part * along);
        [(self.ends[0], [-x, -y, self.hanging.span.weight - up]), (self.ends[1], [x, y, up])]
    }

    fn strand(&self, near: Point) -> super::Strand {
        let place = |length: f64| {
            let [along, up] = self.hanging.at(length);
            near + Vector([self.along[0] * along, self.along[1] * along, up])
        };
        let length = self.hanging.span.length;
        super::Strand {
            pulls: self.pulls(),
            tension: self.hanging.tension[0].max(self.hanging.tension[1]),
            length,
            lowest: place(self.hanging.lowest()).0[2],
            shape: (0..=SHAPE_PLACES).map(|index| place(length * index as f64 / SHAPE_PLACES as f64)).collect(),
        }
    }
}

fn outer(one: &[(usize, [f64; 3])], other: &[(usize, [f64; 3])], factor: f64, add: &mut Blocks<'_>) {
    for &(row, left) in one {
        for &(column, right) in other {
            add(row, column, left.map(|left| right.map(|right| factor * left * right)));
        }
    }
}

fn dot(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(one, other)| one * other).sum()
}
