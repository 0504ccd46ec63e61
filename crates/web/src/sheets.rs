//! Sheets as PDF, printed by the helper program. Where it is not there the page says how to get it.

use crate::form::{Field, Kind};
use crate::layout::{Room, page};
use crate::problem::{Problem, Wrong, told};
use crate::rack::list::filter;
use crate::typed::Typed;
use crate::units::Chosen;
use crate::{Shared, Site, word};
use axum::Router;
use axum::extract::Query;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use desk::rack::Fault;
use desk::rack::labels::expand;
use desk::rack::on_paper::Which;
use desk::sheets::{
    LabelPaper, Paper, Pictured, Print, Sheet, as_stamped, labels, measuring_sheet, print, teaching_card,
};
use maud::{Markup, html};
use std::collections::BTreeMap;
use std::sync::Arc;
use trade::connector::{Connector, Gate, Keeper, Lock, Nose, Shape};

type Asked = Query<Vec<(String, String)>>;

pub fn routes() -> Router<Arc<Site>> {
    Router::new()
        .route("/sheet/inspection-record", get(inspection_record))
        .route("/sheet/pack-list", get(pack_list))
        .route("/sheet/case", get(case))
        .route("/sheet/measuring", get(measuring))
        .route("/sheet/teaching-card", get(teaching))
        .route("/labels", get(label_paper))
        .route("/sheet/labels", get(label_sheet))
}

/// A sheet of A4 as a PDF, under a name of its own.
pub async fn pdf(site: &Site, sheet: Sheet, name: &str) -> Result<Response, Problem> {
    let outside = site.outside;
    let date = outside.today().to_string();
    let order = Print { paper: Paper::A4, date, templates: BTreeMap::new(), fonts: Vec::new() };
    let printed = tokio::task::spawn_blocking(move || print(outside, &sheet, &order)).await;
    let printed = printed.map_err(|why| Problem::Unreadable(why.to_string()))?.map_err(Problem::NotPrinted)?;
    let name = format!("inline; filename=\"{name}.pdf\"");
    Ok(([(CONTENT_TYPE, "application/pdf".to_owned()), (CONTENT_DISPOSITION, name)], printed.pdf).into_response())
}

/// Pieces by their labels, or a list as it was filtered.
fn which(asked: &Typed) -> Which {
    asked.owned("labels").map_or_else(|| Which::Filter(filter(asked)), Which::Labels)
}

async fn inspection_record(Shared(site): Shared, Query(asked): Asked) -> Result<Response, Problem> {
    let which = which(&Typed::asked(asked));
    pdf(&site, site.rack.inspection_record(&which).await?, "inspection-record").await
}

async fn pack_list(Shared(site): Shared, Chosen(units): Chosen, Query(asked): Asked) -> Result<Response, Problem> {
    let kit = Typed::asked(asked).get("kit").to_owned();
    pdf(&site, units.sheet(site.rack.pack_list(&kit, 1).await?), "pack-list").await
}

async fn case(Shared(site): Shared, Query(asked): Asked) -> Result<Response, Problem> {
    let asked = Typed::asked(asked);
    let is_recall = asked.some("recall").is_some();
    let name = if is_recall { "recall-list" } else { "incident-record" };
    pdf(&site, site.rack.case_record(i64::from(asked.count("case")?), is_recall).await?, name).await
}

async fn measuring(Shared(site): Shared) -> Result<Response, Problem> {
    let sheet = measuring_sheet(Paper::A4).map_err(|(what, _)| Problem::Unreadable(what))?;
    pdf(&site, sheet, "measuring-sheet").await
}

/// The measures of label paper, mm, by the name of their field.
const MEASURES: [&str; 7] = ["width", "height", "across", "left", "top", "gap-across", "gap-down"];

fn measures(paper: &LabelPaper) -> [f64; 7] {
    let LabelPaper { width_mm, height_mm, across, left_mm, top_mm, gap_across_mm, gap_down_mm } = *paper;
    // So many labels stand side by side that a number holds them.
    #[allow(clippy::cast_precision_loss)]
    let across = across as f64;
    [width_mm, height_mm, across, left_mm, top_mm, gap_across_mm, gap_down_mm]
}

/// Which labels, on which paper: those that were asked for, a kit's, or a list's as it was filtered.
async fn label_paper(Shared(site): Shared, Query(asked): Asked) -> Result<Markup, Problem> {
    let asked = Typed::asked(asked);
    let labels = site.rack.labels_for(&which(&asked)).await?;
    let usual = MEASURES.into_iter().zip(measures(&LabelPaper::default())).map(|(name, mm)| (name, mm.to_string()));
    Ok(draw_labels(&Typed::asked(std::iter::once(("labels", labels)).chain(usual).map(owned).collect()), &[]))
}

fn owned((name, value): (&str, String)) -> (String, String) {
    (name.to_owned(), value)
}

fn draw_labels(asked: &Typed, wrong: &[Wrong]) -> Markup {
    let of = |name: &str| Field::new(name, word(&format!("labels-{name}")), Kind::Line).required();
    page(
        Room::Rack,
        &word("sheet-labels"),
        html! {
            p.lead { (word("sheet-labels-lead")) }
            form action="/sheet/labels" {
                @if !wrong.is_empty() { (told(wrong)) }
                (Field::new("labels", word("labels"), Kind::Lines).required().hint(word("labels-hint")).draw("labels", asked))
                div.search { @for name in MEASURES { (of(name).draw("labels", asked)) } }
                button type="submit" { (word("sheet-labels-print")) }
            }
        },
    )
}

