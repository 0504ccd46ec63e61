//! The rows of the lists: kept as the log grows, and made anew where a standing changes by itself.

use super::error::Result;
use super::history::{RECORD, UNIT, heirs, last_about, list, numbers};
use super::kits::{self, KitRow};
use super::rows::{self, Value};
use super::told::Told;
use super::touch::{FIRST, GROUP};
use super::{Head, Now, Progress, Store};
use crate::group::Group;
use crate::history::effective;
use crate::id::{Id, PersonId};
use crate::standing::State;
use crate::summary::{Summary, summary};
use async_recursion::async_recursion as boxed;
use futures_util::future::try_join;
use jiff::civil::Date;
use rayon::iter::Either;
use rayon::prelude::*;
use sqlx::AnyConnection;
use sqlx::Row;
use sqlx::any::AnyRow;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};
use tokio::task::{JoinHandle, spawn_blocking};

/// The columns of a row of the rack, in the order of [`rack_row`] and [`shelf`].
pub(super) const RACK: &str =
    "id, label, place, serial, gear, model, site, holder, kit, standing, changes_on, due_on, words";

/// Past this many, rows are told outdated and made anew by [`Store::refresh`] instead of at once.
const AT_ONCE: i64 = 1000;

/// How many rows are made anew in one transaction, so that others can write in between; and read together, see [`Told`].
pub(super) const TOGETHER: usize = 32_768;

/// How many rows are compared and written at a time.
pub(super) const CHUNK: usize = 4_096;

impl Store {
    /// Makes anew the rows whose standing has changed by itself up to `now`, and those that a policy, a right or a model
    /// changed. To be called before a list is shown. Gives how many there were.
    ///
    /// # Errors
    /// Where the store cannot be read or written.
    #[boxed]
    pub async fn refresh(&self, now: Now, progress: &dyn Progress) -> Result<u64> {
        let Stale { ids, mut outdated } = self.stale(now.on).await?;
        let (mut before, mut done) = (None, 0);
        for chunk in ids.chunks(TOGETHER).map(Some).chain([None]) {
            // While one chunk is judged and written, the next is read.
            let reading = async {
                match chunk {
                    Some(chunk) => Ok(Some(self.read_ahead(chunk, now.on).await?)),
                    None => Ok(None),
                }
            };
            let writing = async {
                match before.take() {
                    Some(ahead) => self.put_judged(ahead, &mut outdated, now.on).await,
                    None => Ok(0),
                }
            };
            let (next, written) = try_join(reading, writing).await?;
            before = next;
            done += written;
            progress(done, ids.len() as u64);
        }
        if !outdated.is_empty() {
            self.lift().await?;
        }
        Ok(done)
    }

    async fn stale(&self, on: Date) -> Result<Stale> {
        let mut conn = self.conn().await?;
        let outdated = Outdated::all(&mut conn).await?;
        // Sorted here: asked for in the order of their numbers, SQLite reads every row in that order rather than its index, for every page.
        let by_itself = sqlx::query("SELECT id FROM rack WHERE changes_on <= $1").bind(on.to_string());
        let rows = by_itself.fetch_all(&mut *conn).await?;
        let mut ids: Vec<i64> = rows.iter().map(|row| row.try_get(0)).collect::<std::result::Result<_, _>>()?;
        for rows in &outdated {
            ids.extend(numbers(&mut conn, &format!("SELECT id FROM rack WHERE {}", rows.condition())).await?);
        }
        ids.par_sort_unstable();
        ids.dedup();
        Ok(Stale { ids, outdated })
    }

