//! A checked rig as one JSON object, as the contract has it and a little more.

use crate::checking::Checked;
use crate::report::{lost, stage};
use crate::texts;
use rig::change::Helped;
use rig::check::{Clearance, Link, LinkKind};
use rig::ground::ClipFall;
use rig::joined::Compared;
use rig::loss::{Loss, Outcome};
use rig::model::{PointId, PointKind, Rig, Seat};
use rig::solve::Loads;
use serde::Serialize;
use trade::position;

/// The whole answer.
#[derive(Debug, Serialize)]
pub struct Answer {
    title: String,
    /// What is said before all else, in the words of the report.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    said_first: Vec<String>,
    cases: Vec<Case>,
    links: Vec<LinkRow>,
    clearances: Vec<ClearanceRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    running: Option<crate::motion::MotionRow>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    losses: Vec<LossRow>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    joined: Vec<JoinedRow>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    clip_falls: Vec<ClipRow>,
    helps: Vec<Help>,
    numerical_error: NumericalError,
    cautions: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Case {
    name: String,
    points: Vec<PointRow>,
    legs: Vec<LegRow>,
    lines: Vec<LineRow>,
    persons: Vec<PersonRow>,
}

#[derive(Debug, Serialize)]
struct PointRow {
    name: String,
    peak_kn: f64,
    direction: [f64; 3],
}

#[derive(Debug, Serialize)]
struct LegRow {
    from: String,
    to: String,
    peak_kn: f64,
}

#[derive(Debug, Serialize)]
struct LineRow {
    of: String,
    segments: Vec<LegRow>,
}

#[derive(Debug, Serialize)]
struct PersonRow {
    name: String,
    peak_kn: f64,
    lowest_m: f64,
    highest_m: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    stopped_at_s: Option<f64>,
}

#[derive(Debug, Serialize)]
struct LinkRow {
    link: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    piece: Option<String>,
    kind: &'static str,
    position: &'static str,
    how: &'static str,
    bears_kn: Option<f64>,
    sees_kn: f64,
    margin: Option<f64>,
    finding: &'static str,
    counts: bool,
    known: bool,
    as_typed_kn: f64,
    least_kn: f64,
    worst_in: String,
    numerical_error_kn: f64,
    because: Vec<Because>,
}

#[derive(Debug, Serialize)]
struct Because {
    code: &'static str,
    text: String,
    source: String,
}

#[derive(Debug, Serialize)]
struct ClearanceRow {
    person: String,
    lowest_m: f64,
    as_typed_m: f64,
    worst_in: String,
    floor_m: Option<f64>,
    reaches_floor: bool,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    meets: Vec<MeetingRow>,
}

#[derive(Debug, Serialize)]
struct MeetingRow {
    with: String,
    speed_m_s: f64,
    worst_in: String,
}

#[derive(Debug, Serialize)]
struct LossRow {
    lost: String,
    stage: String,
    /// Whether something still holds the load.
    held: bool,
    /// The point that nothing holds.
    not_held: Option<String>,
    sinks_m: Option<f64>,
    weakest: Option<LinkRow>,
    counts: bool,
}

/// What the losses of a way to join the anchors come to.
#[derive(Debug, Serialize)]
struct JoinedRow {
    joined: &'static str,
    own: bool,
    held: bool,
    margin: Option<f64>,
    most_kn: f64,
    sinks_m: f64,
}

#[derive(Debug, Serialize)]
struct ClipRow {
    clips: usize,
    slack_m: f64,
    from_m: f64,
    lowest_m: f64,
    as_typed_m: f64,
    worst_in: String,
    reaches_ground: bool,
}

#[derive(Debug, Serialize)]
struct Help {
    change: String,
    cost: &'static str,
    link: String,
    position: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    lowest_m: Option<f64>,
    /// The pull on all ropes that run, before and after.
    #[serde(skip_serializing_if = "Option::is_none")]
    pull_kn: Option<[f64; 2]>,
    margin_before: Option<f64>,
    margin_after: Option<f64>,
    raises_m: f64,
}

#[derive(Debug, Serialize)]
struct NumericalError {
    /// Largest change of a rope tension when the step is halved, as a share of the largest rope tension.
    ropes: f64,
    /// Change of the weakest link's load when the step is halved, as a share of that load.
    weakest_link: f64,
}

/// The answer as JSON text.
///
/// # Panics
/// Never: every part of it can be written as JSON.
#[must_use]
pub fn text(checked: &Checked) -> String {
    written(&answer(checked))
}

/// Any answer as one JSON object; a number that is not finite is null.
pub(crate) fn written(answer: &impl Serialize) -> String {
    serde_json::to_string_pretty(answer).unwrap_or_else(|fault| unreachable!("{fault}"))
}

/// The answer as a value.
pub(crate) fn value(checked: &Checked) -> serde_json::Value {
    serde_json::to_value(answer(checked)).unwrap_or_default()
}

/// One link in one position as a value.
pub(crate) fn link_value(rig: &Rig, row: &Link) -> serde_json::Value {
    serde_json::to_value(link(rig, row)).unwrap_or_default()
}

fn answer(checked: &Checked) -> Answer {
    let error = crate::report::numerical_error(checked);
    Answer {
        title: checked.rig.title.clone(),
        said_first: crate::report::first(checked),
        cases: cases(checked),
        links: checked.check.links.iter().map(|row| link(&checked.rig, row)).collect(),
        clearances: checked.check.clearances.iter().map(|row| clearance(&checked.rig, row)).collect(),
        running: crate::motion::row(checked),
        losses: checked.losses.iter().map(|row| loss(&checked.rig, row)).collect(),
        joined: checked.joined.iter().map(joined).collect(),
        clip_falls: checked.clip_falls.iter().map(clip_fall).collect(),
        helps: checked.offers.iter().map(help).collect(),
        numerical_error: NumericalError { ropes: error.ropes, weakest_link: error.weakest_link },
        cautions: texts::cautions(),
    }
}

/// The file's own case, its corners, then what each loss leaves, as typed.
fn cases(checked: &Checked) -> Vec<Case> {
    let own = checked.bands.cases.iter().map(|(corner, loads)| case(&checked.rig, texts::corner(*corner), loads));
    let left = checked.losses.iter().filter_map(|loss| match &loss.outcome {
        Outcome::Held(held) => {
            let values = [("lost", lost(&checked.rig, loss.lost)), ("stage", texts::line(stage(loss.stage), &[]))];
            Some(case(&held.rig, texts::line("loss-case", &values), held.bands.typed()))
        }
        _ => None,
    });
    own.chain(left).collect()
}

fn loss(rig: &Rig, row: &Loss) -> LossRow {
    let held = match &row.outcome {
        Outcome::Held(held) => Some(held),
        _ => None,
    };
    LossRow {
        lost: lost(rig, row.lost),
        stage: texts::line(stage(row.stage), &[]),
        held: held.is_some(),
        not_held: match &row.outcome {
            Outcome::NotHeld(point) => Some(rig.points[point.0].name.clone()),
            _ => None,
        },
        sinks_m: held.map(|held| held.sinks_m),
        weakest: held.and_then(|held| held.check.weakest()).map(|row| link(rig, row)),
        counts: row.counts(),
    }
}

fn joined(compared: &Compared) -> JoinedRow {
    JoinedRow {
        joined: compared.joined.code(),
        own: compared.is_own,
        held: compared.is_held,
        margin: compared.margin,
        most_kn: compared.most.kn(),
        sinks_m: compared.sinks_m,
    }
}

fn clip_fall(fall: &ClipFall) -> ClipRow {
    ClipRow {
        clips: fall.clips,
        slack_m: fall.slack_m,
        from_m: fall.from_m,
        lowest_m: fall.lowest_m,
        as_typed_m: fall.as_typed_m,
        worst_in: texts::corner(fall.worst_in),
        reaches_ground: fall.reaches_ground,
    }
}

fn case(rig: &Rig, name_of_case: String, loads: &Loads) -> Case {
    let name = |point: PointId| rig.points[point.0].name.clone();
    let segment =
        |(pair, peak_kn): (&[PointId], &f64)| LegRow { from: name(pair[0]), to: name(pair[1]), peak_kn: *peak_kn };
    let line = |(line, peaks): (&rig::model::Line, &Vec<f64>)| LineRow {
        of: rig.ropes[line.of.0].name.clone(),
        segments: line.through.windows(2).zip(peaks).map(segment).collect(),
    };
    let leg = |(leg, &peak_kn): (&rig::model::Leg, &f64)| LegRow { from: name(leg.from), to: name(leg.to), peak_kn };
    Case {
        name: name_of_case,
        points: points(rig, loads),
        legs: rig.legs.iter().zip(&loads.legs).map(leg).collect(),
        lines: rig.lines.iter().zip(&loads.lines).map(line).collect(),
        persons: persons(rig, loads),
    }
}

/// Anchors and joints, then connectors, each in the order of the file.
fn points(rig: &Rig, loads: &Loads) -> Vec<PointRow> {
    let is_person = |kind: PointKind| matches!(kind, PointKind::Person { .. });
    let mut rows: Vec<PointRow> = rig
        .points
        .iter()
        .zip(&loads.points)
        .filter(|(point, _)| !is_person(point.kind))
        .map(|(point, load)| PointRow { name: point.name.clone(), peak_kn: load.peak_kn, direction: load.direction })
        .collect();
    rows.extend(rig.connectors.iter().map(|seated| {
        let load = loads.points[rig.point_of(seated.seat).0];
        let (peak_kn, direction) = match seated.seat {
            Seat::BoltEnd(draw) => (loads.legs[rig.draws[draw].leg.0], load.direction),
            Seat::At(_) | Seat::RopeEnd(_) => (load.peak_kn, load.direction),
        };
        PointRow { name: seated.connector.name.clone(), peak_kn, direction }
    }));
    rows
}

fn persons(rig: &Rig, loads: &Loads) -> Vec<PersonRow> {
    let persons =
        rig.points.iter().zip(&loads.points).filter(|(point, _)| matches!(point.kind, PointKind::Person { .. }));
    persons
        .map(|(point, load)| PersonRow {
            name: point.name.clone(),
            peak_kn: load.peak_kn,
            lowest_m: load.lowest_m,
            highest_m: load.highest_m,
            stopped_at_s: load.stopped_at_s,
        })
        .collect()
}

fn link(rig: &Rig, link: &Link) -> LinkRow {
    let connectors = rig.connectors.iter().map(|seated| &seated.connector);
    let of_rack =
        connectors.filter(|connector| connector.name == link.name).find_map(|connector| connector.piece.clone());
    LinkRow {
        link: link.name.clone(),
        piece: of_rack.filter(|_| matches!(link.kind, LinkKind::Connector(_))),
        kind: link.kind.code(),
        position: link.kind.position(),
        how: link.how.code(),
        bears_kn: link.bears.map(terms::Force::kn),
        sees_kn: link.sees.kn(),
        margin: link.margin,
        finding: link.finding.code(),
        counts: link.counts,
        known: link.is_known,
        as_typed_kn: link.as_typed.kn(),
        least_kn: link.sees_least.kn(),
        worst_in: texts::corner(link.worst_in),
        numerical_error_kn: link.error.kn(),
        because: because(link),
    }
}

/// The rule of a connector's position, then its reasons.
fn because(link: &Link) -> Vec<Because> {
    let rule = match link.kind {
        LinkKind::Connector(at) => Some(Because {
            code: at.code(),
            text: texts::position(at).look_for.clone(),
            source: texts::source(&position::source(at)),
        }),
        _ => None,
    };
    let reasons = link.because.iter().map(|reason| Because {
        code: reason.code(),
        text: texts::reason(reason),
        source: texts::reason_source(reason),
    });
    rule.into_iter().chain(reasons).collect()
}

fn clearance(rig: &Rig, clearance: &Clearance) -> ClearanceRow {
    ClearanceRow {
        person: rig.points[clearance.person.0].name.clone(),
        lowest_m: clearance.worst_m,
        as_typed_m: clearance.as_typed_m,
        worst_in: texts::corner(clearance.worst_in),
        floor_m: clearance.floor_m,
        reaches_floor: clearance.reaches_floor(),
        meets: clearance
            .meets
            .iter()
            .map(|(met, corner)| MeetingRow {
                with: rig.obstacle(met.with).to_owned(),
                speed_m_s: met.speed_m_s,
                worst_in: texts::corner(*corner),
            })
            .collect(),
    }
}

fn help(offer: &rig::change::Offer) -> Help {
    let (link, position, lowest_m) = match &offer.helps {
        Helped::Link(link, kind) => (link.clone(), kind.position(), None),
        Helped::Clearance { person, lowest_m, .. } => (person.clone(), "clearance", Some(*lowest_m)),
        Helped::Pull { .. } => (String::new(), "pull", None),
    };
    let pull_kn = match offer.helps {
        Helped::Pull { before_kn, after_kn } => Some([before_kn, after_kn]),
        _ => None,
    };
    Help {
        change: texts::change(&offer.change),
        cost: texts::cost(offer.cost),
        link,
        position,
        lowest_m,
        pull_kn,
        margin_before: offer.margin_before,
        margin_after: offer.margin_after,
        raises_m: offer.raises_m,
    }
}
