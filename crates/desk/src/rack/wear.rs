//! How a piece wears, by its own log: what it was used for and the grooves that were measured, as a wear file, and its forecast.

use super::{Fault, Rack, Result};
use crate::forecasting::{Forecasted, forecast_text};
use crate::{somebody_kg, texts};
use async_recursion::async_recursion as boxed;
use jiff::Span;
use jiff::civil::Date;
use register::event::{Event, Reading, Use};
use register::history::Past;
use std::collections::BTreeSet;
use std::fmt::Write;
use wear::forecast::{Band, Refusal, each_day};

impl Rack<'_> {
    /// The forecast of a piece from its log, where a groove with an interval was measured.
    ///
    /// # Errors
    /// Where the piece is unknown.
    #[boxed]
    pub async fn wear(&self, label: &str) -> Result<Option<Forecasted>> {
        let view = self.view().await?;
        let (piece, history) = self.fold(&self.find(label).await?, &view).await?;
        let about: Vec<&Past> = piece.of(&history).collect();
        forecast(label, &about)
    }

    /// A photo or paper that stands beside an entry: its medium and what it holds. `place` counts from 0, those of the entry first and
    /// those of its remarks behind them.
    ///
    /// # Errors
    /// Where there is no such entry, or it has none at that place, or it was erased.
    #[boxed]
    pub async fn photo_beside(&self, entry: i64, place: usize) -> Result<(String, Vec<u8>)> {
        let past = self.past(entry).await?;
        let remarks = match &past.record.event {
            Event::Inspected(inspection) => inspection.remarks.as_slice(),
            _ => &[],
        };
        let photos = past.record.photos.iter().chain(remarks.iter().filter_map(|remark| remark.photo.as_ref()));
        let none = || Fault::new("no-such-entry", &[("entry", format!("{entry}, {place}"))]);
        let private = photos.into_iter().nth(place).ok_or_else(none)?;
        let aside = self.store.aside(private).await?.ok_or_else(none)?;
        Ok((aside.media, aside.content))
    }
}

/// When the groove of a piece comes to its limit.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Limit {
    /// It has.
    Reached,
    /// On a day of this band, if the piece is used as often as since its first use.
    Within(Band<Date>),
    /// Nothing is promised: why not.
    Untold(String),
}

/// When the grooves that were measured of a piece come to their limit, by its own entries; none where no groove was measured.
pub(super) fn limit(label: &str, about: &[&Past], today: Date) -> Result<Option<Limit>> {
    let Some(forecasted) = forecast(label, about)? else { return Ok(None) };
    let found = match &forecasted.answer {
        Ok(forecast) => forecast,
        Err(Refusal::LimitReached) => return Ok(Some(Limit::Reached)),
        Err(refusal) => return Ok(Some(Limit::Untold(texts::refusal(*refusal).0))),
    };
    let uses = about.iter().filter(|past| matches!(past.record.event, Event::Used(_)));
    let since = uses.map(|past| past.happened.date).min().unwrap_or(today);
    let days = u32::try_from((today - since).get_days()).unwrap_or_default().max(1);
    let more = each_day(found.so_far, days).and_then(|each| found.more(each));
    let untold = || Limit::Untold(texts::refusal(Refusal::NoUseBetween).0);
    Ok(Some(more.map_or_else(untold, |more| Limit::Within(more.map(|days| days_after(today, days))))))
}

/// The day so many days after one, or else the last that there is.
fn days_after(day: Date, days: u64) -> Date {
    let span = i64::try_from(days).ok().and_then(|days| Span::new().try_days(days).ok());
    span.and_then(|span| day.checked_add(span).ok()).unwrap_or(Date::MAX)
}

/// The forecast of a piece by its own entries; none where no groove was measured with an interval.
fn forecast(label: &str, about: &[&Past]) -> Result<Option<Forecasted>> {
    let unreadable = |why: String| Fault::new("unreadable", &[("path", label.to_owned()), ("why", why)]);
    let forecasted = wear_file(label, about).map(|text| forecast_text(&text, label)).transpose();
    Ok(forecasted.map_err(|not| unreadable(not.to_string()))?)
}

/// What happened since the reading before.
#[derive(Default)]
struct Period<'p> {
    uses: Vec<&'p Use>,
    days: BTreeSet<jiff::civil::Date>,
}

