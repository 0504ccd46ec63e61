//! Which mark is which: pairs of neighbours are tried for pairs of the sheet, and the try that explains most wins.

use super::blobs::Blob;
use crate::camera::{Homography, Sighting, homography, map};
use crate::linear::Normal;
use crate::plane::{Point, length, sub};
use crate::sheet::sheet;
use std::f64::consts::PI;

/// The blobs that are marks: index of the mark on the sheet, and the blob.
pub fn name(blobs: &[Blob]) -> Vec<(usize, Blob)> {
    let mut best: Vec<(usize, usize)> = Vec::new();
    let places: Vec<Point> = sheet().mark.iter().map(crate::sheet::Mark::middle).collect();
    let seen: Vec<Point> = blobs.iter().map(|blob| blob.middle).collect();
    for seed in neighbours(&seen) {
        for pair in neighbours(&places) {
            if let Some(found) = grow(blobs, seed, pair)
                && found.len() > best.len()
            {
                best = found;
            }
        }
        if best.len() == places.len() {
            break;
        }
    }
    let mut named: Vec<(usize, Blob)> = best.into_iter().map(|(mark, blob)| (mark, blobs[blob])).collect();
    named.sort_by_key(|(mark, _)| *mark);
    named
}

/// Ordered pairs of each point with its nearest four.
fn neighbours(points: &[Point]) -> Vec<[usize; 2]> {
    let mut pairs = Vec::new();
    for (index, point) in points.iter().enumerate() {
        let mut others: Vec<usize> = (0..points.len()).filter(|&other| other != index).collect();
        others.sort_by(|&a, &b| length(sub(points[a], *point)).total_cmp(&length(sub(points[b], *point))));
        pairs.extend(others.into_iter().take(4).map(|other| [index, other]));
    }
    pairs
}

/// What a pair of blobs taken for a pair of marks explains: mark and blob, growing from neighbours to the whole sheet.
fn grow(blobs: &[Blob], seed: [usize; 2], pair: [usize; 2]) -> Option<Vec<(usize, usize)>> {
    let marks = &sheet().mark;
    let first = similarity(pair.map(|mark| marks[mark].middle()), seed.map(|blob| blobs[blob].middle));
    let scale = length([first[0][0], first[1][0]]);
    let fits = |blob: usize| (0.75..1.33).contains(&(blobs[blob].radius / (scale * sheet().disc_radius_mm)));
    let alike = |end: usize| fits(seed[end]) && same_turn(blobs, seed[end], pair[end], &first);
    if !alike(0) || !alike(1) {
        return None;
    }
    let origin = marks[pair[0]].middle();
    let mut found = matches(blobs, &first, origin, 60.0, 8.0);
    if found.len() < 3 {
        return None;
    }
    for (reach, tolerance) in [(90.0, 8.0), (130.0, 8.0), (400.0, 8.0), (400.0, 3.0), (400.0, 1.5)] {
        let transform = best_map(blobs, &found)?;
        found = matches(blobs, &transform, origin, reach, tolerance);
    }
    (found.len() >= 6).then_some(found)
}

/// The map that turns, scales and shifts two points into two others.
fn similarity(from: [Point; 2], to: [Point; 2]) -> Homography {
    let (a, b) = (sub(from[1], from[0]), sub(to[1], to[0]));
    let square = a[0] * a[0] + a[1] * a[1];
    let (real, turn) = ((a[0] * b[0] + a[1] * b[1]) / square, (a[0] * b[1] - a[1] * b[0]) / square);
    let shift = [to[0][0] - real * from[0][0] + turn * from[0][1], to[0][1] - turn * from[0][0] - real * from[0][1]];
    [[real, -turn, shift[0]], [turn, real, shift[1]], [0.0, 0.0, 1.0]]
}

/// An affine map for few marks, a projective one for eight or more.
fn best_map(blobs: &[Blob], found: &[(usize, usize)]) -> Option<Homography> {
    let sightings: Vec<Sighting> = found
        .iter()
        .map(|&(mark, blob)| Sighting { sheet: sheet().mark[mark].middle(), photo: blobs[blob].middle })
        .collect();
    if sightings.len() >= 8 { homography(&sightings) } else { affine(&sightings) }
}

fn affine(sightings: &[Sighting]) -> Option<Homography> {
    let (mut across, mut down) = (Normal::<3>::new(), Normal::<3>::new());
    for sighting in sightings {
        let row = [sighting.sheet[0], sighting.sheet[1], 1.0];
        across.add(&row, sighting.photo[0], 1.0);
        down.add(&row, sighting.photo[1], 1.0);
    }
    Some([across.solve()?, down.solve()?, [0.0, 0.0, 1.0]])
}

/// Marks within `reach` of `origin` that have a blob, turned as they should be, within `tolerance_mm` of where the map puts them.
fn matches(
    blobs: &[Blob],
    transform: &Homography,
    origin: Point,
    reach: f64,
    tolerance_mm: f64,
) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    for (index, mark) in sheet().mark.iter().enumerate() {
        if length(sub(mark.middle(), origin)) > reach {
            continue;
        }
        let place = map(transform, mark.middle());
        let scale = length(sub(map(transform, [mark.middle()[0] + 1.0, mark.middle()[1]]), place));
        let nearest = (0..blobs.len())
            .min_by(|&a, &b| length(sub(blobs[a].middle, place)).total_cmp(&length(sub(blobs[b].middle, place))));
        if let Some(blob) = nearest
            && length(sub(blobs[blob].middle, place)) < tolerance_mm * scale
            && same_turn(blobs, blob, index, transform)
        {
            found.push((index, blob));
        }
    }
    found
}

/// Whether a blob's sectors point where the map turns those of the mark.
fn same_turn(blobs: &[Blob], blob: usize, mark: usize, transform: &Homography) -> bool {
    let mark = &sheet().mark[mark];
    let (middle, direction) = (mark.middle(), mark.direction());
    let ahead = [middle[0] + direction.cos(), middle[1] + direction.sin()];
    let [x, y] = sub(map(transform, ahead), map(transform, middle));
    let off = (y.atan2(x) - blobs[blob].direction).rem_euclid(PI);
    off.min(PI - off) < 0.35
}
