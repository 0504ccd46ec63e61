//! One view of the rig at one scale: the whole, or a crowded part of it drawn larger.

use super::Emphasis;
use super::labels::{COLUMN, Label, Line, Placed, needed, place};
use super::scene::{Carries, Flat, Scene, extent};
use super::signs;
use crate::svg::{Align, Pen, Px, Sheet};
use crate::text::{Area, width};

/// Between the drawing and its columns.
const GUTTER: f64 = 10.0;
/// Free of points at the edges of the drawing: left and right, above (a person's head), below (hatches).
const SIDES: f64 = 30.0;
const ABOVE: f64 = 34.0;
const BELOW: f64 = 18.0;
const BAR: f64 = 36.0;
const HIGHEST_DETAIL: f64 = 260.0;
/// No rig is drawn larger than this, in pixels for a metre.
const LARGEST: f64 = 600.0;
/// Points nearer than this many pixels to each other are crowded; three or more of them deserve a view of their own
/// if it is this many times larger.
const CROWDED: f64 = 46.0;
const WORTH_IT: f64 = 2.2;
/// In a drawing wider than this, labels of points in its middle lie lower than the points, lest their thin lines run
/// along strands.
const WIDE: f64 = 450.0;
const LEAN: f64 = 42.0;
const STRAND_TEXT: f64 = 11.5;

/// Points that are drawn larger in a view of their own.
#[derive(Debug, Clone, PartialEq)]
struct Cluster {
    letter: char,
    members: Vec<usize>,
}

/// A view.
pub(super) struct View<'a> {
    scene: &'a Scene<'a>,
    /// The points that it names.
    members: Vec<usize>,
    /// The parts that are drawn larger elsewhere.
    clusters: Vec<Cluster>,
    /// Its letter and how many times larger it is, if it is such a part.
    part: Option<(char, f64)>,
    /// Width of the drawing between the columns.
    centre: f64,
    scale: f64,
}

/// From metres on the plane to pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Frame {
    scale: f64,
    base: Flat,
    origin: Px,
    /// The drawing between the columns.
    area: Area,
}

impl Frame {
    fn px(&self, at: Flat) -> Px {
        [self.origin[0] + (at[0] - self.base[0]) * self.scale, self.origin[1] - (at[1] - self.base[1]) * self.scale]
    }
}

/// Everything in its place.
struct Layout {
    frame: Frame,
    labels: Vec<Placed>,
    /// Labels along strands: strand and place.
    along: Vec<(usize, Area)>,
}

