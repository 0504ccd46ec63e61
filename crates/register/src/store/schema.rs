//! The tables, version by version.

use super::dialect::Dialect;
use super::error::{Result, StoreError};
use super::{Store, rebuild};
use crate::entry::BEFORE_THE_FIRST;
use sqlx::AnyConnection;
use sqlx::Row;

/// The version of the tables that this program writes.
pub const SCHEMA: i64 = MIGRATIONS.len() as i64;

/// What leads from each version to the next; never changed, only added to.
const MIGRATIONS: &[&[&str]] = &[LOG, PROJECTION, KITS, FILTERS, BESIDE, OUTDATED, ACCOUNTS, DUE_AT_A_SITE];

/// The log, and what stands beside it.
const LOG: &[&str] = &[
    "CREATE TABLE linkwright (one {key}, version BIGINT NOT NULL)",
    "INSERT INTO linkwright (one, version) VALUES (1, 0)",
    "CREATE TABLE head (one {key}, seq BIGINT NOT NULL, hash {text} NOT NULL)",
    "CREATE TABLE entry (
        seq {key}, happened {text} NOT NULL, written_ms BIGINT NOT NULL, kind {text} NOT NULL,
        version BIGINT NOT NULL, body {text} NOT NULL, writer {text} NOT NULL, client {text} NOT NULL,
        before {text} NOT NULL, hash {text} NOT NULL, sums {text} NOT NULL)",
    "CREATE UNIQUE INDEX entry_client ON entry (client)",
    "CREATE TABLE aside (
        private {text} NOT NULL PRIMARY KEY, salt {bytes} NOT NULL, media {text} NOT NULL,
        content {bytes} NOT NULL, person {text}, sums {text} NOT NULL)",
    "CREATE INDEX aside_person ON aside (person)",
];

/// What is derived from the log: which entries bear upon which thing, and the lists.
const PROJECTION: &[&str] = &[
    "CREATE TABLE about (
        thing BIGINT NOT NULL, seq BIGINT NOT NULL, PRIMARY KEY (thing, seq)) {clustered}",
    "CREATE TABLE link (
        thing BIGINT NOT NULL, source BIGINT NOT NULL, PRIMARY KEY (thing, source)) {clustered}",
    "CREATE INDEX link_source ON link (source, thing)",
    "CREATE TABLE rack (
        id {key}, label {text} NOT NULL, place {text} NOT NULL, serial {text}, gear {text} NOT NULL, model BIGINT,
        site {text}, holder {text}, kit BIGINT, standing {text} NOT NULL, changes_on {text}, due_on {text},
        words {text} NOT NULL)",
    "CREATE INDEX rack_place ON rack (place, id)",
    "CREATE INDEX rack_label ON rack (label)",
    "CREATE INDEX rack_gear ON rack (gear, place, id)",
    "CREATE INDEX rack_model ON rack (model, place, id)",
    "CREATE INDEX rack_site ON rack (site, place, id)",
    "CREATE INDEX rack_holder ON rack (holder, place, id)",
    "CREATE INDEX rack_kit ON rack (kit, place, id)",
    "CREATE INDEX rack_standing ON rack (standing, place, id)",
    "CREATE INDEX rack_due ON rack (due_on, id)",
    "CREATE INDEX rack_changes ON rack (changes_on)",
    "CREATE TABLE word (
        word {text} NOT NULL, place {text} NOT NULL, id BIGINT NOT NULL, PRIMARY KEY (word, place, id)) {clustered}",
];

/// The list of kits.
const KITS: &[&str] = &[
    "CREATE TABLE kit (
        id {key}, label {text} NOT NULL, place {text} NOT NULL, parts BIGINT NOT NULL, holder {text}, since {text},
        due {text})",
    "CREATE INDEX kit_place ON kit (place, id)",
    "CREATE INDEX kit_label ON kit (label)",
    "CREATE INDEX kit_due ON kit (due)",
];

/// What is filtered by several of kind, place and standing at once is found in the index of any of them: each has the others at hand.
const FILTERS: &[&str] = &[
    "DROP INDEX rack_gear",
    "CREATE INDEX rack_gear ON rack (gear, place, id, site, standing)",
    "DROP INDEX rack_site",
    "CREATE INDEX rack_site ON rack (site, place, id, gear, standing)",
    "DROP INDEX rack_standing",
    "CREATE INDEX rack_standing ON rack (standing, place, id, gear, site)",
];

