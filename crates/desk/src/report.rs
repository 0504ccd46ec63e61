//! The report for people: read in half a minute, worst first.

mod aftermath;
mod first;
mod parts;

use crate::checking::Checked;
use crate::columns::columns;
use crate::figures::{band, force, height, margin, percent, strength, two_figures};
use crate::texts;
pub(crate) use aftermath::{clip_table, giving, hanging, losses, lost, stage};
pub(crate) use first::first;
pub use parts::{Part, parts};
use rig::band::Corner;
use rig::change::Helped;
use rig::check::{Clearance, Link, LinkKind};
use rig::model::{Case, Rig};
use rig::solve::Taken;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
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
    let parts = parts(checked).iter().map(Part::text).collect::<Vec<_>>();
    let sections = [headline(checked), table(checked)].into_iter().chain(parts).chain([cautions()]);
    let sections: Vec<_> = sections.filter(|section| !section.is_empty()).collect();
    sections.join("\n")
}

/// What a report begins with.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Headline {
    /// What the rig file asks.
    pub asked: String,
    /// What is said before all else, each line by itself: whom nothing holds, who is not stopped when the time ends, who comes to the
    /// floor, what cannot be done, what one loss brings. No margin makes up for any of it.
    pub first: Vec<String>,
    /// The weakest link, the worst loss where it is not grave, and how much has no rating.
    pub weakest: String,
}

/// The headline of a check.
#[must_use]
pub fn head(checked: &Checked) -> Headline {
    Headline { asked: asked(&checked.rig), first: first(checked), weakest: weakest(checked) }
}

fn headline(checked: &Checked) -> String {
    let Headline { asked, first, weakest } = head(checked);
    let first: String = first.iter().map(|line| format!("{line}\n\n")).collect();
    format!("{}\n{asked}\n\n{first}{weakest}\n", checked.rig.title)
}

/// What the rig file asks, in words.
pub(crate) fn asked(rig: &Rig) -> String {
    match rig.case {
        Case::Rest => "at rest under steady loads".to_owned(),
        Case::Running => "ropes steadily on the move".to_owned(),
        Case::Fall => format!("a fall, followed for {:.1} s", rig.until_s),
    }
}

/// The weakest link, the worst loss and how much has no rating, in a sentence each.
pub(crate) fn weakest(checked: &Checked) -> String {
    let of_loss = aftermath::worst_loss(checked).filter(|worst| !worst.is_grave).map(|worst| worst.line);
    let sentences = std::iter::once(weakest_link(checked)).chain(of_loss).chain(without_rating(checked));
    sentences.collect::<Vec<_>>().join(" ")
}

fn weakest_link(checked: &Checked) -> String {
    let Some(link) = checked.check.weakest() else {
        return "No link has a strength to compare with.".to_owned();
    };
    // Where somebody still falls, or nothing holds them, a margin that does is no answer.
    let is_open = !checked.check.falling_on.is_empty() || !checked.check.held_by_nothing.is_empty();
    if is_open && link.finding == Finding::WithinMargin {
        let values = [
            ("link", link.name.clone()),
            ("position", position_name(link)),
            ("sees", seen(link)),
            ("bears", link.bears.map_or_else(String::new, strength)),
        ];
        return texts::line("no-verdict", &values);
    }
    format!(
        "Weakest: {}, {}: sees {}, bears {}. Margin {}, {} asked for: {}.",
        link.name,
        position_name(link),
        seen(link),
        link.bears.map_or_else(String::new, strength),
        link.margin.map_or_else(String::new, margin),
        two_figures(checked.policy.margin(link.how)),
        texts::finding(link.finding).name,
    )
}

/// The band of what a link sees.
pub(crate) fn seen(link: &Link) -> String {
    band(link.sees_least, link.sees)
}

/// The position in words; one that merely cannot be excluded says so.
pub(crate) fn position_name(link: &Link) -> String {
    let name = match link.kind {
        LinkKind::Connector(position) => &texts::position(position).name,
        other => &texts::link(other.position()).name,
    };
    if link.is_known { name.to_owned() } else { format!("{name} (not excluded)") }
}

