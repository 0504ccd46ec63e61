//! Erasing what is known of a person: the log keeps hashes that tell nothing, and the chain still holds.

use super::accounts::forget_account;
use super::batch::Batch;
use super::error::{Result, StoreError};
use super::history::aside;
use super::touch::PEOPLE;
use super::{Dialect, Now, Store, Written};
use crate::entry::Draft;
use crate::event::{Event, Gone};
use crate::history::Past;
use crate::id::PersonId;
use crate::private::{Aside, Private, Salt};
use async_recursion::async_recursion as boxed;
use sqlx::AnyConnection;
use sqlx::Row;
use std::collections::{BTreeMap, BTreeSet};

/// What was erased.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Erased {
    /// The entry that says so.
    pub entry: Written,
    /// How many names, texts and photos were the person's own.
    pub asides: u64,
    /// How many other texts stand there now without the name.
    pub blanked: u64,
    /// Entries that hold a spelling in the log itself, in a label, a place, a supplier: there it cannot be erased.
    pub left: Vec<i64>,
}

/// How a person is named in texts, and what is put there instead.
pub struct Spellings<'a> {
    /// Each way of writing the name; case and the width of spaces do not matter.
    pub of: &'a [String],
    /// What stands in its place.
    pub mark: &'a str,
    /// Chance for the names of the new texts.
    pub salt: &'a (dyn Fn() -> Salt + Sync),
}

impl std::fmt::Debug for Spellings<'_> {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.debug_struct("Spellings").field("of", &self.of).field("mark", &self.mark).finish_non_exhaustive()
    }
}

/// How many texts are looked through at a time.
const TEXTS: i64 = 1024;

impl Store {
    /// Writes the draft, a [`Event::PersonErased`], and erases that person's account, names, texts and photos, and the name from every other
    /// text that stands beside the log: from the tables, and by writing the file anew also from the room that deleted rows leave.
    /// Backups made before still hold them, and so may the log itself, where somebody typed the name into a label or a place.
    ///
    /// # Errors
    /// Where the draft is another, or the store cannot be written to. Where only the last step failed, doing it again with the
    /// same draft finishes it.
    #[boxed]
    pub async fn erase(&self, mut draft: Draft, spellings: &Spellings<'_>, now: Now) -> Result<Erased> {
        let Event::PersonErased { person, gone } = &mut draft.record.event else {
            return Err(StoreError::Unfit("only an erasure erases".to_owned()));
        };
        let person = person.clone();
        let mut batch = self.begin(now).await?;
        let conn = batch.settled().await?;
        let own = own(conn, &person).await?;
        let blanked = blanked(conn, &person, spellings).await?;
        gone.extend(own.iter().map(|was| Gone { was: was.clone(), now: None }));
        for (was, now) in blanked {
            gone.push(Gone { was, now: Some(now.private.clone()) });
            draft.asides.push(now);
        }
        let names: Vec<Private> = gone.iter().map(|gone| gone.was.clone()).collect();
        let (asides, blanked) = (own.len() as u64, draft.asides.len() as u64);
        let left = left(conn, spellings).await?;
        let entry = batch.push(draft).await?;
        forget_rows(&mut batch, &names).await?;
        forget_account(batch.settled().await?, &person).await?;
        batch.commit().await?;
        self.forget().await?;
        Ok(Erased { entry, asides, blanked, left })
    }

    async fn forget(&self) -> Result<()> {
        let mut conn = self.conn().await?;
        for statement in self.dialect.forget() {
            let row = sqlx::query(statement).fetch_optional(&mut *conn).await?;
            let is_busy = self.dialect == Dialect::Sqlite
                && row.is_some_and(|row| row.try_get::<i64, _>(0).is_ok_and(|busy| busy != 0));
            if is_busy {
                return Err(StoreError::Locked);
            }
        }
        Ok(())
    }

    /// What stands in place of texts that named somebody: by the name of each, the last that stands for it.
    pub(super) async fn replaced(&self) -> Result<BTreeMap<Private, Private>> {
        let mut replaced = BTreeMap::new();
        // The latest first: what a text became is itself what a later erasure changed.
        for Past { record, .. } in self.history(PEOPLE).await?.into_iter().rev() {
            let Event::PersonErased { gone, .. } = &record.event else { continue };
            for Gone { was, now } in gone {
                let Some(now) = now else { continue };
                let last = replaced.get(now).unwrap_or(now).clone();
                replaced.insert(was.clone(), last);
            }
        }
        Ok(replaced)
    }
}

/// The names of what is a person's own.
async fn own(conn: &mut AnyConnection, person: &PersonId) -> Result<Vec<Private>> {
    let sql = "SELECT private FROM aside WHERE person = $1 ORDER BY private";
    let rows = sqlx::query(sql).bind(person.0.clone()).fetch_all(conn).await?;
    rows.iter().map(|row| Ok(Private::from_stored(row.try_get(0)?))).collect()
}

