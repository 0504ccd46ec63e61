//! Rows of the data files: each says where it comes from and how it was read.

use serde::Deserialize;
use terms::{Quality, Source};

/// The quality of a row, in the words of the data files.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(try_from = "String")]
pub(crate) struct Read(pub(crate) Quality);

impl TryFrom<String> for Read {
    type Error = String;

    fn try_from(words: String) -> Result<Self, String> {
        Quality::from_words(&words).map(Self).ok_or_else(|| format!("no such quality: {words}"))
    }
}

/// The source of a row whose keys are `source` and `quality`.
pub(crate) fn source(text: &str, quality: Read) -> Source {
    Source { text: text.to_owned(), quality: quality.0 }
}

/// Parses a data file that is part of the program.
///
/// # Panics
/// Where the file is at fault, which the tests of each table rule out.
pub(crate) fn parse<T: serde::de::DeserializeOwned>(text: &str) -> T {
    toml::from_str(text).unwrap_or_else(|fault| panic!("built-in table: {fault}"))
}
