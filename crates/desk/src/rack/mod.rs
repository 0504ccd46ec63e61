//! The rack and its log, for every surface: each use case once.
//!
//! A use case gives an [`Answer`], as text and as JSON, or says why it refused; then nothing was written.

pub mod accounts;
pub mod calendar;
pub mod cases;
pub mod close;
pub mod day_out;
pub mod describe;
pub mod due;
pub mod enter;
pub mod falls;
pub mod fields;
pub mod happen;
pub mod inspect;
pub mod keep;
pub mod kits;
pub mod labels;
pub mod lend;
pub mod models;
pub mod on_paper;
pub mod people;
pub mod rules;
pub mod season;
pub mod sheet;
pub mod show;
mod stock;
mod wear;
mod words;

pub(crate) use stock::traits;

use crate::texts::Read;
use crate::{Surroundings, texts};
use async_recursion::async_recursion as boxed;
use fields::Told;
use jiff::civil::Date;
use register::entry::Draft;
use register::event::{Description, Event, Record};
use register::group::{Case, Group};
use register::history::{Past, effective};
use register::id::{Id, PersonId};
use register::moment::Moment;
use register::piece::Piece;
use register::private::{Aside, Private, hex};
use register::standing::State;
use register::store::{Batch, Now, PEOPLE, Store, StoreError};
use register::summary::Summary;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// Who writes where nobody was named.
pub const OWNER: &str = "owner";

/// One thing that is wrong: a closed code with its values. The words are in the file of texts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Its code.
    pub code: &'static str,
    values: Vec<(&'static str, String)>,
}

impl Fault {
    /// A fault of a code with its values.
    #[must_use]
    pub fn new(code: &'static str, values: &[(&'static str, String)]) -> Self {
        Self { code, values: values.to_vec() }
    }

    /// A word that is none of a closed list.
    #[must_use]
    pub fn no_such_word<'w>(value: &str, words: impl Iterator<Item = &'w str>) -> Self {
        let words = words.collect::<Vec<_>>().join(", ");
        Self::new("no-such-word", &[("value", value.to_owned()), ("words", words)])
    }

    /// What is wrong, and what would be right where it is read.
    #[must_use]
    pub fn words(&self, read: Read) -> (String, String) {
        texts::rack_fault(self.code, &self.values, read)
    }
}

/// Why nothing was done.
#[derive(Debug)]
pub enum Refused {
    /// What was asked for cannot be.
    Fault(Fault),
    /// A sheet is at fault: all that is wrong, by line.
    Sheet {
        /// The sheet.
        path: String,
        /// What is wrong in it.
        wrong: Vec<sheet::Wrong>,
    },
    /// The store says why.
    Store(StoreError),
}

impl From<Fault> for Refused {
    fn from(fault: Fault) -> Self {
        Self::Fault(fault)
    }
}

impl From<StoreError> for Refused {
    fn from(error: StoreError) -> Self {
        Self::Store(error)
    }
}

/// What a use case gives back.
pub type Result<T = Answer> = std::result::Result<T, Refused>;

/// An answer, for people and for programs.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// For people.
    pub text: String,
    /// For programs: an object.
    pub json: Value,
    /// Whether something is found that a script should stop at.
    pub counts: bool,
}

impl Answer {
    fn new(text: String, json: Value) -> Self {
        Self { text, json, counts: false }
    }

    /// An answer that somebody may act on: the cautions stand with it.
    pub(crate) fn cautioned(mut text: String, mut json: Value) -> Self {
        let cautions = texts::cautions();
        text += &format!("\n{}\n", texts::rack("cautions", &[]));
        text.extend(cautions.iter().map(|caution| format!("  {caution}\n")));
        json["cautions"] = json!(cautions);
        Self::new(text, json)
    }

    /// Several answers as one.
    #[must_use]
    pub fn joined(answers: &[Self]) -> Self {
        let text = answers.iter().map(|answer| answer.text.as_str()).collect::<Vec<_>>().join("\n");
        let json = json!({ "answers": answers.iter().map(|answer| &answer.json).collect::<Vec<_>>() });
        Self { text, json, counts: answers.iter().any(|answer| answer.counts) }
    }

    /// As it is printed.
    #[must_use]
    pub fn print(&self, as_json: bool) -> String {
        if as_json { format!("{:#}\n", self.json) } else { self.text.clone() }
    }
}

/// A rack, open, and who works on it.
pub struct Rack<'o> {
    store: Store,
    outside: &'o dyn Surroundings,
    writer: PersonId,
    wish: Option<Wish>,
    known: Arc<Known>,
}

/// By person, as they are called.
type Names = BTreeMap<PersonId, String>;

/// The names as they were read last, and the last entry about people then. What is erased is erased by such an entry, so that it is not told
/// any more as soon as it is read.
#[derive(Default)]
struct Known(Mutex<Option<(i64, Arc<Names>)>>);

