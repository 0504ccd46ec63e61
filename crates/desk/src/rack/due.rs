//! What is to be inspected, and by when.

use super::calendar::{Due, calendar};
use super::labels::compact;
use super::show::{row_json, table};
use super::{Answer, Fault, Rack, Result};
use crate::texts;
use async_recursion::async_recursion as boxed;
use jiff::Span;
use jiff::civil::Date;
use register::store::Query;
use register::summary::Summary;
use serde_json::json;

/// Up to how many pieces are counted: past this, that there are more is enough to know.
const COUNTED: i64 = 10_000;

impl Rack<'_> {
    /// The first of the pieces to be inspected within some days, overdue ones first; withdrawn ones are never due.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn due(&self, within_days: u32, site: Option<&str>, limit: u32) -> Result {
        let view = self.view().await?;
        let (query, until) = within(view.now.on, within_days, site);
        let before = query.due_before.unwrap_or(until);
        let rows = self.store.pieces(&Query { limit, ..query }).await?.pieces;
        let [count, overdue] =
            [self.store.due(before, site, COUNTED).await?, self.store.due(view.now.on, site, COUNTED).await?];
        let values = [("count", counted(count)), ("until", until.to_string())];
        let mut text = texts::rack("due", &values) + "\n";
        if overdue > 0 {
            let labels: Vec<_> =
                rows.iter().filter(|row| row.due_on < Some(view.now.on)).map(|row| row.label.clone()).collect();
            let more = usize::try_from(overdue).is_ok_and(|overdue| overdue > labels.len());
            let more = if more { ", …" } else { "" };
            let values = [("count", counted(overdue)), ("pieces", compact(&labels) + more)];
            text += &format!("{}\n", texts::rack("overdue", &values));
        }
        if !rows.is_empty() {
            text += &table(&rows, &view);
        }
        if usize::try_from(count).is_ok_and(|count| count > rows.len()) {
            text += &format!("{}\n", texts::rack("more-due", &[("shown", rows.len().to_string())]));
        }
        let json: Vec<_> = rows.iter().map(|row| row_json(row, &view)).collect();
        let json = json!({ "until": until, "count": count, "overdue": overdue, "pieces": json });
        let mut answer = Answer::cautioned(text, json);
        answer.counts = overdue > 0;
        Ok(answer)
    }

    /// The same as a calendar (RFC 5545), written to a file.
    ///
    /// # Errors
    /// Where the file cannot be written.
    #[boxed]
    pub async fn due_calendar(&self, within_days: u32, site: Option<&str>, path: &str) -> Result {
        let (text, count) = self.calendar_due(within_days, site).await?;
        self.write_file(path, &text)?;
        let values = [("path", path.to_owned()), ("count", count.to_string())];
        Ok(Answer::cautioned(texts::rack("calendar-written", &values) + "\n", json!({ "file": path, "pieces": count })))
    }

    /// The calendar itself, and how many pieces it names.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn calendar_due(&self, within_days: u32, site: Option<&str>) -> Result<(String, usize)> {
        let rows = self.rows_due(within_days, site).await?;
        let due = |row: &Summary| Some(Due { on: row.due_on?, site: row.site.clone(), label: row.label.clone() });
        let due: Vec<_> = rows.iter().filter_map(due).collect();
        Ok((calendar(&due, self.now()), due.len()))
    }

    async fn rows_due(&self, within_days: u32, site: Option<&str>) -> Result<Vec<Summary>> {
        let (query, _) = within(self.view().await?.now.on, within_days, site);
        self.all(query).await
    }

    pub(super) fn write_file(&self, path: &str, text: &str) -> std::result::Result<(), Fault> {
        self.outside
            .write(path, text)
            .map_err(|why| Fault::new("unwritable", &[("path", path.to_owned()), ("why", why.to_string())]))
    }
}

/// What is to be inspected within some days from today, and the last of these.
fn within(today: Date, days: u32, site: Option<&str>) -> (Query, Date) {
    // More days than a span can hold end with the calendar, as does a day past its end.
    let later = |days: u32| {
        let span = Span::new().try_days(i64::from(days));
        span.and_then(|span| today.checked_add(span)).unwrap_or(Date::MAX)
    };
    let due_before = Some(later(days.saturating_add(1)));
    (Query { due_before, site: site.map(str::to_owned), ..Query::default() }, later(days))
}

fn counted(count: i64) -> String {
    if count < COUNTED { count.to_string() } else { texts::rack("or-more", &[("count", count.to_string())]) }
}
