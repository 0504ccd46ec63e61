//! What the report says of losses, ledges and walls, of falls clip by clip, and of lines that hang by their weight.

use super::{columns, position_name, section, seen};
use crate::checking::{Checked, in_words};
use crate::figures::{height, strength, two_figures};
use crate::texts;
use rig::band::Corner;
use rig::ground::Obstacle;
use rig::loss::{Held, Loss, Lost, Outcome, Stage};
use rig::model::{Case, LegId, Rig};
use rig::solve::Loads;
use std::fmt::Write;

/// One row a loss: the weakest link of the rest, and how far the load sinks.
pub(super) fn losses(checked: &Checked) -> String {
    let rows: Vec<[String; 4]> = checked.losses.iter().map(|loss| row(&checked.rig, loss)).collect();
    if rows.is_empty() {
        return String::new();
    }
    let head = ["if this goes", "", "weakest of the rest", "load sinks"].map(str::to_owned);
    let table: Vec<_> = std::iter::once(head).chain(rows).collect();
    section("Losses (each leg and anchor taken away in turn)", indented(&columns(&table)))
}

fn row(rig: &Rig, loss: &Loss) -> [String; 4] {
    let (weakest, sinks) = match &loss.outcome {
        Outcome::Held(held) => (weakest(held), height(held.sinks_m)),
        Outcome::NotHeld(point) => {
            let values = [("point", rig.points[point.0].name.clone())];
            (texts::line("loss-not-held", &values), "-".to_owned())
        }
        Outcome::Failed(failure) => (in_words(failure).0, "-".to_owned()),
    };
    [lost(rig, loss.lost), texts::line(stage(loss.stage), &[]), weakest, sinks]
}

/// The code of a stage.
pub(crate) const fn stage(stage: Stage) -> &'static str {
    match stage {
        Stage::AtRest => "loss-at-rest",
        Stage::Drop => "loss-drop",
        Stage::Fall => "loss-fall",
    }
}

/// What is lost, by name.
pub(crate) fn lost(rig: &Rig, lost: Lost) -> String {
    match lost {
        Lost::Anchor(point) => rig.points[point.0].name.clone(),
        Lost::Leg(leg) => {
            let leg = rig.legs[leg.0];
            let name = |point: rig::model::PointId| rig.points[point.0].name.as_str();
            format!("{} from {} to {}", rig.slings[leg.of.0].name, name(leg.from), name(leg.to))
        }
    }
}

fn weakest(held: &Held) -> String {
    match held.check.weakest() {
        Some(link) => {
            let margin = link.margin.map_or_else(String::new, two_figures);
            let bears = link.bears.map_or_else(String::new, strength);
            let finding = &texts::finding(link.finding).name;
            format!(
                "{}, {}: sees {} of {bears}, margin {margin}, {finding}",
                link.name,
                position_name(link),
                seen(link)
            )
        }
        None => texts::line("loss-no-strength", &[("most", super::force(most(held)))]),
    }
}

/// The largest load of an anchor.
fn most(held: &Held) -> terms::Force {
    let anchors = held.check.links.iter().filter(|link| link.kind == rig::check::LinkKind::Anchor);
    anchors.map(|link| link.sees).fold(terms::Force::default(), |most, sees| if sees > most { sees } else { most })
}

