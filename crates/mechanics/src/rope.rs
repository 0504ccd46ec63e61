//! The response of a rope: a standard linear solid that cannot push.

use crate::number::Number;

/// The three numbers of the standard linear solid (a spring beside a spring and dashpot in series;
/// W. N. Findley, J. S. Lai, K. Onaran, Creep and Relaxation of Nonlinear Viscoelastic Materials, 1976, ch. 5).
///
/// T = slow ε + q,  q' = fast ε' − q / relax.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Response<N> {
    /// Stiffness after a long time: force per unit strain, N, positive.
    pub slow: N,
    /// Stiffness that relaxes: force per unit strain, N, not negative.
    pub fast: N,
    /// Relaxation time in s, positive.
    pub relax: N,
}

/// What a step of fixed length makes of a response: the trapezoidal rule for q.
///
/// (1 + η) q₁ = (1 − η) q₀ + fast (ε₁ − ε₀) with η = h / (2 relax).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stepped<N> {
    slow: N,
    /// fast / (1 + η)
    fast: N,
    /// (1 − η) / (1 + η)
    keep: N,
    /// The factor on q of a free strand over one step.
    recover: N,
    /// slow + fast / (1 + η): the stiffness that a step sees.
    pub stiffness: N,
}

impl<N: Number> Stepped<N> {
    pub fn new(response: Response<N>, step: f64) -> Self {
        let one = N::splat(1.0);
        let eta = N::splat(step / 2.0) / response.relax;
        // A free strand: q' = −(q / relax) slow / (slow + fast).
        let free = eta * response.slow / (response.slow + response.fast);
        let fast = response.fast / (one + eta);
        Self {
            slow: response.slow,
            fast,
            keep: (one - eta) / (one + eta),
            recover: (one - free) / (one + free),
            stiffness: response.slow + fast,
        }
    }

    /// The part of the new tension that the new strain does not touch.
    #[inline]
    pub fn offset(&self, memory: Memory<N>) -> N {
        self.keep * memory.relaxing - self.fast * memory.strain
    }

    /// The memory after a step that ended at `strain` with the tension `tension` (zero where the strand is slack).
    #[inline]
    pub fn remember(&self, memory: Memory<N>, strain: N, tension: N) -> Memory<N> {
        let taut = tension.gt(N::zero());
        let free = memory.relaxing * self.recover;
        Memory {
            relaxing: N::select(taut, tension - self.slow * strain, free),
            strain: N::select(taut, strain, -free / self.slow),
        }
    }
}

/// What a strand remembers: its relaxing tension q, and the strain of its material. A slack strand is drawn shorter
/// than its material is long; its material strain is the one at which it would just pull: −q / slow.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Memory<N> {
    pub relaxing: N,
    pub strain: N,
}

impl<N: Number> Memory<N> {
    /// A strand at rest at `strain`, with nothing to remember: q = 0. Where it is slack, its material is unstrained.
    pub fn at_rest(strain: N) -> Self {
        Self { relaxing: N::zero(), strain: strain.max(N::zero()) }
    }
}
