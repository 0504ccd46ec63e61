//! Connections, made ready before use, and transactions that leave nothing behind.

use super::error::{Result, StoreError};
use super::{Dialect, Store, path_of};
use sqlx::any::{AnyConnectOptions, AnyPoolOptions};
use sqlx::pool::PoolConnection;
use sqlx::{Any, AnyConnection, AnyPool, Executor as _, Row};
use std::ops::{Deref, DerefMut};
use std::str::FromStr;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

/// How many connections were opened, and how many of them made ready: while the two are equal, all are.
#[derive(Debug, Default)]
pub(super) struct Opened {
    opened: AtomicU64,
    ready: AtomicU64,
}

/// Connects.
pub(super) async fn connect(place: &str, dialect: Dialect, opened: &Arc<Opened>) -> Result<AnyPool> {
    let options = AnyConnectOptions::from_str(&address(place, dialect))?;
    let opened = Arc::clone(opened);
    let pool = AnyPoolOptions::new()
        .max_connections(if dialect == Dialect::Sqlite { 4 } else { 8 })
        .test_before_acquire(dialect == Dialect::Postgres)
        .acquire_timeout(Duration::from_secs(60))
        .after_connect(move |_, _| {
            opened.opened.fetch_add(1, Ordering::SeqCst);
            Box::pin(async { Ok(()) })
        });
    Ok(pool.connect_with(options).await?)
}

fn address(place: &str, dialect: Dialect) -> String {
    match dialect {
        Dialect::Postgres => place.to_owned(),
        Dialect::Sqlite => {
            let path = path_of(place).to_string_lossy().into_owned();
            let escaped = path.replace('%', "%25").replace('?', "%3f").replace('#', "%23");
            format!("sqlite://{escaped}?mode=rwc")
        }
    }
}

impl Store {
    /// A connection that is ready.
    pub(super) async fn conn(&self) -> Result<PoolConnection<Any>> {
        let mut conn = self.pool.acquire().await?;
        let Opened { opened, ready } = &*self.opened;
        if opened.load(Ordering::SeqCst) != ready.load(Ordering::SeqCst) && self.make_ready(&mut conn).await? {
            ready.fetch_add(1, Ordering::SeqCst);
        }
        Ok(conn)
    }

    /// Gives whether it was not ready before.
    async fn make_ready(&self, conn: &mut AnyConnection) -> Result<bool> {
        let (is_ready, ready) = self.dialect.ready();
        let mut tries = 0;
        while sqlx::query(is_ready).fetch_one(&mut *conn).await?.try_get::<i64, _>(0)? != 1 {
            // Programs that make the same file at the same time wait for one another.
            match conn.execute(ready).await.map_err(StoreError::from) {
                Err(StoreError::Locked) if tries < 100 => tokio::time::sleep(Duration::from_millis(100)).await,
                other => other.map(|_| ())?,
            }
            tries += 1;
        }
        Ok(tries > 0)
    }

    /// A transaction that will write.
    pub(super) async fn writing(&self) -> Result<Transaction> {
        Transaction::begin(self.conn().await?, self.dialect.begin()).await
    }

    /// A transaction that sees one state of everything.
    pub(super) async fn reading(&self) -> Result<Transaction> {
        Transaction::begin(self.conn().await?, self.dialect.begin_reading()).await
    }
}

/// What is done together. Dropped without [`Transaction::commit`], its connection is closed, and so nothing of it stays,
/// whatever the database thought of an error on the way.
#[derive(Debug)]
pub(super) struct Transaction(Option<PoolConnection<Any>>);

impl Transaction {
    pub(super) async fn begin(conn: PoolConnection<Any>, how: &str) -> Result<Self> {
        let mut transaction = Self(Some(conn));
        transaction.execute(how).await?;
        Ok(transaction)
    }

    pub(super) async fn commit(mut self) -> Result<()> {
        self.execute("COMMIT").await?;
        drop(self.0.take());
        Ok(())
    }
}

impl Drop for Transaction {
    fn drop(&mut self) {
        drop(self.0.take().map(PoolConnection::detach));
    }
}

impl Deref for Transaction {
    type Target = AnyConnection;

    fn deref(&self) -> &AnyConnection {
        self.0.as_ref().expect("a transaction has its connection until it ends")
    }
}

impl DerefMut for Transaction {
    fn deref_mut(&mut self) -> &mut AnyConnection {
        self.0.as_mut().expect("a transaction has its connection until it ends")
    }
}
