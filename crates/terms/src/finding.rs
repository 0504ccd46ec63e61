//! What a check says of one link in one position.

use crate::coded;

coded!(
    /// What a check says. There is no finding that calls anything safe.
    Finding {
        /// The load is over what the link bears here.
        OverRating = "over-rating",
        /// The load is under the rating, by less than the policy asks for.
        LowMargin = "low-margin",
        /// Nothing rated to compare with: remove the position, or find out the strength.
        NoRating = "no-rating",
        /// The margin that the policy asks for is there.
        WithinMargin = "within-margin",
    }
);

coded!(
    /// How a link comes to be loaded in a position.
    How {
        /// As its maker means it: major axis, gate closed.
        Intended = "intended",
        /// It can slip there in ordinary use.
        InUse = "in-use",
        /// Somebody rigged it wrongly: a thing to look for.
        RiggingError = "rigging-error",
    }
);
