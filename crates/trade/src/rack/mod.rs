//! The rules of a rack: intervals, ages, wear limits, and what follows what happened. A group edits them under `[rack]` of its
//! policy; what it leaves out stays as in `data/rack.toml`.

mod kind;
mod tables;
mod words;

use crate::cited::{self, Read};
use crate::gear::Gear;
use serde::Deserialize;
use serde::de::{Deserializer, Error as _};
use std::collections::BTreeMap;
use std::sync::LazyLock;
use terms::{Quality, Source};

pub use kind::{Body, Kind};
pub use tables::{Exposure, Regime, Voice, exposures, regimes, voices};
pub use words::{AgeFrom, Depth, Mishap, Occasion, Then, Whose};

/// The rules of a rack.
#[derive(Debug, Clone, PartialEq)]
pub struct Rack {
    /// The regimes that bind the group.
    pub regimes: Vec<&'static Regime>,
    interval: BTreeMap<Kind, Interval>,
    overdue: BTreeMap<Whose, Remediable>,
    /// How soon a piece with a point to watch is looked at again.
    pub after_watch: Interval,
    /// The occasions whose inspection counts for the interval.
    pub counts: Counting,
    /// What follows when a piece is in use and no inspection before its first use is written down.
    pub no_first_inspection: Remediable,
    life: BTreeMap<AgedKind, BTreeMap<AgeFrom, Life>>,
    wear: BTreeMap<Kind, BTreeMap<Depth, Groove>>,
    after: BTreeMap<Mishap, BTreeMap<Kind, Consequence>>,
    exposure: BTreeMap<ExposureCode, BTreeMap<Kind, Consequence>>,
    /// What follows when a limit of the maker's is passed.
    pub makers_limit: Consequence,
}

/// What a file gives: each row takes the place of the built-in one.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Given {
    regimes: Option<Vec<RegimeCode>>,
    #[serde(default)]
    interval: BTreeMap<Kind, Interval>,
    #[serde(default)]
    overdue: BTreeMap<Whose, Remediable>,
    after_watch: Option<Interval>,
    counts: Option<Counting>,
    no_first_inspection: Option<Remediable>,
    #[serde(default)]
    life: BTreeMap<AgedKind, BTreeMap<AgeFrom, Life>>,
    #[serde(default)]
    wear: BTreeMap<Kind, BTreeMap<Depth, Groove>>,
    #[serde(default)]
    after: BTreeMap<Mishap, BTreeMap<Kind, Consequence>>,
    #[serde(default)]
    exposure: BTreeMap<ExposureCode, BTreeMap<Kind, Consequence>>,
    makers_limit: Option<Consequence>,
}

/// Rows of the rules: each with where it comes from, which a group may leave out of its own.
macro_rules! rows {
    ($( $(#[$doc:meta])* $name:ident { $( $(#[$field_doc:meta])* $field:ident : $kind:ty ),+ $(,)? } )+) => { $(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            $( $(#[$field_doc])* pub $field: $kind, )+
            source: Option<String>,
            quality: Option<Read>,
        }

        impl $name {
            /// Where it comes from; a group's own row need not say.
            #[must_use]
            pub fn source(&self) -> Option<Source> {
                let quality = self.quality?;
                self.source.as_deref().map(|text| cited::source(text, quality))
            }
        }
    )+ };
}

rows! {
    /// A time between inspections.
    Interval {
        /// Months; at least 1.
        #[serde(deserialize_with = "at_least_one")]
        months: u32,
    }
    /// What follows.
    Consequence {
        /// What.
        then: Then,
    }
    /// What follows where it can be made good by an inspection: nothing for good.
    Remediable {
        /// What.
        #[serde(deserialize_with = "not_for_good")]
        then: Then,
    }
    /// What counts.
    Counting {
        /// The occasions.
        occasions: Vec<Occasion>,
    }
    /// A depth of groove.
    Groove {
        /// How deep, µm; at least 1.
        #[serde(deserialize_with = "at_least_one")]
        um: u32,
        /// What follows from there on.
        then: Then,
    }
}

