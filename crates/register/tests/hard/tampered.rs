//! Changes made to the tables behind the store's back.

use crate::common::{Place, some};
use register::store::{Dialect, Fault, Store};
use sqlx::Executor as _;

#[tokio::test]
async fn every_changed_column_is_found_and_named_on_sqlite() {
    every_changed_column_is_found_and_named(Dialect::Sqlite).await;
}

#[tokio::test]
async fn every_changed_column_is_found_and_named_on_postgres() {
    every_changed_column_is_found_and_named(Dialect::Postgres).await;
}

/// The columns of the log, and what changes each.
const CHANGES: [(&str, &str); 11] = [
    ("seq", "seq + 100"),
    ("happened", "'2020-01-01'"),
    ("written_ms", "written_ms + 1"),
    ("kind", "'lost'"),
    ("version", "version + 1"),
    ("body", "replace(body, ':', ': ')"),
    ("writer", "writer || 'x'"),
    ("client", "client || 'x'"),
    ("before", "hash"),
    ("hash", "before"),
    ("sums", "'00'"),
];

async fn every_changed_column_is_found_and_named(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    some(&store).await;
    for row in [1, 3, 5] {
        for (column, to) in CHANGES {
            let changed = format!("UPDATE entry SET {column} = {to} WHERE seq = {row}");
            let faults = faults_after(&store, "entry", &changed).await;
            let named = faults.iter().any(|fault| match fault {
                Fault::Changed { entry, columns } => *columns == [column] && entry % 100 == row,
                _ => false,
            });
            assert!(named, "{changed}: {faults:?}");
            assert!(faults.iter().all(|fault| fault.to_string().contains(char::is_numeric)), "{faults:?}");
        }
    }
    told(&store).await;
    beside(&store).await;
    tail(&store).await;
}

/// What the lists are made from.
async fn told(store: &Store) {
    for change in ["UPDATE about SET told = replace(told, ':', ': ')", "UPDATE about SET seq = 77"] {
        let entry = if change.contains("77") { 77 } else { 3 };
        let faults = faults_after(store, "about", &format!("{change} WHERE seq = 3")).await;
        assert_eq!(faults, [Fault::Told { entry }], "{change}");
        assert!(faults[0].to_string().contains("rack rebuild"), "{faults:?}");
    }
}

/// What stands beside the log, and the head.
async fn beside(store: &Store) {
    let other = "substr(private, 33) || substr(private, 1, 32)";
    for (column, to) in [
        ("private", other),
        ("salt", "content"),
        ("media", "'text/html'"),
        ("content", "salt"),
        ("person", "'p-ben'"),
        ("sums", "'00'"),
    ] {
        let faults = faults_after(store, "aside", &format!("UPDATE aside SET {column} = {to}")).await;
        let named =
            faults.iter().any(|fault| matches!(fault, Fault::AsideChanged { columns, .. } if *columns == [column]));
        assert!(named, "{column}: {faults:?}");
    }
    let gone = faults_after(store, "aside", "DELETE FROM aside").await;
    assert!(matches!(gone[..], [Fault::AsideGone { entry: 4, .. }]), "{gone:?}");
    for change in ["UPDATE head SET seq = 4", "UPDATE head SET hash = 'ff'"] {
        let faults = faults_after(store, "head", change).await;
        assert!(matches!(faults[..], [Fault::Head { last: 5, .. }]), "{change}: {faults:?}");
    }
}

async fn tail(store: &Store) {
    let missing = faults_after(store, "entry", "DELETE FROM entry WHERE seq IN (2, 3)").await;
    assert!(missing.contains(&Fault::Missing { from: 2, to: 3 }), "{missing:?}");
    let head = store.head().await.expect("a head");
    // Cut off with care: only who kept the hash can tell.
    for table in ["entry", "about"] {
        store.pool().execute(format!("DELETE FROM {table} WHERE seq = 5").as_str()).await.expect("cut");
    }
    store.pool().execute("UPDATE head SET seq = 4, hash = (SELECT hash FROM entry WHERE seq = 4)").await.expect("cut");
    assert_eq!(faults(store, None).await, []);
    assert_eq!(faults(store, Some(&head.hash)).await, [Fault::NotExpected { hash: head.hash.clone() }]);
    let before = store.head().await.expect("a head").hash;
    assert_eq!(faults(store, Some(&before)).await, []);
}

async fn faults(store: &Store, expect: Option<&str>) -> Vec<Fault> {
    store.verify(expect, &|_, _| {}).await.expect("it can be read").faults
}

/// What is found after a change, which is then undone.
async fn faults_after(store: &Store, table: &str, change: &str) -> Vec<Fault> {
    for sql in [&format!("CREATE TABLE kept AS SELECT * FROM {table}"), change] {
        store.pool().execute(sql).await.expect(sql);
    }
    let found = faults(store, None).await;
    for sql in [&format!("DELETE FROM {table}"), &format!("INSERT INTO {table} SELECT * FROM kept"), "DROP TABLE kept"]
    {
        store.pool().execute(sql).await.expect(sql);
    }
    assert_eq!(faults(store, None).await, [], "undone");
    found
}
