//! A day that was planned, booked to the log.

use super::day_out::{CameBack, all_taken};
use super::labels::compact;
use super::{Answer, Line, Rack, Result, record, words};
use crate::outing::Day;
use crate::outing::file::Done;
use async_recursion::async_recursion as boxed;
use jiff::ToSpan;
use plan::choice::{Choice, Taken};
use plan::outing::Outing;
use register::event::{Event, Fall, Use};
use register::id::Id;
use register::moment::Moment;
use register::summary::Summary;
use serde_json::json;
use std::collections::BTreeMap;

/// A day that is over.
#[derive(Debug, Clone, Copy)]
pub struct Past<'d> {
    /// The day, with what was done on it.
    pub day: &'d Day,
    /// What was needed.
    pub outing: &'d Outing,
    /// What went along for it.
    pub choice: &'d Choice,
    /// Labels of what stayed after all.
    pub stayed: &'d [String],
    /// What came back, where it went out as a kit.
    pub back: Option<&'d CameBack>,
}

/// What would be written, and of what it tells.
struct Lines {
    lines: Vec<Line>,
    rows: BTreeMap<String, Summary>,
}

impl Rack<'_> {
    /// Books an outing: to each piece that went along a day of use for each day, and on the first of them what the file tells was
    /// done with the pieces of a need; but not to those that stayed after all. What came back goes in again. All of it or nothing.
    ///
    /// # Errors
    /// Where a piece is not on the rack, or a day is yet to come.
    #[boxed]
    pub async fn close_outing(&self, past: &Past<'_>) -> Result {
        let Lines { lines, rows } = self.booked(past).await?;
        let told = words::event(&Event::Used(Use::default()), &self.view().await?);
        let entries = self.write(lines).await?;
        self.after(&entries, &told, &rows.into_values().collect::<Vec<_>>()).await
    }

    /// What closing would write, line by line; nothing is written.
    ///
    /// # Errors
    /// As [`Rack::close_outing`].
    #[boxed]
    pub async fn before_closing(&self, past: &Past<'_>) -> Result {
        let Lines { lines, rows } = self.booked(past).await?;
        let view = self.view().await?;
        let labels: BTreeMap<Id, &str> = rows.iter().map(|(label, row)| (row.id, label.as_str())).collect();
        let (mut text, mut told) = (String::new(), Vec::new());
        for line in &lines {
            let about = line.record.about.iter().filter_map(|id| labels.get(id)).map(|label| (*label).to_owned());
            let (pieces, what) = (compact(&about.collect::<Vec<_>>()), words::event(&line.record.event, &view));
            text += &format!("{}  {what}  {pieces}\n", line.happened.date);
            told.push(json!({ "day": line.happened.date, "what": what, "pieces": pieces }));
        }
        Ok(Answer::cautioned(text, json!({ "lines": told })))
    }

    async fn booked(&self, past: &Past<'_>) -> Result<Lines> {
        let Past { day, outing, choice, stayed, back } = *past;
        let went = |taken: &Taken| !stayed.contains(&taken.label);
        let needs: Vec<Vec<Taken>> =
            (0..outing.needs.len()).map(|need| choice.taken(need).into_iter().filter(went).collect()).collect();
        let mut rows: BTreeMap<String, Summary> = BTreeMap::new();
        for taken in all_taken(outing, choice).into_iter().filter(went) {
            rows.insert(taken.label.clone(), self.find(&taken.label).await?);
        }
        let ids = |labels: &[Taken]| labels.iter().map(|taken| rows[&taken.label].id).collect::<Vec<Id>>();
        let mut lines = Vec::new();
        for passed in 0..day.file.days {
            let date = day.day.saturating_add(i64::from(passed).days());
            let on = self.moment(Some(&date.to_string()))?;
            lines.push(used(on, rows.values().map(|row| row.id).collect(), Use::default()));
        }
        let first = self.moment(Some(&day.day.to_string()))?;
        for (need, labels) in outing.needs.iter().zip(&needs) {
            for done in day.file.done.iter().filter(|done| done.need == need.name && !labels.is_empty()) {
                lines.push(used(first.clone(), ids(labels), work(done, &need.duty.name)));
            }
        }
        if let Some(back) = back {
            lines.extend(self.back_in(outing, choice, back).await?);
        }
        Ok(Lines { lines, rows })
    }
}

fn used(on: Moment, about: Vec<Id>, work: Use) -> Line {
    Line::new(on, record(about, Event::Used(work)))
}

fn work(done: &Done, duty: &str) -> Use {
    let fall = |force: &Option<terms::Force>| Fall {
        force_n: force.map(|force| force.newtons().round() as u32),
        from_check: None,
        severe: false,
    };
    Use {
        duty: Some(duty.to_owned()),
        rappels: done.rappels,
        lowers: done.lowers,
        run_m: done.run_m,
        falls: done.falls.iter().map(fall).collect(),
    }
}
