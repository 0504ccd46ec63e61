//! Curves over a common axis, each named where it ends.

use crate::svg::{Align, Pen, Px, Sheet};
use crate::text::{Area, spread, width, wrap};
use crate::ticks::Step;

/// A plot of a few curves.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plot {
    /// What it shows.
    pub title: String,
    /// What runs to the right, with its unit.
    pub x_label: String,
    /// What runs up, with its unit.
    pub y_label: String,
    /// The curves.
    pub series: Vec<Series>,
    /// Places to point at: x, y and what to say there.
    pub marks: Vec<(f64, f64, String)>,
    /// A level not to be passed, and its name.
    pub limit: Option<(f64, String)>,
    /// What to see to before all else, in one line above the field; nothing where it is empty.
    pub caution: String,
    /// An area between two curves, drawn under all else: x, lower and upper edge.
    pub band: Vec<[f64; 3]>,
    /// Whether the scale of y keeps to the values. It begins at 0 otherwise, and a label or a hint has to say that it does not.
    pub keeps_to_values: bool,
    /// Measured places: x, y, and how far their intervals reach up and down.
    pub readings: Vec<[f64; 3]>,
}

impl Plot {
    /// The same with its values along x and y times a factor each, as another unit has them.
    #[must_use]
    pub fn times(mut self, [x, y]: [f64; 2]) -> Self {
        for place in self.series.iter_mut().flat_map(|series| &mut series.points) {
            *place = [place[0] * x, place[1] * y];
        }
        for mark in &mut self.marks {
            (mark.0, mark.1) = (mark.0 * x, mark.1 * y);
        }
        for [at, low, high] in self.band.iter_mut().chain(&mut self.readings) {
            (*at, *low, *high) = (*at * x, *low * y, *high * y);
        }
        if let Some((level, _)) = &mut self.limit {
            *level *= y;
        }
        self
    }
}

/// A curve.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Series {
    /// Its name, written where it ends; nothing where it is empty.
    pub name: String,
    /// Its places, x and y; those that are not finite are left out.
    pub points: Vec<[f64; 2]>,
    /// Whether the line is dashed.
    pub dashed: bool,
}

const TEXT: f64 = 11.5;
const LINE: f64 = 14.0;
const GRID: Pen = Pen::new("faint", 1.0);
const AXIS: Pen = Pen::new("ink", 1.0);
const READING: Pen = Pen::new("ink", 1.2);
const LIMIT: Pen = Pen::new("accent", 1.6).dashed("12 4");
/// A limit further up than this many times the highest curve is written at the top edge: to scale it would flatten
/// them.
const LIMIT_IN_SIGHT: f64 = 2.5;
const LONGEST_NAME: f64 = 150.0;
const MARKERS_PER_CURVE: usize = 7;

/// A plot as a document of its own, 720 by 340 pixels.
pub fn plot(plot: &Plot) -> String {
    let mut sheet = Sheet::default();
    draw(&mut sheet, plot, Area { left: 20.0, top: 16.0, right: 700.0, bottom: 328.0 });
    sheet.document(720.0, 340.0, &plot.title, &describe(plot))
}

/// What the plot shows, in words.
pub(crate) fn describe(plot: &Plot) -> String {
    let mut parts = vec![format!("{}: {} against {}.", plot.title, plot.y_label, plot.x_label)];
    for series in &plot.series {
        let top = finite(series).map(|place| place[1]).fold(f64::NEG_INFINITY, f64::max);
        parts.push(if top.is_finite() {
            format!("{} reaches {top:.2}.", series.name)
        } else {
            format!("{}: no values.", series.name)
        });
    }
    parts.extend(plot.limit.iter().map(|(level, name)| format!("Limit {level:.2}: {name}.")));
    let reading = |[x, y, reach]: [f64; 3]| format!("Measured at {x:.2}: {y:.2}, give or take {reach:.2}.");
    parts.extend(finite_rows(&plot.readings).map(reading));
    parts.extend((!plot.caution.is_empty()).then(|| plot.caution.clone()));
    parts.extend(plot.marks.iter().map(|(x, y, text)| format!("{text} at {x:.2}, {y:.2}.")));
    parts.join(" ")
}

/// A plot inside an area of a sheet.
pub(crate) fn draw(sheet: &mut Sheet, plot: &Plot, area: Area) {
    let axes = Axes::of(plot, area);
    sheet.group("plot", &plot.title, |sheet| {
        sheet.text("name", 13.0, [area.left, area.top + 12.0], Align::Start, &plot.title);
        if !plot.caution.is_empty() {
            sheet.text("alert", TEXT, [area.left, area.top + 29.0], Align::Start, &plot.caution);
        }
        sheet.text("aside", TEXT, [area.left, area.top + 30.0 + caution_height(plot)], Align::Start, &plot.y_label);
        draw_band(sheet, plot, &axes);
        draw_axes(sheet, plot, &axes);
        let taken = draw_limit(sheet, plot, &axes);
        for (index, series) in plot.series.iter().enumerate() {
            draw_curve(sheet, plot, &axes, index, series);
        }
        draw_readings(sheet, plot, &axes);
        draw_names(sheet, plot, &axes, area.right);
        draw_marks(sheet, plot, &axes, taken);
    });
}