/// Labels as a PDF; where the paper cannot be so, the measures again.
async fn label_sheet(Shared(site): Shared, Query(asked): Asked) -> Result<Response, Problem> {
    let asked = Typed::asked(asked);
    let told = |what: String| Ok(draw_labels(&asked, &[Wrong::new(what, word("sheet-labels-help"))]).into_response());
    let Some(paper) = paper(&asked) else { return told(word("labels-no-measure")) };
    let names: Vec<String> = expand(&asked.get("labels").replace(['\r', '\n'], " "))?;
    match labels(&names, "", paper, Paper::A4.width_mm()) {
        Ok(sheet) => pdf(&site, sheet, "labels").await,
        Err(trouble) => told(trouble.to_string()),
    }
}

fn paper(asked: &Typed) -> Option<LabelPaper> {
    let usual = measures(&LabelPaper::default());
    let mm = |(name, usual): (&str, f64)| match asked.some(name) {
        None => Some(usual),
        Some(typed) => typed.replace(',', ".").parse().ok().filter(|mm: &f64| mm.is_finite() && *mm >= 0.0),
    };
    let typed: Option<Vec<f64>> = MEASURES.into_iter().zip(usual).map(mm).collect();
    let [width_mm, height_mm, across, left_mm, top_mm, gap_across_mm, gap_down_mm] = typed?.try_into().ok()?;
    // Whole, and small enough.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let across = if across.fract() == 0.0 && across < 1000.0 { across as usize } else { return None };
    Some(LabelPaper { width_mm, height_mm, across, left_mm, top_mm, gap_across_mm, gap_down_mm })
}

/// What a card has to be told, beside the marking.
const LOOKS: [&str; 5] = ["shape", "gate", "lock", "nose", "keeper"];

/// Asks for the card of any connector.
pub fn ask_teaching() -> Markup {
    let codes = |name: &str| -> Vec<&'static str> {
        match name {
            "shape" => Shape::ALL.iter().map(|one| one.code()).collect(),
            "gate" => Gate::ALL.iter().map(|one| one.code()).collect(),
            "lock" => Lock::ALL.iter().map(|one| one.code()).collect(),
            "nose" => Nose::ALL.iter().map(|one| one.code()).collect(),
            _ => Keeper::ALL.iter().map(|one| one.code()).collect(),
        }
    };
    let choices =
        |name: &str| Kind::Choice(codes(name).into_iter().map(|code| (code.to_owned(), code.to_owned())).collect());
    let nothing = Typed::default();
    html! {
        section #teaching-card {
            h2 { (word("sheet-teaching")) }
            p { (word("sheet-teaching-lead")) }
            form.search action="/sheet/teaching-card" {
                (Field::new("marking", word("plate"), Kind::Line).required().draw("teaching", &nothing))
                @for name in LOOKS { (Field::new(name, word(&format!("look-{name}")), choices(name)).draw("teaching", &nothing)) }
                button type="submit" { (word("sheet-teaching")) }
            }
        }
    }
}

/// The address of the card of a connector, where all is known that it shows.
pub fn teaching_address(connector: &Connector, marking: &str) -> Option<String> {
    let Pictured { shape, gate, lock, nose, keeper } = Pictured::of(connector)?;
    let looks = [shape.code(), gate.code(), lock.code(), nose.code(), keeper.code()];
    let asked: Vec<_> = std::iter::once(("marking", marking)).chain(LOOKS.into_iter().zip(looks)).collect();
    Some(crate::layout::address("/sheet/teaching-card", &asked))
}

/// The card of a connector of a rig.
pub fn teaching_of(connector: &Connector) -> Result<Sheet, Fault> {
    let unknown = || Fault::new("connector-unseen", &[("name", connector.name.clone())]);
    Ok(teaching_card(&as_stamped(connector), Pictured::of(connector).ok_or_else(unknown)?))
}

async fn teaching(Shared(site): Shared, Query(asked): Asked) -> Result<Response, Problem> {
    let asked = Typed::asked(asked);
    let pictured = Pictured {
        shape: coded(&asked, "shape", Shape::ALL, Shape::code)?,
        gate: coded(&asked, "gate", Gate::ALL, Gate::code)?,
        lock: coded(&asked, "lock", Lock::ALL, Lock::code)?,
        nose: coded(&asked, "nose", Nose::ALL, Nose::code)?,
        keeper: coded(&asked, "keeper", Keeper::ALL, Keeper::code)?,
    };
    pdf(&site, teaching_card(asked.get("marking"), pictured), "teaching-card").await
}

fn coded<T: Copy>(asked: &Typed, name: &str, all: &[T], code: fn(T) -> &'static str) -> Result<T, Fault> {
    let found = all.iter().copied().find(|one| code(*one) == asked.get(name));
    found.ok_or_else(|| Fault::no_such_word(asked.get(name), all.iter().map(|one| code(*one))))
}
