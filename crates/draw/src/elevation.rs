//! A rig seen from the side, to scale: what it is made of, what each strand carries, what each link has left.

mod key;
mod labels;
mod scene;
mod signs;
mod view;

use crate::plot::{self, Plot};
use crate::svg::{Align, Sheet};
use crate::text::{Area, wrap};
use scene::Scene;
use view::View;

/// A rig to be drawn. Everything that refers to a point does so by its place in [`Elevation::points`]; what refers to
/// no point is left out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Elevation {
    /// What it is.
    pub title: String,
    /// What is asked of it, in a line.
    pub subtitle: String,
    /// Its points.
    pub points: Vec<ElevationPoint>,
    /// What joins them.
    pub strands: Vec<Strand>,
    /// What each link bears and has left, beside the point where it sits.
    pub links: Vec<LinkLabel>,
    /// Other places where points come to be, such as the lowest of a fall.
    pub also: Vec<Ghost>,
    /// Height of the floor in metres, if there is one.
    pub floor_m: Option<f64>,
    /// Plots below the drawing.
    pub plots: Vec<Plot>,
    /// What must be said with it.
    pub cautions: Vec<String>,
}

/// A point of a rig.
#[derive(Debug, Clone, PartialEq)]
pub struct ElevationPoint {
    /// Its name.
    pub name: String,
    /// Where it is, in metres, z up.
    pub at: [f64; 3],
    /// What it is.
    pub kind: PointMark,
    /// A line below its name.
    pub note: Option<String>,
}

/// What a point is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PointMark {
    /// Does not move.
    Anchor,
    /// Moves freely.
    Joint,
    /// A person.
    Person,
}

/// A piece of rope or sling between two points.
#[derive(Debug, Clone, PartialEq)]
pub struct Strand {
    /// Place of one end in [`Elevation::points`].
    pub from: usize,
    /// Place of the other end.
    pub to: usize,
    /// Places between, in metres, where it does not run straight.
    pub via: Vec<[f64; 3]>,
    /// What it is.
    pub material: StrandKind,
    /// What it carries in kN; zero (to the nearest newton) is slack, `None` was not computed.
    pub tension_kn: Option<f64>,
    /// What to write along it.
    pub label: Option<String>,
}

/// What a strand is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum StrandKind {
    /// Rope that runs or is fast.
    Rope,
    /// Sling, cord or tape.
    Sling,
}

/// What a link bears and has left.
#[derive(Debug, Clone, PartialEq)]
pub struct LinkLabel {
    /// Place in [`Elevation::points`] of the point where it sits.
    pub point: usize,
    /// What to say.
    pub lines: Vec<String>,
    /// How much it asks to be looked at.
    pub rank: Emphasis,
}

/// How much a link asks to be looked at; the greatest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Emphasis {
    /// Over its rating: a heavy ring and the words.
    Over,
    /// In a position that has no rating: a dashed ring and the words.
    Unrated,
    /// With little left: a ring and the words.
    Low,
    /// Within its margin: nothing.
    Within,
}

impl Emphasis {
    /// The words that stand beside its ring.
    fn words(self) -> Option<&'static str> {
        match self {
            Emphasis::Over => Some("over rating"),
            Emphasis::Unrated => Some("no rating"),
            Emphasis::Low => Some("low margin"),
            Emphasis::Within => None,
        }
    }
}

/// Another place where a point comes to be.
#[derive(Debug, Clone, PartialEq)]
pub struct Ghost {
    /// Place of the point in [`Elevation::points`].
    pub point: usize,
    /// Where it comes to be, in metres.
    pub at: [f64; 3],
    /// What to say of it.
    pub name: String,
}

/// The horizontal direction, x and y of a unit vector, along which an elevation of these places is drawn.
#[must_use]
pub fn seen_along(places: &[[f64; 3]]) -> [f64; 2] {
    scene::Plane::through(places).along()
}

const SMALL: f64 = 11.5;
const SMALL_LINE: f64 = 15.0;
const GAP: f64 = 26.0;
const PLOT_HEIGHT: f64 = 290.0;

/// How a drawing lies on what it is drawn on.
struct Format {
    /// Free at its edges, in pixels.
    margin: f64,
    /// The view of the whole rig is at most this high, in pixels.
    highest: f64,
}

/// A drawing that stands by itself.
const ALONE: Format = Format { margin: 24.0, highest: 540.0 };
/// A figure of a page that has a title of its own: low, so that its words stay large across the page.
const FIGURE: Format = Format { margin: 3.0, highest: 340.0 };

/// The drawing as an SVG document, as wide as the rig asks for (some 850 to 1200 pixels) and as high as it must be.
pub fn elevation(drawing: &Elevation) -> String {
    document(drawing, &ALONE, header)
}

