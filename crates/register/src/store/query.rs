//! Lists, page by page: by label, by the day something is due, or by the words that were asked for.

use super::error::Result;
use super::rows::Value;
use super::shelf::{RACK, Shelf};
use super::{Dialect, Store};
use crate::id::{Id, PersonId};
use crate::standing::State;
use crate::summary::Summary;
use async_recursion::async_recursion as boxed;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use sqlx::AnyConnection;
use sqlx::any::AnyRow;
use sqlx::{Executor as _, Row};
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// What to list: the pieces that meet all that is given.
#[derive(Debug, Clone, Default)]
pub struct Query {
    /// Words, each the beginning of one of the piece's own.
    pub text: String,
    /// The kind of gear.
    pub gear: Option<String>,
    /// The model.
    pub model: Option<Id>,
    /// The standing.
    pub standing: Option<State>,
    /// Where it is.
    pub site: Option<String>,
    /// Who has it.
    pub holder: Option<PersonId>,
    /// The kit it belongs to.
    pub kit: Option<Id>,
    /// To be inspected before this day; then the list is by that day.
    pub due_before: Option<Date>,
    /// Where the page before ended.
    pub after: Option<Cursor>,
    /// How many; 0 stands for 50, and there are never more than 1000.
    pub limit: u32,
}

/// Where a page ended. Written as one line of text, to be given back as it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cursor {
    by: By,
    key: String,
    place: String,
    id: i64,
}

impl Cursor {
    /// A place in a list that is by label.
    pub(super) fn at(place: String, id: Id) -> Self {
        Self { by: By::Label, key: place.clone(), place, id: id.number() }
    }

    pub(super) fn place(&self) -> (String, i64) {
        (self.place.clone(), self.id)
    }
}

/// What a list is ordered by.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
enum By {
    /// By label.
    Label,
    /// By the day it is due, then as entered.
    Due,
    /// By the word that begins with this, then by label.
    Word(String),
}

/// Some of a list.
#[derive(Debug, Clone)]
pub struct Page {
    /// The pieces.
    pub pieces: Vec<Summary>,
    /// Where to go on; `None` at the end.
    pub next: Option<Cursor>,
}

/// How many labels are looked for by one statement.
const TOGETHER: usize = 256;

impl Store {
    /// A page of a list, [`Summary::words`] left out. Standings are those of the last [`Store::refresh`].
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn pieces(&self, query: &Query) -> Result<Page> {
        let mut conn = self.conn().await?;
        let words = words(&query.text);
        let by = match &query.after {
            Some(cursor) => cursor.by.clone(),
            None => choose(&mut conn, query, &words).await?,
        };
        let limit = match query.limit {
            0 => 50,
            limit => limit.min(1000) as usize,
        };
        let mut page = Vec::with_capacity(limit);
        let mut after = query.after.clone();
        loop {
            let ask = Asked::new(query, &words, &by, after.as_ref(), limit, self.dialect);
            let rows = ask.fetch(&mut conn).await?;
            let is_end = rows.len() < limit;
            for row in rows {
                let (key, shelf): (String, _) = (row.try_get(13)?, Shelf::read_but_words(&row)?);
                let is_first = is_first(&by, &key, row.try_get(12)?);
                after = Some(Cursor { by: by.clone(), key, place: shelf.place, id: shelf.summary.id.number() });
                if is_first {
                    page.push(shelf.summary);
                }
                if page.len() == limit {
                    return Ok(Page { pieces: page, next: after });
                }
            }
            if is_end {
                return Ok(Page { pieces: page, next: None });
            }
        }
    }

