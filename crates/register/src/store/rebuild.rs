//! Making all that is derived anew from the log.
//!
//! Which entries bear upon which things is found in one pass over the log, and kept in memory as pairs of numbers: in their order they are
//! written, and in their order the things are judged.

use super::batch::{ABOUT_INTO, LINK_INTO, pair};
use super::error::Result;
use super::history::{apart, numbers, packed, unpack};
use super::rows;
use super::shelf::{self, CHUNK, EVERY_MODEL, Judged, RACK, Shelf, TOGETHER, WORD_INTO, judge, judged};
use super::told::{Texts, Told, about_row};
use super::touch::{self, FIRST};
use super::{Progress, Store, head, kits};
use crate::history::Past;
use async_recursion::async_recursion as boxed;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rayon::prelude::*;
use sqlx::AnyConnection;
use std::collections::BTreeMap;

/// How many entries are read at a time.
const ENTRIES: i64 = 32_768;
/// How many pairs are handed over at a time.
const PAIRS: usize = 65_536;
/// How many pairs are told of from one pass over the log.
const TOLD: usize = 1_000_000;

impl Store {
    /// Makes the lists anew from the log alone, with the standings of a day. Without one, the rows are
    /// told outdated, for [`Store::refresh`]. Gives how many pieces there are.
    ///
    /// # Errors
    /// Where the store cannot be read or written, or an entry is none that this program knows; then all stays as it was.
    #[boxed]
    pub async fn rebuild(&self, on: Option<Date>, progress: &dyn Progress) -> Result<u64> {
        let mut writing = self.writing().await?;
        head(&mut writing, self.dialect.lock_head()).await?;
        let pieces = rebuild(&mut writing, on, progress).await?;
        writing.commit().await?;
        sqlx::Executor::execute(&mut *self.conn().await?, self.dialect.analyse()).await?;
        Ok(pieces)
    }
}

pub(super) async fn rebuild(conn: &mut AnyConnection, on: Option<Date>, progress: &dyn Progress) -> Result<u64> {
    for table in ["word", "rack", "kit", "link", "about", "outdated"] {
        sqlx::query(&format!("DELETE FROM {table}")).execute(&mut *conn).await?;
    }
    let log = relate(conn, progress).await?;
    for some in log.about.chunks(TOLD) {
        tell(conn, some).await?;
    }
    for some in log.links.chunks(PAIRS) {
        rows::insert(conn, LINK_INTO, some.iter().copied().map(pair).collect(), "").await?;
    }
    let pieces = shelve(conn, &log, on.unwrap_or_else(|| day_after(log.written_ms)), progress).await?;
    if on.is_none() {
        shelf::outdate(conn, EVERY_MODEL).await?;
    }
    Ok(pieces)
}

/// Wherever on earth it was written, nothing in the log happened later than this.
fn day_after(ms: i64) -> Date {
    let day = Timestamp::from_millisecond(ms).map_or(Date::ZERO, |at| at.to_zoned(TimeZone::UTC).date());
    day.saturating_add(jiff::Span::new().days(1))
}

/// What the whole log bears upon.
#[derive(Default)]
struct Log {
    /// Each thing with each entry that bears upon it, in order.
    about: Vec<(i64, i64)>,
    /// Each thing with each that it inherits from, in order.
    links: Vec<(i64, i64)>,
    /// The last entry.
    last: i64,
    /// When the latest was written.
    written_ms: i64,
}

/// What an entry bears upon, links and leans on.
struct Related {
    seq: i64,
    things: Vec<i64>,
    links: Vec<(i64, i64)>,
    leans_on: Option<i64>,
    written_ms: i64,
}

