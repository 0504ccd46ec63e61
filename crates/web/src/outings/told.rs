//! What came of an outing, as tables: from the same JSON that programs get, with the command line's own words below.

use super::form::of_both;
use super::{Read, as_planned, short};
use crate::layout::{address, drawing, part};
use crate::problem::Wrong;
use crate::units::{Unit, Units};
use crate::{line, word};
use desk::outing::Kept;
use desk::outing::by_hand::{ByHand, Other, figures, others};
use desk::rack::Answer;
use desk::rack::labels::compact;
use maud::{Markup, html};
use plan::choice::{Choice, Taken as Took};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;

/// What there is to say on the page of an outing.
#[derive(Default)]
pub struct Said {
    /// The choice as it stands.
    pub kept: Option<Kept>,
    /// The same, told.
    pub plan: Option<Answer>,
    /// What swaps by hand change.
    pub hand: Option<Answer>,
    /// The swaps that are selected.
    pub swaps: Vec<ByHand>,
    /// Something else that was asked.
    pub beside: Option<(Answer, Units)>,
    /// What closing the day would write.
    pub booked: Option<Answer>,
    /// What cannot be done as asked.
    pub wrong: Vec<Wrong>,
    /// Whether its pieces stand on the rack.
    pub is_of_rack: bool,
    /// By need and label: what could take its place.
    pub others: BTreeMap<(usize, String), Vec<Other>>,
    /// By need and label: mass and margin.
    pub figures: BTreeMap<(usize, String), String>,
}

impl Said {
    /// A choice, told.
    pub fn of(read: &Read, choice: &Choice, plan: Answer) -> Self {
        let outing = &read.outing;
        let places =
            (0..outing.needs.len()).flat_map(|need| choice.taken(need).into_iter().map(move |one| (need, one)));
        let (mut offered, mut figured) = (BTreeMap::new(), BTreeMap::new());
        for (need, taken) in places {
            let one = Took { count: 1, ..taken.clone() };
            figured.insert((need, taken.label.clone()), figures(outing, need, &[one]));
            if !read.is_after {
                offered.insert((need, taken.label.clone()), others(outing, choice, need, &taken.label));
            }
        }
        Self {
            kept: Some(Kept::of(outing, choice)),
            plan: Some(plan),
            is_of_rack: read.is_of_rack(),
            others: offered,
            figures: figured,
            ..Self::default()
        }
    }

    /// A choice that stood before.
    pub fn again(read: &Read, choice: &Choice) -> Self {
        Self::of(read, choice, read.day.told(&read.outing, &as_planned(choice)))
    }

    /// An answer, beside the choice where there is one.
    pub fn beside(read: &Read, choice: Option<&Choice>, answer: Answer, units: Units) -> Self {
        let said = choice.map(|choice| Self::again(read, choice)).unwrap_or_default();
        Self { beside: Some((answer, units)), is_of_rack: read.is_of_rack(), ..said }
    }

    /// Whether a swap is selected, and how often.
    fn selected(&self, need: usize, out: &str, into: &str) -> Option<u32> {
        let of = |swap: &&ByHand| swap.need == need && swap.out == out && swap.into == into;
        self.swaps.iter().find(of).map(|swap| swap.times)
    }
}

#[derive(Deserialize)]
struct Plan {
    when: String,
    weighs: Vec<String>,
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
    #[serde(default)]
    without: Vec<Without>,
    refused: Option<String>,
}