    /// Reads the histories of some pieces, and has them judged: others can write meanwhile.
    async fn read_ahead<'a>(&self, ids: &'a [i64], on: Date) -> Result<Ahead<'a>> {
        let mut reading = self.reading().await?;
        let read = super::head(&mut reading, "SELECT seq, hash FROM head").await?;
        let group = self.known.group(&mut reading).await?;
        let told = Told::of(&mut reading, ids).await?;
        reading.commit().await?;
        Ok(Ahead { ids, read, judging: judge(told, &group, on) })
    }

    /// Writes what was judged, and how far that is; where the log has grown since it was read, it is read and judged
    /// again.
    async fn put_judged(
        &self,
        Ahead { ids, read, judging }: Ahead<'_>,
        outdated: &mut [Outdated],
        on: Date,
    ) -> Result<u64> {
        let judged = judged(judging).await?;
        let mut writing = self.writing().await?;
        if super::head(&mut writing, self.dialect.lock_head()).await? == read {
            put(&mut writing, ids, judged).await?;
        } else {
            let group = self.known.group(&mut writing).await?;
            reshelve(&mut writing, ids, &group, on).await?;
        }
        for rows in outdated {
            rows.work_off(&mut writing, ids).await?;
        }
        writing.commit().await?;
        Ok(ids.len() as u64)
    }

    /// Takes away what says that rows are outdated where there is none of them left.
    async fn lift(&self) -> Result<()> {
        let mut writing = self.writing().await?;
        super::head(&mut writing, self.dialect.lock_head()).await?;
        for rows in Outdated::all(&mut writing).await? {
            let left = format!("SELECT id FROM rack WHERE {} LIMIT 1", rows.condition());
            if numbers(&mut writing, &left).await?.is_empty() {
                sqlx::query("DELETE FROM outdated WHERE model = $1").bind(rows.model).execute(&mut *writing).await?;
            }
        }
        writing.commit().await
    }

    /// What holds for the whole rack, as the log has it.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn group(&self) -> Result<Arc<Group>> {
        self.known.group(&mut *self.conn().await?).await
    }
}

/// What is to be judged anew, and what says so of many at once.
struct Stale {
    ids: Vec<i64>,
    outdated: Vec<Outdated>,
}

/// Says that the rows of a model, or of the whole rack, were judged by what no longer holds. It is one row for all of them: so it takes
/// no time, and a row that comes out as it was need not be written.
struct Outdated {
    /// The number of a model, or [`EVERY_MODEL`].
    model: i64,
    /// Rows up to this number have been judged anew since.
    past: i64,
}

/// No model has this number.
pub(super) const EVERY_MODEL: i64 = 0;

impl Outdated {
    async fn all(conn: &mut AnyConnection) -> Result<Vec<Self>> {
        let rows = sqlx::query("SELECT model, past FROM outdated").fetch_all(conn).await?;
        rows.iter().map(|row| Ok(Self { model: row.try_get(0)?, past: row.try_get(1)? })).collect()
    }

    /// What the rows meet that are still to be judged.
    fn condition(&self) -> String {
        let Self { model, past } = self;
        if *model == EVERY_MODEL { format!("id > {past}") } else { format!("model = {model} AND id > {past}") }
    }

    /// Notes that the rows up to the last of `ids` are judged; not where they were outdated again since, or others have got further.
    async fn work_off(&mut self, conn: &mut AnyConnection, ids: &[i64]) -> Result<()> {
        let last = ids.last().copied().unwrap_or_default();
        if last > self.past {
            let sql = "UPDATE outdated SET past = $1 WHERE model = $2 AND past = $3";
            sqlx::query(sql).bind(last).bind(self.model).bind(self.past).execute(conn).await?;
            self.past = last;
        }
        Ok(())
    }
}

/// Some things, and their rows as they are made from the log up to where it was read.
struct Ahead<'a> {
    ids: &'a [i64],
    read: Head,
    judging: JoinHandle<Result<Judged>>,
}

/// What holds for the whole rack, as it was folded last, and by the last entry of it. The log only grows, so what was folded up to an
/// entry stays so.
#[derive(Debug, Default)]
pub(super) struct Known(Mutex<Option<(i64, Arc<Group>)>>);

