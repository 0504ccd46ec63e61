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
use sqlx::Row;
use sqlx::any::AnyRow;
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
        let asked = Asked::new(query, self.dialect);
        let mut ways = asked.ways();
        let mut far = (ways.len() > 1).then_some(self.dialect.far());
        loop {
            for way in &mut ways {
                if let Some(page) = asked.go(&mut conn, way, far).await? {
                    return Ok(page);
                }
            }
            far = far.map(|far| FURTHER * far);
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

    /// How many pieces there are of each model, kind of gear and standing; of no known model under `None`.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn counts_by_model(&self) -> Result<BTreeMap<(Option<Id>, String, String), i64>> {
        let sql = "SELECT model, gear, standing, count(*) FROM rack GROUP BY model, gear, standing";
        let rows = sqlx::query(sql).fetch_all(&mut *self.conn().await?).await?;
        let count = |row: &AnyRow| {
            let model: Option<i64> = row.try_get(0)?;
            Ok(((model.map(Id::from_number), row.try_get(1)?, row.try_get(2)?), row.try_get(3)?))
        };
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

/// How many times further a search goes along each way where it was not done.
const FURTHER: i64 = 8;

/// A way to go along a list in one of its orders, how far it was gone, and what was found there.
struct Way {
    by: By,
    after: Option<Cursor>,
    found: Vec<Summary>,
}

impl Way {
    const fn new(by: By, after: Option<Cursor>) -> Self {
        Self { by, after, found: Vec::new() }
    }
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

impl By {
    /// The table whose index has this order, and the columns of that.
    const fn order(&self) -> (&'static str, &'static [&'static str]) {
        match self {
            Self::Label => ("rack", &["place", "id"]),
            Self::Due => ("rack", &["due_on", "id"]),
            Self::Word(_) => ("word", &["word", "place", "id"]),
        }
    }
}

impl Cursor {
    /// Its values of the columns of [`By::order`].
    fn values(&self) -> Vec<Value> {
        let text = |text: &String| Value::Text(text.clone());
        let id = Value::Number(self.id);
        match self.by {
            By::Label => vec![text(&self.place), id],
            By::Due => vec![text(&self.key), id],
            By::Word(_) => vec![text(&self.key), text(&self.place), id],
        }
    }
}

/// What was asked, ready to be looked for.
struct Asked<'a> {
    query: &'a Query,
    words: Vec<String>,
    limit: usize,
    dialect: Dialect,
}

impl<'a> Asked<'a> {
    fn new(query: &'a Query, dialect: Dialect) -> Self {
        let limit = match query.limit {
            0 => 50,
            limit => limit.min(1000) as usize,
        };
        Self { query, words: words(&query.text), limit, dialect }
    }

    /// Every way that may be short. Nobody knows which word is rare, and whether any is rarer than what a filter leaves: so a search goes
    /// some way along each in turn, and is done by the shortest at no more than a few times the cost of that.
    fn ways(&self) -> Vec<Way> {
        if let Some(cursor) = &self.query.after {
            return vec![Way::new(cursor.by.clone(), Some(cursor.clone()))];
        }
        if self.query.due_before.is_some() {
            return vec![Way::new(By::Due, None)];
        }
        let mut words: Vec<&String> = self.words.iter().collect();
        // Figures and long words tend to be rare, and what is found along the first spares going along the others.
        words.sort_by_key(|word| (!word.contains(|c: char| c.is_ascii_digit()), Reverse(word.len())));
        let by_label = (words.is_empty() || !filters(self.query).is_empty()).then_some(By::Label);
        let all = words.into_iter().map(|word| By::Word(word.clone())).chain(by_label);
        all.map(|by| Way::new(by, None)).collect()
    }

    /// Goes `far` rows further along a way, or up to its end. Gives the page once that is full, or the way at its end.
    async fn go(&self, conn: &mut AnyConnection, way: &mut Way, far: Option<i64>) -> Result<Option<Page>> {
        let until = match far {
            Some(far) => self.ahead(conn, way, far).await?,
            None => None,
        };
        loop {
            let rows = self.rows(way, until.as_ref()).fetch(conn).await?;
            let is_end = rows.len() < self.limit;
            for row in rows {
                let (key, shelf): (String, _) = (row.try_get(13)?, Shelf::read_but_words(&row)?);
                let is_first = is_first(&way.by, &key, row.try_get(12)?);
                let (place, id) = (shelf.place, shelf.summary.id.number());
                way.after = Some(Cursor { by: way.by.clone(), key, place, id });
                if is_first {
                    way.found.push(shelf.summary);
                }
                if way.found.len() == self.limit {
                    return Ok(Some(Page { pieces: std::mem::take(&mut way.found), next: way.after.take() }));
                }
            }
            match until {
                _ if !is_end => {}
                None => return Ok(Some(Page { pieces: std::mem::take(&mut way.found), next: None })),
                Some(_) => {
                    way.after = until;
                    return Ok(None);
                }
            }
        }
    }

    /// Where a way is `far` rows further on; `None` where it ends before.
    async fn ahead(&self, conn: &mut AnyConnection, way: &Way, far: i64) -> Result<Option<Cursor>> {
        let (table, columns) = way.by.order();
        let key = columns[0];
        let mut sql = Sql::new(format!("SELECT {key}, place, id FROM {table} WHERE 1 = 1"));
        sql.range(way, None);
        if table == "rack" {
            sql.filter(self.query);
        }
        sql.text += &format!(" ORDER BY {} LIMIT 1 OFFSET {far}", columns.join(", "));
        let row = sql.fetch(conn).await?.pop();
        let cursor = |row: AnyRow| {
            Ok(Cursor { by: way.by.clone(), key: row.try_get(0)?, place: row.try_get(1)?, id: row.try_get(2)? })
        };
        row.map(cursor).transpose()
    }

    /// The rows of a way, up to `until` or its end.
    fn rows(&self, way: &Way, until: Option<&Cursor>) -> Sql {
        let (table, columns) = way.by.order();
        let from = match way.by {
            By::Word(_) => format!("word {} rack ON rack.id = word.id", self.dialect.join_in_order()),
            By::Label | By::Due => "rack".to_owned(),
        };
        let mut sql = Sql::new(format!("SELECT {}, {table}.{} FROM {from} WHERE 1 = 1", of_rack(), columns[0]));
        sql.range(way, until);
        sql.filter(self.query);
        let others = self.words.iter().filter(|word| !matches!(&way.by, By::Word(along) if along == *word));
        for word in others {
            sql.and("rack.words LIKE", Value::Text(format!("% {word}%")));
        }
        let order: Vec<_> = columns.iter().map(|column| format!("{table}.{column}")).collect();
        sql.text += &format!(" ORDER BY {} LIMIT {}", order.join(", "), self.limit);
        sql
    }
}

/// A question in SQL, with its values.
struct Sql {
    text: String,
    values: Vec<Value>,
}

impl Sql {
    const fn new(text: String) -> Self {
        Self { text, values: Vec::new() }
    }

    fn place_of(&mut self, value: Value) -> String {
        self.values.push(value);
        format!("${}", self.values.len())
    }

    fn and(&mut self, condition: &str, value: Value) {
        let place = self.place_of(value);
        self.text += &format!(" AND {condition} {place}");
    }

    fn filter(&mut self, query: &Query) {
        for (column, value) in filters(query) {
            self.and(&format!("rack.{column} ="), value);
        }
        if let Some(day) = query.due_before {
            self.and("rack.due_on <", Value::Text(day.to_string()));
        }
    }

    /// What is after where a way has got to, up to `until`. Each end is told once: of two conditions on one column a database goes by
    /// whichever it likes.
    fn range(&mut self, way: &Way, until: Option<&Cursor>) {
        let word = match &way.by {
            By::Word(word) => Some(word),
            By::Label | By::Due => None,
        };
        match (&way.after, word) {
            (Some(after), _) => self.beyond(after, ">"),
            (None, Some(word)) => self.and("word.word >=", Value::Text(word.clone())),
            (None, None) => {}
        }
        match (until, word) {
            (Some(until), _) => self.beyond(until, "<="),
            (None, Some(word)) => self.and("word.word <", Value::Text(end_of(word))),
            (None, None) => {}
        }
    }

    fn beyond(&mut self, cursor: &Cursor, how: &str) {
        let (table, columns) = cursor.by.order();
        let columns: Vec<_> = columns.iter().map(|column| format!("{table}.{column}")).collect();
        let places: Vec<_> = cursor.values().into_iter().map(|value| self.place_of(value)).collect();
        self.text += &format!(" AND ({}) {how} ({})", columns.join(", "), places.join(", "));
    }

    async fn fetch(self, conn: &mut AnyConnection) -> Result<Vec<AnyRow>> {
        let Self { text, values } = self;
        Ok(values.into_iter().fold(sqlx::query(&text), super::rows::bind).fetch_all(conn).await?)
    }
}

fn of_rack() -> String {
    RACK.split(", ").map(|column| format!("rack.{column}")).collect::<Vec<_>>().join(", ")
}
