//! The report for people: read in half a minute, worst first.

use crate::checking::Checked;
use crate::figures::{band, force, height, percent, strength, two_figures};
use crate::texts;
use rig::band::Corner;
use rig::check::{Clearance, Link, LinkKind};
use rig::model::Case;
use rig::solve::Taken;
use std::collections::BTreeMap;
use std::fmt::Write;
use terms::{Finding, Force, How, Reason};
use trade::position::Position;

/// Rows of the table that are shown before the rest is only counted.
const ROWS: usize = 14;
/// Changes that are shown.
const OFFERS: usize = 6;
/// A load that moves by more than this share when the step is halved is named.
const WHIP: f64 = 0.02;

/// How far the numbers move when the step is halved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NumericalError {
    /// Of rope tensions: the largest change as a share of the largest tension.
    pub ropes: f64,
    /// Of the weakest link: the change of its load as a share of that load.
    pub weakest_link: f64,
}

/// The numerical error of a check.
#[must_use]
pub fn numerical_error(checked: &Checked) -> NumericalError {
    let tensions = |loads: &rig::solve::Loads| -> Vec<f64> { loads.lines.iter().flatten().copied().collect() };
    let typed = tensions(checked.bands.typed());
    let refined = checked.bands.refined.as_ref().map_or_else(|| typed.clone(), tensions);
    let largest = typed.iter().copied().fold(0.0, f64::max);
    let moved = typed.iter().zip(&refined).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    let weakest = checked.check.weakest().map_or(0.0, |link| share(link.error, link.as_typed));
    NumericalError { ropes: if largest > 0.0 { moved / largest } else { 0.0 }, weakest_link: weakest }
}

fn share(part: Force, whole: Force) -> f64 {
    if whole.kn() > 0.0 { part.kn() / whole.kn() } else { 0.0 }
}

/// The report as text.
#[must_use]
pub fn text(checked: &Checked) -> String {
    let sections = [
        headline(checked),
        table(checked),
        unrated(checked),
        clearances(checked),
        helps(checked),
        errors_to_look_for(checked),
        unknown_keys(checked),
        basis(checked),
        cautions(),
    ];
    let sections: Vec<_> = sections.into_iter().filter(|section| !section.is_empty()).collect();
    sections.join("\n")
}

fn headline(checked: &Checked) -> String {
    let rig = &checked.rig;
    let asked = match rig.case {
        Case::Rest => "at rest under steady loads".to_owned(),
        Case::Fall => format!("a fall, followed for {:.1} s", rig.until_s),
    };
    let mut text = format!("{}\n{asked}\n\n{}", rig.title, ground(checked));
    match checked.check.weakest() {
        Some(link) => {
            let _ = writeln!(
                text,
                "Weakest: {}, {}: sees {}, bears {}. Margin {}, {} asked for: {}.",
                link.name,
                position_name(link),
                seen(link),
                link.bears.map_or_else(String::new, strength),
                link.margin.map_or_else(String::new, two_figures),
                two_figures(checked.policy.margin(link.how)),
                texts::finding(link.finding).name,
            );
        }
        None => text.push_str("No link has a strength to compare with.\n"),
    }
    text
}

fn seen(link: &Link) -> String {
    band(link.sees_least, link.sees)
}

/// The position in words; one that merely cannot be excluded says so.
fn position_name(link: &Link) -> String {
    let name = match link.kind {
        LinkKind::Connector(position) => &texts::position(position).name,
        LinkKind::Sling | LinkKind::Rope => "stretched",
        LinkKind::Anchor => "pulled",
    };
    if link.is_known { name.to_owned() } else { format!("{name} (not excluded)") }
}

/// The links that have a strength, worst first.
fn table(checked: &Checked) -> String {
    let links = &checked.check.links;
    let rated: Vec<&Link> = checked
        .check
        .worst_first()
        .into_iter()
        .map(|place| &links[place])
        .filter(|link| link.bears.is_some() && link.finding != Finding::NoRating)
        .collect();
    if rated.is_empty() {
        return String::new();
    }
    let row = |link: &Link| {
        let margin = link.margin.map_or_else(|| "-".to_owned(), two_figures);
        let finding = texts::finding(link.finding).name.clone();
        let bears = link.bears.map_or_else(String::new, strength);
        [link.name.clone(), position_name(link), seen(link), bears, margin, finding]
    };
    let mut rows = vec![["link", "position", "sees", "bears", "margin", ""].map(str::to_owned)];
    rows.extend(rated.iter().take(ROWS).map(|link| row(link)));
    let mut text = columns(&rows);
    if rated.len() > ROWS {
        let _ = writeln!(text, "and {} more, each with more margin (see --json)", rated.len() - ROWS);
    }
    text
}

