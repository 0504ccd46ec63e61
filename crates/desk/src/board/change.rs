//! Changes of a rig's text: numbers, rows and names are rewritten, and every comment and all else stays where it is.

use super::figures;
use crate::beginning::begin;
use crate::{somebody_kg, texts};
use rig::scene::{Answers, Scene};
use serde::Deserialize;
use std::collections::BTreeSet;
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, Value, value};

/// One change.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Change {
    /// A point is put elsewhere.
    Move {
        /// Its name.
        point: String,
        /// Its new place `[x, y, z]`, m, z up.
        at_m: [f64; 3],
    },
    /// Something is placed. An anchor comes with a draw that the first rope runs through, where the rig has draws, or else with a leg to a point, where one is told or a joint is there;
    /// a joint and a person hang on a leg from a point. In an empty text it begins a rig: an anchor there, and a person who hangs below it.
    Place {
        /// What.
        #[serde(default)]
        what: Placed,
        /// Where `[x, y, z]`, m, z up.
        at_m: [f64; 3],
        /// Where its leg goes; for an anchor the first joint where nothing is told, for others the first joint or anchor.
        to: Option<String>,
    },
    /// A leg runs between two points.
    Join {
        /// The name of one.
        from: String,
        /// The name of the other.
        to: String,
    },
    /// A draw is hung on an anchor. The first rope runs through it: in place of the anchor where it ran through that, or else before the next higher draw.
    Draw {
        /// The anchor's name.
        on: String,
        /// The sling that it is made of.
        of: String,
        /// How long it is, m; above zero.
        length_m: f64,
    },
    /// A point is taken away, with all that hangs on it alone.
    Remove {
        /// Its name.
        point: String,
    },
    /// A figure of the text is another.
    Put {
        /// The keys and places from 0 that lead to it.
        way: Vec<String>,
        /// What stands there then, in the unit of its key; none takes it away.
        figure: Option<Figure>,
    },
    /// A rope runs through points, one after another; at an anchor with a draw on it through that. It is the first rope of the text, or else the one that the scene of a
    /// lead fall takes.
    Run {
        /// The names of the points, two at least.
        through: Vec<String>,
    },
    /// A connector is hung at a point: what it is, is not known yet.
    Connect {
        /// The point's name.
        at: String,
    },
    /// A row or table of the text is taken away: what no point is.
    Take {
        /// Its key, and its place from 0 or its name.
        way: Vec<String>,
    },
    /// A piece of the rack hangs where a connector is: what the file told of the connector gives way to what is known of the piece.
    Hang {
        /// The connector's name.
        connector: String,
        /// The piece's label; none takes it off again.
        piece: Option<String>,
    },
}

/// What stands at a key.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(untagged)]
pub enum Figure {
    /// A number.
    Number(f64),
    /// Yes or no.
    YesNo(bool),
    /// A word, or a name.
    Word(String),
    /// Numbers, such as a place or a band.
    Numbers(Vec<f64>),
    /// Names.
    Words(Vec<String>),
}

/// What can be placed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Placed {
    /// An anchor.
    #[default]
    Anchor,
    /// A point where legs meet.
    Joint,
    /// A person.
    Person,
}

impl Change {
    /// The point or connector that it is about.
    pub(super) fn subject(&self) -> &str {
        match self {
            Self::Move { point, .. } | Self::Remove { point } => point,
            Self::Hang { connector, .. } => connector,
            Self::Join { from, .. } => from,
            Self::Draw { on, .. } => on,
            Self::Put { way, .. } | Self::Take { way } => way.last().map_or("", String::as_str),
            Self::Run { through } => through.first().map_or("", String::as_str),
            Self::Connect { at } => at,
            Self::Place { to, .. } => to.as_deref().unwrap_or("leg"),
        }
    }

