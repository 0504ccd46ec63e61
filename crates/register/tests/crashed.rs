//! A PostgreSQL server that crashes under its writers. A program of its own: no other test may use the server meanwhile.

#[path = "hard/child.rs"]
mod child;
mod common;

use child::{Told, all_holds, this_program, writer};
use common::Place;
use register::store::Dialect;
use std::io::{BufRead, BufReader};
use std::process::Command;
use std::time::Duration;

/// The writer that the other test starts as a program of its own.
#[test]
#[ignore = "started by the other test"]
fn child_writes() {
    child::write();
}

#[tokio::test]
async fn a_server_that_crashes_loses_nothing() {
    let crash =
        std::env::var("LINKWRIGHT_TEST_POSTGRES_CRASH").expect("run `scripts/with-postgres cargo test`, or ./test");
    let place = Place::new(Dialect::Postgres).await;
    let mut told = Told::default();
    for round in 0..3 {
        let run = format!("run{round}");
        let mut child = writer(&this_program(), &place.address, &run, 100_000).spawn().expect("a writer");
        let mut lines = BufReader::new(child.stdout.take().expect("its output")).lines().map_while(Result::ok);
        let mut until = |word: &str| {
            let met = lines.by_ref().inspect(|line| told.line(line)).any(|line| line.starts_with(word));
            assert!(met, "the writer ended before it told: {word}");
        };
        until("acknowledged");
        std::thread::sleep(Duration::from_millis(50 + 70 * round));
        assert!(Command::new(&crash).status().expect("it can be started").success(), "the server comes back");
        until("error");
        child.kill().expect("killed");
        child.wait().expect("it ends");
        drop(lines);
        assert!(all_holds(&place.address, &told.acknowledged).await > 0);
    }
}