/// Lays cells out in columns, two spaces apart.
fn columns<const N: usize>(rows: &[[String; N]]) -> String {
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
    let widths: [usize; N] = std::array::from_fn(width);
    let mut text = String::new();
    for row in rows {
        let cells: Vec<_> = row.iter().zip(widths).map(|(cell, width)| format!("{cell:<width$}")).collect();
        text.push_str(cells.join("  ").trim_end());
        text.push('\n');
    }
    text
}

/// What is known to slip where nothing is rated, and links whose strength nobody knows; ropes are not among them.
fn unrated(checked: &Checked) -> String {
    let mut text = String::new();
    let is_listed = |link: &&Link| {
        link.finding == Finding::NoRating
            && link.how != How::RiggingError
            && link.is_known
            && link.kind != LinkKind::Rope
    };
    for link in checked.check.links.iter().filter(is_listed) {
        let why = link.because.iter().map(texts::reason).collect::<Vec<_>>().join(" ");
        let _ = writeln!(text, "  {}, {}: sees {}. {why}", link.name, position_name(link), seen(link));
    }
    titled("No rating: remove the position, or find out the strength", text)
}

/// Who falls to the floor, or may: nothing matters more, so it stands before every margin.
fn ground(checked: &Checked) -> String {
    let reaching = checked.check.clearances.iter().filter(|clearance| clearance.reaches_floor());
    reaching.map(|clearance| told(checked, clearance) + "\n\n").collect()
}

fn told(checked: &Checked, clearance: &Clearance) -> String {
    let mut values = vec![
        ("person", checked.rig.points[clearance.person.0].name.clone()),
        ("lowest", height(clearance.worst_m)),
        ("typed", height(clearance.as_typed_m)),
        ("corner", texts::corner(clearance.worst_in)),
    ];
    values.extend(clearance.floor_m.map(|floor| ("floor", height(floor))));
    let code = match clearance.floor_m {
        Some(floor) if clearance.as_typed_m <= floor => "on-the-floor",
        Some(_) if clearance.reaches_floor() => "floor-in-reach",
        _ => "clearance",
    };
    texts::line(code, &values)
}

fn clearances(checked: &Checked) -> String {
    let mut text = String::new();
    for clearance in checked.check.clearances.iter().filter(|clearance| !clearance.reaches_floor()) {
        let _ = writeln!(text, "  {}", told(checked, clearance));
    }
    for &person in &checked.check.stopped {
        let name = checked.rig.points[person.0].name.clone();
        let _ = writeln!(text, "  {}", texts::line("stopped", &[("person", name)]));
    }
    titled("How low", text)
}

fn helps(checked: &Checked) -> String {
    let mut text = String::new();
    for offer in checked.offers.iter().take(OFFERS) {
        let (link, kind) = &offer.helps;
        let position = match kind {
            LinkKind::Connector(position) => texts::position(*position).name.as_str(),
            _ => "load",
        };
        let gain = match (offer.margin_before, offer.margin_after) {
            (Some(before), Some(after)) => {
                format!("{link}, {position}: margin {} becomes {}", two_figures(before), two_figures(after))
            }
            _ => format!("{link} no longer comes to {position}"),
        };
        let raised =
            if offer.raises_m < 0.1 { String::new() } else { format!("; ends {} higher", height(offer.raises_m)) };
        let _ = writeln!(text, "  {} ({}; {gain}{raised})", texts::change(&offer.change), texts::cost(offer.cost));
    }
    titled("What would help (each tried; no other link and no height gets worse)", text)
}

/// Rigging errors, by position: which links, and what to look for.
fn errors_to_look_for(checked: &Checked) -> String {
    let mut by_position: BTreeMap<Position, Vec<&str>> = BTreeMap::new();
    for link in checked.check.links.iter().filter(|link| link.how == How::RiggingError) {
        if let LinkKind::Connector(position) = link.kind {
            by_position.entry(position).or_default().push(&link.name);
        }
    }
    let mut text = String::new();
    for (position, names) in by_position {
        let entry = texts::position(position);
        let _ = writeln!(text, "  {}: {} ({})", entry.name, entry.look_for, some_of(&names));
    }
    titled("Look for, before anyone hangs on it", text)
}