fn finite(series: &Series) -> impl Iterator<Item = [f64; 2]> + '_ {
    series.points.iter().copied().filter(|place| place.iter().all(|value| value.is_finite()))
}

fn finite_rows(rows: &[[f64; 3]]) -> impl Iterator<Item = [f64; 3]> + '_ {
    rows.iter().copied().filter(|row| row.iter().all(|value| value.is_finite()))
}

/// What the line of the caution takes.
fn caution_height(plot: &Plot) -> f64 {
    if plot.caution.is_empty() { 0.0 } else { LINE + 2.0 }
}

/// Least and greatest of some values; 0 to 1 where there are none, and never without extent.
fn range(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) =
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
    match high - low {
        extent if !extent.is_finite() => (0.0, 1.0),
        0.0 => (low, low + 1.0),
        _ => (low, high),
    }
}

/// The ruled field and the scales along its sides.
struct Axes {
    field: Area,
    x: (f64, f64),
    y: (f64, f64),
    x_step: Step,
    y_step: Step,
}

impl Axes {
    fn of(plot: &Plot, area: Area) -> Axes {
        let names = plot.series.iter().map(|series| width(&series.name, TEXT)).fold(0.0, f64::max).min(LONGEST_NAME);
        let field = Area {
            left: area.left + 34.0,
            top: area.top + 42.0 + caution_height(plot),
            right: area.right - names - 30.0,
            bottom: area.bottom - 38.0,
        };
        let marks = || plot.marks.iter().filter(|mark| mark.0.is_finite() && mark.1.is_finite());
        let ends = || finite_rows(&plot.readings).flat_map(|[x, y, reach]| [[x, y - reach], [x, y + reach]]);
        let edges = || finite_rows(&plot.band).flat_map(|[x, low, high]| [[x, low], [x, high]]);
        let places = || plot.series.iter().flat_map(finite).chain(ends()).chain(edges());
        let x = range(places().map(|place| place[0]).chain(marks().map(|mark| mark.0)));
        let data = places().map(|place| place[1]).chain(marks().map(|mark| mark.1));
        let (low, high) = range(data.chain((!plot.keeps_to_values).then_some(0.0)));
        let high =
            plot.limit.iter().map(|limit| limit.0).filter(|level| *level <= high * LIMIT_IN_SIGHT).fold(high, f64::max);
        let y_step = Step::at_least((high - low) * 30.0 / field.height());
        let up = |value: f64| (value / y_step.size - 1e-9).ceil() * y_step.size;
        let y = (-up(-low), up(high));
        Axes { field, x, y, x_step: Step::at_least((x.1 - x.0) * 60.0 / field.width()), y_step }
    }

    fn px(&self, place: [f64; 2]) -> Px {
        [
            self.field.left + (place[0] - self.x.0) / (self.x.1 - self.x.0) * self.field.width(),
            self.field.bottom - (place[1] - self.y.0) / (self.y.1 - self.y.0) * self.field.height(),
        ]
    }
}

fn draw_axes(sheet: &mut Sheet, plot: &Plot, axes: &Axes) {
    let Area { left, top, right, bottom } = axes.field;
    for value in axes.y_step.multiples(axes.y.0, axes.y.1) {
        let y = axes.px([axes.x.0, value])[1];
        sheet.line(GRID, [left, y], [right, y]);
        sheet.text("words", 11.0, [left - 6.0, y + 4.0], Align::End, &axes.y_step.text(value));
    }
    for value in axes.x_step.multiples(axes.x.0, axes.x.1) {
        let x = axes.px([value, axes.y.0])[0];
        sheet.line(GRID, [x, top], [x, bottom]);
        sheet.line(AXIS, [x, bottom], [x, bottom + 4.0]);
        sheet.text("words", 11.0, [x, bottom + 17.0], Align::Middle, &axes.x_step.text(value));
    }
    let zero = axes.px([axes.x.0, axes.y.0.max(0.0)])[1];
    sheet.line(AXIS, [left, zero], [right, zero]);
    sheet.line(AXIS, [left, top], [left, bottom]);
    sheet.text("aside", TEXT, [right, bottom + 33.0], Align::End, &plot.x_label);
    if plot.series.iter().flat_map(finite).next().is_none() {
        sheet.text("aside", TEXT, [(left + right) / 2.0, (top + bottom) / 2.0], Align::Middle, "no values");
    }
}

