//! A checked rig as a drawing.

use crate::checking::Checked;
use crate::figures::{band, force, height, strength};
use crate::texts;
use crate::units::{Unit, Units};
use draw::elevation::{
    Elevation, ElevationPoint, Emphasis, Ghost, LinkLabel, PointMark, Strand, StrandKind, elevation,
};
use draw::plot::{Plot, Series};
use rig::band::Bands;
use rig::check::{Link, LinkKind};
use rig::model::{Case, PointId, PointKind, Rig};
use rig::solve::History;
use terms::{Finding, Force, How};

/// Links whose force against time is plotted.
const CURVES: usize = 4;

/// The drawing as an SVG document.
#[must_use]
pub fn svg(checked: &Checked, units: Units) -> String {
    units.drawing(elevation(&drawing(checked, units)))
}

/// The drawing as a figure of a sheet that tells the rest in its own words.
#[must_use]
pub fn figure(checked: &Checked, units: Units) -> String {
    units.drawing(draw::elevation::figure(&drawing(checked, units)))
}

fn drawing(checked: &Checked, units: Units) -> Elevation {
    let rig = &checked.rig;
    Elevation {
        title: rig.title.clone(),
        subtitle: subtitle(checked),
        points: points(rig, &checked.bands),
        strands: strands(rig, &checked.bands),
        links: labels(checked),
        also: lowest(checked),
        floor_m: rig.ground_m(),
        plots: plots(checked, units),
        cautions: texts::cautions(),
    }
}

fn subtitle(checked: &Checked) -> String {
    match checked.rig.case {
        Case::Rest => "At rest under steady loads. Strands carry what is drawn; bands beside the links.".to_owned(),
        Case::Running => "Ropes steadily on the move. Strands carry what is drawn; bands beside the links.".to_owned(),
        Case::Fall => format!(
            "As drawn at the start of a fall; strands carry their largest load, followed for {:.1} s.",
            checked.rig.until_s
        ),
    }
}

/// A fall is drawn as it starts, rest where it was found.
fn place_of(rig: &Rig, bands: &Bands, point: usize) -> [f64; 3] {
    match rig.case {
        Case::Rest | Case::Running => bands.history.at(0, PointId(point)),
        Case::Fall => rig.points[point].at,
    }
}

/// The points of a rig, where they are drawn.
pub(crate) fn points(rig: &Rig, bands: &Bands) -> Vec<ElevationPoint> {
    let drawn = |(place, point): (usize, &rig::model::Point)| {
        let (kind, note) = match point.kind {
            PointKind::Anchor { .. } => (PointMark::Anchor, None),
            PointKind::Joint { .. } => (PointMark::Joint, None),
            PointKind::Person { mass, .. } => (PointMark::Person, Some(format!("{:.0} kg", mass.kg()))),
        };
        ElevationPoint { name: point.name.clone(), at: place_of(rig, bands, place), kind, note }
    };
    rig.points.iter().enumerate().map(drawn).collect()
}

/// What runs between the points of a rig, and what it carries.
pub(crate) fn strands(rig: &Rig, bands: &Bands) -> Vec<Strand> {
    let typed = bands.typed();
    let strand = |from: PointId, to: PointId, material, load_kn: f64, label| Strand {
        from: from.0,
        to: to.0,
        via: Vec::new(),
        material,
        tension_kn: Some(load_kn),
        label,
    };
    let mut strands = Vec::new();
    for (place, leg) in rig.legs.iter().enumerate() {
        let is_draw = rig.draws.iter().any(|draw| draw.leg.0 == place);
        let label = (!is_draw).then(|| worst(bands, |loads| loads.legs[place]));
        strands.push(strand(leg.from, leg.to, StrandKind::Sling, typed.legs[place], label));
    }
    for (place, line) in rig.lines.iter().enumerate() {
        for (segment, pair) in line.through.windows(2).enumerate() {
            let label = Some(worst(bands, |loads| loads.lines[place][segment]));
            let straight = strand(pair[0], pair[1], StrandKind::Rope, typed.lines[place][segment], label);
            strands.push(Strand { via: between(bands, place, segment), ..straight });
        }
    }
    strands
}

/// The places along a segment that hangs by its own weight, its ends left out.
fn between(bands: &Bands, line: usize, segment: usize) -> Vec<[f64; 3]> {
    match bands.history.hanging.get(line).map(|segments| segments[segment].shape.as_slice()) {
        Some([_, between @ .., _]) => between.to_vec(),
        _ => Vec::new(),
    }
}

fn worst(bands: &Bands, load_kn: impl Fn(&rig::solve::Loads) -> f64) -> String {
    let (_, most) = bands.worst(&load_kn);
    band(Force::from_kn(bands.least(&load_kn)), Force::from_kn(most))
}

