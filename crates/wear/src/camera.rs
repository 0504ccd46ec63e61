//! The camera: where it was, and how its lens bends, found from marks at known places.
//!
//! A point of the sheet is (x, y) in millimetres with its height above the paper; the camera looks down on it. Lens model:
//! radial terms k1 and k2 about the middle of the picture, as in Brown D. C., Decentering distortion of lenses,
//! Photogrammetric Engineering 32 (1966), and as most calibration programs write them.

use crate::linear::{Normal, spread};
use crate::plane::{Point, length, median, sub};
use crate::table;

type Vector = [f64; 3];

/// A camera over the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Camera {
    /// Focal length, pixels.
    pub focal_px: f64,
    /// The middle of the picture, pixels.
    pub middle: Point,
    /// Radial lens terms.
    pub lens: [f64; 2],
    rotation: [Vector; 3],
    shift: Vector,
}

/// A mark as seen: where it is on the sheet and in the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sighting {
    /// Millimetres on the sheet.
    pub sheet: Point,
    /// Pixels in the picture.
    pub photo: Point,
}

impl Camera {
    /// Where a point of the sheet, `height_mm` above the paper, is in the picture. Pixels.
    #[must_use]
    pub fn project(&self, sheet: Point, height_mm: f64) -> Point {
        let point = [sheet[0], sheet[1], -height_mm];
        let seen: Vector = std::array::from_fn(|i| dot3(self.rotation[i], point) + self.shift[i]);
        let flat = [seen[0] / seen[2], seen[1] / seen[2]];
        let bent = bend(self.lens, flat);
        [self.middle[0] + self.focal_px * bent[0], self.middle[1] + self.focal_px * bent[1]]
    }

    /// The point of the sheet at `height_mm` above the paper that is seen at a pixel. Millimetres.
    #[must_use]
    pub fn on_sheet(&self, photo: Point, height_mm: f64) -> Point {
        let bent = [(photo[0] - self.middle[0]) / self.focal_px, (photo[1] - self.middle[1]) / self.focal_px];
        let flat = unbend(self.lens, bent);
        let way = self.turn_back([flat[0], flat[1], 1.0]);
        let eye = self.eye();
        let share = (-height_mm - eye[2]) / way[2];
        [eye[0] + share * way[0], eye[1] + share * way[1]]
    }

    /// Where the camera is: x and y on the sheet, and minus its height above the paper. Millimetres.
    #[must_use]
    pub fn eye(&self) -> [f64; 3] {
        self.turn_back(self.shift.map(|value| -value))
    }

    /// How far the camera's axis leans from straight down, degrees.
    #[must_use]
    pub fn tilt_deg(&self) -> f64 {
        self.rotation[2][2].clamp(-1.0, 1.0).acos().to_degrees()
    }

    /// Pixels of one millimetre of paper at a point of the sheet.
    #[must_use]
    pub fn pixels_per_mm(&self, sheet: Point) -> f64 {
        let here = self.project(sheet, 0.0);
        let right = length(sub(self.project([sheet[0] + 1.0, sheet[1]], 0.0), here));
        let down = length(sub(self.project([sheet[0], sheet[1] + 1.0], 0.0), here));
        (right * down).sqrt()
    }

    fn turn_back(&self, vector: Vector) -> Vector {
        std::array::from_fn(|j| (0..3).map(|i| self.rotation[i][j] * vector[i]).sum())
    }
}

fn bend(lens: [f64; 2], flat: Point) -> Point {
    let square = flat[0] * flat[0] + flat[1] * flat[1];
    let factor = 1.0 + square * (lens[0] + square * lens[1]);
    [flat[0] * factor, flat[1] * factor]
}

fn unbend(lens: [f64; 2], bent: Point) -> Point {
    let mut flat = bent;
    for _ in 0..8 {
        let square = flat[0] * flat[0] + flat[1] * flat[1];
        let factor = 1.0 + square * (lens[0] + square * lens[1]);
        flat = [bent[0] / factor, bent[1] / factor];
    }
    flat
}

/// The projective map that takes sheet to picture, as three rows.
pub(crate) type Homography = [Vector; 3];

