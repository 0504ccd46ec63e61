//! The number that the fall engine counts in: one `f64`, or several side by side.
//!
//! Branches on a value become masks and selections, so that a lane behaves bit for bit as it would alone.

use std::fmt::Debug;
use std::ops::{Add, AddAssign, BitAnd, BitOr, Div, Mul, Neg, Not, Sub, SubAssign};

/// One truth value per lane.
pub trait Mask: Copy + Debug + BitAnd<Output = Self> + BitOr<Output = Self> + Not<Output = Self> {
    /// The same truth value in every lane.
    fn splat(value: bool) -> Self;
    /// Whether it is true in at least one lane.
    fn any(self) -> bool;
}

/// One real number per lane.
pub trait Number:
    Copy
    + Debug
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + AddAssign
    + SubAssign
{
    /// The result of a comparison.
    type Mask: Mask;

    /// The same number in every lane.
    fn splat(value: f64) -> Self;
    /// Square root.
    fn sqrt(self) -> Self;
    /// e to the power of this.
    fn exp(self) -> Self;
    /// The angle in radians of the point (x, self).
    fn atan2(self, x: Self) -> Self;
    /// Whether this is less than `other`; false where either is not a number.
    fn lt(self, other: Self) -> Self::Mask;
    /// `yes` where the mask is true, `no` elsewhere.
    fn select(mask: Self::Mask, yes: Self, no: Self) -> Self;
    /// Whether every lane is finite.
    fn is_finite(self) -> bool;
    /// The number of one lane, counted from 0.
    fn lane(self, lane: usize) -> f64;

    /// Zero.
    #[inline]
    fn zero() -> Self {
        Self::splat(0.0)
    }
    /// Whether this is greater than `other`.
    #[inline]
    fn gt(self, other: Self) -> Self::Mask {
        other.lt(self)
    }
    /// The greater of the two; `self` where they compare as neither.
    #[inline]
    fn max(self, other: Self) -> Self {
        Self::select(self.lt(other), other, self)
    }
    /// The lesser of the two; `self` where they compare as neither.
    #[inline]
    fn min(self, other: Self) -> Self {
        Self::select(other.lt(self), other, self)
    }
    /// Absolute value.
    #[inline]
    fn abs(self) -> Self {
        Self::select(self.lt(Self::zero()), -self, self)
    }
}

impl Mask for bool {
    #[inline]
    fn splat(value: bool) -> Self {
        value
    }
    #[inline]
    fn any(self) -> bool {
        self
    }
}

impl Number for f64 {
    type Mask = bool;

    #[inline]
    fn splat(value: f64) -> Self {
        value
    }
    #[inline]
    fn sqrt(self) -> Self {
        self.sqrt()
    }
    #[inline]
    fn exp(self) -> Self {
        self.exp()
    }
    #[inline]
    fn atan2(self, x: Self) -> Self {
        self.atan2(x)
    }
    #[inline]
    fn lt(self, other: Self) -> bool {
        self < other
    }
    #[inline]
    fn select(mask: bool, yes: Self, no: Self) -> Self {
        if mask { yes } else { no }
    }
    #[inline]
    fn is_finite(self) -> bool {
        self.is_finite()
    }
    #[inline]
    fn lane(self, lane: usize) -> f64 {
        debug_assert!(lane == 0, "one number has one lane");
        self
    }
}

/// Several numbers side by side, so that several falls of one shape run as one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lanes<const L: usize>(pub [f64; L]);

/// The truth values of [`Lanes`]: all bits of a lane are set where it is true, so that a selection is a bit operation that
/// the processor does for several lanes at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LaneMask<const L: usize>([u64; L]);

impl<const L: usize> Mask for LaneMask<L> {
    #[inline]
    fn splat(value: bool) -> Self {
        Self([bits(value); L])
    }
    #[inline]
    fn any(self) -> bool {
        self.0.iter().fold(0, |any, lane| any | lane) != 0
    }
}

#[inline]
const fn bits(value: bool) -> u64 {
    if value { u64::MAX } else { 0 }
}

macro_rules! lanewise {
    ($type:ident: $($trait:ident :: $method:ident = $op:tt),+) => { $(
        impl<const L: usize> $trait for $type<L> {
            type Output = Self;
            #[inline]
            fn $method(self, other: Self) -> Self {
                Self(std::array::from_fn(|lane| self.0[lane] $op other.0[lane]))
            }
        }
    )+ };
}
lanewise!(Lanes: Add::add = +, Sub::sub = -, Mul::mul = *, Div::div = /);
lanewise!(LaneMask: BitAnd::bitand = &, BitOr::bitor = |);

impl<const L: usize> Neg for Lanes<L> {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        Self(self.0.map(|value| -value))
    }
}

impl<const L: usize> Not for LaneMask<L> {
    type Output = Self;
    #[inline]
    fn not(self) -> Self {
        Self(self.0.map(|value| !value))
    }
}

impl<const L: usize> AddAssign for Lanes<L> {
    #[inline]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl<const L: usize> SubAssign for Lanes<L> {
    #[inline]
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl<const L: usize> Number for Lanes<L> {
    type Mask = LaneMask<L>;

    #[inline]
    fn splat(value: f64) -> Self {
        Self([value; L])
    }
    #[inline]
    fn sqrt(self) -> Self {
        Self(self.0.map(f64::sqrt))
    }
    #[inline]
    fn exp(self) -> Self {
        Self(self.0.map(f64::exp))
    }
    #[inline]
    fn atan2(self, x: Self) -> Self {
        Self(std::array::from_fn(|lane| self.0[lane].atan2(x.0[lane])))
    }
    #[inline]
    fn lt(self, other: Self) -> LaneMask<L> {
        LaneMask(std::array::from_fn(|lane| bits(self.0[lane] < other.0[lane])))
    }
    #[inline]
    fn select(mask: LaneMask<L>, yes: Self, no: Self) -> Self {
        Self(std::array::from_fn(|lane| {
            let chosen = (mask.0[lane] & yes.0[lane].to_bits()) | (!mask.0[lane] & no.0[lane].to_bits());
            f64::from_bits(chosen)
        }))
    }
    #[inline]
    fn is_finite(self) -> bool {
        self.0.iter().all(|value| value.is_finite())
    }
    #[inline]
    fn lane(self, lane: usize) -> f64 {
        self.0[lane]
    }
}
