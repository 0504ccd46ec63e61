//! Black blobs that look like a mark: round, with two opposite sectors inside.

use crate::photo::Light;
use crate::plane::Point;
use std::f64::consts::TAU;

/// A blob that may be a mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blob {
    /// Middle, pixels.
    pub middle: Point,
    /// Radius, pixels: the mean of half its width and half its height.
    pub radius: f64,
    /// Direction of its black sectors, radians; half a turn changes nothing.
    pub direction: f64,
}

/// Every blob that may be a mark.
pub fn find(light: &Light) -> Vec<Blob> {
    let dark = darker_than_around(light);
    regions(&dark, light.width).iter().filter_map(|region| as_mark(light, region)).collect()
}

/// Which pixels are black on paper: well below the mean of a window of a few marks' size.
fn darker_than_around(light: &Light) -> Vec<bool> {
    let sums = Sums::of(light);
    let reach = (light.width.max(light.height) / 14).max(4);
    let mut dark = Vec::with_capacity(light.width * light.height);
    for y in 0..light.height {
        for x in 0..light.width {
            dark.push(f64::from(light.at(x as isize, y as isize)) < 0.6 * sums.mean(x, y, reach));
        }
    }
    dark
}

/// Sums of all light above and to the left, for means of windows.
struct Sums {
    width: usize,
    height: usize,
    data: Vec<f64>,
}

impl Sums {
    fn of(light: &Light) -> Self {
        let stride = light.width + 1;
        let mut data = vec![0.0; stride * (light.height + 1)];
        for y in 0..light.height {
            let mut row = 0.0;
            for x in 0..light.width {
                row += f64::from(light.at(x as isize, y as isize));
                data[(y + 1) * stride + x + 1] = data[y * stride + x + 1] + row;
            }
        }
        Self { width: light.width, height: light.height, data }
    }

    fn mean(&self, x: usize, y: usize, reach: usize) -> f64 {
        let (left, right) = (x.saturating_sub(reach), (x + reach + 1).min(self.width));
        let (top, down) = (y.saturating_sub(reach), (y + reach + 1).min(self.height));
        let at = |x: usize, y: usize| self.data[y * (self.width + 1) + x];
        let sum = at(right, down) - at(left, down) - at(right, top) + at(left, top);
        sum / ((right - left) * (down - top)) as f64
    }
}

/// A connected set of pixels: its box and how many they are.
#[derive(Debug, Clone, Copy)]
struct Region {
    low: [usize; 2],
    high: [usize; 2],
    count: usize,
}

/// Connected sets of true pixels, corners included.
fn regions(dark: &[bool], width: usize) -> Vec<Region> {
    let mut seen = vec![false; dark.len()];
    let mut stack = Vec::new();
    let mut found = Vec::new();
    for start in 0..dark.len() {
        if dark[start] && !seen[start] {
            seen[start] = true;
            stack.push(start);
            found.push(grow(dark, width, &mut seen, &mut stack));
        }
    }
    found
}

fn grow(dark: &[bool], width: usize, seen: &mut [bool], stack: &mut Vec<usize>) -> Region {
    let height = dark.len() / width;
    let mut region = Region { low: [usize::MAX; 2], high: [0; 2], count: 0 };
    while let Some(pixel) = stack.pop() {
        let (x, y) = (pixel % width, pixel / width);
        region.low = [region.low[0].min(x), region.low[1].min(y)];
        region.high = [region.high[0].max(x), region.high[1].max(y)];
        region.count += 1;
        for row in y.saturating_sub(1)..=(y + 1).min(height - 1) {
            for column in x.saturating_sub(1)..=(x + 1).min(width - 1) {
                let next = row * width + column;
                if dark[next] && !seen[next] {
                    seen[next] = true;
                    stack.push(next);
                }
            }
        }
    }
    region
}

/// A region as a mark, if it has the proportions of one: round, two thirds black, light and dark twice around.
fn as_mark(light: &Light, region: &Region) -> Option<Blob> {
    let size: [f64; 2] = std::array::from_fn(|i| (region.high[i] - region.low[i] + 1) as f64);
    let middle: Point = std::array::from_fn(|i| (region.high[i] + region.low[i]) as f64 / 2.0);
    let black = region.count as f64 / (TAU / 8.0 * size[0] * size[1]);
    let round = size[0] / size[1];
    if size[0].min(size[1]) < 10.0 || !(0.7..1.43).contains(&round) || !(0.5..0.9).contains(&black) {
        return None;
    }
    let radius = (size[0] + size[1]) / 4.0;
    sectors(light, middle, radius).map(|direction| Blob { middle, radius, direction })
}

/// The direction of two dark sectors around a point, from the second harmonic of the light on a circle half way out.
fn sectors(light: &Light, middle: Point, radius: f64) -> Option<f64> {
    const STEPS: usize = 48;
    let (mut mean, mut first, mut second) = (0.0, [0.0; 2], [0.0; 2]);
    for step in 0..STEPS {
        let angle = TAU * step as f64 / STEPS as f64;
        let (sine, cosine) = angle.sin_cos();
        let value = light.between(middle[0] + 0.5 * radius * cosine, middle[1] + 0.5 * radius * sine);
        mean += value;
        first = [first[0] + value * cosine, first[1] + value * sine];
        second = [second[0] + value * (2.0 * angle).cos(), second[1] + value * (2.0 * angle).sin()];
    }
    let (one, two) = (first[0].hypot(first[1]), second[0].hypot(second[1]));
    // A full swing between black and white gives 2/pi of the mean; a shadow or a letter gives the first harmonic too.
    let clear = two > 0.35 * mean && two > 2.0 * one;
    clear.then(|| (-second[1]).atan2(-second[0]) / 2.0)
}
