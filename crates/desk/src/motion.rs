//! Ropes on the move, told: the pull it takes, the advantage, what a hand gives, whether the rope is long enough.

use crate::checking::Checked;
use crate::figures::{band, force, length, two_figures};
use crate::texts;
use rig::running::{Moved, Moving, Spread, Way, way_code};
use serde::Serialize;
use terms::{Force, Length};

/// What it takes to move the load, in the JSON answer.
#[derive(Debug, Serialize)]
pub struct MotionRow {
    load_kn: f64,
    advantage: f64,
    ideal_advantage: Option<f64>,
    lines: Vec<MovedRow>,
    lifted: Vec<LiftedRow>,
}

#[derive(Debug, Serialize)]
struct MovedRow {
    of: String,
    hand: String,
    way: &'static str,
    pull_kn: f64,
    pull_least_kn: f64,
    pull_most_kn: f64,
    back_kn: Option<f64>,
    back_least_kn: Option<f64>,
    back_most_kn: Option<f64>,
    ideal_kn: Option<f64>,
    tail_kn: f64,
    short_m: f64,
}

#[derive(Debug, Serialize)]
struct LiftedRow {
    person: String,
    lifts_kn: f64,
}

/// The rows of the JSON answer; `None` where no rope is on the move.
#[must_use]
pub fn row(checked: &Checked) -> Option<MotionRow> {
    let moving = checked.moving.as_ref()?;
    let name = |point: rig::model::PointId| checked.rig.points[point.0].name.clone();
    let line = |moved: &Moved| MovedRow {
        of: checked.rig.ropes[checked.rig.lines[moved.line].of.0].name.clone(),
        hand: name(moved.runs.hand),
        way: way_code(moved.runs.way),
        pull_kn: moved.pull_kn.typed,
        pull_least_kn: moved.pull_kn.least,
        pull_most_kn: moved.pull_kn.most,
        back_kn: moved.back_kn.map(|back| back.typed),
        back_least_kn: moved.back_kn.map(|back| back.least),
        back_most_kn: moved.back_kn.map(|back| back.most),
        ideal_kn: moved.ideal_kn,
        tail_kn: moved.tail_kn,
        short_m: moved.short_m,
    };
    let lifted = |&(person, lifts_kn): &(rig::model::PointId, f64)| LiftedRow { person: name(person), lifts_kn };
    Some(MotionRow {
        load_kn: moving.load_kn,
        advantage: moving.advantage(),
        ideal_advantage: moving.ideal_advantage(),
        lines: moving.lines.iter().map(line).collect(),
        lifted: moving.lifted.iter().map(lifted).collect(),
    })
}

/// The lines of the report; what is at fault first.
#[must_use]
pub fn told(checked: &Checked) -> Vec<String> {
    let Some(moving) = &checked.moving else { return Vec::new() };
    let mut lines = faults(checked, moving);
    lines.extend(moving.lines.iter().map(|moved| pulls(checked, moved)));
    let hauled = moving.load_kn > 0.0 && moving.lines.iter().all(|moved| moved.runs.way == Way::In);
    if hauled && moving.lines.iter().all(|moved| moved.runs.pull.is_none()) {
        let values = [
            ("load", kilonewtons(moving.load_kn)),
            ("actual", two_figures(moving.advantage())),
            ("ideal", moving.ideal_advantage().map_or_else(|| "-".to_owned(), two_figures)),
        ];
        lines.push(texts::line("advantage", &values));
    }
    for moved in moving.lines.iter().filter(|moved| moved.tail_kn > 0.0) {
        let values = [("hand", hand(checked, moved)), ("tail", kilonewtons(moved.tail_kn))];
        lines.push(texts::line("tail", &values));
    }
    if moving.lines.iter().any(|moved| moved.runs.way == Way::Out) {
        lines.push(hand_gives());
        lines.push(texts::line("heat", &[]));
    }
    lines
}

fn faults(checked: &Checked, moving: &Moving) -> Vec<String> {
    let short = moving.lines.iter().filter(|moved| moved.short_m > 0.0).map(|moved| {
        let values = [("short", length(Length::from_m(moved.short_m))), ("hand", hand(checked, moved))];
        texts::line("short", &values)
    });
    let lifted = moving.lifted.iter().map(|&(person, lifts_kn)| {
        let values = [("person", checked.rig.points[person.0].name.clone()), ("lift", kilonewtons(lifts_kn))];
        texts::line("lifted", &values)
    });
    short.chain(lifted).collect()
}

fn pulls(checked: &Checked, moved: &Moved) -> String {
    let ideal = moved.ideal_kn.map(|ideal| texts::line("ideal", &[("ideal", kilonewtons(ideal))]));
    let back = moved.back_kn.map(|back| texts::line("back", &[("back", spread(back))]));
    let values = [
        ("hand", hand(checked, moved)),
        ("way", if moved.runs.way == Way::In { "takes in" } else { "pays out" }.to_owned()),
        ("pull", kilonewtons(moved.pull_kn.typed)),
        ("band", spread(moved.pull_kn)),
    ];
    [Some(texts::line("pulls", &values)), ideal, back].into_iter().flatten().collect::<Vec<_>>().join(" ")
}

fn hand_gives() -> String {
    let grip = trade::hand::grip();
    let values = [
        ("least", force(grip.least)),
        ("most", force(grip.most)),
        ("typical", force(grip.typical)),
        ("source", texts::source(&grip.source)),
    ];
    texts::line("hand-gives", &values)
}

fn hand(checked: &Checked, moved: &Moved) -> String {
    checked.rig.points[moved.runs.hand.0].name.clone()
}

fn spread(spread: Spread) -> String {
    band(Force::from_kn(spread.least), Force::from_kn(spread.most))
}

fn kilonewtons(kn: f64) -> String {
    force(Force::from_kn(kn))
}
