//! A PostgreSQL server that crashes under its writers. A program of its own: no other test may use the server meanwhile.

#[path = "hard/child.rs"]
mod child;
mod common;

use child::{Told, all_holds, this_program, writer};
use common::Place;
use register::store::Dialect;
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
    let (mut told, mut errors) = (Told::default(), 0);
    for round in 0..5 {
        let mut child =
            writer(&this_program(), &place.address, &format!("run{round}"), 100_000).spawn().expect("a writer");
        std::thread::sleep(Duration::from_millis(300 + 150 * round));
        assert!(Command::new(&crash).status().expect("it can be started").success(), "the server comes back");
        std::thread::sleep(Duration::from_millis(300));
        child.kill().expect("killed");
        let now = Told::by(&mut child);
        told.acknowledged.extend(now.acknowledged);
        errors += now.errors.len();
        all_holds(&place.address, &told.acknowledged).await;
    }
    assert!(!told.acknowledged.is_empty() && errors > 0, "the crashes came while it wrote");
}