/// Where a projective map takes a point.
pub(crate) fn map(homography: &Homography, point: Point) -> Point {
    let [x, y, w] = homography.map(|row| row[0] * point[0] + row[1] * point[1] + row[2]);
    [x / w, y / w]
}

/// The projective map through at least four sightings, by least squares in scaled coordinates.
///
/// Source: Hartley R., Zisserman A., Multiple View Geometry, 2nd ed., algorithm 4.2, with the last entry held at 1.
pub(crate) fn homography(sightings: &[Sighting]) -> Option<Homography> {
    let (from, to) = (Scaling::of(sightings, |s| s.sheet), Scaling::of(sightings, |s| s.photo));
    let mut normal = Normal::<8>::new();
    for sighting in sightings {
        let ([x, y], [u, v]) = (from.apply(sighting.sheet), to.apply(sighting.photo));
        normal.add(&[x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y], u, 1.0);
        normal.add(&[0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y], v, 1.0);
    }
    let h = normal.solve()?;
    let scaled = [[h[0], h[1], h[2]], [h[3], h[4], h[5]], [h[6], h[7], 1.0]];
    Some(to.undo(scaled, from))
}

/// Middle and size of a set of points, to bring it to unit size.
#[derive(Clone, Copy)]
struct Scaling {
    middle: Point,
    size: f64,
}

impl Scaling {
    fn of(sightings: &[Sighting], pick: fn(&Sighting) -> Point) -> Self {
        let count = sightings.len() as f64;
        let sum = sightings.iter().map(pick).fold([0.0; 2], |a, b| [a[0] + b[0], a[1] + b[1]]);
        let middle = [sum[0] / count, sum[1] / count];
        let size = sightings.iter().map(|s| length(sub(pick(s), middle))).sum::<f64>() / count;
        Self { middle, size: size.max(1e-9) }
    }

    fn apply(self, point: Point) -> Point {
        [(point[0] - self.middle[0]) / self.size, (point[1] - self.middle[1]) / self.size]
    }

    /// The map between plain coordinates for one between scaled ones.
    fn undo(self, scaled: Homography, from: Self) -> Homography {
        let inner = scaled.map(|row| {
            let [a, b] = [row[0] / from.size, row[1] / from.size];
            [a, b, row[2] - a * from.middle[0] - b * from.middle[1]]
        });
        std::array::from_fn(|i| {
            std::array::from_fn(|j| match i {
                2 => inner[2][j],
                _ => self.size * inner[i][j] + self.middle[i] * inner[2][j],
            })
        })
    }
}

/// How many unknowns there are: turn (3), shift (3), logarithm of the focal length, two lens terms, middle of the picture (2).
const COUNT: usize = 11;

type Unknowns = [f64; COUNT];

/// A fitted camera with the misfit of every sighting, in millimetres of paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// The camera.
    pub camera: Camera,
    /// Distance of each sighting from where camera and sheet put it, mm, in their order.
    pub misfits_mm: Vec<f64>,
    /// Which sightings counted.
    pub counted: Vec<bool>,
    /// Standard deviations of where the camera is, as [`Camera::eye`] gives it, mm.
    ///
    /// Seen from straight above, a camera near by with a short lens shows flat paper as one far off with a long lens does.
    pub eye_spread: [f64; 3],
}

/// The camera that explains the sightings best; those that are far off do not count.
///
/// Levenberg and Marquardt's method with weak prior knowledge of focal length and lens, from `data/photo.toml`.
#[must_use]
pub fn fit(sightings: &[Sighting], size: [usize; 2]) -> Option<Fitted> {
    let mut counted = vec![true; sightings.len()];
    let start = start(sightings, size)?;
    let mut camera = start;
    loop {
        let chosen: Vec<Sighting> = sightings.iter().zip(&counted).filter(|(_, on)| **on).map(|(s, _)| *s).collect();
        if chosen.len() < 6 {
            return None;
        }
        camera = refine(camera, &chosen, size);
        let misfits_mm: Vec<f64> =
            sightings.iter().map(|s| length(sub(camera.on_sheet(s.photo, 0.0), s.sheet))).collect();
        let worst =
            (0..sightings.len()).filter(|&i| counted[i]).max_by(|&a, &b| misfits_mm[a].total_cmp(&misfits_mm[b]))?;
        let mut others: Vec<f64> = (0..sightings.len()).filter(|&i| counted[i]).map(|i| misfits_mm[i]).collect();
        if misfits_mm[worst] > LOST * median(&mut others) {
            counted[worst] = false;
            continue;
        }
        let eye_spread = eye_spread(&camera, &chosen, size)?;
        return misfits_mm.iter().all(|value| value.is_finite()).then_some(Fitted {
            camera,
            misfits_mm,
            counted,
            eye_spread,
        });
    }
}

