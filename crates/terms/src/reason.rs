//! Why a check says what it says: closed codes with typed values. The words are in one file of texts, at the edge.

use crate::{Angle, Force};

/// A value as it stands in a sentence, its unit with it.
trait Shown {
    fn shown(&self) -> String;
}

impl Shown for String {
    fn shown(&self) -> String {
        self.clone()
    }
}

impl Shown for &'static str {
    fn shown(&self) -> String {
        (*self).to_owned()
    }
}

impl Shown for usize {
    fn shown(&self) -> String {
        self.to_string()
    }
}

impl Shown for f64 {
    fn shown(&self) -> String {
        let text = format!("{self:.2}");
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    }
}

impl Shown for Force {
    fn shown(&self) -> String {
        format!("{:.1} kN", self.kn())
    }
}

impl Shown for Angle {
    fn shown(&self) -> String {
        format!("{:.0}°", self.deg())
    }
}

/// One line of the catalogue of reasons.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReasonEntry {
    /// The room that gives this reason, whose tests bring it about.
    pub room: &'static str,
    /// The code used in files and reports.
    pub code: &'static str,
    /// The names of its values, each a placeholder of its text.
    pub values: &'static [&'static str],
}

macro_rules! reasons {
    ($( $room:literal { $(
        $(#[$doc:meta])* $variant:ident $( { $( $(#[$value_doc:meta])* $value:ident : $kind:ty ),+ $(,)? } )? = $code:literal
    ),+ $(,)? } )+) => {
        /// A reason of a finding.
        #[derive(Debug, Clone, PartialEq)]
        pub enum Reason { $( $(
            $(#[$doc])* $variant $( { $( $(#[$value_doc])* $value: $kind ),+ } )?,
        )+ )+ }

        impl Reason {
            /// Every reason there is: room, code and the names of its values.
            pub const CATALOGUE: &'static [ReasonEntry] = &[ $( $(
                ReasonEntry { room: $room, code: $code, values: &[ $( $( stringify!($value) ),+ )? ] },
            )+ )+ ];

            /// The code used in files and reports.
            #[must_use]
            pub const fn code(&self) -> &'static str {
                match self { $( $( Self::$variant { .. } => $code, )+ )+ }
            }

            /// The values by name, as they stand in a sentence.
            #[must_use]
            pub fn values(&self) -> Vec<(&'static str, String)> {
                match self { $( $(
                    Self::$variant { $( $( $value ),+ )? } => vec![ $( $( (stringify!($value), $value.shown()) ),+ )? ],
                )+ )+ }
            }
        }
    };
}

