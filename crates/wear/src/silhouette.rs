//! The outline of the piece: dark on paper, measured between pixels, and told as seen from straight above.

use crate::camera::{Camera, Fitted};
use crate::photo::Light;
use crate::plane::{self, Point, add, dot, length, median, quarter, scale, sub, unit};
use crate::table;
use crate::trouble::{PhotoTrouble, Trouble};

mod cut;
mod edge;

/// One point of an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edge {
    /// Where it is on the sheet, as seen from straight above, mm.
    pub at: Point,
    /// Unit direction out of the metal.
    pub outward: Point,
    /// By how much of the bar's radius a slanted look made the bar seem wider here.
    pub lean: f64,
    /// By how much it would lie further out for each millimetre that the camera is further along x, y and down.
    pub sway: [f64; 3],
    /// Where it is in the photo, pixels.
    pub photo: Point,
}

/// The outline of a piece: a closed line around it and one around its opening.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Around the piece.
    pub outer: Vec<Edge>,
    /// Around its opening.
    pub inner: Vec<Edge>,
    /// Standard deviation of the spread of its edges, mm.
    pub spread_mm: f64,
    /// Standard deviations of where the camera was, mm.
    pub eye_spread: [f64; 3],
}

/// Distance between points of the outline while it is looked for, mm.
const COARSE_MM: f64 = 0.4;
/// How far from the cut-out the edge is looked for at first, mm.
const FIRST_REACH_MM: f64 = 1.4;
/// And then, pixels.
const SECOND_REACH_PX: f64 = 5.0;
/// Length of outline over which its direction is taken to both sides, mm.
const CHORD_MM: f64 = 0.8;
/// Share of an outline that may be missing.
const MISSING: f64 = 0.08;

/// The outline of the piece that lies in the field, for a bar of `bar_height_mm`.
///
/// # Errors
/// No piece, one that is cut off, blur, too little contrast, or gaps in the outline.
pub fn outline(light: &Light, fitted: &Fitted, bar_height_mm: f64) -> Result<Outline, Trouble> {
    let camera = &fitted.camera;
    let cut = cut::cut_out(light, camera)?;
    let (outer, outer_look) = trace(light, camera, &cut.outer, &cut.paper)?;
    let (inner, inner_look) = trace(light, camera, &cut.inner, &cut.paper)?;
    let spread_mm = outer_look.spread_mm.max(inner_look.spread_mm);
    let contrast = outer_look.contrast.min(inner_look.contrast);
    let (most, least) = (table::photo("blur_mm"), table::photo("smallest_contrast"));
    if contrast < least {
        return Err(Trouble::beyond(PhotoTrouble::TooPale, contrast, least));
    }
    if spread_mm > most {
        return Err(Trouble::beyond(PhotoTrouble::Blurred, spread_mm, most));
    }
    for look in [outer_look, inner_look] {
        if look.missing > MISSING {
            return Err(Trouble::beyond(PhotoTrouble::OutlineOpen, look.missing, MISSING));
        }
    }
    let lifted = |line: &[Point]| from_above(line, camera, bar_height_mm / 2.0);
    Ok(Outline { outer: lifted(&outer), inner: lifted(&inner), spread_mm, eye_spread: fitted.eye_spread })
}

/// How an outline looks: spread of its edges, contrast to the paper, and the share of it that was not found.
#[derive(Debug, Clone, Copy)]
struct Look {
    spread_mm: f64,
    contrast: f64,
    missing: f64,
}

