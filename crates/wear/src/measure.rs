//! From photos to the depth of a groove.

use crate::align::{self, Alignment};
use crate::calliper::COVERS_95;
use crate::camera::{self, Camera, Fitted, Sighting};
use crate::groove::{self, Depth, Groove};
use crate::marks;
use crate::photo::{self, Light};
use crate::plane::Point;
use crate::sheet::sheet;
use crate::silhouette::{self, Outline};
use crate::table;
use crate::trouble::{PhotoNote, PhotoTrouble, Trouble};

/// What the user knows beside the photo.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Settings {
    /// Height of the bar over the paper in the basket, mm, if it was measured.
    pub bar_height_mm: Option<f64>,
    /// Length of the printed scale bar by a ruler, mm, if it was measured.
    pub scale_bar_mm: Option<f64>,
}

impl Settings {
    fn bar(self) -> (f64, f64) {
        match self.bar_height_mm {
            Some(height) => (height, table::photo("bar_height_measured_spread_mm")),
            None => (table::photo("bar_height_mm"), table::photo("bar_height_spread_mm")),
        }
    }

    fn print_scale(self) -> Result<f64, Trouble> {
        let wanted = sheet().scale_bar_mm;
        let found = self.scale_bar_mm.unwrap_or(wanted);
        let scale = found / wanted;
        if scale.is_nan() || (scale - 1.0).abs() > table::photo("scale_bar_tolerance") {
            return Err(Trouble::beyond(PhotoTrouble::ScaleBarOff, found, wanted));
        }
        Ok(scale)
    }
}

/// A photo that was read: where the camera was, and the outline of the piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The camera.
    pub camera: Camera,
    /// The marks seen whole.
    pub marks: Vec<Sighting>,
    /// The outline.
    pub outline: Outline,
}

/// What a piece is compared with: its own first photo, or one of a sound piece of its model.
#[derive(Debug, Clone, PartialEq)]
pub struct Reference {
    outline: Outline,
    bar_spread_mm: f64,
}

impl Reference {
    /// The reference in a photo.
    ///
    /// # Errors
    /// As [`read`].
    pub fn from_photo(bytes: &[u8], settings: &Settings) -> Result<Self, Trouble> {
        let outline = read(bytes, settings)?.outline;
        Ok(Self { outline, bar_spread_mm: settings.bar().1 })
    }

    /// Its outline.
    #[must_use]
    pub const fn outline(&self) -> &Outline {
        &self.outline
    }
}

/// How deep a groove is.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurement {
    /// Depth at the deepest place, mm; not below 0.
    pub depth_mm: f64,
    /// Lower end of the 95 % interval, mm.
    pub low_mm: f64,
    /// Upper end, mm.
    pub high_mm: f64,
    /// Length over which the groove is at least half as deep, mm.
    pub width_mm: f64,
    /// Where the deepest place is along the inner outline of the reference, mm.
    pub along_mm: f64,
    /// Depth along the inside of the basket.
    pub profile: Vec<Depth>,
    /// Lines to lay over the photo.
    pub overlay: Overlay,
    /// What to know about it.
    pub notes: Vec<(PhotoNote, f64)>,
}

/// Lines in the pixels of the upright photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Overlay {
    /// Size of the photo.
    pub size: [usize; 2],
    /// Outline of the piece: around it, and around its opening.
    pub piece: [Vec<Point>; 2],
    /// The same of the reference.
    pub reference: [Vec<Point>; 2],
    /// The deepest place.
    pub deepest: Point,
}

/// Reads a photo: camera and outline.
///
/// # Errors
/// Where the photo is not good enough: why, with what was found and what is allowed.
pub fn read(bytes: &[u8], settings: &Settings) -> Result<Reading, Trouble> {
    let scale = settings.print_scale()?;
    read_light(&photo::decode(bytes)?, scale, settings.bar().0)
}

fn read_light(light: &Light, scale: f64, bar_height_mm: f64) -> Result<Reading, Trouble> {
    let mut marks = marks::find(light);
    for mark in &mut marks {
        mark.sheet = mark.sheet.map(|value| value * scale);
    }
    let fitted = camera_over(&marks, [light.width, light.height])?;
    let marks = marks.into_iter().zip(&fitted.counted).filter(|(_, on)| **on).map(|(mark, _)| mark).collect();
    let outline = silhouette::outline(light, &fitted, bar_height_mm)?;
    Ok(Reading { camera: fitted.camera, marks, outline })
}

/// The camera, if enough marks lie on flat paper and it was held straight enough.
fn camera_over(marks: &[Sighting], size: [usize; 2]) -> Result<Fitted, Trouble> {
    let fewest = table::photo("fewest_marks");
    let too_few = |count: usize| Trouble::beyond(PhotoTrouble::TooFewMarks, count as f64, fewest);
    if (marks.len() as f64) < fewest {
        return Err(too_few(marks.len()));
    }
    let fitted = camera::fit(marks, size).ok_or(too_few(0))?;
    let on: Vec<f64> =
        fitted.misfits_mm.iter().zip(&fitted.counted).filter(|(_, on)| **on).map(|(off, _)| *off).collect();
    let flat = table::photo("mark_misfit_mm");
    // A mark or two that was misread is left out; where most do not fit, it is the paper.
    let misfit = root_mean_square(if (on.len() as f64) < fewest { &fitted.misfits_mm } else { &on });
    if misfit > flat {
        return Err(Trouble::beyond(PhotoTrouble::PaperNotFlat, misfit, flat));
    }
    let (tilt, steepest) = (fitted.camera.tilt_deg(), table::photo("steepest_tilt_deg"));
    if tilt > steepest {
        return Err(Trouble::beyond(PhotoTrouble::TooTilted, tilt, steepest));
    }
    Ok(fitted)
}

