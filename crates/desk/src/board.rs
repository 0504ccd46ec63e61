//! The drawing board: a rig from its text, seen from the side, with what its strands carry; a point moved rewrites its place in the
//! text and leaves every comment where it is.

use crate::checking::{Checked, Trouble, read_text};
use crate::{json, picture, texts};
use draw::elevation::seen_along;
use draw::plot::Series;
use rig::model::{Case, PointId, PointKind};
use serde::Deserialize;
use serde_json::{Value, json};
use toml_edit::{Array, DocumentMut, Item};
use trade::policy::Policy;

/// What stands for the text in what is told of it.
const NAME: &str = "rig.toml";
/// The most moments that a motion is told in.
const MOMENTS: usize = 160;

/// A point put elsewhere.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Move {
    /// Its name.
    pub point: String,
    /// Its new place `[x, y, z]`, m, z up.
    pub at_m: [f64; 3],
}

/// Why a board shows nothing.
#[derive(Debug, thiserror::Error)]
pub enum NotDrawn {
    /// The rig is at fault, or cannot be solved.
    #[error("{0}")]
    Trouble(Trouble),
    /// The text gives no place to a point of this name.
    #[error("no place of `{0}` stands in the text")]
    NotMovable(String),
}

impl NotDrawn {
    /// All that is wrong, each with what would be right, and its line and column from 1 where it has one.
    #[must_use]
    pub fn wrongs(&self) -> Vec<(String, String, Option<[usize; 2]>)> {
        match self {
            Self::Trouble(Trouble::Rig(faults)) => faults
                .list()
                .iter()
                .map(|fault| (fault.message.clone(), fault.help.clone(), Some([fault.line, fault.column])))
                .collect(),
            Self::Trouble(Trouble::Unsolved { what, help, .. }) => vec![(what.clone(), help.clone(), None)],
            Self::Trouble(other) => vec![(other.to_string(), String::new(), None)],
            Self::NotMovable(point) => {
                let values = [("point", point.clone())];
                vec![(texts::page("not-movable", &values), texts::page("not-movable-help", &[]), None)]
            }
        }
    }
}

/// The rig with the numbers as typed alone: quick enough to follow a hand.
///
/// # Errors
/// [`NotDrawn`] says what is wrong and where.
pub fn quick(text: &str, moved: Option<&Move>) -> Result<Value, NotDrawn> {
    let text = with(text, moved)?;
    let checked = read(&text)?.as_typed().map_err(NotDrawn::Trouble)?;
    Ok(board(&text, &checked))
}

/// The rig in every corner of what nobody knows, with findings, what would help, its drawing, and how it moves.
///
/// # Errors
/// As [`quick`].
pub fn check(text: &str, moved: Option<&Move>) -> Result<Value, NotDrawn> {
    let text = with(text, moved)?;
    let checked = read(&text)?.check().map_err(NotDrawn::Trouble)?;
    let mut board = board(&text, &checked);
    board["answer"] = json::value(&checked);
    board["svg"] = json!(picture::svg(&checked));
    board["motion"] = motion(&checked);
    Ok(board)
}

fn read(text: &str) -> Result<crate::checking::ReadRig, NotDrawn> {
    read_text(text, NAME, Policy::default()).map_err(NotDrawn::Trouble)
}

fn with(text: &str, moved: Option<&Move>) -> Result<String, NotDrawn> {
    moved.map_or_else(|| Ok(text.to_owned()), |moved| put(text, moved))
}

/// The text with a point put elsewhere, to the centimetre; all else stays as it was typed.
///
/// # Errors
/// Where the text is no TOML, or gives no place to such a point.
pub fn put(text: &str, moved: &Move) -> Result<String, NotDrawn> {
    let not_movable = || NotDrawn::NotMovable(moved.point.clone());
    let mut document: DocumentMut = text.parse().map_err(|_| not_movable())?;
    fill(place_of(&mut document, &moved.point).ok_or_else(not_movable)?, moved.at_m);
    Ok(document.to_string())
}

