//! What is to be inspected, and by when.

use super::calendar::{Due, calendar};
use super::labels::compact;
use super::show::{row_json, table};
use super::{Answer, Fault, Rack, Result};
use crate::texts;
use jiff::ToSpan;
use jiff::civil::Date;
use register::standing::State;
use register::store::Query;
use register::summary::Summary;
use serde_json::json;

/// The most rows that a list shows.
const SHOWN: usize = 40;

impl Rack<'_> {
    /// The pieces to be inspected within some days, overdue ones first; withdrawn ones are left out.
    ///
    /// # Errors
    /// Where the store cannot be read.
    pub async fn due(&self, within_days: u32, site: Option<&str>) -> Result {
        let view = self.view().await?;
        let (rows, until) = self.rows_due(within_days, site).await?;
        let overdue: Vec<_> = rows.iter().filter(|row| row.due_on < Some(view.now.on)).collect();
        let values = [("count", rows.len().to_string()), ("until", until.to_string())];
        let mut text = texts::rack("due", &values) + "\n";
        if !overdue.is_empty() {
            let labels: Vec<_> = overdue.iter().map(|row| row.label.clone()).collect();
            text += &format!("{}\n", texts::rack("overdue", &[("pieces", compact(&labels))]));
        }
        if !rows.is_empty() {
            text += &table(&rows[..rows.len().min(SHOWN)], &view);
        }
        if rows.len() > SHOWN {
            text += &format!("{}\n", texts::rack("more-due", &[("count", (rows.len() - SHOWN).to_string())]));
        }
        let json: Vec<_> = rows.iter().map(|row| row_json(row, &view)).collect();
        let mut answer = Answer::cautioned(text, json!({ "until": until, "pieces": json }));
        answer.counts = !overdue.is_empty();
        Ok(answer)
    }

    /// The same as a calendar (RFC 5545), written to a file.
    ///
    /// # Errors
    /// Where the file cannot be written.
    pub async fn due_calendar(&self, within_days: u32, site: Option<&str>, path: &str) -> Result {
        let (rows, _) = self.rows_due(within_days, site).await?;
        let due = |row: &Summary| Some(Due { on: row.due_on?, site: row.site.clone(), label: row.label.clone() });
        let due: Vec<_> = rows.iter().filter_map(due).collect();
        self.write_file(path, &calendar(&due, self.now()))?;
        let values = [("path", path.to_owned()), ("count", due.len().to_string())];
        Ok(Answer::cautioned(
            texts::rack("calendar-written", &values) + "\n",
            json!({ "file": path, "pieces": due.len() }),
        ))
    }

    async fn rows_due(&self, within_days: u32, site: Option<&str>) -> Result<(Vec<Summary>, Date)> {
        let today = self.view().await?.now.on;
        let later = |days: u32| today.checked_add(i64::from(days).days()).unwrap_or(Date::MAX);
        let due_before = Some(later(within_days.saturating_add(1)));
        let query = Query { due_before, site: site.map(str::to_owned), ..Query::default() };
        let mut rows = self.all(query).await?;
        rows.retain(|row| row.standing != State::Withdrawn);
        Ok((rows, later(within_days)))
    }

    pub(super) fn write_file(&self, path: &str, text: &str) -> std::result::Result<(), Fault> {
        self.outside
            .write(path, text)
            .map_err(|why| Fault::new("unwritable", &[("path", path.to_owned()), ("why", why.to_string())]))
    }
}
