//! Laying one outline over another: turned, shifted, scaled, maybe mirrored, with what two photos of one piece may differ by.

use crate::linear::Normal;
use crate::plane::{self, Point, add, cross, dot, quarter, robust_spread, scale, sub};
use crate::silhouette::{Edge, Outline};
use crate::table;

mod reference;

pub use reference::Frame;
pub(crate) use reference::Lines;
pub(crate) use reference::Side;

/// Turn, scale and shift, after a mirroring across the long axis if there is one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// Rows of the turn with its scale, mirrored or not.
    turn: [Point; 2],
    shift: Point,
}

impl Placement {
    /// Where a point goes.
    #[must_use]
    pub fn place(&self, point: Point) -> Point {
        [dot(self.turn[0], point) + self.shift[0], dot(self.turn[1], point) + self.shift[1]]
    }

    /// Where a direction goes.
    #[must_use]
    pub fn direct(&self, direction: Point) -> Point {
        plane::unit([dot(self.turn[0], direction), dot(self.turn[1], direction)])
    }

    /// From where a point comes.
    #[must_use]
    pub fn back(&self, point: Point) -> Point {
        let [x, y] = sub(point, self.shift);
        let [[a, b], [c, d]] = self.turn;
        let whole = a * d - b * c;
        [(d * x - b * y) / whole, (a * y - c * x) / whole]
    }

    /// Whether the piece lies on its other side.
    #[must_use]
    pub fn is_mirrored(&self) -> bool {
        cross(self.turn[0], self.turn[1]) < 0.0
    }

    fn moved(&self, shift: Point, turn: f64, growth: f64) -> Self {
        let apply = |p: Point| [p[0] + growth * p[0] - turn * p[1], p[1] + growth * p[1] + turn * p[0]];
        let columns = [apply([self.turn[0][0], self.turn[1][0]]), apply([self.turn[0][1], self.turn[1][1]])];
        Self {
            turn: [[columns[0][0], columns[1][0]], [columns[0][1], columns[1][1]]],
            shift: add(apply(self.shift), shift),
        }
    }
}

/// The unknowns: shift (2), turn, growth, how much wider all metal looks, error of the bar's radius, and where the cameras of
/// piece (3) and reference (3) were.
pub const UNKNOWNS: usize = 12;

/// How far an edge is out of the reference's metal at one place, and what that would change with.
#[derive(Debug, Clone, Copy)]
pub struct Reading {
    /// On which line of the reference.
    pub(crate) side: Side,
    /// Place along that line, mm.
    pub along_mm: f64,
    /// Distance out of the reference's metal, mm.
    pub out_mm: f64,
    /// By how much of the bar's radius a slanted look made the bar seem wider.
    pub lean: f64,
    /// Change of the distance with each unknown.
    pub row: [f64; UNKNOWNS],
    /// Whether it may tell how the outlines lie.
    pub counts: bool,
}

/// An outline laid over another.
#[derive(Debug, Clone)]
pub struct Alignment {
    /// From the piece to the reference.
    pub placement: Placement,
    /// Every edge against the reference, what all edges have in common taken off.
    pub readings: Vec<Reading>,
    /// Covariance of the unknowns.
    pub covariance: [[f64; UNKNOWNS]; UNKNOWNS],
    /// Spread of the readings that count, mm.
    pub spread_mm: f64,
}

/// Lays `piece` over `reference`. `bar_spread_mm` is how well the height of the bar is known.
///
/// Four starts (along either way, either side up), the best of them refined with weights that fall to nothing for what
/// does not fit (Tukey's); the long side that moved more, the gate's, then does not count.
#[must_use]
pub fn align(piece: &Outline, reference: &Outline, bar_spread_mm: f64) -> Option<Alignment> {
    let lines = Lines::new(reference)?;
    let own = Frame::of(&piece.outer)?;
    let spreads = Spreads { bar: bar_spread_mm / 2.0, eyes: [piece.eye_spread, reference.eye_spread] };
    let mut best: Option<(f64, Placement)> = None;
    for start in starts(&own, &lines.frame) {
        let Some((spread, placement)) = refine(start, piece, &lines, &spreads, 12, None) else { continue };
        if best.is_none_or(|(other, _)| spread < other) {
            best = Some((spread, placement));
        }
    }
    let (_, placement) = best?;
    let gate = lines.looser_side(&measure(&placement, piece, &lines, 2, None));
    let (_, placement) = refine(placement, piece, &lines, &spreads, 3, Some(gate))?;
    settle(placement, piece, &lines, &spreads, gate)
}

/// The point of an outline's inner line at a place along it; `None` for an outline without area.
pub(crate) fn inner_place(outline: &Outline, along_mm: f64) -> Option<Point> {
    Some(Lines::new(outline)?.edge_at(Side::Inner, along_mm).at)
}

/// Prior spreads of the unknowns that have one.
struct Spreads {
    bar: f64,
    eyes: [[f64; 3]; 2],
}

impl Spreads {
    /// Scale and width of metal may differ between photos, but not by much.
    fn add_to(&self, normal: &mut Normal<UNKNOWNS>, variance: f64) {
        let long = table::photo("growth_spread");
        let single = [long, table::photo("edge_shift_spread_mm"), self.bar];
        for (index, spread) in (3..).zip(single.iter().chain(self.eyes.as_flattened())) {
            let spread = spread.max(1e-3);
            let mut row = [0.0; UNKNOWNS];
            row[index] = 1.0;
            normal.add(&row, 0.0, variance / (spread * spread));
        }
    }
}

