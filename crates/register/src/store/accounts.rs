//! Accounts and sign-ins: who may come in by a password, and who has. They stand beside the log and are no part of it; a backup carries none,
//! and with a person they are erased.

use super::Store;
use super::error::Result;
use crate::id::PersonId;
use async_recursion::async_recursion as boxed;
use sqlx::{AnyConnection, Row};

/// A person who may come in by a password.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Account {
    /// Whose it is.
    pub person: PersonId,
    /// Since when, in milliseconds since 1970 in UTC.
    pub made_ms: i64,
    /// How many sign-ins of theirs have not ended.
    pub sign_ins: i64,
    /// When any of these was used last; nothing where there is none.
    pub seen_ms: Option<i64>,
}

/// One person in one browser, from the password on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignIn {
    /// Who.
    pub person: PersonId,
    /// When the password was given, in milliseconds since 1970 in UTC.
    pub begun_ms: i64,
    /// When it was used last, as far as that is written down.
    pub seen_ms: i64,
}

/// When a sign-in has run out, in milliseconds since 1970 in UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RunOut {
    /// Those that began before.
    pub begun_before_ms: i64,
    /// Those that were not used since.
    pub unseen_since_ms: i64,
}

impl SignIn {
    /// Whether it has run out.
    #[must_use]
    pub const fn is_out(&self, by: RunOut) -> bool {
        self.begun_ms < by.begun_before_ms || self.seen_ms < by.unseen_since_ms
    }
}

