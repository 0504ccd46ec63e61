//! Points and directions in a plane.

pub type Point = [f64; 2];

pub fn add(a: Point, b: Point) -> Point {
    [a[0] + b[0], a[1] + b[1]]
}

pub fn sub(a: Point, b: Point) -> Point {
    [a[0] - b[0], a[1] - b[1]]
}

pub fn scale(a: Point, by: f64) -> Point {
    [a[0] * by, a[1] * by]
}

pub fn dot(a: Point, b: Point) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

pub fn cross(a: Point, b: Point) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

/// A quarter turn from x towards y.
pub fn quarter(a: Point) -> Point {
    [-a[1], a[0]]
}

pub fn length(a: Point) -> f64 {
    a[0].hypot(a[1])
}

pub fn unit(a: Point) -> Point {
    let long = length(a);
    if long > 0.0 { scale(a, 1.0 / long) } else { [1.0, 0.0] }
}

pub fn along(from: Point, to: Point, share: f64) -> Point {
    [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])]
}

/// The area inside a closed line: positive where it turns from x towards y.
pub fn area(line: &[Point]) -> f64 {
    closed_pairs(line).map(|(a, b)| cross(a, b)).sum::<f64>() / 2.0
}

pub fn perimeter(line: &[Point]) -> f64 {
    closed_pairs(line).map(|(a, b)| length(sub(b, a))).sum()
}

/// Every side of a closed line, the one back to its start included.
pub fn closed_pairs(line: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    line.iter().zip(line.iter().cycle().skip(1)).map(|(a, b)| (*a, *b))
}

/// A closed line cut into sides of nearly `step`.
pub fn resample(line: &[Point], step: f64) -> Vec<Point> {
    let whole = perimeter(line);
    let count = (whole / step).round().max(3.0) as usize;
    let stride = whole / count as f64;
    let (mut points, mut walked) = (Vec::with_capacity(count), 0.0);
    for (a, b) in closed_pairs(line) {
        let side = length(sub(b, a));
        while points.len() < count && points.len() as f64 * stride < walked + side {
            points.push(along(a, b, (points.len() as f64 * stride - walked) / side));
        }
        walked += side;
    }
    points
}

/// A closed line with every point replaced by the weighted mean of its `reach` neighbours to both sides.
pub fn smooth(line: &[Point], reach: usize) -> Vec<Point> {
    let (count, reach) = (line.len(), reach as isize);
    (0..count as isize)
        .map(|middle| {
            let mut sum = [0.0; 3];
            for step in -reach..=reach {
                let weight = (reach + 1 - step.abs()) as f64;
                let point = line[(middle + step).rem_euclid(count as isize) as usize];
                sum = [sum[0] + weight * point[0], sum[1] + weight * point[1], sum[2] + weight];
            }
            [sum[0] / sum[2], sum[1] / sum[2]]
        })
        .collect()
}

/// The middle value; not a number for none.
pub fn median(values: &mut [f64]) -> f64 {
    if values.is_empty() {
        return f64::NAN;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// The standard deviation that a normal law with the same median distance from zero would have.
pub fn robust_spread(values: &[f64]) -> f64 {
    let mut sizes: Vec<f64> = values.iter().map(|value| value.abs()).collect();
    1.4826 * median(&mut sizes)
}
