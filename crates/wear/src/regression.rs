//! Depth against use as a straight line, by Bayes' rule in closed form.
//!
//! The model (Gelman and others, Bayesian Data Analysis, 3rd ed., 2013, sections 14.2 and 14.8: normal linear model with
//! conjugate prior). A reading yᵢ at use xᵢ with stated standard uncertainty sᵢ is
//!
//! ```text
//! yᵢ = a + b xᵢ + eᵢ,   eᵢ ~ N(0, σ² sᵢ²)
//! (a, b) | σ² ~ N(m₀, σ² Λ₀⁻¹),   σ² ~ inverse gamma(ν₀/2, ν₀/2)
//! ```
//!
//! σ² is a number without unit: 1 where readings scatter as stated. With W = diag(1/sᵢ²) and n readings
//!
//! ```text
//! Λ = Λ₀ + XᵀWX,   m = Λ⁻¹ (Λ₀ m₀ + XᵀW y),   ν = ν₀ + n
//! ν s² = ν₀ + Σ (yᵢ - m·xᵢ)²/sᵢ² + (m - m₀)ᵀ Λ₀ (m - m₀)
//! ```
//!
//! and (a, b) follow a bivariate Student t about m with scale matrix s² Λ⁻¹ and ν degrees of freedom; so does a + b x at
//! any x, in one dimension.

use crate::student;

/// A reading: use, depth, and the standard uncertainty of the depth (more than 0).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Use, in any unit.
    pub x: f64,
    /// Depth, in any unit.
    pub y: f64,
    /// Standard uncertainty of the depth.
    pub deviation: f64,
}

/// What is held of the line before any reading: start and rate independent of each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Start and rate.
    pub mean: [f64; 2],
    /// Their standard deviations where σ² = 1 (more than 0).
    pub deviation: [f64; 2],
    /// Degrees of freedom of σ², ν₀ (more than 0).
    pub degrees: f64,
}

/// What is held of the line after the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Start and rate: the middle of their distribution.
    pub mean: [f64; 2],
    /// Scale matrix: variance of start, covariance, variance of rate, each times (ν - 2)/ν.
    pub scale: [f64; 3],
    /// Degrees of freedom ν.
    pub degrees: f64,
}

impl Line {
    /// The line after the readings.
    #[must_use]
    pub fn after(prior: &Prior, points: &[Point]) -> Self {
        let held = prior.deviation.map(|deviation| 1.0 / (deviation * deviation));
        let mut precision = [held[0], 0.0, held[1]];
        let mut pull = [held[0] * prior.mean[0], held[1] * prior.mean[1]];
        for Point { x, y, deviation } in points {
            let weight = 1.0 / (deviation * deviation);
            [0, 1, 2].into_iter().zip([1.0, *x, x * x]).for_each(|(entry, term)| precision[entry] += weight * term);
            [0, 1].into_iter().zip([1.0, *x]).for_each(|(entry, term)| pull[entry] += weight * term * y);
        }
        let inverse = inverse(precision);
        let mean = [inverse[0] * pull[0] + inverse[1] * pull[1], inverse[1] * pull[0] + inverse[2] * pull[1]];
        let degrees = prior.degrees + points.len() as f64;
        let spread = (prior.degrees + misfit(prior, points, mean)) / degrees;
        Self { mean, scale: inverse.map(|entry| spread * entry), degrees }
    }

    /// Centre and scale of the depth at a use.
    #[must_use]
    pub fn at(&self, x: f64) -> [f64; 2] {
        let [start, both, rate] = self.scale;
        [self.mean[0] + self.mean[1] * x, (start + 2.0 * both * x + rate * x * x).max(0.0).sqrt()]
    }

    /// Standard deviation of the rate.
    #[must_use]
    pub fn rate_deviation(&self) -> f64 {
        (self.scale[2] * self.degrees / (self.degrees - 2.0)).sqrt()
    }

    /// Probability that depth rises with use at all.
    #[must_use]
    pub fn rises(&self) -> f64 {
        student::cdf(self.mean[1] / self.scale[2].sqrt(), self.degrees)
    }

    /// Probability that the depth at a use is at least `level`, given that depth never falls: the rate is above zero.
    #[must_use]
    pub fn reaches(&self, x: f64, level: f64) -> f64 {
        let [centre, width] = self.at(x);
        let rate_width = self.scale[2].sqrt();
        let [start, both, rate] = self.scale;
        let correlation = ((both + rate * x) / (width * rate_width)).clamp(-1.0, 1.0);
        // The determinant does not change with x.
        let independent = (start * rate - both * both).max(0.0).sqrt() / (width * rate_width);
        let bounds = [(centre - level) / width, self.mean[1] / rate_width];
        (student::joint_cdf(bounds, correlation, independent, self.degrees) / self.rises()).min(1.0)
    }
}

fn misfit(prior: &Prior, points: &[Point], mean: [f64; 2]) -> f64 {
    let of_point = |point: &Point| (point.y - mean[0] - mean[1] * point.x) / point.deviation;
    let of_prior = |entry: usize| (mean[entry] - prior.mean[entry]) / prior.deviation[entry];
    let square = |value: f64| value * value;
    points.iter().map(|point| square(of_point(point))).sum::<f64>() + square(of_prior(0)) + square(of_prior(1))
}

/// The inverse of a symmetric matrix, given and returned as its three entries.
fn inverse([a, b, c]: [f64; 3]) -> [f64; 3] {
    let determinant = a * c - b * b;
    [c / determinant, -b / determinant, a / determinant]
}

#[cfg(test)]
mod tests {
    use super::*;

    const WIDE: Prior = Prior { mean: [0.0, 0.0], deviation: [1e4, 1e4], degrees: 1e-6 };

    fn points(places: &[[f64; 2]]) -> Vec<Point> {
        places.iter().map(|[x, y]| Point { x: *x, y: *y, deviation: 0.1 }).collect()
    }

    #[test]
    fn with_nothing_held_before_the_line_is_that_of_least_squares() {
        let line = Line::after(&WIDE, &points(&[[0.0, 0.1], [1.0, 0.2], [2.0, 0.6], [3.0, 0.7]]));
        assert!((line.mean[0] - 0.07).abs() < 1e-7 && (line.mean[1] - 0.22).abs() < 1e-7, "{line:?}");
    }

    #[test]
    fn without_readings_the_prior_stays() {
        let prior = Prior { mean: [0.1, 2.0], deviation: [0.5, 0.25], degrees: 8.0 };
        let line = Line::after(&prior, &[]);
        assert_eq!((line.mean, line.scale, line.degrees), ([0.1, 2.0], [0.25, 0.0, 0.0625], 8.0));
    }

    #[test]
    fn what_is_reached_once_stays_reached() {
        let line = Line::after(&WIDE, &points(&[[0.0, 0.1], [1.0, 0.0], [2.0, 0.3]]));
        let chances: Vec<f64> = (0..200).map(|step| line.reaches(f64::from(step) * 0.25, 0.5)).collect();
        assert!(chances.windows(2).all(|pair| pair[1] >= pair[0] - 1e-9), "{chances:?}");
        assert!(chances[199] > 0.9);
    }
}
