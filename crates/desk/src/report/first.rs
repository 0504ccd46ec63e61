//! What is said before all else: what no figure below it makes up for.

use super::{Clearance, aftermath, height, two_figures};
use crate::checking::Checked;
use crate::{motion, texts};
use rig::check::Check;
use rig::model::{PointId, Rig};

/// Whom nothing holds, who is not stopped yet, who falls to the floor, what cannot be done, and what one loss brings.
pub(crate) fn first(checked: &Checked) -> Vec<String> {
    let of_loss = aftermath::worst_loss(checked).filter(|worst| worst.is_grave).map(|worst| worst.line);
    let mut lines = of(&checked.rig, &checked.check);
    lines.extend(clips(checked));
    lines.extend(motion::cannot_be(checked));
    lines.extend(of_loss);
    lines
}

/// What is said before all else of a rig by itself.
pub(super) fn of(rig: &Rig, check: &Check) -> Vec<String> {
    let name = |point: PointId| ("person", rig.points[point.0].name.clone());
    let unheld = check.held_by_nothing.iter().map(|&person| texts::line("held-by-nothing", &[name(person)]));
    let falling_on = check.falling_on.iter().map(|&(person, corner)| {
        let until = format!("{} s", two_figures(rig.until_s));
        texts::line("still-falling", &[name(person), ("until", until), ("corner", texts::corner(corner))])
    });
    let reaching = check.clearances.iter().filter(|clearance| clearance.reaches_floor());
    unheld.chain(falling_on).chain(reaching.map(|clearance| lowest(rig, clearance))).collect()
}

/// How low somebody comes, and what that means.
pub(super) fn lowest(rig: &Rig, clearance: &Clearance) -> String {
    let mut values = vec![
        ("person", rig.points[clearance.person.0].name.clone()),
        ("lowest", height(clearance.worst_m)),
        ("typed", height(clearance.as_typed_m)),
        ("corner", texts::corner(clearance.worst_in)),
    ];
    values.extend(clearance.floor_m.map(|floor| ("floor", height(floor))));
    let code = match clearance.floor_m {
        Some(floor) if clearance.as_typed_m <= floor => "on-the-floor",
        Some(_) if clearance.reaches_floor() => "floor-in-reach",
        _ => "clearance",
    };
    texts::line(code, &values)
}

/// The falls of the table clip by clip that end on the ground at the worst, and the first of them.
fn clips(checked: &Checked) -> Option<String> {
    let falls = &checked.clip_falls;
    let reaching = || falls.iter().filter(|fall| fall.reaches_ground);
    let first = reaching().next()?;
    let values = [
        ("count", reaching().count().to_string()),
        ("all", falls.len().to_string()),
        ("clips", first.clips.to_string()),
        ("slack", height(first.slack_m)),
        ("corner", texts::corner(first.worst_in)),
    ];
    Some(texts::line("clips-on-the-ground", &values))
}
