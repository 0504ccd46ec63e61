//! Ropes on the move, told: the pull it takes, the advantage, what a hand gives, whether the rope is long enough.

use crate::checking::Checked;
use crate::figures::{force, height, length, margin, strength, two_figures};
use crate::report::{position_name, seen};
use crate::texts;
use rig::check::{Link, LinkKind};
use rig::model::PointId;
use rig::moving::{Grasp, Held, Moved, Moving, Spread, Textile};
use rig::running::{Way, way_code};
use serde::Serialize;
use terms::{Finding, Force, Length};

/// What it takes to move the load, in the JSON answer.
#[derive(Debug, Serialize)]
pub struct MotionRow {
    load_kn: f64,
    advantage: f64,
    ideal_advantage: Option<f64>,
    lines: Vec<MovedRow>,
    lifted: Vec<LiftedRow>,
    hands: Vec<HeldRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    jammed: Option<JammedRow>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    abrupt: Vec<AbruptRow>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    textiles: Vec<TextileRow>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    drag: Vec<DragRow>,
}

#[derive(Debug, Serialize)]
struct HeldRow {
    hand: String,
    hands: u8,
    pull_kn: f64,
    pull_most_kn: f64,
    finding: &'static str,
}

#[derive(Debug, Serialize)]
struct JammedRow {
    hands: u32,
    pull_kn: f64,
    anchors: Vec<AbruptRow>,
    weakest: Option<String>,
    weakest_margin: Option<f64>,
}

#[derive(Debug, Serialize)]
struct AbruptRow {
    anchor: String,
    sees_kn: f64,
}

#[derive(Debug, Serialize)]
struct TextileRow {
    piece: String,
    fibre: String,
    at: String,
}

#[derive(Debug, Serialize)]
struct DragRow {
    clips: usize,
    from_m: f64,
    pull_kn: f64,
    pull_least_kn: f64,
    pull_most_kn: f64,
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
    let name = |point: PointId| name(checked, point);
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
    let lifted = |&(person, lifts_kn): &(PointId, f64)| LiftedRow { person: name(person), lifts_kn };
    let held = |held: &Held| HeldRow {
        hand: name(held.hand),
        hands: held.hands,
        pull_kn: held.pull_kn.typed,
        pull_most_kn: held.pull_kn.most,
        finding: held.grasp.code(),
    };
    let anchor = |link: &Link, sees: Force| AbruptRow { anchor: link.name.clone(), sees_kn: sees.kn() };
    let jammed = moving.party.as_ref().map(|party| JammedRow {
        hands: party.hands,
        pull_kn: party.pull_kn,
        anchors: anchors(&party.links).map(|link| anchor(link, link.sees)).collect(),
        weakest: party.weakest().map(|link| link.name.clone()),
        weakest_margin: party.weakest().and_then(|link| link.margin),
    });
    let abrupt = moving.descent.iter().flat_map(|descent| &descent.anchors);
    Some(MotionRow {
        hands: moving.hands.iter().map(held).collect(),
        jammed,
        abrupt: abrupt.map(|&(place, sees)| anchor(&checked.check.links[place], sees)).collect(),
        textiles: moving
            .textiles
            .iter()
            .map(|one| TextileRow { piece: one.piece.clone(), fibre: one.fibre.clone(), at: name(one.at) })
            .collect(),
        drag: moving
            .drag
            .iter()
            .map(|one| DragRow {
                clips: one.clips,
                from_m: one.from_m,
                pull_kn: one.pull_kn.typed,
                pull_least_kn: one.pull_kn.least,
                pull_most_kn: one.pull_kn.most,
            })
            .collect(),
        load_kn: moving.load_kn,
        advantage: moving.advantage(),
        ideal_advantage: moving.ideal_advantage(),
        lines: moving.lines.iter().map(line).collect(),
        lifted: moving.lifted.iter().map(lifted).collect(),
    })
}

