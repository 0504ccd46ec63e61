//! Making all that is derived anew from the log.

use super::batch::{ABOUT_INTO, LINK_INTO, leant_on, pairs};
use super::error::Result;
use super::history::of_many;
use super::rows::{self, Told};
use super::shelf::{self, RACK};
use super::touch::{self, GROUP};
use super::{Progress, Store, head};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rayon::prelude::*;
use sqlx::AnyConnection;
use sqlx::Row;
use std::collections::BTreeSet;

/// How many entries are read at a time.
const ENTRIES: i64 = 16_384;
/// How many things.
const THINGS: i64 = 8_192;

impl Store {
    /// Makes the lists anew from the log alone, with the standings of a day. Without one, the rows are
    /// marked for [`Store::refresh`]. Gives how many pieces there are.
    ///
    /// # Errors
    /// Where the store cannot be read or written, or an entry is none that this program knows; then all stays as it was.
    pub async fn rebuild(&self, on: Option<Date>, progress: Progress<'_>) -> Result<u64> {
        let mut writing = self.writing().await?;
        head(&mut writing, self.dialect.lock_head()).await?;
        let pieces = rebuild(&mut writing, on, progress).await?;
        writing.commit().await?;
        sqlx::Executor::execute(&mut *self.conn().await?, self.dialect.analyse()).await?;
        Ok(pieces)
    }
}

pub(super) async fn rebuild(conn: &mut AnyConnection, on: Option<Date>, progress: Progress<'_>) -> Result<u64> {
    for table in ["word", "rack", "link", "about"] {
        sqlx::query(&format!("DELETE FROM {table}")).execute(&mut *conn).await?;
    }
    let (last, written) = relate(conn, progress).await?;
    let pieces = shelve(conn, on.unwrap_or_else(|| day_after(written)), last, progress).await?;
    if on.is_none() {
        shelf::mark(conn, "").await?;
    }
    Ok(pieces)
}

/// Wherever on earth it was written, nothing in the log happened later than this.
fn day_after(ms: i64) -> Date {
    let day = Timestamp::from_millisecond(ms).map_or(Date::ZERO, |at| at.to_zoned(TimeZone::UTC).date());
    day.saturating_add(jiff::Span::new().days(1))
}

/// What an entry bears upon, links and leans on.
struct Related {
    seq: i64,
    things: Vec<i64>,
    links: Vec<(i64, i64)>,
    leans_on: Option<i64>,
}

/// Which entries bear upon which things. Gives the last entry and when it was written.
async fn relate(conn: &mut AnyConnection, progress: Progress<'_>) -> Result<(i64, i64)> {
    let sql = "SELECT seq, happened, written_ms, version, writer, body FROM entry WHERE seq > $1 ORDER BY seq LIMIT $2";
    let total = u64::try_from(head(conn, "SELECT seq, hash FROM head").await?.seq).unwrap_or_default();
    let (mut last, mut written) = (0, 0);
    loop {
        let found = sqlx::query(sql).bind(last).bind(ENTRIES).fetch_all(&mut *conn).await?;
        let Some(row) = found.last() else { return Ok((last, written)) };
        (last, written) = (row.try_get(0)?, row.try_get(2)?);
        let related = found.par_iter().map(related).collect::<Result<Vec<_>>>()?;
        let (mut about, mut links) = (BTreeSet::new(), BTreeSet::new());
        for mut one in related {
            if let Some(earlier) = one.leans_on {
                one.things.extend(leant_on(conn, earlier, &mut false).await?);
            }
            about.extend(one.things.into_iter().map(|thing| (thing, one.seq)));
            links.extend(one.links);
        }
        rows::insert(conn, ABOUT_INTO, pairs(about), "").await?;
        rows::insert(conn, LINK_INTO, pairs(links), " ON CONFLICT DO NOTHING").await?;
        progress(u64::try_from(last).unwrap_or_default() / 2, total);
    }
}

fn related(row: &sqlx::any::AnyRow) -> Result<Related> {
    let seq = row.try_get(0)?;
    let told = Told {
        seq,
        happened: row.try_get(1)?,
        written_ms: row.try_get(2)?,
        version: row.try_get(3)?,
        writer: row.try_get(4)?,
        body: row.try_get(5)?,
    };
    let record = told.read()?.record;
    let (things, links) = (touch::things(seq, &record), touch::links(seq, &record));
    Ok(Related { seq, things, links, leans_on: touch::leans_on(&record.event) })
}

/// The rows of all pieces.
async fn shelve(conn: &mut AnyConnection, on: Date, last_entry: i64, progress: Progress<'_>) -> Result<u64> {
    let group = shelf::group(conn).await?;
    let bound = "SELECT max(thing) FROM
        (SELECT DISTINCT thing FROM about WHERE thing > $1 ORDER BY thing LIMIT $2) AS few";
    let (mut from, mut pieces) = (GROUP.number(), 0);
    loop {
        let row = sqlx::query(bound).bind(from).bind(THINGS).fetch_one(&mut *conn).await?;
        let Some(to) = row.try_get::<Option<i64>, _>(0)? else { return Ok(pieces) };
        let histories = of_many(conn, &format!("BETWEEN {} AND {to}", from + 1)).await?;
        let shelves = shelf::shelves(&histories, &group, on);
        pieces += shelves.len() as u64;
        let racks = shelves.iter().map(shelf::Shelf::rack_row).collect();
        rows::insert(conn, &format!("rack ({RACK})"), racks, "").await?;
        let mut words: Vec<_> = shelves.iter().flat_map(shelf::Shelf::word_keys).collect();
        words.par_sort_unstable();
        rows::insert(conn, "word (word, place, id)", words.into_iter().map(shelf::word_row).collect(), "").await?;
        from = to;
        let total = u64::try_from(last_entry).unwrap_or_default();
        progress((total + u64::try_from(to).unwrap_or_default() / u64::from(crate::id::PER_ENTRY)) / 2, total);
    }
}
