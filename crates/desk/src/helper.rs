//! The helper programs: heavy work that the main program does without until it is asked for.

use crate::texts;
use std::fmt;
use std::time::Duration;

/// Prints sheets.
pub const PRESS: &str = "linkwright-press";
/// Solves plans.
pub const SOLVE: &str = "linkwright-solve";

/// A helper program that did not help.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HelperTrouble {
    /// Its name.
    pub name: String,
    /// What is wrong.
    pub what: What,
}

/// What is wrong with a helper program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What {
    /// It is not installed.
    Missing,
    /// It ended before it was done: how, and what it said.
    Ended(String),
    /// It took longer than that, and was stopped.
    TooSlow {
        /// How long it had.
        limit: Duration,
        /// What it had said by then, which may end anywhere.
        said: Vec<u8>,
    },
    /// What it said is no answer: why not.
    Garbled(String),
}

impl HelperTrouble {
    /// A trouble with the helper program of a name.
    #[must_use]
    pub fn new(name: &str, what: What) -> Self {
        Self { name: name.to_owned(), what }
    }

    /// What is wrong, and what would help.
    #[must_use]
    pub fn words(&self) -> (String, String) {
        let (code, why) = match &self.what {
            What::Missing => ("helper-missing", String::new()),
            What::Ended(how) => ("helper-ended", how.clone()),
            What::TooSlow { limit, .. } => ("helper-too-slow", format!("{} s", limit.as_secs_f64())),
            What::Garbled(why) => ("helper-garbled", why.clone()),
        };
        texts::failure(code, &[("name", self.name.clone()), ("why", why)])
    }
}

impl fmt::Display for HelperTrouble {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.words().0)
    }
}

impl std::error::Error for HelperTrouble {}