/// The lines of the report, but for what [`cannot_be`]; what may hurt first.
#[must_use]
pub fn told(checked: &Checked) -> Vec<String> {
    let Some(moving) = &checked.moving else { return Vec::new() };
    let mut lines = dangers(checked, moving);
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
        let values = [("hand", hand(checked, moved)), ("tail", pull(moved.tail_kn))];
        lines.push(texts::line("tail", &values));
    }
    lines.extend(moving.hands.iter().filter(|held| held.grasp != Grasp::TooWeak).map(|held| hands(checked, held)));
    lines.extend(jammed(moving));
    lines.extend(stopped_abruptly(checked, moving));
    lines.extend(moving.drag.iter().map(|dragged| {
        let values = [
            ("clips", dragged.clips.to_string()),
            ("from", height(dragged.from_m)),
            ("pull", pull(dragged.pull_kn.typed)),
            ("band", spread(dragged.pull_kn)),
        ];
        texts::line("drag", &values)
    }));
    if moving.lines.iter().any(|moved| moved.runs.way == Way::Out && moved.runs.pull.is_none()) {
        lines.push(texts::line("heat", &[]));
    }
    // Two strands alike are told once.
    lines.dedup();
    lines
}

/// What cannot be: a rope too short, hands too weak.
pub(crate) fn cannot_be(checked: &Checked) -> Vec<String> {
    let Some(moving) = &checked.moving else { return Vec::new() };
    let short = moving.lines.iter().filter(|moved| moved.short_m > 0.0).map(|moved| {
        let values = [("short", length(Length::from_m(moved.short_m))), ("hand", hand(checked, moved))];
        texts::line("short", &values)
    });
    let weak = moving.hands.iter().filter(|held| held.grasp == Grasp::TooWeak).map(|held| hands(checked, held));
    let mut lines: Vec<String> = short.chain(weak).collect();
    // Two strands alike are told once.
    lines.dedup();
    lines
}

/// What may hurt: who leaves the floor, rope over cloth.
fn dangers(checked: &Checked, moving: &Moving) -> Vec<String> {
    let lifted = moving.lifted.iter().map(|&(person, lifts_kn)| {
        let values = [("person", name(checked, person)), ("lift", kilonewtons(lifts_kn))];
        texts::line("lifted", &values)
    });
    let textiles = moving.textiles.iter().map(|textile| over_textile(checked, textile));
    lifted.chain(textiles).collect()
}

/// What hands are asked for, beside what they give.
fn hands(checked: &Checked, held: &Held) -> String {
    let grip = trade::hand::grip();
    let all = |one: Force| pull(one.kn() * f64::from(held.hands));
    let code = match (held.grasp, held.way) {
        (Grasp::TooWeak, Way::In) => "hands-cannot-pull",
        (Grasp::TooWeak, Way::Out) => "hands-cannot-hold",
        (Grasp::InDoubt, _) => "hands-in-doubt",
        (Grasp::Within, _) => "hands-within",
    };
    let values = [
        ("hand", name(checked, held.hand)),
        ("hands", if held.hands == 1 { "one hand".to_owned() } else { format!("{} hands", held.hands) }),
        ("pull", pull(held.pull_kn.typed)),
        ("band", spread(held.pull_kn)),
        ("least", all(grip.least)),
        ("typical", all(grip.typical)),
        ("most", all(grip.most)),
        ("source", texts::source(&grip.source)),
    ];
    texts::line(code, &values)
}

fn anchors(links: &[Link]) -> impl Iterator<Item = &Link> {
    links.iter().filter(|link| link.kind == LinkKind::Anchor && link.sees.kn() > 0.0)
}

