//! A connector seen from the side, its parts named: an outline of one's own for each shape, not that of any maker.

use crate::svg::{Align, Pen, Px, Sheet};
use crate::text::{width, wrap};

/// The outline of the body.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outline {
    /// Wide top, narrow bottom.
    Pear,
    /// Straight spine, load close to it.
    D,
    /// A D with a larger top.
    OffsetD,
    /// Two equal ends.
    Oval,
    /// A link with a nut on one side.
    QuickLink,
}

/// The gate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GateKind {
    /// A bar.
    Solid,
    /// A bent wire.
    Wire,
}

/// A part that can be named.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartKind {
    /// The long side that carries the load.
    Spine,
    /// The curve that the load lies in; the wide one at the top.
    Basket,
    /// What opens.
    Gate,
    /// Where the gate closes.
    Nose,
    /// What the gate turns on.
    Hinge,
    /// What keeps the gate closed.
    Sleeve,
    /// What holds the connector in line.
    Keeper,
}

/// What to draw.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ConnectorDrawing {
    /// Title, for screen readers.
    pub title: String,
    /// Outline.
    pub outline: Outline,
    /// Gate; a quick link has a nut instead.
    pub gate: GateKind,
    /// Whether a sleeve keeps the gate closed.
    pub sleeve: bool,
    /// Whether the nose has a hook.
    pub hooked: bool,
    /// Whether a bar or keeper holds it in line.
    pub keeper: bool,
    /// The parts to name, and their names.
    pub names: Vec<(PartKind, String)>,
}

const WIDTH: f64 = 420.0;
const HEIGHT: f64 = 460.0;
/// Thickness of the bar.
const BAR: f64 = 19.0;
const TEXT: f64 = 13.0;
const INK: Pen = Pen::new("ink", 1.8);
const THIN: Pen = Pen::new("soft", 0.9);
const GATE: Pen = Pen::new("ink", 1.5);

/// A circle that the middle of the bar goes around: centre and radius.
type Bend = (Px, f64);

/// The bends of an outline, spine on the left; the gate is on the right, from the nose above to the hinge below.
fn bends(outline: Outline) -> Vec<Bend> {
    let at = |x: f64, y: f64, radius: f64| ([WIDTH / 2.0 + x, HEIGHT / 2.0 + y], radius);
    match outline {
        Outline::Oval | Outline::QuickLink => vec![at(0.0, -95.0, 62.0), at(0.0, 95.0, 62.0)],
        Outline::D => {
            vec![at(-28.0, -118.0, 34.0), at(34.0, -98.0, 34.0), at(34.0, 98.0, 34.0), at(-28.0, 118.0, 34.0)]
        }
        Outline::OffsetD => {
            vec![at(-30.0, -116.0, 38.0), at(48.0, -92.0, 44.0), at(14.0, 112.0, 34.0), at(-38.0, 122.0, 30.0)]
        }
        Outline::Pear => vec![at(-6.0, -82.0, 88.0), at(-56.0, 128.0, 38.0), at(-44.0, 128.0, 38.0)],
    }
}

/// The line at a distance around the bends: the hull of circles of their radii and that much more.
fn around(bends: &[Bend], by: f64) -> Vec<Px> {
    let steps = 180;
    let places = bends.iter().flat_map(|(centre, radius)| {
        (0..steps).map(move |step| {
            let turn = std::f64::consts::TAU * f64::from(step) / f64::from(steps);
            [centre[0] + (radius + by) * turn.cos(), centre[1] + (radius + by) * turn.sin()]
        })
    });
    hull(places.collect())
}

/// The convex hull (A. M. Andrew, Information Processing Letters 9, 1979, 216-219).
fn hull(mut places: Vec<Px>) -> Vec<Px> {
    places.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let chain = |places: &mut dyn Iterator<Item = Px>| {
        let mut chain: Vec<Px> = Vec::new();
        for place in places {
            while chain.len() > 1 && turn(chain[chain.len() - 2], chain[chain.len() - 1], place) <= 0.0 {
                chain.pop();
            }
            chain.push(place);
        }
        chain.pop();
        chain
    };
    let mut line = chain(&mut places.iter().copied());
    line.extend(chain(&mut places.iter().rev().copied()));
    line
}

fn turn(a: Px, b: Px, c: Px) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// Where the middle of the bar crosses a height, on the right or on the left.
fn middle_at(line: &[Px], y: f64, right: bool) -> Px {
    let crossings = (0..line.len()).filter_map(|index| {
        let (a, b) = (line[index], line[(index + 1) % line.len()]);
        ((a[1] - y) * (b[1] - y) <= 0.0 && a[1] != b[1]).then(|| a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]))
    });
    let x = if right { crossings.fold(f64::MIN, f64::max) } else { crossings.fold(f64::MAX, f64::min) };
    [x, y]
}