/// A mark that is off by so many times the median is half hidden or misread: under a normal law one in thirty million is.
const LOST: f64 = 5.0;

fn middle_of(size: [usize; 2]) -> Point {
    [(size[0] as f64 - 1.0) / 2.0, (size[1] as f64 - 1.0) / 2.0]
}

/// A first camera: the projective map taken apart with the focal length expected.
///
/// Source: Zhang Z., A flexible new technique for camera calibration, IEEE PAMI 22 (2000), section 3.1.
fn start(sightings: &[Sighting], size: [usize; 2]) -> Option<Camera> {
    let h = homography(sightings)?;
    let middle = middle_of(size);
    let focal_px = table::photo("focal_of_long_edge") * size[0].max(size[1]) as f64;
    let column = |j: usize| -> Vector {
        [(h[0][j] - middle[0] * h[2][j]) / focal_px, (h[1][j] - middle[1] * h[2][j]) / focal_px, h[2][j]]
    };
    let (first, second, third) = (column(0), column(1), column(2));
    let side = if third[2] < 0.0 { -1.0 } else { 1.0 };
    let scale = side * 2.0 / (length3(first) + length3(second));
    let across = unit3(first.map(|value| value * scale));
    let down = second.map(|value| value * scale);
    let lean = dot3(across, down);
    let down = unit3(std::array::from_fn(|i| down[i] - lean * across[i]));
    let ahead = cross3(across, down);
    let rotation = std::array::from_fn(|i| [across[i], down[i], ahead[i]]);
    Some(Camera { focal_px, middle, lens: [0.0; 2], rotation, shift: third.map(|value| value * scale) })
}

fn refine(mut camera: Camera, sightings: &[Sighting], size: [usize; 2]) -> Camera {
    let mut damping = 1e-3;
    let mut cost = total(&camera, sightings, size);
    for _ in 0..60 {
        let Some(step) = step(&camera, sightings, size, damping) else { break };
        let next = moved(&camera, &step);
        let next_cost = total(&next, sightings, size);
        if next_cost < cost {
            let gain = (cost - next_cost) / cost;
            (camera, cost, damping) = (next, next_cost, damping * 0.2);
            if gain < 1e-10 {
                break;
            }
        } else {
            damping *= 8.0;
            if damping > 1e8 {
                break;
            }
        }
    }
    camera
}

/// How far a mark is found from its place in a good photo, pixels: weighs the sightings against prior knowledge.
const MARK_SPREAD_PX: f64 = 0.04;

fn residuals(camera: &Camera, sightings: &[Sighting]) -> Vec<Point> {
    let off = |s: &Sighting| sub(camera.project(s.sheet, 0.0), s.photo).map(|value| value / MARK_SPREAD_PX);
    sightings.iter().map(off).collect()
}

fn prior(camera: &Camera, size: [usize; 2]) -> [f64; 5] {
    let long = size[0].max(size[1]) as f64;
    let expected = table::photo("focal_of_long_edge") * long;
    let middle = middle_of(size);
    let miss = table::photo("middle_spread") * long;
    let spread = table::photo("lens_spread");
    [
        (camera.focal_px / expected).ln() / table::photo("focal_spread"),
        camera.lens[0] / spread,
        camera.lens[1] / spread,
        (camera.middle[0] - middle[0]) / miss,
        (camera.middle[1] - middle[1]) / miss,
    ]
}

fn total(camera: &Camera, sightings: &[Sighting], size: [usize; 2]) -> f64 {
    let seen: f64 = residuals(camera, sightings).iter().map(|r| r[0] * r[0] + r[1] * r[1]).sum();
    let total = seen + prior(camera, size).iter().map(|value| value * value).sum::<f64>();
    if total.is_nan() { f64::INFINITY } else { total }
}

