//! The histories of many things at once.
//!
//! What an entry tells stands in the log, and where it is short once more beside each thing that it bears upon, so that what a thing went
//! through lies together: a page or two for each, where the log has a page for every entry. What is long is read from the log, in its
//! order. All of it is kept as text, and becomes entries where a thing is judged, a few things at a time, on all processors.

use super::error::Result;
use super::history::{RECORD, UNIT, apart, list, number_of, packed, sources, unpack};
use super::rows::Value;
use crate::entry::Entry;
use crate::history::Past;
use crate::id::Id;
use rayon::prelude::*;
use sqlx::{AnyConnection, Row};
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// How many things, and entries, are asked for by one statement.
const THINGS: usize = 4_096;
const ENTRIES: usize = 32_768;

/// How many things are judged together; of a long entry that bears upon several of them, the body is parsed once.
const FEW: usize = 256;

/// How many bytes are short. What brings in forty pieces is not: forty copies of it would be most of the file.
const SHORT: usize = 512;

/// A row of `about`: a thing, an entry that bears upon it, and what that tells, where it is short.
pub(super) fn about_row(thing: i64, seq: i64, tells: Option<&str>) -> [Value; 3] {
    let short = tells.filter(|tells| tells.len() <= SHORT);
    [Value::Number(thing), Value::Number(seq), Value::MaybeText(short.map(str::to_owned))]
}

/// As [`tells`] has it, in SQL, with [`UNIT`] as `$3`.
pub(super) const TELLS: &str = "concat_ws($3, happened, written_ms, version, writer, body)";

/// What an entry tells: its columns that a [`Past`] is read from, but for the number.
pub(super) fn tells(entry: &Entry) -> String {
    let Entry { happened, written_ms, version, writer, body, .. } = entry;
    format!("{happened}{UNIT}{written_ms}{UNIT}{version}{UNIT}{writer}{UNIT}{body}")
}

/// Entries as the log has them, as text.
#[derive(Debug, Default)]
pub(super) struct Texts {
    texts: Vec<String>,
    /// Where in those each entry is, by its number.
    places: HashMap<i64, Place>,
}

/// A text, and where in it an entry begins and ends.
#[derive(Debug, Clone, Copy)]
struct Place {
    text: u32,
    from: u32,
    to: u32,
}

impl Texts {
    /// Some entries, read in the order of the log: a page of the file is read once however many of them it holds.
    pub(super) async fn of(conn: &mut AnyConnection, mut entries: Vec<i64>) -> Result<Self> {
        entries.par_sort_unstable();
        entries.dedup();
        let mut texts = Self { texts: Vec::new(), places: HashMap::with_capacity(entries.len()) };
        for some in entries.chunks(ENTRIES) {
            let text = packed(conn, &format!("seq {}", list(some))).await?;
            for place in texts.take(text) {
                texts.places.insert(number_of(texts.at(place))?, place);
            }
        }
        Ok(texts)
    }

    /// What an entry tells, as [`tells`] has it.
    pub(super) fn tells(&self, entry: i64) -> Option<&str> {
        let place = self.places.get(&entry)?;
        self.at(*place).split_once(UNIT).map(|(_, tells)| tells)
    }

    /// Keeps a text, and gives where in it each record is.
    fn take(&mut self, text: String) -> Vec<Place> {
        let (number, mut from) = (small(self.texts.len()), 0);
        let places = apart(&text).map(|record| {
            let place = Place { text: number, from: small(from), to: small(from + record.len()) };
            from += record.len() + RECORD.len_utf8();
            place
        });
        let places = places.collect();
        self.texts.push(text);
        places
    }

    fn at(&self, Place { text, from, to }: Place) -> &str {
        &self.texts[text as usize][from as usize..to as usize]
    }
}

/// Some things, with what the log tells of them and of what they inherit from, as text.
#[derive(Debug, Default)]
pub(super) struct Told {
    /// Each thing, and its entries in their order.
    things: Vec<(i64, Vec<Spot>)>,
    /// What is told beside things.
    beside: Texts,
    /// What is long.
    long: Texts,
}

