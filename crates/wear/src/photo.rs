//! From the bytes of a photo to its light: JPEG and PNG, upright, and nothing that is too large or broken.

use crate::table;
use crate::trouble::{PhotoTrouble, Trouble};
use exif::{In, Tag};
use png::Transformations;
use std::io::Cursor;
use std::sync::LazyLock;
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

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

    /// Turned and mirrored as the EXIF tag `orientation` of 1 to 8 asks for.
    ///
    /// Source: EXIF 2.3 (JEITA CP-3451C), tag 274.
    fn upright(self, orientation: u32) -> Self {
        if orientation == 1 {
            return self;
        }
        let on_its_side = orientation >= 5;
        let (mirrored_x, mirrored_y) = (matches!(orientation, 2 | 3 | 7 | 8), matches!(orientation, 3 | 4 | 6 | 7));
        let (width, height) = if on_its_side { (self.height, self.width) } else { (self.width, self.height) };
        let stored_at = |x: usize, y: usize| {
            let (x, y) = if on_its_side { (y, x) } else { (x, y) };
            let x = if mirrored_x { self.width - 1 - x } else { x };
            let y = if mirrored_y { self.height - 1 - y } else { y };
            self.data[y * self.width + x]
        };
        let data = (0..height).flat_map(|y| (0..width).map(move |x| (x, y))).map(|(x, y)| stored_at(x, y)).collect();
        Self { width, height, data }
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

/// A picture as it is stored: bytes for each pixel of which the first is grey or the first three are red, green and blue.
struct Stored {
    size: [usize; 2],
    channels: usize,
    bytes: Vec<u8>,
    /// Its EXIF tags, in which the camera says how it was held.
    tags: Option<Vec<u8>>,
}

/// Decodes a photo, turned upright by its orientation tag.
///
/// # Errors
/// [`PhotoTrouble::TooLarge`], [`PhotoTrouble::TooSmall`] or [`PhotoTrouble::Unreadable`]. The size is looked at before
/// any pixel is decoded.
pub fn decode(bytes: &[u8]) -> Result<Light, Trouble> {
    at_most(bytes.len(), "largest_bytes")?;
    let stored = match bytes {
        [0xFF, 0xD8, 0xFF, ..] => jpeg(bytes)?,
        [0x89, b'P', b'N', b'G', ..] => png(bytes)?,
        _ => return Err(unreadable()),
    };
    Ok(light(&stored).upright(orientation(stored.tags)))
}

fn jpeg(bytes: &[u8]) -> Result<Stored, Trouble> {
    if is_cut_short(bytes) {
        return Err(unreadable());
    }
    // Cameras write much that is not quite the standard, and the sizes have their own bound.
    let options = DecoderOptions::default().set_strict_mode(false).set_max_width(usize::MAX).set_max_height(usize::MAX);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    decoder.decode_headers().map_err(|_| unreadable())?;
    let (width, height) = decoder.dimensions().ok_or_else(unreadable)?;
    within_bounds(width, height)?;
    let grey = decoder.input_colorspace() == Some(ColorSpace::Luma);
    let (colours, channels) = if grey { (ColorSpace::Luma, 1) } else { (ColorSpace::RGB, 3) };
    decoder.set_options(options.jpeg_set_out_colorspace(colours));
    let tags = decoder.exif().cloned();
    let bytes = decoder.decode().map_err(|_| unreadable())?;
    Ok(Stored { size: [width, height], channels, bytes, tags })
}

fn png(bytes: &[u8]) -> Result<Stored, Trouble> {
    let mut decoder = png::Decoder::new(Cursor::new(bytes));
    decoder.set_transformations(Transformations::EXPAND | Transformations::STRIP_16);
    let (width, height) = decoder.read_header_info().map(png::Info::size).map_err(|_| unreadable())?;
    within_bounds(width as usize, height as usize)?;
    let mut reader = decoder.read_info().map_err(|_| unreadable())?;
    let mut pixels = vec![0; reader.output_buffer_size().ok_or_else(unreadable)?];
    reader.next_frame(&mut pixels).map_err(|_| unreadable())?;
    let tags = reader.info().exif_metadata.as_deref().map(<[u8]>::to_vec);
    let channels = reader.output_color_type().0.samples();
    Ok(Stored { size: [width as usize, height as usize], channels, bytes: pixels, tags })
}

/// How a photo is to be turned, as EXIF tells it: 1, as it is stored, where it says nothing that can be understood.
fn orientation(tags: Option<Vec<u8>>) -> u32 {
    let tags = tags.and_then(|tags| exif::Reader::new().read_raw(tags).ok());
    let told = tags.and_then(|tags| tags.get_field(Tag::Orientation, In::PRIMARY)?.value.get_uint(0));
    told.filter(|told| (1..=8).contains(told)).unwrap_or(1)
}

fn within_bounds(width: usize, height: usize) -> Result<(), Trouble> {
    let pixels = width * height;
    at_most(pixels, "largest_pixels")?;
    let fewest = table::photo("smallest_pixels");
    if (pixels as f64) < fewest || width.min(height) < 16 {
        return Err(Trouble::beyond(PhotoTrouble::TooSmall, pixels as f64, fewest));
    }
    Ok(())
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

const fn unreadable() -> Trouble {
    Trouble::plain(PhotoTrouble::Unreadable)
}

fn at_most(found: usize, limit: &str) -> Result<(), Trouble> {
    let allowed = table::photo(limit);
    if found as f64 > allowed {
        return Err(Trouble::beyond(PhotoTrouble::TooLarge, found as f64, allowed));
    }
    Ok(())
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

fn light(stored: &Stored) -> Light {
    let table: &[f32; 256] = &LINEAR;
    let data = if stored.channels < 3 {
        stored.bytes.chunks_exact(stored.channels).map(|pixel| table[usize::from(pixel[0])]).collect()
    } else {
        let weighted: [Box<[f32; 256]>; 3] = LUMINANCE.map(|weight| Box::new(table.map(|value| weight * value)));
        let pixel =
            |p: &[u8]| weighted[0][usize::from(p[0])] + weighted[1][usize::from(p[1])] + weighted[2][usize::from(p[2])];
        stored.bytes.chunks_exact(stored.channels).map(pixel).collect()
    };
    Light::new(stored.size[0], stored.size[1], data)
}
