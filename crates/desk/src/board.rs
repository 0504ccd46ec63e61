//! The drawing board: a rig from its text, seen from the side, with what its strands carry; a change rewrites the text and leaves
//! every comment where it is.

mod change;
mod figures;

pub use change::{Change, Figure, Placed};

use crate::checking::{Checked, ReadRig, Trouble, Wrong, read_text};
use crate::units::Units;
use crate::{json, picture, report, texts};
use draw::elevation::{Strand, StrandKind, seen_along};
use draw::plot::Series;
use rig::check::Check;
use rig::loss::{Loss, Lost, Outcome};
use rig::model::{Case, PointId, PointKind, Rig, Sling, SlingId};
use serde_json::{Value, json};
use toml_edit::{ArrayOfTables, DocumentMut, Item};
use trade::connector::Connector;
use trade::policy::Policy;

/// What stands for the text in what is told of it.
const NAME: &str = "rig.toml";
/// The most moments that a motion is told in.
const MOMENTS: usize = 160;

/// Why a board shows nothing.
#[derive(Debug, thiserror::Error)]
pub enum NotDrawn {
    /// The rig is at fault, or cannot be solved.
    #[error("{0}")]
    Trouble(Trouble),
    /// The text holds nothing of this name that could be changed so.
    #[error("`{0}` cannot be changed so in the text")]
    NotChangeable(String),
}

impl NotDrawn {
    /// All that is wrong, each with what would be right, and its line and column from 1 where it has one.
    #[must_use]
    pub fn wrongs(&self) -> Vec<Wrong> {
        match self {
            Self::Trouble(trouble) => trouble.wrongs(),
            Self::NotChangeable(name) => {
                let values = [("value", name.clone())];
                vec![(texts::page("not-changeable", &values), texts::page("not-changeable-help", &[]), None)]
            }
        }
    }
}

/// A rig's text, and what it says.
#[derive(Debug)]
pub struct Board {
    /// The text.
    pub text: String,
    /// What it says; pieces of a rack can be lent to it.
    pub read: ReadRig,
}

impl Board {
    /// Reads a text, changed first where that is asked.
    ///
    /// # Errors
    /// [`NotDrawn`] says what is wrong and where.
    pub fn read(text: &str, change: Option<&Change>) -> Result<Self, NotDrawn> {
        let text = change.map_or_else(|| Ok(text.to_owned()), |change| changed(text, change))?;
        let read = read_text(&text, NAME, Policy::default()).map_err(NotDrawn::Trouble)?;
        Ok(Self { text, read })
    }

    /// The rig with the numbers as typed alone: quick enough to follow a hand.
    ///
    /// # Errors
    /// Where it cannot be solved.
    pub fn quick(self) -> Result<Value, NotDrawn> {
        let checked = self.read.as_typed().map_err(NotDrawn::Trouble)?;
        Ok(board(&self.text, &checked))
    }

    /// The rig in every corner of what nobody knows.
    ///
    /// # Errors
    /// Where it cannot be solved.
    pub fn checked(self) -> Result<(String, Checked), NotDrawn> {
        Ok((self.text, self.read.check().map_err(NotDrawn::Trouble)?))
    }

    /// The same with findings, what would help, the figures of its text, its drawing in some units, and how it moves.
    ///
    /// # Errors
    /// Where it cannot be solved.
    pub fn check(self, units: Units) -> Result<Value, NotDrawn> {
        let (text, checked) = self.checked()?;
        let mut board = board(&text, &checked);
        board["answer"] = json::value(&checked);
        board["report"] = json!({ "head": report::head(&checked), "parts": report::parts(&checked) });
        board["figures"] = figures::figures(&text);
        board["svg"] = json!(picture::svg(&checked, units));
        board["motion"] = motion(&checked);
        board["lost"] = checked.losses.iter().map(|loss| lost(&checked.rig, loss)).collect();
        Ok(board)
    }
}

/// The text with a change made, places to the centimetre; all else stays as it was typed.
///
/// # Errors
/// Where the text is no TOML, or holds nothing that could be changed so.
pub fn changed(text: &str, change: &Change) -> Result<String, NotDrawn> {
    let not = || NotDrawn::NotChangeable(change.subject().to_owned());
    let mut document: DocumentMut = text.parse().map_err(|_| not())?;
    change.make(&mut document).ok_or_else(not)?;
    Ok(document.to_string())
}