/// The drawing for a page that tells title, plots and cautions in its own way.
pub fn figure(drawing: &Elevation) -> String {
    let bare = Elevation { plots: Vec::new(), cautions: Vec::new(), ..drawing.clone() };
    document(&bare, &FIGURE, |sheet, scene, room| caption(sheet, scene, room, room.top))
}

fn document(drawing: &Elevation, format: &Format, begin: impl Fn(&mut Sheet, &Scene, Area) -> f64) -> String {
    let scene = Scene::of(drawing);
    let main = View::whole(&scene, format.highest);
    let width = main.width() + 2.0 * format.margin;
    let room = Area { left: format.margin, right: width - format.margin, top: format.margin, bottom: 0.0 };
    let mut sheet = Sheet::default();
    let mut bottom = begin(&mut sheet, &scene, room);
    for view in std::iter::once(&main).chain(&main.details()) {
        bottom = view.draw(&mut sheet, [room.left, bottom + GAP / 2.0]);
    }
    bottom = key::draw(&mut sheet, &scene, Area { top: bottom + GAP, ..room });
    bottom = plots(&mut sheet, &drawing.plots, room, bottom);
    bottom = cautions(&mut sheet, &drawing.cautions, room, bottom);
    sheet.document(width, (bottom + format.margin).ceil(), &drawing.title, &describe(drawing))
}

fn header(sheet: &mut Sheet, scene: &Scene, room: Area) -> f64 {
    let bottom = paragraph(sheet, ("name", 18.0, 23.0), &scene.drawing.title, room, room.top);
    let bottom = paragraph(sheet, ("words", 12.5, 17.0), &scene.drawing.subtitle, room, bottom);
    caption(sheet, scene, room, bottom)
}

/// From where the rig is seen.
fn caption(sheet: &mut Sheet, scene: &Scene, room: Area, top: f64) -> f64 {
    paragraph(sheet, ("aside", SMALL, SMALL_LINE), &scene.plane.caption(), room, top)
}

/// Writes a text wrapped to a room, from `top` on, and returns where it ends. `face` is class, size and line height.
fn paragraph(sheet: &mut Sheet, face: (&str, f64, f64), text: &str, room: Area, top: f64) -> f64 {
    wrap(text, face.1, room.right - room.left).iter().fold(top, |top, line| {
        sheet.text(face.0, face.1, [room.left, top + face.1], Align::Start, line);
        top + face.2
    })
}

/// Plots side by side in twos, a single one over the whole width.
fn plots(sheet: &mut Sheet, plots: &[Plot], room: Area, top: f64) -> f64 {
    let abreast = plots.len().clamp(1, 2);
    let each = (room.right - room.left - GAP * (abreast as f64 - 1.0)) / abreast as f64;
    plots.chunks(abreast).fold(top, |top, row| {
        let top = top + GAP;
        for (column, one) in row.iter().enumerate() {
            let left = room.left + column as f64 * (each + GAP);
            plot::draw(sheet, one, Area { left, top, right: left + each, bottom: top + PLOT_HEIGHT });
        }
        top + PLOT_HEIGHT
    })
}

fn cautions(sheet: &mut Sheet, cautions: &[String], room: Area, top: f64) -> f64 {
    if cautions.is_empty() {
        return top;
    }
    let bottom = paragraph(sheet, ("name", 13.0, 18.0), "Cautions", room, top + GAP);
    cautions
        .iter()
        .fold(bottom, |top, caution| paragraph(sheet, ("words", SMALL, SMALL_LINE), caution, room, top) + 3.0)
}

/// All that the drawing says, in words, for those who can't see it.
fn describe(drawing: &Elevation) -> String {
    let name = |point: usize| drawing.points.get(point).map_or("", |point| point.name.as_str());
    let mut parts = vec![format!("{}.", drawing.subtitle.trim_end_matches('.'))];
    parts.extend(drawing.points.iter().map(|point| format!("{} at {:.2} m.", point.name, point.at[2])));
    parts.extend(drawing.also.iter().map(|ghost| format!("{} at {:.2} m.", ghost.name, ghost.at[2])));
    parts.extend(drawing.strands.iter().filter_map(|strand| {
        let tension = strand.tension_kn?;
        Some(format!("{} to {}: {tension:.1} kN.", name(strand.from), name(strand.to)))
    }));
    parts.extend(drawing.links.iter().map(|link| {
        let words = link.rank.words().into_iter().chain(link.lines.iter().map(String::as_str));
        format!("{}: {}.", name(link.point), words.collect::<Vec<_>>().join(", "))
    }));
    parts.extend(drawing.plots.iter().map(plot::describe));
    parts.extend(drawing.cautions.iter().cloned());
    parts.join(" ").trim().to_owned()
}