/// The links that have a strength, worst first.
pub(crate) fn rated(checked: &Checked) -> Vec<&Link> {
    let links = &checked.check.links;
    let worst_first = checked.check.worst_first().into_iter().map(|place| &links[place]);
    worst_first.filter(|link| link.bears.is_some() && link.finding != Finding::NoRating).collect()
}

fn row(link: &Link) -> Vec<String> {
    let margin = link.margin.map_or_else(|| "-".to_owned(), margin);
    let finding = texts::finding(link.finding).name.clone();
    let bears = link.bears.map_or_else(String::new, strength);
    vec![link.name.clone(), position_name(link), seen(link), bears, margin, finding]
}

/// The links that have a strength, worst first, under their heads; and how many are not told. Empty where there are none.
fn rows(checked: &Checked) -> (Vec<Vec<String>>, usize) {
    let rated = rated(checked);
    if rated.is_empty() {
        return (Vec::new(), 0);
    }
    let heads = ["link", "position", "sees", "bears", "margin", ""].map(str::to_owned).to_vec();
    let rows = std::iter::once(heads).chain(rated.iter().take(ROWS).map(|link| row(link))).collect();
    (rows, rated.len().saturating_sub(ROWS))
}

fn table(checked: &Checked) -> String {
    let (rows, more) = rows(checked);
    let mut text = columns(&rows);
    if more > 0 {
        let _ = writeln!(text, "and {more} more, each with more margin (see --json)");
    }
    text
}

/// The table of links as a part of the report, for where it is no text.
#[must_use]
pub fn links(checked: &Checked) -> Part {
    let (table, more) = rows(checked);
    let more = (more > 0).then(|| texts::fill(texts::on_sheet("more-links"), &[("count", more.to_string())]));
    Part { table, ..Part::lines("links", more.into_iter().collect()) }
}

/// What is known to slip where nothing is rated, and links whose strength nobody knows; ropes are not among them.
pub(crate) fn unrated(checked: &Checked) -> Vec<String> {
    let told = |link: &Link| {
        let why = link.because.iter().map(texts::reason).collect::<Vec<_>>().join(" ");
        format!("{}, {}: sees {}. {why}", link.name, position_name(link), seen(link))
    };
    unrated_links(checked).map(told).collect()
}

fn unrated_links(checked: &Checked) -> impl Iterator<Item = &Link> {
    checked.check.links.iter().filter(|link| {
        link.finding == Finding::NoRating
            && link.how != How::RiggingError
            && link.is_known
            && link.kind != LinkKind::Rope
    })
}

/// How many anchors and how many other links are not in the comparison, each counted once whatever its positions.
fn without_rating(checked: &Checked) -> Vec<String> {
    let named = |anchors: bool| {
        let of_kind = unrated_links(checked).filter(|link| (link.kind == LinkKind::Anchor) == anchors);
        of_kind.map(|link| link.name.as_str()).collect::<BTreeSet<_>>().len()
    };
    let told = |count: usize, one: &str, more: &str| match count {
        0 => None,
        1 => Some(texts::line(one, &[])),
        _ => Some(texts::line(more, &[("count", count.to_string())])),
    };
    let anchors = told(named(true), "unrated-anchor", "unrated-anchors");
    anchors.into_iter().chain(told(named(false), "unrated-link", "unrated-links")).collect()
}

/// How low everyone comes who stays clear of the floor, and who is stopped.
pub(crate) fn heights(checked: &Checked) -> Vec<String> {
    let clear = checked.check.clearances.iter().filter(|clearance| !clearance.reaches_floor());
    let stopped =
        |person: &rig::model::PointId| texts::line("stopped", &[("person", checked.rig.points[person.0].name.clone())]);
    let clear = clear.map(|clearance| first::lowest(&checked.rig, clearance));
    clear.chain(aftermath::meetings(checked)).chain(checked.check.stopped.iter().map(stopped)).collect()
}

/// What would help, each change with its cost and gain.
pub(crate) fn helps(checked: &Checked) -> Vec<String> {
    let mut lines = Vec::new();
    for offer in checked.offers.iter().take(OFFERS) {
        let gain = gain(offer);
        let raised =
            if offer.raises_m < 0.1 { String::new() } else { format!("; ends {} higher", height(offer.raises_m)) };
        lines.push(format!("{} ({}; {gain}{raised})", texts::change(&offer.change), texts::cost(offer.cost)));
    }
    lines
}

