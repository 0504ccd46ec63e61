//! Whether the log is what was written: the chain, the columns, and what stands beside it.

use super::batch::{ASIDE_SUMMED, aside_sums};
use super::error::Result;
use super::history::UNIT;
use super::rows::{self, ENTRY, SUMMED, changed, sums};
use super::told::TELLS;
use super::touch::FIRST;
use super::{Head, Progress, Store, head, history};
use crate::entry::{BEFORE_THE_FIRST, Entry};
use crate::event::Event;
use async_recursion::async_recursion as boxed;
use rayon::prelude::*;
use sqlx::AnyConnection;
use sqlx::Row;
use std::collections::{BTreeSet, HashMap, HashSet};
use std::fmt;

/// What a look through the whole log found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verified {
    /// The end of the log.
    pub head: Head,
    /// How many entries were read.
    pub entries: u64,
    /// How many texts, names and photos stand beside it.
    pub asides: u64,
    /// How many were erased.
    pub erased: u64,
    /// The entry whose hash was expected.
    pub expected_at: Option<i64>,
    /// What is wrong; nothing where the log is what was written.
    pub faults: Vec<Fault>,
}

/// Something that is not as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// An entry was changed.
    Changed {
        /// Which.
        entry: i64,
        /// In which columns; nothing where that cannot be told.
        columns: Vec<&'static str>,
    },
    /// Entries are missing.
    Missing {
        /// The first.
        from: i64,
        /// The last.
        to: i64,
    },
    /// An entry is whole but does not follow the one before it.
    Unchained {
        /// Which.
        entry: i64,
    },
    /// The head is not the last entry.
    Head {
        /// What the head says.
        says: i64,
        /// The last entry.
        last: i64,
    },
    /// The hash that was expected is of no entry: the end of the log was cut off, or it is another log.
    NotExpected {
        /// The hash.
        hash: String,
    },
    /// What the lists are made from tells another thing of an entry than the log has.
    Told {
        /// Which.
        entry: i64,
    },
    /// What stands beside an entry was changed.
    AsideChanged {
        /// Its name.
        name: String,
        /// The entry that names it, where one does.
        entry: Option<i64>,
        /// In which columns.
        columns: Vec<&'static str>,
    },
    /// What an entry names is gone, and no erasure says why.
    AsideGone {
        /// Its name.
        name: String,
        /// The entry.
        entry: i64,
    },
    /// Something stands beside the log that no entry names.
    AsideStray {
        /// Its name.
        name: String,
    },
}

impl fmt::Display for Fault {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Changed { entry, columns } if columns.is_empty() => write!(formatter, "entry {entry} was changed"),
            Self::Changed { entry, columns } => write!(formatter, "entry {entry} was changed: {}", columns.join(", ")),
            Self::Missing { from, to } if from == to => write!(formatter, "entry {from} is missing"),
            Self::Missing { from, to } => write!(formatter, "entries {from} to {to} are missing"),
            Self::Unchained { entry } => write!(formatter, "entry {entry} does not follow the one before it"),
            Self::Head { says, last } => {
                write!(formatter, "the log ends at entry {last}, its head says {says} or has another hash")
            }
            Self::NotExpected { hash } => {
                write!(formatter, "no entry has the hash {hash}: the end was cut off, or this is another log")
            }
            Self::Told { entry } => {
                write!(
                    formatter,
                    "the lists tell of entry {entry} what the log does not have: make them anew by `rack rebuild`"
                )
            }
            Self::AsideChanged { name, entry, columns } => {
                let whose = entry.map_or_else(String::new, |entry| format!(" of entry {entry}"));
                write!(formatter, "what stands beside the log{whose} as {name} was changed: {}", columns.join(", "))
            }
            Self::AsideGone { name, entry } => {
                write!(formatter, "what entry {entry} names {name} is gone, and no erasure says why")
            }
            Self::AsideStray { name } => write!(formatter, "{name} stands beside the log and no entry names it"),
        }
    }
}

/// The kind of entry that says what was erased.
const ERASURE: &str = "person-erased";
/// How many entries are read at a time.
const CHUNK: i64 = 16_384;
/// How many asides, which may be photos.
const ASIDES: i64 = 64;

impl Store {
    /// Looks through the whole log. With `expect`, the hash of an entry as printed on a sheet or a backup: whether it is still
    /// there.
    ///
    /// # Errors
    /// Where the store cannot be read; what is wrong with the log is no error but in [`Verified::faults`].
    #[boxed]
    pub async fn verify(&self, expect: Option<&str>, progress: &dyn Progress) -> Result<Verified> {
        let mut reading = self.reading().await?;
        let verified = verify(&mut reading, expect, progress).await?;
        reading.commit().await?;
        Ok(verified)
    }
}