impl Known {
    /// Folded anew where the log has more of it by now. A transaction that has itself written of it asks [`fold_group`]: what it wrote
    /// may never be so.
    pub(super) async fn group(&self, conn: &mut AnyConnection) -> Result<Arc<Group>> {
        let last = last_about(&mut *conn, GROUP).await?;
        let known = self.0.lock().unwrap_or_else(PoisonError::into_inner).clone();
        if let Some((_, group)) = known.filter(|(entry, _)| *entry == last) {
            return Ok(group);
        }
        let group = fold_group(conn).await?;
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = Some((last, Arc::clone(&group)));
        Ok(group)
    }
}

pub(super) async fn fold_group(conn: &mut AnyConnection) -> Result<Arc<Group>> {
    let histories = Told::of(conn, &[GROUP.number()]).await?.each(|_, history| Some(history))?;
    Ok(Arc::new(Group::fold(&effective(histories.into_iter().flatten().collect()))))
}

/// Makes the rows of what was touched, of what inherits from it and of what is of a touched model anew.
pub(super) async fn follow(
    conn: &mut AnyConnection,
    touched: &BTreeSet<i64>,
    group: &Arc<Group>,
    on: Date,
) -> Result<()> {
    let mut dirty: BTreeSet<i64> = touched.range(FIRST..).copied().collect();
    dirty.extend(heirs(conn, touched).await?);
    // Nothing changes a model that does not concern the whole rack.
    let models = if touched.contains(&GROUP.number()) { models(conn, touched).await? } else { Vec::new() };
    for model in models {
        let some = format!("SELECT id FROM rack WHERE model = {model} LIMIT {}", AT_ONCE + 1);
        let pieces = numbers(conn, &some).await?;
        if i64::try_from(pieces.len()).unwrap_or(i64::MAX) > AT_ONCE {
            outdate(conn, model).await?;
        } else {
            dirty.extend(pieces);
        }
    }
    reshelve(conn, &dirty.into_iter().collect::<Vec<_>>(), group, on).await
}

/// Says of the rows of a model, or of the whole rack ([`EVERY_MODEL`]), that they are outdated. Whoever calls it has the head's lock.
pub(super) async fn outdate(conn: &mut AnyConnection, model: i64) -> Result<()> {
    let sql = "INSERT INTO outdated (model, past) VALUES ($1, 0) ON CONFLICT (model) DO UPDATE SET past = 0";
    sqlx::query(sql).bind(model).execute(conn).await?;
    Ok(())
}

async fn models(conn: &mut AnyConnection, touched: &BTreeSet<i64>) -> Result<Vec<i64>> {
    let sql = format!("SELECT DISTINCT model FROM rack WHERE model {}", list(touched));
    numbers(conn, &sql).await
}

/// Makes the rows of some things anew; things that are no pieces have none.
async fn reshelve(conn: &mut AnyConnection, ids: &[i64], group: &Arc<Group>, on: Date) -> Result<()> {
    for some in ids.chunks(TOGETHER) {
        let told = Told::of(conn, some).await?;
        let judged = judged(judge(told, group, on)).await?;
        put(conn, some, judged).await?;
    }
    Ok(())
}

/// Puts rows in place of what there is of some things.
async fn put(conn: &mut AnyConnection, ids: &[i64], Judged { pieces, kits }: Judged) -> Result<()> {
    let are_pieces: BTreeSet<i64> = pieces.iter().map(|shelf| shelf.summary.id.number()).collect();
    let others = ids.iter().filter(|id| !are_pieces.contains(id)).copied().collect();
    kits::replace(conn, &others, &kits).await?;
    let mut pieces = pieces.into_iter().peekable();
    for some in ids.chunks(CHUNK) {
        let before = listed(conn, &list(some)).await?;
        let last = some.last().copied().unwrap_or_default();
        let now = std::iter::from_fn(|| pieces.next_if(|shelf| shelf.summary.id.number() <= last)).collect();
        replace(conn, before, now).await?;
    }
    Ok(())
}

/// A row as it is listed: what the log says of it in one text, as [`Shelf::told`] has it, and what it is judged to be. Most rows need
/// not be written again, and it is columns that cost time.
struct Listed {
    told: String,
    judged: [Option<String>; 3],
}

