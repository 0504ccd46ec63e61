//! What the report says of losses, ledges and walls, of falls clip by clip, and of lines that hang by their weight.

use super::{first, position_name, seen};
use crate::checking::{Checked, in_words};
use crate::figures::{height, margin, strength};
use crate::texts;
use rig::band::Corner;
use rig::ground::{ClipFall, Obstacle};
use rig::joined::Compared;
use rig::loss::{Held, Loss, Lost, Outcome, Stage};
use rig::model::{Case, LegId, Rig};
use rig::solve::Loads;
use std::cmp::Ordering;
use terms::Finding;

/// One row a loss under its heads: the weakest link of the rest, and how far the load sinks; empty where none is asked for.
pub(crate) fn losses(checked: &Checked) -> Vec<[String; 4]> {
    if checked.losses.is_empty() {
        return Vec::new();
    }
    let head = ["if this goes", "", "weakest of the rest", "load sinks"].map(str::to_owned);
    std::iter::once(head).chain(checked.losses.iter().map(|loss| row(&checked.rig, loss))).collect()
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

/// The worst of all losses, in a sentence.
pub(super) struct WorstLoss {
    /// The sentence.
    pub line: String,
    /// Whether nothing holds then, something is over its rating, somebody comes to the floor or falls on, or nobody knows.
    pub is_grave: bool,
}

/// What comes of a loss, worst first; what was computed and is not grave goes by its margin.
#[derive(PartialEq, PartialOrd)]
enum Comes {
    ToNothing,
    BeyondMargins,
    OverRating(f64),
    Unsolved,
    ToMargin(f64),
}

fn comes(loss: &Loss) -> Comes {
    let held = match &loss.outcome {
        Outcome::Held(held) => held,
        Outcome::NotHeld(_) => return Comes::ToNothing,
        Outcome::Failed(_) => return Comes::Unsolved,
    };
    let least = held.check.weakest().map(|link| (link.finding, link.margin.unwrap_or(f64::INFINITY)));
    match least {
        _ if !first::of(&held.rig, &held.check).is_empty() => Comes::BeyondMargins,
        Some((Finding::OverRating, margin)) => Comes::OverRating(margin),
        Some((_, margin)) => Comes::ToMargin(margin),
        None => Comes::ToMargin(f64::INFINITY),
    }
}

/// The worst loss; `None` where the rig asks for none.
pub(super) fn worst_loss(checked: &Checked) -> Option<WorstLoss> {
    let worse = |a: &&Loss, b: &&Loss| comes(a).partial_cmp(&comes(b)).unwrap_or(Ordering::Equal);
    let loss = checked.losses.iter().min_by(worse)?;
    let is_grave = !matches!(comes(loss), Comes::ToMargin(_));
    let [lost, stage, weakest, _] = row(&checked.rig, loss);
    let what = match &loss.outcome {
        Outcome::Held(held) => first::of(&held.rig, &held.check).into_iter().next(),
        _ => None,
    };
    // What is said of the rest before all else is whole sentences.
    let what = what.unwrap_or_else(|| format!("{weakest}."));
    let code = if is_grave { "grave-loss" } else { "worst-loss" };
    Some(WorstLoss { line: texts::line(code, &[("lost", lost), ("stage", stage), ("what", what)]), is_grave })
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
            let margin = link.margin.map_or_else(String::new, margin);
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

/// The ways to join the anchors beside each other: the worst that their losses come to.
pub(crate) fn joined(checked: &Checked) -> Vec<String> {
    let one = |compared: &Compared| {
        let way = texts::line(compared.joined.code(), &[]);
        let own = texts::line(if compared.is_own { "joined-own" } else { "joined-other" }, &[("way", way)]);
        if !compared.is_held {
            return texts::line("joined-not-held", &[("way", own)]);
        }
        let margin = compared.margin.map_or_else(|| "-".to_owned(), margin);
        let values = [
            ("way", own),
            ("margin", margin),
            ("most", super::force(compared.most)),
            ("sinks", length(compared.sinks_m)),
        ];
        texts::line("joined", &values)
    };
    checked.joined.iter().map(one).collect()
}

/// Anchors that pull out and absorbers that tear, each as typed or else in the first case where it does.
pub(crate) fn giving(checked: &Checked) -> Vec<String> {
    let rig = &checked.rig;
    let cases = &checked.bands.cases;
    let mut lines = Vec::new();
    for (place, point) in rig.points.iter().enumerate() {
        let out = |(corner, loads): &(Corner, Loads)| Some((*corner, loads.points[place].out_at_s?));
        if let Some((corner, time)) = cases.iter().find_map(out) {
            let values =
                [("anchor", point.name.clone()), ("time", format!("{time:.2} s")), ("corner", texts::corner(corner))];
            lines.push(texts::line("pulls-out", &values));
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
        lines.push(texts::line(code, &values));
    }
    lines
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

/// Lowest heights, one row a clip and one column a slack, under their heads; empty where no table is asked for, or nobody
/// leads.
pub(crate) fn clip_table(checked: &Checked) -> Vec<Vec<String>> {
    let Some(table) = checked.rig.clip_table.as_ref().filter(|_| !checked.clip_falls.is_empty()) else {
        return Vec::new();
    };
    let ground = checked.rig.ground_m().unwrap_or(f64::NEG_INFINITY);
    let lowest = |metres: f64| if metres <= ground { "GROUND".to_owned() } else { height(metres) };
    let cell = |fall: &ClipFall| format!("{} ({})", lowest(fall.lowest_m), lowest(fall.as_typed_m));
    let row = |falls: &[ClipFall]| {
        let name = format!("clip {}, off at {}", falls[0].clips, height(falls[0].from_m));
        std::iter::once(name).chain(falls.iter().map(cell)).collect()
    };
    let slacks = table.slack_m.iter().map(|slack| height(*slack));
    let head = std::iter::once(texts::line("clip-table-head", &[])).chain(slacks).collect();
    std::iter::once(head).chain(checked.clip_falls.chunks(table.slack_m.len()).map(row)).collect()
}

/// How deep lines hang that have a weight of their own.
pub(crate) fn hanging(checked: &Checked) -> Vec<String> {
    if checked.rig.case != Case::Rest {
        return Vec::new();
    }
    let mut lines = Vec::new();
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
            lines.push(texts::line("hangs", &values));
        }
    }
    lines
}
