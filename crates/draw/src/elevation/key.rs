//! What the signs mean: only those that the drawing uses.

use super::scene::{Carries, Scene};
use super::{Emphasis, PointMark, SMALL, StrandKind, signs};
use crate::svg::{Align, Px, Sheet};
use crate::text::{Area, width};
use crate::ticks::Step;

const SAMPLE: f64 = 34.0;
const ROW: f64 = 30.0;

/// A sign that is explained.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Sign {
    Point(PointMark),
    Also(PointMark),
    Strand(StrandKind, Carries),
    Ring(Emphasis),
}

impl Sign {
    fn words(self, step: Step) -> String {
        match self {
            Sign::Point(PointMark::Anchor) => "anchor".into(),
            Sign::Point(PointMark::Joint) => "joint".into(),
            Sign::Point(PointMark::Person) => "person".into(),
            Sign::Also(_) => "moves to here".into(),
            Sign::Strand(_, Carries::Nothing) => "slack".into(),
            Sign::Strand(_, Carries::Unknown) => "not computed".into(),
            Sign::Strand(StrandKind::Rope, Carries::Tension(kn)) => format!("rope at {} kN", step.text(kn)),
            Sign::Strand(StrandKind::Sling, Carries::Tension(kn)) => format!("sling at {} kN", step.text(kn)),
            Sign::Ring(rank) => rank.words().unwrap_or_default().into(),
        }
    }

    fn draw(self, sheet: &mut Sheet, scene: &Scene, [x, y]: Px) {
        let middle = [x + SAMPLE / 2.0, y];
        match self {
            Sign::Point(PointMark::Person) => signs::point(sheet, PointMark::Person, [middle[0], y + 10.0], 1.0),
            Sign::Point(kind) => signs::point(sheet, kind, middle, 1.0),
            Sign::Also(kind) => {
                signs::ghost_sign(sheet, kind, [middle[0], y + if kind == PointMark::Person { 10.0 } else { 0.0 }])
            }
            Sign::Strand(kind, carries) => signs::strand(sheet, scene, kind, carries, &[[x, y], [x + SAMPLE, y]]),
            Sign::Ring(rank) => signs::ring(sheet, rank, middle, 3.0),
        }
    }
}

/// Draws the key from the area's top over its width and returns where it ends.
pub(super) fn draw(sheet: &mut Sheet, scene: &Scene, area: Area) -> f64 {
    let step = tension_step(scene);
    let (mut x, mut y) = (area.left, area.top + ROW / 2.0);
    let signs = signs_of(scene, step);
    for sign in &signs {
        let words = sign.words(step);
        let wide = SAMPLE + 7.0 + width(&words, SMALL) + 18.0;
        if x + wide > area.right && x > area.left {
            (x, y) = (area.left, y + ROW);
        }
        sheet.group("key", &words, |sheet| {
            sign.draw(sheet, scene, [x, y]);
            sheet.text("words", SMALL, [x + SAMPLE + 7.0, y + 4.0], Align::Start, &words);
        });
        x += wide;
    }
    if signs.is_empty() { area.top } else { y + ROW / 2.0 }
}

/// A step of tension that goes two to five times into the greatest.
fn tension_step(scene: &Scene) -> Step {
    Step::at_least(scene.most_kn / 4.0)
}

fn signs_of(scene: &Scene, step: Step) -> Vec<Sign> {
    let points = &scene.drawing.points;
    let kinds = [PointMark::Anchor, PointMark::Joint, PointMark::Person];
    let mut signs: Vec<Sign> =
        kinds.into_iter().filter(|kind| points.iter().any(|point| point.kind == *kind)).map(Sign::Point).collect();
    signs.extend(scene.ghosts.first().map(|ghost| Sign::Also(points[ghost.0].kind)));
    for kind in [StrandKind::Rope, StrandKind::Sling] {
        let carried = scene.strands.iter().filter(|strand| strand.material == kind).map(|strand| Carries::of(strand));
        if carried.into_iter().any(|carries| matches!(carries, Carries::Tension(_))) {
            signs.extend(step.multiples(step.size, scene.most_kn).map(|kn| Sign::Strand(kind, Carries::Tension(kn))));
        }
    }
    for carries in [Carries::Nothing, Carries::Unknown] {
        let used = scene.strands.iter().any(|strand| Carries::of(strand) == carries);
        signs.extend(used.then_some(Sign::Strand(StrandKind::Rope, carries)));
    }
    let ranks = [Emphasis::Over, Emphasis::Unrated, Emphasis::Low];
    signs.extend(
        ranks.into_iter().filter(|rank| scene.drawing.links.iter().any(|link| link.rank == *rank)).map(Sign::Ring),
    );
    signs
}