/// How far unknowns are moved to see what changes.
const NUDGE: f64 = 1e-6;

fn nudged(camera: &Camera, unknown: usize) -> Camera {
    moved(camera, &std::array::from_fn(|i| if i == unknown { NUDGE } else { 0.0 }))
}

fn step(camera: &Camera, sightings: &[Sighting], size: [usize; 2], damping: f64) -> Option<Unknowns> {
    let mut normal = equations(camera, sightings, size);
    normal.damp(damping);
    normal.solve()
}

/// Standard deviations of where the camera is, from those of the unknowns.
fn eye_spread(camera: &Camera, sightings: &[Sighting], size: [usize; 2]) -> Option<[f64; 3]> {
    let covariance = equations(camera, sightings, size).inverse()?;
    let eye = camera.eye();
    let others: [Vector; COUNT] = std::array::from_fn(|unknown| nudged(camera, unknown).eye());
    Some([0, 1, 2].map(|i| spread(&others.map(|other| (other[i] - eye[i]) / NUDGE), &covariance)))
}

fn equations(camera: &Camera, sightings: &[Sighting], size: [usize; 2]) -> Normal<COUNT> {
    let (base, base_prior) = (residuals(camera, sightings), prior(camera, size));
    let (mut slopes, mut prior_slopes) = (vec![[[0.0; COUNT]; 2]; base.len()], [[0.0; COUNT]; 5]);
    for unknown in 0..COUNT {
        let other = nudged(camera, unknown);
        for (slope, (after, before)) in slopes.iter_mut().zip(residuals(&other, sightings).iter().zip(&base)) {
            slope[0][unknown] = (after[0] - before[0]) / NUDGE;
            slope[1][unknown] = (after[1] - before[1]) / NUDGE;
        }
        for (slope, (after, before)) in prior_slopes.iter_mut().zip(prior(&other, size).iter().zip(&base_prior)) {
            slope[unknown] = (after - before) / NUDGE;
        }
    }
    let mut normal = Normal::<COUNT>::new();
    for (slope, value) in slopes.iter().zip(&base) {
        normal.add(&slope[0], -value[0], 1.0);
        normal.add(&slope[1], -value[1], 1.0);
    }
    for (slope, value) in prior_slopes.iter().zip(&base_prior) {
        normal.add(slope, -value, 1.0);
    }
    normal
}

fn moved(camera: &Camera, step: &Unknowns) -> Camera {
    let turn = turn([step[0], step[1], step[2]]);
    let rotation =
        std::array::from_fn(|i| std::array::from_fn(|j| (0..3).map(|k| turn[i][k] * camera.rotation[k][j]).sum()));
    let (distance, distance_px) = (length3(camera.shift), camera.focal_px);
    Camera {
        focal_px: camera.focal_px * step[6].exp(),
        middle: [camera.middle[0] + distance_px * step[9], camera.middle[1] + distance_px * step[10]],
        lens: [camera.lens[0] + step[7], camera.lens[1] + step[8]],
        rotation,
        shift: std::array::from_fn(|i| camera.shift[i] + distance * step[3 + i]),
    }
}

/// The turn about the axis `by` through its length in radians (Rodrigues).
fn turn(by: Vector) -> [Vector; 3] {
    let angle = length3(by);
    let axis = unit3(by);
    let (sine, rest) = (angle.sin(), 1.0 - angle.cos());
    let [x, y, z] = axis;
    let skew = [[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]];
    std::array::from_fn(|i| {
        std::array::from_fn(|j| {
            let same = f64::from(u8::from(i == j));
            same + sine * skew[i][j] + rest * (axis[i] * axis[j] - same)
        })
    })
}

fn dot3(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross3(a: Vector, b: Vector) -> Vector {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn length3(a: Vector) -> f64 {
    dot3(a, a).sqrt()
}

fn unit3(a: Vector) -> Vector {
    let long = length3(a);
    if long > 0.0 { a.map(|value| value / long) } else { [0.0, 0.0, 1.0] }
}
