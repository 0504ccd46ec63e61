//! Making all that is derived anew from the log.

use super::batch::{ABOUT_INTO, LINK_INTO, leant_on, pairs};
use super::error::Result;
use super::history::{numbers, of_many, packed};
use super::kits;
use super::rows;
use super::shelf::{self, Judged, RACK, Shelf, judge, judged};
use super::touch::{self, FIRST};
use super::{Progress, Store, head};
use crate::history::Past;
use crate::id::PER_ENTRY;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rayon::prelude::*;
use sqlx::AnyConnection;
use sqlx::Row;
use std::collections::{BTreeMap, BTreeSet};

/// How many entries are read at a time.
const ENTRIES: usize = 32_768;
/// How many things.
const THINGS: i64 = 4_096;

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
    for table in ["word", "rack", "kit", "link", "about"] {
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
    let last = numbers(conn, "SELECT coalesce(max(seq), 0) FROM entry").await?.into_iter().sum::<i64>();
    let mut written = 0;
    for from in (0..last).step_by(ENTRIES) {
        let to = from + i64::try_from(ENTRIES).unwrap_or(i64::MAX);
        let entries = packed(conn, &format!("seq > {from} AND seq <= {to}")).await?;
        written = entries.iter().map(|past| past.written_ms).fold(written, i64::max);
        let related: Vec<Related> = entries.par_iter().map(related).collect();
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
        progress(u64::try_from(to.min(last)).unwrap_or_default() / 2, u64::try_from(last).unwrap_or_default());
    }
    Ok((last, written))
}

fn related(past: &Past) -> Related {
    let Past { seq, record, .. } = past;
    let (things, links) = (touch::things(*seq, record), touch::links(*seq, record));
    Related { seq: *seq, things, links, leans_on: touch::leans_on(&record.event) }
}

/// The rows of all pieces. While some are judged, the next are read.
async fn shelve(conn: &mut AnyConnection, on: Date, last_entry: i64, progress: Progress<'_>) -> Result<u64> {
    let group = shelf::fold_group(conn).await?;
    let (mut from, mut pieces, mut judging) = (FIRST - 1, 0, None);
    loop {
        let next = some(conn, from).await?;
        if let Some(judging) = judging.take() {
            let Judged { pieces: shelves, kits } = judged(judging).await;
            pieces += shelves.len() as u64;
            put(conn, &shelves).await?;
            kits::insert(conn, &kits).await?;
        }
        let Some((histories, to)) = next else { return Ok(pieces) };
        judging = Some(judge(histories, &group, on));
        from = to;
        let total = u64::try_from(last_entry).unwrap_or_default();
        progress((total + u64::try_from(to).unwrap_or_default() / u64::from(PER_ENTRY)) / 2, total);
    }
}

/// The histories of some things after `from`, and the last of those things.
async fn some(conn: &mut AnyConnection, from: i64) -> Result<Option<(BTreeMap<i64, Vec<Past>>, i64)>> {
    let bound = "SELECT max(thing) FROM
        (SELECT DISTINCT thing FROM about WHERE thing > $1 ORDER BY thing LIMIT $2) AS few";
    let row = sqlx::query(bound).bind(from).bind(THINGS).fetch_one(&mut *conn).await?;
    let Some(to) = row.try_get::<Option<i64>, _>(0)? else { return Ok(None) };
    Ok(Some((of_many(conn, &format!("BETWEEN {} AND {to}", from + 1)).await?, to)))
}

async fn put(conn: &mut AnyConnection, shelves: &[Shelf]) -> Result<()> {
    let racks = shelves.iter().map(Shelf::rack_row).collect();
    rows::insert(conn, &format!("rack ({RACK})"), racks, "").await?;
    let mut words: Vec<_> = shelves.iter().flat_map(Shelf::word_keys).collect();
    words.par_sort_unstable();
    rows::insert(conn, "word (word, place, id)", words.into_iter().map(shelf::word_row).collect(), "").await
}
