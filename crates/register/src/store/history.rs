//! What bears upon a thing: its own entries, and those of the things that it inherits from.

use super::error::{Result, StoreError};
use super::rows::{self, ENTRY, Fields};
use super::told::Told;
use super::{Batch, Dialect, Store};
use crate::entry::Entry;
use crate::history::Past;
use crate::id::Id;
use crate::id::PersonId;
use crate::private::{Aside, Private};
use async_recursion::async_recursion as boxed;
use sqlx::AnyConnection;
use sqlx::Row;
use std::collections::{BTreeMap, BTreeSet};

/// How many things, or names, are asked for by one statement.
const TOGETHER: usize = 1000;

impl Store {
    /// Every entry that bears upon a piece, a lot, a kit, a model, (by [`super::GROUP`]) the whole rack or ([`super::PEOPLE`]) the people, those of the pieces that
    /// it descends from among them, in the order of the log; corrections are not applied.
    ///
    /// # Errors
    /// Where the store cannot be read, or an entry is none that this program knows.
    #[boxed]
    pub async fn history(&self, id: Id) -> Result<Vec<Past>> {
        of(&mut *self.conn().await?, self.dialect, id).await
    }

    /// The number of the last entry that bears upon a thing, 0 where none does: as long as it stays, so does the thing's history.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn last_about(&self, id: Id) -> Result<i64> {
        last_about(&mut *self.conn().await?, id).await
    }

    /// As [`Store::history`], of many things: those of which the log tells nothing are left out.
    ///
    /// # Errors
    /// As [`Store::history`].
    #[boxed]
    pub async fn histories(&self, ids: &[Id]) -> Result<BTreeMap<Id, Vec<Past>>> {
        let mut conn = self.conn().await?;
        let mut histories = BTreeMap::new();
        for chunk in ids.chunks(TOGETHER) {
            let chunk: Vec<i64> = chunk.iter().map(|id| id.number()).collect();
            histories.extend(Told::of(&mut conn, &chunk).await?.each(|id, history| Some((id, history)))?);
        }
        Ok(histories)
    }

    /// As [`Store::aside`], of many names: what was erased is left out.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn asides(&self, names: &[Private]) -> Result<BTreeMap<Private, Aside>> {
        let mut found = self.asides_there(names).await?;
        if names.iter().any(|name| !found.contains_key(name)) {
            let replaced = self.replaced().await?;
            let instead = |name: &Private| Some((name.clone(), replaced.get(name)?.clone()));
            let instead: Vec<(Private, Private)> =
                names.iter().filter(|name| !found.contains_key(name)).filter_map(instead).collect();
            let now: Vec<Private> = instead.iter().map(|(_, now)| now.clone()).collect();
            let there = self.asides_there(&now).await?;
            found.extend(instead.into_iter().filter_map(|(was, now)| Some((was, there.get(&now)?.clone()))));
        }
        Ok(found)
    }

    async fn asides_there(&self, names: &[Private]) -> Result<BTreeMap<Private, Aside>> {
        let mut conn = self.conn().await?;
        let mut asides = BTreeMap::new();
        for chunk in names.chunks(TOGETHER) {
            let places = rows::places(chunk.len());
            let sql = format!("SELECT private, salt, media, content, person FROM aside WHERE private IN ({places})");
            let query = chunk.iter().fold(sqlx::query(&sql), |query, name| query.bind(name.as_str().to_owned()));
            for row in query.persistent(chunk.len() == 1).fetch_all(&mut *conn).await? {
                let aside = aside(&row)?;
                asides.insert(aside.private.clone(), aside);
            }
        }
        Ok(asides)
    }

    /// Entries as they are stored, from number `from` on, at most `limit`.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn entries(&self, from: i64, limit: i64) -> Result<Vec<Entry>> {
        entries(&mut *self.conn().await?, from, limit).await
    }

    /// What stands beside the log under a name, or what an erasure put in its place; `None` where it was erased.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn aside(&self, name: &Private) -> Result<Option<Aside>> {
        Ok(self.asides(std::slice::from_ref(name)).await?.remove(name))
    }
}

/// As [`Store::last_about`].
pub(super) async fn last_about(conn: &mut AnyConnection, id: Id) -> Result<i64> {
    let last = format!("SELECT coalesce(max(seq), 0) FROM about WHERE thing = {}", id.number());
    Ok(sqlx::query(&last).fetch_one(conn).await?.try_get(0)?)
}

impl Batch {
    /// As [`Store::history`], with what this batch adds.
    ///
    /// # Errors
    /// As [`Store::history`].
    #[boxed]
    pub async fn history(&mut self, id: Id) -> Result<Vec<Past>> {
        let dialect = self.dialect();
        of(self.settled().await?, dialect, id).await
    }

    /// One entry, this batch's among them.
    ///
    /// # Errors
    /// Where the store cannot be read, or the entry is none that this program knows.
    #[boxed]
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

async fn of(conn: &mut AnyConnection, dialect: Dialect, id: Id) -> Result<Vec<Past>> {
    let sql = format!(
        "WITH RECURSIVE source (id) AS (
            SELECT CAST($1 AS BIGINT)
            UNION SELECT link.source FROM source JOIN link ON link.thing = source.id)
        SELECT seq, happened, written_ms, version, writer, body FROM entry
        WHERE seq IN (SELECT about.seq FROM source {} about ON about.thing = source.id) ORDER BY seq",
        dialect.join_in_order()
    );
    let rows = sqlx::query(&sql).bind(id.number()).fetch_all(conn).await?;
    rows.iter().map(past).collect()
}

