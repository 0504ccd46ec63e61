//! What the other pieces of a kind say of the rate of one that was not measured yet.
//!
//! Hierarchical normal model (Gelman and others, Bayesian Data Analysis, 3rd ed., 2013, section 5.4): each piece's rate
//! is drawn from N(μ, τ²), each piece's readings give its rate as rⱼ with variance vⱼ. With μ ~ N(0, w²), w that of the
//! wide prior, and given τ,
//!
//! ```text
//! 1/V = 1/w² + Σ 1/(vⱼ + τ²),   μ̂ = V Σ rⱼ/(vⱼ + τ²)
//! p(τ | r) ∝ p(τ) V^½ Π (vⱼ + τ²)^-½ exp(-½ (Σ rⱼ²/(vⱼ + τ²) - μ̂²/V))
//! ```
//!
//! (eq. 5.21 with that prior of μ). The rate of a new piece given τ is N(μ̂, V + τ²); mean and variance of the mixture
//! over τ make the prior. τ is half normal, its scale the root mean square of the rates: pieces of a kind may differ by as
//! much as they wear, not by many times that.

/// The rate of one piece and its standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rate {
    /// Depth per use.
    pub mean: f64,
    /// Its standard deviation (more than 0).
    pub deviation: f64,
}

/// Spreads τ are tried up to this many scales of their half-normal prior.
const SCALES: f64 = 8.0;
/// In even steps: fine enough for pieces that agree to a hundredth of that scale.
const STEPS: usize = 2000;

/// The rate of a new piece of the kind; the wide one, about zero, where there are no others.
#[must_use]
pub fn expected(others: &[Rate], wide: f64) -> Rate {
    let count = others.len() as f64;
    let scale = (others.iter().map(|rate| rate.mean * rate.mean).sum::<f64>() / count).sqrt();
    if others.is_empty() || scale == 0.0 {
        return Rate { mean: 0.0, deviation: wide };
    }
    let spreads = (0..STEPS).map(|step| (step as f64 + 0.5) / STEPS as f64 * SCALES * scale);
    let given: Vec<Given> = spreads.map(|spread| Given::new(others, wide, spread, scale)).collect();
    mixed(&given)
}

/// What holds given one spread τ.
struct Given {
    log_weight: f64,
    mean: f64,
    variance: f64,
}

impl Given {
    fn new(others: &[Rate], wide: f64, spread: f64, scale: f64) -> Self {
        let variances = others.iter().map(|rate| rate.deviation * rate.deviation + spread * spread);
        let (mut precision, mut pull, mut squares, mut logs) = (1.0 / (wide * wide), 0.0, 0.0, 0.0);
        for (rate, variance) in others.iter().zip(variances) {
            precision += 1.0 / variance;
            pull += rate.mean / variance;
            squares += rate.mean * rate.mean / variance;
            logs += variance.ln();
        }
        let mean = pull / precision;
        let prior = -0.5 * (spread / scale) * (spread / scale);
        let log_weight = prior - 0.5 * (precision.ln() + logs + squares - mean * pull);
        Self { log_weight, mean, variance: 1.0 / precision + spread * spread }
    }
}

fn mixed(given: &[Given]) -> Rate {
    let greatest = given.iter().map(|one| one.log_weight).fold(f64::NEG_INFINITY, f64::max);
    let average = |of: &dyn Fn(&Given) -> f64| {
        let weights = || given.iter().map(|one| (one.log_weight - greatest).exp());
        given.iter().zip(weights()).map(|(one, weight)| weight * of(one)).sum::<f64>() / weights().sum::<f64>()
    };
    let mean = average(&|one| one.mean);
    let variance = average(&|one| one.variance + (one.mean - mean) * (one.mean - mean));
    Rate { mean, deviation: variance.sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rates(means: &[f64], deviation: f64) -> Vec<Rate> {
        means.iter().map(|mean| Rate { mean: *mean, deviation }).collect()
    }

    #[test]
    fn nothing_known_is_the_wide_prior() {
        assert_eq!(expected(&[], 3.0), Rate { mean: 0.0, deviation: 3.0 });
    }

    #[test]
    fn many_like_pieces_settle_the_rate_and_unlike_ones_do_not() {
        let alike = expected(&rates(&[1.0, 1.02, 0.98, 1.01, 0.99, 1.0], 0.02), 100.0);
        let unlike = expected(&rates(&[0.5, 1.5, 0.7, 1.3, 0.9, 1.1], 0.02), 100.0);
        assert!((alike.mean - 1.0).abs() < 0.01 && alike.deviation < 0.05, "{alike:?}");
        assert!(unlike.deviation > 0.3 && unlike.deviation < 0.7, "{unlike:?}");
    }

    #[test]
    fn one_other_piece_says_little() {
        let one = expected(&rates(&[1.0], 0.02), 100.0);
        let five = expected(&rates(&[1.0; 5], 0.02), 100.0);
        assert!(one.deviation > 5.0 * five.deviation, "{one:?} {five:?}");
    }
}
