//! What can happen to a rack. Closed kinds with typed values; quantities are integers: N, µm, g.
//!
//! A field that is left out is unknown. A kind that changes its meaning gets a new [`VERSION`]; old bodies are read as
//! they were written, and never rewritten.

use crate::id::{Id, PersonId};
use crate::moment::Moment;
use crate::private::Private;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// The version of the bodies written now. Since 2 an erasure lists what it erased.
pub const VERSION: i64 = 2;

/// What happened, and to what.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Record {
    /// The pieces and lots that it happened to, each named, whatever way they were picked. Those that an entry brings in
    /// are not repeated here.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub about: Vec<Id>,
    /// The kit they were picked by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by_kit: Option<Id>,
    /// A remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<Private>,
    /// Photos and papers.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub photos: Vec<Private>,
    /// What happened.
    pub event: Event,
}

/// What happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "is", rename_all = "kebab-case")]
pub enum Event {
    /// Pieces came onto the rack.
    Entered(Entered),
    /// What was not known, or was wrong about a piece, is told anew: only the fields given change.
    Described(Description),
    /// A model is described: what pieces of it share.
    ModelEntered(Model),
    /// What is known of a model is told anew, whole.
    ModelDescribed {
        /// Which.
        model: Id,
        /// What is known now.
        is: Model,
    },
    /// Bought.
    Bought {
        /// From whom.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        supplier: Option<String>,
    },
    /// Used for the first time.
    FirstUse,
    /// A day of use.
    Used(Use),
    /// Fell down.
    Dropped {
        /// How deep, mm.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        height_mm: Option<i64>,
        /// Onto what: `rock`, `concrete`, `wood`, `ground`, …
        #[serde(default, skip_serializing_if = "Option::is_none")]
        onto: Option<String>,
    },
    /// Met something that may harm it.
    Exposed {
        /// To what: the code of an exposure in the tables of the trade.
        to: String,
    },
    /// Cleaned, lubricated, dried.
    Cleaned,
    /// Measured.
    Measured(Reading),
    /// Inspected.
    Inspected(Inspection),
    /// Repaired by someone whom the maker allows to.
    Repaired {
        /// What was done: the code of a part in the check-lists.
        part: String,
    },
    /// From now on for some duties only; an empty list lifts the restriction.
    Restricted {
        /// What it may still do: `top-rope-only`, `demonstration-only`, …
        to: Vec<String>,
    },
    /// Put aside until an inspection clears it.
    Quarantined {
        /// Why: a code.
        why: String,
        /// The incident whose evidence it is: then no inspection clears it while that is open.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        incident: Option<i64>,
    },
    /// Somebody has it now.
    HandedTo {
        /// Who.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        person: Option<PersonId>,
        /// Where.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        site: Option<String>,
    },
    /// Back in store.
    Returned,
    /// Out of service for good.
    Withdrawn {
        /// Why: a code.
        why: String,
    },
    /// Made unusable.
    Destroyed,
    /// Nobody knows where it is.
    Lost,
    /// It is there again.
    Found,
    /// Entry `entry` is not so: nothing of the kind happened, or something else did.
    Corrected {
        /// The entry that is wrong.
        entry: i64,
        /// What is right in its place; nothing strikes the entry. Correcting a correction brings back what that put away.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        with: Option<Box<Correction>>,
    },
    /// A piece became several, each with its history: a rope cut in two, a worn end cut off, cord off a reel, a lot split.
    Divided {
        /// What comes of it; the piece itself ends here.
        into: Vec<Share>,
    },
    /// A part of a composed piece was replaced, such as the sling of a draw: the new part's history begins, the rest goes on.
    PartReplaced {
        /// Which part: `sling`, `bolt-end`, `rope-end`, …
        part: String,
        /// The piece taken out, where it is on the rack by itself.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        old: Option<Id>,
        /// The piece put in.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        new: Option<Id>,
        /// When the new part was made.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        made: Option<Dated>,
    },
    /// A kit is put together or changed: its whole contents.
    KitSet {
        /// Which; nothing where this entry brings it in.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        kit: Option<Id>,
        /// Its label.
        label: String,
        /// Pieces, and lots with how many of them.
        contents: Vec<KitPart>,
    },
    /// A kit went out.
    KitIssued {
        /// Which.
        kit: Id,
        /// To whom.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        to: Option<PersonId>,
        /// When it is to be back.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        due: Option<Date>,
    },
    /// A kit came back.
    KitReturned {
        /// Which.
        kit: Id,
        /// What is missing.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        short: Vec<KitPart>,
        /// What is wet, and must dry before it is stored.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        wet: Vec<Id>,
    },
    /// A person is known from now on.
    PersonEntered {
        /// Who.
        person: PersonId,
        /// The name.
        name: Private,
    },
    /// A person may sign, or may no longer.
    RightSet {
        /// Who.
        person: PersonId,
        /// What for: one of [`RIGHTS`](crate::group::RIGHTS); with a kind of gear after a colon where it is only for that.
        right: String,
        /// Until when, that day included; a day before this entry's takes the right away.
        until: Date,
    },
    /// What is known of a person was erased.
    PersonErased {
        /// Who.
        person: PersonId,
        /// What stood beside the log and is gone: the person's own, and texts that named them. Nothing else may be missing. In
        /// version 1 nothing was listed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        gone: Vec<Gone>,
    },
    /// The group's policy from now on.
    PolicySet {
        /// Its text (TOML).
        text: String,
    },
    /// An incident: what it is about is quarantined as evidence.
    IncidentOpened(Incident),
    /// One line of an incident or a recall is closed.
    Settled {
        /// The entry that opened the incident or recall.
        case: i64,
        /// How each piece in `about` was settled: a code.
        outcome: String,
    },
    /// An incident or a recall is closed, all its lines settled.
    CaseClosed {
        /// The entry that opened it.
        case: i64,
        /// The record as it was frozen.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        frozen: Option<Private>,
    },
    /// A maker or an authority calls pieces back.
    RecallOpened(Recall),
}

