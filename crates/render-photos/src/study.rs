//! The study: how far measured depths are from the true ones, and how often intervals hold them.

use crate::draw_lots;
use crate::film::{self, Film};
use crate::ink::Ink;
use crate::piece::{Groove, Piece};
use crate::random::Random;
use crate::scene::{Finger, Scene};
use crate::view::View;
use rayon::prelude::*;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use wear::calliper::COVERS_95;
use wear::measure::{self, Measurement, Reference, Settings};
use wear::trouble::{PhotoNote, Trouble};

/// How many pieces, photos of each worn, pixels to a photo, and the seed.
#[derive(Debug, Clone, Copy)]
pub struct Plan {
    /// Pieces.
    pub pieces: usize,
    /// Photos of each with a groove.
    pub each: usize,
    /// Pixels of a photo.
    pub pixels: f64,
    /// Seed.
    pub seed: u64,
}

/// An error that nobody may make without a word, mm.
const LARGE_MISS_MM: f64 = 0.15;

/// One photo of the study.
#[derive(Debug, Clone)]
pub struct Case {
    /// Piece and photo.
    pub name: String,
    /// What was worn.
    pub groove: Groove,
    /// Tilt of the camera, degrees.
    pub tilt_deg: f64,
    /// What was measured, or why not.
    pub found: Result<Measurement, Trouble>,
}

impl Case {
    /// Measured minus true depth, mm.
    #[must_use]
    pub fn error(&self) -> Option<f64> {
        self.found.as_ref().ok().map(|found| found.depth_mm - self.groove.depth)
    }

    /// Whether it is told that the groove may be deeper than what was seen.
    #[must_use]
    pub fn is_warned_of(&self) -> bool {
        self.found.as_ref().is_ok_and(|found| found.notes.iter().any(|(note, _)| *note == PhotoNote::RimMayHide))
    }

    /// Whether it is off by far and nothing tells.
    #[must_use]
    pub fn misses_in_silence(&self) -> bool {
        !self.is_warned_of() && self.error().is_some_and(|error| error.abs() > LARGE_MISS_MM)
    }

    /// Whether the interval holds the true depth.
    #[must_use]
    pub fn holds(&self) -> Option<bool> {
        self.found.as_ref().ok().map(|found| found.low_mm <= self.groove.depth && self.groove.depth <= found.high_mm)
    }
}

/// The sheet's ink, fine enough for photos of `pixels`.
#[must_use]
pub fn ink(pixels: f64) -> Ink {
    let sheet = wear::sheet::sheet();
    let svg = sheet.svg(sheet.paper("A4").expect("A4"), &[]);
    // Twice as fine as the photo.
    Ink::read(&svg, (2.0 * (pixels * 4.0 / 3.0).sqrt() / 200.0).min(32.0))
}

/// Everything about one photo but the piece.
struct Shot {
    scene_seed: Random,
    view: View,
    film: Film,
}

impl Shot {
    fn draw(random: &mut Random, pixels: f64) -> Self {
        let view = draw_lots::view(random, pixels, 24.5);
        let film = draw_lots::film(random);
        Self { scene_seed: Random::new(random.bits()), view, film }
    }

    fn take(mut self, ink: &Ink, piece: &Piece, groove: Groove) -> Vec<u8> {
        let random = &mut self.scene_seed;
        let piece = piece.worn(groove, random.between(-0.3, 0.3));
        let (lay, look) = (draw_lots::lay(random), draw_lots::look(random));
        let fingers = if random.bits().is_multiple_of(4) { vec![finger(random)] } else { Vec::new() };
        let scene = Scene { ink, piece: Some(&piece), lay, look, fingers, curl: 0.0 };
        film::take(&scene, &self.view, &self.film)
    }
}

/// A finger that holds the sheet down at its left or right edge.
fn finger(random: &mut Random) -> Finger {
    let side = if random.bits().is_multiple_of(2) { 1.0 } else { -1.0 };
    let y = random.between(-55.0, 55.0);
    ([side * 150.0, y + random.between(-20.0, 20.0)], [side * random.between(80.0, 95.0), y], random.between(7.0, 9.0))
}

