//! How much more use a piece has until its limit: a wear file in, a forecast or the reason for none out.

use crate::figures::{count, depth, percent, two_figures};
use crate::remaining::{Remaining, remaining};
use crate::report::{cautions, section};
use crate::wear_file::{Act, Piece, WearFile};
use crate::{Surroundings, texts, wear_file};
use rig::file::Faults;
use std::fmt::Write;
use std::io;
use terms::{Length, Source};
use wear::calliper::COVERS_95;
use wear::exposure::{Activity, Exposure};
use wear::forecast::{Band, Forecast, ForecastNote, Reading, Record, Refusal, each_day, forecast};
use wear::practice::{self, practice};

mod json;
mod picture;

pub use json::json;
pub use picture::svg;

/// A piece of a wear file with its forecast.
#[derive(Debug, Clone)]
pub struct Forecasted {
    /// The file.
    pub file: WearFile,
    /// Which of its pieces is asked about.
    pub asked: usize,
    /// The depth at which it is withdrawn.
    pub limit: Length,
    /// Where that limit comes from.
    pub limit_source: String,
    /// The forecast, or why nothing is promised.
    pub answer: Result<Forecast, Refusal>,
}

/// Why there is neither a forecast nor a refusal of one.
#[derive(Debug, thiserror::Error)]
pub enum NotForecast {
    /// The file could not be read.
    #[error("{path} cannot be read: {why}")]
    Unreadable {
        /// Which file.
        path: String,
        /// Why.
        why: io::Error,
    },
    /// The file is at fault.
    #[error("{0}")]
    File(Faults),
    /// The piece that was asked about is not in it.
    #[error("{what}")]
    NoSuchPiece {
        /// What is wrong.
        what: String,
        /// What would be right.
        help: String,
    },
}

/// Reads the wear file at `path` and forecasts the piece called `name`, or else the first.
///
/// # Errors
/// [`NotForecast`] says what is wrong, where, and what would be right.
pub fn forecast_file(
    surroundings: &dyn Surroundings,
    path: &str,
    name: Option<&str>,
) -> Result<Forecasted, NotForecast> {
    let text = surroundings.read(path).map_err(|why| NotForecast::Unreadable { path: path.to_owned(), why })?;
    let file = wear_file::read(&text, path).map_err(NotForecast::File)?;
    let asked = match name {
        None => 0,
        Some(name) => {
            file.pieces.iter().position(|piece| piece.name == name).ok_or_else(|| no_such_piece(&file, path, name))?
        }
    };
    Ok(forecast_piece(file, asked))
}

/// The same of a wear file in hand.
///
/// # Errors
/// As [`forecast_file`].
pub fn forecast_text(text: &str, name: &str) -> Result<Forecasted, NotForecast> {
    let file = wear_file::read(text, name).map_err(NotForecast::File)?;
    let found = file.pieces.iter().position(|piece| piece.name == name);
    let asked = found.ok_or_else(|| no_such_piece(&file, name, name))?;
    Ok(forecast_piece(file, asked))
}

fn no_such_piece(file: &WearFile, path: &str, name: &str) -> NotForecast {
    let names: Vec<&str> = file.pieces.iter().map(|piece| piece.name.as_str()).collect();
    let values = [("path", path.to_owned()), ("piece", name.to_owned()), ("pieces", names.join(", "))];
    let (what, help) = texts::wear_fault("no-piece-named", &values);
    NotForecast::NoSuchPiece { what, help }
}

fn forecast_piece(file: WearFile, asked: usize) -> Forecasted {
    let piece = &file.pieces[asked];
    let (limit, limit_source) = limit(piece);
    let others: Vec<Record> = kin(&file, asked).map(|piece| piece.record.clone()).collect();
    let answer = forecast(&piece.record, &others, piece.so_far, limit);
    Forecasted { asked, limit, limit_source, answer, file }
}

/// The strictest of common practice, the share of the bar, and what the maker says.
fn limit(piece: &Piece) -> (Length, String) {
    let common = practice::limit(piece.bar.thickness);
    let of_table = |source: Source| texts::source(&source);
    match piece.maker_limit {
        Some(maker) if maker <= common => (maker, texts::wear_line("limit-maker", &[])),
        _ if common.mm() < practice().limit_mm.value => (common, of_table(practice().limit_share_of_bar.source())),
        _ => (common, of_table(practice().limit_mm.source())),
    }
}