/// What an entry tells lies beside the things that it bears upon, where it is short: as `told::about_row` writes it.
const BESIDE: &[&str] = &[
    "ALTER TABLE about RENAME TO about_before",
    "CREATE TABLE about (
        thing BIGINT NOT NULL, seq BIGINT NOT NULL, told {text}, PRIMARY KEY (thing, seq)) {clustered}",
    "INSERT INTO about (thing, seq, told)
        SELECT thing, seq, CASE WHEN octet_length(tells) <= 512 THEN tells END FROM (
            SELECT thing, entry.seq, concat_ws({unit}, happened, written_ms, version, writer, body) AS tells
            FROM about_before JOIN entry ON entry.seq = about_before.seq) AS told
        ORDER BY thing, seq",
    "DROP TABLE about_before",
];

/// What was judged by what no longer holds is told once, not in every row.
const OUTDATED: &[&str] = &["CREATE TABLE outdated (model {key}, past BIGINT NOT NULL)"];

/// Who may come in by a password, and who has: no part of the log. A sign-in's key is a hash of what its browser holds.
const ACCOUNTS: &[&str] = &[
    "CREATE TABLE account (person {text} NOT NULL PRIMARY KEY, password {text} NOT NULL, made_ms BIGINT NOT NULL)",
    "CREATE TABLE sign_in (
        key {text} NOT NULL PRIMARY KEY, person {text} NOT NULL, begun_ms BIGINT NOT NULL, seen_ms BIGINT NOT NULL)",
    "CREATE INDEX sign_in_person ON sign_in (person)",
];

/// What is due at one site was picked from all that is there, and sorted.
const DUE_AT_A_SITE: &[&str] = &["CREATE INDEX rack_due_site ON rack (site, due_on, id)"];

/// The version since which what is derived is as it is now: what an earlier one derived is made anew.
const DERIVED_SINCE: i64 = 3;

/// Brings the tables up to `to`, and what is derived with them, or leaves all as it was.
pub(super) async fn migrate(store: &Store, to: i64) -> Result<()> {
    let (dialect, place) = (store.dialect, store.place.as_str());
    let found = version(&mut *store.conn().await?, dialect, place).await?;
    if found == to {
        return Ok(());
    }
    let mut writing = store.writing().await?;
    sqlx::query(dialect.lock_schema()).fetch_optional(&mut *writing).await?;
    let found = version(&mut writing, dialect, place).await?;
    for step in found..to {
        let Some(statements) = usize::try_from(step).ok().and_then(|step| MIGRATIONS.get(step)) else { break };
        for statement in *statements {
            sqlx::query(&dialect.schema(statement)).execute(&mut *writing).await?;
        }
        if step == 0 {
            let first = "INSERT INTO head (one, seq, hash) VALUES (1, 0, $1)";
            sqlx::query(first).bind(BEFORE_THE_FIRST).execute(&mut *writing).await?;
        }
        sqlx::query("UPDATE linkwright SET version = $1").bind(step + 1).execute(&mut *writing).await?;
    }
    if (1..DERIVED_SINCE).contains(&found) && to >= DERIVED_SINCE {
        rebuild::rebuild(&mut writing, None, &|_, _| {}).await?;
    }
    if found > 0 {
        // Of a new index nothing is known, and beside one of which much is it looks better than it is. Told together with it: connections
        // that are open already learn of both.
        sqlx::Executor::execute(&mut *writing, dialect.analyse()).await?;
    }
    writing.commit().await
}

/// The version of the tables; 0 where there is none.
async fn version(conn: &mut AnyConnection, dialect: Dialect, place: &str) -> Result<i64> {
    let tables = sqlx::query(dialect.tables()).fetch_all(&mut *conn).await?;
    let tables: Vec<String> = tables.iter().map(|row| row.try_get(0)).collect::<std::result::Result<_, _>>()?;
    let ours = |name: &str| tables.iter().any(|table| table == name);
    let foreign = match dialect {
        Dialect::Sqlite => !tables.is_empty(),
        Dialect::Postgres => ["entry", "head", "aside"].into_iter().any(ours),
    };
    match (ours("linkwright"), foreign) {
        (true, _) => {}
        (false, true) => return Err(StoreError::NotOurs { place: place.to_owned() }),
        (false, false) => return Ok(0),
    }
    let found: i64 = sqlx::query("SELECT version FROM linkwright").fetch_one(conn).await?.try_get(0)?;
    if found > SCHEMA { Err(StoreError::Newer { found, known: SCHEMA }) } else { Ok(found) }
}