/// One label for each link: its name and its worst position, with a strength if any has one. Rigging errors are not
/// drawn.
fn labels(checked: &Checked) -> Vec<LinkLabel> {
    let links = &checked.check.links;
    let mut labelled: Vec<&str> = Vec::new();
    let mut labels = Vec::new();
    for place in checked.check.worst_first() {
        let link = &links[place];
        let is_drawn = link.how != How::RiggingError && link.is_known && link.kind != LinkKind::Rope;
        if is_drawn && !labelled.contains(&link.name.as_str()) {
            labelled.push(&link.name);
            labels.push(label(link));
        }
    }
    labels
}

fn label(link: &Link) -> LinkLabel {
    let position = match link.kind {
        LinkKind::Connector(position) => texts::position(position).name.as_str(),
        _ => link.kind.code(),
    };
    let sees = band(link.sees_least, link.sees);
    let compared = match (link.bears, link.margin) {
        (Some(bears), Some(margin)) => {
            format!("{sees} of {} · margin {}", strength(bears), crate::figures::margin(margin))
        }
        _ => format!("{sees} · no strength known"),
    };
    let rank = match link.finding {
        Finding::OverRating => Emphasis::Over,
        Finding::LowMargin => Emphasis::Low,
        Finding::NoRating => Emphasis::Unrated,
        Finding::WithinMargin => Emphasis::Within,
    };
    LinkLabel { point: link.at.0, lines: vec![format!("{}: {position}", link.name), compared], rank }
}

fn lowest(checked: &Checked) -> Vec<Ghost> {
    let ghost = |clearance: &rig::check::Clearance| {
        let mut at = checked.rig.points[clearance.person.0].at;
        at[2] = clearance.worst_m;
        Ghost { point: clearance.person.0, at, name: format!("lowest {}", height(clearance.worst_m)) }
    };
    checked.check.clearances.iter().map(ghost).collect()
}

/// Force against time for the links with the least margin, one curve a place.
fn plots(checked: &Checked, units: Units) -> Vec<Plot> {
    if checked.rig.case != Case::Fall {
        return Vec::new();
    }
    let points = plotted(checked);
    let peak = |point: &PointId| {
        let load = checked.bands.typed().points[point.0];
        (load.time_s, load.peak_kn, force(Force::from_kn(load.peak_kn)))
    };
    let clips = clip_plot(checked).map(|plot| units.plot(plot, [Some(Unit::M); 2]));
    let loads = Plot {
        title: "Load against time, as typed".to_owned(),
        x_label: "time in s".to_owned(),
        y_label: "load in kN".to_owned(),
        series: curves(checked),
        marks: points.iter().take(1).map(peak).collect(),
        ..Plot::default()
    };
    clips.into_iter().chain([units.plot(loads, [None, Some(Unit::Kn)])]).collect()
}

/// Where the links with the least margin are, as few places as can be told apart in a plot.
fn plotted(checked: &Checked) -> Vec<PointId> {
    let mut points: Vec<PointId> = Vec::new();
    for place in checked.check.worst_first() {
        let link = &checked.check.links[place];
        if link.how != How::RiggingError && !points.contains(&link.at) && points.len() < CURVES {
            points.push(link.at);
        }
    }
    points
}

/// Load against time at those places, kN and s.
pub(crate) fn curves(checked: &Checked) -> Vec<Series> {
    plotted(checked).into_iter().map(|point| curve(&checked.rig, &checked.bands.history, point)).collect()
}

/// The lowest height against the slack, one curve a clip, with the ground as what is not to be passed.
fn clip_plot(checked: &Checked) -> Option<Plot> {
    let table = checked.rig.clip_table.as_ref().filter(|_| !checked.clip_falls.is_empty())?;
    let series = checked.clip_falls.chunks(table.slack_m.len()).map(|row| Series {
        name: format!("clip {}", row[0].clips),
        points: row.iter().map(|fall| [fall.slack_m, fall.lowest_m]).collect(),
        dashed: false,
    });
    Some(Plot {
        title: "Lowest at the worst, by the last clip made".to_owned(),
        x_label: "slack in m".to_owned(),
        y_label: "lowest height in m".to_owned(),
        series: series.collect(),
        limit: checked.rig.ground_m().map(|ground| (ground, "the ground".to_owned())),
        ..Plot::default()
    })
}

fn curve(rig: &Rig, history: &History, point: PointId) -> Series {
    let is_person = matches!(rig.points[point.0].kind, PointKind::Person { .. });
    let is_joint = matches!(rig.points[point.0].kind, PointKind::Joint { .. });
    let load = |moment: usize| {
        let pulls = history.pulls_on(rig, point, moment);
        if is_person {
            return pulls.iter().map(|pull| pull.force.kn()).fold(0.0, f64::max);
        }
        let counted = pulls.iter().filter(|pull| !is_joint || rig.ropes.iter().any(|rope| rope.name == pull.name));
        let sum = counted.fold([0.0; 3], |sum: [f64; 3], pull| {
            std::array::from_fn(|axis| sum[axis] + pull.direction[axis] * pull.force.kn())
        });
        sum.iter().map(|part| part * part).sum::<f64>().sqrt()
    };
    let points = history.times_s.iter().enumerate().map(|(moment, &time)| [time, load(moment)]).collect();
    Series { name: rig.points[point.0].name.clone(), points, dashed: false }
}