impl Event {
    /// The word for the kind, as it stands in the log.
    #[must_use]
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Entered(_) => "entered",
            Self::Described(_) => "described",
            Self::ModelEntered(_) => "model-entered",
            Self::ModelDescribed { .. } => "model-described",
            Self::Bought { .. } => "bought",
            Self::FirstUse => "first-use",
            Self::Used(_) => "used",
            Self::Dropped { .. } => "dropped",
            Self::Exposed { .. } => "exposed",
            Self::Cleaned => "cleaned",
            Self::Measured(_) => "measured",
            Self::Inspected(_) => "inspected",
            Self::Repaired { .. } => "repaired",
            Self::Restricted { .. } => "restricted",
            Self::Quarantined { .. } => "quarantined",
            Self::HandedTo { .. } => "handed-to",
            Self::Returned => "returned",
            Self::Withdrawn { .. } => "withdrawn",
            Self::Destroyed => "destroyed",
            Self::Lost => "lost",
            Self::Found => "found",
            Self::Corrected { .. } => "corrected",
            Self::Divided { .. } => "divided",
            Self::PartReplaced { .. } => "part-replaced",
            Self::KitSet { .. } => "kit-set",
            Self::KitIssued { .. } => "kit-issued",
            Self::KitReturned { .. } => "kit-returned",
            Self::PersonEntered { .. } => "person-entered",
            Self::RightSet { .. } => "right-set",
            Self::PersonErased { .. } => "person-erased",
            Self::PolicySet { .. } => "policy-set",
            Self::IncidentOpened(_) => "incident-opened",
            Self::Settled { .. } => "settled",
            Self::CaseClosed { .. } => "case-closed",
            Self::RecallOpened(_) => "recall-opened",
        }
    }
}

/// What stands in place of a wrong entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Correction {
    /// When it happened.
    pub happened: Moment,
    /// What happened, and to what.
    pub record: Record,
}

