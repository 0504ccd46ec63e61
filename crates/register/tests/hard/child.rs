//! A writer as a program of its own: this test program, started again.
#![allow(dead_code, reason = "each test program uses its own share")]

use crate::common::{entered, id, noted, now, used};
use register::entry::Draft;
use register::store::{Store, StoreError};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};

/// How to start the writer: `batches` batches by a run's name.
pub fn writer(program: &Path, place: &str, run: &str, batches: u32) -> Command {
    let mut command = Command::new(program);
    command.args(["child_writes", "--exact", "--ignored", "--nocapture", "--test-threads=1"]);
    command.env("WRITER_PLACE", place).env("WRITER_RUN", run).env("WRITER_BATCHES", batches.to_string());
    command.stdout(Stdio::piped()).stderr(Stdio::null()).stdin(Stdio::null());
    command
}

pub fn this_program() -> std::path::PathBuf {
    std::env::current_exe().expect("this program")
}

/// What the writer told: the batches that were acknowledged, and every error.
#[derive(Debug, Default)]
pub struct Told {
    pub acknowledged: BTreeSet<String>,
    pub errors: Vec<String>,
}

impl Told {
    pub fn line(&mut self, line: &str) {
        if let Some(batch) = line.strip_prefix("acknowledged ") {
            self.acknowledged.insert(batch.to_owned());
        } else if let Some(error) = line.strip_prefix("error ") {
            self.errors.push(error.to_owned());
        }
    }

    /// All that is told until the writer ends.
    pub fn by(child: &mut Child) -> Self {
        let mut told = Self::default();
        let out = BufReader::new(child.stdout.take().expect("its output"));
        out.lines().map_while(Result::ok).for_each(|line| told.line(&line));
        child.wait().expect("it ends");
        told
    }
}

/// The writer itself: writes batches, each tried twice, and tells each that is durable.
pub fn write() {
    let of = |name: &str| std::env::var(name).expect(name);
    // The test runner has begun a line.
    tell("");
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build();
    runtime.expect("a runtime").block_on(async {
        let store = match Store::open(&of("WRITER_PLACE")).await {
            Ok(store) => store,
            Err(error) => return tell(&format!("error {error}")),
        };
        tell("open");
        for number in 0..of("WRITER_BATCHES").parse().expect("a number") {
            let batch = format!("{}-{number}", of("WRITER_RUN"));
            for _ in 0..2 {
                match append(&store, &batch, number).await {
                    Ok(()) => {
                        tell(&format!("acknowledged {batch}"));
                        break;
                    }
                    Err(error) => tell(&format!("error {error}")),
                }
            }
        }
        store.close().await;
    });
}

fn tell(line: &str) {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{line}").and_then(|()| out.flush()).expect("somebody listens");
}

/// How many entries the `number`th batch has.
pub fn size(number: u32) -> u32 {
    1 + number * 7 % 12
}

async fn append(store: &Store, batch: &str, number: u32) -> Result<(), StoreError> {
    let mut writing = store.begin(now()).await?;
    let drafts: Vec<Draft> = (0..size(number)).map(|place| one(batch, place)).collect();
    writing.push_all(drafts).await?;
    writing.commit().await.map(|_| ())
}

fn one(batch: &str, place: u32) -> Draft {
    let client = format!("{batch}-{place}");
    match place % 3 {
        0 => entered(&client, &[&client], "connector"),
        1 => used(&client, &[id(1, 0)]),
        _ => noted(used(&client, &[id(1, 0)]), &format!("a note of {client} {}", "and more ".repeat(200)), "p-anna"),
    }
}

/// What has to hold whatever befell the writers: all that was acknowledged is there, no batch is there in part, the log is
/// clean, and the lists are those that the log gives. Gives how many batches are there.
pub async fn all_holds(place: &str, acknowledged: &BTreeSet<String>) -> usize {
    let store = Store::open(place).await.expect("it opens again");
    // A server goes on for a moment with what a killed writer asked last: whoever has the head's lock waits for that.
    let last_word = store.begin(now()).await.expect("the head's lock");
    let verified = store.verify(None, &|_, _| {}).await.expect("it can be read");
    assert_eq!(verified.faults, []);
    let mut batches: BTreeMap<String, u32> = BTreeMap::new();
    for entry in store.entries(1, i64::MAX).await.expect("entries") {
        let (batch, _) = entry.client.rsplit_once('-').expect("a batch");
        *batches.entry(batch.to_owned()).or_default() += 1;
    }
    for (batch, count) in &batches {
        let number = batch.rsplit_once('-').and_then(|(_, number)| number.parse().ok()).expect("a number");
        assert_eq!(*count, size(number), "batch {batch} is there in part");
    }
    for batch in acknowledged {
        assert!(batches.contains_key(batch), "{batch} was acknowledged and is gone");
    }
    let entered: u32 = batches.values().map(|count| count.div_ceil(3)).sum();
    let listed: i64 = store.counts().await.expect("counts").values().sum();
    assert_eq!(listed, i64::from(entered), "the list and the log differ");
    drop(last_word);
    store.close().await;
    batches.len()
}
