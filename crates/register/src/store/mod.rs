//! The store: keeps the log, and beside it the lists that are derived from it.
//!
//! ```text
//!   draft ─▶ batch ─▶ head's lock ─▶ entry, aside        the log and what stands beside it
//!                         │
//!                         └─▶ about, link ─▶ history ─▶ summary ─▶ rack, word, kit derived; can be rebuilt
//! ```
//!
//! `SQLite` and PostgreSQL, by one code; where they differ is in [`Dialect`].

mod accounts;
mod backup;
mod batch;
mod conn;
mod dialect;
mod erase;
mod error;
mod history;
mod kits;
mod query;
mod rebuild;
mod rows;
mod schema;
mod shelf;
mod told;
mod touch;
mod verify;

pub use accounts::{Account, RunOut, SignIn};
pub use backup::{Restored, restore};
pub use batch::{Batch, Written};
pub use dialect::Dialect;
pub use erase::{Erased, Spellings};
pub use error::{Result, StoreError};
pub use kits::{KitPage, KitRow};
pub use query::{Cursor, Page, Query};
pub use rows::read;
pub use schema::SCHEMA;
pub use touch::{GROUP, PEOPLE};
pub use verify::{Fault, Verified};

use async_recursion::async_recursion as boxed;
use jiff::civil::Date;
use sqlx::Row;
use sqlx::{AnyConnection, AnyPool};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Once};

/// The clock, as read at the edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Now {
    /// Milliseconds since 1970 in UTC.
    pub ms: i64,
    /// The civil date there.
    pub on: Date,
}

/// The end of the log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    /// The number of the last entry; 0 where there is none.
    pub seq: i64,
    /// Its hash.
    pub hash: String,
}

/// Told now and then how much of how much is done.
pub trait Progress: Fn(u64, u64) + Sync {}

impl<T: Fn(u64, u64) + Sync> Progress for T {}

/// A log and its lists, open.
#[derive(Debug, Clone)]
pub struct Store {
    pool: AnyPool,
    dialect: Dialect,
    place: String,
    opened: Arc<conn::Opened>,
    known: Arc<shelf::Known>,
}

impl Store {
    /// Opens the store at `place`: a `postgres://` address, or a file, which is made where there is none.
    ///
    /// Tables of an earlier version are brought up to this one.
    ///
    /// # Errors
    /// Where nothing can be opened there, or what is there is no store, or one of a later version.
    #[boxed]
    pub async fn open(place: &str) -> Result<Self> {
        Self::open_version(place, SCHEMA).await
    }

    async fn open_version(place: &str, version: i64) -> Result<Self> {
        static DRIVERS: Once = Once::new();
        DRIVERS.call_once(sqlx::any::install_default_drivers);
        let dialect = Dialect::of(place);
        let opened = Arc::default();
        let pool = conn::connect(place, dialect, &opened).await.map_err(|error| error.at(place))?;
        let store = Self { pool, dialect, place: place.to_owned(), opened, known: Arc::default() };
        schema::migrate(&store, version).await.map_err(|error| error.at(place))?;
        Ok(store)
    }

    /// A new store with the tables of an earlier version, to try what becomes of it.
    ///
    /// # Errors
    /// As [`Store::open`].
    #[doc(hidden)]
    #[boxed]
    pub async fn open_as_version(place: &str, version: i64) -> Result<Self> {
        Self::open_version(place, version).await
    }

    /// Where it is.
    #[must_use]
    pub fn place(&self) -> &str {
        &self.place
    }

    /// Which database keeps it.
    #[must_use]
    pub const fn dialect(&self) -> Dialect {
        self.dialect
    }

    /// The connections themselves, for those who ask in bare SQL.
    #[must_use]
    pub const fn pool(&self) -> &AnyPool {
        &self.pool
    }

    /// Closes it, once what runs is done.
    pub async fn close(self) {
        self.pool.close().await;
    }

    /// The end of the log.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn head(&self) -> Result<Head> {
        head(&mut *self.conn().await?, "SELECT seq, hash FROM head").await
    }
}

impl Store {
    /// The number of the entry that was written for a client's word, where one was.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn written(&self, client: &str) -> Result<Option<i64>> {
        let sql = "SELECT seq FROM entry WHERE client = $1";
        let row = sqlx::query(sql).bind(client).fetch_optional(&mut *self.conn().await?).await?;
        Ok(row.map(|row| row.try_get(0)).transpose()?)
    }
}

async fn head(conn: &mut AnyConnection, sql: &'static str) -> Result<Head> {
    let row = sqlx::query(sql).fetch_one(conn).await?;
    Ok(Head { seq: row.try_get(0)?, hash: row.try_get(1)? })
}

/// The file of an address that names one.
fn path_of(place: &str) -> PathBuf {
    Path::new(place.strip_prefix("sqlite://").unwrap_or(place)).to_path_buf()
}
