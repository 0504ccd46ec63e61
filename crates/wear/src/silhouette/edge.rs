//! Edges between pixels: where the light rises fastest along a line out of the metal.

use crate::photo::Light;
use crate::plane::{Point, add, median, quarter, scale};

/// Where to look, in pixels: from a point near the edge, in the unit direction out of the metal.
#[derive(Debug, Clone, Copy)]
pub struct Aim {
    pub from: Point,
    pub outward: Point,
}

/// An edge that was found.
#[derive(Debug, Clone, Copy)]
pub struct Found {
    /// Where, pixels.
    pub photo: Point,
    /// How far out of where it was looked for, pixels.
    pub offset: f64,
    /// How much brighter it is outside.
    pub step: f64,
    /// Standard deviation of the edge's spread, pixels.
    pub spread: f64,
}

/// Samples to a pixel along a line.
const PER_PIXEL: f64 = 2.0;

/// The edge at every aim, within `reach` pixels, in light smoothed over `smoothing` pixels.
pub fn along(light: &Light, aims: &[Aim], reach: f64, smoothing: f64) -> Vec<Option<Found>> {
    let kernel = Kernel::new(smoothing);
    let half = (reach * PER_PIXEL).ceil() as usize;
    let mut line = vec![0.0; 2 * (half + kernel.half) + 1];
    aims.iter().map(|aim| kernel.edge(sample(light, aim, &mut line), aim)).collect()
}

/// The light along an aim, the mean of three lines side by side.
fn sample<'a>(light: &Light, aim: &Aim, line: &'a mut [f64]) -> &'a [f64] {
    let middle = (line.len() / 2) as f64;
    let side = quarter(aim.outward);
    for (index, value) in line.iter_mut().enumerate() {
        let spot = add(aim.from, scale(aim.outward, (index as f64 - middle) / PER_PIXEL));
        let at = |by: f64| light.between(spot[0] + by * side[0], spot[1] + by * side[1]);
        *value = (at(-1.0) + at(0.0) + at(1.0)) / 3.0;
    }
    line
}

/// The slope of a Gauss curve, sampled: gives the slope of smoothed light.
struct Kernel {
    weights: Vec<f64>,
    half: usize,
    smoothing: f64,
}

impl Kernel {
    fn new(smoothing: f64) -> Self {
        let half = (3.0 * smoothing * PER_PIXEL).ceil() as usize;
        let place = |index: usize| (index as f64 - half as f64) / PER_PIXEL;
        let weights: Vec<f64> =
            (0..=2 * half).map(|index| place(index) * (-0.5 * (place(index) / smoothing).powi(2)).exp()).collect();
        let whole: f64 = weights.iter().enumerate().map(|(index, weight)| place(index) * weight).sum();
        Self { weights: weights.iter().map(|weight| weight / whole).collect(), half, smoothing }
    }

    fn slopes(&self, line: &[f64]) -> Vec<f64> {
        line.windows(self.weights.len()).map(|part| part.iter().zip(&self.weights).map(|(a, b)| a * b).sum()).collect()
    }

    /// The steepest rise along a sampled line, if it is not at its end.
    fn edge(&self, line: &[f64], aim: &Aim) -> Option<Found> {
        let slopes = self.slopes(line);
        let top = (0..slopes.len()).max_by(|&a, &b| slopes[a].total_cmp(&slopes[b]))?;
        if top == 0 || top + 1 == slopes.len() || slopes[top] <= 0.0 {
            return None;
        }
        let (before, here, after) = (slopes[top - 1], slopes[top], slopes[top + 1]);
        let beyond = 0.5 * (before - after) / (before - 2.0 * here + after);
        let offset = (top as f64 + beyond - (slopes.len() / 2) as f64) / PER_PIXEL;
        let step = rise(&slopes, top) / PER_PIXEL;
        let wide = step / (here * std::f64::consts::TAU.sqrt());
        let spread = (wide * wide - self.smoothing * self.smoothing).max(0.0).sqrt();
        Some(Found { photo: add(aim.from, scale(aim.outward, offset)), offset, step, spread })
    }
}

/// The whole rise around the steepest point: all slopes down to a tenth of the steepest.
fn rise(slopes: &[f64], top: usize) -> f64 {
    let least = 0.1 * slopes[top];
    let down: f64 = slopes[..top].iter().rev().take_while(|slope| **slope > least).sum();
    let up: f64 = slopes[top..].iter().take_while(|slope| **slope > least).sum();
    down + up
}

/// The edges that lie like their neighbours: within `tolerance` pixels of the median of `reach` to both sides.
pub fn plausible(edges: &[Option<Found>], reach: usize, tolerance: f64) -> Vec<Found> {
    let count = edges.len();
    let mut around = Vec::with_capacity(2 * reach + 1);
    (0..count)
        .filter_map(|index| {
            let here = edges[index]?;
            around.clear();
            around.extend(
                (0..=2 * reach).filter_map(|step| edges[(index + count + step - reach) % count]).map(|e| e.offset),
            );
            ((here.offset - median(&mut around)).abs() < tolerance).then_some(here)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{Aim, along};
    use crate::photo::Light;
    use crate::plane::{dot, sub};

    /// A soft edge through the middle, `shift` pixels off, in the direction `turn`.
    fn soft_edge(shift: f64, turn: f64, spread: f64) -> Light {
        let (sine, cosine) = turn.sin_cos();
        let data = (0..41 * 41).map(|index| {
            let (x, y) = (f64::from(index % 41) - 20.0, f64::from(index / 41) - 20.0);
            let out = (x * cosine + y * sine - shift) / spread;
            // The logistic curve with this factor is the normal law's within 0.01.
            (0.2 + 0.6 / (1.0 + (-1.702 * out).exp())) as f32
        });
        Light::new(41, 41, data.collect())
    }

    #[test]
    fn an_edge_is_found_within_a_fiftieth_of_a_pixel_in_any_direction() {
        for step in 0..24 {
            let (turn, shift) = (f64::from(step) * 0.26, 0.07 * f64::from(step) - 0.8);
            let outward = [turn.cos(), turn.sin()];
            let found = along(&soft_edge(shift, turn, 1.1), &[Aim { from: [20.0, 20.0], outward }], 5.0, 1.0)[0]
                .expect("an edge");
            assert!((found.offset - shift).abs() < 0.02, "{} for {shift}", found.offset);
            assert!((dot(sub(found.photo, [20.0, 20.0]), outward) - found.offset).abs() < 1e-9);
            assert!((found.step - 0.6).abs() < 0.03, "{}", found.step);
            assert!((found.spread - 1.1).abs() < 0.25, "{}", found.spread);
        }
    }
}
