//! One line of the log: what happened, when, written by whom and when, and chained to the line before.

use crate::event::Record;
use crate::id::PersonId;
use crate::moment::Moment;
use crate::private::{Aside, hex};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// The hash that stands before the first entry.
pub const BEFORE_THE_FIRST: &str = "0000000000000000000000000000000000000000000000000000000000000000";

/// What someone wants written, before it has a place in the log.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// A word of the sender's own, never used twice: the same draft sent again is written once.
    pub client: String,
    /// When it happened.
    pub happened: Moment,
    /// What happened, and to what.
    pub record: Record,
    /// Who writes it.
    pub writer: PersonId,
    /// The names, texts and photos that the record refers to.
    pub asides: Vec<Aside>,
}

/// An entry as stored: every field is hashed as it stands here.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Its number: 1 for the first, without gaps.
    pub seq: i64,
    /// When it happened, as [`Moment`] writes it.
    pub happened: String,
    /// When it was written, milliseconds since 1970 in UTC.
    pub written_ms: i64,
    /// What kind of event.
    pub kind: String,
    /// Version of the kind's body.
    pub version: i64,
    /// The body, JSON, as it was first written.
    pub body: String,
    /// Who wrote it.
    pub writer: String,
    /// The sender's word.
    pub client: String,
    /// Hash of the entry before, in hexadecimal.
    pub before: String,
    /// Hash of this entry, in hexadecimal.
    pub hash: String,
}

impl Entry {
    /// SHA-256 over every other field, each with its length before it.
    #[must_use]
    pub fn digest(&self) -> String {
        let numbers = [self.seq, self.written_ms, self.version].map(|number| number.to_string());
        let [seq, written, version] = &numbers;
        let fields =
            [seq, &self.happened, written, &self.kind, version, &self.body, &self.writer, &self.client, &self.before];
        let mut hash = Sha256::new();
        for field in fields {
            hash.update((field.len() as u64).to_be_bytes());
            hash.update(field.as_bytes());
        }
        hex(&hash.finalize())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry() -> Entry {
        let text = str::to_owned;
        let (seq, written_ms, version) = (1, 2, 3);
        let before = BEFORE_THE_FIRST.to_owned();
        let (happened, kind, body) = (text("2026-11-25"), text("dropped"), text("{}"));
        Entry {
            seq,
            happened,
            written_ms,
            kind,
            version,
            body,
            writer: text("w"),
            client: text("c"),
            before,
            hash: text(""),
        }
    }

    #[test]
    fn every_field_changes_the_hash() {
        let changes: [fn(&mut Entry); 9] = [
            |entry| entry.seq += 1,
            |entry| entry.happened.push('x'),
            |entry| entry.written_ms += 1,
            |entry| entry.kind.push('x'),
            |entry| entry.version += 1,
            |entry| entry.body.push('x'),
            |entry| entry.writer.push('x'),
            |entry| entry.client.push('x'),
            |entry| entry.before.push('x'),
        ];
        for change in changes {
            let mut changed = entry();
            change(&mut changed);
            assert_ne!(changed.digest(), entry().digest());
        }
    }

    #[test]
    fn a_byte_moved_to_the_next_field_changes_the_hash() {
        let mut moved = entry();
        moved.writer.push('c');
        moved.client.clear();
        assert_ne!(moved.digest(), entry().digest());
    }
}