/// What the hauling party puts on the rig if the load jams.
fn jammed(moving: &Moving) -> Vec<String> {
    let Some(party) = &moving.party else { return Vec::new() };
    let sees = |link: &Link| format!("{} {}", link.name, seen(link));
    let values = [
        ("hands", party.hands.to_string()),
        ("pull", pull(party.pull_kn)),
        ("anchors", anchors(&party.links).map(sees).collect::<Vec<_>>().join(", ")),
    ];
    let weakest = party.weakest().map(|link| {
        let values = [
            ("link", link.name.clone()),
            ("position", position_name(link)),
            ("sees", seen(link)),
            ("bears", link.bears.map_or_else(String::new, strength)),
            ("margin", link.margin.map_or_else(String::new, margin)),
            ("finding", texts::finding(link.finding).name.clone()),
        ];
        texts::line("jammed-weakest", &values)
    });
    std::iter::once(texts::line("jammed", &values)).chain(weakest).collect()
}

/// What the anchors of a rappel see when it is smooth, and when it is not.
fn stopped_abruptly(checked: &Checked, moving: &Moving) -> Vec<String> {
    let Some(descent) = &moving.descent else { return Vec::new() };
    let links = &checked.check.links;
    let (Some(least), Some(most)) = (descent.shares.first(), descent.shares.last()) else { return Vec::new() };
    let mut lines: Vec<String> = descent
        .anchors
        .iter()
        .map(|&(place, abrupt)| {
            let values =
                [("anchor", links[place].name.clone()), ("smooth", seen(&links[place])), ("abrupt", force(abrupt))];
            texts::line("abrupt", &values)
        })
        .collect();
    let values = [
        ("least", two_figures(least.share)),
        ("most", two_figures(most.share)),
        ("least_source", texts::source(&least.source)),
        ("most_source", texts::source(&most.source)),
    ];
    lines.push(texts::line("abrupt-basis", &values));
    if let Some((place, margin, finding)) = descent.weakest.filter(|(_, _, finding)| *finding != Finding::WithinMargin)
    {
        let values = [
            ("link", links[place].name.clone()),
            ("position", position_name(&links[place])),
            ("margin", crate::figures::margin(margin)),
            ("finding", texts::finding(finding).name.clone()),
        ];
        lines.push(texts::line("abrupt-weakest", &values));
    }
    lines
}

fn over_textile(checked: &Checked, textile: &Textile) -> String {
    let code = if textile.is_hitch { "heats-hitch" } else { "runs-over-cloth" };
    let values =
        [("piece", textile.piece.clone()), ("fibre", textile.fibre.clone()), ("at", name(checked, textile.at))];
    texts::line(code, &values)
}

fn pulls(checked: &Checked, moved: &Moved) -> String {
    let ideal = moved.ideal_kn.map(|ideal| texts::line("ideal", &[("ideal", pull(ideal))]));
    let back = moved.back_kn.map(|back| texts::line("back", &[("back", spread(back))]));
    let values = [
        ("hand", hand(checked, moved)),
        ("way", if moved.runs.way == Way::In { "takes in" } else { "pays out" }.to_owned()),
        ("pull", pull(moved.pull_kn.typed)),
        ("band", spread(moved.pull_kn)),
    ];
    [Some(texts::line("pulls", &values)), ideal, back].into_iter().flatten().collect::<Vec<_>>().join(" ")
}

fn hand(checked: &Checked, moved: &Moved) -> String {
    name(checked, moved.runs.hand)
}

fn name(checked: &Checked, point: PointId) -> String {
    checked.rig.points[point.0].name.clone()
}

/// What hands feel is small: in newtons below a kilonewton.
pub(crate) fn pull(kn: f64) -> String {
    if kn < 0.995 { format!("{} N", two_figures(1e3 * kn)) } else { kilonewtons(kn) }
}

fn spread(spread: Spread) -> String {
    let (least, most) = (pull(spread.least), pull(spread.most));
    if least == most { most } else { format!("{least} to {most}") }
}

fn kilonewtons(kn: f64) -> String {
    force(Force::from_kn(kn))
}