/// Which entries bear upon which things.
async fn relate(conn: &mut AnyConnection, progress: &dyn Progress) -> Result<Log> {
    let last = numbers(conn, "SELECT coalesce(max(seq), 0) FROM entry").await?.into_iter().sum::<i64>();
    let (mut log, mut leaning) = (Log { last, ..Log::default() }, Leaning::default());
    for from in (0..last).step_by(usize::try_from(ENTRIES).unwrap_or(usize::MAX)) {
        let to = last.min(from + ENTRIES);
        let text = packed(conn, &format!("seq > {from} AND seq <= {to}")).await?;
        let entries: Vec<&str> = apart(&text).collect();
        let mut related: Vec<Related> =
            entries.into_par_iter().map(|entry| unpack(entry).map(|past| related(&past))).collect::<Result<_>>()?;
        related.sort_unstable_by_key(|one| one.seq);
        for one in related {
            log.written_ms = log.written_ms.max(one.written_ms);
            log.links.extend(&one.links);
            leaning.extend(one.leans_on.map(|earlier| (one.seq, earlier)));
            log.about.extend(one.things.into_iter().map(|thing| (thing, one.seq)));
        }
        progress(so_far(to, 2), so_far(last, 1));
    }
    lean(&mut log.about, &leaning);
    for pairs in [&mut log.about, &mut log.links] {
        pairs.par_sort_unstable();
        pairs.dedup();
    }
    Ok(log)
}

fn so_far(entries: i64, share: u64) -> u64 {
    u64::try_from(entries).unwrap_or_default() / share
}

fn related(past: &Past) -> Related {
    let Past { seq, record, written_ms, .. } = past;
    let (things, links) = (touch::things(*seq, record), touch::links(*seq, record));
    Related { seq: *seq, things, links, leans_on: touch::leans_on(&record.event), written_ms: *written_ms }
}

/// Entries, each with the earlier one that it leans on.
type Leaning = BTreeMap<i64, i64>;

/// Adds to what each entry bears upon that of the one that it leans on, whatever that one leans on among it. The pairs are by entry.
fn lean(about: &mut Vec<(i64, i64)>, leaning: &Leaning) {
    let mut added = Vec::new();
    for (entry, earlier) in leaning.iter().filter(|(entry, earlier)| earlier < entry) {
        let mut next = Some(*earlier);
        while let Some(on) = next {
            let first = about.partition_point(|(_, seq)| *seq < on);
            let things = about[first..].iter().take_while(|(_, seq)| *seq == on);
            added.extend(things.map(|(thing, _)| (*thing, *entry)));
            next = leaning.get(&on).copied().filter(|earlier| *earlier < on);
        }
    }
    about.extend(added);
}

/// Writes which entries bear upon which things, and what they tell.
async fn tell(conn: &mut AnyConnection, about: &[(i64, i64)]) -> Result<()> {
    let texts = Texts::of(conn, about.iter().map(|(_, seq)| *seq).collect()).await?;
    for some in about.chunks(PAIRS) {
        let rows = some.iter().map(|(thing, seq)| about_row(*thing, *seq, texts.tells(*seq))).collect();
        rows::insert(conn, ABOUT_INTO, rows, "").await?;
    }
    Ok(())
}

/// The rows of all pieces. While some are judged, the next are read.
async fn shelve(conn: &mut AnyConnection, log: &Log, on: Date, progress: &dyn Progress) -> Result<u64> {
    let group = shelf::fold_group(conn).await?;
    let first = log.about.partition_point(|(thing, _)| *thing < FIRST);
    let things: Vec<i64> = log.about[first..].chunk_by(|one, next| one.0 == next.0).map(|own| own[0].0).collect();
    let mut chunks = things.chunks(TOGETHER);
    let (mut pieces, mut judging) = (0, None);
    loop {
        let next = match chunks.next() {
            Some(some) => {
                Some((judge(Told::of(conn, some).await?, &group, on), some.last().copied().unwrap_or_default()))
            }
            None => None,
        };
        if let Some((judging, last)) = judging.take() {
            let Judged { pieces: shelves, kits } = judged(judging).await?;
            pieces += shelves.len() as u64;
            put(conn, &shelves).await?;
            kits::insert(conn, &kits).await?;
            progress(so_far(log.last, 2) + so_far(last / FIRST, 2), so_far(log.last, 1));
        }
        if next.is_none() {
            return Ok(pieces);
        }
        judging = next;
    }
}

async fn put(conn: &mut AnyConnection, shelves: &[Shelf]) -> Result<()> {
    for some in shelves.chunks(CHUNK) {
        rows::insert(conn, &format!("rack ({RACK})"), some.iter().map(Shelf::rack_row).collect(), "").await?;
    }
    let mut words: Vec<_> = shelves.iter().flat_map(Shelf::word_keys).collect();
    words.par_sort_unstable();
    for some in words.chunks(PAIRS) {
        rows::insert(conn, WORD_INTO, some.iter().copied().map(shelf::word_row).collect(), "").await?;
    }
    Ok(())
}
