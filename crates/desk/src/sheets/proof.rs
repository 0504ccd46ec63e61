//! Where the log stood when a sheet was made: what lets anybody check the sheet against the log.

use super::word;
use crate::texts;
use serde_json::{Value, json};

/// The entry up to which a sheet tells the log, and its hash, as `verify --expect` takes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proof {
    /// The entry.
    pub entry: i64,
    /// Its hash.
    pub hash: String,
}

impl Proof {
    /// As it stands on a sheet.
    pub(super) fn on_sheet(&self) -> Value {
        let says = texts::fill(&word("proof"), &[("entry", self.entry.to_string())]);
        json!({ "says": says, "hash": self.hash, "check": texts::fill(&word("proof-check"), &[("hash", self.hash.clone())]) })
    }
}
