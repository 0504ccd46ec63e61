//! What a check says of one link in one position.

/// What a check says. There is no finding that calls anything safe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Finding {
    /// The load is over what the link bears here.
    OverRating,
    /// The load is under the rating, by less than the policy asks for.
    LowMargin,
    /// Nothing rated to compare with: remove the position, or find out the strength.
    NoRating,
    /// The margin that the policy asks for is there.
    WithinMargin,
}

impl Finding {
    /// The code used in files and reports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::OverRating => "over-rating",
            Self::LowMargin => "low-margin",
            Self::NoRating => "no-rating",
            Self::WithinMargin => "within-margin",
        }
    }
}

/// How a link comes to be loaded in a position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum How {
    /// As its maker means it: major axis, gate closed.
    Intended,
    /// It can slip there in ordinary use.
    InUse,
    /// Somebody rigged it wrongly: a thing to look for.
    RiggingError,
}

impl How {
    /// The code used in files and reports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Intended => "intended",
            Self::InUse => "in-use",
            Self::RiggingError => "rigging-error",
        }
    }
}