/// Every text of others that names the person: its name, and what is to stand in its place.
async fn blanked(
    conn: &mut AnyConnection,
    person: &PersonId,
    spellings: &Spellings<'_>,
) -> Result<Vec<(Private, Aside)>> {
    let sql = "SELECT private, salt, media, content, person FROM aside
        WHERE private > $1 AND media LIKE 'text/%' AND (person IS NULL OR person <> $2) ORDER BY private LIMIT $3";
    let (mut after, mut blanked) = (String::new(), Vec::new());
    loop {
        let query = sqlx::query(sql).bind(after.clone()).bind(person.0.clone()).bind(TEXTS);
        let rows = query.fetch_all(&mut *conn).await?;
        if rows.is_empty() {
            return Ok(blanked);
        }
        for row in &rows {
            let was = aside(row)?;
            was.private.as_str().clone_into(&mut after);
            let Some(text) = std::str::from_utf8(&was.content).ok().and_then(|text| spellings.blank(text)) else {
                continue;
            };
            let now = Aside::new(&was.media, text.into_bytes(), (spellings.salt)(), was.person);
            blanked.push((was.private, now));
        }
    }
}

/// The entries whose bodies hold a spelling, as it is typed or in other cases.
async fn left(conn: &mut AnyConnection, spellings: &Spellings<'_>) -> Result<Vec<i64>> {
    let sql = "SELECT seq FROM entry WHERE body LIKE $1 ESCAPE '!' OR lower(body) LIKE $2 ESCAPE '!'";
    let like = |text: &str| format!("%{}%", text.replace('!', "!!").replace('%', "!%").replace('_', "!_"));
    let mut left = BTreeSet::new();
    for spelling in spellings.of {
        let query = sqlx::query(sql).bind(like(spelling)).bind(like(&spelling.to_lowercase()));
        for row in query.fetch_all(&mut *conn).await? {
            left.insert(row.try_get(0)?);
        }
    }
    Ok(left.into_iter().collect())
}

async fn forget_rows(batch: &mut Batch, names: &[Private]) -> Result<()> {
    let conn = batch.settled().await?;
    for name in names {
        sqlx::query("DELETE FROM aside WHERE private = $1").bind(name.as_str().to_owned()).execute(&mut *conn).await?;
    }
    Ok(())
}

impl Spellings<'_> {
    /// The text with every spelling blanked; `None` where it holds none.
    fn blank(&self, text: &str) -> Option<String> {
        let mut blanked = String::with_capacity(text.len());
        let (mut rest, mut is_in_word, mut is_changed) = (text, false, false);
        while let Some(first) = rest.chars().next() {
            let found = self
                .of
                .iter()
                .filter(|_| !is_in_word)
                .filter_map(|spelling| after(rest, spelling))
                .min_by_key(|rest| rest.len());
            if let Some(after) = found {
                blanked += self.mark;
                (rest, is_changed) = (after, true);
            } else {
                blanked.push(first);
                rest = &rest[first.len_utf8()..];
                is_in_word = first.is_alphanumeric();
            }
        }
        is_changed.then_some(blanked)
    }
}

/// What follows a spelling that `text` begins with; an ending such as that of a genitive stays.
fn after<'t>(text: &'t str, spelling: &str) -> Option<&'t str> {
    let words: Vec<&str> = spelling.split_whitespace().collect();
    let (first, others) = words.split_first()?;
    others.iter().try_fold(after_word(text, first)?, |rest, word| {
        let trimmed = rest.trim_start();
        (trimmed.len() < rest.len()).then(|| after_word(trimmed, word)).flatten()
    })
}

fn after_word<'t>(text: &'t str, word: &str) -> Option<&'t str> {
    let mut rest = text.chars();
    for wanted in word.chars() {
        let found = rest.next()?;
        if !found.to_lowercase().eq(wanted.to_lowercase()) {
            return None;
        }
    }
    Some(rest.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blank(text: &str) -> Option<String> {
        let of = ["Anna Example".to_owned(), "Anna".to_owned()];
        Spellings { of: &of, mark: "(erased)", salt: &|| [0; 16] }.blank(text)
    }

    #[test]
    fn a_name_is_blanked_however_it_is_spaced_and_written() {
        assert_eq!(blank("seen by ANNA \n example's mate, ÄNNA").as_deref(), Some("seen by (erased)'s mate, ÄNNA"));
        assert_eq!(blank("anna").as_deref(), Some("(erased)"));
        assert_eq!(blank("Annas rope, Anna").as_deref(), Some("(erased)s rope, (erased)"));
    }

    #[test]
    fn what_only_holds_its_letters_stays() {
        assert_eq!(blank("Susanna hung the banner, Ann Example"), None);
        assert_eq!(blank(""), None);
    }
}