fn draw_band(sheet: &mut Sheet, plot: &Plot, axes: &Axes) {
    let upper = finite_rows(&plot.band).map(|[x, _, high]| axes.px([x, high]));
    let mut edge: Vec<Px> = finite_rows(&plot.band).map(|[x, low, _]| axes.px([x, low])).collect();
    edge.reverse();
    let around: Vec<Px> = upper.chain(edge).collect();
    if around.len() > 2 {
        sheet.polygon(Pen::new("wash", 0.0), &around);
    }
}

/// Each reading as a dot, its interval as a line with two ends.
fn draw_readings(sheet: &mut Sheet, plot: &Plot, axes: &Axes) {
    for [x, y, reach] in finite_rows(&plot.readings) {
        let [[px, low], [_, high]] = [y - reach, y + reach].map(|end| axes.px([x, end]));
        sheet.line(READING, [px, low], [px, high]);
        for end in [low, high] {
            sheet.line(READING, [px - 4.0, end], [px + 4.0, end]);
        }
        sheet.circle(Pen::new("solid", 0.0), axes.px([x, y]), 3.2);
    }
}

/// Draws the limit, or points to it where it is out of sight, and returns what its name covers.
fn draw_limit(sheet: &mut Sheet, plot: &Plot, axes: &Axes) -> Option<Area> {
    let (level, name) = plot.limit.as_ref().filter(|limit| limit.0.is_finite())?;
    let Area { left, top, right, .. } = axes.field;
    let in_sight = *level <= axes.y.1;
    let (words, bottom) = if in_sight {
        let y = axes.px([axes.x.0, *level])[1];
        sheet.line(LIMIT, [left, y], [right, y]);
        (name.clone(), y - 2.0)
    } else {
        (format!("↑ {name}, above this plot"), top + 15.0)
    };
    let long = width(&words, TEXT);
    let cover = |left: f64| Area { left, top: bottom - LINE, right: left + long, bottom };
    let [at_left, at_right] = [cover(left + 4.0), cover(right - 4.0 - long)];
    // At the right unless the curves come close there and not at the left.
    let to_left = in_sight && is_crossed(plot, axes, &at_right) && !is_crossed(plot, axes, &at_left);
    let (place, align, taken) =
        if to_left { (left + 4.0, Align::Start, at_left) } else { (right - 4.0, Align::End, at_right) };
    sheet.text("alert halo", TEXT, [place, bottom - 3.0], align, &words);
    Some(taken)
}

/// Whether a curve has a place inside of an area.
fn is_crossed(plot: &Plot, axes: &Axes, area: &Area) -> bool {
    let inside = |[x, y]: Px| (area.left..=area.right).contains(&x) && (area.top..=area.bottom).contains(&y);
    plot.series.iter().flat_map(finite).any(|place| inside(axes.px(place)))
}

/// The places of a curve in pixels: of each pixel column the first, the lowest, the highest and the last, in their
/// order.
fn visible(places: impl Iterator<Item = Px>) -> Vec<Px> {
    let places: Vec<Px> = places.collect();
    places.chunk_by(|a, b| a[0].floor() == b[0].floor()).flat_map(extremes).collect()
}

fn extremes(column: &[Px]) -> Vec<Px> {
    let by_height = |a: &usize, b: &usize| column[*a][1].total_cmp(&column[*b][1]);
    let low = (0..column.len()).min_by(by_height).expect("a chunk holds something");
    let high = (0..column.len()).max_by(by_height).expect("a chunk holds something");
    let mut kept = vec![0, low, high, column.len() - 1];
    kept.sort_unstable();
    kept.dedup();
    kept.into_iter().map(|index| column[index]).collect()
}

fn draw_curve(sheet: &mut Sheet, plot: &Plot, axes: &Axes, index: usize, series: &Series) {
    let places = visible(finite(series).map(|place| axes.px(place)));
    let pen = Pen::new("ink", if index == 0 { 1.8 } else { 1.3 });
    sheet.polyline(if series.dashed { pen.dashed("5 3") } else { pen }, &places);
    if plot.series.len() > 1 {
        let share = axes.field.width() / MARKERS_PER_CURVE as f64;
        let offset = share * (index as f64 + 0.5) / plot.series.len() as f64;
        let wanted = (0..MARKERS_PER_CURVE).map(|count| axes.field.left + offset + share * count as f64);
        for x in wanted {
            marker(sheet, index, on_curve(&places, x));
        }
    }
}

/// The place of a curve at the pixel column `x`, if it gets there.
fn on_curve(places: &[Px], x: f64) -> Option<Px> {
    let [from, to] = *places.windows(2).find(|pair| pair[0][0] <= x && x < pair[1][0])? else { return None };
    Some([x, from[1] + (to[1] - from[1]) * (x - from[0]) / (to[0] - from[0])])
}