/// A day as precisely as it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Dated {
    /// The year.
    Year(i16),
    /// Year and month.
    Month(i16, i8),
    /// The day.
    Day(Date),
}

/// Pieces that came onto the rack, alike but for label and serial.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entered {
    /// One for each piece: its label and serial.
    pub pieces: Vec<Mark>,
    /// What they share.
    pub is: Description,
}

/// What tells a piece from others like it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// The label on the rack, unique among pieces that are not withdrawn.
    pub label: String,
    /// The maker's serial.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
}

/// What is known of a piece or lot; what is left out is unknown, or stays as it was.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Description {
    /// The kind of gear: a code of `trade::gear::Gear`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gear: Option<String>,
    /// The model.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub model: Option<Id>,
    /// How many, for a lot without marks of its own; a piece is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
    /// The marking as typed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub marking: Option<String>,
    /// When it was made.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub made: Option<Dated>,
    /// When it was bought.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bought: Option<Dated>,
    /// Mass, g.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mass_g: Option<u32>,
    /// Length, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub length_mm: Option<u32>,
    /// Diameter or width, µm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub diameter_um: Option<u32>,
    /// Size as marked, for what comes in sizes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub size: Option<String>,
    /// What it is made of: a code of the tables of the trade.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// Shape, gate, lock and nose of a connector: codes of `trade::connector`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shape: Option<String>,
    /// Gate of a connector.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gate: Option<String>,
    /// Lock of a connector.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lock: Option<String>,
    /// Nose of a connector.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nose: Option<String>,
    /// Where it belongs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// Who supplied it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub supplier: Option<String>,
}

/// What pieces of one kind share.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Model {
    /// Its name.
    pub name: String,
    /// Its maker's name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub maker: Option<String>,
    /// What its pieces are unless told otherwise.
    pub is: Description,
    /// The maker's own limits: stricter ones win over the policy.
    #[serde(default, skip_serializing_if = "MakersLimits::is_empty")]
    pub limits: MakersLimits,
    /// What fits it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fits: Vec<Fit>,
    /// Its papers.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub papers: Vec<Paper>,
}

/// What the maker's instructions say of the end of its life.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct MakersLimits {
    /// Months from the day it was made.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub months_from_made: Option<u32>,
    /// Months from first use.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub months_from_first_use: Option<u32>,
    /// Months between inspections.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub inspect_every_months: Option<u32>,
    /// Deepest groove, µm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub groove_um: Option<u32>,
    /// Falls held before it is withdrawn.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub falls: Option<u32>,
}

impl MakersLimits {
    /// Whether the maker says nothing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// What goes with a model, by the maker's instructions.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fit {
    /// With what: a kind of gear.
    pub with: String,
    /// In which mode of use, such as `belay`, `rappel-two-strands`, `guide`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mode: Option<String>,
    /// Smallest and largest diameter, µm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub diameter_um: Option<(u32, u32)>,
    /// Shapes that the instructions allow, for connectors; empty allows any.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub shapes: Vec<String>,
    /// Gate actions that the instructions allow.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub locks: Vec<String>,
}

/// A paper that belongs to a model.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Paper {
    /// `instructions`, `inspection-procedure`, `declaration`.
    pub what: String,
    /// Its edition.
    pub edition: String,
    /// The paper itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<Private>,
}

/// A day of use.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Use {
    /// For which duty: a code.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub duty: Option<String>,
    /// Rappels.
    #[serde(skip_serializing_if = "is_zero")]
    pub rappels: u32,
    /// Lowers.
    #[serde(skip_serializing_if = "is_zero")]
    pub lowers: u32,
    /// Metres of rope run under load.
    #[serde(skip_serializing_if = "is_zero")]
    pub run_m: u32,
    /// Falls held.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub falls: Vec<Fall>,
}

/// A fall that was held.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fall {
    /// The force on the piece, N, where a check computed it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub force_n: Option<u32>,
    /// The rig that was checked, and its link.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from_check: Option<String>,
    /// Whether it was severe: by the one who held it, or by its force or fall factor.
    #[serde(default)]
    pub severe: bool,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks for a reference")]