impl Store {
    /// What is kept of a person's password; nothing where they have no account.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn password(&self, person: &PersonId) -> Result<Option<String>> {
        let sql = "SELECT password FROM account WHERE person = $1";
        let row = sqlx::query(sql).bind(person.0.clone()).fetch_optional(&mut *self.conn().await?).await?;
        Ok(row.map(|row| row.try_get(0)).transpose()?)
    }

    /// Every account, with the sign-ins that have not run out.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn accounts(&self, by: RunOut) -> Result<Vec<Account>> {
        let sql = "SELECT account.person, made_ms, COUNT(key), MAX(seen_ms)
            FROM account LEFT JOIN sign_in
                ON sign_in.person = account.person AND begun_ms >= $1 AND seen_ms >= $2
            GROUP BY account.person, made_ms ORDER BY account.person";
        let query = sqlx::query(sql).bind(by.begun_before_ms).bind(by.unseen_since_ms);
        let rows = query.fetch_all(&mut *self.conn().await?).await?;
        let account = |row: &sqlx::any::AnyRow| {
            let (made_ms, sign_ins, seen_ms) = (row.try_get(1)?, row.try_get(2)?, row.try_get(3)?);
            Ok(Account { person: PersonId(row.try_get(0)?), made_ms, sign_ins, seen_ms })
        };
        rows.iter().map(account).collect()
    }

    /// Makes an account; gives whether there was none before.
    ///
    /// # Errors
    /// Where the store cannot be written to.
    #[boxed]
    pub async fn open_account(&self, person: &PersonId, password: &str, now_ms: i64) -> Result<bool> {
        let sql = "INSERT INTO account (person, password, made_ms) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING";
        let query = sqlx::query(sql).bind(person.0.clone()).bind(password.to_owned()).bind(now_ms);
        Ok(query.execute(&mut *self.conn().await?).await?.rows_affected() > 0)
    }

    /// Gives an account another password and ends its sign-ins, but for that with the key `but`; gives whether there is one.
    ///
    /// # Errors
    /// Where the store cannot be written to; then the old password still holds.
    #[boxed]
    pub async fn set_password(&self, person: &PersonId, password: &str, but: Option<&str>) -> Result<bool> {
        let mut writing = self.writing().await?;
        let sql = "UPDATE account SET password = $1 WHERE person = $2";
        let query = sqlx::query(sql).bind(password.to_owned()).bind(person.0.clone());
        let is_there = query.execute(&mut *writing).await?.rows_affected() > 0;
        let sql = "DELETE FROM sign_in WHERE person = $1 AND key <> $2";
        let query = sqlx::query(sql).bind(person.0.clone()).bind(but.unwrap_or_default().to_owned());
        query.execute(&mut *writing).await?;
        writing.commit().await?;
        Ok(is_there)
    }

    /// Takes an account away with its sign-ins; gives whether there was one.
    ///
    /// # Errors
    /// Where the store cannot be written to; then all stays.
    #[boxed]
    pub async fn close_account(&self, person: &PersonId) -> Result<bool> {
        let mut writing = self.writing().await?;
        let was_there = forget_account(&mut writing, person).await?;
        writing.commit().await?;
        Ok(was_there)
    }

    /// Writes a sign-in down under its key, where the account still has the password that was looked at; gives whether it has. Those that
    /// have run out are swept away.
    ///
    /// # Errors
    /// Where the store cannot be written to.
    #[boxed]
    pub async fn begin_sign_in(
        &self,
        key: &str,
        person: &PersonId,
        password: &str,
        now_ms: i64,
        by: RunOut,
    ) -> Result<bool> {
        let mut writing = self.writing().await?;
        let sql = "DELETE FROM sign_in WHERE begun_ms < $1 OR seen_ms < $2";
        sqlx::query(sql).bind(by.begun_before_ms).bind(by.unseen_since_ms).execute(&mut *writing).await?;
        let sql = "INSERT INTO sign_in (key, person, begun_ms, seen_ms)
            SELECT $1, person, $2, $3 FROM account WHERE person = $4 AND password = $5";
        let query = sqlx::query(sql).bind(key.to_owned()).bind(now_ms).bind(now_ms);
        let query = query.bind(person.0.clone()).bind(password.to_owned());
        let is_in = query.execute(&mut *writing).await?.rows_affected() > 0;
        writing.commit().await?;
        Ok(is_in)
    }

    /// The sign-in with a key; it may have run out.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn sign_in(&self, key: &str) -> Result<Option<SignIn>> {
        let sql = "SELECT person, begun_ms, seen_ms FROM sign_in WHERE key = $1";
        let row = sqlx::query(sql).bind(key.to_owned()).fetch_optional(&mut *self.conn().await?).await?;
        let Some(row) = row else { return Ok(None) };
        Ok(Some(SignIn { person: PersonId(row.try_get(0)?), begun_ms: row.try_get(1)?, seen_ms: row.try_get(2)? }))
    }

    /// Writes down that a sign-in was used.
    ///
    /// # Errors
    /// Where the store cannot be written to.
    #[boxed]
    pub async fn saw_sign_in(&self, key: &str, now_ms: i64) -> Result<()> {
        let sql = "UPDATE sign_in SET seen_ms = $1 WHERE key = $2";
        sqlx::query(sql).bind(now_ms).bind(key.to_owned()).execute(&mut *self.conn().await?).await?;
        Ok(())
    }

    /// Ends one sign-in.
    ///
    /// # Errors
    /// Where the store cannot be written to.
    #[boxed]
    pub async fn end_sign_in(&self, key: &str) -> Result<()> {
        let sql = "DELETE FROM sign_in WHERE key = $1";
        sqlx::query(sql).bind(key.to_owned()).execute(&mut *self.conn().await?).await?;
        Ok(())
    }

    /// Ends every sign-in of a person; gives how many there were.
    ///
    /// # Errors
    /// Where the store cannot be written to.
    #[boxed]
    pub async fn end_sign_ins(&self, person: &PersonId) -> Result<u64> {
        let sql = "DELETE FROM sign_in WHERE person = $1";
        let done = sqlx::query(sql).bind(person.0.clone()).execute(&mut *self.conn().await?).await?;
        Ok(done.rows_affected())
    }
}

/// Takes a person's account and sign-ins away; gives whether there was an account.
pub(super) async fn forget_account(conn: &mut AnyConnection, person: &PersonId) -> Result<bool> {
    sqlx::query("DELETE FROM sign_in WHERE person = $1").bind(person.0.clone()).execute(&mut *conn).await?;
    let done = sqlx::query("DELETE FROM account WHERE person = $1").bind(person.0.clone()).execute(conn).await?;
    Ok(done.rows_affected() > 0)
}

/// Takes every account and sign-in out of a store that is to be a backup, from its file as well.
pub(super) async fn leave_out(store: &Store) -> Result<()> {
    let mut conn = store.conn().await?;
    for sql in ["DELETE FROM sign_in", "DELETE FROM account", "PRAGMA wal_checkpoint(TRUNCATE)"] {
        sqlx::query(sql).fetch_optional(&mut *conn).await?;
    }
    Ok(())
}
