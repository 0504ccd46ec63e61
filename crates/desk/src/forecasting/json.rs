//! A forecast as one JSON object.

use super::{Forecasted, More, notes};
use crate::remaining::Remaining;
use crate::texts;
use serde::Serialize;
use wear::exposure::Exposure;
use wear::forecast::{Band, Forecast, Reading};

#[derive(Serialize)]
struct Answer {
    title: String,
    piece: String,
    kind: String,
    limit_mm: f64,
    limit_source: String,
    use_so_far_kn_m: f64,
    readings: Vec<ReadingRow>,
    others_of_kind: Vec<String>,
    forecast: Option<ForecastRow>,
    refused: Option<Said>,
    stress: Vec<Remaining>,
    notes: Vec<Said>,
    cautions: Vec<String>,
}

#[derive(Serialize)]
struct ReadingRow {
    use_kn_m: f64,
    depth_mm: f64,
    uncertainty_mm: f64,
    share_of_bar: Option<f64>,
}

#[derive(Serialize)]
struct ForecastRow {
    left_kn_m: Ends,
    more: Vec<MoreRow>,
    prior: PriorRow,
    line: LineRow,
}

/// 5, 50 and 95 %; null where a figure is beyond all bounds.
#[derive(Serialize)]
struct Ends {
    low: Option<f64>,
    median: Option<f64>,
    high: Option<f64>,
}

#[derive(Serialize)]
struct MoreRow {
    what: &'static str,
    each_kn_m: f64,
    low: u64,
    median: u64,
    high: u64,
}

/// What was held before the piece's own readings: start in mm, rate in mm per kN m.
#[derive(Serialize)]
struct PriorRow {
    mean: [f64; 2],
    deviation: [f64; 2],
    degrees: f64,
}

/// The line after them; `scale` holds the variance of the start, the covariance and the variance of the rate, of a Student
/// t with so many degrees of freedom.
#[derive(Serialize)]
struct LineRow {
    start_mm: f64,
    rate_mm_per_kn_m: f64,
    scale: [f64; 3],
    degrees: f64,
}

#[derive(Serialize)]
struct Said {
    code: &'static str,
    text: String,
    help: String,
}

/// The answer as one JSON object.
#[must_use]
pub fn json(forecasted: &Forecasted) -> String {
    let piece = forecasted.piece();
    let refusal = forecasted.answer.as_ref().err().map(|refusal| (refusal.code(), texts::refusal(*refusal)));
    let answer = Answer {
        title: forecasted.file.title.clone(),
        piece: piece.name.clone(),
        kind: piece.kind.clone(),
        limit_mm: forecasted.limit.mm(),
        limit_source: forecasted.limit_source.clone(),
        use_so_far_kn_m: piece.so_far.kn_m(),
        readings: piece.record.readings.iter().map(|reading| reading_row(forecasted, reading)).collect(),
        others_of_kind: forecasted.kin().map(|piece| piece.name.clone()).collect(),
        forecast: forecasted.answer.as_ref().ok().map(|forecast| forecast_row(forecasted, forecast)),
        refused: refusal.map(|(code, (text, help))| Said { code, text, help }),
        stress: forecasted.remaining(),
        notes: notes(forecasted).into_iter().map(|(code, text, help)| Said { code, text, help }).collect(),
        cautions: texts::cautions(),
    };
    crate::json::written(&answer)
}

fn reading_row(forecasted: &Forecasted, reading: &Reading) -> ReadingRow {
    let share = |bar: terms::Length| reading.depth.mm().max(0.0) / bar.mm();
    ReadingRow {
        use_kn_m: reading.exposure.kn_m(),
        depth_mm: reading.depth.mm(),
        uncertainty_mm: reading.uncertainty.mm(),
        share_of_bar: forecasted.piece().bar.thickness.map(share),
    }
}

fn forecast_row(forecasted: &Forecasted, forecast: &Forecast) -> ForecastRow {
    let Band { low, median, high } = forecast.left;
    let bounded = |left: Exposure| Some(left.kn_m()).filter(|left| *left < f64::MAX);
    ForecastRow {
        left_kn_m: Ends { low: bounded(low), median: bounded(median), high: bounded(high) },
        more: forecasted.more().iter().map(more_row).collect(),
        prior: PriorRow {
            mean: forecast.prior.mean,
            deviation: forecast.prior.deviation,
            degrees: forecast.prior.degrees,
        },
        line: LineRow {
            start_mm: forecast.line.mean[0],
            rate_mm_per_kn_m: forecast.line.mean[1],
            scale: forecast.line.scale,
            degrees: forecast.line.degrees,
        },
    }
}

fn more_row(more: &More) -> MoreRow {
    let Band { low, median, high } = more.left;
    MoreRow { what: more.what.code(), each_kn_m: more.each.kn_m(), low, median, high }
}