/// Runs the study.
#[must_use]
pub fn run(plan: &Plan, kept: Option<&Path>) -> Vec<Case> {
    let darkroom = Darkroom { ink: ink(plan.pixels), kept: kept.map(Path::to_path_buf) };
    (0..plan.pieces).into_par_iter().flat_map_iter(|piece| piece_cases(plan, &darkroom, piece)).collect()
}

/// Takes photos, and may keep them in a folder so that they are not taken twice.
///
/// What is kept is told apart by plan and number alone: empty the folder when the renderer has changed.
pub struct Darkroom {
    /// The sheet.
    pub ink: Ink,
    /// Where photos are kept.
    pub kept: Option<PathBuf>,
}

impl Darkroom {
    /// The photo kept under a name, or else the one that `take` takes.
    ///
    /// # Panics
    /// Where the folder cannot be written to.
    fn photo(&self, name: &str, take: impl FnOnce(&Ink) -> Vec<u8>) -> Vec<u8> {
        let Some(folder) = &self.kept else { return take(&self.ink) };
        let path = folder.join(name);
        std::fs::read(&path).unwrap_or_else(|_| {
            let bytes = take(&self.ink);
            std::fs::write(&path, &bytes).expect("the folder can be written to");
            bytes
        })
    }
}

/// A piece of the study with its photos: the first, and each worn.
pub struct Story {
    /// The first photo, of the piece unworn.
    pub first: Vec<u8>,
    /// What was known when it was measured.
    pub first_settings: Settings,
    /// Photos of it worn, with their grooves, tilts and settings.
    pub worn: Vec<(Vec<u8>, Groove, f64, Settings)>,
}

/// Draws a piece of the study and takes its photos.
#[must_use]
pub fn story(plan: &Plan, darkroom: &Darkroom, number: usize) -> Story {
    let name = |photo: &str| format!("{}-{:.1}-{number}-{photo}.jpg", plan.seed, plan.pixels / 1e6);
    let mut random = Random::new(plan.seed.wrapping_mul(1_000_003).wrapping_add(number as u64));
    let shape = draw_lots::shape(&mut random);
    let settings = |random: &mut Random| Settings {
        bar_height_mm: Some(2.0 * shape.bar_radius + 0.2 * random.normal()),
        scale_bar_mm: Some(wear::sheet::sheet().scale_bar_mm),
    };
    let piece = Piece::new(&shape);
    let none = Groove { depth: 0.0, reach: 5.0, power: 2.0 };
    let shot = Shot::draw(&mut random, plan.pixels);
    let first = darkroom.photo(&name("first"), |ink| shot.take(ink, &piece, none));
    let first_settings = settings(&mut random);
    let worn = (0..plan.each).map(|photo| {
        let (groove, shot) = (draw_lots::groove(&mut random), Shot::draw(&mut random, plan.pixels));
        let (tilt_deg, settings) = (shot.view.tilt_deg(), settings(&mut random));
        (darkroom.photo(&name(&photo.to_string()), |ink| shot.take(ink, &piece, groove)), groove, tilt_deg, settings)
    });
    Story { first, first_settings, worn: worn.collect() }
}

fn piece_cases(plan: &Plan, darkroom: &Darkroom, number: usize) -> Vec<Case> {
    let story = story(plan, darkroom, number);
    let reference = Reference::from_photo(&story.first, &story.first_settings);
    let measured = |(photo, (bytes, groove, tilt_deg, settings)): (usize, (Vec<u8>, Groove, f64, Settings))| {
        let found = reference
            .as_ref()
            .map_err(|trouble| *trouble)
            .and_then(|reference| measure::measure(&bytes, reference, &settings));
        Case { name: format!("{number}/{photo}"), groove, tilt_deg, found }
    };
    story.worn.into_iter().enumerate().map(measured).collect()
}

/// One photo of the study, for whoever wants to look at it.
#[must_use]
pub fn one_photo(seed: u64, pixels: f64) -> Vec<u8> {
    let mut random = Random::new(seed);
    let (shape, groove) = (draw_lots::shape(&mut random), draw_lots::groove(&mut random));
    Shot::draw(&mut random, pixels).take(&ink(pixels), &Piece::new(&shape), groove)
}