/// The other pieces of its kind that were measured; a piece without a kind is alone.
fn kin(file: &WearFile, asked: usize) -> impl Iterator<Item = &Piece> {
    let kind = &file.pieces[asked].kind;
    let others = file.pieces.iter().enumerate().filter(move |(place, _)| *place != asked).map(|(_, piece)| piece);
    others.filter(move |piece| !kind.is_empty() && piece.kind == *kind && !piece.record.readings.is_empty())
}

impl Forecasted {
    /// The piece that is asked about.
    #[must_use]
    pub fn piece(&self) -> &Piece {
        &self.file.pieces[self.asked]
    }

    /// Whether its limit is reached.
    #[must_use]
    pub fn is_at_limit(&self) -> bool {
        matches!(self.answer, Err(Refusal::LimitReached))
    }

    /// The other pieces of its kind that were measured.
    pub fn kin(&self) -> impl Iterator<Item = &Piece> {
        kin(&self.file, self.asked)
    }

    /// The last reading in the order of use.
    #[must_use]
    pub fn last(&self) -> Option<&Reading> {
        self.piece().record.readings.last()
    }

    /// What the groove does to the bar at the upper end of the last reading, and at the limit.
    fn remaining(&self) -> Vec<Remaining> {
        let last = self.last().map(|reading| interval(reading)[1]).into_iter();
        last.chain([self.limit]).filter_map(|groove| remaining(&self.piece().bar, groove)).collect()
    }

    /// How many more times each thing of the record can be done, and how many more days.
    fn more(&self) -> Vec<More> {
        let Ok(forecast) = &self.answer else { return Vec::new() };
        let piece = self.piece();
        let mut more: Vec<More> = Vec::new();
        for activity in Activity::ALL.iter().copied().map(Some).chain([None]) {
            let acts: Vec<&Act> = piece.acts.iter().filter(|act| act.activity == activity).collect();
            let times: f64 = acts.iter().map(|act| act.times).sum();
            let adds: Exposure = acts.iter().map(|act| act.adds).sum();
            let each = Exposure::from_kn_m(adds.kn_m() / times);
            let what = What::Act(activity);
            more.extend(forecast.more(each).filter(|_| times > 0.0).map(|left| More { what, each, left }));
        }
        let each = each_day(piece.on_days, piece.days);
        more.extend(each.and_then(|each| Some(More { what: What::Day, each, left: forecast.more(each)? })));
        more
    }
}

/// What is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum What {
    /// One of the things that were done; nothing for rope run under a load given.
    Act(Option<Activity>),
    /// Days of use.
    Day,
}

impl What {
    const fn code(self) -> &'static str {
        match self {
            Self::Act(Some(activity)) => activity.code(),
            Self::Act(None) => "run",
            Self::Day => "day",
        }
    }
}

/// How many more of something.
struct More {
    what: What,
    each: Exposure,
    left: Band<u64>,
}

impl More {
    fn line(&self) -> String {
        let Band { low, median, high } = self.left;
        let mut values = vec![("low", count(low)), ("median", count(median)), ("high", count(high))];
        match self.what {
            What::Day => texts::wear_line("more-days", &values),
            What::Act(_) => {
                values.push(("what", texts::wear_line(self.what.code(), &[])));
                texts::wear_line("more", &values)
            }
        }
    }
}

/// The interval of 95 % of a reading, nowhere below zero.
fn interval(reading: &Reading) -> [Length; 2] {
    [-COVERS_95, COVERS_95]
        .map(|number| Length::from_mm((reading.depth.mm() + number * reading.uncertainty.mm()).max(0.0)))
}

/// The report as text for people.
#[must_use]
pub fn text(forecasted: &Forecasted) -> String {
    let sections = [
        headline(forecasted),
        answer(forecasted),
        stress(forecasted),
        section("What to know", notes(forecasted).into_iter().map(told).collect()),
        basis(forecasted),
        cautions(),
    ];
    let sections: Vec<String> = sections.into_iter().filter(|section| !section.is_empty()).collect();
    sections.join("\n")
}