/// A sign that tells one curve from another without colour.
fn marker(sheet: &mut Sheet, index: usize, at: Option<Px>) {
    let Some([x, y]) = at else { return };
    let pen = Pen::new("blank", 1.2);
    let corners = |r: f64, ways: &[Px]| ways.iter().map(|way| [x + r * way[0], y + r * way[1]]).collect::<Vec<_>>();
    match index % 5 {
        0 => sheet.circle(pen, [x, y], 3.2),
        1 => sheet.polygon(pen, &corners(2.9, &[[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])),
        2 => sheet.polygon(pen, &corners(4.0, &[[0.0, -1.0], [0.87, 0.7], [-0.87, 0.7]])),
        3 => sheet.polygon(pen, &corners(4.2, &[[0.0, -1.0], [1.0, 0.0], [0.0, 1.0], [-1.0, 0.0]])),
        _ => sheet.circle(Pen::new("solid", 0.0), [x, y], 2.6),
    }
}

/// The names, right of the field at the heights where the curves end, as far apart as they must be.
fn draw_names(sheet: &mut Sheet, plot: &Plot, axes: &Axes, right: f64) {
    let left = axes.field.right + 26.0;
    let mut names: Vec<(Px, usize, Vec<String>)> = plot
        .series
        .iter()
        .enumerate()
        .filter(|(_, series)| !series.name.is_empty())
        .filter_map(|(index, series)| {
            let end = axes.px(finite(series).last()?);
            Some((end, index, wrap(&series.name, TEXT, right - left + 4.0)))
        })
        .collect();
    names.sort_by(|a, b| a.0[1].total_cmp(&b.0[1]));
    let wanted: Vec<_> = names.iter().map(|(end, _, lines)| (end[1] - LINE / 2.0, lines.len() as f64 * LINE)).collect();
    let tops = spread(&wanted, 1.0, axes.field.top, axes.field.bottom);
    for ((end, index, lines), top) in names.iter().zip(tops) {
        let middle = top + LINE / 2.0;
        sheet.polyline(Pen::new("soft", 0.8), &[*end, [left - 16.0, middle], [left - 6.0, middle]]);
        if plot.series.len() > 1 {
            marker(sheet, *index, Some([left - 8.0, middle]));
        }
        for (count, line) in lines.iter().enumerate() {
            sheet.text("words", TEXT, [left, middle + 4.0 + count as f64 * LINE], Align::Start, line);
        }
    }
}

/// The marks, each with its text where it hides no other mark's.
fn draw_marks(sheet: &mut Sheet, plot: &Plot, axes: &Axes, limit: Option<Area>) {
    let mut taken: Vec<Area> = limit.into_iter().collect();
    for (x, y, text) in plot.marks.iter().filter(|mark| mark.0.is_finite() && mark.1.is_finite()) {
        let at = axes.px([*x, *y]);
        let half = width(text, TEXT) / 2.0 + 8.0;
        let tries =
            [[half, -6.0], [-half, -6.0], [0.0, -14.0], [half, 12.0], [-half, 12.0], [half, -20.0], [half, 28.0]];
        let boxes = tries.map(|[dx, dy]| Area::around([at[0] + dx, at[1] + dy], 2.0 * half - 10.0, LINE));
        let free =
            boxes.iter().find(|area| area.within(&axes.field) && !taken.iter().any(|other| other.overlaps(area)));
        let chosen = *free.unwrap_or(&boxes[0]);
        sheet.circle(Pen::new("solid", 0.0), at, 2.6);
        sheet.text("name halo", TEXT, [(chosen.left + chosen.right) / 2.0, chosen.bottom - 3.0], Align::Middle, text);
        taken.push(chosen);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thinning_keeps_the_extremes_of_each_column() {
        let wave = (0..10_000)
            .map(|count| [f64::from(count) / 100.0, if count == 5_003 { 99.0 } else { f64::from(count % 7) }]);
        let kept = visible(wave);
        assert!(kept.len() <= 400, "{}", kept.len());
        assert_eq!(kept.iter().map(|place| place[1]).fold(0.0, f64::max), 99.0);
        assert_eq!((kept[0][0], kept[kept.len() - 1][0]), (0.0, 99.99));
    }

    #[test]
    fn a_far_limit_does_not_flatten_the_curves() {
        let series = vec![Series { points: vec![[0.0, 0.0], [1.0, 4.0]], ..Series::default() }];
        let top = |level: f64| {
            let plot = Plot { series: series.clone(), limit: Some((level, "limit".into())), ..Plot::default() };
            Axes::of(&plot, Area { left: 0.0, top: 0.0, right: 700.0, bottom: 300.0 }).y.1
        };
        assert!(top(8.0) >= 8.0);
        assert!(top(22.0) < 8.0);
    }
}
