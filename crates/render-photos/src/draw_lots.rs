//! Scenes drawn by lot from a seed: shapes, grooves, cameras, light.

use crate::film::Film;
use crate::piece::{Groove, Shape};
use crate::random::Random;
use crate::scene::{Lay, Look};
use crate::view::{Pose, View};
use std::f64::consts::TAU;

/// The marks' outermost corners with a little room, mm: what a careful person has in the picture.
pub const FRAME: [[f64; 2]; 4] = [[-90.0, -66.0], [90.0, -66.0], [90.0, 66.0], [-90.0, 66.0]];

/// Corners of middle lines and insides of their bends, mm: pear, D, offset D, oval.
const FORMS: [([[f64; 2]; 4], [f64; 4]); 4] = [
    ([[-50.0, -16.0], [51.0, -28.0], [49.0, 26.0], [-50.0, 16.0]], [6.0, 9.0, 16.0, 6.0]),
    ([[-48.0, -21.0], [48.0, -21.0], [46.0, 17.0], [-46.0, 17.0]], [7.0, 8.0, 8.0, 7.0]),
    ([[-49.0, -19.0], [50.0, -22.0], [48.0, 18.0], [-46.0, 11.0]], [6.0, 8.0, 9.0, 6.0]),
    ([[-51.0, -18.0], [51.0, -18.0], [51.0, 18.0], [-51.0, 18.0]], [14.0, 14.0, 14.0, 14.0]),
];

/// A connector of one of four forms, a little different each time.
#[must_use]
pub fn shape(random: &mut Random) -> Shape {
    let (corners, bends) = FORMS[(random.bits() % 4) as usize];
    let size = random.between(0.85, 1.05);
    let mut nudge = |value: f64, by: f64| size * value + random.between(-by, by);
    Shape {
        corners: corners.map(|corner| corner.map(|value| nudge(value, 0.8))),
        bends: bends.map(|bend| nudge(bend, 0.7)),
        bar_radius: random.between(4.2, 6.0),
        gate: [random.between(0.05, 0.15), random.between(0.85, 0.95)],
        groove_at: random.between(0.35, 0.65),
    }
}

/// A groove of 0 to 2 mm; one in ten has none.
///
/// A rope across the bar leaves a trough at least as wide as itself sunk in to that depth, and wider where it wanders.
#[must_use]
pub fn groove(random: &mut Random) -> Groove {
    let depth = if random.between(0.0, 1.0) < 0.1 { 0.0 } else { random.between(0.0, 2.0) };
    let rope_radius = random.between(4.2, 5.5);
    let sunk = (2.0 * rope_radius * depth).sqrt();
    Groove { depth, reach: 0.5 + sunk * random.between(1.1, 2.0), power: random.between(1.0, 2.5) }
}

/// How the piece lies: near the middle, along the field, this or that way round.
#[must_use]
pub fn lay(random: &mut Random) -> Lay {
    let around = if random.bits().is_multiple_of(2) { 0.0 } else { TAU / 2.0 };
    Lay { at: [random.between(-8.0, 8.0), random.between(-7.0, 7.0)], turn: around + random.between(-0.12, 0.12) }
}

/// Light, shadows and metal as in a room by day: soft, from one side.
#[must_use]
pub fn look(random: &mut Random) -> Look {
    let white = random.between(0.45, 0.85);
    let tint = random.between(-0.08, 0.08);
    let grey = random.between(0.04, 0.28);
    let side = random.between(0.0, TAU);
    let low = random.between(0.0, 0.9);
    Look {
        paper: [white * (1.0 + tint), white, white * (1.0 - tint)],
        gradient: [random.between(-0.2, 0.2), random.between(-0.2, 0.2)],
        metal: std::array::from_fn(|_| white * grey * random.between(0.6, 1.4)),
        glare: random.between(0.0, 0.8),
        lamp: [low * side.cos(), low * side.sin()],
        shadow: random.between(0.0, 0.35),
        softness: random.between(1.0, 5.0),
        corner: random.between(0.0, 0.25),
    }
}

/// A camera of about `pixels`, held by hand within `steepest` degrees, any way up, with the marks in the picture.
#[must_use]
pub fn view(random: &mut Random, pixels: f64, steepest: f64) -> View {
    let across = (pixels * 4.0 / 3.0).sqrt().round() as usize;
    let size = if random.bits().is_multiple_of(4) { [across * 3 / 4, across] } else { [across, across * 3 / 4] };
    let upright = if size[0] > size[1] { 0.0 } else { TAU / 4.0 };
    // Most people hold the camera along the sheet, some any way.
    let roll = match random.bits() % 3 {
        0 => upright + random.between(-0.15, 0.15),
        1 => upright + TAU / 2.0 + random.between(-0.15, 0.15),
        _ => random.between(0.0, TAU),
    };
    let lens = [random.between(-0.04, 0.04), random.between(-0.02, 0.02)];
    let focal = random.between(0.66, 0.85);
    let mut pose = Pose {
        tilt_deg: steepest * random.between(0.0, 1.0).sqrt(),
        side: random.between(0.0, TAU),
        roll,
        target: [random.between(-5.0, 5.0), random.between(-5.0, 5.0)],
        distance: 260.0,
    };
    let fill = random.between(0.88, 0.98);
    for _ in 0..8 {
        pose.distance *= View::new(size, focal, lens, &pose).reach(&FRAME) / fill;
    }
    let mut view = View::new(size, focal, lens, &pose);
    // The axis of a phone's lens misses the middle of its sensor by a little.
    let miss = 0.003 * size[0] as f64;
    view.middle = view.middle.map(|value| value + random.between(-miss, miss));
    view
}

/// What a phone's camera does to the light.
#[must_use]
pub fn film(random: &mut Random) -> Film {
    Film {
        blur: random.between(0.6, 1.3),
        sharpening: random.between(0.0, 0.5),
        noise: random.between(0.001, 0.006),
        quality: random.between(85.0, 96.0) as u8,
        seed: random.bits(),
        orientation: [1, 1, 3, 6, 8][(random.bits() % 5) as usize],
    }
}
