//! Where two black sectors meet: the point to which every edge around it runs.

use crate::linear::Normal;
use crate::photo::Light;
use crate::plane::{Point, add, dot, length, sub};

/// The middle of a mark near `start`, pixels, from the edges within `reach` pixels; `None` where it runs away.
///
/// At every pixel the light changes across an edge that points at the middle `p`: `g·(x - p) = 0`, weighted by
/// nearness. Source: Förstner W., Gülch E., A fast operator for detection and precise location of distinct points, 1987.
#[must_use]
pub fn middle(light: &Light, start: Point, reach: f64) -> Option<Point> {
    let reach = reach.max(4.0);
    let slopes = slopes(light, start, reach);
    let mut point = start;
    for _ in 0..20 {
        let next = meeting(&slopes, point, reach)?;
        let moved = length(sub(next, point));
        point = next;
        if length(sub(point, start)) > reach {
            return None;
        }
        if moved < 1e-3 {
            return Some(point);
        }
    }
    Some(point)
}

/// A pixel and how the light changes there.
type Slope = (Point, Point);

/// The pixels that a window anywhere near the start may hold.
fn slopes(light: &Light, start: Point, reach: f64) -> Vec<Slope> {
    let half = (2.0 * reach).ceil() as isize;
    let [column, row] = start.map(|value| value.round() as isize);
    let mut slopes = Vec::with_capacity((2 * half as usize + 1).pow(2));
    for y in row - half..=row + half {
        for x in column - half..=column + half {
            let across = f64::from(light.at(x + 1, y) - light.at(x - 1, y)) / 2.0;
            let down = f64::from(light.at(x, y + 1) - light.at(x, y - 1)) / 2.0;
            slopes.push(([x as f64, y as f64], [across, down]));
        }
    }
    slopes
}

/// The point nearest to all edges within reach of `about`; the window fades to nothing at its rim, so that whole pixels do not show.
fn meeting(slopes: &[Slope], about: Point, reach: f64) -> Option<Point> {
    let mut normal = Normal::<2>::new();
    for (pixel, slope) in slopes {
        let offset = sub(*pixel, about);
        let rim = 1.0 - dot(offset, offset) / (reach * reach);
        if rim > 0.0 {
            normal.add(slope, dot(*slope, offset), rim * rim);
        }
    }
    normal.solve().map(|shift| add(about, shift))
}

#[cfg(test)]
mod tests {
    use super::middle;
    use crate::photo::Light;

    #[test]
    fn the_middle_of_a_soft_bow_tie_is_found_between_pixels() {
        let (true_x, true_y) = (31.37, 28.81);
        let soft = |value: f64| 0.5 + 0.5 * (value / 1.5).tanh();
        let data = (0..64 * 64)
            .map(|index| {
                let (x, y) = (f64::from(index % 64) - true_x, f64::from(index / 64) - true_y);
                let (right, down) = (soft(x + 0.4 * y), soft(y - 0.3 * x));
                (right * down + (1.0 - right) * (1.0 - down)) as f32
            })
            .collect();
        let found = middle(&Light::new(64, 64, data), [30.0, 30.0], 14.0).expect("found");
        assert!((found[0] - true_x).hypot(found[1] - true_y) < 0.01, "{found:?}");
    }
}