async fn listed(conn: &mut AnyConnection, which: &str) -> Result<BTreeMap<i64, Listed>> {
    let sql = format!(
        "SELECT id, concat_ws($1, label, place, coalesce(serial, $2), gear, coalesce(CAST(model AS TEXT), $2),
            coalesce(site, $2), coalesce(holder, $2), coalesce(CAST(kit AS TEXT), $2), words),
            standing, changes_on, due_on FROM rack WHERE id {which}"
    );
    let query = sqlx::query(&sql).bind(UNIT.to_string()).bind(RECORD.to_string()).persistent(false);
    let listed = |row: &AnyRow| {
        let judged = [row.try_get(2)?, row.try_get(3)?, row.try_get(4)?];
        Ok((row.try_get(0)?, Listed { told: row.try_get(1)?, judged }))
    };
    query.fetch_all(conn).await?.iter().map(listed).collect()
}

async fn shelved(conn: &mut AnyConnection, which: &str) -> Result<BTreeMap<i64, Shelf>> {
    let sql = format!("SELECT {RACK} FROM rack WHERE id {which}");
    let rows = sqlx::query(&sql).persistent(false).fetch_all(conn).await?;
    rows.iter().map(|row| Shelf::read(row).map(|shelf| (shelf.summary.id.number(), shelf))).collect()
}

/// The rows of some things: those that are pieces, and those that are kits.
#[derive(Debug)]
pub(super) struct Judged {
    pub(super) pieces: Vec<Shelf>,
    pub(super) kits: Vec<KitRow>,
}

/// Makes the rows of things, in the order of their ids, on other threads.
pub(super) fn judge(told: Told, group: &Arc<Group>, on: Date) -> JoinHandle<Result<Judged>> {
    let group = Arc::clone(group);
    spawn_blocking(move || {
        let rows = told.each(|id, history| {
            let history = effective(history);
            let piece = summary(id, &history, &group, on).map(|summary| Either::Left(Shelf::new(summary)));
            piece.or_else(|| KitRow::of(id, &history).map(Either::Right))
        })?;
        let (pieces, kits) = rows.into_par_iter().partition_map(|row| row);
        Ok(Judged { pieces, kits })
    })
}

pub(super) async fn judged(judging: JoinHandle<Result<Judged>>) -> Result<Judged> {
    judging.await.unwrap_or_else(|failed| std::panic::resume_unwind(failed.into_panic()))
}

async fn replace(conn: &mut AnyConnection, mut before: BTreeMap<i64, Listed>, now: Vec<Shelf>) -> Result<()> {
    let (mut fresh, mut anew, mut told_anew) = (Vec::new(), Vec::new(), Vec::new());
    for shelf in now {
        let id = shelf.summary.id.number();
        match before.get(&id).map(|old| (old.told == shelf.told(), old.judged == shelf.judged())) {
            Some((true, true)) => drop(before.remove(&id)),
            Some((true, false)) => {
                before.remove(&id);
                anew.push(shelf.judgement());
            }
            Some((false, _)) => told_anew.push(shelf),
            None => fresh.push((shelf, true)),
        }
    }
    // Of what is told anew, and of what is gone, the words are to be known.
    let mut before = if before.is_empty() { BTreeMap::new() } else { shelved(conn, &list(before.keys())).await? };
    for shelf in told_anew {
        let old = before.remove(&shelf.summary.id.number());
        let other_words = old.filter(|old| !old.has_words_of(&shelf));
        if let Some(old) = &other_words {
            forget_words(conn, old).await?;
        }
        fresh.push((shelf, other_words.is_some()));
    }
    rows::bulk(
        conn,
        "UPDATE rack SET standing = v.column2, changes_on = v.column3, due_on = v.column4 FROM (",
        anew,
        JUDGE,
    )
    .await?;
    for gone in before.into_values() {
        forget_words(conn, &gone).await?;
        sqlx::query("DELETE FROM rack WHERE id = $1").bind(gone.summary.id.number()).execute(&mut *conn).await?;
    }
    let words =
        fresh.iter().filter(|(_, words)| *words).flat_map(|(shelf, _)| shelf.word_keys()).map(word_row).collect();
    let racks = fresh.iter().map(|(shelf, _)| shelf.rack_row()).collect();
    rows::insert(conn, &format!("rack ({RACK})"), racks, UPSERT).await?;
    rows::insert(conn, WORD_INTO, words, "").await
}

