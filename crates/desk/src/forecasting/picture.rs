//! Wear against use with the fan of the forecast.

use super::{Forecasted, interval};
use crate::figures::depth;
use crate::texts;
use crate::units::{Unit, Units};
use draw::plot::{Plot, Series, plot};
use wear::exposure::Exposure;
use wear::forecast::Forecast;

/// Places along the fan.
const PLACES: usize = 121;
/// The plot goes this far beyond the middle of the forecast, as a factor, and no further than its high end.
const BEYOND: f64 = 1.8;
/// It goes this far above the limit, as a factor.
const ABOVE: f64 = 1.5;

/// The readings, the limit, and the fan where there is a forecast, as an SVG document.
#[must_use]
pub fn svg(forecasted: &Forecasted, units: Units) -> String {
    let line = |code| texts::wear_line(code, &[]);
    let piece = forecasted.piece();
    let reading = |reading: &wear::forecast::Reading| {
        let reach = interval(reading)[1].mm() - reading.depth.mm();
        [reading.exposure.kn_m(), reading.depth.mm(), reach]
    };
    let mut drawing = Plot {
        title: texts::wear_line("plot-fan", &[("name", piece.name.clone())]),
        x_label: line("plot-use"),
        y_label: line("plot-depth"),
        caution: line("drawing-caution"),
        limit: Some((forecasted.limit.mm(), texts::wear_line("plot-limit", &[("limit", depth(forecasted.limit))]))),
        readings: piece.record.readings.iter().map(reading).collect(),
        ..Plot::default()
    };
    if let Ok(forecast) = &forecasted.answer {
        add_fan(&mut drawing, forecast);
    } else if let Some([use_, depth, _]) = drawing.readings.last().copied() {
        // An axis needs some extent where there is one reading only.
        drawing.series = vec![Series { points: vec![[0.0, 0.0], [1.25 * use_.max(1.0), 0.0]], ..Series::default() }];
        drawing.marks = vec![(use_, depth, line("plot-now"))];
    }
    units.drawing(plot(&units.plot(drawing, [None, Some(Unit::Mm)])))
}

fn add_fan(drawing: &mut Plot, forecast: &Forecast) {
    let most = ABOVE * forecast.limit.mm();
    let reach = (BEYOND * forecast.left.median.kn_m()).min(1.05 * forecast.left.high.kn_m());
    let until = Exposure::from_kn_m(forecast.so_far.kn_m() + reach);
    let rows = forecast.fan(until, PLACES);
    let level = |depth: terms::Length| depth.mm().min(most);
    drawing.band = rows.iter().map(|(at, depth)| [at.kn_m(), level(depth.low), level(depth.high)]).collect();
    let curve = |code: &str, dashed: bool, of: fn(&wear::forecast::Band<terms::Length>) -> terms::Length| Series {
        name: texts::wear_line(code, &[]),
        points: rows.iter().map(|(at, depth)| [at.kn_m(), of(depth).mm()]).filter(|[_, y]| *y <= most).collect(),
        dashed,
    };
    drawing.series = vec![
        curve("plot-even", false, |depth| depth.median),
        curve("plot-high", true, |depth| depth.high),
        curve("plot-low", true, |depth| depth.low),
    ];
    drawing.marks = vec![(forecast.so_far.kn_m(), 0.0, texts::wear_line("plot-now", &[]))];
}
