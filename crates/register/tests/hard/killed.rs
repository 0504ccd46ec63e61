//! Writers killed at random.

use crate::child::{Told, all_holds, this_program, writer};
use crate::common::Place;
use register::store::Dialect;
use std::io::{BufRead, BufReader};
use std::time::Duration;

#[tokio::test]
async fn a_writer_killed_at_random_loses_nothing_on_sqlite() {
    killed(Dialect::Sqlite).await;
}

#[tokio::test]
async fn a_writer_killed_at_random_loses_nothing_on_postgres() {
    killed(Dialect::Postgres).await;
}

/// How often: 50 times, or as `LINKWRIGHT_KILLS` says; `scripts/kills` does it 500 times and keeps what came of it.
fn rounds() -> u64 {
    number_of("LINKWRIGHT_KILLS", 50)
}

fn number_of(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).map_or(otherwise, |told| told.parse().expect("a number"))
}

async fn killed(dialect: Dialect) {
    let seed = number_of("LINKWRIGHT_KILLS_SEED", 0);
    let (mut acknowledged, mut there, mut on_the_way) = (0, 0, 0);
    let mut place = Place::new(dialect).await;
    let mut told = Told::default();
    for round in 0..rounds() {
        if round % 25 == 0 {
            // A new one now and then, so that the making of it is killed too.
            place = Place::new(dialect).await;
            told = Told::default();
        }
        // Between nothing and 220 ms, in an order without order.
        let chance = (seed.wrapping_mul(1_000_003) + round + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        let after = Duration::from_micros((chance >> 32) % 220_000);
        let before = told.acknowledged.len();
        kill_after(&place.address, round, after, &mut told);
        there = all_holds(&place.address, &told.acknowledged).await;
        acknowledged += told.acknowledged.len() - before;
        on_the_way += u64::from(told.acknowledged.len() == before);
    }
    println!(
        "{dialect:?}: killed {} times (seed {seed}), {on_the_way} of them before a batch was durable; {acknowledged} batches \
         acknowledged, none lost, none in part, every log clean; {there} batches in the last store",
        rounds()
    );
    assert!(acknowledged > 0, "no writer got far enough to be told of");
}

fn kill_after(place: &str, round: u64, after: Duration, told: &mut Told) {
    let mut child = writer(&this_program(), place, &format!("run{round}"), 100_000).spawn().expect("a writer");
    let mut out = BufReader::new(child.stdout.take().expect("its output"));
    let mut line = String::new();
    // Every other round it is killed on its way to open the store; in half of the rest, however slow the machine, not before a batch is durable.
    let awaited = ["acknowledged ", "", "open", ""][usize::try_from(round % 4).unwrap_or(0)];
    while !line.starts_with(awaited) {
        line.clear();
        if !out.read_line(&mut line).is_ok_and(|read| read > 0) {
            break;
        }
        told.line(line.trim_end());
    }
    std::thread::sleep(after);
    child.kill().expect("killed");
    child.wait().expect("it ends");
    out.lines().map_while(Result::ok).for_each(|line| told.line(&line));
}
