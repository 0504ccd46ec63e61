//! What can go wrong with a store, each with what to do about it.

use crate::event::VERSION;
use std::path::PathBuf;

/// Why a store does not do what it was asked to; nothing was half done.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// No room left.
    #[error("the disk that holds the store is full: nothing of this was written. Free some space and do it again")]
    DiskFull,
    /// Not to be written to.
    #[error("the store may only be read, not written to: allow writing to its file and its folder, or use a copy")]
    ReadOnly,
    /// Somebody else writes.
    #[error("another program has been writing to the store for too long: wait until it is done and do it again")]
    Locked,
    /// Something else stands there.
    #[error("{place} is no store of Linkwright: name another place, or move what stands there away")]
    NotOurs {
        /// Where.
        place: String,
    },
    /// Written by a later program.
    #[error("the store has version {found}, this program knows up to {known}: use the newer program that wrote it")]
    Newer {
        /// What the store says.
        found: i64,
        /// What this program knows.
        known: i64,
    },
    /// There is nothing to open, or nobody answers.
    #[error(
        "the store at {place} cannot be reached ({why}): see that the folder or the server is there and lets you in"
    )]
    NotReached {
        /// Where.
        place: String,
        /// What was answered.
        why: String,
    },
    /// The log does not hold together.
    #[error("entry {entry} of the log cannot be read ({why}): run verify, and restore from a backup that verifies")]
    Unreadable {
        /// Which entry.
        entry: i64,
        /// Why not.
        why: String,
    },
    /// The file is damaged below the log.
    #[error("the file of the store is damaged ({0}): copy it away as it is, then restore from a backup that verifies")]
    Damaged(String),
    /// The disk gave an error.
    #[error(
        "the disk gave an error ({0}): nothing of this was acknowledged. Check the disk, run verify, then do it again"
    )]
    Disk(String),
    /// What was sent does not fit.
    #[error("this cannot be written: {0}")]
    Unfit(String),
    /// Something stands where a new file was to be.
    #[error("{} is there already: name another file", .0.display())]
    Exists(PathBuf),
    /// What was to be restored is not whole.
    #[error("the backup is not whole, and nothing was changed: {0}")]
    BadBackup(String),
    /// A file beside the store.
    #[error("{}: {why}", .path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        #[source]
        why: std::io::Error,
    },
    /// Anything else that the database says.
    #[error("the database says: {0}. Nothing of this was written")]
    Database(String),
}

/// What a store gives back.
pub type Result<T> = std::result::Result<T, StoreError>;

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> Self {
        match error {
            sqlx::Error::Database(said) => {
                let code = said.code().unwrap_or_default().into_owned();
                Self::from_code(&code, said.message())
            }
            sqlx::Error::PoolTimedOut => Self::Locked,
            sqlx::Error::Io(error) => Self::Database(error.to_string()),
            other => Self::Database(other.to_string()),
        }
    }
}

impl StoreError {
    /// By what `SQLite` (a number; the low byte is the primary code) or PostgreSQL (five characters) calls it.
    fn from_code(code: &str, message: &str) -> Self {
        let said = || message.to_owned();
        match code {
            "53100" => return Self::DiskFull,
            "25006" => return Self::ReadOnly,
            "55P03" | "40001" | "40P01" => return Self::Locked,
            "58030" => return Self::Disk(said()),
            "XX001" | "XX002" => return Self::Damaged(said()),
            _ => {}
        }
        match code.parse::<u32>().ok().filter(|_| code.len() < 5).map(|code| code & 0xff) {
            Some(5 | 6) => Self::Locked,
            Some(8) => Self::ReadOnly,
            Some(10) => Self::Disk(said()),
            Some(11) => Self::Damaged(said()),
            Some(13) => Self::DiskFull,
            Some(26) => Self::NotOurs { place: "the file".to_owned() },
            _ => Self::Database(said()),
        }
    }

    /// With the place put in where opening failed.
    pub(super) fn at(self, place: &str) -> Self {
        match self {
            Self::NotOurs { .. } => Self::NotOurs { place: place.to_owned() },
            Self::Database(why) => Self::NotReached { place: place.to_owned(), why },
            other => other,
        }
    }

    pub(super) fn unreadable(entry: i64, why: &impl std::fmt::Display) -> Self {
        Self::Unreadable { entry, why: why.to_string() }
    }

    pub(super) fn unknown_version(entry: i64, version: i64) -> Self {
        Self::unreadable(entry, &format!("its body has version {version}, this program reads up to {VERSION}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_database_says_is_told_with_what_to_do() {
        let told = |code: &str| StoreError::from_code(code, "said").to_string();
        for (code, word) in [
            ("13", "Free some space"),
            ("53100", "Free some space"),
            ("778", "Check the disk"),
            ("1032", "allow writing"),
            ("517", "wait until"),
            ("11", "restore from a backup"),
            ("26", "no store of Linkwright"),
            ("55P03", "wait until"),
        ] {
            assert!(told(code).contains(word), "{code}: {}", told(code));
        }
    }
}
