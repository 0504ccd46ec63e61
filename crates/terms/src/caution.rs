//! What is said beside every output that a person may act on.

use crate::coded;

coded!(
    /// A caution. All of them stand with every such output, in this order, which is that of print.
    Caution {
        /// The figures are estimates from a model and from what was typed in.
        Estimates = "estimates",
        /// The maker's instructions, local rules and a qualified person come first.
        ComesFirst = "comes-first",
        /// Ratings are slow pulls on new parts over round pins.
        SlowPulls = "slow-pulls",
        /// A piece in doubt is quarantined.
        InDoubt = "in-doubt",
    }
);