pub(super) async fn verify(
    conn: &mut AnyConnection,
    expect: Option<&str>,
    progress: &dyn Progress,
) -> Result<Verified> {
    let head = head(conn, "SELECT seq, hash FROM head").await?;
    let mut look = Look::new(expect);
    let mut from = i64::MIN;
    let sql = format!("SELECT {ENTRY}, sums FROM entry WHERE seq > $1 ORDER BY seq LIMIT $2");
    loop {
        let rows = sqlx::query(&sql).bind(from).bind(CHUNK).fetch_all(&mut *conn).await?;
        let read = |row| Ok((rows::entry(row)?, row.try_get(10)?));
        let entries = rows.iter().map(read).collect::<Result<Vec<(Entry, String)>>>()?;
        let Some((last, _)) = entries.last() else { break };
        from = last.seq;
        let marked: Vec<Marked> = entries.into_par_iter().map(Marked::new).collect();
        marked.into_iter().for_each(|marked| look.at(marked));
        progress(look.entries, 2 * u64::try_from(head.seq).unwrap_or_default());
    }
    look.end(&head);
    told(conn, &mut look, progress).await?;
    asides(conn, &mut look).await?;
    look.gone();
    let Look { entries, asides, erased, expected_at, faults, .. } = look;
    Ok(Verified { head, entries, asides, erased, expected_at, faults })
}

/// Whether what is told of each entry beside the things that it bears upon is what the log has.
async fn told(conn: &mut AnyConnection, look: &mut Look<'_>, progress: &dyn Progress) -> Result<()> {
    let sql = format!(
        "SELECT about.seq FROM about LEFT JOIN entry ON entry.seq = about.seq
        WHERE thing >= $1 AND thing < $2 AND (entry.seq IS NULL OR told <> {TELLS})"
    );
    let (mut differ, last) = (BTreeSet::new(), look.next - 1);
    for from in (0..=last).step_by(usize::try_from(CHUNK).unwrap_or(usize::MAX)) {
        let to = last.min(from + CHUNK - 1);
        let rows = sqlx::query(&sql).bind(from * FIRST).bind((to + 1) * FIRST).bind(UNIT.to_string());
        for row in rows.fetch_all(&mut *conn).await? {
            differ.insert(row.try_get::<i64, _>(0)?);
        }
        progress(look.entries + u64::try_from(to).unwrap_or_default(), 2 * look.entries);
    }
    look.told(differ);
    Ok(())
}

async fn asides(conn: &mut AnyConnection, look: &mut Look<'_>) -> Result<()> {
    let sql =
        "SELECT private, salt, media, content, person, sums FROM aside WHERE private > $1 ORDER BY private LIMIT $2";
    let mut after = String::new();
    loop {
        let rows = sqlx::query(sql).bind(after.clone()).bind(ASIDES).fetch_all(&mut *conn).await?;
        for row in &rows {
            let aside = history::aside(row)?;
            aside.private.as_str().clone_into(&mut after);
            let sums: String = row.try_get(5)?;
            look.beside(&aside, &sums);
        }
        if rows.is_empty() {
            return Ok(());
        }
    }
}

/// An entry with all about it that can be told without the one before.
struct Marked {
    entry: Entry,
    digest: String,
    columns: Vec<&'static str>,
    names: Vec<Name>,
    /// What it says is erased.
    gone: Vec<Name>,
}

/// The name of an aside, as bytes.
type Name = [u8; 32];

impl Marked {
    fn new((entry, stored): (Entry, String)) -> Self {
        let digest = entry.digest();
        let columns = changed(&SUMMED, &stored, &sums(&entry));
        let gone = gone(&entry);
        let mut names = names(&entry.body);
        names.retain(|name| !gone.contains(name));
        Self { entry, digest, columns, names, gone }
    }
}

/// What an erasure lists.
fn gone(entry: &Entry) -> Vec<Name> {
    if entry.kind != ERASURE {
        return Vec::new();
    }
    let Ok(past) = rows::read(entry) else { return Vec::new() };
    match &past.record.event {
        Event::PersonErased { gone, .. } => gone.iter().filter_map(|gone| name(gone.was.as_str())).collect(),
        _ => Vec::new(),
    }
}

/// Every text of 64 hexadecimal digits that stands by itself in a body.
fn names(body: &str) -> Vec<Name> {
    body.split('"').filter_map(name).collect()
}