fn headline(forecasted: &Forecasted) -> String {
    let piece = forecasted.piece();
    let kind = if piece.kind.is_empty() { String::new() } else { format!(", {}", piece.kind) };
    let mut text = texts::wear_line("piece", &[("name", piece.name.clone()), ("kind", kind)]) + "\n";
    if let Some(reading) = forecasted.last() {
        let [low, high] = interval(reading).map(depth);
        let share = |bar: Length| percent(reading.depth.mm().max(0.0) / bar.mm());
        let share = piece.bar.thickness.map(|bar| texts::wear_line("share", &[("share", share(bar))]));
        let of_depth = depth(Length::from_mm(reading.depth.mm().max(0.0)));
        let values = [("depth", of_depth), ("low", low), ("high", high), ("share", share.unwrap_or_default())];
        let _ = writeln!(text, "{}", texts::wear_line("last-reading", &values));
    }
    let values = [("limit", depth(forecasted.limit)), ("source", forecasted.limit_source.clone())];
    text + &texts::wear_line("limit", &values) + "\n"
}

fn answer(forecasted: &Forecasted) -> String {
    match &forecasted.answer {
        Err(Refusal::LimitReached) => {
            let (_, help) = texts::refusal(Refusal::LimitReached);
            format!("{}\n  {help}\n", texts::wear_line("at-limit", &[]))
        }
        Err(refusal) => {
            let (text, help) = texts::refusal(*refusal);
            let refused = texts::wear_line("refused", &[("text", text)]);
            format!("{refused}\n  {}\n", texts::wear_line("what-to-do", &[("help", help)]))
        }
        Ok(forecast) => {
            let figure = |use_: Exposure| two_figures(use_.kn_m());
            let Band { low, median, high } = forecast.left;
            let values = [("low", figure(low)), ("high", figure(high)), ("median", figure(median))];
            let lines = forecasted.more().iter().map(|more| format!("  {}\n", more.line())).collect::<String>();
            format!("{}\n{lines}", texts::wear_line("left", &values))
        }
    }
}

fn stress(forecasted: &Forecasted) -> String {
    let found = forecasted.remaining();
    let lines: String = found.iter().map(|remaining| format!("  {}\n", remaining.line())).collect();
    let limits = found.first().map(Remaining::limits).unwrap_or_default();
    section("What the groove does to the bar", lines + &limits)
}

/// Codes, words and help of all that there is to know, the edge first.
fn notes(forecasted: &Forecasted) -> Vec<(&'static str, String, String)> {
    let edge = || vec![ForecastNote::FeelTheEdge];
    let mut of_forecast = forecasted.answer.as_ref().map_or_else(|_| edge(), |forecast| forecast.notes.clone());
    of_forecast.sort_by_key(|note| *note != ForecastNote::FeelTheEdge);
    let said = of_forecast.into_iter().map(|note| (note.code(), texts::forecast_note(note)));
    let by_hand = forecasted.piece().notes.iter().map(|note| (note.code(), texts::calliper_note(*note)));
    let mut all: Vec<(&str, String, String)> = Vec::new();
    for (code, (text, help)) in said.chain(by_hand) {
        if all.iter().all(|(known, ..)| *known != code) {
            all.push((code, text, help));
        }
    }
    all
}

fn told((_, text, help): (&str, String, String)) -> String {
    format!("  {text}\n    {help}\n")
}

fn basis(forecasted: &Forecasted) -> String {
    let piece = forecasted.piece();
    let values = [
        ("readings", piece.record.readings.len().to_string()),
        ("use", two_figures(piece.so_far.kn_m())),
        ("others", forecasted.kin().count().to_string()),
    ];
    let mut text = format!("  {}\n", texts::wear_line("basis", &values));
    if let Ok(forecast) = &forecasted.answer {
        let per_thousand = |rate: f64| two_figures(1e3 * rate);
        let values = [
            ("rate", per_thousand(forecast.line.mean[1])),
            ("deviation", per_thousand(forecast.line.rate_deviation())),
        ];
        let _ = writeln!(text, "  {}", texts::wear_line("rate", &values));
    }
    let _ = writeln!(text, "  {}", texts::wear_line("use-is", &[]));
    for activity in Activity::ALL.iter().copied().filter(|activity| did(piece, *activity)) {
        let values = [
            ("what", format!("\"{}\"", texts::wear_line(activity.code(), &[]))),
            ("share", percent(activity.share_of_weight())),
            ("source", texts::source(&activity.source())),
        ];
        let _ = writeln!(text, "  {}", texts::wear_line("use-counts", &values));
    }
    section("How it was computed", text)
}

fn did(piece: &Piece, activity: Activity) -> bool {
    piece.acts.iter().any(|act| act.activity == Some(activity) && act.times > 0.0)
}