fn is_zero(number: &u32) -> bool {
    *number == 0
}

/// Something measured on a piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// What: `groove`, `bar`, `length`, `mass`, …
    pub what: String,
    /// How: `photo`, `calliper`, `ruler`, `scale`.
    pub how: String,
    /// The value, µm or g.
    pub value: i64,
    /// The interval that holds it with 95 %.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interval: Option<(i64, i64)>,
    /// Thickness of the sound bar, µm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bar_um: Option<i64>,
}

impl Reading {
    /// Whether it is the first photo of a piece: what later ones are measured against, and no depth of its own.
    #[must_use]
    pub fn is_first_photo(&self) -> bool {
        self.what == "groove" && self.how == "photo" && self.value == 0 && self.interval.is_none()
    }
}

/// An inspection, by a check-list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Inspection {
    /// On what occasion: `before-first-use`, `before-each-use`, `periodic`, `after-event`.
    pub occasion: String,
    /// The check-list: its code and edition.
    pub list: String,
    /// Every point that is no plain pass.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<Remark>,
    /// The entries that it clears: a quarantine, a drop, an exposure. Nothing is cleared that is not named.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub clears: Vec<i64>,
}

/// A point of a check-list that is no plain pass.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Remark {
    /// The piece it is about, where the inspection is about several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub piece: Option<Id>,
    /// The point: a code of the check-list.
    pub point: String,
    /// `watch`, `defect`, or `not-looked-at`.
    pub grade: Grade,
    /// A remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<Private>,
    /// A photo.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub photo: Option<Private>,
}

/// What an inspection finds at a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Grade {
    /// Nothing to say.
    Pass,
    /// The point was not looked at.
    NotLookedAt,
    /// Look again sooner.
    Watch,
    /// Out of use at once.
    Defect,
}

/// A share of a divided piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Share {
    /// Its label and serial.
    pub mark: Mark,
    /// What is other than before: its length, its count.
    pub is: Description,
    /// Out of use from the start: a worn end.
    #[serde(default)]
    pub scrap: bool,
}

/// A piece of a kit, or some of a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KitPart {
    /// The piece or lot.
    pub piece: Id,
    /// How many of a lot; 1 for a piece.
    pub count: u32,
}

/// Something that stood beside the log and was erased.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gone {
    /// Its name.
    pub was: Private,
    /// What stands in its place: a text without the person's name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub now: Option<Private>,
}

/// An incident.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Incident {
    /// What happened, in words.
    pub what: Private,
    /// Who was there.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub people: Vec<PersonId>,
}

/// What is called back: pieces that meet every criterion given. A piece whose marks do not tell cannot be excluded.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Recall {
    /// The notice: who published it, when, its number.
    pub notice: String,
    /// The kind of gear.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gear: Option<String>,
    /// The model.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub model: Option<Id>,
    /// First and last day that it was made.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub made: Option<(Date, Date)>,
    /// Batches, as stamped.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub batches: Vec<String>,
    /// First and last serial.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub serials: Option<(String, String)>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_body_reads_as_it_is_written_and_its_tag_is_its_kind() {
        let event = Event::Dropped { height_mm: Some(12_000), onto: Some("rock".to_owned()) };
        let record =
            Record { about: vec![Id::from_number(65_536)], by_kit: None, note: None, photos: Vec::new(), event };
        let body = serde_json::to_string(&record).expect("a body");
        assert_eq!(body, r#"{"about":[65536],"event":{"kind":"dropped","is":{"height_mm":12000,"onto":"rock"}}}"#);
        assert_eq!(serde_json::from_str::<Record>(&body).expect("a record"), record);
    }

    #[test]
    fn an_unknown_field_is_an_error() {
        assert!(serde_json::from_str::<Record>(r#"{"about":[],"event":{"kind":"cleaned"},"ours":1}"#).is_err());
    }
}