    /// The rows of every piece that has one of some labels, [`Summary::words`] left out, in no order: in the course of time several
    /// pieces may have had one label.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn labelled(&self, labels: &[String]) -> Result<Vec<Summary>> {
        let mut conn = self.conn().await?;
        let mut found = Vec::with_capacity(labels.len());
        for chunk in labels.chunks(TOGETHER) {
            let places = super::rows::places(chunk.len());
            let sql = format!("SELECT {RACK} FROM rack WHERE label IN ({places})");
            let query = chunk.iter().fold(sqlx::query(&sql), |query, label| query.bind(label.clone()));
            for row in query.persistent(chunk.len() == 1).fetch_all(&mut *conn).await? {
                found.push(Shelf::read_but_words(&row)?.summary);
            }
        }
        Ok(found)
    }

    /// How many pieces are to be inspected before a day, counted up to `most`.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn due(&self, before: Date, site: Option<&str>, most: i64) -> Result<i64> {
        let and = site.map_or("", |_| " AND site = $3");
        let sql = format!("SELECT count(*) FROM (SELECT 1 FROM rack WHERE due_on < $1{and} LIMIT $2) AS few");
        let query = sqlx::query(&sql).bind(before.to_string()).bind(most);
        let query = site.into_iter().fold(query, |query, site| query.bind(site.to_owned()));
        Ok(query.fetch_one(&mut *self.conn().await?).await?.try_get(0)?)
    }

    /// How many pieces there are of each kind of gear and standing.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn counts(&self) -> Result<BTreeMap<(String, String), i64>> {
        let sql = "SELECT gear, standing, count(*) FROM rack GROUP BY gear, standing";
        let rows = sqlx::query(sql).fetch_all(&mut *self.conn().await?).await?;
        let count = |row: &AnyRow| Ok(((row.try_get(0)?, row.try_get(1)?), row.try_get(2)?));
        rows.iter().map(count).collect()
    }

    /// The rows of some pieces, [`Summary::words`] left out.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn rows(&self, ids: &[Id]) -> Result<BTreeMap<Id, Summary>> {
        let mut conn = self.conn().await?;
        let mut found = BTreeMap::new();
        for chunk in ids.chunks(TOGETHER) {
            let which = super::history::list(&chunk.iter().map(|id| id.number()).collect::<Vec<_>>());
            let sql = format!("SELECT {RACK} FROM rack WHERE id {which}");
            for row in sqlx::query(&sql).persistent(false).fetch_all(&mut *conn).await? {
                let row = Shelf::read_but_words(&row)?.summary;
                found.insert(row.id, row);
            }
        }
        Ok(found)
    }

    /// The row of one piece.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn piece(&self, id: Id) -> Result<Option<Summary>> {
        let sql = format!("SELECT {RACK} FROM rack WHERE id = $1");
        let row = sqlx::query(&sql).bind(id.number()).fetch_optional(&mut *self.conn().await?).await?;
        Ok(row.map(|row| Shelf::read(&row)).transpose()?.map(|shelf| shelf.summary))
    }
}

fn words(text: &str) -> Vec<String> {
    let text = text.to_lowercase().replace(['%', '_', '\\'], " ");
    text.split_whitespace().map(str::to_owned).collect()
}

/// By the word that the fewest pieces have, as far as counting is quick; by label where a filter leaves fewer.
async fn choose(conn: &mut AnyConnection, query: &Query, words: &[String]) -> Result<By> {
    if query.due_before.is_some() {
        return Ok(By::Due);
    }
    let filters = filters(query);
    let (Some(first), true) = (words.first(), words.len() > 1 || !filters.is_empty()) else {
        return Ok(words.first().map_or(By::Label, |word| By::Word(word.clone())));
    };
    let mut words: Vec<&String> = words.iter().collect();
    // Figures and long words tend to be rare, and what is found rare first spares counting the rest.
    words.sort_by_key(|word| (!word.contains(|c: char| c.is_ascii_digit()), Reverse(word.len())));
    for few in FEW {
        let (mut best, mut fewest) = (None, few);
        for word in &words {
            let count = few_words(conn, word, fewest).await?;
            if count < fewest {
                (best, fewest) = (Some(By::Word((*word).clone())), count);
            }
        }
        for (column, value) in &filters {
            let count = few_rows(conn, column, value.clone(), fewest).await?;
            if count < fewest {
                (best, fewest) = (Some(By::Label), count);
            }
        }
        if let Some(best) = best {
            return Ok(best);
        }
    }
    Ok(By::Word(first.clone()))
}

/// Up to how many are counted: as far as it takes until one is found to be rare.
const FEW: [i64; 4] = [64, 256, 1024, 4096];

async fn few_words(conn: &mut AnyConnection, word: &str, few: i64) -> Result<i64> {
    let sql = "SELECT count(*) FROM (SELECT 1 FROM word WHERE word >= $1 AND word < $2 LIMIT $3) AS few";
    let query = sqlx::query(sql).bind(word.to_owned()).bind(end_of(word)).bind(few);
    Ok(query.fetch_one(conn).await?.try_get(0)?)
}

async fn few_rows(conn: &mut AnyConnection, column: &str, value: Value, few: i64) -> Result<i64> {
    let sql = format!("SELECT count(*) FROM (SELECT 1 FROM rack WHERE {column} = $1 LIMIT $2) AS few");
    let query = super::rows::bind(sqlx::query(&sql), value).bind(few);
    Ok(conn.fetch_one(query).await?.try_get(0)?)
}

