//! From the bytes of a photo to its light: JPEG and PNG, upright, and nothing that is too large or broken.

use crate::table;
use crate::trouble::{PhotoTrouble, Trouble};
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits};
use std::io::Cursor;
use std::sync::LazyLock;

/// The light of a photo: linear luminance, 1 for the brightest white, row by row.
#[derive(Debug, Clone)]
pub struct Light {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    data: Vec<f32>,
}

impl Light {
    /// Luminance given row by row.
    ///
    /// # Panics
    /// Where `data` has not `width` times `height` values, or none at all.
    #[must_use]
    pub fn new(width: usize, height: usize, data: Vec<f32>) -> Self {
        assert!(width * height == data.len() && !data.is_empty());
        Self { width, height, data }
    }

    /// The pixel at column `x` and row `y`; outside of the photo, the nearest one.
    #[must_use]
    pub fn at(&self, x: isize, y: isize) -> f32 {
        let x = x.clamp(0, self.width as isize - 1) as usize;
        let y = y.clamp(0, self.height as isize - 1) as usize;
        self.data[y * self.width + x]
    }

    /// The light between pixels, bilinear; the middle of the first pixel is at (0, 0).
    #[must_use]
    pub fn between(&self, x: f64, y: f64) -> f64 {
        let (left, top) = (x.floor(), y.floor());
        let (right, down) = ((x - left) as f32, (y - top) as f32);
        let (column, row) = (left as isize, top as isize);
        let upper = self.at(column, row) * (1.0 - right) + self.at(column + 1, row) * right;
        let lower = self.at(column, row + 1) * (1.0 - right) + self.at(column + 1, row + 1) * right;
        f64::from(upper * (1.0 - down) + lower * down)
    }

    /// A photo `factor` times smaller each way: the mean of each block.
    #[must_use]
    pub fn smaller(&self, factor: usize) -> Self {
        if factor <= 1 {
            return self.clone();
        }
        let (width, height) = ((self.width / factor).max(1), (self.height / factor).max(1));
        let mut data = vec![0.0; width * height];
        for (y, row) in data.chunks_mut(width).enumerate() {
            for line in y * factor..((y + 1) * factor).min(self.height) {
                let pixels = &self.data[line * self.width..(line + 1) * self.width];
                for (sum, block) in row.iter_mut().zip(pixels.chunks(factor)) {
                    *sum += block.iter().sum::<f32>();
                }
            }
        }
        let share = 1.0 / (factor * factor) as f32;
        data.iter_mut().for_each(|value| *value *= share);
        Self { width, height, data }
    }
}

/// Decodes a photo, turned upright by its orientation tag.
///
/// # Errors
/// [`PhotoTrouble::TooLarge`], [`PhotoTrouble::TooSmall`] or [`PhotoTrouble::Unreadable`]. The size is looked at before
/// any pixel is decoded.
pub fn decode(bytes: &[u8]) -> Result<Light, Trouble> {
    at_most(bytes.len(), "largest_bytes")?;
    let format = image::guess_format(bytes).map_err(unreadable)?;
    if !matches!(format, ImageFormat::Jpeg | ImageFormat::Png) {
        return Err(Trouble::plain(PhotoTrouble::Unreadable));
    }
    if format == ImageFormat::Jpeg && is_cut_short(bytes) {
        return Err(Trouble::plain(PhotoTrouble::Unreadable));
    }
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    reader.limits(limits());
    let mut decoder = reader.into_decoder().map_err(unreadable)?;
    let (width, height) = decoder.dimensions();
    let pixels = width as usize * height as usize;
    at_most(pixels, "largest_pixels")?;
    let fewest = table::photo("smallest_pixels");
    if (pixels as f64) < fewest || width.min(height) < 16 {
        return Err(Trouble::beyond(PhotoTrouble::TooSmall, pixels as f64, fewest));
    }
    let orientation = decoder.orientation().map_err(unreadable)?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(unreadable)?;
    picture.apply_orientation(orientation);
    Ok(light(picture))
}

/// Whether a JPEG ends before its picture does. The decoder would fill the rest with grey.
///
/// Walks the segments to the start of the first scan, behind which the end marker must come (ISO/IEC 10918-1, annex B).
fn is_cut_short(jpeg: &[u8]) -> bool {
    const START_OF_SCAN: u8 = 0xDA;
    const END: [u8; 2] = [0xFF, 0xD9];
    let mut place = 2;
    while let Some([0xFF, marker, high, low]) = jpeg.get(place..place + 4) {
        if *marker == START_OF_SCAN {
            return !jpeg[place..].windows(2).any(|pair| pair == END);
        }
        // A segment may be preceded by fill bytes.
        place += if *marker == 0xFF { 1 } else { 2 + usize::from(u16::from_be_bytes([*high, *low])) };
    }
    true
}

fn unreadable(_: image::ImageError) -> Trouble {
    Trouble::plain(PhotoTrouble::Unreadable)
}

fn at_most(found: usize, limit: &str) -> Result<(), Trouble> {
    let allowed = table::photo(limit);
    if found as f64 > allowed {
        return Err(Trouble::beyond(PhotoTrouble::TooLarge, found as f64, allowed));
    }
    Ok(())
}

fn limits() -> Limits {
    let mut limits = Limits::default();
    // Four bytes for each of the most pixels allowed: deeper colours only where there are fewer pixels.
    limits.max_alloc = Some(4 * table::photo("largest_pixels") as u64);
    limits
}

/// Linear light of every 8-bit value. Source: IEC 61966-2-1:1999 (sRGB), as commonly quoted.
static LINEAR: LazyLock<[f32; 256]> = LazyLock::new(|| {
    std::array::from_fn(|value| {
        let share = value as f32 / 255.0;
        if share <= 0.040_45 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    })
});

/// Luminance of linear red, green and blue. Source: ITU-R BT.709, as commonly quoted.
const LUMINANCE: [f32; 3] = [0.2126, 0.7152, 0.0722];

fn light(picture: DynamicImage) -> Light {
    let table: &[f32; 256] = &LINEAR;
    let (width, height) = (picture.width() as usize, picture.height() as usize);
    let data = if let DynamicImage::ImageLuma8(grey) = picture {
        grey.as_raw().iter().map(|value| table[usize::from(*value)]).collect()
    } else {
        let weighted: [Box<[f32; 256]>; 3] = LUMINANCE.map(|weight| Box::new(table.map(|value| weight * value)));
        let pixel =
            |p: &[u8]| weighted[0][usize::from(p[0])] + weighted[1][usize::from(p[1])] + weighted[2][usize::from(p[2])];
        picture.into_rgb8().as_raw().chunks_exact(3).map(pixel).collect()
    };
    Light::new(width, height, data)
}
