//! The marks of the sheet in a photo: found, told apart, and their middles measured between pixels.

mod blobs;
mod identify;
mod saddle;

use crate::camera::Sighting;
use crate::photo::Light;

pub use saddle::middle as refine_middle;

/// The marks seen in a photo, each at most once, in the order of the sheet.
#[must_use]
pub fn find(light: &Light) -> Vec<Sighting> {
    let factor = (light.width.max(light.height) / WORKING_EDGE).max(1);
    let small = light.smaller(factor);
    let blobs = blobs::find(&small);
    let named = identify::name(&blobs);
    named.into_iter().filter_map(|(mark, blob)| measured(light, factor, mark, &blob)).collect()
}

/// Long edge, in pixels, of the smaller photo in which the marks are looked for.
const WORKING_EDGE: usize = 1000;

fn measured(light: &Light, factor: usize, mark: usize, blob: &blobs::Blob) -> Option<Sighting> {
    let offset = (factor as f64 - 1.0) / 2.0;
    let start = blob.middle.map(|value| value * factor as f64 + offset);
    let radius = blob.radius * factor as f64;
    let photo = saddle::middle(light, start, WINDOW * radius)?;
    Some(Sighting { sheet: crate::sheet::sheet().mark[mark].middle(), photo })
}

/// The half-width of the window in which a mark's middle is measured, as a share of its radius: inside the ring.
pub const WINDOW: f64 = 0.45;
