//! The groove: how far the inside of a basket has gone back behind the reference, along the outline.

use crate::align::{Alignment, Lines, Reading, Side, UNKNOWNS};
use crate::linear::{Normal, spread};
use crate::plane::robust_spread;
use crate::silhouette::Outline;
use crate::table;
use std::ops::RangeInclusive;

/// Depth along the inside of a basket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Depth {
    /// Place along the inner line of the reference, mm.
    pub along_mm: f64,
    /// How far the metal has gone back, mm; below 0 where it stands out.
    pub depth_mm: f64,
}

/// What was found in a basket.
#[derive(Debug, Clone, PartialEq)]
pub struct Groove {
    /// Depth at its deepest, mm.
    pub deepest: Depth,
    /// Standard deviation of that depth, mm.
    pub spread_mm: f64,
    /// Length along the outline over which it is at least half as deep, mm.
    pub width_mm: f64,
    /// Depth along the inside of that basket.
    pub profile: Vec<Depth>,
    /// The longest stretch of a basket where nothing was read, mm.
    pub gap_mm: f64,
    /// How many standard deviations bare noise reaches at the most looked-at place.
    pub noise_reach: f64,
}

/// Reach to both sides over which depths are smoothed, mm, and step between them.
const REACH_MM: f64 = 1.5;
const STEP_MM: f64 = 0.25;
/// A basket's stretch of outline shorter than this is none, mm.
const LEAST_BASKET_MM: f64 = 8.0;

/// The deepest groove in the baskets of the reference; `None` where no basket could be followed.
#[must_use]
pub fn deepest(alignment: &Alignment, reference: &Outline) -> Option<Groove> {
    let baskets = Smoothed::new(alignment, reference, Side::Inner)?;
    // What has not worn shows how far smoothed readings stray.
    let sound = Smoothed::new(alignment, reference, Side::Outer)?;
    let strays: Vec<f64> = sound.values.iter().map(|value| value.depth_mm).collect();
    let noise = robust_spread(&strays).hypot(table::photo("least_spread_mm"));
    let best = baskets.values.iter().max_by(|a, b| a.depth_mm.total_cmp(&b.depth_mm))?;
    let profile = baskets.stretch_around(best.along_mm);
    let spread_mm = noise.hypot(baskets.spread_of_alignment(alignment, best.along_mm));
    Some(Groove {
        deepest: *best,
        spread_mm,
        width_mm: half_width(&profile, best),
        gap_mm: baskets.gap_mm,
        noise_reach: noise_reach(baskets.values.len() as f64 * STEP_MM / REACH_MM),
        profile,
    })
}

/// How many standard deviations the largest of `count` independent normal readings stays below in 95 of 100 cases.
///
/// Source: the tail of the normal law, `exp(-z²/2) / (z √(2π))` (Abramowitz and Stegun 26.2.12), solved for `0.05 / count`.
fn noise_reach(count: f64) -> f64 {
    let wanted = 0.05 / count.max(1.0);
    let tail = |z: f64| (-z * z / 2.0).exp() / (z * std::f64::consts::TAU.sqrt());
    let (mut low, mut high) = (1.0, 8.0);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if tail(middle) > wanted { low = middle } else { high = middle }
    }
    high
}

/// By how much of the bar's radius a slanted look made the bar seem wider at a place along the inner line.
pub(crate) fn lean(alignment: &Alignment, along_mm: f64) -> f64 {
    let near = |r: &&Reading| r.side == Side::Inner && (r.along_mm - along_mm).abs() < REACH_MM;
    alignment.readings.iter().filter(near).map(|reading| reading.lean).fold(0.0, f64::max)
}

/// Places along a line, mm.
fn steps(lines: &Lines, side: Side) -> impl Iterator<Item = f64> {
    (0..(lines.long(side) / STEP_MM) as usize).map(|step| step as f64 * STEP_MM)
}

/// The stretches of a line that are baskets. Where the bar steps in to the gate it faces along the piece too, but not for long.
fn baskets(lines: &Lines, side: Side) -> Vec<RangeInclusive<f64>> {
    let inside: Vec<f64> =
        steps(lines, side).filter(|along| lines.frame.in_basket(&lines.edge_at(side, *along))).collect();
    inside
        .chunk_by(|a, b| b - a < 2.0 * STEP_MM)
        .map(|run| run[0]..=run[run.len() - 1])
        .filter(|run| run.end() - run.start() > LEAST_BASKET_MM)
        .collect()
}