fn place_of<'d>(document: &'d mut DocumentMut, point: &str) -> Option<&'d mut Array> {
    let tables = document.iter_mut().filter_map(|(_, item)| item.as_array_of_tables_mut());
    let mut rows = tables.flat_map(toml_edit::ArrayOfTables::iter_mut);
    let named = rows.find(|row| row.get("name").and_then(Item::as_str) == Some(point));
    named?.get_mut("at_m")?.as_array_mut()
}

fn fill(place: &mut Array, at_m: [f64; 3]) {
    for (axis, metres) in at_m.into_iter().enumerate() {
        let rounded = (metres * 100.0).round() / 100.0 + 0.0;
        if axis < place.len() {
            place.replace(axis, rounded);
        } else {
            place.push(rounded);
        }
    }
}

/// The points whose place stands in the text.
fn movable(text: &str) -> Vec<String> {
    let Ok(document) = text.parse::<DocumentMut>() else { return Vec::new() };
    let tables = document.iter().filter_map(|(_, item)| item.as_array_of_tables());
    let rows = tables.flat_map(toml_edit::ArrayOfTables::iter).filter(|row| row.contains_key("at_m"));
    rows.filter_map(|row| row.get("name").and_then(Item::as_str)).map(str::to_owned).collect()
}

fn board(text: &str, checked: &Checked) -> Value {
    let rig = &checked.rig;
    let drawing = picture::drawing(checked);
    let movable = movable(text);
    let places: Vec<_> = drawing.points.iter().map(|point| point.at).collect();
    let points = rig.points.iter().zip(&drawing.points).map(|(point, drawn)| {
        json!({
            "name": point.name,
            "kind": kind(point.kind),
            "at_m": drawn.at,
            "typed_m": point.at,
            "movable": movable.contains(&point.name),
            "note": drawn.note,
        })
    });
    let strands = drawing.strands.iter().map(|strand| {
        json!({
            "from": rig.points[strand.from].name,
            "to": rig.points[strand.to].name,
            "via_m": strand.via,
            "is_rope": strand.material == draw::elevation::StrandKind::Rope,
            "kn": strand.tension_kn,
        })
    });
    let links = checked.check.worst_first().into_iter().map(|place| json::link_value(rig, &checked.check.links[place]));
    json!({
        "text": text,
        "title": rig.title,
        "case": case(rig.case),
        "along": seen_along(&places),
        "floor_m": rig.ground_m(),
        "points": points.collect::<Vec<_>>(),
        "strands": strands.collect::<Vec<_>>(),
        "links": links.collect::<Vec<_>>(),
        "cautions": texts::cautions(),
    })
}

const fn kind(kind: PointKind) -> &'static str {
    match kind {
        PointKind::Anchor { .. } => "anchor",
        PointKind::Joint { .. } => "joint",
        PointKind::Person { .. } => "person",
    }
}

const fn case(case: Case) -> &'static str {
    match case {
        Case::Rest => "rest",
        Case::Running => "running",
        Case::Fall => "fall",
    }
}

/// A fall moment by moment: where every point is, m, and what the links with the least margin see, kN; null for what does not move.
fn motion(checked: &Checked) -> Value {
    let history = &checked.bands.history;
    if checked.rig.case != Case::Fall || history.times_s.is_empty() {
        return Value::Null;
    }
    let step = history.times_s.len().div_ceil(MOMENTS).max(1);
    let moments: Vec<usize> = (0..history.times_s.len()).step_by(step).collect();
    let points = 0..checked.rig.points.len();
    let place = |moment: &usize| points.clone().map(|point| history.at(*moment, PointId(point))).collect::<Vec<_>>();
    let curves =
        picture::curves(checked).into_iter().map(|curve| json!({ "name": curve.name, "kn": sampled(&curve, step) }));
    json!({
        "times_s": moments.iter().map(|moment| history.times_s[*moment]).collect::<Vec<_>>(),
        "at_m": moments.iter().map(place).collect::<Vec<_>>(),
        "curves": curves.collect::<Vec<_>>(),
    })
}

/// The largest load of each stretch, so that no peak is lost.
fn sampled(curve: &Series, step: usize) -> Vec<f64> {
    curve.points.chunks(step).map(|part| part.iter().map(|point| point[1]).fold(0.0, f64::max)).collect()
}
