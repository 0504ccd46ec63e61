//! Sheets as PDF, printed by the helper program. Where it is not there the page says how to get it.

use crate::problem::Problem;
use crate::typed::Typed;
use crate::units::Chosen;
use crate::{Shared, Site};
use axum::Router;
use axum::extract::Query;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use desk::rack::on_paper::Which;
use desk::sheets::{Paper, Print, Sheet, measuring_sheet, print};
use std::collections::BTreeMap;
use std::sync::Arc;

type Asked = Query<Vec<(String, String)>>;

pub fn routes() -> Router<Arc<Site>> {
    Router::new()
        .route("/sheet/inspection-record", get(inspection_record))
        .route("/sheet/pack-list", get(pack_list))
        .route("/sheet/case", get(case))
        .route("/sheet/measuring", get(measuring))
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

async fn inspection_record(Shared(site): Shared, Query(asked): Asked) -> Result<Response, Problem> {
    let labels = Typed::asked(asked).get("labels").to_owned();
    pdf(&site, site.rack.inspection_record(&Which::Labels(labels)).await?, "inspection-record").await
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
