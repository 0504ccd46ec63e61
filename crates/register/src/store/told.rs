//! The histories of many things at once.
//!
//! What the log tells of them is read in its own order and as text, so that a page of the file is read once however many of them it
//! tells of. It becomes entries where a thing is judged, a few things at a time, on all processors.

use super::error::Result;
use super::history::{about, apart, list, number_of, packed, sources, unpack};
use crate::history::Past;
use crate::id::Id;
use rayon::prelude::*;
use sqlx::AnyConnection;
use std::collections::HashMap;

/// How many things, and entries, are asked for by one statement.
const THINGS: usize = 4_096;
const ENTRIES: usize = 32_768;

/// How many things are judged together; of an entry that bears upon several of them, the body is parsed once.
const FEW: usize = 256;

/// Some things, with what the log tells of them and of what they inherit from, as text.
#[derive(Debug)]
pub(super) struct Told {
    /// Each thing, and the numbers of its entries in their order.
    things: Vec<(i64, Vec<i64>)>,
    /// What entries are told by.
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

impl Told {
    /// What is told of some things; those of which nothing is are left out.
    pub(super) async fn of(conn: &mut AnyConnection, things: &[i64]) -> Result<Self> {
        let mut all = Vec::with_capacity(things.len());
        for some in things.chunks(THINGS) {
            let which = list(some);
            let (own, sources) = (about(conn, &which).await?, sources(conn, &which).await?);
            let inherited = about(conn, &list(sources.values().flatten())).await?;
            all.extend(own.into_iter().map(|(thing, mut entries)| {
                let from = sources.get(&thing).into_iter().flatten();
                entries.extend(from.filter_map(|source| inherited.get(source)).flatten());
                (thing, entries)
            }));
        }
        Self::by(conn, all).await
    }

    /// What is told of some things, of each by these entries.
    pub(super) async fn by(conn: &mut AnyConnection, mut things: Vec<(i64, Vec<i64>)>) -> Result<Self> {
        things.par_iter_mut().for_each(|(_, entries)| {
            entries.sort_unstable();
            entries.dedup();
        });
        let mut asked: Vec<i64> = things.par_iter().flat_map_iter(|(_, entries)| entries).copied().collect();
        asked.par_sort_unstable();
        asked.dedup();
        let mut told = Self { things, texts: Vec::new(), places: HashMap::with_capacity(asked.len()) };
        for some in asked.chunks(ENTRIES) {
            let text = packed(conn, &format!("seq {}", list(some))).await?;
            told.take(text)?;
        }
        Ok(told)
    }

    /// The last of the things; `None` where there is none.
    pub(super) fn last(&self) -> Option<i64> {
        self.things.last().map(|(thing, _)| *thing)
    }

    fn take(&mut self, packed: String) -> Result<()> {
        let text = u32::try_from(self.texts.len()).unwrap_or(u32::MAX);
        let mut from = 0;
        for entry in apart(&packed) {
            let to = from + entry.len();
            let place = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
            self.places.insert(number_of(entry)?, Place { text, from: place(from), to: place(to) });
            from = to + 1;
        }
        self.texts.push(packed);
        Ok(())
    }

    /// What is made of each thing and its history, in the order of the things, on all processors.
    pub(super) fn each<T: Send>(&self, make: impl Fn(Id, Vec<Past>) -> Option<T> + Sync) -> Result<Vec<T>> {
        let few = |few: &[(i64, Vec<i64>)]| {
            let mut known = HashMap::new();
            let made = few.iter().filter_map(|(thing, entries)| {
                let history = entries.iter().filter_map(|entry| self.entry(*entry, &mut known)).collect::<Result<_>>();
                history.map(|history| make(Id::from_number(*thing), history)).transpose()
            });
            made.collect::<Result<Vec<T>>>()
        };
        let made: Vec<Vec<T>> = self.things.par_chunks(FEW).map(few).collect::<Result<_>>()?;
        Ok(made.into_iter().flatten().collect())
    }

    fn entry(&self, number: i64, known: &mut HashMap<i64, Past>) -> Option<Result<Past>> {
        if let Some(past) = known.get(&number) {
            return Some(Ok(past.clone()));
        }
        let Place { text, from, to } = *self.places.get(&number)?;
        let past = unpack(&self.texts[text as usize][from as usize..to as usize]);
        if let Ok(past) = &past {
            known.insert(number, past.clone());
        }
        Some(past)
    }
}
