//! Backups: one file that holds all, made while others write, and taken back only when it is whole.

use super::accounts::leave_out;
use super::batch::{ASIDE_INTO, ENTRY_INTO, aside_row};
use super::error::{Result, StoreError};
use super::history::{aside, entries};
use super::rows;
use super::verify::{Verified, verify};
use super::{Dialect, Head, Progress, Store, head, path_of, rebuild};
use crate::entry::Entry;
use crate::id::PersonId;
use crate::private::{Aside, Private, hex, unhex};
use async_recursion::async_recursion as boxed;
use serde::{Deserialize, Serialize};
use sqlx::AnyConnection;
use std::fs::{self, File};
use std::io::{BufRead, BufReader, BufWriter, Write};
use std::path::{Path, PathBuf};

/// How many entries are copied at a time.
const ENTRIES: i64 = 8_192;
/// How many asides, which may be photos.
const ASIDES: i64 = 64;
/// The version of the copy's lines.
const COPY: u32 = 1;

/// A line of a copy of the log: the head first, then the entries, then what stands beside them.
#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Line {
    Log { version: u32, seq: i64, hash: String },
    Entry(Entry),
    Aside { private: String, salt: String, media: String, content: String, person: Option<String> },
}

/// What was taken back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restored {
    /// The log as it was verified.
    pub verified: Verified,
}

impl Store {
    /// Writes a backup to a new file: a store of its own where this one is a file, a copy of the log where it is on a server.
    /// Gives the head that it holds, to be kept beside it. Accounts are not in it: files of backups are carried about.
    ///
    /// # Errors
    /// Where the file is there already, or cannot be written; then there is none.
    #[boxed]
    pub async fn backup(&self, path: &Path) -> Result<Head> {
        match self.dialect {
            Dialect::Postgres => self.copy(path, &|_, _| {}).await,
            Dialect::Sqlite => {
                let part = Part::of(path)?;
                let into = part.path.to_string_lossy().into_owned();
                sqlx::query("VACUUM INTO $1").bind(into.clone()).execute(&mut *self.conn().await?).await?;
                let copy = Self::open(&into).await?;
                let head = copy.head().await?;
                leave_out(&copy).await?;
                copy.close().await;
                part.keep()?;
                Ok(head)
            }
        }
    }

    /// Writes a copy of the log and what stands beside it to a new file of text, the same from either database.
    ///
    /// # Errors
    /// As [`Store::backup`].
    #[boxed]
    pub async fn copy(&self, path: &Path, progress: &dyn Progress) -> Result<Head> {
        let part = Part::of(path)?;
        let file = File::create_new(&part.path).map_err(|why| part.fails(why))?;
        let mut out = Out { file: BufWriter::new(file), part: &part };
        let mut reading = self.reading().await?;
        let head = head(&mut reading, "SELECT seq, hash FROM head").await?;
        out.line(&Line::Log { version: COPY, seq: head.seq, hash: head.hash.clone() })?;
        copy_entries(&mut reading, &mut out, head.seq, progress).await?;
        copy_asides(&mut reading, &mut out).await?;
        reading.commit().await?;
        out.file.flush().map_err(|why| part.fails(why))?;
        drop(out);
        part.keep()?;
        Ok(head)
    }
}

async fn copy_entries(conn: &mut AnyConnection, out: &mut Out<'_>, last: i64, progress: &dyn Progress) -> Result<()> {
    let mut from = 1;
    loop {
        let found = entries(conn, from, ENTRIES).await?;
        let Some(end) = found.last() else { return Ok(()) };
        from = end.seq + 1;
        progress(u64::try_from(end.seq).unwrap_or_default(), u64::try_from(last).unwrap_or_default());
        found.into_iter().try_for_each(|entry| out.line(&Line::Entry(entry)))?;
    }
}

async fn copy_asides(conn: &mut AnyConnection, out: &mut Out<'_>) -> Result<()> {
    let sql = "SELECT private, salt, media, content, person FROM aside WHERE private > $1 ORDER BY private LIMIT $2";
    let mut after = String::new();
    loop {
        let rows = sqlx::query(sql).bind(after.clone()).bind(ASIDES).fetch_all(&mut *conn).await?;
        for row in &rows {
            let Aside { private, salt, media, content, person } = aside(row)?;
            private.as_str().clone_into(&mut after);
            let (private, person) = (private.as_str().to_owned(), person.map(|person| person.0));
            out.line(&Line::Aside { private, salt: hex(&salt), media, content: hex(&content), person })?;
        }
        if rows.is_empty() {
            return Ok(());
        }
    }
}

/// Takes a backup of either kind back into a place where no store is yet (or one whose log is empty, on a server). With `expect`, the
/// hash of an entry that has to be in it.
///
/// # Errors
/// Where the backup does not verify, or something stands there; then nothing was changed.
#[boxed]
pub async fn restore(backup: &Path, place: &str, expect: Option<&str>, progress: &dyn Progress) -> Result<Restored> {
    let mut start = [0; 16];
    let is_store = match File::open(backup).and_then(|mut file| std::io::Read::read_exact(&mut file, &mut start)) {
        Ok(()) => &start == b"SQLite format 3\0",
        Err(why) => return Err(StoreError::File { path: backup.to_owned(), why }),
    };
    match (Dialect::of(place), is_store) {
        (Dialect::Sqlite, _) => {
            let part = Part::of(&path_of(place))?;
            let verified = into_file(backup, is_store, &part, expect, progress).await?;
            part.keep()?;
            Ok(Restored { verified })
        }
        (Dialect::Postgres, false) => {
            let store = Store::open(place).await?;
            Ok(Restored { verified: take(&store, backup, expect, progress).await? })
        }
        (Dialect::Postgres, true) => Err(StoreError::BadBackup(
            "a server takes back a copy of the log: open this file and copy its log first".to_owned(),
        )),
    }
}