/// The connector as a document of its own.
#[must_use]
pub fn connector(drawing: &ConnectorDrawing) -> String {
    let bends = bends(drawing.outline);
    let middle = around(&bends, 0.0);
    let mut sheet = Sheet::default();
    sheet.polygon(INK, &around(&bends, BAR / 2.0));
    sheet.polygon(INK, &around(&bends, -BAR / 2.0));
    let gate = Gate::of(&middle);
    match drawing.outline {
        Outline::QuickLink => nut(&mut sheet, &gate),
        _ => gate_with_nose(&mut sheet, drawing, &gate),
    }
    if drawing.keeper {
        let y = HEIGHT / 2.0 + 62.0;
        sheet.line(
            Pen::new("ink", 4.0),
            inwards(middle_at(&middle, y, false), BAR / 2.0),
            inwards(middle_at(&middle, y, true), -BAR / 2.0),
        );
    }
    names(&mut sheet, drawing, &middle, &gate);
    sheet.document(WIDTH, HEIGHT, &drawing.title, &in_words(drawing))
}

/// What the drawing shows, in words.
#[must_use]
pub fn in_words(drawing: &ConnectorDrawing) -> String {
    let names: Vec<&str> = drawing.names.iter().map(|(_, name)| name.as_str()).collect();
    format!("{}: {}.", drawing.title, names.join(", "))
}

fn inwards(place: Px, by: f64) -> Px {
    [place[0] + by, place[1]]
}

/// The ends of the gate on the middle of the bar.
struct Gate {
    nose: Px,
    hinge: Px,
}

impl Gate {
    fn of(middle: &[Px]) -> Self {
        let at = |y: f64| middle_at(middle, HEIGHT / 2.0 + y, true);
        Self { nose: at(-78.0), hinge: at(78.0) }
    }

    /// A place on it: 0 at the nose, 1 at the hinge, and to the side.
    fn at(&self, along: f64, aside: f64) -> Px {
        let way = [self.hinge[0] - self.nose[0], self.hinge[1] - self.nose[1]];
        let length = way[0].hypot(way[1]);
        let side = [way[1] / length, -way[0] / length];
        [self.nose[0] + along * way[0] + aside * side[0], self.nose[1] + along * way[1] + aside * side[1]]
    }

    fn block(&self, from: f64, to: f64, half: f64) -> [Px; 4] {
        [self.at(from, -half), self.at(from, half), self.at(to, half), self.at(to, -half)]
    }
}

fn gate_with_nose(sheet: &mut Sheet, drawing: &ConnectorDrawing, gate: &Gate) {
    let blank = Pen::new("blank", 1.5);
    sheet.polygon(Pen::new("paper", 0.0), &gate.block(-0.03, 1.03, BAR / 2.0 + 8.0));
    match drawing.gate {
        GateKind::Solid => sheet.polygon(blank, &gate.block(0.03, 1.0, BAR / 2.0 - 1.5)),
        GateKind::Wire => {
            for aside in [-4.5, 4.5] {
                sheet.line(Pen::new("ink", 3.0), gate.at(0.02, aside), gate.at(1.0, aside));
            }
            sheet.line(Pen::new("ink", 3.0), gate.at(0.02, -4.5), gate.at(0.02, 4.5));
        }
    }
    nose(sheet, drawing.hooked, gate);
    sheet.circle(GATE, gate.at(0.99, 0.0), 3.0);
    for end in [-0.03, 1.03] {
        sheet.line(INK, gate.at(end, -BAR / 2.0), gate.at(end, BAR / 2.0));
    }
    if drawing.sleeve {
        sheet.polygon(blank, &gate.block(0.22, 0.62, BAR / 2.0 + 2.5));
        for along in [0.27, 0.32, 0.37, 0.42, 0.47, 0.52, 0.57] {
            sheet.line(Pen::new("ink", 0.8), gate.at(along, -BAR / 2.0 - 2.5), gate.at(along, BAR / 2.0 + 2.5));
        }
    }
}

/// The nose: a T that stands in the gate where it is hooked, a plain end where not.
fn nose(sheet: &mut Sheet, hooked: bool, gate: &Gate) {
    if hooked {
        sheet.line(Pen::new("ink", 2.4), gate.at(-0.03, 0.0), gate.at(0.08, 0.0));
        sheet.line(Pen::new("ink", 2.4), gate.at(0.08, -4.0), gate.at(0.08, 4.0));
    } else {
        sheet.line(Pen::new("ink", 2.0), gate.at(0.0, -BAR / 2.0), gate.at(0.0, BAR / 2.0));
    }
}

/// The nut of a quick link, with the threads it has covered.
fn nut(sheet: &mut Sheet, gate: &Gate) {
    sheet.polygon(Pen::new("blank", 1.6), &gate.block(0.3, 0.7, BAR / 2.0 + 6.0));
    for aside in [-5.0, 5.0] {
        sheet.line(GATE, gate.at(0.3, aside), gate.at(0.7, aside));
    }
}

