//! Rows in bulk, and entries to and from rows.

use super::Dialect;
use super::error::{Result, StoreError};
use crate::entry::Entry;
use crate::event::{Record, VERSION};
use crate::history::Past;
use crate::id::PersonId;
use sqlx::AnyConnection;
use sqlx::any::{AnyArguments, AnyRow};
use sqlx::{Any, Row, query::Query};
use std::fmt::Write as _;
use std::sync::Arc;

/// A value of a row.
#[derive(Debug, Clone)]
pub(super) enum Value {
    Number(i64),
    Text(String),
    Bytes(Vec<u8>),
    MaybeNumber(Option<i64>),
    MaybeText(Option<String>),
}

/// How many rows go in one statement; each size has one text, so that few statements are kept prepared.
const SIZES: [usize; 3] = [64, 8, 1];

/// Writes rows in as few statements as it takes.
pub(super) async fn insert<const N: usize>(
    conn: &mut AnyConnection,
    into: &str,
    rows: Vec<[Value; N]>,
    after: &str,
) -> Result<()> {
    bulk(conn, &format!("INSERT INTO {into} "), rows, after).await
}

/// Runs a statement with rows as its `VALUES`, in as few runs as it takes.
pub(super) async fn bulk<const N: usize>(
    conn: &mut AnyConnection,
    before: &str,
    rows: Vec<[Value; N]>,
    after: &str,
) -> Result<()> {
    let dialect = Dialect::behind(conn);
    let mut rows = rows.into_iter();
    for size in SIZES {
        if rows.len() < size {
            continue;
        }
        let statement = statement(before, size, N, after, dialect);
        while rows.len() >= size {
            let chunk = rows.by_ref().take(size).flatten();
            chunk.fold(sqlx::query(&statement), bind).execute(&mut *conn).await?;
        }
    }
    Ok(())
}

fn statement(before: &str, size: usize, width: usize, after: &str, dialect: Dialect) -> String {
    let mut text = format!("{before}VALUES ");
    for row in 0..size {
        text.push_str(if row == 0 { "(" } else { ", (" });
        for column in 0..width {
            text.push_str(if column == 0 { "" } else { "," });
            // SQLite looks for a name along a list of all names: of hundreds in one statement each costs more than its value.
            let _ = match dialect {
                Dialect::Sqlite => write!(text, "?"),
                Dialect::Postgres => write!(text, "${}", row * width + column + 1),
            };
        }
        text.push(')');
    }
    text.push_str(after);
    text
}

/// `$1,$2,…`, as many as asked for.
pub(super) fn places(count: usize) -> String {
    (1..=count).map(|place| format!("${place}")).collect::<Vec<_>>().join(",")
}

pub(super) fn bind<'q>(query: Query<'q, Any, AnyArguments<'q>>, value: Value) -> Query<'q, Any, AnyArguments<'q>> {
    match value {
        Value::Number(number) => query.bind(number),
        Value::Text(text) => query.bind(text),
        Value::Bytes(bytes) => query.bind(bytes),
        Value::MaybeNumber(number) => query.bind(number),
        Value::MaybeText(text) => query.bind(text),
    }
}

/// The columns of an entry, in the order of [`entry_row`] and [`entry`].
pub(super) const ENTRY: &str = "seq, happened, written_ms, kind, version, body, writer, client, before, hash";

pub(super) fn entry_row(entry: &Entry) -> [Value; 11] {
    [
        Value::Number(entry.seq),
        Value::Text(entry.happened.clone()),
        Value::Number(entry.written_ms),
        Value::Text(entry.kind.clone()),
        Value::Number(entry.version),
        Value::Text(entry.body.clone()),
        Value::Text(entry.writer.clone()),
        Value::Text(entry.client.clone()),
        Value::Text(entry.before.clone()),
        Value::Text(entry.hash.clone()),
        Value::Text(sums(entry)),
    ]
}

pub(super) fn entry(row: &AnyRow) -> Result<Entry> {
    Ok(Entry {
        seq: row.try_get(0)?,
        happened: row.try_get(1)?,
        written_ms: row.try_get(2)?,
        kind: row.try_get(3)?,
        version: row.try_get(4)?,
        body: row.try_get(5)?,
        writer: row.try_get(6)?,
        client: row.try_get(7)?,
        before: row.try_get(8)?,
        hash: row.try_get(9)?,
    })
}

/// The columns that [`sums`] tells apart, in its order.
pub(super) const SUMMED: [&str; 10] =
    ["seq", "happened", "written_ms", "kind", "version", "body", "writer", "client", "before", "hash"];

/// A checksum (CRC-32) of each column, eight digits each: they prove nothing, the chain does; they tell which column changed.
pub(super) fn sums(entry: &Entry) -> String {
    let [seq, written, version] = [entry.seq, entry.written_ms, entry.version].map(|number| number.to_string());
    let fields = [
        &seq,
        &entry.happened,
        &written,
        &entry.kind,
        &version,
        &entry.body,
        &entry.writer,
        &entry.client,
        &entry.before,
        &entry.hash,
    ];
    sums_of(fields.map(String::as_bytes))
}

pub(super) fn sums_of<const N: usize>(fields: [&[u8]; N]) -> String {
    fields.iter().fold(String::with_capacity(8 * N), |mut text, field| {
        let _ = write!(text, "{:08x}", crc32fast::hash(field));
        text
    })
}

/// The columns whose checksum is another.
pub(super) fn changed<'a>(columns: &[&'a str], stored: &str, now: &str) -> Vec<&'a str> {
    if stored.len() != now.len() {
        return vec!["sums"];
    }
    let parts = |text: &str| text.as_bytes().chunks(8).map(<[u8]>::to_vec).collect::<Vec<_>>();
    let differs = parts(stored).into_iter().zip(parts(now)).map(|(stored, now)| stored != now);
    columns.iter().zip(differs).filter(|(_, differs)| *differs).map(|(column, _)| *column).collect()
}

/// What a [`Past`] is read from.
pub(super) struct Fields<'a> {
    pub(super) seq: i64,
    pub(super) happened: &'a str,
    pub(super) written_ms: i64,
    pub(super) version: i64,
    pub(super) writer: &'a str,
    pub(super) body: &'a str,
}

impl Fields<'_> {
    pub(super) fn read(&self) -> Result<Past> {
        if !(1..=VERSION).contains(&self.version) {
            return Err(StoreError::unknown_version(self.seq, self.version));
        }
        let record: Record = serde_json::from_str(self.body).map_err(|why| StoreError::unreadable(self.seq, &why))?;
        let happened = self.happened.parse().map_err(|why| StoreError::unreadable(self.seq, &why))?;
        let writer = PersonId(self.writer.to_owned());
        Ok(Past { seq: self.seq, happened, written_ms: self.written_ms, writer, record: Arc::new(record) })
    }
}

/// An entry, read.
///
/// # Errors
/// [`StoreError::Unreadable`] where its body, its date or its version is none that this program knows.
pub fn read(entry: &Entry) -> Result<Past> {
    let Entry { seq, written_ms, version, .. } = *entry;
    Fields { seq, happened: &entry.happened, written_ms, version, writer: &entry.writer, body: &entry.body }.read()
}
