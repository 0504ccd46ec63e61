//! What bears upon a thing: its own entries, and those of the things that it inherits from.

use super::error::Result;
use super::rows::{self, ENTRY, Told};
use super::{Batch, Store};
use crate::entry::Entry;
use crate::history::Past;
use crate::id::Id;
use crate::id::PersonId;
use crate::private::{Aside, Private};
use sqlx::AnyConnection;
use sqlx::Row;
use std::collections::BTreeMap;

impl Store {
    /// Every entry that bears upon a piece, a lot, a kit, a model or (by [`super::GROUP`]) the whole rack, those of the pieces that
    /// it descends from among them, in the order of the log; corrections are not applied.
    ///
    /// # Errors
    /// Where the store cannot be read, or an entry is none that this program knows.
    pub async fn history(&self, id: Id) -> Result<Vec<Past>> {
        of(&mut *self.conn().await?, id).await
    }

    /// Entries as they are stored, from number `from` on, at most `limit`.
    ///
    /// # Errors
    /// Where the store cannot be read.
    pub async fn entries(&self, from: i64, limit: i64) -> Result<Vec<Entry>> {
        entries(&mut *self.conn().await?, from, limit).await
    }

    /// What stands beside the log under a name; `None` where it was erased.
    ///
    /// # Errors
    /// Where the store cannot be read.
    pub async fn aside(&self, name: &Private) -> Result<Option<Aside>> {
        let sql = "SELECT private, salt, media, content, person FROM aside WHERE private = $1";
        let row = sqlx::query(sql).bind(name.as_str()).fetch_optional(&mut *self.conn().await?).await?;
        row.map(|row| aside(&row)).transpose()
    }
}

impl Batch {
    /// As [`Store::history`], with what this batch adds.
    ///
    /// # Errors
    /// As [`Store::history`].
    pub async fn history(&mut self, id: Id) -> Result<Vec<Past>> {
        of(self.settled().await?, id).await
    }

    /// One entry, this batch's among them.
    ///
    /// # Errors
    /// Where the store cannot be read, or the entry is none that this program knows.
    pub async fn entry(&mut self, seq: i64) -> Result<Option<Past>> {
        entry_at(self.settled().await?, seq).await
    }
}

pub(super) fn aside(row: &sqlx::any::AnyRow) -> Result<Aside> {
    let salt: Vec<u8> = row.try_get(1)?;
    let person: Option<String> = row.try_get(4)?;
    Ok(Aside {
        private: Private::from_stored(row.try_get(0)?),
        salt: salt.try_into().unwrap_or_default(),
        media: row.try_get(2)?,
        content: row.try_get(3)?,
        person: person.map(PersonId),
    })
}

pub(super) async fn entries(conn: &mut AnyConnection, from: i64, limit: i64) -> Result<Vec<Entry>> {
    let sql = format!("SELECT {ENTRY} FROM entry WHERE seq >= $1 ORDER BY seq LIMIT $2");
    let rows = sqlx::query(&sql).bind(from).bind(limit).fetch_all(conn).await?;
    rows.iter().map(rows::entry).collect()
}

pub(super) async fn entry_at(conn: &mut AnyConnection, seq: i64) -> Result<Option<Past>> {
    let found = entries(conn, seq, 1).await?.into_iter().find(|entry| entry.seq == seq);
    found.map(|entry| rows::read(&entry)).transpose()
}

async fn of(conn: &mut AnyConnection, id: Id) -> Result<Vec<Past>> {
    let sql = "WITH RECURSIVE source (id) AS (
            SELECT CAST($1 AS BIGINT)
            UNION SELECT link.source FROM source JOIN link ON link.thing = source.id)
        SELECT DISTINCT entry.seq, happened, written_ms, version, writer, body
        FROM source JOIN about ON about.thing = source.id JOIN entry ON entry.seq = about.seq ORDER BY entry.seq";
    let rows = sqlx::query(sql).bind(id.number()).fetch_all(conn).await?;
    rows.iter().map(|row| past(row, 0)).collect()
}

/// The entry whose columns begin at `first`.
fn past(row: &sqlx::any::AnyRow, first: usize) -> Result<Past> {
    Told {
        seq: row.try_get(first)?,
        happened: row.try_get(first + 1)?,
        written_ms: row.try_get(first + 2)?,
        version: row.try_get(first + 3)?,
        writer: row.try_get(first + 4)?,
        body: row.try_get(first + 5)?,
    }
    .read()
}

/// What parts a row of [`PACKED`]: control characters, which no body, date or writer holds.
const UNIT: char = '\u{1f}';
const RECORD: char = '\u{1e}';

/// Many entries in one row: it is the rows that cost time, not the bytes.
const PACKED: &str = "string_agg(entry.seq || $1 || happened || $1 || written_ms || $1 || version || $1 || writer || $1
    || body, $2 ORDER BY entry.seq)";

/// The histories of the pieces among `things`, each with what it inherits. Things that are no pieces are left out by those who
/// ask.
pub(super) async fn of_many(conn: &mut AnyConnection, things: &str) -> Result<BTreeMap<i64, Vec<Past>>> {
    let mut histories = own(conn, &format!("thing {things}")).await?;
    for (thing, sources) in sources(conn, things).await? {
        let list = sources.iter().map(i64::to_string).collect::<Vec<_>>().join(",");
        let inherited = own(conn, &format!("thing IN ({list})")).await?;
        let history = histories.entry(thing).or_default();
        history.extend(inherited.into_values().flatten());
        history.sort_by_key(|past| past.seq);
        history.dedup_by_key(|past| past.seq);
    }
    Ok(histories)
}

async fn own(conn: &mut AnyConnection, which: &str) -> Result<BTreeMap<i64, Vec<Past>>> {
    let sql =
        format!("SELECT thing, {PACKED} FROM about JOIN entry ON entry.seq = about.seq WHERE {which} GROUP BY thing");
    let query = sqlx::query(&sql).bind(UNIT.to_string()).bind(RECORD.to_string()).persistent(false);
    let mut histories = BTreeMap::new();
    for row in query.fetch_all(conn).await? {
        let packed: &str = row.try_get(1)?;
        let history = packed.split(RECORD).map(unpack).collect::<Result<Vec<_>>>()?;
        histories.insert(row.try_get(0)?, history);
    }
    Ok(histories)
}

fn unpack(packed: &str) -> Result<Past> {
    let mut parts = packed.splitn(6, UNIT);
    let mut part = || parts.next().unwrap_or_default();
    let number = |text: &str| text.parse().unwrap_or_default();
    let seq = number(part());
    let happened = part();
    let written_ms = number(part());
    let version = number(part());
    Told { seq, happened, written_ms, version, writer: part(), body: part() }.read()
}

/// Whom each of `things` inherits from, however far back.
async fn sources(conn: &mut AnyConnection, things: &str) -> Result<BTreeMap<i64, Vec<i64>>> {
    let sql = format!(
        "WITH RECURSIVE up (thing, source) AS (
            SELECT thing, source FROM link WHERE thing {things}
            UNION SELECT up.thing, link.source FROM up JOIN link ON link.thing = up.source)
        SELECT thing, source FROM up"
    );
    let mut sources: BTreeMap<i64, Vec<i64>> = BTreeMap::new();
    for row in sqlx::query(&sql).persistent(false).fetch_all(conn).await? {
        sources.entry(row.try_get(0)?).or_default().push(row.try_get(1)?);
    }
    Ok(sources)
}
