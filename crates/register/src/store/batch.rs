//! Appending: several entries under the head's lock, all or none.

use super::conn::Transaction;
use super::error::{Result, StoreError};
use super::history::entry_at;
use super::rows::{self, Value, sums_of};
use super::shelf::{self, Known};
use super::told::{about_row, tells};
use super::touch::{self, GROUP};
use super::{Dialect, Head, Now, Store, head};
use crate::entry::{Draft, Entry};
use crate::event::VERSION;
use crate::group::Group;
use crate::id::Id;
use crate::private::Aside;
use async_recursion::async_recursion as boxed;
use sqlx::AnyConnection;
use sqlx::Row;
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

/// Where a draft stands in the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Written {
    /// The number of its entry.
    pub seq: i64,
    /// Whether it had been written before.
    pub again: bool,
}

/// Entries on their way into the log. Nothing is written before [`Batch::commit`]; dropped without it, nothing was.
#[derive(Debug)]
pub struct Batch {
    writing: Transaction,
    dialect: Dialect,
    now: Now,
    head: Head,
    begun_at: i64,
    known: Arc<Known>,
    group: Option<Arc<Group>>,
    pending: Pending,
    clients: HashMap<String, i64>,
    touched: BTreeSet<i64>,
    is_wide: bool,
    is_bulk: bool,
}

#[derive(Debug, Default)]
struct Pending {
    entries: Vec<Entry>,
    asides: Vec<[Value; 6]>,
    about: BTreeSet<(i64, i64)>,
    links: BTreeSet<(i64, i64)>,
}

/// How many entries wait before they are handed to the database.
const FLUSH: usize = 4096;

/// How many clients' words are looked up by one statement.
const LOOKED_UP: usize = 64;

impl Store {
    /// Begins to append. Until the batch ends, nobody else can.
    ///
    /// # Errors
    /// Where the store cannot be written to, or someone else has been writing for too long.
    #[boxed]
    pub async fn begin(&self, now: Now) -> Result<Batch> {
        let mut writing = self.writing().await?;
        let head = head(&mut writing, self.dialect.lock_head()).await?;
        let (pending, clients, touched) = (Pending::default(), HashMap::new(), BTreeSet::new());
        let begun_at = head.seq;
        let dialect = self.dialect;
        Ok(Batch {
            writing,
            dialect,
            now,
            head,
            begun_at,
            known: Arc::clone(&self.known),
            group: None,
            pending,
            clients,
            touched,
            is_wide: false,
            is_bulk: false,
        })
    }
}

impl Batch {
    /// The number that the next new entry gets.
    #[must_use]
    pub const fn next_seq(&self) -> i64 {
        self.head.seq + 1
    }

    pub(super) const fn dialect(&self) -> Dialect {
        self.dialect
    }

    /// Leaves the lists as they are, for a log that is filled in bulk: [`Store::rebuild`] has to follow.
    pub const fn leave_lists(&mut self) {
        self.is_bulk = true;
    }

    /// Appends one entry. A draft whose client's word is in the log already is not written again.
    ///
    /// # Errors
    /// Where the draft does not fit, or the store cannot be written to.
    #[boxed]
    pub async fn push(&mut self, draft: Draft) -> Result<Written> {
        let written = self.push_all(vec![draft]).await?;
        written.into_iter().next().ok_or_else(|| StoreError::Unfit("no entry".to_owned()))
    }

    /// Appends entries in their order, as [`Batch::push`].
    ///
    /// # Errors
    /// As [`Batch::push`].
    #[boxed]
    pub async fn push_all(&mut self, drafts: Vec<Draft>) -> Result<Vec<Written>> {
        drafts.iter().try_for_each(fits)?;
        self.look_up(&drafts).await?;
        let mut written = Vec::with_capacity(drafts.len());
        for draft in drafts {
            written.push(match self.clients.get(&draft.client) {
                Some(seq) => Written { seq: *seq, again: true },
                None => Written { seq: self.take(draft).await?, again: false },
            });
        }
        Ok(written)
    }

