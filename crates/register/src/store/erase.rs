//! Erasing what is known of a person: the log keeps hashes that tell nothing, and the chain still holds.

use super::error::{Result, StoreError};
use super::{Dialect, Now, Store, Written};
use crate::entry::Draft;
use crate::event::Event;
use sqlx::Row;

/// What was erased.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Erased {
    /// The entry that says so.
    pub entry: Written,
    /// How many names, texts and photos.
    pub asides: u64,
}

impl Store {
    /// Writes the draft, a [`Event::PersonErased`], and erases that person's names, texts and photos: from the tables, and by
    /// writing the file anew also from the room that deleted rows leave. Backups made before still hold them.
    ///
    /// # Errors
    /// Where the draft is another, or the store cannot be written to. Where only the last step failed, doing it again with the
    /// same draft finishes it.
    pub async fn erase(&self, draft: Draft, now: Now) -> Result<Erased> {
        let Event::PersonErased { person } = &draft.record.event else {
            return Err(StoreError::Unfit("only an erasure erases".to_owned()));
        };
        let person = person.clone();
        let mut batch = self.begin(now).await?;
        let entry = batch.push(draft).await?;
        let sql = "DELETE FROM aside WHERE person = $1";
        let asides = sqlx::query(sql).bind(person.0).execute(batch.settled().await?).await?.rows_affected();
        batch.commit().await?;
        self.forget().await?;
        Ok(Erased { entry, asides })
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
}