impl<'a> View<'a> {
    /// The whole rig, at most `highest` pixels high but for what its labels need.
    pub fn whole(scene: &'a Scene<'a>, highest: f64) -> View<'a> {
        let members: Vec<usize> = (0..scene.at.len()).collect();
        let mut view = View { scene, members, clusters: Vec::new(), part: None, centre: 0.0, scale: 0.0 };
        let (low, high) = view.extent();
        let aspect = (high[0] - low[0]) / (high[1] - low[1]).max(1e-9);
        view.centre = (280.0 * aspect).clamp(330.0, 660.0);
        view.scale = view.fit(highest);
        view.clusters = view.crowded();
        view.members.retain(|point| !view.clusters.iter().any(|cluster| cluster.members.contains(point)));
        view
    }

    /// The crowded parts of it.
    pub fn details(&self) -> Vec<View<'a>> {
        self.clusters.iter().map(|cluster| self.detail(cluster)).collect()
    }

    fn detail(&self, cluster: &Cluster) -> View<'a> {
        let part = Some((cluster.letter, 1.0));
        let mut view = View { members: cluster.members.clone(), clusters: Vec::new(), part, ..*self };
        view.scale = view.fit(HIGHEST_DETAIL);
        view.part = Some((cluster.letter, view.scale / self.scale));
        view
    }

    /// Its width with both columns.
    pub fn width(&self) -> f64 {
        self.centre + 2.0 * (COLUMN + GUTTER)
    }

    /// The corners of what it must show.
    fn extent(&self) -> (Flat, Flat) {
        if self.part.is_some() {
            return extent(self.members.iter().map(|point| self.scene.at[*point]));
        }
        let ghosts = self.scene.ghosts.iter().map(|ghost| ghost.1);
        let via = self.scene.via.iter().flatten().copied();
        let (low, high) = extent(self.scene.at.iter().copied().chain(ghosts).chain(via));
        let floor = self.scene.drawing.floor_m.unwrap_or(low[1]);
        ([low[0], low[1].min(floor)], [high[0], high[1].max(floor)])
    }

    /// The scale at which it fits.
    fn fit(&self, highest: f64) -> f64 {
        let (low, high) = self.extent();
        let across = (self.centre - 2.0 * SIDES) / (high[0] - low[0]);
        across.min(highest / (high[1] - low[1])).min(LARGEST)
    }

    /// Groups of three or more points that are crowded and that a view of their own would draw much larger; at most
    /// three.
    fn crowded(&self) -> Vec<Cluster> {
        let near = |a: usize, b: usize| distance(self.scene.at[a], self.scene.at[b]) * self.scale < CROWDED;
        let mut groups = groups(&self.members, near);
        groups.retain(|group| group.len() > 2 && self.larger(group) >= WORTH_IT);
        ('A'..='C').zip(groups).map(|(letter, members)| Cluster { letter, members }).collect()
    }

    /// How many times larger a view of these points alone would be.
    fn larger(&self, members: &[usize]) -> f64 {
        self.detail(&Cluster { letter: 'A', members: members.to_vec() }).scale / self.scale
    }

    /// Draws it below and right of `corner` and returns where it ends.
    pub fn draw(&self, sheet: &mut Sheet, corner: Px) -> f64 {
        let top = corner[1] + self.caption(sheet, corner);
        let layout = self.layout([corner[0], top]);
        let Layout { frame, labels, along } = &layout;
        self.draw_ground(sheet, frame);
        self.draw_strands(sheet, frame);
        labels.iter().for_each(|label| label.draw_leader(sheet));
        self.draw_points(sheet, frame);
        for (strand, place) in along {
            let words = self.scene.strands[*strand].label.as_deref().unwrap_or_default();
            let at = [(place.left + place.right) / 2.0, place.bottom - 3.5];
            sheet.text("words halo", STRAND_TEXT, at, Align::Middle, words);
        }
        labels.iter().for_each(|label| label.draw(sheet));
        let area = frame.area;
        signs::scale_bar(sheet, frame.scale, [(area.left + area.right) / 2.0, area.bottom + 12.0]);
        area.bottom + BAR
    }

    /// Writes what part it is, and returns the height that takes.
    fn caption(&self, sheet: &mut Sheet, corner: Px) -> f64 {
        let Some((letter, times)) = self.part else { return 0.0 };
        let at = [corner[0] + self.width() / 2.0, corner[1] + 13.0];
        sheet.text("name", 12.5, at, Align::Middle, &format!("Detail {letter}, {times:.1} times larger"));
        22.0
    }

    /// Puts labels along strands where there is room and into the columns where there is none. Each turn moves some
    /// from a strand to a column and none back, so that this ends.
    fn layout(&self, corner: Px) -> Layout {
        let mut beside: Vec<usize> = Vec::new();
        loop {
            let mut height = 0.0;
            let mut frame = self.frame(corner, height);
            height = needed(&self.labels(&frame, &beside));
            frame = self.frame(corner, height);
            let labels = place(self.labels(&frame, &beside), &frame.area.narrowed(-GUTTER));
            let (along, crowded) = self.along(&frame, &labels, &beside);
            if crowded.is_empty() {
                return Layout { frame, labels, along };
            }
            beside.extend(crowded);
        }
    }

    /// The frame of a drawing at least `height` high whose columns begin at `corner`.
    fn frame(&self, corner: Px, height: f64) -> Frame {
        let (low, high) = self.extent();
        let own = (high[1] - low[1]) * self.scale + ABOVE + BELOW;
        let height = own.max(height).max(if self.centre > WIDE { 3.0 * LEAN } else { 0.0 });
        let left = corner[0] + COLUMN + GUTTER;
        let area = Area { left, right: left + self.centre, top: corner[1], bottom: corner[1] + height };
        let x = left + (self.centre - (high[0] - low[0]) * self.scale) / 2.0;
        let y = area.bottom - BELOW - (height - own) / 2.0;
        Frame { scale: self.scale, base: low, origin: [x, y], area }
    }

    /// How large signs are, so that those of neighbours do not cover each other.
    fn size(&self) -> f64 {
        let places = &self.scene.at;
        let pairs = places.iter().enumerate().flat_map(|(count, a)| places[..count].iter().map(|b| distance(*a, *b)));
        let nearest = pairs.map(|metres| metres * self.scale).filter(|px| *px > 2.0).fold(f64::INFINITY, f64::min);
        (nearest / (2.4 * signs::REACH)).clamp(0.55, 1.0)
    }

    /// All labels of the columns.
    fn labels(&self, frame: &Frame, beside: &[usize]) -> Vec<Label> {
        let reach = signs::REACH * self.size();
        let ringed = |point: usize| reach + if self.scene.rank(point) < Emphasis::Within { 7.0 } else { 1.0 };
        let points = self
            .members
            .iter()
            .map(|point| Label::of_point(self.scene, *point, frame.px(self.scene.at[*point]), ringed(*point)));
        let ghosts = self.ghosts().iter().map(|(_, at, name)| Label {
            target: frame.px(*at),
            reach,
            lean: 0.0,
            lines: Line::wrapped("aside", 11.5, name).collect(),
        });
        let strands = beside.iter().map(|strand| self.strand_label(frame, *strand));
        let clusters = self.clusters.iter().map(|cluster| self.cluster_label(frame, cluster));
        let labels = points.chain(ghosts).chain(strands).chain(clusters);
        labels.map(|label| Label { lean: self.lean(frame, label.target), ..label }).collect()
    }

    /// How much lower than its target a label should lie.
    fn lean(&self, frame: &Frame, target: Px) -> f64 {
        let nearest = (target[0] - frame.area.left).min(frame.area.right - target[0]);
        if self.centre > WIDE && nearest > 0.2 * self.centre { LEAN } else { 0.0 }
    }

    fn strand_label(&self, frame: &Frame, strand: usize) -> Label {
        let [from, to] = self.ends(frame, strand);
        let words = self.scene.strands[strand].label.as_deref().unwrap_or_default();
        Label {
            target: on_way(from, to, 0.5),
            reach: 0.0,
            lean: 0.0,
            lines: Line::wrapped("words", 11.5, words).collect(),
        }
    }

    fn cluster_label(&self, frame: &Frame, cluster: &Cluster) -> Label {
        let (target, reach) = self.circle(frame, cluster);
        let mut ranks: Vec<_> = cluster.members.iter().map(|point| self.scene.rank(*point)).collect();
        ranks.sort_unstable();
        ranks.dedup();
        let mut lines: Vec<Line> = Line::wrapped("name", 12.5, &format!("Detail {}", cluster.letter)).collect();
        lines.extend(Line::wrapped("aside", 11.5, "drawn larger below"));
        lines.extend(
            ranks.into_iter().filter_map(Emphasis::words).flat_map(|words| Line::wrapped("alert", 11.5, words)),
        );
        Label { target, reach, lean: 0.0, lines }
    }

    /// The circle about a crowded part.
    fn circle(&self, frame: &Frame, cluster: &Cluster) -> (Px, f64) {
        let (low, high) = extent(cluster.members.iter().map(|point| frame.px(self.scene.at[*point])));
        let centre = on_way(low, high, 0.5);
        (centre, distance(low, high) / 2.0 + 14.0)
    }

    fn ghosts(&self) -> &[(usize, Flat, &'a str)] {
        if self.part.is_none() { &self.scene.ghosts } else { &[] }
    }

    /// The ends of a strand in pixels, moved sideways where several run between the same points.
    fn ends(&self, frame: &Frame, strand: usize) -> [Px; 2] {
        let Scene { at, strands, .. } = self.scene;
        let [from, to] = [strands[strand].from, strands[strand].to].map(|point| frame.px(at[point]));
        let length = distance(from, to);
        let lane = if length > 0.0 { self.scene.lane(strand) * 10.0 / length } else { 0.0 };
        let aside = [-(to[1] - from[1]) * lane, (to[0] - from[0]) * lane];
        [from, to].map(|end| [end[0] + aside[0], end[1] + aside[1]])
    }

    /// The strands that it shows.
    fn shown(&self) -> impl Iterator<Item = usize> + '_ {
        let here = |point: usize| self.part.is_none() || self.members.contains(&point);
        (0..self.scene.strands.len()).filter(move |index| {
            let strand = self.scene.strands[*index];
            here(strand.from) || here(strand.to)
        })
    }

    /// Whether it is this view that labels a strand: a part labels those inside, the whole labels the rest.
    fn labels_strand(&self, strand: usize) -> bool {
        let strand = self.scene.strands[strand];
        let inside = |members: &[usize]| members.contains(&strand.from) && members.contains(&strand.to);
        let here =
            if self.part.is_some() { inside(&self.members) } else { !self.clusters.iter().any(|c| inside(&c.members)) };
        here && strand.label.as_ref().is_some_and(|label| !label.trim().is_empty())
    }

    /// All lines that a label along a strand must not lie on.
    fn lines(&self, frame: &Frame, labels: &[Placed]) -> Vec<[Px; 2]> {
        let mut lines: Vec<[Px; 2]> = self.shown().map(|strand| self.ends(frame, strand)).collect();
        for [start, bend, end] in labels.iter().map(Placed::leader) {
            lines.extend([[start, bend], [bend, end]]);
        }
        let ways = self.ghosts().iter().map(|(point, at, _)| [self.scene.at[*point], *at]);
        lines.extend(ways.map(|way| way.map(|end| frame.px(end))));
        lines.extend(self.floor(frame));
        lines
    }

    /// Places for the labels along strands, and the strands that have no room for one.
    fn along(&self, frame: &Frame, labels: &[Placed], beside: &[usize]) -> (Vec<(usize, Area)>, Vec<usize>) {
        let lines = self.lines(frame, labels);
        let ghosts = self.ghosts().iter().map(|ghost| ghost.1);
        let signs = self.scene.at.iter().copied().chain(ghosts).map(|at| frame.px(at));
        let mut taken: Vec<Area> = signs.map(|at| Area::around([at[0], at[1] - 4.0], 26.0, 34.0)).collect();
        let (mut along, mut crowded) = (Vec::new(), Vec::new());
        for strand in self.shown().filter(|strand| self.labels_strand(*strand) && !beside.contains(strand)) {
            let free = |place: &Area| {
                place.within(&frame.area)
                    && !taken.iter().any(|other| other.overlaps(place))
                    && !lines.iter().any(|[from, to]| place.grown(2.0).clip(*from, *to).is_some())
            };
            match self.tries(frame, strand).into_iter().find(free) {
                Some(place) => {
                    taken.push(place);
                    along.push((strand, place));
                }
                None => crowded.push(strand),
            }
        }
        (along, crowded)
    }

    /// Where a label might lie along a strand, the best first.
    fn tries(&self, frame: &Frame, strand: usize) -> Vec<Area> {
        let [from, to] = self.ends(frame, strand);
        let length = distance(from, to).max(1e-9);
        let normal = [(from[1] - to[1]) / length, (to[0] - from[0]) / length];
        let words = self.scene.strands[strand].label.as_deref().unwrap_or_default();
        let (wide, high) = (width(words, STRAND_TEXT), STRAND_TEXT + 3.0);
        let off = (wide * normal[0].abs() + high * normal[1].abs()) / 2.0 + 5.0 + self.half_stroke(strand);
        let shares = [0.5, 0.38, 0.62, 0.26, 0.74];
        let places = shares.into_iter().flat_map(|share| [off, -off].map(|off| (on_way(from, to, share), off)));
        places.map(|(at, off)| Area::around([at[0] + normal[0] * off, at[1] + normal[1] * off], wide, high)).collect()
    }

    fn half_stroke(&self, strand: usize) -> f64 {
        self.scene.strands[strand].tension_kn.map_or(1.0, |kn| self.scene.stroke(kn)) / 2.0
    }

    fn draw_ground(&self, sheet: &mut Sheet, frame: &Frame) {
        let Area { left, right, top, bottom } = frame.area;
        if self.part.is_some() {
            let pen = Pen::new("faint", 1.0);
            return sheet.polygon(pen, &[[left, top], [right, top], [right, bottom], [left, bottom]]);
        }
        if let Some([from, to]) = self.floor(frame) {
            signs::floor(sheet, from[0], to[0], from[1]);
        }
    }

    /// The ends of the floor's line.
    fn floor(&self, frame: &Frame) -> Option<[Px; 2]> {
        let height = self.scene.drawing.floor_m.filter(|_| self.part.is_none())?;
        let y = frame.px([0.0, height])[1];
        Some([[frame.area.left + 20.0, y], [frame.area.right - 20.0, y]])
    }

    /// What is seen of a straight piece.
    fn seen(&self, frame: &Frame, from: Px, to: Px) -> Option<[Px; 2]> {
        let (begin, end) = frame.area.clip(from, to)?;
        Some([begin, end].map(|share| on_way(from, to, share)))
    }

    fn draw_strands(&self, sheet: &mut Sheet, frame: &Frame) {
        for index in self.shown() {
            let strand = self.scene.strands[index];
            let [from, to] = self.ends(frame, index);
            let curve: &[Flat] = if self.part.is_none() { &self.scene.via[index] } else { &[] };
            let via = curve.iter().map(|at| frame.px(*at));
            let places: Vec<Px> = std::iter::once(from).chain(via).chain([to]).collect();
            // A curve lies wholly in sight or hangs in a part that is not drawn; a straight strand is cut at the edge.
            let places =
                if places.len() > 2 { Some(places) } else { self.seen(frame, from, to).map(|ends| ends.to_vec()) };
            let Some(places) = places else { continue };
            let names = [strand.from, strand.to].map(|point| self.scene.drawing.points[point].name.as_str());
            sheet.group("strand", &format!("{} – {}", names[0], names[1]), |sheet| {
                signs::strand(sheet, self.scene, strand.material, Carries::of(strand), &places);
            });
        }
    }

    fn draw_points(&self, sheet: &mut Sheet, frame: &Frame) {
        let points = &self.scene.drawing.points;
        let size = self.size();
        for (point, at, name) in self.ghosts() {
            let from = frame.px(self.scene.at[*point]);
            sheet.group("also", name, |sheet| signs::ghost(sheet, points[*point].kind, from, frame.px(*at)));
        }
        for cluster in &self.clusters {
            let (centre, radius) = self.circle(frame, cluster);
            sheet.circle(Pen::new("soft", 1.0), centre, radius);
        }
        let clustered = self.clusters.iter().flat_map(|cluster| &cluster.members);
        for (index, named) in self.members.iter().map(|m| (*m, true)).chain(clustered.map(|m| (*m, false))) {
            let at = frame.px(self.scene.at[index]);
            sheet.group("point", &points[index].name, |sheet| {
                signs::point(sheet, points[index].kind, at, size);
                if named {
                    signs::ring(sheet, self.scene.rank(index), at, signs::REACH * size);
                }
            });
        }
    }
}

/// Groups of those that are near each other, directly or through others, each in ascending order.
fn groups(members: &[usize], near: impl Fn(usize, usize) -> bool) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for member in members {
        let touches = |group: &Vec<usize>| group.iter().any(|other| near(*member, *other));
        let (joined, mut apart): (Vec<_>, Vec<_>) = groups.into_iter().partition(touches);
        let mut merged: Vec<usize> = joined.into_iter().flatten().chain([*member]).collect();
        merged.sort_unstable();
        apart.push(merged);
        groups = apart;
    }
    groups.sort_unstable();
    groups
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    ((a[0] - b[0]) * (a[0] - b[0]) + (a[1] - b[1]) * (a[1] - b[1])).sqrt()
}

fn on_way(from: Px, to: Px, share: f64) -> Px {
    [from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share]
}

#[cfg(test)]
mod tests {
    use super::groups;

    #[test]
    fn groups_join_through_others() {
        let near = |a: usize, b: usize| a.abs_diff(b) < 3;
        assert_eq!(groups(&[1, 9, 5, 3, 20], near), [vec![1, 3, 5], vec![9], vec![20]]);
    }
}
