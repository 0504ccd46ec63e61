//! What is to be said of a mark: closed codes with typed values. The words are in the file of texts.

use terms::{Force, coded};

use crate::standards::{Standard, TypeLetter};

use super::reading::{ConformitySign, RatedPosition};

coded!(
    /// Marks other than ratings.
    MarkKind {
        /// Type letter.
        Class = "type letter",
        /// Year of manufacture.
        Year = "year of manufacture",
        /// Batch or serial number.
        Batch = "batch or serial number",
        /// Number behind CE or UKCA.
        Body = "number of the conformity body",
        /// Number of a standard.
        Standard = "number of the standard",
        /// CE or UKCA.
        Conformity = "sign of conformity",
        /// The federation's label.
        UiaaLabel = "UIAA label",
    }
);

/// Why a note is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NoteKind {
    /// Says what a mark means.
    Meaning,
    /// Says what is missing, and that this is no defect.
    MissingNoDefect,
    /// Says what is missing, and that this matters.
    MissingMatters,
    /// Says what cannot be read or told.
    Unread,
    /// Says what does not add up.
    DoesNotAddUp,
}

macro_rules! notes {
    ($( $(#[$doc:meta])* $variant:ident $({ $($field:ident : $type:ty),+ $(,)? })? = $code:literal, $kind:ident );+ $(;)?) => {
        /// Something to say of a marking.
        #[derive(Debug, Clone, PartialEq)]
        #[allow(missing_docs, reason = "the fields are named for what they hold; each variant is described")]
        pub enum MarkNote { $( $(#[$doc])* $variant $({ $($field: $type),+ })? ),+ }

        impl MarkNote {
            /// The code of every note, in the order of the list.
            pub const CODES: &'static [&'static str] = &[$($code),+];

            /// The code used in files and reports.
            #[must_use]
            pub const fn code(&self) -> &'static str {
                match self { $( Self::$variant { .. } => $code ),+ }
            }

            /// Why it is there.
            #[must_use]
            pub const fn kind(&self) -> NoteKind {
                match self { $( Self::$variant { .. } => NoteKind::$kind ),+ }
            }

            /// Its values as words, by the names that the texts use; forces in kN.
            #[must_use]
            pub fn values(&self) -> Vec<(&'static str, String)> {
                match self { $( Self::$variant $({ $($field),+ })? => vec![$($((stringify!($field), $field.worded())),+)?] ),+ }
            }
        }
    };
}

notes! {
    /// A rating that was read.
    RatingRead { position: RatedPosition, rating: Force } = "rating-read", Meaning;
    /// A rating that is stamped in another unit than kN, converted exactly.
    UnitConverted { position: RatedPosition, rating: Force } = "unit-converted", Meaning;
    /// A rating with no unit beside it.
    UnitAssumed { position: RatedPosition, rating: Force } = "unit-assumed", Meaning;
    /// A type letter under the standard that it was read for.
    ClassMeans { standard: Standard, letter: TypeLetter, description: String } = "class-means", Meaning;
    /// A type letter that stands in both standards, neither of which is named.
    ClassOfEither { letter: TypeLetter } = "class-of-either", Meaning;
    /// The directional type of the edition of 1998.
    ClassDirectional = "class-directional", Meaning;
    /// The edition of 1998: its table is from memory, nothing is compared with it.
    EditionOf1998 = "edition-of-1998", Meaning;
    /// A standard that is named.
    StandardNamed { standard: Standard } = "standard-named", Meaning;
    /// A standard that is named and that there is no table of.
    OtherStandard { name: String } = "other-standard", Meaning;
    /// Two standards, two ratings.
    TwoStandards = "two-standards", Meaning;
    /// The year of manufacture.
    YearRead { year: u16 } = "year-read", Meaning;
    /// Batch or serial number.
    BatchRead { batch: String } = "batch-read", Meaning;
    /// CE or UKCA: conformity with the law, not the federation's label.
    ConformityMeans { sign: ConformitySign } = "conformity-means", Meaning;
    /// The number behind it: a body, no strength and no date.
    BodyMeans { sign: ConformitySign, number: String } = "body-means", Meaning;
    /// The federation's own label, not CE or UKCA.
    UiaaLabelMeans = "uiaa-label-means", Meaning;
    /// The pictogram of an open book.
    InstructionsMeans = "instructions-means", Meaning;
    /// No rating of the major axis, gate closed: no strength, quarantine.
    NoLegibleStrength = "no-legible-strength", MissingMatters;
    /// No rating of another position: it bears nothing that is known.
    RatingMissing { position: RatedPosition } = "rating-missing", MissingMatters;
    /// The same, where the class does not ask for one.
    RatingNotDemanded { position: RatedPosition, letter: TypeLetter } = "rating-not-demanded", MissingNoDefect;
    /// CE or UKCA with no number behind it.
    BodyMissing { sign: ConformitySign } = "body-missing", MissingMatters;
    /// A mark that may be missing.
    MarkMissing { mark: MarkKind } = "mark-missing", MissingNoDefect;
    /// A rating that is there and cannot be read.
    RatingIllegible { position: RatedPosition, as_typed: String } = "rating-illegible", Unread;
    /// Figures, and a position that they may or may not be of.
    RatingUndecided { position: RatedPosition, as_typed: String } = "rating-undecided", Unread;
    /// Several numbers and no sign of position: their usual order decides nothing.
    NumbersWithoutPosition { as_typed: String } = "numbers-without-position", Unread;
    /// Another mark that is there and cannot be read.
    MarkIllegible { mark: MarkKind, as_typed: String } = "mark-illegible", Unread;
    /// Not understood.
    NotUnderstood { as_typed: String } = "not-understood", Unread;
    /// A year that may be that of the standard.
    YearOrEdition { year: String } = "year-or-edition", Unread;
    /// Four figures behind the sign of conformity that may be the year.
    BodyOrYear { sign: ConformitySign, number: String } = "body-or-year", Unread;
    /// Two ratings of one position that differ.
    RatingsConflict { position: RatedPosition, first: Force, second: Force } = "ratings-conflict", DoesNotAddUp;
    /// Two marks of one kind that differ.
    MarksConflict { mark: MarkKind } = "marks-conflict", DoesNotAddUp;
    /// Below what the standard asks of the class.
    BelowMinimum { position: RatedPosition, rating: Force, standard: Standard, letter: TypeLetter, minimum: Force }
        = "below-minimum", DoesNotAddUp;
    /// Gate open or minor axis above gate closed: one of the two is misread.
    AboveClosed { position: RatedPosition, rating: Force, closed: Force } = "above-closed", DoesNotAddUp;
    /// A kN and a lbf figure of one rating that are not the same force.
    UnitsDisagree { first: Force, second: Force, first_lbf: String } = "units-disagree", DoesNotAddUp;
    /// No connector is that strong, or that weak.
    ImplausibleRating { as_typed: String } = "implausible-rating", DoesNotAddUp;
    /// A letter that the standard does not have.
    ClassNotInStandard { standard: Standard, letter: TypeLetter } = "class-not-in-standard", DoesNotAddUp;
    /// A body number has four figures.
    BodyNumberLength { sign: ConformitySign, number: String } = "body-number-length", DoesNotAddUp;
    /// The number of a standard where that of a body should be.
    StandardAsBody { sign: ConformitySign, number: String } = "standard-as-body", DoesNotAddUp;
    /// A number behind the federation's label that is not its standard for connectors.
    UiaaNumber { number: String } = "uiaa-number", DoesNotAddUp;
}

/// A value as the texts show it.
trait Worded {
    fn worded(&self) -> String;
}

macro_rules! worded_by_code {
    ($($name:ty),+) => { $(impl Worded for $name { fn worded(&self) -> String { self.code().to_owned() } })+ };
}

worded_by_code!(RatedPosition, Standard, TypeLetter, ConformitySign, MarkKind);

impl Worded for String {
    fn worded(&self) -> String {
        self.clone()
    }
}

impl Worded for u16 {
    fn worded(&self) -> String {
        self.to_string()
    }
}

impl Worded for Force {
    fn worded(&self) -> String {
        kn(*self)
    }
}

/// A force in kN, without zeros that say nothing: to the tenth, as ratings are stamped.
pub(super) fn kn(force: Force) -> String {
    let text = format!("{:.1}", force.kn());
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}
