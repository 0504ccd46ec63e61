//! Student's t in one and two dimensions, with any degrees of freedom, and what is solved with it.

use statrs::function::beta::beta_reg;
use std::f64::consts::{FRAC_PI_2, TAU};

/// P(T ≤ t) with `degrees` of freedom: half of the regularised incomplete beta function at ν / (ν + t²) below zero
/// (Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.1).
#[must_use]
pub fn cdf(t: f64, degrees: f64) -> f64 {
    let tail = 0.5 * beta_reg(0.5 * degrees, 0.5, degrees / (degrees + t * t));
    if t < 0.0 { tail } else { 1.0 - tail }
}

/// P(T₁ ≤ h and T₂ ≤ k) of a bivariate t with the given correlation; `independent` is √(1 − correlation²), asked for
/// by itself since it cannot be had from a correlation close to one.
///
/// Owen's decomposition of the normal case (D. B. Owen, Tables for Computing Bivariate Normal Probabilities, Annals of
/// Mathematical Statistics 27, 1956, eq. 2.1) uses nothing but the circular symmetry of the density, which the t has too.
#[must_use]
pub fn joint_cdf([h, k]: [f64; 2], correlation: f64, independent: f64, degrees: f64) -> f64 {
    // Zero without its sign: a bound through the centre is taken as the limit from above.
    let (h, k) = (h + 0.0, k + 0.0);
    let wedge = |from: f64, to: f64| {
        let [from, to] = if from == 0.0 && to == 0.0 { [1.0, 1.0] } else { [from, to] };
        let angle = ((to - correlation * from) / (from * independent)).atan();
        wedge(if h == 0.0 && k == 0.0 { 0.0 } else { from }, angle, degrees)
    };
    let agree = h * k > 0.0 || (h * k == 0.0 && h + k >= 0.0);
    let both = 0.5 * (cdf(h, degrees) + cdf(k, degrees));
    (both - wedge(h, k) - wedge(k, h) - if agree { 0.0 } else { 0.5 }).clamp(0.0, 1.0)
}

/// Mass of the standard bivariate t beyond the line at `distance`, within `angle` of the perpendicular to it: along
/// each direction, the share of the mass beyond r is (1 + r² / ν)^(−ν/2). Odd in the angle.
fn wedge(distance: f64, angle: f64, degrees: f64) -> f64 {
    let spread = distance * distance / degrees;
    let beyond = |direction: f64| {
        let square = direction.cos() * direction.cos();
        (square / (square + spread)).powf(0.5 * degrees)
    };
    let end = angle.clamp(-FRAC_PI_2, FRAC_PI_2);
    integral(&beyond, end.abs()).copysign(end) / TAU
}

/// Error that is allowed to an integral of values between 0 and 1.
const CLOSE: f64 = 1e-11;
const DEEPEST: usize = 40;

/// The integral from 0 to `end`, by Simpson's rule on ever halved intervals.
fn integral(of: &impl Fn(f64) -> f64, end: f64) -> f64 {
    let start = Panel::new(of, 0.0, end, of(0.0), of(end));
    start.refined(of, CLOSE, DEEPEST)
}

/// An interval with the function at its ends and in its middle.
struct Panel {
    from: f64,
    to: f64,
    values: [f64; 3],
}

impl Panel {
    fn new(of: &impl Fn(f64) -> f64, from: f64, to: f64, first: f64, last: f64) -> Self {
        Self { from, to, values: [first, of(0.5 * (from + to)), last] }
    }

    fn simpson(&self) -> f64 {
        let [first, middle, last] = self.values;
        (self.to - self.from) / 6.0 * (first + 4.0 * middle + last)
    }

    fn refined(&self, of: &impl Fn(f64) -> f64, close: f64, depth: usize) -> f64 {
        let middle = 0.5 * (self.from + self.to);
        let [first, at_middle, last] = self.values;
        let left = Self::new(of, self.from, middle, first, at_middle);
        let right = Self::new(of, middle, self.to, at_middle, last);
        let halves = left.simpson() + right.simpson();
        let off = halves - self.simpson();
        // The error of Simpson's rule falls by 16 when its interval is halved.
        if depth == 0 || off.abs() <= 15.0 * close || off.is_nan() {
            return halves + off / 15.0;
        }
        left.refined(of, 0.5 * close, depth - 1) + right.refined(of, 0.5 * close, depth - 1)
    }
}

/// A probability is not known better than this.
const EXACT: f64 = 1e-13;

/// Where a rising probability crosses `level`, between two places on either side of it: regula falsi with the Illinois
/// rule (Dowell and Jarratt, BIT 11, 1971), which never leaves the bracket.
#[must_use]
pub fn crossing(of: impl Fn(f64) -> f64, level: f64, low: f64, high: f64) -> f64 {
    let mut ends = [(low, of(low) - level), (high, of(high) - level)];
    let mut stuck = 0;
    for _ in 0..200 {
        let [(x0, y0), (x1, y1)] = ends;
        if y1.abs() <= EXACT || y1 == y0 || (x1 - x0).abs() <= 1e-13 * x0.abs().max(x1.abs()) {
            return x1;
        }
        let slanted = x1 - y1 * (x1 - x0) / (y1 - y0);
        // A curve that is flat at one end is walked along too slowly: every third time the middle is taken.
        let x = if stuck == 2 { 0.5 * (x0 + x1) } else { slanted };
        stuck = (stuck + 1) % 3;
        let y = of(x) - level;
        ends = if y * y1 < 0.0 { [(x1, y1), (x, y)] } else { [(x0, 0.5 * y0), (x, y)] };
    }
    ends[1].0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn with_one_degree_the_distribution_is_cauchys() {
        for t in [-30.0_f64, -1.0, -0.2, 0.0, 0.7, 5.0] {
            let exact = 0.5 + t.atan() / std::f64::consts::PI;
            assert!((cdf(t, 1.0) - exact).abs() < 1e-12, "{t}");
        }
    }

    #[test]
    fn a_bound_far_away_leaves_the_other() {
        for (h, correlation) in [(-1.3_f64, 0.4_f64), (0.0, -0.9), (2.1, 0.999)] {
            let independent = (1.0 - correlation * correlation).sqrt();
            let both = joint_cdf([h, 1e9], correlation, independent, 5.5);
            assert!((both - cdf(h, 5.5)).abs() < 1e-9, "{h}: {both}");
        }
    }

    #[test]
    fn the_quadrant_at_the_centre_depends_on_the_correlation_alone() {
        for correlation in [-0.8_f64, 0.0, 0.3, 0.95] {
            let independent = (1.0 - correlation * correlation).sqrt();
            let exact = 0.25 + correlation.asin() / TAU;
            for degrees in [2.5, 40.0] {
                assert!((joint_cdf([0.0, 0.0], correlation, independent, degrees) - exact).abs() < 1e-10);
            }
        }
    }

    #[test]
    fn crossings_are_found_on_steep_and_on_flat_curves() {
        assert!((crossing(|x| x * x * x, 8.0, 0.0, 100.0) - 2.0).abs() < 1e-10);
        assert!((crossing(|x| 1.0 - 1.0 / x, 0.999, 1.0, 1e6) - 1000.0).abs() < 1e-7);
        assert!((crossing(|x: f64| x.tanh(), 0.0, -50.0, 3.0)).abs() < 1e-10);
    }
}
