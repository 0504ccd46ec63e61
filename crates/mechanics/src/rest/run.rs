//! A rope whose segments share one tension in fixed proportions: what a rope on the move is once its turns are known.

use super::{Net, Point, Slope, Solver, Span, add, line_spans};
use crate::vector::Vector;

/// What decides the one tension.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pull {
    /// It is given, N: the rope gives way as far as it likes.
    Given(f64),
    /// It grows with the weighted length Σ `shares` × distance: N per m of it beyond `length` (m).
    Grows {
        /// N per m of weighted length.
        stiffness: f64,
        /// The weighted length at which it begins to pull, m.
        length: f64,
    },
}

/// A rope whose tension in segment k is `shares[k]` × its one tension + `more[k]`.
///
/// For fixed shares its energy is ½ stiffness × (weighted length − length)² + Σ `more` × distance: convex wherever every
/// segment pulls.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Its points, at least two.
    pub through: Vec<usize>,
    /// By segment: what it takes of the one tension, above 0.
    pub shares: Vec<f64>,
    /// By segment: what comes to that, N.
    pub more: Vec<f64>,
    /// What decides the one tension.
    pub pull: Pull,
}

impl Run {
    /// Tension of a segment, N, under the one tension `pull`.
    #[must_use]
    pub fn tension(&self, segment: usize, pull: f64) -> f64 {
        self.shares[segment] * pull + self.more[segment]
    }

    fn stretch(&self, length: f64, spans: &[Span]) -> f64 {
        let weighted = |part: fn(&Span) -> f64| {
            spans.iter().zip(&self.shares).map(|(span, share)| share * part(span)).sum::<f64>()
        };
        weighted(|span| span.lengthening) + (weighted(|span| span.drawn) - length)
    }

    /// The one tension, N.
    pub(super) fn pull_at(&self, spans: &[Span]) -> f64 {
        match self.pull {
            Pull::Given(pull) => pull,
            Pull::Grows { stiffness, length } => (stiffness * self.stretch(length, spans)).max(0.0),
        }
    }

    pub(super) fn energy(&self, spans: &[Span]) -> f64 {
        let pull = self.pull_at(spans);
        let own = match self.pull {
            Pull::Given(pull) => {
                spans.iter().zip(&self.shares).map(|(span, share)| pull * share * span.lengthening).sum()
            }
            Pull::Grows { stiffness, .. } => 0.5 * pull * pull / stiffness,
        };
        own + spans.iter().zip(&self.more).map(|(span, more)| more * span.lengthening).sum::<f64>()
    }

    /// A scale, N/m: against the heaviest segment, and of a given pull across a metre of it.
    pub(super) fn stiffness(&self) -> f64 {
        let heaviest = self.shares.iter().copied().fold(0.0, f64::max);
        match self.pull {
            Pull::Given(pull) => pull * heaviest,
            Pull::Grows { stiffness, .. } => stiffness * heaviest * heaviest,
        }
    }
}

impl Net {
    pub(super) fn pull_of(&self, run: &Run, moved: &[Point]) -> f64 {
        run.pull_at(&line_spans(self, &run.through, moved))
    }
}

impl Solver<'_> {
    pub(super) fn add_runs(&self, moved: &[Point], slope: &mut Slope) {
        for run in &self.net.runs {
            let spans = line_spans(self.net, &run.through, moved);
            slope.energy += run.energy(&spans);
            let pull = run.pull_at(&spans);
            for (segment, (pair, span)) in run.through.windows(2).zip(&spans).enumerate() {
                let force = span.direction * run.tension(segment, pull);
                for (end, force) in [(pair[0], -force), (pair[1], force)] {
                    if let Some(place) = self.place[end] {
                        add(&mut slope.gradient, place, force);
                    }
                }
            }
        }
    }

    pub(super) fn stiffen_run(&mut self, run: &Run) {
        let spans = line_spans(self.net, &run.through, &self.moved);
        let pull = run.pull_at(&spans);
        let mut lengthening = vec![Vector::zero(); run.through.len()];
        for (segment, (pair, span)) in run.through.windows(2).zip(&spans).enumerate() {
            lengthening[segment] -= span.direction * run.shares[segment];
            lengthening[segment + 1] += span.direction * run.shares[segment];
            if span.distance > 0.0 {
                let across = run.tension(segment, pull).max(0.0) / span.distance;
                self.stiffen([pair[0], pair[1]], span.direction, 0.0, across);
            }
        }
        let Pull::Grows { stiffness, length } = run.pull else { return };
        if run.stretch(length, &spans) >= 0.0 {
            self.stiffen_together(&run.through, &lengthening, stiffness);
        }
    }
}