fn names(sheet: &mut Sheet, drawing: &ConnectorDrawing, middle: &[Px], gate: &Gate) {
    let left = |y: f64| middle_at(middle, HEIGHT / 2.0 + y, false);
    let place = |part: PartKind| match part {
        PartKind::Spine => left(-10.0),
        PartKind::Basket => {
            middle.iter().copied().fold([0.0, HEIGHT], |top, place| if place[1] < top[1] { place } else { top })
        }
        PartKind::Keeper => [WIDTH / 2.0 - 34.0, HEIGHT / 2.0 + 62.0],
        PartKind::Gate => gate.at(if drawing.sleeve { 0.78 } else { 0.5 }, BAR / 2.0 - 2.0),
        PartKind::Nose => gate.at(0.02, BAR / 2.0 - 2.0),
        PartKind::Hinge => gate.at(0.99, 3.0),
        PartKind::Sleeve => gate.at(0.42, BAR / 2.0),
    };
    for (part, name) in &drawing.names {
        let to = place(*part);
        let is_left = matches!(part, PartKind::Spine | PartKind::Keeper | PartKind::Basket);
        let y = if *part == PartKind::Basket { to[1] - 14.0 } else { to[1] };
        named(sheet, name, to, is_left, y);
    }
}

/// A name at the edge of the sheet, and a thin line to what it names.
fn named(sheet: &mut Sheet, name: &str, to: Px, is_left: bool, y: f64) {
    let room = 84.0;
    let lines = wrap(name, TEXT, room);
    let wide = lines.iter().map(|line| width(line, TEXT)).fold(0.0, f64::max);
    let (edge, from, align) = if is_left {
        (6.0, 6.0 + wide + 5.0, Align::Start)
    } else {
        (WIDTH - 6.0, WIDTH - 6.0 - wide - 5.0, Align::End)
    };
    sheet.line(THIN, [from, y], to);
    let first = y + TEXT * 0.35 - 8.0 * (lines.len() as f64 - 1.0);
    for (index, line) in lines.iter().enumerate() {
        sheet.text("name", TEXT, [edge, first + 16.0 * index as f64], align, line);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawing(outline: Outline) -> ConnectorDrawing {
        let names =
            [PartKind::Spine, PartKind::Basket, PartKind::Gate, PartKind::Nose, PartKind::Hinge, PartKind::Sleeve];
        let names = names.into_iter().map(|part| (part, format!("{part:?}"))).collect();
        ConnectorDrawing {
            title: "c".to_owned(),
            outline,
            gate: GateKind::Solid,
            sleeve: true,
            hooked: true,
            keeper: true,
            names,
        }
    }

    const ALL: [Outline; 5] = [Outline::Pear, Outline::D, Outline::OffsetD, Outline::Oval, Outline::QuickLink];

    #[test]
    fn every_outline_fits_the_sheet_and_is_a_bar_around_a_hole() {
        for outline in ALL {
            let (outer, inner) = (around(&bends(outline), BAR / 2.0), around(&bends(outline), -BAR / 2.0));
            assert!(
                outer.iter().all(|[x, y]| (90.0..WIDTH - 90.0).contains(x) && (10.0..HEIGHT - 10.0).contains(y)),
                "{outline:?}"
            );
            let least = inner.iter().flat_map(|a| outer.iter().map(move |b| (a[0] - b[0]).hypot(a[1] - b[1])));
            let least = least.fold(f64::MAX, f64::min);
            assert!((least - BAR).abs() < 0.2, "{outline:?}: {least}");
        }
    }

    #[test]
    fn shapes_differ_and_every_part_is_named_once() {
        let drawn: Vec<String> = ALL.into_iter().map(|outline| connector(&drawing(outline))).collect();
        for (index, one) in drawn.iter().enumerate() {
            assert_eq!(one.matches("class=\"name\"").count(), 6);
            assert!(drawn[..index].iter().all(|other| other != one), "{:?}", ALL[index]);
        }
    }

    #[test]
    fn a_wire_gate_and_a_smooth_nose_are_drawn_otherwise() {
        let plain = drawing(Outline::D);
        let wire = ConnectorDrawing { gate: GateKind::Wire, ..plain.clone() };
        let smooth = ConnectorDrawing { hooked: false, ..plain.clone() };
        let open = ConnectorDrawing { sleeve: false, ..plain.clone() };
        let all = [plain, wire, smooth, open].map(|drawing| connector(&drawing));
        for (index, one) in all.iter().enumerate() {
            assert!(all[index + 1..].iter().all(|other| other != one));
        }
    }

    #[test]
    fn the_hull_of_a_square_with_a_point_inside_is_the_square() {
        let line = hull(vec![[0.0, 0.0], [1.0, 0.0], [0.5, 0.5], [1.0, 1.0], [0.0, 1.0]]);
        assert_eq!(line.len(), 4);
        assert!(!line.contains(&[0.5, 0.5]));
    }
}
