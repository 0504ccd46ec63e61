//! From a scene to the bytes of a photo: rays, blur, sharpening, noise, tone curve, JPEG.

use crate::random::Random;
use crate::scene::{Kind, Scene};
use crate::view::View;
use image::codecs::jpeg::JpegEncoder;
use image::{ImageEncoder as _, RgbImage, imageops};
use rayon::prelude::*;
use std::ops::Range;

/// What the camera does to the light.
#[derive(Debug, Clone, Copy)]
pub struct Film {
    /// Standard deviation of the blur, pixels.
    pub blur: f64,
    /// How much of the difference to a blurred picture is added.
    pub sharpening: f64,
    /// Noise of a dark pixel, in parts of full white.
    pub noise: f64,
    /// JPEG quality.
    pub quality: u8,
    /// Seed of the noise.
    pub seed: u64,
    /// How the camera was turned: the orientation tag (1, 3, 6 or 8) that says how to lay the picture upright.
    pub orientation: u8,
}

type Colour = [f32; 3];

/// The photo as bytes of a JPEG.
///
/// # Panics
/// Where the encoder fails, which it does not on a picture in memory.
#[must_use]
pub fn take(scene: &Scene, view: &View, film: &Film) -> Vec<u8> {
    let [width, height] = view.size.map(|value| value as u32);
    let upright = RgbImage::from_raw(width, height, pixels(scene, view, film)).expect("three bytes for each pixel");
    let stored = match film.orientation {
        3 => imageops::rotate180(&upright),
        6 => imageops::rotate270(&upright),
        8 => imageops::rotate90(&upright),
        _ => upright,
    };
    let mut bytes = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut bytes, film.quality);
    encoder.set_exif_metadata(tag(film.orientation)).expect("a format that has tags");
    encoder.encode_image(&stored).expect("a picture in memory");
    bytes
}

/// The orientation tag alone, as a TIFF directory of one entry (Exif 2.3, section 4.6.4).
fn tag(orientation: u8) -> Vec<u8> {
    let mut bytes = b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
    bytes.extend([orientation, 0, 0, 0, 0, 0, 0]);
    bytes
}

/// The photo as red, green and blue bytes, row by row: in bands, so that little memory is touched at a time.
#[must_use]
pub fn pixels(scene: &Scene, view: &View, film: &Film) -> Vec<u8> {
    let [width, height] = view.size;
    let ray = |x: f64, y: f64| {
        let (colour, kind) = scene.colour(view.eye, view.way([x, y]));
        (colour.map(|value| value as f32), kind)
    };
    let grid = Grid::new(view.size, &ray);
    let tones = tones();
    let mut bytes = vec![0; width * height * 3];
    bytes.par_chunks_mut(width * 3 * BAND).enumerate().for_each(|(band, out)| {
        let rows = band * BAND..band * BAND + out.len() / (width * 3);
        let around = rows.start.saturating_sub(MARGIN)..(rows.end + MARGIN).min(height);
        let blurred = blur(&rays(&ray, &grid, view.size, around.clone()), width, film.blur);
        let sharp = if film.sharpening > 0.0 { sharpen(&blurred, width, film.sharpening) } else { blurred };
        let skipped = (rows.start - around.start) * width;
        for (row, (out, colours)) in
            out.chunks_exact_mut(width * 3).zip(sharp[skipped..].chunks_exact(width)).enumerate()
        {
            let seed = film.seed.wrapping_add((rows.start + row) as u64 * 7_919);
            develop(colours, film.noise, seed, &tones, out);
        }
    });
    bytes
}

/// Rows that are worked on together.
const BAND: usize = 96;
/// Rows beyond them that reach into them by blur and sharpening.
const MARGIN: usize = 12;