impl Period<'_> {
    fn write(&self, text: &mut String, reading: &str) -> std::fmt::Result {
        writeln!(text, "[[piece.period]]\ndays = {}\nuse = [", self.days.len())?;
        // The log holds no masses. The same throughout leaves no trace in days and times.
        let person_kg = somebody_kg();
        for used in &self.uses {
            let times = used.rappels + used.lowers;
            if times == 0 || used.run_m == 0 {
                continue;
            }
            let each_m = f64::from(used.run_m) / f64::from(times);
            for (activity, times) in [("rappel", used.rappels), ("lower-over", used.lowers)] {
                if times > 0 {
                    writeln!(
                        text,
                        "  {{ activity = \"{activity}\", times = {times}, person_kg = {person_kg}, rope_run_m = {each_m} }},"
                    )?;
                }
            }
        }
        writeln!(text, "]\n{reading}")
    }
}

/// Its log as a wear file; none where no groove was measured with an interval.
fn wear_file(label: &str, about: &[&Past]) -> Option<String> {
    let mut periods = String::new();
    let mut period = Period::default();
    let mut bar_um = None;
    let mut readings = 0;
    for past in about {
        match &past.record.event {
            Event::Used(used) => {
                period.uses.push(used);
                period.days.insert(past.happened.date);
            }
            Event::Measured(reading) => {
                bar_um = reading.bar_um.or(bar_um);
                let Some(told) = groove(reading) else { continue };
                std::mem::take(&mut period).write(&mut periods, &told).ok()?;
                // The first photo by itself says nothing yet.
                readings += usize::from(reading.interval.is_some());
            }
            _ => {}
        }
    }
    period.write(&mut periods, "").ok()?;
    let name = serde_json::to_string(label).ok()?;
    let bar = bar_um.map(|um| format!("bar_mm = {}\n", mm(um))).unwrap_or_default();
    (readings > 0).then(|| format!("[[piece]]\nname = {name}\n{bar}{periods}"))
}

/// A groove with its interval, as a period of a wear file tells it. The first photo has none: what is measured against it is 0 there by
/// definition, and its own error is in the interval of each later one. Without it the wear up to the second would not count.
fn groove(reading: &Reading) -> Option<String> {
    let interval = reading.interval.or_else(|| reading.is_first_photo().then_some((0, 0)));
    let (low, high) = interval.filter(|_| reading.what == "groove")?;
    let half = (high - low).max(2);
    Some(format!("photo = {{ depth_mm = {}, plus_minus_mm = {} }}", mm(reading.value), mm(half) / 2.0))
}

/// Lengths of gear are far below what an f64 holds exactly.
#[allow(clippy::cast_precision_loss)]
fn mm(um: i64) -> f64 {
    um as f64 / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use register::event::Record;
    use register::id::PersonId;
    use register::moment::Moment;
    use std::sync::Arc;

    fn past(seq: i64, event: Event) -> Past {
        let record = Record { about: Vec::new(), by_kit: None, note: None, photos: Vec::new(), event };
        let happened = Moment::on(jiff::civil::date(2026, 5, i8::try_from(seq).expect("a day")));
        Past { seq, happened, written_ms: 0, writer: PersonId("p".to_owned()), record: Arc::new(record) }
    }

    fn photo(seq: i64, value: i64, interval: Option<(i64, i64)>) -> Past {
        let (what, how) = ("groove".to_owned(), "photo".to_owned());
        past(seq, Event::Measured(Reading { what, how, value, interval, bar_um: Some(12_000) }))
    }

    fn rappels(seq: i64) -> Past {
        past(seq, Event::Used(Use { rappels: 30, run_m: 3000, ..Use::default() }))
    }

    fn of(pasts: &[Past]) -> Option<Forecasted> {
        forecast("C-001", &pasts.iter().collect::<Vec<_>>()).expect("a wear file")
    }

    #[test]
    fn what_wore_since_the_first_photo_counts() {
        let worn = Some((520, 620));
        let log = [photo(1, 0, None), rappels(2), photo(3, 570, worn), rappels(4), photo(5, 570, worn)];
        let whole = of(&log).expect("a groove").answer.expect("a forecast");
        let later = of(&log[2..]).expect("a groove").answer.expect("a forecast");
        assert!(whole.left.high.kn_m() < later.left.low.kn_m(), "{whole:?} {later:?}");
        assert!(of(&log[..2]).is_none(), "a first photo alone tells nothing");
    }
}