/// The points whose place stands in the text.
fn movable(text: &str) -> Vec<String> {
    let Ok(document) = text.parse::<DocumentMut>() else { return Vec::new() };
    let tables = document.iter().filter_map(|(_, item)| item.as_array_of_tables());
    let rows = tables.flat_map(ArrayOfTables::iter).filter(|row| row.contains_key("at_m"));
    rows.filter_map(|row| row.get("name").and_then(Item::as_str)).map(str::to_owned).collect()
}

fn board(text: &str, checked: &Checked) -> Value {
    let rig = &checked.rig;
    let movable = movable(text);
    let drawn = picture::points(rig, &checked.bands);
    let places: Vec<_> = drawn.iter().map(|point| point.at).collect();
    let points = rig.points.iter().zip(&drawn).map(|(point, drawn)| {
        json!({
            "name": point.name,
            "kind": kind(point.kind),
            "at_m": drawn.at,
            "typed_m": point.at,
            "movable": movable.contains(&point.name),
            "note": drawn.note,
        })
    });
    json!({
        "text": text,
        "title": rig.title,
        "case": case(rig.case),
        "along": seen_along(&places),
        "floor_m": rig.ground_m(),
        "points": points.collect::<Vec<_>>(),
        "strands": strands(rig, &picture::strands(rig, &checked.bands)),
        "links": links(rig, &checked.check),
        "draws": draws(rig),
        "connectors": rig.connectors.iter().map(|seated| &seated.connector).map(connector).collect::<Vec<_>>(),
        "cautions": texts::cautions(),
    })
}

fn strands(rig: &Rig, strands: &[Strand]) -> Value {
    let strand = |strand: &Strand| {
        json!({
            "from": rig.points[strand.from].name,
            "to": rig.points[strand.to].name,
            "via_m": strand.via,
            "is_rope": strand.material == StrandKind::Rope,
            "kn": strand.tension_kn,
        })
    };
    strands.iter().map(strand).collect()
}

/// The links, worst first.
fn links(rig: &Rig, check: &Check) -> Value {
    check.worst_first().into_iter().map(|place| json::link_value(rig, &check.links[place])).collect()
}

/// What is lost, by the names of its points, and the rest of the rig as it is drawn then; none where nothing holds it.
fn lost(rig: &Rig, loss: &Loss) -> Value {
    let name = |point: PointId| rig.points[point.0].name.as_str();
    let ends = match loss.lost {
        Lost::Anchor(anchor) => vec![name(anchor)],
        Lost::Leg(leg) => vec![name(rig.legs[leg.0].from), name(rig.legs[leg.0].to)],
    };
    let Outcome::Held(held) = &loss.outcome else { return json!({ "ends": ends }) };
    let at: Vec<_> = picture::points(&held.rig, &held.bands).into_iter().map(|point| point.at).collect();
    json!({
        "ends": ends,
        "at_m": at,
        "strands": strands(&held.rig, &picture::strands(&held.rig, &held.bands)),
        "links": links(&held.rig, &held.check),
    })
}

/// The kinds of draw that can be hung: of each sling as long as those that are there, and as draws usually are.
fn draws(rig: &Rig) -> Value {
    let kind = |(sling, length_m): (&Sling, f64)| json!({ "of": sling.name, "length_m": length_m });
    let slings = rig.slings.iter().enumerate();
    slings
        .flat_map(|(place, sling)| lengths_m(rig, SlingId(place)).into_iter().map(move |length| (sling, length)))
        .map(kind)
        .collect()
}

/// How long draws of a sling are, m, shortest first.
fn lengths_m(rig: &Rig, of: SlingId) -> Vec<f64> {
    let legs = rig.draws.iter().map(|draw| &rig.legs[draw.leg.0]).filter(|leg| leg.of == of);
    let mut lengths: Vec<f64> = legs.map(|leg| leg.length.m()).chain(rig::scene::draw_lengths_m()).collect();
    lengths.sort_by(f64::total_cmp);
    lengths.dedup();
    lengths
}

/// A connector that the text tells of, and which piece hangs there.
fn connector(connector: &Connector) -> Value {
    json!({ "name": connector.name, "piece": connector.piece })
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
