//! The closed words of a rack's rules, as they stand in files.

use serde::Deserialize;
use terms::coded;

/// Lets a closed list of words be read, telling what would do where a word is none of them.
macro_rules! readable {
    ($name:ident, $what:literal) => {
        impl TryFrom<String> for $name {
            type Error = String;

            fn try_from(word: String) -> Result<Self, String> {
                Self::from_code(&word).ok_or_else(|| {
                    let known: Vec<_> = Self::ALL.iter().map(|value| value.code()).collect();
                    format!("\"{word}\" is no {}; those are {}", $what, known.join(", "))
                })
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                Self::try_from(String::deserialize(deserializer)?).map_err(serde::de::Error::custom)
            }
        }
    };
}

coded!(
    /// What follows for a piece, mildest first.
    Then {
        /// Nothing.
        Nothing = "nothing",
        /// Look again sooner.
        Watch = "watch",
        /// Out of use until an inspection clears it.
        Quarantine = "quarantine",
        /// Out of service for good.
        Withdraw = "withdraw",
    }
);
readable!(Then, "consequence");

coded!(
    /// When a piece is inspected.
    Occasion {
        /// Before it is used at all.
        BeforeFirstUse = "before-first-use",
        /// Before each use, by who uses it.
        BeforeEachUse = "before-each-use",
        /// At the interval that the policy or the regime sets.
        Periodic = "periodic",
        /// After a drop, a hard fall, an exposure, or out of quarantine.
        AfterEvent = "after-event",
    }
);
readable!(Occasion, "occasion");

coded!(
    /// Something that happens to a piece and that rules are about.
    Mishap {
        /// It fell down.
        Drop = "drop",
        /// It held a severe fall.
        SevereFall = "severe-fall",
        /// Nobody knew where it was.
        Lost = "lost",
        /// Its marking cannot be read any more.
        Unreadable = "unreadable",
    }
);
readable!(Mishap, "mishap");

coded!(
    /// From when an age counts.
    AgeFrom {
        /// From the day it was made.
        Made = "made",
        /// From its first use.
        FirstUse = "first-use",
    }
);
readable!(AgeFrom, "start of an age");

coded!(
    /// Whose rule an interval is.
    Whose {
        /// A regime's.
        Regime = "regime",
        /// The maker's.
        Maker = "maker",
        /// The group's own.
        Own = "own",
    }
);
readable!(Whose, "owner of an interval");

coded!(
    /// Which depth of a groove a rule is about.
    Depth {
        /// The limit.
        Limit = "limit",
        /// Close to it.
        Near = "near",
    }
);
readable!(Depth, "depth");
