//! A made-up connector: a bar along a closed line, thinner at the gate, with a groove worn into the inside of its basket.

use std::f64::consts::TAU;
use std::sync::Arc;

/// What a connector looks like: a bar along a four-cornered line with rounded corners.
#[derive(Debug, Clone)]
pub struct Shape {
    /// Corners of the middle line, mm: the first two on the spine, the last two on the gate's side.
    pub corners: [[f64; 2]; 4],
    /// Radius of the inside of the bend at each corner, mm.
    pub bends: [f64; 4],
    /// Radius of the bar, mm.
    pub bar_radius: f64,
    /// Where the gate begins and ends, as shares of the side between the last two corners.
    pub gate: [f64; 2],
    /// Where the middle of the groove is, as a share of the second corner's bend.
    pub groove_at: f64,
}

/// A groove: how deep in its middle, how far it reaches to each side, and how steep its sides are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Groove {
    /// Depth, mm.
    pub depth: f64,
    /// Reach to each side along the inside of the bend, mm.
    pub reach: f64,
    /// Power of `1 - (s / reach)²`.
    pub power: f64,
}

impl Groove {
    /// Depth at a distance from its middle.
    #[must_use]
    pub fn at(&self, distance: f64) -> f64 {
        let share = distance / self.reach;
        if share.abs() < 1.0 { self.depth * (1.0 - share * share).powf(self.power) } else { 0.0 }
    }
}

/// A connector ready to be looked at from everywhere.
#[derive(Clone)]
pub struct Piece {
    bar_radius: f64,
    gate: [f64; 2],
    groove_at: f64,
    /// How much longer the middle line of the groove's bend is than its inside.
    stretch: f64,
    groove: Groove,
    rattle: f64,
    field: Arc<Field>,
}

/// Signed distance to the middle line, positive inside, and the nearest place along it, on a grid.
struct Field {
    low: [f64; 2],
    width: usize,
    height: usize,
    /// Distance, and place along the line, for each grid point.
    cells: Vec<[f32; 2]>,
    long: f64,
}

const PER_MM: f64 = 4.0;
/// Points of the middle line that are looked at together.
const PART: usize = 16;

/// What the nearest part of the middle line is to a point of the plane.
#[derive(Clone, Copy)]
struct Near {
    inward: f64,
    place: f64,
}

impl Piece {
    /// A sound connector of a shape.
    #[must_use]
    pub fn new(shape: &Shape) -> Self {
        let bends = bends(shape);
        let line = middle_line(&bends);
        let field = Field::of(&line.points);
        let [_, bend, from, to] = line.bends;
        let gate = shape.gate.map(|share| from[1] + share * (to[0] - from[1]));
        let groove_at = bend[0] + shape.groove_at * (bend[1] - bend[0]);
        // The inside of a bend is shorter than its middle line.
        let stretch = bends[1].radius / (bends[1].radius - shape.bar_radius);
        let groove = Groove { depth: 0.0, reach: 1.0, power: 1.0 };
        Self { bar_radius: shape.bar_radius, gate, groove_at, stretch, groove, rattle: 0.0, field: Arc::new(field) }
    }

    /// The same with a groove; its gate stands off its place by `rattle` mm in its middle.
    #[must_use]
    pub fn worn(&self, groove: Groove, rattle: f64) -> Self {
        Self { groove: Groove { reach: groove.reach * self.stretch, ..groove }, rattle, ..self.clone() }
    }

    /// Height over the paper, mm.
    #[must_use]
    pub fn height(&self) -> f64 {
        2.0 * self.bar_radius
    }

    /// Distance from a point in space to the surface, nearly; mm.
    #[must_use]
    pub fn distance(&self, [x, y, z]: [f64; 3]) -> f64 {
        let near = self.near([x, y]);
        let up = z - self.bar_radius;
        let away = (near.inward * near.inward + up * up).sqrt();
        away - self.radius(near, near.inward / away.max(1e-9))
    }

    /// The direction in which the surface faces at a point on it.
    #[must_use]
    pub fn facing(&self, point: [f64; 3]) -> [f64; 3] {
        const APART: f64 = 0.02;
        let slope: [f64; 3] = std::array::from_fn(|i| {
            let (mut after, mut before) = (point, point);
            after[i] += APART;
            before[i] -= APART;
            self.distance(after) - self.distance(before)
        });
        let long = slope.iter().map(|value| value * value).sum::<f64>().sqrt().max(1e-12);
        slope.map(|value| value / long)
    }

    /// How far a point of the paper is from the middle line, mm.
    #[must_use]
    pub fn off_line(&self, point: [f64; 2]) -> f64 {
        self.near(point).inward.abs()
    }

    fn near(&self, point: [f64; 2]) -> Near {
        let near = self.field.at(point);
        let share = (near.place - self.gate[0]) / (self.gate[1] - self.gate[0]);
        let shift = if (0.0..1.0).contains(&share) { self.rattle * (TAU / 2.0 * share).sin() } else { 0.0 };
        Near { inward: near.inward - shift, place: near.place }
    }

