//! How much more use until the limit: wear against use, from a piece's own readings and those of its kind.
//!
//! The line of [`crate::regression`] through the readings of the piece, with the rate that the other pieces of its kind
//! have shown ([`crate::kind`]) as its prior, or a wide one where there are none. Depth never falls, so all is given that
//! the rate is above zero. Of the use u at which depth reaches the limit L, with so much use x already,
//!
//! ```text
//! P(u - x ≤ r) = P(a + b (x + r) ≥ L and b > 0) / P(b > 0)
//! ```
//!
//! a probability of the bivariate Student t of start a and rate b ([`crate::student::joint_cdf`]).

use crate::exposure::Exposure;
use crate::kind::{self, Rate};
use crate::practice::practice;
use crate::regression::{Line, Point, Prior};
use crate::student::crossing;
use terms::{Length, coded};

/// A measured depth and the use until then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Use since the start of the record.
    pub exposure: Exposure,
    /// Depth of wear; may be a little below zero, as chance has it.
    pub depth: Length,
    /// Standard uncertainty of the depth.
    pub uncertainty: Length,
}

/// What was measured of one piece.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Record {
    /// The readings, in any order.
    pub readings: Vec<Reading>,
    /// Whether the piece was new at the start of the record.
    pub from_new: bool,
}

/// Low end, middle (half of what may be lies on either side) and high end of an interval of 90 %.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band<T> {
    /// One chance in twenty that it is less.
    pub low: T,
    /// Even chances.
    pub median: T,
    /// One chance in twenty that it is more.
    pub high: T,
}

/// The probabilities below low end, middle and high end.
const QUANTILES: [f64; 3] = [0.05, 0.5, 0.95];

impl<T> Band<T> {
    fn of([low, median, high]: [T; 3]) -> Self {
        Self { low, median, high }
    }

    /// The same of something that follows from it, and rises or falls with it throughout.
    pub fn map<U>(self, with: impl Fn(T) -> U) -> Band<U> {
        Band { low: with(self.low), median: with(self.median), high: with(self.high) }
    }
}

coded!(
    /// Why nothing is promised.
    Refusal {
        /// A reading, a use or the limit is no number that it can be.
        NoSuchFigure = "no-such-figure",
        /// The limit is reached: nothing is left to forecast.
        LimitReached = "limit-reached",
        /// Nothing was measured.
        NoReading = "no-reading",
        /// From one point nothing is promised.
        OneReading = "one-reading",
        /// All readings are of the same use.
        NoUseBetween = "no-use-between",
        /// The use until now is less than that of a reading.
        UseWentBack = "use-went-back",
        /// A later reading is lower than an earlier one by more than chance: no groove fills up.
        DepthFell = "depth-fell",
    }
);

coded!(
    /// What to know about a forecast.
    ForecastNote {
        /// Wear is taken to go on with use as it did: same rope, same dirt, same place in the basket. Always there.
        WearAsBefore = "wear-as-before",
        /// A sharp edge is out at any depth, and no forecast knows of it: feel for it. Always there.
        FeelTheEdge = "feel-the-edge",
        /// No other piece of its kind has readings: nothing but its own tell the rate.
        NoOthersOfKind = "no-others-of-kind",
        /// The wear cannot be told from none: the high end says little.
        NotToldFromNone = "not-told-from-none",
        /// The middle of the forecast lies far beyond the use in the record.
        FarBeyondRecord = "far-beyond-record",
        /// The limit may be reached already: the low end is nothing.
        MayBeReached = "may-be-reached",
    }
);

/// A forecast.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// What was held of the line before its own readings: mm and mm per kN m.
    pub prior: Prior,
    /// Depth, in mm, against use, in kN m.
    pub line: Line,
    /// The depth at which the piece is withdrawn.
    pub limit: Length,
    /// Use until now.
    pub so_far: Exposure,
    /// Use that is left until the limit.
    pub left: Band<Exposure>,
    /// What to know about it.
    pub notes: Vec<ForecastNote>,
}

