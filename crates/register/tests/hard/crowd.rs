//! Many writers at once.

use crate::child::{Told, all_holds, this_program, writer};
use crate::common::{Place, entered, now};
use register::store::{Dialect, Store};
use std::collections::BTreeSet;

#[tokio::test(flavor = "multi_thread")]
async fn sixty_four_writers_on_postgres_lose_and_double_nothing() {
    let place = Place::new(Dialect::Postgres).await;
    place.open().await.close().await;
    let mut writers = tokio::task::JoinSet::new();
    for writer in 0..64 {
        let address = place.address.clone();
        writers.spawn(async move {
            let store = Store::open(&address).await.expect("a store");
            for number in 0..8 {
                // Two writers send each entry: one device that did not hear the answer, and another that took over.
                let client = format!("w{}-{number}", writer / 2);
                let mut batch = store.begin(now()).await.expect("the head's lock");
                batch.push(entered(&client, &[&client], "connector")).await.expect("written");
                batch.commit().await.expect("durable");
            }
            store.close().await;
        });
    }
    writers.join_all().await;
    let store = place.open().await;
    let clients: Vec<String> =
        store.entries(1, 10_000).await.expect("entries").into_iter().map(|entry| entry.client).collect();
    assert_eq!((clients.len(), clients.iter().collect::<BTreeSet<_>>().len()), (256, 256));
    assert_eq!(store.verify(None, &|_, _| {}).await.expect("it can be read").faults, []);
    assert_eq!(store.counts().await.expect("counts").values().sum::<i64>(), 256);
}

#[tokio::test]
async fn eight_programs_on_sqlite_lose_and_double_nothing() {
    let place = Place::new(Dialect::Sqlite).await;
    // Pairs of programs write the same.
    let start = |program: u32| writer(&this_program(), &place.address, &format!("run{}", program / 2), 20).spawn();
    let programs: Vec<_> = (0..8).map(|program| start(program).expect("a writer")).collect();
    let mut acknowledged = BTreeSet::new();
    for mut program in programs {
        let told = Told::by(&mut program);
        assert_eq!((told.errors, told.acknowledged.len()), (vec![], 20));
        acknowledged.extend(told.acknowledged);
    }
    assert_eq!(all_holds(&place.address, &acknowledged).await, 80);
}
