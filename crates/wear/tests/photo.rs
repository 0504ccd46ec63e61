//! What is taken for a photo and what is not.

use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, ExtendedColorType, ImageEncoder as _, ImageFormat};
use std::io::Cursor;
use wear::measure::{Settings, read};
use wear::photo::decode;
use wear::trouble::{PhotoTrouble, Trouble};

const SIZE: [u32; 2] = [1000, 750];

/// White, with a black square in its upper left corner.
fn picture() -> Vec<u8> {
    let pixel = |index: u32| if index % SIZE[0] < 200 && index / SIZE[0] < 200 { 0 } else { 255 };
    (0..SIZE[0] * SIZE[1]).map(pixel).collect()
}

/// A JPEG of it with an orientation tag.
fn jpeg(orientation: u8) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut bytes, 90);
    let tag =
        [b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".as_slice(), &[orientation, 0, 0, 0, 0, 0, 0]].concat();
    encoder.set_exif_metadata(tag).expect("tags");
    encoder.write_image(&picture(), SIZE[0], SIZE[1], ExtendedColorType::L8).expect("in memory");
    bytes
}

fn png(picture: &DynamicImage) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, ImageFormat::Png).expect("in memory");
    bytes.into_inner()
}

fn grey() -> DynamicImage {
    DynamicImage::ImageLuma8(image::GrayImage::from_raw(SIZE[0], SIZE[1], picture()).expect("its size"))
}

fn refused(bytes: &[u8]) -> Trouble {
    decode(bytes).map(|light| [light.width, light.height]).expect_err("refused")
}

#[test]
fn the_orientation_tag_turns_a_photo_upright() {
    // Where the black corner comes to lie: left or right, top or bottom.
    for (tag, turned, corner) in [(1, false, [0, 0]), (3, false, [1, 1]), (6, true, [1, 0]), (8, true, [0, 1])] {
        let light = decode(&jpeg(tag)).expect("a photo");
        let [wide, high] = if turned { [750, 1000] } else { [1000, 750] };
        assert_eq!([light.width, light.height], [wide, high], "tag {tag}");
        for (right, low) in [(0, 0), (1, 0), (0, 1), (1, 1)] {
            let value = light.at(50 + right * (wide as isize - 100), 50 + low * (high as isize - 100));
            let black = [right, low] == corner;
            assert!((value - if black { 0.0 } else { 1.0 }).abs() < 0.01, "tag {tag} at {right} {low}: {value}");
        }
    }
}

#[test]
fn a_png_of_any_depth_gives_the_same_light() {
    let all = [
        grey(),
        grey().into_rgb8().into(),
        grey().into_rgba8().into(),
        grey().into_luma16().into(),
        grey().into_rgb16().into(),
    ];
    for picture in all {
        let light = decode(&png(&picture)).expect("a photo");
        assert_eq!(
            [light.at(10, 10), light.at(500, 500)].map(|value| (value * 1000.0).round()),
            [0.0, 1000.0],
            "{:?}",
            picture.color()
        );
    }
}

#[test]
fn what_is_no_photo_or_is_cut_short_is_unreadable() {
    let (jpeg, png) = (jpeg(1), png(&grey()));
    let cut = |bytes: &[u8], share: f64| bytes[..(bytes.len() as f64 * share) as usize].to_vec();
    let cases = [
        Vec::new(),
        b"a letter, not a photo".to_vec(),
        b"GIF89a\x10\0\x10\0\0\0\0;".to_vec(),
        jpeg[..2].to_vec(),
        cut(&jpeg, 0.1),
        cut(&jpeg, 0.6),
        jpeg[..jpeg.len() - 1].to_vec(),
        cut(&png, 0.1),
        cut(&png, 0.6),
    ];
    for (index, bytes) in cases.iter().enumerate() {
        assert_eq!(refused(bytes).code, PhotoTrouble::Unreadable, "case {index}");
    }
}

#[test]
fn a_picture_that_claims_to_be_huge_is_refused_by_its_head_alone() {
    let mut png = png(&grey());
    png[16..24].copy_from_slice(&[0, 0, 0xEA, 0x60, 0, 0, 0xEA, 0x60]);
    let check = crc32(&png[12..29]);
    png[29..33].copy_from_slice(&check.to_be_bytes());
    // Nothing behind the first data chunk's head: no pixel can have been looked at.
    png.truncate(41);
    png.extend([0; 64]);
    let found = refused(&png);
    assert_eq!((found.code, found.found), (PhotoTrouble::TooLarge, 60_000.0 * 60_000.0));

    let mut jpeg = jpeg(1);
    let frame = jpeg.windows(2).position(|pair| pair == [0xFF, 0xC0]).expect("a frame");
    jpeg[frame + 5..frame + 9].copy_from_slice(&[0xFF, 0xFF, 0xFF, 0xFF]);
    let found = refused(&jpeg);
    assert_eq!((found.code, found.found), (PhotoTrouble::TooLarge, 65_535.0 * 65_535.0));
}

/// CRC-32 of ISO 3309, as PNG chunks carry it.
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |sum, byte| {
        (0..8).fold(sum ^ u32::from(*byte), |sum, _| if sum & 1 == 1 { (sum >> 1) ^ 0xEDB8_8320 } else { sum >> 1 })
    })
}

#[test]
fn too_many_bytes_or_too_few_pixels_are_refused() {
    assert_eq!(refused(&vec![0; 40_000_001]).code, PhotoTrouble::TooLarge);
    let small = refused(&png(&DynamicImage::new_luma8(64, 64)));
    assert_eq!((small.code, small.found), (PhotoTrouble::TooSmall, 4096.0));
}

#[test]
fn a_scale_bar_that_is_far_off_is_refused_before_the_photo_is_looked_at() {
    let settings = Settings { scale_bar_mm: Some(95.0), ..Settings::default() };
    let found = read(&[], &settings).expect_err("refused");
    assert_eq!((found.code, found.found, found.allowed), (PhotoTrouble::ScaleBarOff, 95.0, 100.0));
}