/// One ray a pixel, none where a coarse grid shows nothing but the same even light, and nine where neighbours differ.
fn rays(
    ray: &impl Fn(f64, f64) -> (Colour, Kind),
    grid: &Grid,
    [width, height]: [usize; 2],
    rows: Range<usize>,
) -> Vec<Colour> {
    let start = rows.start.saturating_sub(1);
    let one = |x: usize, y: usize| grid.between(x, y).unwrap_or_else(|| ray(x as f64, y as f64));
    let mut single = Vec::with_capacity((rows.len() + 2) * width);
    for y in start..(rows.end + 1).min(height) {
        single.extend((0..width).map(|x| one(x, y)));
    }
    let many = |x: usize, y: usize| {
        let here = (y - start) * width + x;
        if grid.is_plain(x, y) || !busy(&single, width, here) {
            return single[here].0;
        }
        let mut sum = [0.0; 3];
        for part in 0..9 {
            // A turned grid: nine different columns and rows, so that an edge along either moves in ninths of a pixel.
            let (column, row) = (f64::from(part % 3), f64::from(part / 3));
            let (right, down) = ((3.0 * column + row - 4.0) / 9.0, (3.0 * row - column - 2.0) / 9.0);
            let (colour, _) = ray(x as f64 + right, y as f64 + down);
            sum = std::array::from_fn(|i| sum[i] + colour[i] / 9.0);
        }
        sum
    };
    let mut seen = Vec::with_capacity(rows.len() * width);
    for y in rows {
        seen.extend((0..width).map(|x| many(x, y)));
    }
    seen
}

/// Rays on a coarse grid, and the cells of it where there is one thing only, evenly lit; the inside of the metal counts as even.
struct Grid {
    columns: usize,
    corners: Vec<(Colour, Kind)>,
    plain: Vec<bool>,
}

/// Side of a cell of the grid, pixels: less than the thinnest black line of the sheet.
const CELL: usize = 4;

impl Grid {
    fn new(size: [usize; 2], ray: &(impl Fn(f64, f64) -> (Colour, Kind) + Sync)) -> Self {
        let [columns, rows] = size.map(|pixels| pixels / CELL + 2);
        let corners: Vec<(Colour, Kind)> = (0..columns * rows)
            .into_par_iter()
            .map(|corner| ray((corner % columns * CELL) as f64, (corner / columns * CELL) as f64))
            .collect();
        let plain = (0..columns * rows)
            .map(|corner| {
                let (column, row) = (corner % columns, corner / columns);
                let (here, what) = corners[corner];
                // The corners of this cell and of those around it.
                (row.saturating_sub(1)..=(row + 2).min(rows - 1)).all(|row| {
                    corners[row * columns + column.saturating_sub(1)..=row * columns + (column + 2).min(columns - 1)]
                        .iter()
                        .all(|(colour, kind)| {
                            *kind == what
                                && (what == Kind::Metal || (colour[1] - here[1]).abs() < 0.004 + 0.01 * here[1])
                        })
                })
            })
            .collect();
        Self { columns, corners, plain }
    }

    fn is_plain(&self, x: usize, y: usize) -> bool {
        self.plain[y / CELL * self.columns + x / CELL]
    }

    /// What a pixel of a plain cell sees, between corners bilinear.
    fn between(&self, x: usize, y: usize) -> Option<(Colour, Kind)> {
        let corner = y / CELL * self.columns + x / CELL;
        let (right, down) = ((x % CELL) as f32 / CELL as f32, (y % CELL) as f32 / CELL as f32);
        let [a, b, c, d] = [0, 1, self.columns, self.columns + 1]
            .map(|step| self.corners[(corner + step).min(self.corners.len() - 1)].0);
        let mixed = |i: usize| {
            (a[i] * (1.0 - right) + b[i] * right) * (1.0 - down) + (c[i] * (1.0 - right) + d[i] * right) * down
        };
        self.plain[corner].then(|| (std::array::from_fn(mixed), self.corners[corner].1))
    }
}

