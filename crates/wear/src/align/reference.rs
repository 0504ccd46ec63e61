//! The outline that others are laid over, ready to be asked for its nearest point.

use super::Reading;
use crate::plane::{Point, along, area, closed_pairs, cross, dot, length, quarter, robust_spread, scale, sub, unit};
use crate::silhouette::{Edge, Outline};

/// Which line of an outline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    /// Around the piece.
    Outer,
    /// Around its opening.
    Inner,
}

/// Middle and long axis of a piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Middle of the area inside the outer line, mm.
    pub middle: Point,
    /// Unit direction of the long axis.
    pub axis: Point,
    /// Half the length along that axis, mm.
    pub half_length: f64,
}

/// A basket begins this far from the middle, as a share of half the piece's length.
const BASKET_FROM: f64 = 0.4;
/// And where the outline's direction leans this much (sine) from the long axis.
const BASKET_SLANT: f64 = 0.2;
/// Half the length of the long sides, as a share of half the piece's.
const LONG_SIDE: f64 = 0.75;

impl Frame {
    /// The frame of a closed line; `None` for one without area.
    #[must_use]
    pub fn of(line: &[Edge]) -> Option<Self> {
        let points: Vec<Point> = line.iter().map(|edge| edge.at).collect();
        let whole = area(&points);
        let origin = *points.first()?;
        // Moments of the triangles between a fixed point and each side.
        let (mut first, mut second) = ([0.0; 2], [0.0; 3]);
        for (a, b) in closed_pairs(&points) {
            let (a, b) = (sub(a, origin), sub(b, origin));
            let part = cross(a, b) / 2.0;
            first = [first[0] + part * (a[0] + b[0]) / 3.0, first[1] + part * (a[1] + b[1]) / 3.0];
            let moment =
                |i: usize, j: usize| part * (2.0 * a[i] * a[j] + a[i] * b[j] + b[i] * a[j] + 2.0 * b[i] * b[j]) / 12.0;
            second = [second[0] + moment(0, 0), second[1] + moment(0, 1), second[2] + moment(1, 1)];
        }
        let mean = scale(first, 1.0 / whole);
        let [xx, xy, yy] = [
            second[0] / whole - mean[0] * mean[0],
            second[1] / whole - mean[0] * mean[1],
            second[2] / whole - mean[1] * mean[1],
        ];
        let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
        let (middle, axis) = ([origin[0] + mean[0], origin[1] + mean[1]], [angle.cos(), angle.sin()]);
        let half_length = points.iter().map(|point| dot(sub(*point, middle), axis).abs()).fold(0.0, f64::max);
        (whole.is_finite() && whole != 0.0).then_some(Self { middle, axis, half_length })
    }

    /// Whether a point lies on the long side `side` (1 or -1) of the axis.
    pub(crate) fn on_side(&self, point: Point, side: f64) -> bool {
        let way = sub(point, self.middle);
        dot(way, self.axis).abs() < LONG_SIDE * self.half_length && side * dot(way, quarter(self.axis)) > 0.0
    }

    /// Whether a point of an outline belongs to a basket: near an end of the piece and not along its length.
    pub(crate) fn in_basket(&self, edge: &Edge) -> bool {
        let far = dot(sub(edge.at, self.middle), self.axis).abs() > BASKET_FROM * self.half_length;
        far && dot(edge.outward, self.axis).abs() > BASKET_SLANT
    }
}

/// Both lines of the reference.
pub(crate) struct Lines {
    outer: Line,
    inner: Line,
    pub frame: Frame,
}

/// What the reference has nearest to a point.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Near {
    pub at: Point,
    pub outward: Point,
    pub lean: f64,
    pub sway: [f64; 3],
    pub along_mm: f64,
}

impl Lines {
    pub fn new(outline: &Outline) -> Option<Self> {
        let frame = Frame::of(&outline.outer)?;
        // Lines begin on a long side, so that no basket is cut in two.
        let from_side = |line: &[Edge]| {
            let start = line.iter().position(|edge| !frame.in_basket(edge)).unwrap_or(0);
            [&line[start..], &line[..start]].concat()
        };
        let (outer, inner) = (Line::new(&from_side(&outline.outer)), Line::new(&from_side(&outline.inner)));
        Some(Self { outer, inner, frame })
    }

    pub fn nearest(&self, side: Side, point: Point) -> Option<Near> {
        match side {
            Side::Outer => self.outer.nearest(point),
            Side::Inner => self.inner.nearest(point),
        }
    }

    /// Where a place along a line is.
    pub fn edge_at(&self, side: Side, along_mm: f64) -> Edge {
        let line = if side == Side::Outer { &self.outer } else { &self.inner };
        let index = line.places.partition_point(|place| *place <= along_mm).saturating_sub(1);
        line.edges[index.min(line.edges.len() - 1)]
    }

