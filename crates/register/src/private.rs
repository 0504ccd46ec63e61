//! What may have to be erased: names, free text and photos. The log holds a salted hash of it, the thing itself stands
//! beside the log. Once thing and salt are gone, the hash tells nothing, and the chain still holds.

use crate::id::PersonId;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// The salted SHA-256 of something that stands beside the log, in hexadecimal.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Private(String);

/// Bytes of chance that keep a hash from being guessed.
pub type Salt = [u8; 16];

/// What stands beside the log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Aside {
    /// Its name in the log.
    pub private: Private,
    /// The salt.
    pub salt: Salt,
    /// What it is: `text/plain`, `image/jpeg`, …
    pub media: String,
    /// The thing itself.
    pub content: Vec<u8>,
    /// Whose it is: erased with that person.
    pub person: Option<PersonId>,
}

impl Aside {
    /// A text to stand beside the log.
    #[must_use]
    pub fn text(text: &str, salt: Salt, person: Option<PersonId>) -> Self {
        Self::new("text/plain", text.as_bytes().to_vec(), salt, person)
    }

    /// Anything to stand beside the log.
    #[must_use]
    pub fn new(media: &str, content: Vec<u8>, salt: Salt, person: Option<PersonId>) -> Self {
        Self { private: Private::of(&salt, media, &content), salt, media: media.to_owned(), content, person }
    }

    /// Whether it still is what the log says.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.private == Private::of(&self.salt, &self.media, &self.content)
    }
}

impl Private {
    /// The name of `content` under `salt`.
    #[must_use]
    pub fn of(salt: &Salt, media: &str, content: &[u8]) -> Self {
        let mut hash = Sha256::new();
        hash.update(salt);
        hash.update((media.len() as u64).to_be_bytes());
        hash.update(media);
        hash.update(content);
        Self(hex(&hash.finalize()))
    }

    /// The name as stored.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The name that was stored.
    #[must_use]
    pub fn from_stored(text: String) -> Self {
        Self(text)
    }
}

/// Bytes as text: two letters each, low case.
#[must_use]
pub fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

pub(crate) fn unhex(text: &str) -> Option<Vec<u8>> {
    let is_hex = text.len().is_multiple_of(2) && text.bytes().all(|digit| digit.is_ascii_hexdigit());
    let pair = |at| u8::from_str_radix(&text[at..at + 2], 16).ok();
    is_hex.then(|| (0..text.len()).step_by(2).map(pair).collect())?
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_changed_text_no_longer_holds() {
        let mut aside = Aside::text("gate sticks", [7; 16], None);
        assert!(aside.holds());
        aside.content[0] = b'G';
        assert!(!aside.holds());
    }

    #[test]
    fn the_same_text_under_another_salt_has_another_name() {
        assert_ne!(Aside::text("wet", [1; 16], None).private, Aside::text("wet", [2; 16], None).private);
    }
}
