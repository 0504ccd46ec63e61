//! Where a number or a rule comes from, and how it was read.

/// How a statement was come by. The text form is the one used in data files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quality {
    /// Seen in the document that is named.
    ReadInSource,
    /// Seen in a text that reports the document that is named.
    SecondarySource,
    /// Arithmetic on a published formula.
    ComputedHere,
    /// What the trade does, with no source.
    CommonPractice,
    /// What this project chose.
    OurDefault,
    /// Recalled and not found again: shown as such, never tested on.
    FromMemory,
}

impl Quality {
    /// All qualities, best first.
    pub const ALL: [Self; 6] = [
        Self::ReadInSource,
        Self::SecondarySource,
        Self::ComputedHere,
        Self::CommonPractice,
        Self::OurDefault,
        Self::FromMemory,
    ];

    /// The words used in data files and reports.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::ReadInSource => "read in source",
            Self::SecondarySource => "secondary source",
            Self::ComputedHere => "computed here",
            Self::CommonPractice => "common practice",
            Self::OurDefault => "our default",
            Self::FromMemory => "from memory",
        }
    }

    /// The quality that `words` names, if any.
    #[must_use]
    pub fn from_words(words: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|quality| quality.words() == words)
    }
}

/// A source and how it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Author, title, year, page; or "common practice, no source".
    pub text: String,
    /// How it was read.
    pub quality: Quality,
}