/// The entry that a row begins with.
pub(super) fn past(row: &sqlx::any::AnyRow) -> Result<Past> {
    Fields {
        seq: row.try_get(0)?,
        happened: row.try_get(1)?,
        written_ms: row.try_get(2)?,
        version: row.try_get(3)?,
        writer: row.try_get(4)?,
        body: row.try_get(5)?,
    }
    .read()
}

/// What parts the entries, and the columns of an entry, in [`packed`]: control characters, which no body, date or writer holds.
pub(super) const UNIT: char = '\u{1f}';
pub(super) const RECORD: char = '\u{1e}';

/// Entries, in no order, as one long text: it is rows that cost time, not bytes.
pub(super) async fn packed(conn: &mut AnyConnection, which: &str) -> Result<String> {
    let sql = format!(
        "SELECT string_agg(concat_ws($1, seq, happened, written_ms, version, writer, body), $2) FROM entry WHERE {which}"
    );
    let query = sqlx::query(&sql).bind(UNIT.to_string()).bind(RECORD.to_string()).persistent(false);
    Ok(query.fetch_one(conn).await?.try_get::<Option<String>, _>(0)?.unwrap_or_default())
}

/// The entries of a text that [`packed`] gave.
pub(super) fn apart(packed: &str) -> std::str::SplitTerminator<'_, char> {
    packed.split_terminator(RECORD)
}

/// The number that one of these begins with.
pub(super) fn number_of(entry: &str) -> Result<i64> {
    let number = entry.split(UNIT).next().unwrap_or_default();
    number.parse().map_err(|_| StoreError::Unfit(format!("`{number}` is no number of an entry")))
}

/// One of these, read.
pub(super) fn unpack(entry: &str) -> Result<Past> {
    let mut parts = entry.splitn(6, UNIT);
    let mut part = || parts.next().unwrap_or_default();
    let number = |text: &str| text.parse().unwrap_or_default();
    let seq = number(part());
    let happened = part();
    let written_ms = number(part());
    let version = number(part());
    Fields { seq, happened, written_ms, version, writer: part(), body: part() }.read()
}

/// The condition that a column is one of some numbers; of none, it never is.
pub(super) fn list<'a>(ids: impl IntoIterator<Item = &'a i64>) -> String {
    let numbers = ids.into_iter().map(i64::to_string).collect::<Vec<_>>().join(",");
    format!("IN ({})", if numbers.is_empty() { "NULL" } else { &numbers })
}

pub(super) async fn numbers(conn: &mut AnyConnection, sql: &str) -> Result<Vec<i64>> {
    let rows = sqlx::query(sql).persistent(false).fetch_all(conn).await?;
    Ok(rows.iter().map(|row| row.try_get(0)).collect::<std::result::Result<_, _>>()?)
}

/// Whom each of some things inherits from, however far back. Asked step by step, as few things inherit at all: a database that does all
/// steps at once makes ready for many.
pub(super) async fn sources(conn: &mut AnyConnection, things: &[i64]) -> Result<BTreeMap<i64, BTreeSet<i64>>> {
    let mut from: BTreeMap<i64, BTreeSet<i64>> = BTreeMap::new();
    let mut next: BTreeSet<i64> = things.iter().copied().collect();
    while !next.is_empty() {
        let sql = format!("SELECT thing, source FROM link WHERE thing {}", list(&next));
        next.clear();
        for row in sqlx::query(&sql).persistent(false).fetch_all(&mut *conn).await? {
            let (thing, source): (i64, i64) = (row.try_get(0)?, row.try_get(1)?);
            from.entry(thing).or_default().insert(source);
            next.insert(source);
        }
        next.retain(|thing| !from.contains_key(thing));
    }
    let inherits = things.iter().filter(|thing| from.contains_key(thing));
    Ok(inherits.map(|thing| (*thing, reached(*thing, &from))).collect())
}

/// All that is reached from a thing, step by step.
fn reached(thing: i64, steps: &BTreeMap<i64, BTreeSet<i64>>) -> BTreeSet<i64> {
    let (mut reached, mut next) = (BTreeSet::new(), vec![thing]);
    while let Some(thing) = next.pop() {
        let on = steps.get(&thing).into_iter().flatten().copied();
        next.extend(on.filter(|thing| reached.insert(*thing)));
    }
    reached
}

/// What inherits from some things, however far down.
pub(super) async fn heirs(conn: &mut AnyConnection, things: &BTreeSet<i64>) -> Result<BTreeSet<i64>> {
    let (mut heirs, mut next) = (BTreeSet::new(), things.clone());
    while !next.is_empty() {
        let found = numbers(conn, &format!("SELECT thing FROM link WHERE source {}", list(&next))).await?;
        next = found.into_iter().filter(|heir| heirs.insert(*heir)).collect();
    }
    Ok(heirs)
}
