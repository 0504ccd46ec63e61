//! The list of kits: where each is, and by when it is to be back.

use super::Store;
use super::error::Result;
use super::history::{list, past};
use super::query::Cursor;
use super::rows::{self, Value};
use super::shelf::place;
use crate::history::{History, effective};
use crate::id::{Id, PersonId};
use crate::kit::Kit;
use async_recursion::async_recursion as boxed;
use jiff::civil::Date;
use sqlx::AnyConnection;
use sqlx::Row;
use sqlx::any::AnyRow;
use std::collections::BTreeSet;

/// One row of the list of kits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KitRow {
    /// Its name in the log.
    pub id: Id,
    /// Its label.
    pub label: String,
    /// How many pieces and lots belong to it.
    pub parts: i64,
    /// Who has it, where somebody was named.
    pub holder: Option<PersonId>,
    /// Since when it is out; `None` while it is in.
    pub since: Option<Date>,
    /// When it is to be back.
    pub due: Option<Date>,
}

/// Some of the list of kits.
#[derive(Debug, Clone)]
pub struct KitPage {
    /// The kits, by label.
    pub kits: Vec<KitRow>,
    /// Where to go on; `None` at the end.
    pub next: Option<Cursor>,
}

/// The columns of a kit, in the order of [`KitRow::row`] and [`KitRow::read`].
const KIT: &str = "id, label, place, parts, holder, since, due";

impl Store {
    /// A page of the list of kits, at most `limit`; with `late_on`, of those alone that were to be back before that day.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn kits(&self, after: Option<&Cursor>, limit: u32, late_on: Option<Date>) -> Result<KitPage> {
        let (place, id) = after.map_or((String::new(), i64::MIN), Cursor::place);
        let late = late_on.map(|day| day.to_string());
        let and = late.as_ref().map_or("", |_| " AND due < $4");
        let sql = format!("SELECT {KIT} FROM kit WHERE (place, id) > ($1, $2){and} ORDER BY place, id LIMIT $3");
        let query = sqlx::query(&sql).bind(place).bind(id).bind(i64::from(limit));
        let query = late.into_iter().fold(query, |query, day| query.bind(day));
        let rows = query.fetch_all(&mut *self.conn().await?).await?;
        let kits = rows.iter().map(KitRow::read).collect::<Result<Vec<_>>>()?;
        let is_full = kits.len() == limit as usize;
        let next = kits.last().filter(|_| is_full).map(|last| Cursor::at(super::shelf::place(&last.label), last.id));
        Ok(KitPage { kits, next })
    }

    /// How many kits are out past the day that they were to be back.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn late_kits(&self, on: Date) -> Result<i64> {
        let sql = "SELECT count(*) FROM kit WHERE due < $1";
        let row = sqlx::query(sql).bind(on.to_string()).fetch_one(&mut *self.conn().await?).await?;
        Ok(row.try_get(0)?)
    }

    /// The row of one kit.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn kit_row(&self, id: Id) -> Result<Option<KitRow>> {
        let sql = format!("SELECT {KIT} FROM kit WHERE id = $1");
        let row = sqlx::query(&sql).bind(id.number()).fetch_optional(&mut *self.conn().await?).await?;
        row.as_ref().map(KitRow::read).transpose()
    }

    /// The kit with a label, whole.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn kit(&self, label: &str) -> Result<Option<Kit>> {
        // A kit inherits from nothing: its own entries are all of its history.
        let sql = "SELECT entry.seq, happened, written_ms, version, writer, body, kit.id FROM
            (SELECT id FROM kit WHERE label = $1 ORDER BY id LIMIT 1) AS kit
            JOIN about ON about.thing = kit.id JOIN entry ON entry.seq = about.seq ORDER BY entry.seq";
        let rows = sqlx::query(sql).bind(label).fetch_all(&mut *self.conn().await?).await?;
        let Some(id) = rows.first().map(|row| row.try_get(6)).transpose()? else { return Ok(None) };
        let history = rows.iter().map(past).collect::<Result<_>>()?;
        Ok(Kit::fold(Id::from_number(id), &effective(history), Date::MAX))
    }
}

impl From<&Kit> for KitRow {
    fn from(kit: &Kit) -> Self {
        let (holder, since, due) =
            kit.out.as_ref().map_or((None, None, None), |out| (out.to.clone(), Some(out.since), out.due));
        let parts = i64::try_from(kit.contents.len()).unwrap_or(i64::MAX);
        Self { id: kit.id, label: kit.label.clone(), parts, holder, since, due }
    }
}

impl KitRow {
    /// Whether it is out past the day that it was to be back.
    #[must_use]
    pub fn is_late(&self, on: Date) -> bool {
        self.due.is_some_and(|due| due < on)
    }

    /// The row of a thing, where it is a kit: as the whole log has it, since nothing in it changes by itself.
    pub(super) fn of(id: Id, history: &History) -> Option<Self> {
        Kit::fold(id, history, Date::MAX).as_ref().map(Self::from)
    }

    fn row(&self) -> [Value; 7] {
        let day = |date: Option<Date>| Value::MaybeText(date.map(|date| date.to_string()));
        [
            Value::Number(self.id.number()),
            Value::Text(self.label.clone()),
            Value::Text(place(&self.label)),
            Value::Number(self.parts),
            Value::MaybeText(self.holder.as_ref().map(|person| person.0.clone())),
            day(self.since),
            day(self.due),
        ]
    }

    fn read(row: &AnyRow) -> Result<Self> {
        let day = |text: Option<String>| text.and_then(|text| text.parse().ok());
        Ok(Self {
            id: Id::from_number(row.try_get(0)?),
            label: row.try_get(1)?,
            parts: row.try_get(3)?,
            holder: row.try_get::<Option<String>, _>(4)?.map(PersonId),
            since: day(row.try_get(5)?),
            due: day(row.try_get(6)?),
        })
    }
}

/// Puts the rows of some things in place of what is there of them.
pub(super) async fn replace(conn: &mut AnyConnection, of: &BTreeSet<i64>, rows: &[KitRow]) -> Result<()> {
    if of.is_empty() {
        return Ok(());
    }
    let gone = format!("DELETE FROM kit WHERE id {}", list(of));
    sqlx::query(&gone).persistent(false).execute(&mut *conn).await?;
    insert(conn, rows).await
}

pub(super) async fn insert(conn: &mut AnyConnection, kits: &[KitRow]) -> Result<()> {
    rows::insert(conn, &format!("kit ({KIT})"), kits.iter().map(KitRow::row).collect(), "").await
}
