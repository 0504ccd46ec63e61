//! What is said beside every output that a person may act on.

/// A caution. All of them stand with every such output, in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Caution {
    /// The figures are estimates from a model and from what was typed in.
    Estimates,
    /// The maker's instructions, local rules and a qualified person come first.
    ComesFirst,
    /// Ratings are slow pulls on new parts over round pins.
    SlowPulls,
    /// A piece in doubt is quarantined.
    InDoubt,
}

impl Caution {
    /// Every caution, in the order of print.
    pub const ALL: [Self; 4] = [Self::Estimates, Self::ComesFirst, Self::SlowPulls, Self::InDoubt];

    /// The code used in files and reports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Estimates => "estimates",
            Self::ComesFirst => "comes-first",
            Self::SlowPulls => "slow-pulls",
            Self::InDoubt => "in-doubt",
        }
    }
}