/// What comes after every word that begins so.
fn end_of(prefix: &str) -> String {
    format!("{prefix}\u{10ffff}")
}

fn filters(query: &Query) -> Vec<(&'static str, Value)> {
    let text = |text: &Option<String>| text.clone().map(Value::Text);
    let id = |id: Option<Id>| id.map(|id| Value::Number(id.number()));
    let all = [
        ("gear", text(&query.gear)),
        ("model", id(query.model)),
        ("standing", query.standing.map(|state| Value::Text(state.code().to_owned()))),
        ("site", text(&query.site)),
        ("holder", query.holder.as_ref().map(|person| Value::Text(person.0.clone()))),
        ("kit", id(query.kit)),
    ];
    all.into_iter().filter_map(|(column, value)| value.map(|value| (column, value))).collect()
}

/// A piece that has several words which begin so is shown at the first of them.
fn is_first(by: &By, key: &str, words: &str) -> bool {
    match by {
        By::Word(prefix) => words.split_whitespace().find(|word| word.starts_with(prefix.as_str())) == Some(key),
        _ => true,
    }
}

/// A question in SQL, with its values.
struct Asked {
    sql: String,
    values: Vec<Value>,
}

impl Asked {
    fn new(query: &Query, words: &[String], by: &By, after: Option<&Cursor>, limit: usize, dialect: Dialect) -> Self {
        let mut asked = Self { sql: String::new(), values: Vec::new() };
        let (key, from, order) = match by {
            By::Label => ("place", "rack", "place, id"),
            By::Due => ("due_on", "rack", "due_on, id"),
            By::Word(_) => ("word", "word", "word, place, id"),
        };
        asked.sql = match by {
            By::Word(_) => format!(
                "SELECT {}, word.word FROM word {} rack ON rack.id = word.id WHERE 1 = 1",
                of_rack(),
                dialect.join_in_order()
            ),
            _ => format!("SELECT {RACK}, {key} FROM {from} WHERE 1 = 1"),
        };
        asked.filter(query);
        asked.words(words, by);
        asked.page(by, after);
        let qualified = order.split(", ").map(|column| format!("{from}.{column}")).collect::<Vec<_>>().join(", ");
        asked.sql += &format!(" ORDER BY {qualified} LIMIT {limit}");
        asked
    }

    fn place_of(&mut self, value: Value) -> String {
        self.values.push(value);
        format!("${}", self.values.len())
    }

    fn and(&mut self, condition: &str, value: Value) {
        let place = self.place_of(value);
        self.sql += &format!(" AND {condition} {place}");
    }

    fn filter(&mut self, query: &Query) {
        for (column, value) in filters(query) {
            self.and(&format!("rack.{column} ="), value);
        }
        if let Some(day) = query.due_before {
            self.and("rack.due_on <", Value::Text(day.to_string()));
        }
    }

    fn words(&mut self, words: &[String], by: &By) {
        for word in words {
            if matches!(by, By::Word(driver) if driver == word) {
                self.and("word.word >=", Value::Text(word.clone()));
                self.and("word.word <", Value::Text(end_of(word)));
            } else {
                self.and("rack.words LIKE", Value::Text(format!("% {word}%")));
            }
        }
    }

    fn page(&mut self, by: &By, after: Option<&Cursor>) {
        let Some(after) = after else { return };
        let id = Value::Number(after.id);
        let (columns, values) = match by {
            By::Label => ("rack.place, rack.id", vec![Value::Text(after.place.clone()), id]),
            By::Due => ("rack.due_on, rack.id", vec![Value::Text(after.key.clone()), id]),
            By::Word(_) => {
                let texts = [&after.key, &after.place].map(|text| Value::Text(text.clone()));
                ("word.word, word.place, word.id", texts.into_iter().chain([id]).collect())
            }
        };
        let places: Vec<String> = values.into_iter().map(|value| self.place_of(value)).collect();
        self.sql += &format!(" AND ({columns}) > ({})", places.join(", "));
    }

    async fn fetch(self, conn: &mut AnyConnection) -> Result<Vec<AnyRow>> {
        let Self { sql, values } = self;
        Ok(values.into_iter().fold(sqlx::query(&sql), super::rows::bind).fetch_all(conn).await?)
    }
}

fn of_rack() -> String {
    RACK.split(", ").map(|column| format!("rack.{column}")).collect::<Vec<_>>().join(", ")
}