/// Something that a client wants written once, however often it asks.
struct Wish {
    word: String,
    /// The day on which it was made, where that is another than the day it came.
    on: Option<Date>,
    /// How many entries were drafted for it.
    drafts: AtomicUsize,
}

impl Wish {
    /// The word of its next entry: its own first, then that with a number.
    fn next(&self) -> String {
        match self.drafts.fetch_add(1, Ordering::Relaxed) {
            0 => self.word.clone(),
            later => format!("{}.{later}", self.word),
        }
    }
}

/// What holds for the whole rack now.
struct View {
    now: Now,
    group: Arc<Group>,
    names: Arc<Names>,
}

/// Which pieces something is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Pick {
    /// By label, ranges among them.
    Labels(String),
    /// All that a kit holds.
    Kit(String),
}

/// What is to be written.
struct Line {
    happened: Moment,
    record: Record,
    asides: Vec<Aside>,
}

impl Line {
    const fn new(happened: Moment, record: Record) -> Self {
        Self { happened, record, asides: Vec::new() }
    }
}

fn text_of(aside: &Aside) -> Option<String> {
    String::from_utf8(aside.content.clone()).ok()
}

fn record(about: Vec<Id>, event: Event) -> Record {
    Record { about, by_kit: None, note: None, photos: Vec::new(), event }
}

impl<'o> Rack<'o> {
    /// Opens the store at `place`, made where there is none. `name` is who writes.
    ///
    /// # Errors
    /// Where it cannot be opened, or nobody of that name is known.
    #[boxed]
    pub async fn open(place: &str, outside: &'o dyn Surroundings, name: Option<&str>) -> Result<Self> {
        let store = Store::open(place).await?;
        let mut rack = Self { store, outside, writer: PersonId(OWNER.to_owned()), wish: None, known: Arc::default() };
        if let Some(name) = name {
            rack.writer = rack.view().await?.person(name)?;
        }
        Ok(rack)
    }

    /// The same rack for one wish of a client, which it tells apart by a `word` of its own: what is written for it is written
    /// once, however often the wish comes. [`Rack::written`] says whether it came before. What names no day happened `on` the day
    /// on which the wish was made; today where that is not told.
    #[must_use]
    pub fn once(&self, word: &str, on: Option<Date>) -> Self {
        let wish = Some(Wish { word: word.to_owned(), on, drafts: AtomicUsize::new(0) });
        Self { wish, ..self.by(self.writer.clone()) }
    }

    /// The same rack with somebody else who writes.
    #[must_use]
    pub fn by(&self, writer: PersonId) -> Self {
        let (store, known) = (self.store.clone(), Arc::clone(&self.known));
        Self { store, outside: self.outside, writer, wish: None, known }
    }