/// What would be taken instead of a piece, and what that costs.
#[derive(Deserialize)]
struct Without {
    label: String,
    words: String,
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

/// All of it.
pub fn told(said: &Said) -> Markup {
    html! {
        section aria-live="polite" {
            @if let Some(plan) = &said.plan {
                h2 { (word("outings-answer")) }
                (read(plan).map(|plan| draw_plan(&plan, said)).unwrap_or_default())
                div #hand data-hand { @if let Some(hand) = &said.hand { (lines(hand)) } }
                @if said.others.values().any(|others| !others.is_empty()) {
                    p.doing {
                        button form="outing" name="what" value="look" data-look { (word("outings-look")) }
                        button form="outing" name="what" value="take" { (word("outings-take")) }
                        a href="#day" { (word("outings-to-day")) }
                    }
                }
                (in_words(plan, false))
            }
            @if let Some((answer, units)) = &said.beside { (draw_beside(answer, *units)) }
        }
    }
}

/// What swaps by hand change, line by line.
fn lines(answer: &Answer) -> Markup {
    let told: Vec<String> = serde_json::from_value(answer.json["told"].clone()).unwrap_or_default();
    html! { ul.hand { @for line in &told { li { (line) } } } }
}

fn in_words(answer: &Answer, is_open: bool) -> Markup {
    html! { details open[is_open] { summary { (word("outings-words")) } pre.told tabindex="0" { (answer.text) } } }
}

/// An answer to something else that was asked.
fn draw_beside(answer: &Answer, units: Units) -> Markup {
    let drawn = read(answer)
        .map(|curve: Curve| draw_curve(&curve, units))
        .or_else(|| read(answer).map(|joined: Joined| draw_season(&joined.answers.0)))
        .unwrap_or_default();
    html! {
        h2 { (word("outings-beside-answer")) }
        (drawn)
        (in_words(answer, drawn.0.is_empty()))
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

fn draw_plan(plan: &Plan, said: &Said) -> Markup {
    let linked = said.is_of_rack;
    let needs = html! {
        @for (place, need) in plan.needs.iter().enumerate() {
            tr {
                th.long scope="row" {
                    (need.times) " × " (need.name)
                    p.hint { a href={ "/handbook#duty-" (need.duty) } { (need.why) } " " span.source { (need.source) } }
                }
                td.goes {
                    @for (times, unit) in alike(&need.units) {
                        div { @if times > 1 { (times) " × " } (pieces(unit, linked)) " " span.hint { (figured(said, place, unit)) } }
                        (instead(said, place, &need.name, times, unit))
                    }
                    @if need.short > 0 { p.late { (short(need.short)) } p.hint { (need.refused.as_deref().unwrap_or_default()) } }
                    @for without in &need.without { p.hint { (of_both("outings-without", &without.label, &without.words)) } }
                }
            }
        }
    };
    html! {
        p.caption { (plan.when) }
        table.plan {
            thead { tr { th scope="col" { (word("outings-need")) } th scope="col" { (word("outings-pieces")) } } }
            tbody { (needs) }
        }
        @for line in &plan.weighs { p { (line) } }
        @if !plan.beside.is_empty() { p { (word("outings-beside")) " " (pieces(&plan.beside, linked)) } }
        @if let Some(fix) = &plan.fix { (draw_fix(fix, linked)) }
        @if !plan.changes.is_empty() { (draw_changes(&plan.changes, linked)) }
    }
}

/// Mass and margin of the pieces of one time.
fn figured(said: &Said, need: usize, unit: &[Taken]) -> String {
    let of = |taken: &Taken| said.figures.get(&(need, taken.label.clone())).filter(|told| !told.is_empty()).cloned();
    unit.iter().filter_map(of).collect::<Vec<_>>().join(" + ")
}

/// For each piece, what could take its place: nothing is selected first.
fn instead(said: &Said, need: usize, name: &str, times: usize, unit: &[Taken]) -> Markup {
    let offered = |taken: &Taken| said.others.get(&(need, taken.label.clone())).filter(|others| !others.is_empty());
    let swap = |out: &str, into: &str| ByHand { need, out: out.to_owned(), into: into.to_owned(), times: 1 };
    let value = |swap: &ByHand| serde_json::to_string(swap).unwrap_or_default();
    html! {
        @for taken in unit {
            @if let Some(others) = offered(taken) {
                @let chosen = others.iter().find_map(|other| said.selected(need, &taken.label, &other.label));
                div.instead {
                    select name="swap" form="outing" aria-label=(of_both("outings-instead", &taken.label, name)) {
                        option value="" { (line("outings-stays", &taken.label)) }
                        @for other in others {
                            option value=(value(&swap(&taken.label, &other.label))) selected[said.selected(need, &taken.label, &other.label).is_some()] {
                                (other.label) ": " (other.words)
                            }
                        }
                    }
                    @if times > 1 {
                        input.times type="number" form="outing" name="swap-times" min="1" max=(times) value=(chosen.unwrap_or(times as u32))
                            aria-label=(of_both("outings-instead-times", &taken.label, name));
                    } @else { input type="hidden" form="outing" name="swap-times" value="1"; }
                }
            }
        }
    }
}

fn draw_fix(fix: &Fix, linked: bool) -> Markup {
    html! {
        h3 { (word("outings-fix")) }
        ul {
            @for buy in &fix.buy { li { (word("outings-to-buy")) " " (buy.count) " × " (buy.need) ": " (buy.asked) } }
            @if !fix.borrow.is_empty() { li { (word("outings-borrow")) " " (pieces(&fix.borrow, linked)) } }
            @if !fix.inspect.is_empty() { li {
                (word("outings-inspect")) " " (pieces(&fix.inspect, linked))
                @if linked { " " a.button href=(address("/inspect", &[("labels", &labels(&fix.inspect))])) { (word("inspect-these")) } }
            } }
        }
    }
}

fn labels(taken: &[Taken]) -> String {
    compact(&taken.iter().map(|taken| taken.label.clone()).collect::<Vec<_>>())
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
        keeps_to_values: true,
        ..draw::plot::Plot::default()
    };
    html! {
        (table(&word("outings-curve"), &["margin", "mass"], &rows))
        @if curve.points.len() > 1 { p.hint { (word("outings-curve-range")) } (drawing(&units.drawing(draw::plot::plot(&units.plot(plot, [None, Some(Unit::G)]))))) }
    }
}
