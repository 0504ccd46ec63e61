//! What came of an outing, as tables: from the same JSON that programs get, with the command line's own words below.

use crate::layout::{drawing, part};
use crate::units::{Unit, Units};
use crate::{line, word};
use desk::rack::Answer;
use maud::{Markup, html};
use serde::Deserialize;
use serde::de::DeserializeOwned;

#[derive(Deserialize)]
struct Plan {
    title: String,
    needs: Vec<Need>,
    beside: Vec<Taken>,
    fix: Option<Fix>,
    #[serde(default)]
    changes: Vec<Change>,
}

#[derive(Deserialize)]
struct Need {
    name: String,
    duty: String,
    times: u32,
    short: u32,
    why: String,
    source: String,
    units: Vec<Vec<Taken>>,
}

#[derive(PartialEq, Deserialize)]
struct Taken {
    label: String,
    count: u32,
}

#[derive(Deserialize)]
struct Fix {
    buy: Vec<Buy>,
    borrow: Vec<Taken>,
    inspect: Vec<Taken>,
}

#[derive(Deserialize)]
struct Buy {
    need: String,
    count: u32,
    asked: String,
}

#[derive(Deserialize)]
struct Change {
    need: String,
    out: Vec<Taken>,
    #[serde(rename = "in")]
    into: Vec<Taken>,
}

#[derive(Deserialize)]
struct Curve {
    points: Vec<Point>,
}

#[derive(Deserialize)]
struct Point {
    margin: f64,
    mass_g: i64,
}

/// A season ahead stands before the offers.
#[derive(Deserialize)]
struct Joined {
    answers: (Season, serde::de::IgnoredAny),
}

#[derive(Deserialize)]
struct Season {
    until: String,
    withdrawn: Vec<Leaves>,
    not_forecast: Vec<Untold>,
    spares: Vec<Spare>,
}

#[derive(Deserialize)]
struct Leaves {
    label: String,
    on: String,
    why: String,
    is_sure: bool,
}

#[derive(Deserialize)]
struct Untold {
    label: String,
    why: String,
}

#[derive(Deserialize)]
struct Spare {
    need: String,
    count: u32,
    offer: Option<String>,
}

/// What came of it; `linked` where its pieces stand on the rack.
pub fn told(answer: &Answer, linked: bool, units: Units) -> Markup {
    let drawn = read(answer)
        .map(|plan| draw_plan(&plan, linked))
        .or_else(|| read(answer).map(|curve: Curve| draw_curve(&curve, units)))
        .or_else(|| read(answer).map(|joined: Joined| draw_season(&joined.answers.0)))
        .unwrap_or_default();
    let is_drawn = !drawn.0.is_empty();
    html! {
        section aria-live="polite" {
            h2 { (word("outings-answer")) }
            (drawn)
            details open[!is_drawn] { summary { (word("outings-words")) } pre.told tabindex="0" { (answer.text) } }
        }
    }
}

fn read<T: DeserializeOwned>(answer: &Answer) -> Option<T> {
    serde_json::from_value(answer.json.clone()).ok()
}

fn table(name: &str, heads: &[&str], rows: &Markup) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label=(name) {
            table {
                thead { tr { @for head in heads { th scope="col" { (word(&format!("outings-{head}"))) } } } }
                tbody { (rows) }
            }
        }
    }
}

fn pieces(taken: &[Taken], linked: bool) -> Markup {
    html! {
        @for (place, taken) in taken.iter().enumerate() {
            @if place > 0 { " + " }
            @if taken.count > 1 { (taken.count) " × " }
            @if linked { a href={ "/piece/" (part(&taken.label)) } { (taken.label) } } @else { (taken.label) }
        }
    }
}

/// Times that take the same pieces, counted.
fn alike(units: &[Vec<Taken>]) -> Vec<(usize, &[Taken])> {
    let mut counted: Vec<(usize, &[Taken])> = Vec::new();
    for unit in units {
        match counted.last_mut() {
            Some((times, last)) if *last == unit.as_slice() => *times += 1,
            _ => counted.push((1, unit)),
        }
    }
    counted
}

