//! Pieces that pull out: fixed until the pull on them exceeds what they hold in its direction, free from then on.

use super::{Fall, Piece};
use crate::number::{Mask, Number};
use crate::vector::Vector;

/// A piece in the course of a fall.
pub(super) struct Holding<'a, N: Number> {
    piece: &'a Piece<N>,
    is_out: N::Mask,
    /// When it came out, s; infinite while it holds.
    pub out_at: N,
}

impl<'a, N: Number> Holding<'a, N> {
    pub fn all(fall: &'a Fall<N>) -> Vec<Self> {
        let holding = |piece| Self { piece, is_out: N::Mask::splat(false), out_at: N::splat(f64::INFINITY) };
        fall.pieces.iter().map(holding).collect()
    }

    /// While it holds, the rock takes up all of the force; `held` is the inertia of what does not move.
    #[inline]
    pub fn hold(&mut self, force: &mut [Vector<N>], inertia: &mut [N], held: f64, time: f64) {
        let node = self.piece.node;
        let fails = !self.is_out & force[node].norm().gt(self.strength(force[node]));
        self.is_out = self.is_out | fails;
        self.out_at = N::select(fails, N::splat(time), self.out_at);
        force[node] = Vector::select(self.is_out, force[node], Vector::zero());
        inertia[node] = N::select(self.is_out, self.piece.mass, N::splat(held));
    }

    /// What it holds in the direction of a pull: of the first sector that the pull lies in.
    #[inline]
    fn strength(&self, pull: Vector<N>) -> N {
        let cosine = pull.length_and_direction().1.dot(self.piece.direction);
        let mut strength = N::splat(f64::INFINITY);
        for &(least, holds) in self.piece.holds.iter().rev() {
            strength = N::select(cosine.lt(N::splat(least)), strength, holds);
        }
        strength
    }
}
