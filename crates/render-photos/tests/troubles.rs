//! A photo for each reason to refuse one, and for each note.

use render_photos::ink::Ink;
use render_photos::piece::Shape;
use render_photos::stage::{Stage, shape};
use render_photos::study;
use std::collections::BTreeSet;
use std::sync::LazyLock;
use wear::measure::{Measurement, Reference, Settings, measure, read};
use wear::trouble::{PhotoNote, PhotoTrouble, Trouble};

static INK: LazyLock<Ink> = LazyLock::new(|| study::ink(3e6));
static FIRST: LazyLock<Reference> = LazyLock::new(|| reference(&Stage::plain()));

const KNOWN: Settings = Settings { bar_height_mm: Some(10.0), scale_bar_mm: Some(100.0) };

fn reference(stage: &Stage) -> Reference {
    Reference::from_photo(&stage.take(&INK), &KNOWN).expect("a good photo")
}

fn trouble(stage: &Stage) -> Option<Trouble> {
    read(&stage.take(&INK), &KNOWN).err()
}

fn measured(stage: &Stage, settings: &Settings) -> Measurement {
    measure(&stage.take(&INK), &FIRST, settings).expect("a good photo")
}

fn stage(change: impl FnOnce(&mut Stage)) -> Stage {
    let mut stage = Stage::plain();
    change(&mut stage);
    stage
}

/// A hand over the left and the right edge of the sheet.
fn hands() -> Stage {
    stage(|s| s.fingers = vec![([-92.0, -70.0], [-88.0, 70.0], 20.0), ([92.0, -70.0], [88.0, 70.0], 20.0)])
}

/// A bar so thick, along a line so narrow, that it has no opening.
fn closed() -> Shape {
    Shape {
        corners: [[-40.0, -9.0], [40.0, -9.0], [40.0, 9.0], [-40.0, 9.0]],
        bends: [0.0; 4],
        bar_radius: 10.0,
        gate: [0.4, 0.5],
        groove_at: 0.5,
    }
}

#[test]
fn every_reason_that_a_scene_gives_is_told() {
    let cases = [
        (hands(), PhotoTrouble::TooFewMarks),
        (stage(|s| s.curl = 12.0), PhotoTrouble::PaperNotFlat),
        (stage(|s| (s.pose.tilt_deg, s.pose.distance) = (33.0, 330.0)), PhotoTrouble::TooTilted),
        (stage(|s| s.film.blur = 5.0), PhotoTrouble::Blurred),
        (stage(|s| (s.look.metal, s.look.glare) = ([0.5; 3], 0.0)), PhotoTrouble::TooPale),
        (stage(|s| s.shape = None), PhotoTrouble::NoPiece),
        (stage(|s| s.lay.at = [40.0, 10.0]), PhotoTrouble::PieceCutOff),
        (stage(|s| s.shape = Some(closed())), PhotoTrouble::OutlineOpen),
    ];
    for (stage, code) in cases {
        let found = trouble(&stage);
        assert_eq!(found.map(|trouble| trouble.code), Some(code), "{found:?}");
    }
    assert_eq!(trouble(&Stage::plain()), None);
}

#[test]
fn another_model_is_not_measured() {
    let other = stage(|s| {
        s.shape = Some(Shape { corners: [[-46.0, -16.0], [46.0, -24.0], [44.0, 20.0], [-44.0, 12.0]], ..shape() })
    });
    let found = measure(&other.take(&INK), &FIRST, &KNOWN).expect_err("another shape");
    assert_eq!(found.code, PhotoTrouble::OtherShape);
}

#[test]
fn notes_stand_where_they_hold_and_nowhere_else() {
    let mirrored = |mut shape: Shape| {
        shape.corners = shape.corners.map(|[x, y]| [x, -y]);
        shape
    };
    let over = stage(|s| s.shape = Some(mirrored(shape())));
    let finger = stage(|s| s.fingers = vec![([-120.0, 20.0], [-86.0, 24.0], 8.0)]);
    let slanted = stage(|s| (s.pose.tilt_deg, s.pose.distance) = (20.0, 280.0));
    let cases = [
        (Stage::plain().worn(0.8), KNOWN, vec![PhotoNote::FeelTheEdge]),
        (Stage::plain().worn(1.6), KNOWN, vec![PhotoNote::FeelTheEdge]),
        (slanted.clone().worn(0.8), KNOWN, vec![PhotoNote::FeelTheEdge]),
        (slanted.worn(1.6), KNOWN, vec![PhotoNote::FeelTheEdge, PhotoNote::RimMayHide]),
        (Stage::plain(), KNOWN, vec![PhotoNote::FeelTheEdge, PhotoNote::NoGrooveSeen]),
        (
            Stage::plain().worn(0.8),
            Settings { bar_height_mm: None, ..KNOWN },
            vec![PhotoNote::FeelTheEdge, PhotoNote::BarHeightAssumed],
        ),
        (
            Stage::plain().worn(0.8),
            Settings { scale_bar_mm: None, ..KNOWN },
            vec![PhotoNote::FeelTheEdge, PhotoNote::ScaleBarAssumed],
        ),
        (finger.worn(0.8), KNOWN, vec![PhotoNote::FeelTheEdge, PhotoNote::MarksHidden]),
        (over.worn(0.8), KNOWN, vec![PhotoNote::FeelTheEdge, PhotoNote::TurnedOver]),
    ];
    let mut seen = BTreeSet::new();
    for (stage, settings, notes) in cases {
        let found = measured(&stage, &settings);
        assert_eq!(found.notes.iter().map(|note| note.0).collect::<Vec<_>>(), notes);
        assert!((found.depth_mm - stage.groove.depth).abs() < 0.05, "{} for {}", found.depth_mm, stage.groove.depth);
        seen.extend(notes);
    }
    assert_eq!(seen.len(), PhotoNote::ALL.len());
}

#[test]
fn a_photo_turned_in_any_way_gives_the_same_depth() {
    let mut held = 0;
    for (step, orientation) in [1, 3, 6, 8].into_iter().enumerate() {
        let turned = stage(|s| {
            s.film.orientation = orientation;
            s.pose.roll = 0.4 + 1.3 * step as f64;
            s.pose.distance = 330.0;
        });
        let found = measured(&turned.worn(0.6), &KNOWN);
        assert!((found.depth_mm - 0.6).abs() < 0.03, "{} with tag {orientation}", found.depth_mm);
        held += u8::from(found.low_mm <= 0.6 && 0.6 <= found.high_mm);
    }
    // An interval of 95 % misses the truth once in twenty; two of four would once in seventy.
    assert!(held >= 3, "{held} of 4 intervals hold the truth");
}
