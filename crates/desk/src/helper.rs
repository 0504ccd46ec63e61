//! The helper programs: heavy work that the main program does without until it is asked for.

/// Why a helper program did not help.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum HelperTrouble {
    /// It is not installed.
    #[error("the helper program {name} is not there")]
    Missing {
        /// Its name.
        name: String,
    },
    /// It ended before it was done.
    #[error("the helper program {name} ended before it was done: {how}")]
    Ended {
        /// Its name.
        name: String,
        /// How it ended, and what it said.
        how: String,
    },
    /// It took too long, and was stopped.
    #[error("the helper program {name} was stopped after {limit_s} s")]
    TooSlow {
        /// Its name.
        name: String,
        /// The limit.
        limit_s: f64,
    },
    /// What it said is no answer.
    #[error("the helper program {name} gave no answer that makes sense: {why}")]
    Garbled {
        /// Its name.
        name: String,
        /// Why not.
        why: String,
    },
}

impl HelperTrouble {
    /// What would help.
    #[must_use]
    pub fn help(&self) -> String {
        match self {
            Self::Missing { name } => {
                format!(
                    "build it with `cargo build --release -p {name}`; it belongs beside the main program or on the search path"
                )
            }
            Self::Ended { .. } | Self::TooSlow { .. } => {
                "try again; if it stays so, report it with the input".to_owned()
            }
            Self::Garbled { name, .. } => format!("build {name} and the main program from one source"),
        }
    }
}