/// An entry, and where it is told beside a thing, if it is.
#[derive(Debug, Clone, Copy)]
struct Spot {
    entry: i64,
    beside: Option<Place>,
}

impl Told {
    /// What is told of some things; those of which nothing is are left out.
    pub(super) async fn of(conn: &mut AnyConnection, things: &[i64]) -> Result<Self> {
        let mut told = Self { things: Vec::with_capacity(things.len()), ..Self::default() };
        for some in things.chunks(THINGS) {
            let which = list(some);
            let (own, sources) = (told.about(conn, &which).await?, sources(conn, some).await?);
            let from: BTreeSet<i64> = sources.values().flatten().copied().collect();
            let inherited = if from.is_empty() { BTreeMap::new() } else { told.about(conn, &list(&from)).await? };
            told.things.extend(own.into_iter().map(|(thing, mut spots)| {
                let from = sources.get(&thing).into_iter().flatten();
                spots.extend(from.filter_map(|source| inherited.get(source)).flatten());
                spots.sort_unstable_by_key(|spot| spot.entry);
                spots.dedup_by_key(|spot| spot.entry);
                (thing, spots)
            }));
        }
        let spots = told.things.iter().flat_map(|(_, spots)| spots);
        let long = spots.filter(|spot| spot.beside.is_none()).map(|spot| spot.entry).collect();
        told.long = Texts::of(conn, long).await?;
        Ok(told)
    }

    /// Which entries bear upon which things, with what is told of them there. It is rows that cost time, not bytes: so all come in one.
    async fn about(&mut self, conn: &mut AnyConnection, which: &str) -> Result<BTreeMap<i64, Vec<Spot>>> {
        let sql = format!("SELECT string_agg(concat_ws($1, thing, seq, told), $2) FROM about WHERE thing {which}");
        let query = sqlx::query(&sql).bind(UNIT.to_string()).bind(RECORD.to_string()).persistent(false);
        let text: Option<String> = query.fetch_one(conn).await?.try_get(0)?;
        let mut about: BTreeMap<i64, Vec<Spot>> = BTreeMap::new();
        for place in self.beside.take(text.unwrap_or_default()) {
            let record = self.beside.at(place);
            let thing = number_of(record)?;
            let told = record.split_once(UNIT).map_or("", |(_, told)| told);
            let entry = number_of(told)?;
            let from = place.to - small(told.len());
            let beside = told.contains(UNIT).then_some(Place { from, ..place });
            about.entry(thing).or_default().push(Spot { entry, beside });
        }
        Ok(about)
    }

    /// What is made of each thing and its history, in the order of the things, on all processors.
    pub(super) fn each<T: Send>(&self, make: impl Fn(Id, Vec<Past>) -> Option<T> + Sync) -> Result<Vec<T>> {
        let few = |few: &[(i64, Vec<Spot>)]| {
            let mut known = HashMap::new();
            let made = few.iter().filter_map(|(thing, spots)| {
                let history = spots.iter().filter_map(|spot| self.past(*spot, &mut known)).collect::<Result<_>>();
                history.map(|history| make(Id::from_number(*thing), history)).transpose()
            });
            made.collect::<Result<Vec<T>>>()
        };
        let made: Vec<Vec<T>> = self.things.par_chunks(FEW).map(few).collect::<Result<_>>()?;
        Ok(made.into_iter().flatten().collect())
    }

    fn past(&self, Spot { entry, beside }: Spot, known: &mut HashMap<i64, Past>) -> Option<Result<Past>> {
        if let Some(place) = beside {
            return Some(unpack(self.beside.at(place)));
        }
        if let Some(past) = known.get(&entry) {
            return Some(Ok(past.clone()));
        }
        let past = unpack(self.long.at(*self.long.places.get(&entry)?));
        if let Ok(past) = &past {
            known.insert(entry, past.clone());
        }
        Some(past)
    }
}

fn small(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