    /// The piece with a label, among those that are not withdrawn, this batch's among them.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn piece_by_label(&mut self, label: &str) -> Result<Option<Id>> {
        let sql = "SELECT id FROM rack WHERE label = $1 AND standing <> 'withdrawn' ORDER BY id LIMIT 1";
        let row = sqlx::query(sql).bind(label).fetch_optional(self.settled().await?).await?;
        Ok(row.map(|row| row.try_get(0)).transpose()?.map(Id::from_number))
    }

    /// Makes it durable. What this returns without an error is on the disk.
    ///
    /// # Errors
    /// Where the store cannot be written to; what was pushed may then be sent again with the same client's words.
    #[boxed]
    pub async fn commit(mut self) -> Result<Head> {
        self.settled().await?;
        if self.is_wide {
            shelf::outdate(&mut self.writing, shelf::EVERY_MODEL).await?;
        }
        if self.head.seq != self.begun_at {
            let sql = "UPDATE head SET seq = $1, hash = $2";
            sqlx::query(sql).bind(self.head.seq).bind(self.head.hash.clone()).execute(&mut *self.writing).await?;
        }
        self.writing.commit().await?;
        Ok(self.head)
    }

    /// Hands over what waits, brings the lists up to it, and lends the connection.
    pub(super) async fn settled(&mut self) -> Result<&mut AnyConnection> {
        self.flush().await?;
        let touched = std::mem::take(&mut self.touched);
        if !touched.is_empty() {
            let group = match self.group.take() {
                _ if touched.contains(&GROUP.number()) => shelf::fold_group(&mut self.writing).await?,
                Some(group) => group,
                None => self.known.group(&mut self.writing).await?,
            };
            shelf::follow(&mut self.writing, &touched, &group, self.now.on).await?;
            self.group = Some(group);
        }
        Ok(&mut self.writing)
    }

    async fn look_up(&mut self, drafts: &[Draft]) -> Result<()> {
        let many = format!("SELECT client, seq FROM entry WHERE client IN ({})", rows::places(LOOKED_UP));
        let one = "SELECT client, seq FROM entry WHERE client = $1";
        for chunk in drafts.chunks(LOOKED_UP) {
            let (sql, padded) = if chunk.len() == 1 { (one, 1) } else { (many.as_str(), LOOKED_UP) };
            let words = chunk.iter().chain(std::iter::repeat(&chunk[0])).take(padded);
            let query = words.fold(sqlx::query(sql), |query, draft| query.bind(draft.client.clone()));
            for row in query.fetch_all(&mut *self.writing).await? {
                self.clients.insert(row.try_get(0)?, row.try_get(1)?);
            }
        }
        Ok(())
    }

    async fn take(&mut self, draft: Draft) -> Result<i64> {
        let seq = self.next_seq();
        let body = serde_json::to_string(&draft.record).map_err(|why| StoreError::Unfit(why.to_string()))?;
        self.note_things(seq, &draft).await?;
        self.pending.links.extend(touch::links(seq, &draft.record));
        self.pending.asides.extend(draft.asides.iter().map(aside_row));
        self.is_wide |= touch::wide(&draft.record.event);
        let mut entry = Entry {
            seq,
            happened: draft.happened.to_string(),
            written_ms: self.now.ms,
            kind: draft.record.event.kind().to_owned(),
            version: VERSION,
            body,
            writer: draft.writer.0,
            client: draft.client.clone(),
            before: std::mem::take(&mut self.head.hash),
            hash: String::new(),
        };
        entry.hash = entry.digest();
        self.head = Head { seq, hash: entry.hash.clone() };
        self.clients.insert(draft.client, seq);
        self.pending.entries.push(entry);
        if self.pending.entries.len() >= FLUSH {
            self.flush().await?;
        }
        Ok(seq)
    }

    async fn note_things(&mut self, seq: i64, draft: &Draft) -> Result<()> {
        let mut things = touch::things(seq, &draft.record);
        if let Some(earlier) = touch::leans_on(&draft.record.event) {
            if earlier >= seq {
                return Err(StoreError::Unfit(format!("entry {earlier} is not in the log, which ends at {}", seq - 1)));
            }
            self.flush().await?;
            things.extend(leant_on(&mut self.writing, earlier, &mut self.is_wide).await?);
        }
        if self.is_bulk {
            return Ok(());
        }
        self.touched.extend(&things);
        self.pending.about.extend(things.into_iter().map(|thing| (thing, seq)));
        Ok(())
    }

    async fn flush(&mut self) -> Result<()> {
        let Pending { entries, asides, about, links } = std::mem::take(&mut self.pending);
        let conn = &mut *self.writing;
        let told: HashMap<i64, String> = entries.iter().map(|entry| (entry.seq, tells(entry))).collect();
        let about = about.into_iter().map(|(thing, seq)| about_row(thing, seq, told.get(&seq).map(String::as_str)));
        rows::insert(conn, ENTRY_INTO, entries.iter().map(rows::entry_row).collect(), "").await?;
        rows::insert(conn, ASIDE_INTO, asides, " ON CONFLICT (private) DO NOTHING").await?;
        rows::insert(conn, ABOUT_INTO, about.collect(), " ON CONFLICT DO NOTHING").await?;
        rows::insert(conn, LINK_INTO, links.into_iter().map(pair).collect(), " ON CONFLICT DO NOTHING").await
    }
}

