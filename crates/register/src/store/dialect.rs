//! The few places where the two databases differ.

use sqlx::AnyConnection;

/// Which database keeps the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dialect {
    /// One file.
    Sqlite,
    /// A server.
    Postgres,
}

impl Dialect {
    /// By the address; what names no server is a file.
    pub(super) fn of(place: &str) -> Self {
        if place.starts_with("postgres://") || place.starts_with("postgresql://") {
            Self::Postgres
        } else {
            Self::Sqlite
        }
    }

    /// Which database a connection leads to.
    pub(super) fn behind(conn: &AnyConnection) -> Self {
        if conn.backend_name() == "SQLite" { Self::Sqlite } else { Self::Postgres }
    }

    /// How a connection tells whether it is ready (1), and what makes it so; the first is set last.
    ///
    /// Every question here is answered along an index. PostgreSQL knows too little of how many entries a piece has, and went through the
    /// whole of `about` for a few thousand pieces, with helpers and compiled: 2.6 s where the index takes 0.1.
    pub(super) const fn ready(self) -> (&'static str, &'static str) {
        match self {
            Self::Sqlite => (
                "PRAGMA secure_delete",
                "PRAGMA busy_timeout = 20000; PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;
                 PRAGMA temp_store = MEMORY; PRAGMA cache_size = -65536; PRAGMA wal_autocheckpoint = 32000;
                 PRAGMA secure_delete = ON",
            ),
            Self::Postgres => (
                "SELECT CAST(CAST(current_setting('enable_seqscan') = 'off' AS INT) AS BIGINT)",
                "SET jit = off; SET max_parallel_workers_per_gather = 0; SET enable_seqscan = off",
            ),
        }
    }

    /// How far a search goes along each way at first, in rows: a row costs SQLite less, and another question more. Both are what was
    /// quickest at a million pieces and at a hundred thousand.
    pub(super) const fn far(self) -> i64 {
        match self {
            Self::Sqlite => 2048,
            Self::Postgres => 256,
        }
    }

    /// Begins a transaction that will write.
    pub(super) const fn begin(self) -> &'static str {
        match self {
            Self::Sqlite => "BEGIN IMMEDIATE",
            Self::Postgres => "BEGIN; SET LOCAL lock_timeout = '60s'; SET LOCAL synchronous_commit = on",
        }
    }

    /// Begins a transaction that sees one state of everything.
    pub(super) const fn begin_reading(self) -> &'static str {
        match self {
            Self::Sqlite => "BEGIN",
            Self::Postgres => "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY",
        }
    }

    /// Reads the head and keeps others from appending until the transaction ends.
    pub(super) const fn lock_head(self) -> &'static str {
        match self {
            Self::Sqlite => "SELECT seq, hash FROM head",
            Self::Postgres => "SELECT seq, hash FROM head FOR UPDATE",
        }
    }

    /// Keeps others from migrating at the same time.
    pub(super) const fn lock_schema(self) -> &'static str {
        match self {
            Self::Sqlite => "SELECT 1",
            Self::Postgres => "SELECT 1 FROM (SELECT pg_advisory_xact_lock(7311804524)) AS locked",
        }
    }

    /// The names of the tables that are there.
    pub(super) const fn tables(self) -> &'static str {
        match self {
            Self::Sqlite => "SELECT name FROM sqlite_master WHERE type = 'table'",
            Self::Postgres => {
                "SELECT table_name::text FROM information_schema.tables WHERE table_schema = current_schema()"
            }
        }
    }

    /// A statement of the schema with this database's words: `{key}` for a row's number, `{text}` compared byte by
    /// byte, `{bytes}`, `{unit}` for what parts columns in a text, and `{clustered}` where rows lie in the order of their key.
    pub(super) fn schema(self, statement: &str) -> String {
        let [key, text, bytes, unit, clustered] = match self {
            Self::Sqlite => ["INTEGER PRIMARY KEY", "TEXT", "BLOB", "char(31)", "WITHOUT ROWID"],
            Self::Postgres => ["BIGINT PRIMARY KEY", "TEXT COLLATE \"C\"", "BYTEA", "chr(31)", ""],
        };
        statement
            .replace("{key}", key)
            .replace("{text}", text)
            .replace("{bytes}", bytes)
            .replace("{unit}", unit)
            .replace("{clustered}", clustered)
    }

    /// What makes deleted rows of the side tables vanish from the disk, outside a transaction.
    pub(super) const fn forget(self) -> &'static [&'static str] {
        match self {
            Self::Sqlite => &["PRAGMA wal_checkpoint(TRUNCATE)", "VACUUM", "PRAGMA wal_checkpoint(TRUNCATE)"],
            Self::Postgres => &["VACUUM FULL aside", "VACUUM FULL account", "VACUUM FULL sign_in", "CHECKPOINT"],
        }
    }

    /// Joins so that the rows come in the order of the first table, page by page.
    pub(super) const fn join_in_order(self) -> &'static str {
        match self {
            Self::Sqlite => "CROSS JOIN",
            Self::Postgres => "JOIN",
        }
    }

    /// Tells the planner how the rows are spread.
    pub(super) const fn analyse(self) -> &'static str {
        match self {
            Self::Sqlite => "PRAGMA analysis_limit = 1000; ANALYZE",
            Self::Postgres => "ANALYZE",
        }
    }
}