reasons! {
    "trade" {
        /// The number is the one marked on the piece.
        MarkedStrength {
            /// Which of the marked strengths.
            what: &'static str,
            /// What the mark says.
            strength: Force,
        } = "marked-strength",
        /// Ratings are slow pulls on new parts over round pins.
        RatingsAreSlowPulls = "ratings-are-slow-pulls",
        /// No legible mark, no strength.
        StrengthUnknown {
            /// Which strength.
            what: &'static str,
        } = "strength-unknown",
        /// An automatic lock frees the class from a gate-open figure, and none is marked.
        NoGateOpenRequirement = "no-gate-open-requirement",
        /// The class asks for no minor-axis figure, and none is marked.
        NoMinorRequirement {
            /// Type letter.
            class: &'static str,
        } = "no-minor-requirement",
        /// No test of any standard pulls it that way.
        PositionUnrated = "position-unrated",
        /// What would decide is not given, so it counts as possible.
        KeyUnknown {
            /// The key of the rig file that would decide.
            key: &'static str,
        } = "key-unknown",

        /// The gate swings open by itself when the connector is struck or the rope runs fast.
        GateMayLash = "gate-may-lash",
        /// Rock, a knot or a strand can push the gate open.
        GateMayBePushed = "gate-may-be-pushed",
        /// Running rope can turn a screwed sleeve open.
        SleeveMayWorkBack = "sleeve-may-work-back",
        /// The screw sleeve is not done up here.
        SleeveNotDoneUp = "sleeve-not-done-up",
        /// The automatic lock does not engage here.
        LockNotEngaged = "lock-not-engaged",
        /// The one that stands opposite and opposed stays closed when this gate opens.
        CoveredByOpposed {
            /// Its name.
            other: String,
        } = "covered-by-opposed",
        /// The one that stands opposite and opposed has no legible strength and covers nothing.
        OpposedStrengthUnknown {
            /// Its name.
            other: String,
        } = "opposed-strength-unknown",
        /// Each of a pair is judged as if it took the whole load.
        StrengthsNotAdded {
            /// The other of the pair.
            other: String,
        } = "strengths-not-added",

        /// It can turn across its load.
        FreeToTurn = "free-to-turn",
        /// Nothing holds it in line.
        NothingHoldsInLine = "nothing-holds-in-line",
        /// An elastic keeper holds it in line and can still give way.
        ElasticMayGive = "elastic-may-give",
        /// Pulls on one end spread too far to act as one.
        PullsSpread {
            /// The widest spread on one end.
            spread: Angle,
            /// From where on it counts.
            limit: Angle,
        } = "pulls-spread",
        /// Pulls on one end spread so far that one of them lies away from the spine.
        PullsOffSpine {
            /// The widest spread on one end.
            spread: Angle,
            /// From where on it counts.
            limit: Angle,
        } = "pulls-off-spine",
        /// So much lies in it that some of it lies away from the spine.
        Crowded {
            /// How many things lie in it.
            things: usize,
        } = "crowded",
        /// It is held stiff at the bolt and cannot follow the pull.
        HeldStiffAtBolt = "held-stiff-at-bolt",
        /// It lies over an edge.
        LiesOverEdge = "lies-over-edge",

        /// A hooked nose can catch on what it is clipped to.
        NoseCanCatch = "nose-can-catch",
        /// The rope can come to lie over an unlocked gate.
        RopeCanCrossGate = "rope-can-cross-gate",
        /// A runner can be clipped the wrong way round.
        RunnerCanBeReversed = "runner-can-be-reversed",
        /// A rope can be clipped from below the last runner.
        LineCanZigzag {
            /// How many runners the rope goes through.
            runners: usize,
        } = "line-can-zigzag",
        /// An open sling may hang in its elastic keeper alone.
        KeeperMayHoldAlone = "keeper-may-hold-alone",
        /// Another connector lies in it.
        ConnectorInside {
            /// Its name.
            other: String,
        } = "connector-inside",
        /// The sleeve of a quick link is not screwed home.
        LinkNotScrewedHome = "link-not-screwed-home",
        /// For this duty at a harness, the gear loops hang close by.
        GearLoopClose {
            /// The duty as typed.
            duty: String,
        } = "gear-loop-close",
        /// What is named holds gear, not people.
        HoldsGearOnly {
            /// The words as typed.
            duty: String,
        } = "holds-gear-only",

        /// The anchor is pulled within one of its directions.
        AnchorPulled {
            /// Angle between the pull and the direction that it was placed for.
            angle: Angle,
            /// The direction whose strength counts.
            sector: &'static str,
        } = "anchor-pulled",
        /// The anchor is pulled between two of its directions, and the lesser strength counts.
        AnchorPulledBetween {
            /// Angle between the pull and the direction that it was placed for.
            angle: Angle,
            /// One direction.
            one: &'static str,
            /// The other.
            other: &'static str,
        } = "anchor-pulled-between",
        /// A knot leaves part of the strength.
        KnotWeakens {
            /// The knot.
            knot: String,
            /// The least that sources give, in percent of the strength.
            low_pct: f64,
            /// The most that sources give, in percent of the strength.
            high_pct: f64,
        } = "knot-weakens",
        /// The figures for this knot are from memory alone.
        KnotFromMemory {
            /// The knot.
            knot: String,
        } = "knot-from-memory",
        /// No figure for this knot.
        KnotNotListed {
            /// The knot as typed.
            knot: String,
        } = "knot-not-listed",
    }
    "rig" {
        /// A dynamic rope is tested by falls and has no strength in kN.
        RopeTestedByFalls = "rope-tested-by-falls",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn codes_are_unique_and_in_kebab_case() {
        let codes: BTreeSet<_> = Reason::CATALOGUE.iter().map(|entry| entry.code).collect();
        assert_eq!(codes.len(), Reason::CATALOGUE.len());
        for code in codes {
            assert!(code.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{code}");
        }
    }

    #[test]
    fn values_carry_their_unit() {
        let reason = Reason::MarkedStrength { what: "gate open", strength: Force::from_kn(7.0) };
        assert_eq!(reason.values(), [("what", "gate open".to_owned()), ("strength", "7.0 kN".to_owned())]);
        let reason = Reason::PullsSpread { spread: Angle::from_deg(71.6), limit: Angle::from_deg(60.0) };
        assert_eq!(reason.values(), [("spread", "72°".to_owned()), ("limit", "60°".to_owned())]);
    }

    #[test]
    fn percentages_lose_their_idle_zeros() {
        let reason = Reason::KnotWeakens { knot: "bowline".into(), low_pct: 60.0, high_pct: 72.5 };
        let values: Vec<_> = reason.values().into_iter().map(|(_, value)| value).collect();
        assert_eq!(values, ["bowline", "60", "72.5"]);
    }
}
