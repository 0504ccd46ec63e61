//! Vectors in space, z up.

use crate::number::Number;
use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

/// A vector of three components.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vector<N>(pub [N; 3]);

impl<N: Number> Vector<N> {
    /// The zero vector.
    #[inline]
    #[must_use]
    pub fn zero() -> Self {
        Self([N::zero(); 3])
    }

    /// The same vector in every lane.
    #[inline]
    #[must_use]
    pub fn splat(components: [f64; 3]) -> Self {
        Self(components.map(N::splat))
    }

    /// The inner product.
    #[inline]
    #[must_use]
    pub fn dot(self, other: Self) -> N {
        self.0[0] * other.0[0] + self.0[1] * other.0[1] + self.0[2] * other.0[2]
    }

    /// The cross product.
    #[inline]
    #[must_use]
    pub fn cross(self, other: Self) -> Self {
        let ([a, b, c], [x, y, z]) = (self.0, other.0);
        Self([b * z - c * y, c * x - a * z, a * y - b * x])
    }

    /// The length.
    #[inline]
    #[must_use]
    pub fn norm(self) -> N {
        self.dot(self).sqrt()
    }

    /// The length and the direction; the direction of a vector of length zero is zero.
    #[inline]
    #[must_use]
    pub fn length_and_direction(self) -> (N, Self) {
        let length = self.norm();
        let positive = length.gt(N::zero());
        let inverse = N::select(positive, N::splat(1.0) / N::select(positive, length, N::splat(1.0)), N::zero());
        (length, self * inverse)
    }

    /// The angle to `other`, between 0 and π; exact near both ends, where an arc cosine is not.
    #[inline]
    #[must_use]
    pub fn angle_to(self, other: Self) -> N {
        self.cross(other).norm().atan2(self.dot(other))
    }

    /// The vector of one lane.
    #[inline]
    #[must_use]
    pub fn lane(self, lane: usize) -> Vector<f64> {
        Vector(self.0.map(|component| component.lane(lane)))
    }

    /// `yes` where the mask is true, `no` elsewhere.
    #[inline]
    #[must_use]
    pub fn select(mask: N::Mask, yes: Self, no: Self) -> Self {
        Self(std::array::from_fn(|axis| N::select(mask, yes.0[axis], no.0[axis])))
    }
}

impl<N: Number> Add for Vector<N> {
    type Output = Self;
    #[inline]
    fn add(self, other: Self) -> Self {
        Self([self.0[0] + other.0[0], self.0[1] + other.0[1], self.0[2] + other.0[2]])
    }
}

impl<N: Number> Sub for Vector<N> {
    type Output = Self;
    #[inline]
    fn sub(self, other: Self) -> Self {
        Self([self.0[0] - other.0[0], self.0[1] - other.0[1], self.0[2] - other.0[2]])
    }
}

impl<N: Number> Neg for Vector<N> {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        Self([-self.0[0], -self.0[1], -self.0[2]])
    }
}

impl<N: Number> Mul<N> for Vector<N> {
    type Output = Self;
    #[inline]
    fn mul(self, factor: N) -> Self {
        Self([self.0[0] * factor, self.0[1] * factor, self.0[2] * factor])
    }
}

impl<N: Number> AddAssign for Vector<N> {
    #[inline]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl<N: Number> SubAssign for Vector<N> {
    #[inline]
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}