    /// Makes it; none where the text holds nothing to be changed by it.
    pub(super) fn make(&self, document: &mut DocumentMut) -> Option<()> {
        match self {
            Self::Move { point, at_m } => fill(place_of(document, point)?, *at_m),
            Self::Place { at_m, .. } if document.is_empty() => seed(document, *at_m)?,
            Self::Place { what: Placed::Anchor, at_m, to } => place(document, *at_m, to.as_deref())?,
            Self::Place { what: Placed::Joint, at_m, to } => hang_on(document, "joint", *at_m, to.as_deref())?,
            Self::Place { what: Placed::Person, at_m, to } => hang_on(document, "person", *at_m, to.as_deref())?,
            Self::Join { from, to } => {
                is_point(document, from).then_some(())?;
                is_point(document, to).then_some(())?;
                leg(document, from, to)?;
            }
            Self::Draw { on, of, length_m } => {
                let height = height(document, on)?;
                draw_on(document, draw(of, *length_m), on, height)?;
            }
            Self::Remove { point } => remove(document, point)?,
            Self::Put { way, figure } => figures::put(document, way, figure.as_ref())?,
            Self::Take { way } => figures::take(document, way)?,
            Self::Run { through } => run(document, through)?,
            Self::Connect { at } => connect(document, at)?,
            Self::Hang { connector, piece } => hang(document, connector, piece.as_deref())?,
        }
        Some(())
    }
}

fn rows<'d>(document: &'d DocumentMut, key: &str) -> impl Iterator<Item = &'d Table> {
    document.get(key).and_then(Item::as_array_of_tables).into_iter().flat_map(ArrayOfTables::iter)
}

fn text<'t>(row: &'t Table, key: &str) -> Option<&'t str> {
    row.get(key).and_then(Item::as_str)
}

fn named<'d>(document: &'d mut DocumentMut, name: &str) -> Option<&'d mut Table> {
    let tables = document.iter_mut().filter_map(|(_, item)| item.as_array_of_tables_mut());
    tables.flat_map(ArrayOfTables::iter_mut).find(|row| text(row, "name") == Some(name))
}

fn place_of<'d>(document: &'d mut DocumentMut, point: &str) -> Option<&'d mut Array> {
    named(document, point)?.get_mut("at_m")?.as_array_mut()
}

/// To the centimetre.
fn rounded(metres: f64) -> f64 {
    (metres * 100.0).round() / 100.0 + 0.0
}

fn fill(place: &mut Array, at_m: [f64; 3]) {
    for (axis, metres) in at_m.into_iter().map(rounded).enumerate() {
        if axis < place.len() {
            place.replace(axis, metres);
        } else {
            place.push(metres);
        }
    }
}

fn push(document: &mut DocumentMut, key: &str, row: Table) -> Option<()> {
    document.entry(key).or_insert(Item::ArrayOfTables(ArrayOfTables::new())).as_array_of_tables_mut()?.push(row);
    Some(())
}

/// The first of `anchor 1`, `anchor 2`, … that no row is called.
fn free_name(document: &DocumentMut, kind: &str) -> String {
    let tables = document.iter().filter_map(|(_, item)| item.as_array_of_tables());
    let taken: BTreeSet<&str> = tables.flat_map(ArrayOfTables::iter).filter_map(|row| text(row, "name")).collect();
    let mut names = (1..).map(|number| format!("{kind} {number}"));
    names.find(|name| !taken.contains(name.as_str())).unwrap_or_default()
}

/// How far below the anchor a person hangs in a rig that is begun, m: as far as a lanyard is long, and to be moved.
const BELOW_M: f64 = 1.0;

/// The least that can be solved: an anchor, and a person who hangs below it on the cord that the scene of an anchor takes.
fn seed(document: &mut DocumentMut, at_m: [f64; 3]) -> Option<()> {
    let begun: DocumentMut = begin(Scene::Anchor, &Answers::default()).ok()?.parse().ok()?;
    document.insert("title", value(texts::page("rigs-own", &[])));
    for key in ["case", "sling"] {
        document.insert(key, begun.get(key)?.clone());
    }
    let name = free_name(document, "anchor");
    push(document, "anchor", point(&name, at_m))?;
    let [x, y, z] = at_m;
    hang_on(document, "person", [x, y, z - BELOW_M], Some(&name))
}