const UPSERT: &str = " ON CONFLICT (id) DO UPDATE SET label = excluded.label, place = excluded.place,
    serial = excluded.serial, gear = excluded.gear, model = excluded.model, site = excluded.site,
    holder = excluded.holder, kit = excluded.kit, standing = excluded.standing, changes_on = excluded.changes_on,
    due_on = excluded.due_on, words = excluded.words";

const JUDGE: &str = ") AS v WHERE rack.id = v.column1";

async fn forget_words(conn: &mut AnyConnection, shelf: &Shelf) -> Result<()> {
    for word in &shelf.summary.words {
        let sql = "DELETE FROM word WHERE word = $1 AND place = $2 AND id = $3";
        let query = sqlx::query(sql).bind(word.clone()).bind(shelf.place.clone()).bind(shelf.summary.id.number());
        query.execute(&mut *conn).await?;
    }
    Ok(())
}

/// A row as it stands on the shelf: its summary, its words in order, and where its label puts it.
#[derive(Debug, Clone)]
pub(super) struct Shelf {
    pub(super) summary: Summary,
    pub(super) place: String,
}

impl Shelf {
    fn new(mut summary: Summary) -> Self {
        let mut words: Vec<String> = summary.words.iter().flat_map(|word| split(word)).collect();
        words.sort_unstable();
        words.dedup();
        summary.words = words;
        Self { place: place(&summary.label), summary }
    }

    /// What the log says of it, as [`listed`] has it.
    fn told(&self) -> String {
        let of = &self.summary;
        let or = |text: Option<&str>| text.map_or_else(|| RECORD.to_string(), str::to_owned);
        let number = |id: Option<Id>| id.map_or_else(|| RECORD.to_string(), |id| id.number().to_string());
        let columns = [
            of.label.clone(),
            self.place.clone(),
            or(of.serial.as_deref()),
            of.gear.clone().unwrap_or_default(),
            number(of.model),
            or(of.site.as_deref()),
            or(of.holder.as_ref().map(|person| person.0.as_str())),
            number(of.kit),
            self.words(),
        ];
        columns.join(UNIT.encode_utf8(&mut [0; 4]))
    }

    /// What it is judged to be: standing, `changes_on`, `due_on`.
    fn judged(&self) -> [Option<String>; 3] {
        let of = &self.summary;
        let day = |date: Option<Date>| date.map(|date| date.to_string());
        [Some(of.standing.code().to_owned()), day(of.changes_on), day(of.due_on)]
    }

    /// What is written of that.
    fn judgement(&self) -> [Value; 4] {
        let [standing, changes_on, due_on] = self.judged();
        let standing = Value::Text(standing.unwrap_or_default());
        [Value::Number(self.summary.id.number()), standing, Value::MaybeText(changes_on), Value::MaybeText(due_on)]
    }

    fn words(&self) -> String {
        self.summary.words.iter().fold(String::from(" "), |line, word| line + word + " ")
    }

    fn has_words_of(&self, other: &Self) -> bool {
        self.place == other.place && self.summary.words == other.summary.words
    }

    pub(super) fn word_keys(&self) -> impl Iterator<Item = (&str, &str, i64)> {
        self.summary.words.iter().map(|word| (word.as_str(), self.place.as_str(), self.summary.id.number()))
    }

