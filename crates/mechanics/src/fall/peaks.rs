//! The largest of everything over a run.

use super::Fall;
use crate::number::{Mask, Number};
use crate::vector::Vector;

/// The largest pull at one point, and where the point went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NodePeak<N> {
    /// The largest resultant of all that pulls on it, N.
    pub all: N,
    /// The resultant at that moment.
    pub all_vector: Vector<N>,
    /// That moment, s.
    pub all_time: N,
    /// The largest resultant of the ropes that run through it or end at it, N.
    pub ropes: N,
    /// The resultant at that moment.
    pub ropes_vector: Vector<N>,
    /// That moment, s.
    pub ropes_time: N,
    /// Lowest height, m.
    pub lowest: N,
    /// Highest height, m.
    pub highest: N,
    /// When, in s, it was stopped at the first piece; infinite where it never was.
    pub stopped_at: N,
}

/// The largest of everything over a run; the order is that of the fall.
#[derive(Debug, Clone, PartialEq)]
pub struct Peaks<N> {
    /// By point.
    pub nodes: Vec<NodePeak<N>>,
    /// Tension by strand of sling, N.
    pub legs: Vec<N>,
    /// Tension by rope and segment, N.
    pub segments: Vec<Vec<N>>,
    /// By how much each leg that tears has torn open in the end, m; in the order of the fall's tears.
    pub torn: Vec<N>,
    /// When each piece pulled out, s; infinite where it held. In the order of the fall's pieces.
    pub out_at: Vec<N>,
}

impl<N: Number> Peaks<N> {
    pub(super) fn start(fall: &Fall<N>) -> Self {
        let still = |height| NodePeak {
            all: N::zero(),
            all_vector: Vector::zero(),
            all_time: N::zero(),
            ropes: N::zero(),
            ropes_vector: Vector::zero(),
            ropes_time: N::zero(),
            lowest: height,
            highest: height,
            stopped_at: N::splat(f64::INFINITY),
        };
        Self {
            nodes: fall.nodes.iter().map(|node| still(node.at.0[2])).collect(),
            legs: vec![N::zero(); fall.legs.len()],
            segments: fall.lines.iter().map(|line| vec![N::zero(); line.lengths.len()]).collect(),
            torn: vec![N::zero(); fall.tears.len()],
            out_at: vec![N::splat(f64::INFINITY); fall.pieces.len()],
        }
    }
}

impl<N: Number> NodePeak<N> {
    #[inline]
    pub(super) fn see(&mut self, time: f64, height: N, ropes: Vector<N>, all: Vector<N>) {
        self.lowest = self.lowest.min(height);
        self.highest = self.highest.max(height);
        raise((&mut self.ropes, &mut self.ropes_vector, &mut self.ropes_time), ropes, time);
        raise((&mut self.all, &mut self.all_vector, &mut self.all_time), all, time);
    }
}

/// Keeps the greater of a force and what it was. (`peak` is compared as a square, to spare most of the roots.)
#[inline]
fn raise<N: Number>((peak, peak_vector, peak_time): (&mut N, &mut Vector<N>, &mut N), force: Vector<N>, time: f64) {
    let square = force.dot(force);
    let greater = square.gt(*peak * *peak);
    if greater.any() {
        *peak = N::select(greater, square.sqrt(), *peak);
        *peak_vector = Vector::select(greater, force, *peak_vector);
        *peak_time = N::select(greater, N::splat(time), *peak_time);
    }
}