    /// Length of a line, mm.
    pub fn long(&self, side: Side) -> f64 {
        let line = if side == Side::Outer { &self.outer } else { &self.inner };
        *line.places.last().unwrap_or(&0.0)
    }

    /// The long side on which the readings spread more: the gate's, which moves on its hinge.
    pub fn looser_side(&self, readings: &[Reading]) -> f64 {
        let spread = |side: f64| {
            let on_it = |reading: &&Reading| {
                let edge = self.edge_at(reading.side, reading.along_mm);
                !self.frame.in_basket(&edge) && self.frame.on_side(edge.at, side)
            };
            robust_spread(&readings.iter().filter(on_it).map(|reading| reading.out_mm).collect::<Vec<_>>())
        };
        if spread(1.0) > spread(-1.0) { 1.0 } else { -1.0 }
    }
}

/// A closed line with its points sorted into square cells.
struct Line {
    edges: Vec<Edge>,
    /// Length walked up to each point, and all around.
    places: Vec<f64>,
    low: Point,
    columns: usize,
    cells: Vec<Vec<u32>>,
}

/// Side of a cell, mm; also how far away nearest points are found for certain. What has gone back farther is a gap, and the photo refused.
const CELL_MM: f64 = 2.0;

impl Line {
    fn new(edges: &[Edge]) -> Self {
        let bound = |i: usize, start: f64, pick: fn(f64, f64) -> f64| edges.iter().map(|e| e.at[i]).fold(start, pick);
        let low = std::array::from_fn(|i| bound(i, f64::MAX, f64::min) - 2.0 * CELL_MM);
        let [columns, rows] =
            std::array::from_fn(|i| ((bound(i, f64::MIN, f64::max) + 2.0 * CELL_MM - low[i]) / CELL_MM) as usize + 1);
        let mut line =
            Self { edges: edges.to_vec(), places: vec![0.0], low, columns, cells: vec![Vec::new(); columns * rows] };
        for index in 0..edges.len() {
            let next = edges[(index + 1) % edges.len()].at;
            line.places.push(line.places[index] + length(sub(next, edges[index].at)));
            if let Some(cell) = line.cell(edges[index].at, 0, 0) {
                line.cells[cell].push(index as u32);
            }
        }
        line
    }

    fn cell(&self, point: Point, right: isize, down: isize) -> Option<usize> {
        let column = ((point[0] - self.low[0]) / CELL_MM).floor() as isize + right;
        let row = ((point[1] - self.low[1]) / CELL_MM).floor() as isize + down;
        let inside = column >= 0
            && row >= 0
            && (column as usize) < self.columns
            && (row as usize) < self.cells.len() / self.columns;
        inside.then(|| row as usize * self.columns + column as usize)
    }

    /// The nearest point on the line within a cell or two; `None` where there is none.
    fn nearest(&self, point: Point) -> Option<Near> {
        let (mut best, mut index) = (f64::INFINITY, None);
        for down in -1..=1 {
            for right in -1..=1 {
                let Some(cell) = self.cell(point, right, down) else { continue };
                for &candidate in &self.cells[cell] {
                    let way = sub(self.edges[candidate as usize].at, point);
                    let square = dot(way, way);
                    if square < best {
                        (best, index) = (square, Some(candidate as usize));
                    }
                }
            }
        }
        index.map(|index| self.beside(index, point))
    }

    /// The foot of a point on the sides that meet in the line's point `index`.
    fn beside(&self, index: usize, point: Point) -> Near {
        let count = self.edges.len();
        let sides = [(index + count - 1) % count, index].map(|start| {
            let (a, b) = (self.edges[start], self.edges[(start + 1) % count]);
            let (side, way) = (sub(b.at, a.at), sub(point, a.at));
            let share = (dot(way, side) / dot(side, side).max(1e-12)).clamp(0.0, 1.0);
            (start, share, along(a.at, b.at, share))
        });
        let nearer = usize::from(length(sub(sides[1].2, point)) < length(sub(sides[0].2, point)));
        let (start, share, at) = sides[nearer];
        let (a, b) = (self.edges[start], self.edges[(start + 1) % count]);
        let along_mm = self.places[start] + share * (self.places[start + 1] - self.places[start]);
        let sway = std::array::from_fn(|i| a.sway[i] + share * (b.sway[i] - a.sway[i]));
        Near {
            at,
            outward: unit(along(a.outward, b.outward, share)),
            lean: a.lean + share * (b.lean - a.lean),
            sway,
            along_mm,
        }
    }
}