    pub(super) fn rack_row(&self) -> [Value; 13] {
        let of = &self.summary;
        [
            Value::Number(of.id.number()),
            Value::Text(of.label.clone()),
            Value::Text(self.place.clone()),
            Value::MaybeText(of.serial.clone()),
            Value::Text(of.gear.clone().unwrap_or_default()),
            Value::MaybeNumber(of.model.map(Id::number)),
            Value::MaybeText(of.site.clone()),
            Value::MaybeText(of.holder.as_ref().map(|person| person.0.clone())),
            Value::MaybeNumber(of.kit.map(Id::number)),
            Value::Text(of.standing.code().to_owned()),
            day(of.changes_on),
            day(of.due_on),
            Value::Text(self.words()),
        ]
    }

    pub(super) fn read(row: &AnyRow) -> Result<Self> {
        let mut shelf = Self::read_but_words(row)?;
        let words: &str = row.try_get(12)?;
        shelf.summary.words = words.split_whitespace().map(str::to_owned).collect();
        Ok(shelf)
    }

    /// The words are what takes longest, and few who list ask for them.
    pub(super) fn read_but_words(row: &AnyRow) -> Result<Self> {
        let day = |text: Option<String>| text.and_then(|text| text.parse().ok());
        let gear: String = row.try_get(4)?;
        let standing: String = row.try_get(9)?;
        let changes_on: Option<String> = row.try_get(10)?;
        let summary = Summary {
            id: Id::from_number(row.try_get(0)?),
            label: row.try_get(1)?,
            serial: row.try_get(3)?,
            gear: Some(gear).filter(|gear| !gear.is_empty()),
            model: row.try_get::<Option<i64>, _>(5)?.map(Id::from_number),
            site: row.try_get(6)?,
            holder: row.try_get::<Option<String>, _>(7)?.map(PersonId),
            kit: row.try_get::<Option<i64>, _>(8)?.map(Id::from_number),
            standing: State::from_code(&standing).unwrap_or(State::Quarantined),
            changes_on: day(changes_on),
            due_on: day(row.try_get(11)?),
            words: Vec::new(),
        };
        Ok(Self { place: row.try_get(2)?, summary })
    }
}

fn day(date: Option<Date>) -> Value {
    Value::MaybeText(date.map(|date| date.to_string()))
}

/// A word, and the piece that has it.
pub(super) const WORD_INTO: &str = "word (word, place, id)";

pub(super) fn word_row((word, place, id): (&str, &str, i64)) -> [Value; 3] {
    [Value::Text(word.to_owned()), Value::Text(place.to_owned()), Value::Number(id)]
}

/// The words of a text as they are searched for: lower case, whole and in parts.
pub(super) fn split(text: &str) -> Vec<String> {
    let lower = text.to_lowercase().replace(['%', '_', '\\'], " ");
    let clean: Vec<&str> = lower.split_whitespace().collect();
    let parts = clean.iter().flat_map(|word| word.split(|letter: char| !letter.is_alphanumeric()));
    clean.iter().copied().chain(parts).filter(|word| !word.is_empty()).map(str::to_owned).collect()
}

/// What a label is ordered by: numbers in it by their value.
pub(super) fn place(label: &str) -> String {
    let mut place = String::with_capacity(label.len() + 8);
    let mut digits = String::new();
    for letter in label.to_lowercase().chars().chain(['\0']) {
        if letter.is_ascii_digit() {
            digits.push(letter);
            continue;
        }
        if !digits.is_empty() {
            place.push_str(&format!("{digits:0>8}"));
            digits.clear();
        }
        if letter != '\0' {
            place.push(letter);
        }
    }
    place
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_in_labels_are_ordered_by_value() {
        let mut labels = ["C-10", "C-2", "B-100", "C-2a"];
        labels.sort_by_key(|label| place(label));
        assert_eq!(labels, ["B-100", "C-2", "C-2a", "C-10"]);
    }

    #[test]
    fn a_word_is_found_whole_and_in_parts() {
        assert_eq!(split("C-017 Red%"), ["c-017", "red", "c", "017", "red"]);
    }
}
