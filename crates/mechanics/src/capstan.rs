//! Friction of a rope that turns over something round.

use crate::number::Number;

/// The ratio of the tensions on both sides at which a rope that turns by `angle` (rad) begins to run.
///
/// T₁ / T₂ = exp(μ α), the capstan equation (L. Euler, 1775); `friction` is μ, at least 0.
#[inline]
#[must_use]
pub fn ratio<N: Number>(friction: N, angle: N) -> N {
    (friction * angle).exp()
}