fn some_of(names: &[&str]) -> String {
    match names {
        [one, two, three, _, ..] => format!("{one}, {two}, {three} and {} more", names.len() - 3),
        _ => names.join(", "),
    }
}

/// The keys that would decide a position if they were given, and the connectors that lack them.
fn unknown_keys(checked: &Checked) -> String {
    let mut by_key: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for link in &checked.check.links {
        for reason in &link.because {
            if let Reason::KeyUnknown { key } = reason {
                let names = by_key.entry(key).or_default();
                if !names.contains(&link.name.as_str()) {
                    names.push(&link.name);
                }
            }
        }
    }
    let mut text = String::new();
    for (key, names) in by_key {
        let _ = writeln!(text, "  {key}: {}", some_of(&names));
    }
    titled("Not said, so it counts as possible (fill in to decide)", text)
}

/// What the bands span, and how exact the arithmetic is.
fn basis(checked: &Checked) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "  Bands span the numbers as typed{}.", spanned(checked));
    if varies(checked, |corner| corner.friction) {
        let span = rig::band::friction_span(&checked.rig);
        let code = if checked.rig.friction_band.is_some() { "friction-typed" } else { "friction-span" };
        let values = [("low", two_figures(span.low)), ("high", two_figures(span.high))];
        let _ = writeln!(text, "  {}", texts::line(code, &values));
    }
    if varies(checked, |corner| corner.brake) && checked.rig.lines.iter().any(|line| line.brake_slips_at.is_none()) {
        let slip = rig::band::least_slip();
        let values = [("slips_at", force(slip.low)), ("source", texts::source(&slip.source))];
        let _ = writeln!(text, "  {}", texts::line("brake-slip", &values));
    }
    for knot in knots(checked) {
        let _ = writeln!(text, "  {knot}");
    }
    if checked.rig.case == Case::Fall {
        let error = numerical_error(checked);
        let values = [("ropes", percent(error.ropes)), ("weakest", percent(error.weakest_link))];
        let _ = writeln!(text, "  {}", texts::line("numerical-error", &values));
        let whips: Vec<_> = checked.check.links.iter().filter(|link| is_whip(link)).map(whip).collect();
        if !whips.is_empty() {
            let _ = writeln!(text, "  {}", texts::line("whip", &[("links", whips.join(", "))]));
        }
    }
    titled("How it was computed", text)
}

/// What knots take from the strengths that were typed, each told once.
fn knots(checked: &Checked) -> Vec<String> {
    let reasons = checked.check.links.iter().flat_map(|link| &link.because);
    let mut told: Vec<String> = Vec::new();
    for reason in reasons.filter(|reason| matches!(reason, Reason::KnotWeakens { .. } | Reason::KnotNotListed { .. })) {
        let words = texts::reason(reason);
        if !told.contains(&words) {
            told.push(words);
        }
    }
    told
}

fn varies(checked: &Checked, part: impl Fn(&Corner) -> Taken) -> bool {
    checked.bands.cases.iter().any(|(corner, _)| part(corner) != Taken::AsTyped)
}

/// The ends of everything that was varied, in words.
fn spanned(checked: &Checked) -> String {
    let corners: Vec<Corner> = checked.bands.cases.iter().map(|(corner, _)| *corner).collect();
    let mut parts: Vec<String> = Vec::new();
    for corner in corners.into_iter().filter(|corner| *corner != Corner::TYPED) {
        for part in texts::corner(corner).split(", ") {
            if !parts.iter().any(|known| known == part) {
                parts.push(part.to_owned());
            }
        }
    }
    parts.sort();
    if parts.is_empty() { String::new() } else { format!(" and every combination of: {}", parts.join(", ")) }
}

/// A sling with a light end whose load moves when the step is halved.
fn is_whip(link: &Link) -> bool {
    link.kind == LinkKind::Sling && share(link.error, link.as_typed) > WHIP
}

fn whip(link: &Link) -> String {
    format!("{} ({})", link.name, percent(share(link.error, link.as_typed)))
}

fn cautions() -> String {
    let lines: Vec<_> = texts::cautions().iter().map(|caution| format!("  {caution}\n")).collect();
    titled("Cautions", lines.concat())
}

fn titled(title: &str, lines: String) -> String {
    if lines.is_empty() { lines } else { format!("{title}\n{lines}") }
}