fn place(document: &mut DocumentMut, at_m: [f64; 3], to: Option<&str>) -> Option<()> {
    let name = free_name(document, "anchor");
    let drawn = rows(document, "draw").last().map(like_draw);
    if let Some(draw) = drawn {
        draw_on(document, draw, &name, at_m[2])?;
    } else {
        let joint = rows(document, "joint").find_map(|row| text(row, "name")).map(str::to_owned);
        if let Some(to) = to.map(str::to_owned).or(joint) {
            leg(document, &name, &to)?;
        }
    }
    push(document, "anchor", point(&name, at_m))
}

/// A point of a name at a place.
fn point(name: &str, at_m: [f64; 3]) -> Table {
    let mut row = Table::new();
    row.insert("name", value(name));
    row.insert("at_m", value(at_m.map(rounded).into_iter().collect::<Array>()));
    row
}

/// A leg of the tape of the last one, or else of the first that there is.
fn leg(document: &mut DocumentMut, from: &str, to: &str) -> Option<()> {
    let last = rows(document, "leg").last();
    let of = last.and_then(|leg| text(leg, "of")).map(str::to_owned).or_else(|| first_of(document, "sling"))?;
    let mut leg = Table::new();
    leg.insert("from", value(from));
    leg.insert("to", value(to));
    leg.insert("of", value(of));
    push(document, "leg", leg)
}

/// A point of a kind that hangs on a leg from another: from the one that is told, or else the first joint or anchor.
fn hang_on(document: &mut DocumentMut, kind: &str, at_m: [f64; 3], from: Option<&str>) -> Option<()> {
    let name = free_name(document, kind);
    let first = ["joint", "anchor"].into_iter().find_map(|key| rows(document, key).find_map(|row| text(row, "name")));
    let from = from.or(first)?.to_owned();
    let mut row = point(&name, at_m);
    if kind == "person" {
        row.insert("mass_kg", Item::Value(somebody_kg().to_string().parse().ok()?));
    }
    leg(document, &from, &name)?;
    push(document, kind, row)
}

/// Whether something that a leg can run to has the name.
fn is_point(document: &DocumentMut, name: &str) -> bool {
    ["anchor", "joint", "person"].into_iter().any(|key| rows(document, key).any(|row| text(row, "name") == Some(name)))
}

/// The first table that a key names: of slings, or of ropes.
fn first_of(document: &DocumentMut, key: &str) -> Option<String> {
    let tables = document.get(key)?.as_table_like()?;
    tables.iter().next().map(|(name, _)| name.to_owned())
}

/// A draw of the same tape and length.
fn like_draw(draw: &Table) -> Table {
    let mut like = Table::new();
    for key in ["of", "length_m"] {
        if let Some(told) = draw.get(key) {
            like.insert(key, told.clone());
        }
    }
    like
}

/// A draw of a sling, without a name yet.
fn draw(of: &str, length_m: f64) -> Table {
    let mut draw = Table::new();
    draw.insert("of", value(of));
    draw.insert("length_m", value(length_m));
    draw
}

/// How high an anchor is, m.
fn height(document: &DocumentMut, anchor: &str) -> Option<f64> {
    let row = rows(document, "anchor").find(|row| text(row, "name") == Some(anchor))?;
    let z = row.get("at_m")?.as_array()?.get(2)?;
    z.as_float().or_else(|| z.as_integer().map(|whole| whole as f64))
}

/// A draw on an anchor at a height, with the first rope run through it, where there is one.
fn draw_on(document: &mut DocumentMut, mut draw: Table, anchor: &str, z_m: f64) -> Option<()> {
    let name = free_name(document, "draw");
    if rows(document, "line").next().is_some() {
        run_through(document, &name, anchor, z_m)?;
    }
    draw.insert("name", value(&name));
    draw.insert("on", value(anchor));
    push(document, "draw", draw)
}