async fn into_file(
    backup: &Path,
    is_store: bool,
    part: &Part,
    expect: Option<&str>,
    progress: &dyn Progress,
) -> Result<Verified> {
    if is_store {
        fs::copy(backup, &part.path).map_err(|why| part.fails(why))?;
    }
    let store = Store::open(&part.path.to_string_lossy()).await?;
    let verified = if is_store {
        whole(store.verify(expect, progress).await?)
    } else {
        take(&store, backup, expect, progress).await
    };
    sqlx::query("PRAGMA wal_checkpoint(TRUNCATE)").fetch_optional(&mut *store.conn().await?).await?;
    store.close().await;
    verified
}

fn whole(verified: Verified) -> Result<Verified> {
    match verified.faults.first() {
        None => Ok(verified),
        Some(fault) => Err(StoreError::BadBackup(format!("{fault} ({} in all)", verified.faults.len()))),
    }
}

/// Takes a copy of the log into an empty store: all of it, once it verifies.
async fn take(store: &Store, copy: &Path, expect: Option<&str>, progress: &dyn Progress) -> Result<Verified> {
    let file = File::open(copy).map_err(|why| StoreError::File { path: copy.to_owned(), why })?;
    let mut writing = store.writing().await?;
    if head(&mut writing, store.dialect.lock_head()).await?.seq != 0 {
        return Err(StoreError::NotOurs { place: format!("{}, which has entries already,", store.place) });
    }
    take_lines(&mut writing, BufReader::new(file)).await?;
    let verified = whole(verify(&mut writing, expect, progress).await?)?;
    rebuild::rebuild(&mut writing, None, progress).await?;
    writing.commit().await?;
    sqlx::Executor::execute(&mut *store.conn().await?, store.dialect.analyse()).await?;
    Ok(verified)
}

async fn take_lines(conn: &mut AnyConnection, lines: impl BufRead) -> Result<()> {
    let (mut entries, mut asides) = (Vec::new(), Vec::new());
    for (number, line) in lines.lines().enumerate() {
        let bad = |why: &dyn std::fmt::Display| StoreError::BadBackup(format!("line {}: {why}", number + 1));
        let line = line.map_err(|why| bad(&why))?;
        match serde_json::from_str(&line).map_err(|why| bad(&why))? {
            Line::Log { version, .. } if number > 0 || version != COPY => {
                return Err(bad(&format!("no first line of a copy of version {COPY}")));
            }
            Line::Log { seq, hash, .. } => {
                let sql = "UPDATE head SET seq = $1, hash = $2";
                sqlx::query(sql).bind(seq).bind(hash).execute(&mut *conn).await?;
            }
            Line::Entry(entry) => entries.push(rows::entry_row(&entry)),
            Line::Aside { private, salt, media, content, person } => {
                let salt = unhex(&salt).and_then(|salt| salt.try_into().ok()).ok_or_else(|| bad(&"no salt"))?;
                let content = unhex(&content).ok_or_else(|| bad(&"no content"))?;
                let (private, person) = (Private::from_stored(private), person.map(PersonId));
                asides.push(aside_row(&Aside { private, salt, media, content, person }));
            }
        }
        if entries.len() + asides.len() >= 4096 {
            rows::insert(conn, ENTRY_INTO, std::mem::take(&mut entries), "").await?;
            rows::insert(conn, ASIDE_INTO, std::mem::take(&mut asides), "").await?;
        }
    }
    rows::insert(conn, ENTRY_INTO, entries, "").await?;
    rows::insert(conn, ASIDE_INTO, asides, "").await
}

/// A file that gets its name when it is whole, and vanishes otherwise.
struct Part {
    path: PathBuf,
    whole: PathBuf,
}

impl Part {
    fn of(whole: &Path) -> Result<Self> {
        if whole.exists() {
            return Err(StoreError::Exists(whole.to_owned()));
        }
        let mut path = whole.as_os_str().to_owned();
        path.push(".part");
        let part = Self { path: path.into(), whole: whole.to_owned() };
        part.clear();
        Ok(part)
    }

    fn fails(&self, why: std::io::Error) -> StoreError {
        match why.kind() {
            std::io::ErrorKind::StorageFull => StoreError::DiskFull,
            std::io::ErrorKind::ReadOnlyFilesystem | std::io::ErrorKind::PermissionDenied => StoreError::ReadOnly,
            _ => StoreError::File { path: self.whole.clone(), why },
        }
    }

    /// Makes it durable under its own name.
    fn keep(&self) -> Result<()> {
        let keep = || -> std::io::Result<()> {
            File::open(&self.path)?.sync_all()?;
            fs::rename(&self.path, &self.whole)?;
            match self.whole.parent().filter(|folder| !folder.as_os_str().is_empty()) {
                Some(folder) => File::open(folder)?.sync_all(),
                None => File::open(".")?.sync_all(),
            }
        };
        keep().map_err(|why| self.fails(why))
    }

    fn clear(&self) {
        for end in ["", "-wal", "-shm", "-journal"] {
            let mut path = self.path.as_os_str().to_owned();
            path.push(end);
            let _ = fs::remove_file(PathBuf::from(path));
        }
    }
}

impl Drop for Part {
    fn drop(&mut self) {
        self.clear();
    }
}

struct Out<'a> {
    file: BufWriter<File>,
    part: &'a Part,
}

impl Out<'_> {
    fn line(&mut self, line: &Line) -> Result<()> {
        let text = serde_json::to_string(line).map_err(|why| StoreError::Unfit(why.to_string()))?;
        writeln!(self.file, "{text}").map_err(|why| self.part.fails(why))
    }
}
