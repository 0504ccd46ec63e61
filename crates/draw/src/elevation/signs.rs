//! The signs of the drawing: points, strands, rings, floor and scale bar.

use super::scene::{Carries, Scene};
use super::{Emphasis, PointMark, StrandKind};
use crate::svg::{Align, Pen, Px, Sheet};
use crate::ticks::Step;

/// Radius of an anchor's sign at full size.
pub(super) const REACH: f64 = 6.5;
const GHOST: Pen = Pen::new("soft", 1.2).dashed("3 2.5");

/// A point's sign, `size` times its full size; a person is always as large.
pub(super) fn point(sheet: &mut Sheet, kind: PointMark, at: Px, size: f64) {
    match kind {
        PointMark::Anchor => anchor(sheet, at, REACH * size),
        PointMark::Joint => sheet.circle(Pen::new("blank", 1.5), at, 4.5 * size),
        PointMark::Person => person(sheet, Pen::new("blank", 1.5), at, 1.0),
    }
}

/// A cross in a circle.
fn anchor(sheet: &mut Sheet, at: Px, radius: f64) {
    let pen = Pen::new("ink", 1.4);
    let arm = radius / 2.0_f64.sqrt();
    sheet.circle(Pen::new("blank", 1.4), at, radius);
    sheet.line(pen, [at[0] - arm, at[1] - arm], [at[0] + arm, at[1] + arm]);
    sheet.line(pen, [at[0] - arm, at[1] + arm], [at[0] + arm, at[1] - arm]);
}

/// A head over a body whose foot is the point.
fn person(sheet: &mut Sheet, pen: Pen, at: Px, size: f64) {
    let place = |x: f64, y: f64| [at[0] + x * size, at[1] - y * size];
    sheet.polygon(pen, &[place(-6.0, 0.0), place(-3.5, 13.0), place(3.5, 13.0), place(6.0, 0.0)]);
    sheet.circle(pen, place(0.0, 17.5), 4.5 * size);
}

/// Where a point comes to be, and the way there.
pub(super) fn ghost(sheet: &mut Sheet, kind: PointMark, from: Px, at: Px) {
    sheet.line(Pen::new("soft", 0.9).dashed("2 4"), from, at);
    ghost_sign(sheet, kind, at);
}

pub(super) fn ghost_sign(sheet: &mut Sheet, kind: PointMark, at: Px) {
    match kind {
        PointMark::Person => person(sheet, GHOST, at, 1.0),
        PointMark::Anchor | PointMark::Joint => sheet.circle(GHOST, at, 5.0),
    }
}

/// The ring about a link that asks to be looked at.
pub(super) fn ring(sheet: &mut Sheet, rank: Emphasis, at: Px, reach: f64) {
    let radius = reach + 5.0;
    match rank {
        Emphasis::Over => sheet.circle(Pen::new("accent", 3.6), at, radius),
        Emphasis::Unrated => sheet.circle(Pen::new("accent", 1.8).dashed("4 3"), at, radius),
        Emphasis::Low => sheet.circle(Pen::new("accent", 1.3), at, radius),
        Emphasis::Within => {}
    }
}

/// A strand: rope as a full line, sling as two rails, both as wide as the tension makes them; slack dashed.
pub(super) fn strand(sheet: &mut Sheet, scene: &Scene, kind: StrandKind, carries: Carries, places: &[Px]) {
    let mut stroke = |pen: Pen| match places {
        &[from, to] => sheet.line(pen, from, to),
        places => sheet.polyline(pen, places),
    };
    match (carries, kind) {
        (Carries::Nothing, _) => stroke(Pen::new("ink", 1.1).dashed("5 4")),
        (Carries::Unknown, _) => stroke(Pen::new("soft", 1.1)),
        (Carries::Tension(kn), StrandKind::Rope) => stroke(Pen::new("ink", scene.stroke(kn))),
        (Carries::Tension(kn), StrandKind::Sling) => {
            stroke(Pen::new("ink", scene.stroke(kn) + 1.8));
            stroke(Pen::new("core", scene.stroke(kn) - 0.6));
        }
    }
}

/// The ground: a line with hatches below it.
pub(super) fn floor(sheet: &mut Sheet, left: f64, right: f64, y: f64) {
    sheet.group("floor", "floor", |sheet| {
        sheet.line(Pen::new("ink", 1.3), [left, y], [right, y]);
        let count = ((right - left - 7.0) / 9.0).max(0.0) as usize;
        for hatch in 0..=count {
            let x = left + 7.0 + hatch as f64 * 9.0;
            sheet.line(Pen::new("soft", 0.8), [x, y], [x - 7.0, y + 7.0]);
        }
    });
}

/// A scale bar of a round number of metres, about 100 pixels long, centred at `at`.
pub(super) fn scale_bar(sheet: &mut Sheet, px_per_m: f64, at: Px) {
    let step = Step::at_least(65.0 / px_per_m);
    let half = step.size * px_per_m / 2.0;
    let words = format!("{} m", step.text(step.size));
    let pen = Pen::new("ink", 1.3);
    sheet.group("scale-bar", &words, |sheet| {
        sheet.line(pen, [at[0] - half, at[1]], [at[0] + half, at[1]]);
        for x in [at[0] - half, at[0] + half] {
            sheet.line(pen, [x, at[1] - 4.0], [x, at[1] + 4.0]);
        }
        sheet.text("words", 11.5, [at[0], at[1] + 15.0], Align::Middle, &words);
    });
}