fn draw_plan(plan: &Plan, linked: bool) -> Markup {
    let needs = html! {
        @for need in &plan.needs {
            tr {
                th scope="row" { (need.name) }
                td { (need.times) }
                td {
                    @for (place, (times, unit)) in alike(&need.units).into_iter().enumerate() {
                        @if place > 0 { br; } @if times > 1 { (times) " × " } (pieces(unit, linked))
                    }
                    @if need.short > 0 { p.late { (line("outings-short", need.short)) } }
                }
                td.long { a href={ "/handbook#duty-" (need.duty) } { (need.why) } " " span.source { (need.source) } }
            }
        }
    };
    html! {
        p.caption { (plan.title) }
        (table(&word("outings-answer"), &["need", "times", "pieces", "why"], &needs))
        @if !plan.beside.is_empty() { p { (word("outings-beside")) " " (pieces(&plan.beside, linked)) } }
        @if let Some(fix) = &plan.fix { (draw_fix(fix, linked)) }
        @if !plan.changes.is_empty() { (draw_changes(&plan.changes, linked)) }
    }
}

fn draw_fix(fix: &Fix, linked: bool) -> Markup {
    html! {
        h3 { (word("outings-fix")) }
        ul {
            @for buy in &fix.buy { li { (word("outings-to-buy")) " " (buy.count) " × " (buy.need) ": " (buy.asked) } }
            @if !fix.borrow.is_empty() { li { (word("outings-borrow")) " " (pieces(&fix.borrow, linked)) } }
            @if !fix.inspect.is_empty() { li { (word("outings-inspect")) " " (pieces(&fix.inspect, linked)) } }
        }
    }
}

fn draw_changes(changes: &[Change], linked: bool) -> Markup {
    let rows = html! {
        @for change in changes {
            tr { th scope="row" { (change.need) } td { (pieces(&change.out, linked)) } td { (pieces(&change.into, linked)) } }
        }
    };
    table(&word("outings-swap"), &["need", "out", "in"], &rows)
}

/// What is withdrawn until then, and what to buy for it.
fn draw_season(season: &Season) -> Markup {
    let piece = |label: &str| html! { a href={ "/piece/" (part(label)) } { (label) } };
    let rows = html! {
        @for leaves in &season.withdrawn {
            tr {
                th scope="row" { (piece(&leaves.label)) }
                td { (leaves.on) }
                td { (word(if leaves.is_sure { "outings-sure" } else { "outings-maybe" })) }
                td { (leaves.why) }
            }
        }
    };
    html! {
        p.caption { (line("outings-season", &season.until)) }
        @if season.withdrawn.is_empty() { p { (word("outings-none-leaves")) } } @else {
            (table(&word("outings-leaves"), &["piece", "from", "how-sure", "why"], &rows))
        }
        @if season.spares.is_empty() { p { (word("outings-season-met")) } } @else {
            ul {
                @for spare in &season.spares {
                    li {
                        (word("outings-to-buy")) " " (spare.count) " × " (spare.need)
                        @if let Some(offer) = &spare.offer { ": " (offer) }
                    }
                }
            }
        }
        @for untold in &season.not_forecast { p.hint { (piece(&untold.label)) ": " (untold.why) } }
    }
}

/// How much more margin weighs, as a table and as a line.
fn draw_curve(curve: &Curve, units: Units) -> Markup {
    let rows = html! {
        @for point in &curve.points { tr { td { (format!("{:.2}", point.margin)) } td { (point.mass_g) " g" } } }
    };
    // A mass of a rack is far below what an f64 holds exactly.
    #[allow(clippy::cast_precision_loss)]
    let points = curve.points.iter().map(|point| [point.margin, point.mass_g as f64]).collect();
    let plot = draw::plot::Plot {
        title: word("outings-curve"),
        x_label: word("outings-margin"),
        y_label: word("outings-mass"),
        series: vec![draw::plot::Series { points, ..draw::plot::Series::default() }],
        ..draw::plot::Plot::default()
    };
    html! {
        (table(&word("outings-curve"), &["margin", "mass"], &rows))
        @if curve.points.len() > 1 { (drawing(&units.drawing(draw::plot::plot(&units.plot(plot, [None, Some(Unit::G)]))))) }
    }
}