/// A slanted look at a bar that is worn deep may see the unworn rim above or below the groove, and not its bottom.
fn rim_may_hide(groove: &Groove, alignment: &Alignment, height_mm: f64) -> Option<(PhotoNote, f64)> {
    let slant_deg = (1.0 / (1.0 + groove::lean(alignment, groove.deepest.along_mm))).acos().to_degrees();
    let is_deep = groove.deepest.depth_mm > table::photo("rim_hides_share") * height_mm;
    (is_deep && slant_deg > table::photo("rim_hides_slant_deg")).then_some((PhotoNote::RimMayHide, slant_deg))
}

fn root_mean_square(values: &[f64]) -> f64 {
    (values.iter().map(|value| value * value).sum::<f64>() / values.len() as f64).sqrt()
}

/// Measures the groove of a piece in a photo against a reference.
///
/// # Errors
/// As [`read`], or where the piece is not of the reference's shape.
pub fn measure(bytes: &[u8], reference: &Reference, settings: &Settings) -> Result<Measurement, Trouble> {
    let scale = settings.print_scale()?;
    let (height, spread) = settings.bar();
    let light = photo::decode(bytes)?;
    let reading = read_light(&light, scale, height)?;
    let other = Trouble::plain(PhotoTrouble::OtherShape);
    let alignment =
        align::align(&reading.outline, &reference.outline, spread.max(reference.bar_spread_mm)).ok_or(other)?;
    let allowed = table::photo("other_model_mm");
    if alignment.spread_mm > allowed {
        return Err(Trouble::beyond(PhotoTrouble::OtherShape, alignment.spread_mm, allowed));
    }
    let groove = groove::deepest(&alignment, &reference.outline).ok_or(other)?;
    if groove.gap_mm > LONGEST_GAP_MM {
        return Err(Trouble::beyond(PhotoTrouble::OutlineOpen, groove.gap_mm, LONGEST_GAP_MM));
    }
    let mut measurement = interval(&groove, settings);
    measurement.overlay = overlay(&light, &reading, &alignment, reference, height, &groove);
    measurement.notes = notes(&groove, &reading, &alignment, settings, measurement.low_mm);
    measurement.notes.extend(rim_may_hide(&groove, &alignment, height));
    Ok(measurement)
}

/// Where nothing was read over more than this, a groove of half a rope's width may hide, mm; ends of baskets lose about 2 mm to a slanted look.
const LONGEST_GAP_MM: f64 = 3.0;

/// What is added to the spread that a photo itself shows: standard deviation of a depth, mm, and its share of the depth.
#[must_use]
pub fn allowances() -> [f64; 2] {
    ["least_spread_mm", "depth_spread"].map(table::photo)
}

fn interval(groove: &Groove, settings: &Settings) -> Measurement {
    let depth = groove.deepest.depth_mm.max(0.0);
    let print = if settings.scale_bar_mm.is_some() { 0.0 } else { depth * table::photo("print_spread") };
    let spread = groove.spread_mm.hypot(print).hypot(depth * table::photo("depth_spread"));
    // The deepest of many places is deep by chance alone: below that reach nothing says that there is a groove.
    let seen = depth > groove.noise_reach * spread;
    Measurement {
        depth_mm: depth,
        low_mm: if seen { (depth - COVERS_95 * spread).max(0.0) } else { 0.0 },
        high_mm: depth + COVERS_95 * spread,
        width_mm: if seen { groove.width_mm } else { 0.0 },
        along_mm: groove.deepest.along_mm,
        profile: groove.profile.clone(),
        overlay: Overlay {
            size: [0; 2],
            piece: [Vec::new(), Vec::new()],
            reference: [Vec::new(), Vec::new()],
            deepest: [0.0; 2],
        },
        notes: Vec::new(),
    }
}

fn overlay(
    light: &Light,
    reading: &Reading,
    alignment: &Alignment,
    reference: &Reference,
    height: f64,
    groove: &Groove,
) -> Overlay {
    let seen = |point: Point| reading.camera.project(alignment.placement.back(point), height / 2.0);
    let lines = [&reference.outline.outer, &reference.outline.inner];
    Overlay {
        size: [light.width, light.height],
        piece: [&reading.outline.outer, &reading.outline.inner]
            .map(|line| line.iter().map(|edge| edge.photo).collect()),
        reference: lines.map(|line| line.iter().map(|edge| seen(edge.at)).collect()),
        deepest: align::inner_place(&reference.outline, groove.deepest.along_mm).map_or([0.0; 2], seen),
    }
}

fn notes(
    groove: &Groove,
    reading: &Reading,
    alignment: &Alignment,
    settings: &Settings,
    low_mm: f64,
) -> Vec<(PhotoNote, f64)> {
    let hidden = sheet().mark.len() - reading.marks.len();
    let all = [
        (true, PhotoNote::FeelTheEdge, 0.0),
        (low_mm <= 0.0, PhotoNote::NoGrooveSeen, groove.noise_reach * groove.spread_mm),
        (settings.bar_height_mm.is_none(), PhotoNote::BarHeightAssumed, table::photo("bar_height_mm")),
        (settings.scale_bar_mm.is_none(), PhotoNote::ScaleBarAssumed, sheet().scale_bar_mm),
        (hidden > 0, PhotoNote::MarksHidden, reading.marks.len() as f64),
        (alignment.placement.is_mirrored(), PhotoNote::TurnedOver, 0.0),
    ];
    all.into_iter().filter(|(holds, ..)| *holds).map(|(_, note, value)| (note, value)).collect()
}