impl Forecast {
    /// How many more times, rounded down, something that adds `each` can be done: rappels, lowers, or days of so much
    /// use. `None` where `each` is not above zero.
    #[must_use]
    pub fn more(&self, each: Exposure) -> Option<Band<u64>> {
        (each.kn_m() > 0.0).then(|| self.left.map(|left| (left.kn_m() / each.kn_m()).floor() as u64))
    }

    /// Depth at a use, never below zero.
    #[must_use]
    pub fn depth(&self, at: Exposure) -> Band<Length> {
        let [centre, width] = self.line.at(at.kn_m());
        let below = |level: f64| 1.0 - self.line.reaches(at.kn_m(), level);
        let widths = |chance: f64| {
            let reach = |sign: f64| (0..60).map(move |power| centre + sign * width * f64::from(power).exp2());
            let low = reach(-1.0).find(|level| below(*level) <= chance).unwrap_or(f64::MIN);
            let high = reach(1.0).find(|level| below(*level) >= chance).unwrap_or(f64::MAX);
            Length::from_mm(crossing(below, chance, low, high).max(0.0))
        };
        Band::of(QUANTILES.map(widths))
    }

    /// Depth at so many uses evenly from the start of the record to `until`.
    #[must_use]
    pub fn fan(&self, until: Exposure, places: usize) -> Vec<(Exposure, Band<Length>)> {
        let last = places.saturating_sub(1).max(1) as f64;
        let uses = (0..places).map(|place| Exposure::from_kn_m(until.kn_m() * place as f64 / last));
        uses.map(|at| (at, self.depth(at))).collect()
    }
}

/// The use of a day, after a record of so much use over so many days; `None` where there were no days.
#[must_use]
pub fn each_day(used: Exposure, days: u32) -> Option<Exposure> {
    (days > 0).then(|| Exposure::from_kn_m(used.kn_m() / f64::from(days)))
}

/// How much more use a piece has until its depth reaches the limit.
///
/// `others` are the other pieces of its kind, as many as have readings; `so_far` is the use since the start of the record.
///
/// # Errors
/// Where nothing can be promised, and why.
pub fn forecast(record: &Record, others: &[Record], so_far: Exposure, limit: Length) -> Result<Forecast, Refusal> {
    let points = points(record).filter(|_| is_sensible(so_far, limit)).ok_or(Refusal::NoSuchFigure)?;
    check(&points, so_far, limit)?;
    let rates: Vec<Rate> = others.iter().filter_map(rate).collect();
    let prior = prior(record.from_new, &rates);
    let line = Line::after(&prior, &points);
    if line.reaches(so_far.kn_m(), limit.mm()) >= 0.5 {
        return Err(Refusal::LimitReached);
    }
    let left = left(&line, so_far, limit);
    let notes = notes(&line, &points, &rates, so_far + left.median, left.low);
    Ok(Forecast { prior, line, limit, so_far, left, notes })
}

fn is_sensible(so_far: Exposure, limit: Length) -> bool {
    so_far.kn_m().is_finite() && so_far.kn_m() >= 0.0 && limit.mm().is_finite() && limit.mm() > 0.0
}

/// The readings in the order of use, kN m and mm; `None` where one is no number that it can be.
fn points(record: &Record) -> Option<Vec<Point>> {
    let mut points: Vec<Point> = record
        .readings
        .iter()
        .map(|reading| Point { x: reading.exposure.kn_m(), y: reading.depth.mm(), deviation: reading.uncertainty.mm() })
        .collect();
    let is_number = |point: &Point| {
        point.x >= 0.0
            && point.x.is_finite()
            && point.y.is_finite()
            && point.deviation > 0.0
            && point.deviation.is_finite()
    };
    points.sort_by(|a, b| a.x.total_cmp(&b.x));
    points.iter().all(is_number).then_some(points)
}

