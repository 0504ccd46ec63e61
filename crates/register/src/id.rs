//! What names a thing in the log.
//!
//! A thing is named by the entry that brought it in, and its place in that entry: so no counter has to be kept, and a
//! name can be checked against the log.

use serde::{Deserialize, Serialize};

/// How many things one entry can bring in.
pub const PER_ENTRY: u32 = 1 << 16;

/// A piece, a lot, a kit or a model: the number of the entry that brought it in times [`PER_ENTRY`], and its place there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Id(i64);

impl Id {
    /// The `place`th thing, from 0, that entry `seq` brings in; `None` past [`PER_ENTRY`] or for a negative number.
    #[must_use]
    pub fn new(seq: i64, place: u32) -> Option<Self> {
        let shifted = seq.checked_mul(i64::from(PER_ENTRY)).filter(|_| seq >= 0 && place < PER_ENTRY)?;
        Some(Self(shifted + i64::from(place)))
    }

    /// The name as one number, as stored.
    #[must_use]
    pub const fn number(self) -> i64 {
        self.0
    }

    /// The name that was stored as a number.
    #[must_use]
    pub const fn from_number(number: i64) -> Self {
        Self(number)
    }

    /// The entry that brought it in.
    #[must_use]
    pub fn seq(self) -> i64 {
        self.0 / i64::from(PER_ENTRY)
    }

    /// Its place among what that entry brought in, from 0.
    #[must_use]
    pub fn place(self) -> usize {
        usize::try_from(self.0 % i64::from(PER_ENTRY)).unwrap_or_default()
    }
}

/// A person, by an opaque word: the name stands beside the log and can be erased.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct PersonId(pub String);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_tells_its_entry() {
        let id = Id::new(41, 7).expect("a name");
        assert_eq!((id.seq(), id.place(), id.number()), (41, 7, 41 * 65_536 + 7));
        assert_eq!(Id::new(41, PER_ENTRY), None);
        assert_eq!(Id::new(-1, 0), None);
    }
}
