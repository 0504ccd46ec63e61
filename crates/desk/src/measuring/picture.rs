//! The outlines over the photo, and the depth along the inside of the basket.

use super::{Looked, Outcome, groove_line, light};
use crate::figures::depth;
use crate::texts;
use crate::units::{Unit, Units};
use draw::plot::{Plot, Series};
use draw::worn::{Part, PhotoPart, Worn, parts, worn};
use wear::measure::Measurement;
use wear::photo::Light;

/// Pixels that a part of the photo is made smaller to, at the most, each way.
const MOST_PIXELS: usize = 900;
/// Letters of a file's name in the title, at the most.
const LONGEST_NAME: usize = 30;

/// The drawing of a measurement as an SVG document; nothing where nothing was measured.
#[must_use]
pub fn svg(looked: &Looked, units: Units) -> Option<String> {
    let Outcome::Measured(found) = &looked.outcome else { return None };
    let [photo, against] =
        [Some(&looked.photo), looked.against.as_ref()].map(|path| path.map_or("", |path| name(path)));
    let overlay = &found.overlay;
    let mut drawing = Worn {
        title: texts::wear_line("drawing-title", &[("photo", photo.to_owned()), ("against", against.to_owned())]),
        found: groove_line(found),
        caution: texts::wear_line("drawing-caution", &[]),
        photos: Vec::new(),
        piece: overlay.piece.to_vec(),
        reference: overlay.reference.to_vec(),
        deepest: overlay.deepest,
        profile: units.plot(profile(looked, found), [Some(Unit::Mm); 2]),
    };
    if let Some(light) = light(looked) {
        drawing.photos = parts(&drawing).into_iter().filter_map(|part| photo_part(&light, part)).collect();
    }
    Some(units.drawing(worn(&drawing)))
}

/// The name of a file without its folders, and no more of it than a title holds.
fn name(path: &str) -> &str {
    let name = path.rsplit(['/', '\\']).next().unwrap_or(path);
    let end = name.char_indices().nth(LONGEST_NAME).map_or(name.len(), |(end, _)| end);
    &name[..end]
}

fn profile(looked: &Looked, found: &Measurement) -> Plot {
    let line = |code| texts::wear_line(code, &[]);
    let limit = looked.known.limit();
    let label = texts::wear_line("plot-limit", &[("limit", depth(limit))]);
    let points = found.profile.iter().map(|place| [place.along_mm, place.depth_mm]).collect();
    Plot {
        title: line("plot-profile"),
        x_label: line("plot-along"),
        y_label: line("plot-depth"),
        series: vec![Series { points, ..Series::default() }],
        readings: vec![[found.along_mm, found.depth_mm, found.high_mm - found.depth_mm]],
        limit: Some((limit.mm(), label)),
        ..Plot::default()
    }
}

/// A part of the photo, grey, with no more pixels than a drawing can show.
fn photo_part(light: &Light, [left, top, width, height]: Part) -> Option<PhotoPart> {
    let factor = (width.max(height) as usize).div_ceil(MOST_PIXELS).max(1);
    // A little more than the part, so that no edge of it is left bare.
    let within = |from: f64, length: f64, most: usize| {
        let ends = [from, from + length + 2.0 * factor as f64].map(|end| (end.max(0.0) as usize).min(most));
        (ends[1] > ends[0]).then_some(ends)
    };
    let ([x0, x1], [y0, y1]) = (within(left, width, light.width)?, within(top, height, light.height)?);
    let row = |y: usize| (x0..x1).map(move |x| light.at(x as isize, y as isize));
    let cut = Light::new(x1 - x0, y1 - y0, (y0..y1).flat_map(row).collect());
    let small = cut.smaller(factor);
    let size = [small.width * factor, small.height * factor].map(|pixels| pixels as f64);
    // Pixel middles are whole numbers in a photo, pixel edges in a picture.
    let corner = [x0, y0].map(|edge| edge as f64 - 0.5);
    Some(PhotoPart { png: png(&small)?, corner, size })
}

fn png(light: &Light) -> Option<Vec<u8>> {
    let rows = (0..light.height).flat_map(|y| (0..light.width).map(move |x| light.at(x as isize, y as isize)));
    let grey: Vec<u8> = rows.map(shade).collect();
    let mut bytes = Vec::new();
    let (width, height) = (u32::try_from(light.width).ok()?, u32::try_from(light.height).ok()?);
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.write_header().ok()?.write_image_data(&grey).ok()?;
    Some(bytes)
}

/// Linear light to the shades of sRGB (IEC 61966-2-1).
fn shade(light: f32) -> u8 {
    let light = light.clamp(0.0, 1.0);
    let shade = if light <= 0.003_130_8 { 12.92 * light } else { 1.055 * light.powf(1.0 / 2.4) - 0.055 };
    (255.0 * shade).round() as u8
}