/// A rigging error to look for.
pub(crate) struct LookFor {
    /// Its name.
    pub name: &'static str,
    /// What to look for.
    pub look_for: &'static str,
    /// At which links.
    pub links: String,
}

impl LookFor {
    fn line(&self) -> String {
        format!("{}: {} ({})", self.name, self.look_for, self.links)
    }
}

fn gain(offer: &rig::change::Offer) -> String {
    let (link, kind) = match &offer.helps {
        Helped::Link(link, kind) => (link, kind),
        Helped::Clearance { person, lowest_m, reaches_ground } => {
            let code = if *reaches_ground { "help-ground-still" } else { "help-ground-clear" };
            return texts::line(code, &[("person", person.clone()), ("lowest", height(*lowest_m))]);
        }
        Helped::Pull { before_kn, after_kn } => {
            let values = [("before", crate::motion::pull(*before_kn)), ("after", crate::motion::pull(*after_kn))];
            return texts::line("help-pull", &values);
        }
    };
    let position = match kind {
        LinkKind::Connector(position) => texts::position(*position).name.as_str(),
        _ => "load",
    };
    match (offer.margin_before, offer.margin_after) {
        (Some(before), Some(after)) => {
            format!("{link}, {position}: margin {} becomes {}", margin(before), margin(after))
        }
        _ => format!("{link} no longer comes to {position}"),
    }
}

/// Rigging errors, by position: which links, and what to look for.
pub(crate) fn errors_to_look_for(checked: &Checked) -> Vec<LookFor> {
    let mut by_position: BTreeMap<Position, Vec<&str>> = BTreeMap::new();
    for link in checked.check.links.iter().filter(|link| link.how == How::RiggingError) {
        if let LinkKind::Connector(position) = link.kind {
            by_position.entry(position).or_default().push(&link.name);
        }
    }
    let found = |(position, names): (Position, Vec<&str>)| {
        let entry = texts::position(position);
        LookFor { name: &entry.name, look_for: &entry.look_for, links: some_of(&names) }
    };
    by_position.into_iter().map(found).collect()
}

fn some_of(names: &[&str]) -> String {
    match names {
        [one, two, three, _, ..] => format!("{one}, {two}, {three} and {} more", names.len() - 3),
        _ => names.join(", "),
    }
}

/// The keys that would decide a position if they were given, and the connectors that lack them.
fn unknown_keys(checked: &Checked) -> Vec<String> {
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
    by_key.into_iter().map(|(key, names)| format!("{key}: {}", some_of(&names))).collect()
}

/// What the bands span, and how exact the arithmetic is.
pub(crate) fn basis(checked: &Checked) -> Vec<String> {
    let mut lines = vec![format!("Bands span the numbers as typed{}.", spanned(checked))];
    if varies(checked, |corner| corner.friction) {
        let span = rig::band::friction_span(&checked.rig);
        let code = if checked.rig.friction_band.is_some() { "friction-typed" } else { "friction-span" };
        let values = [("low", two_figures(span.low)), ("high", two_figures(span.high))];
        lines.push(texts::line(code, &values));
    }
    if varies(checked, |corner| corner.brake) && checked.rig.lines.iter().any(|line| line.brake_slips_at.is_none()) {
        let slip = rig::band::least_slip();
        let values = [("slips_at", force(slip.low)), ("source", texts::source(&slip.source))];
        lines.push(texts::line("brake-slip", &values));
    }
    lines.extend(knots(checked));
    if checked.rig.case == Case::Fall {
        let error = numerical_error(checked);
        let values = [("ropes", percent(error.ropes)), ("weakest", percent(error.weakest_link))];
        lines.push(texts::line("numerical-error", &values));
        let whips: Vec<_> = checked.check.links.iter().filter(|link| is_whip(link)).map(whip).collect();
        if !whips.is_empty() {
            lines.push(texts::line("whip", &[("links", whips.join(", "))]));
        }
    }
    lines
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

/// The cautions, under their title.
pub(crate) fn cautions() -> String {
    Part::lines("cautions", texts::cautions()).text()
}

/// Lines that end in a line break, under a title; nothing where there are none.
pub(crate) fn section(title: &str, lines: String) -> String {
    if lines.is_empty() {
        lines
    } else {
        format!(
            "{title}
{lines}"
        )
    }
}