fn starts(own: &Frame, reference: &Frame) -> Vec<Placement> {
    let mut found = Vec::new();
    for (along, across) in [(1.0, 1.0), (-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0)] {
        let (axis, side) = (scale(reference.axis, along), scale(quarter(reference.axis), across));
        let turn: [Point; 2] =
            std::array::from_fn(|i| std::array::from_fn(|j| axis[i] * own.axis[j] + side[i] * quarter(own.axis)[j]));
        let plain = Placement { turn, shift: [0.0; 2] };
        found.push(Placement { shift: sub(reference.middle, plain.place(own.middle)), ..plain });
    }
    found
}

fn refine(
    mut placement: Placement,
    piece: &Outline,
    lines: &Lines,
    spreads: &Spreads,
    rounds: usize,
    gate: Option<f64>,
) -> Option<(f64, Placement)> {
    // Far from the end a point in so many is enough.
    let stride = if gate.is_some() { 2 } else { 12 };
    let mut spread = f64::INFINITY;
    for _ in 0..rounds {
        let Solved { step, spread: left, .. } = solve(&measure(&placement, piece, lines, stride, gate), spreads, 3)?;
        placement = placement.moved([step[0], step[1]], step[2], step[3]);
        spread = left;
    }
    Some((spread, placement))
}

fn settle(placement: Placement, piece: &Outline, lines: &Lines, spreads: &Spreads, gate: f64) -> Option<Alignment> {
    let mut readings = measure(&placement, piece, lines, 1, Some(gate));
    let Solved { step, covariance, spread } = solve(&readings, spreads, 8)?;
    for reading in &mut readings {
        reading.out_mm -= dot_row(&reading.row, &step);
    }
    let placement = placement.moved([step[0], step[1]], step[2], step[3]);
    Some(Alignment { placement, readings, covariance, spread_mm: spread })
}

fn measure(placement: &Placement, piece: &Outline, lines: &Lines, stride: usize, gate: Option<f64>) -> Vec<Reading> {
    let both = [(Side::Outer, &piece.outer), (Side::Inner, &piece.inner)];
    both.into_iter()
        .flat_map(|(side, edges)| edges.iter().step_by(stride).map(move |edge| (side, edge)))
        .filter_map(|(side, edge)| read(placement, edge, side, lines, gate))
        .collect()
}

fn read(placement: &Placement, edge: &Edge, side: Side, lines: &Lines, gate: Option<f64>) -> Option<Reading> {
    let point = placement.place(edge.at);
    let near = lines.nearest(side, point)?;
    if dot(placement.direct(edge.outward), near.outward) < 0.2 {
        return None;
    }
    let n = near.outward;
    let ([x, y, z], [other_x, other_y, other_z]) = (edge.sway, near.sway.map(|value| -value));
    let row = [
        -n[0],
        -n[1],
        -dot(n, quarter(point)),
        -dot(n, point),
        1.0,
        edge.lean - near.lean,
        x,
        y,
        z,
        other_x,
        other_y,
        other_z,
    ];
    let counts = gate.is_none_or(|side| !lines.frame.on_side(near.at, side));
    let out_mm = dot(n, sub(point, near.at));
    Some(Reading { side, along_mm: near.along_mm, out_mm, lean: edge.lean, row, counts })
}

/// Unknowns, their covariance, and the spread of what is left.
struct Solved {
    step: [f64; UNKNOWNS],
    covariance: [[f64; UNKNOWNS]; UNKNOWNS],
    spread: f64,
}

/// The unknowns that leave the readings smallest, weighted by Tukey's biweight: Beaton A., Tukey J., Technometrics 16 (1974).
fn solve(readings: &[Reading], spreads: &Spreads, rounds: usize) -> Option<Solved> {
    let counting: Vec<&Reading> = readings.iter().filter(|reading| reading.counts).collect();
    if counting.len() < 30 {
        return None;
    }
    let mut left: Vec<f64> = counting.iter().map(|reading| reading.out_mm).collect();
    let mut found = None;
    for _ in 0..rounds {
        let spread = robust_spread(&left).max(LEAST_SPREAD_MM);
        let mut normal = Normal::<UNKNOWNS>::new();
        for (reading, off) in counting.iter().zip(&left) {
            normal.add(&reading.row, reading.out_mm, biweight(off / (4.685 * spread)));
        }
        spreads.add_to(&mut normal, spread * spread);
        let step = normal.solve()?;
        left = counting.iter().map(|reading| reading.out_mm - dot_row(&reading.row, &step)).collect();
        let covariance = normal.inverse()?.map(|row| row.map(|value| value * spread * spread));
        found = Some(Solved { step, covariance, spread: robust_spread(&left) });
    }
    found
}

/// Below this spread readings are not told apart by how well they fit, mm.
const LEAST_SPREAD_MM: f64 = 0.004;

fn biweight(share: f64) -> f64 {
    if share.abs() < 1.0 { (1.0 - share * share).powi(2) } else { 0.0 }
}

fn dot_row(row: &[f64; UNKNOWNS], step: &[f64; UNKNOWNS]) -> f64 {
    row.iter().zip(step).map(|(a, b)| a * b).sum()
}