pub(super) const ENTRY_INTO: &str =
    "entry (seq, happened, written_ms, kind, version, body, writer, client, before, hash, sums)";
pub(super) const ASIDE_INTO: &str = "aside (private, salt, media, content, person, sums)";
pub(super) const ABOUT_INTO: &str = "about (thing, seq, told)";
pub(super) const LINK_INTO: &str = "link (thing, source)";

pub(super) fn pair((one, other): (i64, i64)) -> [Value; 2] {
    [Value::Number(one), Value::Number(other)]
}

/// The things that an earlier entry bears upon, whatever that one leans on among them.
pub(super) async fn leant_on(conn: &mut AnyConnection, seq: i64, is_wide: &mut bool) -> Result<Vec<i64>> {
    let mut things = Vec::new();
    let mut next = Some(seq);
    while let Some(seq) = next {
        let Some(past) = entry_at(conn, seq).await? else { break };
        *is_wide |= touch::wide(&past.record.event);
        things.extend(touch::things(seq, &past.record));
        next = touch::leans_on(&past.record.event).filter(|earlier| *earlier < seq);
    }
    Ok(things)
}

pub(super) fn aside_row(aside: &Aside) -> [Value; 6] {
    let person = aside.person.as_ref().map(|person| person.0.clone());
    [
        Value::Text(aside.private.as_str().to_owned()),
        Value::Bytes(aside.salt.to_vec()),
        Value::Text(aside.media.clone()),
        Value::Bytes(aside.content.clone()),
        Value::MaybeText(person),
        Value::Text(aside_sums(aside)),
    ]
}

/// The columns that [`aside_sums`] tells apart.
pub(super) const ASIDE_SUMMED: [&str; 5] = ["private", "salt", "media", "content", "person"];

pub(super) fn aside_sums(aside: &Aside) -> String {
    let person = aside.person.as_ref().map_or("", |person| person.0.as_str());
    sums_of([aside.private.as_str().as_bytes(), &aside.salt, aside.media.as_bytes(), &aside.content, person.as_bytes()])
}

fn fits(draft: &Draft) -> Result<()> {
    let unfit = |why: &str| Err(StoreError::Unfit(why.to_owned()));
    if draft.client.is_empty() {
        return unfit("an entry needs a client's word of its own");
    }
    let zone = draft.happened.zone.as_deref().unwrap_or_default();
    let medias = draft.asides.iter().map(|aside| aside.media.as_str());
    if [draft.client.as_str(), &draft.writer.0, zone]
        .into_iter()
        .chain(medias)
        .any(|text| text.contains(char::is_control))
    {
        return unfit("a client's word, a writer, a zone or a medium holds a control character");
    }
    match draft.asides.iter().find(|aside| !aside.holds()) {
        Some(aside) => {
            unfit(&format!("what stands beside the log as {} is not what its name says", aside.private.as_str()))
        }
        None => Ok(()),
    }
}