/// Anchors that pull out and absorbers that tear, each as typed or else in the first case where it does.
pub(super) fn giving(checked: &Checked) -> String {
    let rig = &checked.rig;
    let cases = &checked.bands.cases;
    let mut text = String::new();
    for (place, point) in rig.points.iter().enumerate() {
        let out = |(corner, loads): &(Corner, Loads)| Some((*corner, loads.points[place].out_at_s?));
        if let Some((corner, time)) = cases.iter().find_map(out) {
            let values =
                [("anchor", point.name.clone()), ("time", format!("{time:.2} s")), ("corner", texts::corner(corner))];
            let _ = writeln!(text, "  {}", texts::line("pulls-out", &values));
        }
    }
    for (place, leg) in rig.legs.iter().enumerate() {
        let torn = |case: &&(Corner, Loads)| case.1.torn_m[place];
        let Some(tears) = rig.slings[leg.of.0].tears else { continue };
        let Some(worst) = cases.iter().max_by(|a, b| torn(a).total_cmp(&torn(b))).filter(|case| torn(case) > 0.0)
        else {
            continue;
        };
        let code = if torn(&worst) < tears.most.m() { "tears" } else { "tears-spent" };
        let values = [
            ("leg", lost(rig, Lost::Leg(LegId(place)))),
            ("torn", length(torn(&worst))),
            ("most", length(tears.most.m())),
            ("corner", texts::corner(worst.0)),
        ];
        let _ = writeln!(text, "  {}", texts::line(code, &values));
    }
    section("What gives way", text)
}

fn length(metres: f64) -> String {
    format!("{metres:.2} m")
}

/// The ledges and walls that those who fall come to.
pub(super) fn meetings(checked: &Checked) -> Vec<String> {
    let mut lines = Vec::new();
    for clearance in &checked.check.clearances {
        for (met, corner) in &clearance.meets {
            let code = match met.with {
                Obstacle::Ledge(_) => "meets-ledge",
                Obstacle::Wall(_) => "meets-wall",
            };
            let values = [
                ("person", checked.rig.points[clearance.person.0].name.clone()),
                ("obstacle", checked.rig.obstacle(met.with).to_owned()),
                ("speed", format!("{:.1} m/s", met.speed_m_s)),
                ("corner", texts::corner(*corner)),
            ];
            lines.push(texts::line(code, &values));
        }
    }
    lines
}

/// Lowest heights, one row a clip and one column a slack.
pub(super) fn clip_table(checked: &Checked) -> String {
    let Some(table) = &checked.rig.clip_table else { return String::new() };
    if checked.clip_falls.is_empty() {
        return section("Clip by clip", format!("  {}\n", texts::line("clip-table-needs-lead", &[])));
    }
    let ground = checked.rig.ground_m().unwrap_or(f64::NEG_INFINITY);
    let mut text = format!("  {:<26}", texts::line("clip-table-head", &[]));
    for slack in &table.slack_m {
        let _ = write!(text, "{:>18}", height(*slack));
    }
    text.push('\n');
    for row in checked.clip_falls.chunks(table.slack_m.len()) {
        let name = format!("clip {}, off at {}", row[0].clips, height(row[0].from_m));
        let _ = write!(text, "  {name:<26}");
        for fall in row {
            let lowest = |metres: f64| if metres <= ground { "GROUND".to_owned() } else { height(metres) };
            let cell = format!("{} ({})", lowest(fall.lowest_m), lowest(fall.as_typed_m));
            let _ = write!(text, "{cell:>18}");
        }
        text.push('\n');
    }
    let _ = writeln!(text, "  {}", texts::line("clip-table-basis", &[]));
    section("Clip by clip: the lowest that the leader's harness comes at the worst (as typed), by slack", text)
}

/// How deep lines hang that have a weight of their own.
pub(super) fn hanging(checked: &Checked) -> String {
    if checked.rig.case != Case::Rest {
        return String::new();
    }
    let mut text = String::new();
    for (line, hanging) in checked.rig.lines.iter().zip(&checked.bands.history.hanging) {
        let rope = &checked.rig.ropes[line.of.0];
        if rope.mass_kg_per_m.is_none() {
            continue;
        }
        let name = |place: usize| checked.rig.points[line.through[place].0].name.clone();
        for (segment, span) in hanging.iter().enumerate() {
            let values = [
                ("rope", rope.name.clone()),
                ("from", name(segment)),
                ("to", name(segment + 1)),
                ("lowest", height(span.lowest_m)),
                ("length", height(span.length_m)),
            ];
            let _ = writeln!(text, "  {}", texts::line("hangs", &values));
        }
    }
    section("How the lines hang", text)
}

fn indented(text: &str) -> String {
    text.lines().map(|line| format!("  {line}\n")).collect()
}
