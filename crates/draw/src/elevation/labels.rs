//! Labels in two columns beside a view, tied to what they name by thin lines.

use super::scene::Scene;
use crate::svg::{Align, Pen, Px, Sheet};
use crate::text::{Area, spread, wrap};

/// Width of a column in pixels.
pub(super) const COLUMN: f64 = 256.0;
const BETWEEN: f64 = 9.0;

/// A line of a label.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    class: &'static str,
    size: f64,
    words: String,
}

impl Line {
    /// A text wrapped to the column.
    pub fn wrapped(class: &'static str, size: f64, text: &str) -> impl Iterator<Item = Line> {
        wrap(text, size, COLUMN).into_iter().map(move |words| Line { class, size, words })
    }

    fn height(&self) -> f64 {
        self.size * 1.28
    }
}

/// A label and what it names.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Label {
    pub target: Px,
    /// How far from the target the thin line ends.
    pub reach: f64,
    /// How much lower than the target it should lie.
    pub lean: f64,
    pub lines: Vec<Line>,
}

impl Label {
    fn height(&self) -> f64 {
        self.lines.iter().map(Line::height).sum()
    }

    /// From its top to the middle of its first line, where the thin line begins.
    fn tie(&self) -> f64 {
        self.lines.first().map_or(0.0, |line| line.height() / 2.0)
    }

    /// What is said of a point: its name, its note, and each of its links.
    pub fn of_point(scene: &Scene, point: usize, target: Px, reach: f64) -> Label {
        let about = &scene.drawing.points[point];
        let mut lines: Vec<Line> = Line::wrapped("name", 12.5, &about.name).collect();
        lines.extend(about.note.iter().flat_map(|note| Line::wrapped("aside", 11.5, note)));
        for link in scene.drawing.links.iter().filter(|link| link.point == point) {
            lines.extend(link.rank.words().into_iter().flat_map(|words| Line::wrapped("alert", 11.5, words)));
            lines.extend(link.lines.iter().flat_map(|line| Line::wrapped("words", 11.5, line)));
        }
        Label { target, reach, lean: 0.0, lines }
    }
}

/// Which column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Left,
    Right,
}

/// A label in its place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Placed {
    label: Label,
    side: Side,
    /// Inner edge of its column.
    edge: f64,
    top: f64,
}

impl Placed {
    /// The thin line: from the column, a little straight on, then to the target.
    pub fn leader(&self) -> [Px; 3] {
        let out = if self.side == Side::Left { 1.0 } else { -1.0 };
        let y = self.top + self.label.tie();
        let bend = [self.edge + out * 13.0, y];
        [[self.edge + out * 4.0, y], bend, towards(self.label.target, bend, self.label.reach)]
    }

    pub fn draw(&self, sheet: &mut Sheet) {
        let align = if self.side == Side::Left { Align::End } else { Align::Start };
        let mut top = self.top;
        for line in &self.label.lines {
            sheet.text(line.class, line.size, [self.edge, top + line.size], align, &line.words);
            top += line.height();
        }
    }

    pub fn draw_leader(&self, sheet: &mut Sheet) {
        sheet.polyline(Pen::new("soft", 0.8), &self.leader());
    }
}

/// The place `reach` away from `from` on the way to `to`.
fn towards(from: Px, to: Px, reach: f64) -> Px {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let share = (reach / (dx * dx + dy * dy).sqrt()).min(1.0);
    [from[0] + dx * share, from[1] + dy * share]
}

/// Height that the higher of two columns of these labels needs.
pub(super) fn needed(labels: &[Label]) -> f64 {
    let height = |side: Vec<Label>| side.iter().map(|label| label.height() + BETWEEN).sum::<f64>();
    let (left, right) = sides(labels.to_vec());
    height(left).max(height(right))
}

/// Puts labels into the two columns on the sides of `middle`, each as near to the height of its target as the others
/// let it.
pub(super) fn place(labels: Vec<Label>, middle: &Area) -> Vec<Placed> {
    let (left, right) = sides(labels);
    let column = |labels: Vec<Label>, side: Side, edge: f64| {
        let wanted: Vec<_> =
            labels.iter().map(|label| (label.target[1] + label.lean - label.tie(), label.height())).collect();
        let tops = spread(&wanted, BETWEEN, middle.top, middle.bottom);
        labels.into_iter().zip(tops).map(move |(label, top)| Placed { label, side, edge, top }).collect::<Vec<_>>()
    };
    let mut placed = column(left, Side::Left, middle.left);
    placed.extend(column(right, Side::Right, middle.right));
    placed
}

/// The labels of the left and of the right column, from top to bottom. What lies further left goes left, until half
/// of the text is there; of what lies equally far the highest, the third and so on.
fn sides(mut labels: Vec<Label>) -> (Vec<Label>, Vec<Label>) {
    labels.sort_by(|a, b| a.target[1].total_cmp(&b.target[1]));
    let total: f64 = labels.iter().map(Label::height).sum();
    let mut order: Vec<(i64, usize, usize)> = labels
        .iter()
        .enumerate()
        .map(|(rank, label)| ((label.target[0] / 4.0).round() as i64, rank % 2, rank))
        .collect();
    order.sort_unstable();
    let mut goes_left = vec![false; labels.len()];
    let mut height = 0.0;
    for (_, _, rank) in order {
        let own = labels[rank].height();
        goes_left[rank] = height + own / 2.0 <= total / 2.0;
        height += own;
    }
    let mut chosen = goes_left.into_iter();
    labels.into_iter().partition(|_| chosen.next().unwrap_or(false))
}