/// Runs the first rope through a draw: in place of its anchor, or else before the next higher draw.
fn run_through(document: &mut DocumentMut, draw: &str, anchor: &str, z_m: f64) -> Option<()> {
    let of_draw = |draw: &str| {
        let row = rows(document, "draw").find(|row| text(row, "name") == Some(draw))?;
        height(document, text(row, "on")?)
    };
    let through = rows(document, "line").next()?.get("through")?.as_array()?;
    let stops: Vec<&str> = through.iter().filter_map(Value::as_str).collect();
    let inside = 1..stops.len().saturating_sub(1);
    let at_anchor = stops.iter().position(|stop| *stop == anchor).filter(|at| inside.contains(at));
    let higher = stops.iter().position(|stop| of_draw(stop).is_some_and(|height| height > z_m));
    let at = higher.unwrap_or_else(|| stops.len().saturating_sub(1)).max(1);
    let lines = document.get_mut("line")?.as_array_of_tables_mut()?;
    let through = lines.get_mut(0)?.get_mut("through")?.as_array_mut()?;
    match at_anchor {
        Some(at) => drop(through.replace(at, draw)),
        None => through.insert(at, draw),
    }
    Some(())
}

/// A rope through points, in their order.
fn run(document: &mut DocumentMut, through: &[String]) -> Option<()> {
    let on = |anchor: &str| rows(document, "draw").find(|draw| text(draw, "on") == Some(anchor));
    let stop = |name: &String| {
        let draw = on(name).and_then(|draw| text(draw, "name"));
        let is_there = draw.is_some() || is_point(document, name);
        is_there.then(|| draw.unwrap_or(name).to_owned())
    };
    let stops: Array = through.iter().map(stop).collect::<Option<Vec<_>>>()?.into_iter().collect();
    (stops.len() >= 2).then_some(())?;
    let rope = match first_of(document, "rope") {
        Some(rope) => rope,
        None => {
            let lead: DocumentMut = begin(Scene::Lead, &Answers::default()).ok()?.parse().ok()?;
            document.insert("rope", lead.get("rope")?.clone());
            first_of(document, "rope")?
        }
    };
    let mut line = Table::new();
    line.insert("of", value(rope));
    line.insert("through", value(stops));
    push(document, "line", line)
}

fn connect(document: &mut DocumentMut, at: &str) -> Option<()> {
    is_point(document, at).then_some(())?;
    let mut connector = Table::new();
    connector.insert("name", value(free_name(document, "connector")));
    connector.insert("at", value(at));
    push(document, "connector", connector)
}

/// Keys by which a row hangs on another one: it goes with it.
const HANGS_ON: [&str; 6] = ["from", "to", "at", "on", "taken_in_at", "paid_out_at"];

/// Takes a row away, and what hangs on it, and so on; a rope goes on past a point, as long as it runs between two.
fn remove(document: &mut DocumentMut, point: &str) -> Option<()> {
    named(document, point)?;
    let mut going = vec![point.to_owned()];
    while let Some(name) = going.pop() {
        for (_, item) in document.iter_mut() {
            let Some(table) = item.as_array_of_tables_mut() else { continue };
            for place in (0..table.len()).rev() {
                let Some(row) = table.get_mut(place) else { continue };
                if !goes_with(row, &name) {
                    continue;
                }
                going.extend(
                    ["name", "bolt_end", "rope_end"].iter().filter_map(|key| text(row, key)).map(str::to_owned),
                );
                table.remove(place);
            }
        }
        going.retain(|next| *next != name);
    }
    Some(())
}

/// Whether a row goes where `name` does; a rope only runs on past it.
fn goes_with(row: &mut Table, name: &str) -> bool {
    if text(row, "name") == Some(name) || HANGS_ON.iter().any(|key| text(row, key) == Some(name)) {
        return true;
    }
    let Some(through) = row.get_mut("through").and_then(Item::as_array_mut) else { return false };
    through.retain(|stop| stop.as_str() != Some(name));
    through.len() < 2
}

/// What is known of a piece, where the file does not say otherwise (`desk::rack::Rack::lend`).
const OF_THE_PIECE: [&str; 8] = ["closed_kn", "open_kn", "minor_kn", "shape", "gate", "lock", "nose", "class"];

fn hang(document: &mut DocumentMut, connector: &str, piece: Option<&str>) -> Option<()> {
    let row = rows(document, "connector").find(|row| text(row, "name") == Some(connector)).is_some();
    let row = named(document, connector).filter(|_| row)?;
    match piece {
        None => {
            row.remove("piece");
        }
        Some(piece) => {
            for key in OF_THE_PIECE {
                row.remove(key);
            }
            row.insert("piece", value(piece));
        }
    }
    Some(())
}
