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

impl Shown for i64 {
    fn shown(&self) -> String {
        self.to_string()
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
        /// Nothing is marked on cord: the number is the least that EN 564 asks of its diameter.
        CordStandardAsks {
            /// What it asks.
            strength: Force,
        } = "cord-standard-asks",
        /// Nothing is marked on cord, and EN 564 asks nothing of its diameter.
        CordBesideStandard {
            /// The least diameter that it asks something of, mm.
            least_mm: f64,
            /// The largest, mm.
            most_mm: f64,
        } = "cord-beside-standard",
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
    "register" {
        /// Nobody used it yet.
        NotUsedYet = "not-used-yet",
        /// It was withdrawn.
        WithdrawnByEntry {
            /// Why, as the entry says.
            why: String,
        } = "withdrawn-by-entry",
        /// Somebody withdrew it without the right to: it is put aside.
        WithdrawalWithoutRight {
            /// Why, as the entry says.
            why: String,
        } = "withdrawal-without-right",
        /// It was made unusable.
        MadeUnusable = "made-unusable",
        /// It was divided, and goes on as its shares.
        BecameSeveral = "became-several",
        /// A share that was scrap from the start.
        ScrapShare = "scrap-share",
        /// It was put aside.
        PutAside {
            /// Why, as the entry says.
            why: String,
        } = "put-aside",
        /// It is evidence of an incident that is open.
        EvidenceOfIncident {
            /// The entry that opened the incident.
            incident: i64,
        } = "evidence-of-incident",
        /// The incident is closed, and no inspection named it.
        IncidentNotCleared {
            /// The entry that opened the incident.
            incident: i64,
        } = "incident-not-cleared",
        /// It meets what a recall calls back.
        CalledBack {
            /// The notice.
            notice: String,
        } = "called-back",
        /// What is known of it does not exclude it from a recall.
        RecallNotExcluded {
            /// The notice.
            notice: String,
            /// What is not known.
            unknown: String,
        } = "recall-not-excluded",
        /// The recall is settled for it, and no inspection named it.
        RecallNotCleared {
            /// The notice.
            notice: String,
        } = "recall-not-cleared",
        /// It fell down.
        FellDown = "fell-down",
        /// It fell down from a height.
        FellFrom {
            /// The height, m.
            height_m: f64,
        } = "fell-from",
        /// It met something that may harm it.
        ExposedTo {
            /// To what.
            what: String,
        } = "exposed-to",
        /// It held a severe fall.
        HeldSevereFall = "held-severe-fall",
        /// It was lost, and nobody knows what it went through.
        WasLost = "was-lost",
        /// Nobody knows where it is.
        IsLost = "is-lost",
        /// An inspection found a defect.
        DefectFound {
            /// The points of the check-list.
            points: String,
        } = "defect-found",
        /// An inspection found something to watch.
        PointToWatch {
            /// The points of the check-list.
            points: String,
        } = "point-to-watch",
        /// An inspection does not count: who wrote it had no right to sign it on that day.
        InspectionWithoutRight = "inspection-without-right",
        /// An inspection does not count: it left points out.
        InspectionIncomplete {
            /// The points that were not looked at.
            points: String,
        } = "inspection-incomplete",
        /// It is for some duties only.
        RestrictedTo {
            /// Those duties.
            duties: String,
        } = "restricted-to",
        /// Its restrictions leave it nothing to do.
        RestrictionsExclude = "restrictions-exclude",
        /// A restriction was lifted without the right to.
        LiftWithoutRight = "lift-without-right",
        /// The group's own rule asks for an inspection, which is overdue.
        InspectionOverdue {
            /// When it was due.
            due: String,
            /// The interval, months.
            months: usize,
        } = "inspection-overdue",
        /// A regime that binds the group asks for an inspection, which is overdue.
        RegimeInspectionOverdue {
            /// The regime.
            regime: String,
            /// When it was due.
            due: String,
            /// The interval, months.
            months: usize,
        } = "regime-inspection-overdue",
        /// The maker asks for an inspection, which is overdue.
        MakersInspectionOverdue {
            /// When it was due.
            due: String,
            /// The interval, months.
            months: usize,
        } = "makers-inspection-overdue",
        /// It was to be looked at again sooner, and was not.
        WatchOverdue {
            /// When it was due.
            due: String,
        } = "watch-overdue",
        /// It is in use, and no inspection before its first use is written down.
        NotInspectedBeforeUse = "not-inspected-before-use",
        /// Those who say how long it serves disagree, and its age is between what they say.
        AgeDisputed {
            /// From when the age counts.
            from: &'static str,
            /// The day the age counts from.
            since: String,
            /// The least, years.
            least: usize,
            /// The most, years.
            most: usize,
        } = "age-disputed",
        /// It is older than the policy allows.
        TooOld {
            /// From when the age counts.
            from: &'static str,
            /// The day the age counts from.
            since: String,
            /// Years allowed.
            years: usize,
        } = "too-old",
        /// It is older than its maker allows.
        MakersAgePassed {
            /// From when the age counts.
            from: &'static str,
            /// The day the age counts from.
            since: String,
            /// Months allowed.
            months: usize,
        } = "makers-age-passed",
        /// A groove is as deep as the policy allows, or deeper.
        GrooveTooDeep {
            /// Its depth, mm.
            depth_mm: f64,
            /// The limit, mm.
            limit_mm: f64,
        } = "groove-too-deep",
        /// A groove may be too deep: the limit lies within what the measurement leaves open.
        GrooveMayBeTooDeep {
            /// The most that it may be, mm.
            at_most_mm: f64,
            /// The limit, mm.
            limit_mm: f64,
        } = "groove-may-be-too-deep",
        /// A groove is close to the limit.
        GrooveNearLimit {
            /// The most that it may be, mm.
            at_most_mm: f64,
            /// From where on it is watched, mm.
            near_mm: f64,
        } = "groove-near-limit",
        /// A groove is as deep as the maker allows, or deeper, or may be.
        MakersGroovePassed {
            /// The most that it may be, mm.
            at_most_mm: f64,
            /// The maker's limit, mm.
            limit_mm: f64,
        } = "makers-groove-passed",
        /// It held as many falls as its maker allows.
        MakersFallsReached {
            /// Falls held.
            falls: usize,
            /// Falls allowed.
            limit: usize,
        } = "makers-falls-reached",
        /// Its marking, as typed, tells no strength.
        MarkingUnreadable = "marking-unreadable",

        /// The diameter lies within what the maker gives for the device.
        DiameterFits {
            /// The diameter, mm.
            diameter_mm: f64,
            /// The smallest, mm.
            least_mm: f64,
            /// The largest, mm.
            most_mm: f64,
        } = "diameter-fits",
        /// The diameter lies outside what the maker gives for the device.
        DiameterOutside {
            /// The diameter, mm.
            diameter_mm: f64,
            /// The smallest, mm.
            least_mm: f64,
            /// The largest, mm.
            most_mm: f64,
        } = "diameter-outside",
        /// The manual allows this shape.
        ShapeAllowed {
            /// The shape.
            shape: String,
        } = "shape-allowed",
        /// The manual allows other shapes only.
        ShapeNotAllowed {
            /// The shape.
            shape: String,
            /// Those that it allows.
            allowed: String,
        } = "shape-not-allowed",
        /// The manual allows this gate action.
        LockAllowed {
            /// The gate action.
            lock: String,
        } = "lock-allowed",
        /// The manual allows other gate actions only.
        LockNotAllowed {
            /// The gate action.
            lock: String,
            /// Those that it allows.
            allowed: String,
        } = "lock-not-allowed",
        /// The maker gives nothing for this use.
        FitNotGiven {
            /// What was to go with it, and how.
            with: String,
        } = "fit-not-given",
        /// What decides whether it fits is not known of the other piece.
        FitUnknown {
            /// What is not known.
            what: &'static str,
        } = "fit-unknown",
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