    /// The first entry that was written for a client's word, where one was.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn written(&self, word: &str) -> Result<Option<i64>> {
        Ok(self.store.written(word).await?)
    }

    /// Ends it, once what was begun is done.
    pub async fn close(self) {
        self.store.close().await;
    }

    /// The person with a name.
    ///
    /// # Errors
    /// Where nobody of that name is known.
    #[boxed]
    pub async fn person(&self, name: &str) -> Result<PersonId> {
        Ok(self.view().await?.person(name)?)
    }

    fn now(&self) -> Now {
        Now { ms: self.outside.now_ms(), on: self.outside.today() }
    }

    fn moment(&self, on: Option<&str>) -> std::result::Result<Moment, Fault> {
        let parse = |text: &str| text.parse().map_err(|_| Fault::new("no-day", &[("value", text.to_owned())]));
        let today = self.outside.today();
        // Further east it may be tomorrow already where something was written.
        let made_on = self.wish.as_ref().and_then(|wish| wish.on).map_or(today, |day| day.min(today));
        let moment = on.map_or_else(|| Ok(Moment::on(made_on)), parse)?;
        if moment.date > today {
            return Err(Fault::new("not-yet", &[("day", moment.date.to_string()), ("today", today.to_string())]));
        }
        Ok(moment)
    }

    async fn view(&self) -> Result<View> {
        let now = self.now();
        self.store.refresh(now, &|done, of| self.outside.progress(done, of)).await?;
        Ok(View { now, group: self.store.group().await?, names: self.names().await? })
    }

    /// Everybody's name, read anew where the log has more about people by now.
    async fn names(&self) -> Result<Arc<Names>> {
        let last = self.store.last_about(PEOPLE).await?;
        let known = self.known.0.lock().unwrap_or_else(PoisonError::into_inner).clone();
        if let Some((_, names)) = known.filter(|(entry, _)| *entry == last) {
            return Ok(names);
        }
        let names = Arc::new(self.read_names().await?);
        *self.known.0.lock().unwrap_or_else(PoisonError::into_inner) = Some((last, Arc::clone(&names)));
        Ok(names)
    }

    async fn read_names(&self) -> Result<Names> {
        let history = effective(self.store.history(PEOPLE).await?);
        let known = |past: &Past| match &past.record.event {
            Event::PersonEntered { person, name } => Some((person.clone(), name.clone())),
            _ => None,
        };
        let known: Vec<(PersonId, Private)> = history.iter().filter_map(known).collect();
        let names: Vec<Private> = known.iter().map(|(_, name)| name.clone()).collect();
        let texts = self.store.asides(&names).await?;
        let name = |(person, name): (PersonId, Private)| Some((person, text_of(texts.get(&name)?)?));
        Ok(known.into_iter().filter_map(name).collect())
    }

    async fn text(&self, private: &Private) -> Result<Option<String>> {
        Ok(self.store.aside(private).await?.as_ref().and_then(text_of))
    }

    /// A text, or else that it was erased.
    async fn text_or_erased(&self, private: &Private) -> Result<String> {
        Ok(self.text(private).await?.unwrap_or_else(|| texts::rack("erased", &[])))
    }

    fn aside(&self, text: &str, person: Option<PersonId>) -> Aside {
        Aside::text(text, self.outside.random(), person)
    }

    fn draft(&self, line: Line) -> Draft {
        let random = || hex(&self.outside.random());
        let client = self.wish.as_ref().map_or_else(random, Wish::next);
        let Line { happened, record, asides } = line;
        Draft { client, happened, record, writer: self.writer.clone(), asides }
    }

    async fn begin(&self) -> Result<Batch> {
        Ok(self.store.begin(self.now()).await?)
    }

    /// Writes some lines, all or none; gives their numbers.
    async fn write(&self, lines: Vec<Line>) -> Result<Vec<i64>> {
        let mut batch = self.begin().await?;
        let drafts = lines.into_iter().map(|line| self.draft(line)).collect();
        let written = batch.push_all(drafts).await?;
        batch.commit().await?;
        Ok(written.into_iter().map(|written| written.seq).collect())
    }

    /// The row of the piece with a label; of several in the course of time, the one that is not withdrawn, or the last.
    async fn find(&self, label: &str) -> Result<Summary> {
        self.find_each(&[label.to_owned()]).await?.pop().ok_or_else(|| no_such_piece(label))
    }

    async fn find_all(&self, labels: &str) -> Result<Vec<Summary>> {
        self.find_each(&labels::expand(labels)?).await
    }

    async fn find_each(&self, labels: &[String]) -> Result<Vec<Summary>> {
        let mut found: BTreeMap<String, Summary> = BTreeMap::new();
        for row in self.store.labelled(labels).await? {
            let rank = |row: &Summary| (row.standing != State::Withdrawn, row.id);
            if found.get(&row.label).is_none_or(|known| rank(known) < rank(&row)) {
                found.insert(row.label.clone(), row);
            }
        }
        labels.iter().map(|label| found.remove(label).ok_or_else(|| no_such_piece(label))).collect()
    }
}

fn no_such_piece(label: &str) -> Refused {
    Fault::new("no-such-piece", &[("label", label.to_owned())]).into()
}

impl View {
    /// The person with a name.
    fn person(&self, name: &str) -> std::result::Result<PersonId, Fault> {
        if name == OWNER {
            return Ok(PersonId(OWNER.to_owned()));
        }
        let found = self.names.iter().find(|(_, known)| known.as_str() == name);
        found
            .map(|(person, _)| person.clone())
            .ok_or_else(|| Fault::new("no-such-person", &[("name", name.to_owned())]))
    }

    /// What is known of a piece, its model's share included, as somebody would tell it.
    fn told(&self, piece: &Piece) -> Told {
        let model = piece.is.model.and_then(|model| self.group.model(model));
        Told {
            maker: model.and_then(|model| model.maker.clone()),
            model: model.map(|model| model.name.clone()),
            first_use: piece.first_use.map(|(day, _)| day),
            label: piece.label.clone(),
            serial: piece.serial.clone(),
            is: Description { model: None, ..piece.described(&self.group) },
        }
    }

    /// The incident or recall that an entry opened.
    fn case(&self, entry: i64) -> std::result::Result<&Case, Fault> {
        self.group.case(entry).ok_or_else(|| Fault::new("no-such-case", &[("entry", entry.to_string())]))
    }

    /// A person's name; where it was erased, what stands in the log.
    fn name(&self, person: &PersonId) -> String {
        self.names.get(person).cloned().unwrap_or_else(|| match person.0.as_str() {
            OWNER => texts::rack("owner", &[]),
            id => texts::rack("erased-person", &[("person", id.chars().take(8).collect())]),
        })
    }
}