    /// Radius of the bar where its surface faces `inwards` (1 inside, -1 outside of the ring).
    fn radius(&self, near: Near, inwards: f64) -> f64 {
        let from_groove = self.field.shorter_way(near.place - self.groove_at);
        let worn = self.groove.at(from_groove) * ramp(0.0, 0.6, inwards);
        let gate = ramp(self.gate[0] - 1.5, self.gate[0] + 1.5, near.place)
            * ramp(self.gate[1] + 1.5, self.gate[1] - 1.5, near.place);
        self.bar_radius * (1.0 - 0.25 * gate) - worn
    }
}

/// Smoothly from 0 at `from` to 1 at `to`.
pub(crate) fn ramp(from: f64, to: f64, value: f64) -> f64 {
    let share = ((value - from) / (to - from)).clamp(0.0, 1.0);
    share * share * (3.0 - 2.0 * share)
}

/// A rounded corner: its circle, and the angles between which the line follows it.
struct Bend {
    middle: [f64; 2],
    radius: f64,
    from: f64,
    turn: f64,
}

/// The bends of a shape's middle line, each as round as asked for or as its sides leave room for.
fn bends(shape: &Shape) -> [Bend; 4] {
    std::array::from_fn(|index| {
        let [before, here, after] = [3, 0, 1].map(|step| shape.corners[(index + step) % 4]);
        let (back, back_long) = towards(here, before);
        let (ahead, ahead_long) = towards(here, after);
        let half = (back[0] * ahead[0] + back[1] * ahead[1]).acos() / 2.0;
        let radius = (shape.bends[index] + shape.bar_radius).min(0.49 * back_long.min(ahead_long) * half.tan());
        let (out, _) = towards([0.0; 2], [back[0] + ahead[0], back[1] + ahead[1]]);
        let middle = std::array::from_fn(|i| here[i] + radius / half.sin() * out[i]);
        let foot: [f64; 2] = std::array::from_fn(|i| here[i] + radius / half.tan() * back[i] - middle[i]);
        let side = (ahead[0] * back[1] - ahead[1] * back[0]).signum();
        Bend { middle, radius, from: foot[1].atan2(foot[0]), turn: side * (TAU / 2.0 - 2.0 * half) }
    })
}

/// The unit direction from a point to another, and the distance.
fn towards(from: [f64; 2], to: [f64; 2]) -> ([f64; 2], f64) {
    let long = (to[0] - from[0]).hypot(to[1] - from[1]);
    ([(to[0] - from[0]) / long, (to[1] - from[1]) / long], long)
}

/// A closed line with the places along it where its bends begin and end.
struct MiddleLine {
    points: Vec<[f64; 2]>,
    bends: [[f64; 2]; 4],
}

/// Distance between points of the middle line, mm.
const STEP: f64 = 0.1;

/// The line along bends and the straights between them, with ends of bends a little softened.
fn middle_line(bends: &[Bend; 4]) -> MiddleLine {
    let on = |bend: &Bend, share: f64| {
        let angle = bend.from + share * bend.turn;
        [bend.middle[0] + bend.radius * angle.cos(), bend.middle[1] + bend.radius * angle.sin()]
    };
    let (mut points, mut ends) = (Vec::new(), [[0.0; 2]; 4]);
    for (index, bend) in bends.iter().enumerate() {
        let count = (bend.radius * bend.turn.abs() / STEP).round() as usize;
        ends[index] = [points.len() as f64 * STEP, (points.len() + count) as f64 * STEP];
        points.extend((0..count).map(|step| on(bend, step as f64 / count as f64)));
        let (start, end) = (on(bend, 1.0), on(&bends[(index + 1) % 4], 0.0));
        let (way, long) = towards(start, end);
        let count = (long / STEP).round().max(1.0) as usize;
        let stride = long / count as f64;
        points.extend((0..count).map(|step| [0, 1].map(|i| start[i] + step as f64 * stride * way[i])));
    }
    MiddleLine { points: rounded(&points, 10), bends: ends }
}

/// A closed line with each point the mean of its neighbours, twice over.
fn rounded(line: &[[f64; 2]], reach: usize) -> Vec<[f64; 2]> {
    let count = line.len();
    let mean = |line: &[[f64; 2]]| -> Vec<[f64; 2]> {
        let whole = (2 * reach + 1) as f64;
        let mut sum = [0.0; 2];
        for step in 0..=2 * reach {
            let point = line[(count + step - reach) % count];
            sum = [sum[0] + point[0], sum[1] + point[1]];
        }
        (0..count)
            .map(|index| {
                let here = [sum[0] / whole, sum[1] / whole];
                let (old, new) = (line[(count + index - reach) % count], line[(index + reach + 1) % count]);
                sum = [sum[0] + new[0] - old[0], sum[1] + new[1] - old[1]];
                here
            })
            .collect()
    };
    mean(&mean(line))
}