/// The two allowances of the measuring (millimetres, share of the depth) under which the errors of grooves that were seen are likeliest
/// by the normal law, beside what each photo itself shows.
#[must_use]
pub fn likeliest_allowances(cases: &[Case]) -> [f64; 2] {
    let [least, share] = measure::allowances();
    let seen: Vec<[f64; 3]> = cases
        .iter()
        .filter_map(|case| case.found.as_ref().ok().zip(case.error()))
        .filter(|(found, _)| found.low_mm > 0.0)
        .map(|(found, error)| {
            let whole = (found.high_mm - found.low_mm) / (2.0 * COVERS_95);
            [error, found.depth_mm, whole.powi(2) - least.powi(2) - (share * found.depth_mm).powi(2)]
        })
        .collect();
    let unlikely = |[least, share]: [f64; 2]| -> f64 {
        let one = |[error, depth, own]: &[f64; 3]| {
            let variance = own + least * least + (share * depth).powi(2);
            variance.ln() + error * error / variance
        };
        seen.iter().map(one).sum()
    };
    let all =
        (1..100).flat_map(|least| (0..40).map(move |share| [f64::from(least) * 0.0005, f64::from(share) * 0.0005]));
    all.min_by(|a, b| unlikely(*a).total_cmp(&unlikely(*b))).expect("a grid that is not empty")
}

/// Every case, one a line.
#[must_use]
pub fn table(cases: &[Case]) -> String {
    let mut text = String::new();
    for case in cases {
        let _ = match &case.found {
            Ok(found) => writeln!(
                text,
                "{:8} tilt {:4.1} true {:.3} found {:.3} [{:.3}, {:.3}] error {:+.3} {}",
                case.name,
                case.tilt_deg,
                case.groove.depth,
                found.depth_mm,
                found.low_mm,
                found.high_mm,
                found.depth_mm - case.groove.depth,
                match (case.holds() == Some(true), case.is_warned_of()) {
                    (true, false) => "",
                    (true, true) => "warned",
                    (false, false) => "OUT",
                    (false, true) => "OUT warned",
                }
            ),
            Err(trouble) => writeln!(
                text,
                "{:8} tilt {:4.1} true {:.3} refused: {trouble}",
                case.name, case.tilt_deg, case.groove.depth
            ),
        };
    }
    text
}

/// What came out, as a table.
#[must_use]
pub fn report(plan: &Plan, cases: &[Case]) -> String {
    let mut errors: Vec<f64> = cases.iter().filter_map(Case::error).map(f64::abs).collect();
    errors.sort_by(f64::total_cmp);
    let count = errors.len().max(1);
    let share = |part: usize| 100.0 * part as f64 / count as f64;
    let at = |share: f64| errors.get(((count as f64 * share) as usize).min(count - 1)).copied().unwrap_or(f64::NAN);
    let held = cases.iter().filter(|case| case.holds() == Some(true)).count();
    let mean = cases.iter().filter_map(Case::error).sum::<f64>() / count as f64;
    let wide: f64 = cases.iter().filter_map(|case| case.found.as_ref().ok()).map(|f| f.high_mm - f.low_mm).sum::<f64>()
        / count as f64;
    format!(
        "| pieces x photos | megapixels | seed | measured | refused | error: mean | median size | 95 % below | largest | below 0.05 mm | over 0.15 mm | of these not warned of | photos warned of | intervals that hold the truth | mean width |\n\
         | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n\
         | {} x {} | {:.1} | {} | {} | {} | {mean:+.4} | {:.4} | {:.4} | {:.4} | {:.1} % | {} | {} | {} | {:.1} % | {wide:.3} mm |\n",
        plan.pieces,
        plan.each,
        plan.pixels / 1e6,
        plan.seed,
        errors.len(),
        cases.len() - errors.len(),
        at(0.5),
        at(0.95),
        at(1.0),
        share(errors.iter().filter(|e| **e < 0.05).count()),
        errors.iter().filter(|e| **e > LARGE_MISS_MM).count(),
        cases.iter().filter(|case| case.misses_in_silence()).count(),
        cases.iter().filter(|case| case.is_warned_of()).count(),
        share(held)
    )
}