/// Depths smoothed along stretches of one line.
struct Smoothed<'a> {
    values: Vec<Depth>,
    gap_mm: f64,
    readings: Vec<&'a Reading>,
}

impl<'a> Smoothed<'a> {
    /// The stretches of a line that are baskets.
    fn new(alignment: &'a Alignment, reference: &Outline, side: Side) -> Option<Self> {
        let lines = Lines::new(reference)?;
        let baskets = baskets(&lines, side);
        let wanted = |along_mm: f64| baskets.iter().any(|basket| basket.contains(&along_mm));
        let mut readings: Vec<&Reading> =
            alignment.readings.iter().filter(|r| r.side == side && wanted(r.along_mm)).collect();
        readings.sort_by(|a, b| a.along_mm.total_cmp(&b.along_mm));
        let depths: Vec<Option<Depth>> = steps(&lines, side)
            .filter(|along| wanted(*along))
            .map(|along_mm| smoothed(&readings, along_mm).map(|out| Depth { along_mm, depth_mm: -out }))
            .collect();
        let gap = depths.split(Option::is_some).map(<[_]>::len).max().unwrap_or(0);
        Some(Self { values: depths.into_iter().flatten().collect(), gap_mm: gap as f64 * STEP_MM, readings })
    }

    /// The run of neighbours without a gap that holds a place.
    fn stretch_around(&self, along_mm: f64) -> Vec<Depth> {
        self.values
            .chunk_by(|a, b| b.along_mm - a.along_mm < 2.0 * STEP_MM)
            .find(|run| run.iter().any(|value| value.along_mm == along_mm))
            .map_or_else(Vec::new, <[Depth]>::to_vec)
    }

    /// Standard deviation that the alignment's own uncertainty gives a depth, mm.
    fn spread_of_alignment(&self, alignment: &Alignment, along_mm: f64) -> f64 {
        let near: Vec<&&Reading> = self.readings.iter().filter(|r| (r.along_mm - along_mm).abs() < REACH_MM).collect();
        let mean: [f64; UNKNOWNS] =
            std::array::from_fn(|i| near.iter().map(|r| r.row[i]).sum::<f64>() / near.len().max(1) as f64);
        spread(&mean, &alignment.covariance)
    }
}

/// The value at a place of the parabola through what lies within reach, nearer readings counting more.
///
/// Source: Cleveland W., Robust locally weighted regression, J. Am. Stat. Assoc. 74 (1979), with degree two.
fn smoothed(readings: &[&Reading], along_mm: f64) -> Option<f64> {
    let from = readings.partition_point(|reading| reading.along_mm < along_mm - REACH_MM);
    let near = readings[from..].iter().take_while(|reading| reading.along_mm < along_mm + REACH_MM);
    let mut normal = Normal::<3>::new();
    let (mut before, mut after) = (0, 0);
    for reading in near {
        let share = (reading.along_mm - along_mm) / REACH_MM;
        let weight = (1.0 - share.abs().powi(3)).powi(3);
        // A groove all around the inside leaves a thinner bar: a slanted look widens that, not the sound one.
        let out = reading.out_mm / (1.0 + reading.lean);
        normal.add(&[1.0, share, share * share], out, weight);
        if share < 0.0 { before += 1 } else { after += 1 }
    }
    if before < 5 || after < 5 {
        return None;
    }
    normal.solve().map(|[value, _, _]| value)
}

/// Length over which a groove is at least half as deep as at its deepest, mm.
fn half_width(profile: &[Depth], deepest: &Depth) -> f64 {
    let half = deepest.depth_mm / 2.0;
    let Some(middle) = profile.iter().position(|value| value.along_mm == deepest.along_mm) else { return 0.0 };
    let left = profile[..middle].iter().rev().take_while(|value| value.depth_mm > half).count();
    let right = profile[middle..].iter().take_while(|value| value.depth_mm > half).count();
    (left + right) as f64 * STEP_MM
}
