//! What is asked for, and what comes back: one JSON object a line.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The version of orders and answers. An order of another version is refused.
pub const VERSION: u32 = 1;

/// What is asked for.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Order {
    /// [`VERSION`].
    pub version: u32,
    /// The template to begin with, such as `rig-card.typ`.
    pub template: String,
    /// Templates that take the place of built-in ones of the same name, or stand beside them: name and text.
    #[serde(default)]
    pub templates: BTreeMap<String, String>,
    /// What templates read: `data.json`, drawings as SVG; name and text.
    #[serde(default)]
    pub files: BTreeMap<String, String>,
    /// Paths of font files, for scripts that the bundled fonts lack.
    #[serde(default)]
    pub fonts: Vec<String>,
}

/// What comes back. After `Printed`, as many bytes of PDF follow the line as it says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Answer {
    /// The sheet is done.
    Printed {
        /// [`VERSION`].
        version: u32,
        /// How many pages.
        pages: usize,
        /// How many bytes.
        bytes: usize,
    },
    /// There is no sheet.
    Refused {
        /// [`VERSION`].
        version: u32,
        /// What is wrong, each thing for itself.
        troubles: Vec<Trouble>,
    },
}

/// Something that keeps a sheet from being printed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Trouble {
    /// What is wrong.
    pub what: String,
    /// Template, line and column, from 1, where it is known.
    pub at: Option<String>,
    /// What would help.
    pub help: Vec<String>,
    /// The characters that no font has, where that is what is wrong.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub lacks: String,
}

impl Trouble {
    /// A trouble without a place.
    #[must_use]
    pub fn plain(what: impl Into<String>, help: impl Into<String>) -> Self {
        Self { what: what.into(), at: None, help: vec![help.into()], lacks: String::new() }
    }
}