/// The pixels of an outline near a rough line on the sheet: once from afar and coarsely, once closely.
fn trace(light: &Light, camera: &Camera, rough: &[Point], paper: &cut::Paper) -> Result<(Vec<Point>, Look), Trouble> {
    let per_mm = camera.pixels_per_mm([0.0, 0.0]);
    let first = edge::along(
        light,
        &aims(camera, &plane::smooth(&plane::resample(rough, COARSE_MM), 2)),
        FIRST_REACH_MM * per_mm,
        2.0,
    );
    let kept = edge::plausible(&first, 6, 0.4 * per_mm);
    let line: Vec<Point> = kept.iter().map(|found| camera.on_sheet(found.photo, 0.0)).collect();
    if line.len() < 50 {
        return Err(Trouble::plain(PhotoTrouble::OutlineOpen));
    }
    let fine = plane::resample(&plane::smooth(&plane::resample(&line, COARSE_MM), 1), 1.0 / per_mm);
    let second = edge::along(light, &aims(camera, &fine), SECOND_REACH_PX, 1.0);
    let kept = edge::plausible(&second, 10, 0.6);
    let look = Look {
        spread_mm: median(&mut kept.iter().map(|found| found.spread).collect::<Vec<_>>()) / per_mm,
        contrast: median(
            &mut kept.iter().map(|f| f.step / paper.at(camera.on_sheet(f.photo, 0.0))).collect::<Vec<_>>(),
        ),
        missing: 1.0 - kept.len() as f64 / fine.len() as f64,
    };
    if kept.len() < 200 {
        return Err(Trouble::beyond(PhotoTrouble::OutlineOpen, look.missing, MISSING));
    }
    Ok((kept.iter().map(|found| found.photo).collect(), look))
}

/// Where to look for the edge in the photo: from each point of a line, out of the metal.
fn aims(camera: &Camera, line: &[Point]) -> Vec<edge::Aim> {
    let count = line.len();
    (0..count)
        .map(|index| {
            let chord = sub(line[(index + 2) % count], line[(index + count - 2) % count]);
            let outward = scale(quarter(unit(chord)), -1.0);
            let from = camera.project(line[index], 0.0);
            let to = camera.project(add(line[index], outward), 0.0);
            edge::Aim { from, outward: unit(sub(to, from)) }
        })
        .collect()
}

/// Pixels of an outline as points of the sheet seen from straight above, for a round bar whose middle is `radius_mm` high.
///
/// The bar is swept by spheres about its middle line. A ray that leans by `w` (way along the sheet for each unit of way down)
/// and touches the sphere about `c` where the outline faces `n` meets the middle height at
/// `p = c + radius (n + (w·n) w) / √(1 + (w·n)²)`: outside of `c + radius n`, where a look from straight above has it, and beside it.
fn from_above(pixels: &[Point], camera: &Camera, radius_mm: f64) -> Vec<Edge> {
    let line: Vec<Point> = pixels.iter().map(|pixel| camera.on_sheet(*pixel, radius_mm)).collect();
    let [eye_x, eye_y, eye_z] = camera.eye();
    let drop = -eye_z - radius_mm;
    directions(&line)
        .into_iter()
        .zip(&line)
        .zip(pixels)
        .map(|((outward, at), photo)| {
            let leaning = scale(sub(*at, [eye_x, eye_y]), 1.0 / drop);
            let slope = dot(leaning, outward);
            let long = slope.hypot(1.0);
            let seen = scale(add(outward, scale(leaning, slope)), radius_mm / long);
            // With the camera elsewhere the look would slant by more or less: the bar seems wider by `radius (√(1 + (w·n)²) - 1)`.
            let per_slope = radius_mm * slope / long;
            let sway = [outward[0], outward[1], -slope].map(|share| per_slope * share / drop);
            Edge { at: add(sub(*at, seen), scale(outward, radius_mm)), outward, lean: long - 1.0, sway, photo: *photo }
        })
        .collect()
}

/// The direction out of the metal at every point, from the line about it.
fn directions(line: &[Point]) -> Vec<Point> {
    let spacing = plane::perimeter(line) / line.len() as f64;
    let reach = (CHORD_MM / spacing).round().max(1.0) as usize;
    let count = line.len();
    (0..count)
        .map(|index| {
            let chord = (1..=reach).fold([0.0; 2], |sum, step| {
                add(sum, sub(line[(index + step) % count], line[(index + count - step) % count]))
            });
            scale(quarter(unit(chord)), -1.0)
        })
        .collect()
}

/// The longest gap between neighbours of a closed line, mm.
#[must_use]
pub fn longest_gap_mm(line: &[Edge]) -> f64 {
    line.iter().zip(line.iter().cycle().skip(1)).map(|(a, b)| length(sub(a.at, b.at))).fold(0.0, f64::max)
}