/// An age: watched from the least on, and from the most on a consequence.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(try_from = "LifeRow")]
pub struct Life {
    /// Years, least and most.
    pub years: [u32; 2],
    /// What follows at the most.
    pub then: Then,
    /// The voices that it goes by; none where a group chose the years itself.
    pub voices: Vec<&'static Voice>,
    source: Option<Source>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct LifeRow {
    years: Option<Years>,
    #[serde(default)]
    voices: Vec<String>,
    then: Then,
    source: Option<String>,
    quality: Option<Read>,
}

#[derive(Debug, Deserialize)]
#[serde(untagged, expecting = "years are written as 8 or as [8, 10]")]
enum Years {
    One(u32),
    Range([u32; 2]),
}

impl TryFrom<LifeRow> for Life {
    type Error = String;

    fn try_from(row: LifeRow) -> Result<Self, String> {
        let found =
            |code: &String| tables::find(voices(), |voice| &voice.code, code, "voice on how long textiles serve");
        let voices = row.voices.iter().map(found).collect::<Result<Vec<_>, _>>()?;
        let years = years(row.years, &voices)?;
        let quality = row.quality.map(|read| read.0);
        let source = row.source.zip(quality).map(|(text, quality)| Source { text, quality });
        Ok(Self { years, then: row.then, voices, source })
    }
}

fn years(given: Option<Years>, voices: &[&Voice]) -> Result<[u32; 2], String> {
    let [least, most] = match (given, voices) {
        (Some(Years::One(years)), []) => [years, years],
        (Some(Years::Range(range)), []) => range,
        (None, [_, ..]) => range_of(voices)?,
        _ => return Err("an age has either `years`, or `voices` that it goes by".to_owned()),
    };
    if 1 <= least && least <= most {
        return Ok([least, most]);
    }
    Err(format!("years are at least 1, the lesser first, not [{least}, {most}]"))
}

fn range_of(voices: &[&Voice]) -> Result<[u32; 2], String> {
    if let Some(voice) = voices.iter().find(|voice| voice.source().quality == Quality::FromMemory) {
        return Err(format!("\"{}\" is from memory: it can be shown, and not gone by", voice.code));
    }
    let least = voices.iter().map(|voice| voice.years[0]).min().unwrap_or_default();
    Ok([least, voices.iter().map(|voice| voice.years[1]).max().unwrap_or_default()])
}

impl Life {
    /// Where it comes from: the row's own source, and those of the voices.
    #[must_use]
    pub fn source(&self) -> Option<Source> {
        let voices = self.voices.iter().map(|voice| voice.source());
        let all: Vec<_> = self.source.clone().into_iter().chain(voices).collect();
        let quality = all.iter().map(|source| source.quality).max()?;
        Some(Source { text: all.into_iter().map(|source| source.text).collect::<Vec<_>>().join("; "), quality })
    }

    /// Whether those who are asked disagree.
    #[must_use]
    pub const fn is_range(&self) -> bool {
        self.years[0] < self.years[1]
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(try_from = "Kind")]
struct AgedKind(Kind);

impl TryFrom<Kind> for AgedKind {
    type Error = String;

    fn try_from(kind: Kind) -> Result<Self, String> {
        if matches!(kind.body(), None | Some(Body::Metal)) {
            return Err(format!(
                "metal has no age but its maker's, and `{kind}` has metal in it: give that with the model"
            ));
        }
        Ok(Self(kind))
    }
}

#[derive(Debug, Deserialize)]
#[serde(try_from = "String")]
struct RegimeCode(&'static Regime);

impl TryFrom<String> for RegimeCode {
    type Error = String;

    fn try_from(code: String) -> Result<Self, String> {
        tables::find(regimes(), |regime| &regime.code, &code, "regime").map(Self)
    }
}

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(try_from = "String")]
struct ExposureCode(String);

impl TryFrom<String> for ExposureCode {
    type Error = String;