fn check(points: &[Point], so_far: Exposure, limit: Length) -> Result<(), Refusal> {
    let [first, .., last] = points else {
        let reached = points.iter().any(|point| point.y >= limit.mm());
        let too_few = if points.is_empty() { Refusal::NoReading } else { Refusal::OneReading };
        return Err(if reached { Refusal::LimitReached } else { too_few });
    };
    if points.iter().any(|point| point.y >= limit.mm()) {
        return Err(Refusal::LimitReached);
    }
    if so_far.kn_m() < last.x {
        return Err(Refusal::UseWentBack);
    }
    if has_fallen(points) {
        return Err(Refusal::DepthFell);
    }
    if first.x < last.x { Ok(()) } else { Err(Refusal::NoUseBetween) }
}

fn has_fallen(points: &[Point]) -> bool {
    let most = practice().fell_deviations.value;
    let fell = |before: &Point, after: &Point| before.y - after.y > most * before.deviation.hypot(after.deviation);
    points
        .iter()
        .enumerate()
        .any(|(place, after)| points[..place].iter().any(|before| before.x < after.x && fell(before, after)))
}

/// The prior of a piece, in mm and mm per kN m.
fn prior(from_new: bool, others: &[Rate]) -> Prior {
    let table = practice();
    let start = if from_new { table.start_new_mm.value } else { table.start_worn_mm.value };
    let expected = kind::expected(others, wide());
    Prior { mean: [0.0, expected.mean], deviation: [start, expected.deviation], degrees: table.scatter_degrees.value }
}

/// Standard deviation of a rate of which nothing is known, mm per kN m.
fn wide() -> f64 {
    practice().rate_wide_mm_per_mn_m.value / 1e3
}

/// What another piece says of the rate: by its own readings alone, and only where they would bear a forecast.
fn rate(other: &Record) -> Option<Rate> {
    let points = points(other)?;
    let [first, .., last] = points[..] else { return None };
    let tells = first.x < last.x && !has_fallen(&points);
    let line = Line::after(&prior(other.from_new, &[]), &points);
    tells.then(|| Rate { mean: line.mean[1], deviation: line.rate_deviation() })
}

/// The use that is left, by its quantiles.
fn left(line: &Line, so_far: Exposure, limit: Length) -> Band<Exposure> {
    let reached = |more: f64| line.reaches(so_far.kn_m() + more, limit.mm());
    let already = reached(0.0);
    let first = limit.mm() / (line.mean[1].abs() + line.scale[2].sqrt());
    let quantile = |chance: f64| {
        if already >= chance {
            return Exposure::from_kn_m(0.0);
        }
        let high = (0..).map(|power: i32| first * f64::from(power).exp2());
        let high = high.into_iter().find(|more| reached(*more) >= chance || !more.is_finite()).unwrap_or(f64::MAX);
        Exposure::from_kn_m(crossing(reached, chance, 0.0, high))
    };
    Band::of(QUANTILES.map(quantile))
}

fn notes(line: &Line, points: &[Point], others: &[Rate], at_limit: Exposure, low: Exposure) -> Vec<ForecastNote> {
    let table = practice();
    let seen = points[points.len() - 1].x - points[0].x;
    let when = [
        (true, ForecastNote::WearAsBefore),
        (true, ForecastNote::FeelTheEdge),
        (others.is_empty(), ForecastNote::NoOthersOfKind),
        (line.rises() < table.told_from_none.value, ForecastNote::NotToldFromNone),
        (at_limit.kn_m() - points[0].x > table.far_beyond_record.value * seen, ForecastNote::FarBeyondRecord),
        (low.kn_m() <= 0.0, ForecastNote::MayBeReached),
    ];
    when.into_iter().filter(|(is_so, _)| *is_so).map(|(_, note)| note).collect()
}