/// Whether a pixel's neighbours are of something else, or much lighter or darker.
fn busy(single: &[(Colour, Kind)], width: usize, pixel: usize) -> bool {
    let (here, kind) = single[pixel];
    let last = single.len() - 1;
    let near = [pixel.saturating_sub(1), (pixel + 1).min(last), pixel.saturating_sub(width), (pixel + width).min(last)];
    near.iter().any(|near| {
        let (other, other_kind) = single[*near];
        kind != other_kind || (kind == Kind::Paper && (other[1] - here[1]).abs() > 0.02)
    })
}

fn blur(picture: &[Colour], width: usize, spread: f64) -> Vec<Colour> {
    let reach = (3.0 * spread).ceil() as isize;
    let weights: Vec<f32> = (-reach..=reach).map(|step| (-0.5 * (step as f64 / spread).powi(2)).exp() as f32).collect();
    let whole: f32 = weights.iter().sum();
    let weights: Vec<f32> = weights.iter().map(|weight| weight / whole).collect();
    down(&across(picture, width, &weights), width, &weights)
}

/// Each row smoothed along itself; beyond its ends it goes on as it ends.
fn across(picture: &[Colour], width: usize, weights: &[f32]) -> Vec<Colour> {
    let reach = weights.len() / 2;
    let mut out = vec![[0.0; 3]; picture.len()];
    out.chunks_mut(width).zip(picture.chunks(width)).for_each(|(out, row)| {
        let mut long = vec![row[0]; reach];
        long.extend_from_slice(row);
        long.extend(std::iter::repeat_n(row[width - 1], reach));
        for (pixel, window) in out.iter_mut().zip(long.windows(weights.len())) {
            for (colour, weight) in window.iter().zip(weights) {
                *pixel = [pixel[0] + weight * colour[0], pixel[1] + weight * colour[1], pixel[2] + weight * colour[2]];
            }
        }
    });
    out
}

/// Every row smoothed with those above and below.
fn down(picture: &[Colour], width: usize, weights: &[f32]) -> Vec<Colour> {
    let (reach, height) = (weights.len() / 2, picture.len() / width);
    let mut out = vec![[0.0; 3]; picture.len()];
    out.chunks_mut(width).enumerate().for_each(|(y, out)| {
        for (step, weight) in weights.iter().enumerate() {
            let row = (y + step).saturating_sub(reach).min(height - 1);
            for (pixel, colour) in out.iter_mut().zip(&picture[row * width..]) {
                *pixel = [pixel[0] + weight * colour[0], pixel[1] + weight * colour[1], pixel[2] + weight * colour[2]];
            }
        }
    });
    out
}

fn sharpen(picture: &[Colour], width: usize, amount: f64) -> Vec<Colour> {
    let soft = blur(picture, width, 1.5);
    let sharper =
        |(here, soft): (&Colour, &Colour)| std::array::from_fn(|i| here[i] + amount as f32 * (here[i] - soft[i]));
    picture.iter().zip(&soft).map(sharper).collect()
}

/// Steps of the table of the tone curve: far finer than the bytes that it gives.
const TONES: usize = 1 << 16;

fn tones() -> Vec<u8> {
    (0..=TONES).map(|step| (255.0 * curve(step as f64 / TONES as f64)).round() as u8).collect()
}

/// A row of light with noise as bytes.
fn develop(colours: &[Colour], noise: f64, seed: u64, tones: &[u8], out: &mut [u8]) {
    let mut random = Random::new(seed);
    for (out, colour) in out.chunks_exact_mut(3).zip(colours) {
        for (byte, value) in out.iter_mut().zip(colour) {
            let value = f64::from(*value);
            let noise = noise * (1.0 + 8.0 * value.max(0.0)).sqrt() * random.normal();
            *byte = tones[((value + noise).clamp(0.0, 1.0) * TONES as f64) as usize];
        }
    }
}

/// The tone curve of sRGB.
fn curve(value: f64) -> f64 {
    if value <= 0.003_130_8 { 12.92 * value } else { 1.055 * value.powf(1.0 / 2.4) - 0.055 }
}
