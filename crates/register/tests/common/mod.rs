//! What the tests of the store share: places for stores, drafts, and the state of a log.
#![allow(dead_code, reason = "each test program uses its own share")]

use jiff::civil::{Date, date};
use register::entry::Draft;
use register::event::{Description, Entered, Event, Mark, Record, Use};
use register::id::{Id, PersonId};
use register::moment::Moment;
use register::private::Aside;
use register::store::{Dialect, Now, Store};
use sqlx::Executor as _;
use std::path::PathBuf;
use std::sync::atomic::{AtomicU32, Ordering};

/// A place for a store, gone with the test.
pub struct Place {
    pub address: String,
    pub folder: tempfile::TempDir,
    pub dialect: Dialect,
}

impl Place {
    pub async fn new(dialect: Dialect) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let address = match dialect {
            Dialect::Sqlite => folder.path().join("rack.linkwright").to_string_lossy().into_owned(),
            Dialect::Postgres => database().await,
        };
        Self { address, folder, dialect }
    }

    pub async fn open(&self) -> Store {
        Store::open(&self.address).await.expect("a store")
    }

    /// A new store, and the place that it is in as long as that is kept.
    pub async fn with_store(dialect: Dialect) -> (Store, Self) {
        let place = Self::new(dialect).await;
        (place.open().await, place)
    }

    pub fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }
}

/// A database of its own on the server that `scripts/with-postgres` starts.
async fn database() -> String {
    static NUMBER: AtomicU32 = AtomicU32::new(0);
    let server = std::env::var("LINKWRIGHT_TEST_POSTGRES")
        .expect("a PostgreSQL server: run `scripts/with-postgres cargo test`, or ./test");
    let name = format!("test_{}_{}", std::process::id(), NUMBER.fetch_add(1, Ordering::Relaxed));
    sqlx::any::install_default_drivers();
    let mut admin = <sqlx::AnyConnection as sqlx::Connection>::connect(&server).await.expect("the server");
    admin.execute(format!("CREATE DATABASE {name}").as_str()).await.expect("a database");
    server.replace("/postgres?", &format!("/{name}?"))
}

pub const DAY: Date = date(2026, 11, 25);

pub fn now() -> Now {
    Now { ms: 1_795_600_000_000, on: DAY }
}

pub fn draft(client: &str, about: Vec<Id>, event: Event) -> Draft {
    let record = Record { about, by_kit: None, note: None, photos: Vec::new(), event };
    Draft {
        client: client.to_owned(),
        happened: Moment::on(DAY),
        record,
        writer: PersonId("p-writer".to_owned()),
        asides: Vec::new(),
    }
}

/// Pieces of one kind.
pub fn entered(client: &str, labels: &[&str], gear: &str) -> Draft {
    let pieces = labels.iter().map(|label| Mark { label: (*label).to_owned(), serial: None }).collect();
    let is = Description { gear: Some(gear.to_owned()), site: Some("store-a".to_owned()), ..Description::default() };
    draft(client, Vec::new(), Event::Entered(Entered { pieces, is }))
}

pub fn used(client: &str, about: &[Id]) -> Draft {
    draft(client, about.to_vec(), Event::Used(Use { rappels: 2, ..Use::default() }))
}

/// A draft with a note, whose text is some person's.
pub fn noted(mut draft: Draft, text: &str, person: &str) -> Draft {
    let mut salt = [0; 16];
    salt.iter_mut().zip(draft.client.bytes()).for_each(|(salt, byte)| *salt = byte);
    let aside = Aside::text(text, salt, Some(PersonId(person.to_owned())));
    draft.record.note = Some(aside.private.clone());
    draft.asides.push(aside);
    draft
}

pub fn id(seq: i64, place: u32) -> Id {
    Id::new(seq, place).expect("a name")
}

/// Writes each draft in a batch of its own.
pub async fn write(store: &Store, drafts: Vec<Draft>) -> Vec<i64> {
    let mut written = Vec::new();
    for draft in drafts {
        let mut batch = store.begin(now()).await.expect("the head's lock");
        written.push(batch.push(draft).await.expect("a place in the log").seq);
        batch.commit().await.expect("it is durable");
    }
    written
}

/// A log with a piece of each fate.
pub async fn some(store: &Store) -> Vec<i64> {
    write(
        store,
        vec![
            entered("c-1", &["C-001", "C-002", "C-010"], "connector"),
            entered("c-2", &["R-1"], "rope"),
            used("c-3", &[id(1, 0), id(2, 0)]),
            noted(draft("c-4", vec![id(1, 1)], Event::Cleaned), "salt water, says Anna Example", "p-anna"),
            draft("c-5", vec![id(1, 2)], Event::Withdrawn { why: "worn".to_owned() }),
        ],
    )
    .await
}