    fn try_from(code: String) -> Result<Self, String> {
        tables::find(exposures(), |row| &row.code, &code, "exposure").map(|_| Self(code))
    }
}

fn at_least_one<'de, D: Deserializer<'de>>(deserializer: D) -> Result<u32, D::Error> {
    let number = u32::deserialize(deserializer)?;
    if number == 0 { Err(D::Error::custom("at least 1, not 0")) } else { Ok(number) }
}

fn not_for_good<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Then, D::Error> {
    match Then::deserialize(deserializer)? {
        Then::Withdraw => Err(D::Error::custom("an inspection that is missing can be made good: it withdraws nothing")),
        then => Ok(then),
    }
}

static BUILT_IN: LazyLock<Rack> = LazyLock::new(|| complete(cited::parse(include_str!("../../data/rack.toml"))));

const WHOLE: &str = "data/rack.toml has every key";

fn complete(given: Given) -> Rack {
    Rack {
        regimes: given.regimes.expect(WHOLE).into_iter().map(|code| code.0).collect(),
        interval: given.interval,
        overdue: given.overdue,
        after_watch: given.after_watch.expect(WHOLE),
        counts: given.counts.expect(WHOLE),
        no_first_inspection: given.no_first_inspection.expect(WHOLE),
        life: given.life,
        wear: given.wear,
        after: given.after,
        exposure: given.exposure,
        makers_limit: given.makers_limit.expect(WHOLE),
    }
}

impl Default for Rack {
    /// The rules inside the program.
    fn default() -> Self {
        BUILT_IN.clone()
    }
}

impl Rack {
    /// These rules, with the rows that a file gives in place of theirs.
    pub(crate) fn with(mut self, given: Given) -> Self {
        if let Some(regimes) = given.regimes {
            self.regimes = regimes.into_iter().map(|code| code.0).collect();
        }
        self.interval.extend(given.interval);
        self.overdue.extend(given.overdue);
        self.after_watch = given.after_watch.unwrap_or(self.after_watch);
        self.counts = given.counts.unwrap_or(self.counts);
        self.no_first_inspection = given.no_first_inspection.unwrap_or(self.no_first_inspection);
        lay_over(&mut self.life, given.life);
        lay_over(&mut self.wear, given.wear);
        lay_over(&mut self.after, given.after);
        lay_over(&mut self.exposure, given.exposure);
        self.makers_limit = given.makers_limit.unwrap_or(self.makers_limit);
        self
    }

    /// The group's own time between inspections.
    #[must_use]
    pub fn interval(&self, gear: Option<Gear>) -> Option<&Interval> {
        Kind::covering(gear).iter().find_map(|kind| self.interval.get(kind))
    }

    /// What it means that an inspection by such a rule is overdue.
    #[must_use]
    pub fn overdue(&self, whose: Whose) -> Option<&Remediable> {
        self.overdue.get(&whose)
    }

    /// The regimes that bind the group and are about such gear.
    pub fn regimes_for(&self, gear: Option<Gear>) -> impl Iterator<Item = &'static Regime> {
        let kinds = Kind::covering(gear);
        self.regimes.iter().copied().filter(move |regime| regime.kinds.iter().any(|kind| kinds.contains(kind)))
    }

    /// The age that the group goes by.
    #[must_use]
    pub fn life(&self, gear: Option<Gear>, from: AgeFrom) -> Option<&Life> {
        Kind::covering(gear).iter().find_map(|kind| self.life.get(&AgedKind(*kind))?.get(&from))
    }

    /// The depth of groove that the group goes by.
    #[must_use]
    pub fn groove(&self, gear: Option<Gear>, depth: Depth) -> Option<&Groove> {
        Kind::covering(gear).iter().find_map(|kind| self.wear.get(kind)?.get(&depth))
    }

    /// What follows a mishap.
    #[must_use]
    pub fn after(&self, mishap: Mishap, gear: Option<Gear>) -> Option<&Consequence> {
        let rows = self.after.get(&mishap)?;
        Kind::covering(gear).iter().find_map(|kind| rows.get(kind))
    }

    /// What follows an exposure, and where that comes from. An exposure that stands in no table quarantines, and so does one of
    /// gear of an unknown kind.
    #[must_use]
    pub fn exposed(&self, code: &str, gear: Option<Gear>) -> (Then, Option<Source>) {
        let own = self.exposure.get(&ExposureCode(code.to_owned()));
        if let Some(row) = own.and_then(|rows| Kind::covering(gear).iter().find_map(|kind| rows.get(kind))) {
            return (row.then, row.source());
        }
        let row = exposures().iter().find(|row| row.code == code).zip(gear);
        row.map_or((Then::Quarantine, None), |(row, gear)| (row.then(gear.body()), Some(row.source())))
    }
}

fn lay_over<A: Ord, B: Ord, T>(base: &mut BTreeMap<A, BTreeMap<B, T>>, given: BTreeMap<A, BTreeMap<B, T>>) {
    for (key, rows) in given {
        base.entry(key).or_default().extend(rows);
    }
}