fn name(text: &str) -> Option<Name> {
    let bytes = (text.len() == 64).then_some(text)?;
    let mut name = Name::default();
    for (place, byte) in name.iter_mut().enumerate() {
        *byte = u8::from_str_radix(bytes.get(2 * place..2 * place + 2)?, 16).ok()?;
    }
    Some(name)
}

struct Look<'a> {
    expect: Option<&'a str>,
    entries: u64,
    asides: u64,
    erased: u64,
    next: i64,
    /// What the next entry may name as the one before it.
    before: [String; 2],
    named: HashMap<Name, i64>,
    erased_by_name: HashSet<Name>,
    /// The last erasure of version 1, which listed nothing: anything named before it may be gone.
    last_unlisted: i64,
    expected_at: Option<i64>,
    faults: Vec<Fault>,
}

impl<'a> Look<'a> {
    fn new(expect: Option<&'a str>) -> Self {
        let before = [BEFORE_THE_FIRST.to_owned(), BEFORE_THE_FIRST.to_owned()];
        let (named, faults) = (HashMap::new(), Vec::new());
        let expected_at = (expect == Some(BEFORE_THE_FIRST)).then_some(0);
        Self {
            expect,
            entries: 0,
            asides: 0,
            erased: 0,
            next: 1,
            before,
            named,
            erased_by_name: HashSet::new(),
            last_unlisted: 0,
            expected_at,
            faults,
        }
    }

    fn at(&mut self, marked: Marked) {
        let Marked { entry, digest, columns, names, gone } = marked;
        self.entries += 1;
        if entry.seq > self.next {
            self.faults.push(Fault::Missing { from: self.next, to: entry.seq - 1 });
        }
        let is_whole = digest == entry.hash;
        let follows = entry.seq != self.next || self.before.contains(&entry.before);
        if !is_whole || !columns.is_empty() {
            self.faults.push(Fault::Changed { entry: entry.seq, columns });
        } else if !follows {
            self.faults.push(Fault::Unchained { entry: entry.seq });
        }
        if self.expect == Some(entry.hash.as_str()) {
            self.expected_at = Some(entry.seq);
        }
        if entry.kind == ERASURE && entry.version == 1 {
            self.last_unlisted = entry.seq;
        }
        self.erased_by_name.extend(gone);
        self.named.extend(names.into_iter().map(|name| (name, entry.seq)));
        self.next = entry.seq + 1;
        self.before = [entry.hash, digest];
    }

    fn end(&mut self, head: &Head) {
        let last = self.next - 1;
        if head.seq != last || !self.before.contains(&head.hash) {
            self.faults.push(Fault::Head { says: head.seq, last });
        }
        if let (Some(hash), None) = (self.expect, self.expected_at) {
            self.faults.push(Fault::NotExpected { hash: hash.to_owned() });
        }
    }

    /// Of an entry that is missing or changed, that says enough.
    fn told(&mut self, mut differ: BTreeSet<i64>) {
        for fault in &self.faults {
            match fault {
                Fault::Changed { entry, .. } => drop(differ.remove(entry)),
                Fault::Missing { from, to } => differ.retain(|entry| !(from..=to).contains(&entry)),
                _ => {}
            }
        }
        self.faults.extend(differ.into_iter().map(|entry| Fault::Told { entry }));
    }

    fn beside(&mut self, aside: &crate::private::Aside, stored: &str) {
        self.asides += 1;
        let named = name(aside.private.as_str()).and_then(|name| self.named.remove(&name));
        let columns = changed(&ASIDE_SUMMED, stored, &aside_sums(aside));
        let name = aside.private.as_str().to_owned();
        if !aside.holds() || !columns.is_empty() {
            self.faults.push(Fault::AsideChanged { name, entry: named, columns });
        } else if named.is_none() {
            self.faults.push(Fault::AsideStray { name });
        }
    }

    fn gone(&mut self) {
        let is_erased = |(name, entry): &(Name, i64)| self.erased_by_name.contains(name) || *entry < self.last_unlisted;
        let (erased, gone): (Vec<_>, Vec<_>) = std::mem::take(&mut self.named).into_iter().partition(is_erased);
        self.erased = erased.len() as u64;
        let mut gone: Vec<_> = gone.into_iter().map(|(name, entry)| (entry, crate::private::hex(&name))).collect();
        gone.sort();
        self.faults.extend(gone.into_iter().map(|(entry, name)| Fault::AsideGone { name, entry }));
    }
}