impl Field {
    fn of(line: &[[f64; 2]]) -> Self {
        let bound = |i: usize, high: bool| {
            let values = line.iter().map(|point| point[i]);
            if high { values.fold(f64::MIN, f64::max) + 20.0 } else { values.fold(f64::MAX, f64::min) - 20.0 }
        };
        let low = [bound(0, false), bound(1, false)];
        let width = ((bound(0, true) - low[0]) * PER_MM).ceil() as usize;
        let height = ((bound(1, true) - low[1]) * PER_MM).ceil() as usize;
        let places = places(line);
        let long = places[line.len()];
        let mut field = Self { low, width, height, cells: vec![[-99.0, 0.0]; width * height], long };
        field.fill(line, &places);
        field
    }

    /// Distances near the line: every short piece of it tells the grid points around it.
    fn fill(&mut self, line: &[[f64; 2]], places: &[f64]) {
        const REACH: f64 = 16.0;
        let clockwise =
            line.iter().zip(line.iter().cycle().skip(1)).map(|(a, b)| a[0] * b[1] - a[1] * b[0]).sum::<f64>().signum();
        for start in (0..line.len()).step_by(PART) {
            let middle = line[start];
            let rows = self.cell(1, middle[1] - REACH)..self.cell(1, middle[1] + REACH).min(self.height);
            for row in rows {
                for column in self.cell(0, middle[0] - REACH)..self.cell(0, middle[0] + REACH).min(self.width) {
                    let point = [self.low[0] + column as f64 / PER_MM, self.low[1] + row as f64 / PER_MM];
                    let cell = &mut self.cells[row * self.width + column];
                    let way = [point[0] - middle[0], point[1] - middle[1]];
                    let rough = (way[0] * way[0] + way[1] * way[1]).sqrt();
                    if rough - 4.5 < f64::from(cell[0].abs()) {
                        nearest(line, places, start, point, clockwise, cell);
                    }
                }
            }
        }
    }

    fn cell(&self, i: usize, value: f64) -> usize {
        ((value - self.low[i]) * PER_MM).max(0.0) as usize
    }

    fn at(&self, point: [f64; 2]) -> Near {
        let x = (point[0] - self.low[0]) * PER_MM;
        let y = (point[1] - self.low[1]) * PER_MM;
        if x < 0.0 || y < 0.0 || x >= self.width as f64 - 1.0 || y >= self.height as f64 - 1.0 {
            return Near { inward: -99.0, place: 0.0 };
        }
        let (column, row) = (x as usize, y as usize);
        let (right, down) = (x - column as f64, y - row as f64);
        let cell = |c: usize, r: usize| self.cells[r * self.width + c];
        let corners = [cell(column, row), cell(column + 1, row), cell(column, row + 1), cell(column + 1, row + 1)];
        let weights = [(1.0 - right) * (1.0 - down), right * (1.0 - down), (1.0 - right) * down, right * down];
        let inward = corners.iter().zip(weights).map(|(corner, weight)| f64::from(corner[0]) * weight).sum();
        // Places are circular: the other corners are taken on the same turn as the first.
        let first = f64::from(corners[0][1]);
        let beyond: f64 = corners
            .iter()
            .zip(weights)
            .map(|(corner, weight)| self.shorter_way(f64::from(corner[1]) - first) * weight)
            .sum();
        let place = first + beyond;
        Near {
            inward,
            place: if place < 0.0 {
                place + self.long
            } else if place < self.long {
                place
            } else {
                place - self.long
            },
        }
    }

    /// A way along the line, at most once around it, as the shorter of both ways round.
    fn shorter_way(&self, way: f64) -> f64 {
        let half = self.long / 2.0;
        if way > half {
            way - self.long
        } else if way < -half {
            way + self.long
        } else {
            way
        }
    }
}

fn places(line: &[[f64; 2]]) -> Vec<f64> {
    let mut places = vec![0.0];
    for (a, b) in line.iter().zip(line.iter().cycle().skip(1)) {
        places.push(places[places.len() - 1] + (b[0] - a[0]).hypot(b[1] - a[1]));
    }
    places
}

fn nearest(line: &[[f64; 2]], places: &[f64], start: usize, point: [f64; 2], clockwise: f64, cell: &mut [f32; 2]) {
    for index in start..(start + PART).min(line.len()) {
        let (a, b) = (line[index], line[(index + 1) % line.len()]);
        let (side, way) = ([b[0] - a[0], b[1] - a[1]], [point[0] - a[0], point[1] - a[1]]);
        let square = side[0] * side[0] + side[1] * side[1];
        let share = ((way[0] * side[0] + way[1] * side[1]) / square).clamp(0.0, 1.0);
        let off = [way[0] - share * side[0], way[1] - share * side[1]];
        let away = (off[0] * off[0] + off[1] * off[1]).sqrt();
        if away < f64::from(cell[0].abs()) {
            let inside = (side[0] * way[1] - side[1] * way[0]).signum() * clockwise;
            *cell = [(away * inside) as f32, (places[index] + share * square.sqrt()) as f32];
        }
    }
}
