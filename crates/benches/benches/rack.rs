//! A large rack: how long a page, a search, a history, an append and a rebuild take, each beside the same in bare SQL.
//!
//! `RACK_PIECES` says how large (10 000; ten entries each), `RACK_STORE` where (a file in a temporary folder; a `postgres://`
//! address of an empty database, or a file that is kept and used again). `RACK_PARTS` says
//! what is measured, all of it if not set: `rebuild,standings,questions,appends`.

use benches::questions::{HISTORY, KIT, KITS, TOLD, questions};
use benches::rack::{Chance, Rack, Size};
use jiff::civil::date;
use register::entry::Draft;
use register::event::{Event, Record};
use register::moment::Moment;
use register::store::{Now, Query, Store};
use sqlx::Row;
use std::time::{Duration, Instant};

const NOW: Now = Now { ms: 1_795_600_000_000, on: date(2026, 11, 25) };
const SEED: u64 = 11;

fn main() {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("a runtime");
    runtime.block_on(run());
}

async fn run() {
    let pieces: u64 = std::env::var("RACK_PIECES").map_or(10_000, |pieces| pieces.parse().expect("a number"));
    let size = Size { pieces, entries: 10 * pieces };
    let folder = tempfile::tempdir().expect("a folder");
    let place =
        std::env::var("RACK_STORE").unwrap_or_else(|_| folder.path().join("rack").to_string_lossy().into_owned());
    let store = Store::open(&place).await.expect("a store");
    println!("{:?}, {pieces} pieces, {} entries\n", store.dialect(), size.entries);
    fill(&store, size).await;
    let parts = std::env::var("RACK_PARTS").unwrap_or_else(|_| "rebuild,standings,questions,appends".to_owned());
    let is_asked = |part: &str| parts.split(',').any(|asked| asked == part);
    if is_asked("rebuild") {
        rebuild(&store).await;
    }
    if is_asked("standings") {
        standings(&store).await;
    }
    let mut bench = Bench { store, rack: Rack::new(size, SEED), size, chance: Chance(3), samples: 200 };
    if is_asked("questions") {
        bench.questions().await;
    }
    if is_asked("appends") {
        bench.appends().await;
    }
}

async fn fill(store: &Store, size: Size) {
    let begun = Instant::now();
    if !Rack::new(size, SEED).fill(store, NOW).await.expect("filled") {
        return println!("filled before\n");
    }
    let took = begun.elapsed();
    println!(
        "filled in bulk, lists left: {took:.1?}, {:.0} entries a second",
        size.entries as f64 / took.as_secs_f64()
    );
}

async fn rebuild(store: &Store) {
    let begun = Begun::now();
    let pieces = store.rebuild(Some(NOW.on), &|_, _| {}).await.expect("rebuilt");
    println!("everything derived made anew: {begun} for {pieces} pieces");
}

/// All standings are made anew because the group's policy is another: once by one that changes no row, and once by one after which every
/// piece is due on another day, so that every row is written.
async fn standings(store: &Store) {
    let (same, other) = ("", "[rack.interval.any]\nmonths = 11\n");
    for (what, text) in [("no row another", same), ("every row another", other), ("every row as it was", same)] {
        set_policy(store, text).await;
        let due = due(store).await;
        let begun = Begun::now();
        let refreshed = store.refresh(NOW, &|_, _| {}).await.expect("refreshed");
        println!("all {refreshed} standings made anew, {what}: {begun}");
        let moved = due.iter().zip(self::due(store).await).filter(|(before, now)| **before != *now).count();
        println!("    rows that are due on another day now: {moved}");
    }
    let begun = Begun::now();
    let read =
        "SELECT count(*), CAST(sum(n) AS BIGINT) FROM (SELECT thing, sum(length(coalesce(told, body))) AS n FROM about
        LEFT JOIN entry ON told IS NULL AND entry.seq = about.seq GROUP BY thing) AS all_of_it";
    sqlx::query(read).fetch_one(store.pool()).await.expect("read");
    println!("bare SQL that only reads every entry of every piece: {begun}\n");
}

async fn set_policy(store: &Store, text: &str) {
    let seq = store.head().await.expect("a head").seq;
    let record = Record {
        about: vec![],
        by_kit: None,
        note: None,
        photos: vec![],
        event: Event::PolicySet { text: text.to_owned() },
    };
    let client = format!("policy-after-{seq}");
    let draft = Draft { client, happened: Moment::on(NOW.on), record, writer: Rack::person(0), asides: vec![] };
    let begun = Begun::now();
    let mut batch = store.begin(NOW).await.expect("a batch");
    batch.push(draft).await.expect("written");
    batch.commit().await.expect("durable");
    println!("a policy set: {begun}");
}

/// When each piece is due, in the order of their numbers.
async fn due(store: &Store) -> Vec<Option<String>> {
    let rows = sqlx::query("SELECT due_on FROM rack ORDER BY id").fetch_all(store.pool()).await.expect("rows");
    rows.iter().map(|row| row.get(0)).collect()
}

/// When something long began: shown, it tells the time since then and this program's share of the processors, which a busy machine does
/// not change as much.
struct Begun(Instant, f64);

impl Begun {
    fn now() -> Self {
        Self(Instant::now(), processor_s())
    }
}

impl std::fmt::Display for Begun {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(formatter, "{:.1?} ({:.1} s of processor time)", self.0.elapsed(), processor_s() - self.1)
    }
}

/// Seconds of processor time of this program so far: fields 14 and 15 of proc(5)'s `stat`, in hundredths on Linux.
fn processor_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let after_name = stat.rsplit(')').next().unwrap_or_default();
    after_name.split_whitespace().skip(11).take(2).filter_map(|ticks| ticks.parse::<f64>().ok()).sum::<f64>() / 100.0
}

/// Times of one question.
struct Times(Vec<Duration>);

impl Times {
    fn at(&mut self, quantile: f64) -> Duration {
        self.0.sort_unstable();
        self.0[((self.0.len() - 1) as f64 * quantile).round() as usize]
    }
}

struct Bench {
    store: Store,
    rack: Rack,
    size: Size,
    chance: Chance,
    samples: usize,
}

impl Bench {
    fn some_piece(&mut self) -> u64 {
        self.chance.below(self.size.pieces)
    }

    async fn questions(&mut self) {
        println!("| question | median | p95 | bare SQL: median | times |\n| --- | ---: | ---: | ---: | ---: |");
        self.pages().await;
        self.by_name().await;
        self.histories().await;
        self.openings().await;
    }

    async fn pages(&mut self) {
        let asked = questions(&self.rack, 0, NOW.on).len();
        for place in 0..asked {
            let (mut ours, mut bare) = (Times(vec![]), Times(vec![]));
            let mut what = "";
            for round in 0..self.samples {
                let piece = self.some_piece();
                let question = questions(&self.rack, piece, NOW.on).swap_remove(place);
                what = question.what;
                // Who asks first finds less in the cache.
                for turn in [round % 2, (round + 1) % 2] {
                    if turn == 0 {
                        let begun = Instant::now();
                        self.store.pieces(&question.query).await.expect("a page");
                        ours.0.push(begun.elapsed());
                    } else {
                        bare.0.push(self.bare(&question.sql, &question.values).await);
                    }
                }
            }
            row(what, &mut ours, &mut bare);
        }
    }

    async fn bare(&self, sql: &str, values: &[String]) -> Duration {
        let begun = Instant::now();
        let query = values.iter().fold(sqlx::query(sql), |query, value| query.bind(value.clone()));
        query.fetch_all(self.store.pool()).await.expect("rows");
        begun.elapsed()
    }

    /// Pieces by label, kits page by page and by label.
    async fn by_name(&mut self) {
        let (mut labels, mut bare_labels) = (Times(vec![]), Times(vec![]));
        let (mut pages, mut bare_pages) = (Times(vec![]), Times(vec![]));
        let (mut kits, mut bare_kits) = (Times(vec![]), Times(vec![]));
        for round in 0..self.samples {
            let piece = self.some_piece();
            let (label, kit) = ([self.rack.label(piece)], [Rack::kit_label(piece / 100)]);
            for turn in [round % 2, (round + 1) % 2] {
                if turn == 0 {
                    let begun = Instant::now();
                    assert_eq!(self.store.labelled(&label).await.expect("a look").len(), 1);
                    labels.0.push(begun.elapsed());
                    let begun = Instant::now();
                    self.store.kits(None, 50, None).await.expect("a page");
                    pages.0.push(begun.elapsed());
                    let begun = Instant::now();
                    self.store.kit(&kit[0]).await.expect("a look").expect("it is there");
                    kits.0.push(begun.elapsed());
                } else {
                    bare_labels.0.push(self.bare("SELECT * FROM rack WHERE label = $1", &label).await);
                    bare_pages.0.push(self.bare(KITS, &[]).await);
                    bare_kits.0.push(self.bare(KIT, &kit).await);
                }
            }
        }
        row("a piece by its label", &mut labels, &mut bare_labels);
        row("first page of the kits", &mut pages, &mut bare_pages);
        row("a kit by its label, whole", &mut kits, &mut bare_kits);
    }

    async fn histories(&mut self) {
        let (mut ours, mut bare) = (Times(vec![]), Times(vec![]));
        for round in 0..self.samples {
            let number = self.some_piece();
            let piece = self.rack.piece(number);
            for turn in [round % 2, (round + 1) % 2] {
                let begun = Instant::now();
                if turn == 0 {
                    self.store.piece(piece).await.expect("a look").expect("it is there");
                    self.store.history(piece).await.expect("a history");
                    ours.0.push(begun.elapsed());
                } else {
                    let row = sqlx::query("SELECT * FROM rack WHERE id = $1").bind(piece.number());
                    row.fetch_one(self.store.pool()).await.expect("a row");
                    let rows = sqlx::query(HISTORY).bind(piece.number());
                    rows.fetch_all(self.store.pool()).await.expect("rows");
                    bare.0.push(begun.elapsed());
                }
            }
        }
        row("a piece with its history", &mut ours, &mut bare);
    }

    /// What each start of a program begins with: the store opened, what holds for the whole rack folded, a first page.
    async fn openings(&mut self) {
        let mut times = Times(vec![]);
        for _ in 0..20 {
            let begun = Instant::now();
            let store = Store::open(self.store.place()).await.expect("a store");
            store.refresh(NOW, &|_, _| {}).await.expect("fresh");
            store.group().await.expect("a group");
            store.pieces(&Query::default()).await.expect("a page");
            times.0.push(begun.elapsed());
            store.close().await;
        }
        println!("\nopened anew, up to the first page: median {:.1?}, p95 {:.1?}", times.at(0.5), times.at(0.95));
    }

    /// Appends a day of use to many pieces, in durable batches with the lists kept, beside bare SQL that reads and writes the same, by
    /// turns and each of other pieces, so that neither finds in the cache what the other has read.
    async fn appends(&mut self) {
        println!(
            "\n| batches of | entries a second: median | from first to last | bare SQL: median | from first to last | times |"
        );
        println!("| ---: | ---: | ---: | ---: | ---: | ---: |");
        let first = self.store.head().await.expect("a head").seq.cast_unsigned() + 1;
        for size in [1, 100, 1000, 5000] {
            let (mut ours, mut bare) = (Times(vec![]), Times(vec![]));
            let rounds = if size == 1 { 100 } else { 10 };
            for round in 0..rounds {
                let tag = first * 1_000_000 + size * 1000 + round;
                let drafts: Vec<_> = (0..size).map(|number| self.used(tag, number)).collect();
                for turn in [round % 2, (round + 1) % 2] {
                    if turn == 0 {
                        let begun = Instant::now();
                        let mut batch = self.store.begin(NOW).await.expect("a batch");
                        batch.push_all(drafts.clone()).await.expect("written");
                        batch.commit().await.expect("durable");
                        ours.0.push(begun.elapsed());
                    } else {
                        bare.0.push(self.bare_insert(size).await);
                    }
                }
            }
            let a_second = |time: Duration, rounds: u64| (size * rounds) as f64 / time.as_secs_f64();
            let [all, all_bare] = [&ours, &bare].map(|times| a_second(times.0.iter().sum(), rounds));
            let (median, base) = (ours.at(0.5), bare.at(0.5));
            println!(
                "| {size} | {:.0} | {all:.0} | {:.0} | {all_bare:.0} | {:.2} |",
                a_second(median, 1),
                a_second(base, 1),
                median.as_secs_f64() / base.as_secs_f64()
            );
        }
    }

    fn used(&mut self, tag: u64, number: u64) -> register::entry::Draft {
        let piece = self.rack.piece(self.chance.below(self.size.pieces));
        let mut draft = self.rack.draft(self.size.entries);
        draft.client = format!("bench-{tag}-{number}");
        draft.record.about = vec![piece];
        draft.record.event = register::event::Event::Used(register::event::Use { rappels: 3, ..Default::default() });
        draft.record.note = None;
        draft.asides.clear();
        draft
    }

    /// Some earlier entries once more, bound from outside as a program would, into the same tables, each told of some other piece: in one
    /// durable transaction, taken out again afterwards. What a piece may still do hangs on all that it went through, so its row and its
    /// entries are read. No row of a piece is written, as by most of these entries none becomes another.
    async fn bare_insert(&mut self, size: u64) -> Duration {
        let last = self.store.head().await.expect("a head").seq;
        let numbers: Vec<u64> = (0..size).map(|_| self.some_piece()).collect();
        let pieces: Vec<i64> = numbers.into_iter().map(|piece| self.rack.piece(piece).number()).collect();
        let pool = self.store.pool();
        let earlier = "SELECT entry.*, told FROM about JOIN entry ON entry.seq = about.seq
            WHERE thing >= $1 AND told IS NOT NULL LIMIT $2";
        let earlier = sqlx::query(earlier).bind(self.rack.piece(0).number()).bind(size.cast_signed());
        let earlier = earlier.fetch_all(pool).await.expect("rows");
        let begun = Instant::now();
        let mut writing = pool.begin().await.expect("a transaction");
        for (seq, (row, thing)) in (last + 1..).zip(earlier.iter().zip(&pieces)) {
            let mut query = sqlx::query("INSERT INTO entry VALUES ($1,$2,$3,$4,$5,$6,$7,$8,$9,$10,$11)").bind(seq);
            for column in 1..11 {
                query = match column {
                    2 | 4 => query.bind(row.get::<i64, _>(column)),
                    7 => query.bind(format!("bare-{seq}")),
                    _ => query.bind(row.get::<String, _>(column)),
                };
            }
            query.execute(&mut *writing).await.expect("written");
            let about = sqlx::query("INSERT INTO about VALUES ($1, $2, $3)").bind(*thing).bind(seq);
            about.bind(row.get::<String, _>(11)).execute(&mut *writing).await.expect("written");
            let row = sqlx::query("SELECT * FROM rack WHERE id = $1").bind(*thing);
            row.fetch_one(&mut *writing).await.expect("a row");
            sqlx::query(TOLD).bind(*thing).fetch_all(&mut *writing).await.expect("rows");
        }
        writing.commit().await.expect("durable");
        let took = begun.elapsed();
        let mut writing = pool.begin().await.expect("a transaction");
        let entries = sqlx::query("DELETE FROM entry WHERE seq > $1").bind(last);
        entries.execute(&mut *writing).await.expect("taken out");
        for thing in pieces {
            let about = sqlx::query("DELETE FROM about WHERE thing = $1 AND seq > $2").bind(thing).bind(last);
            about.execute(&mut *writing).await.expect("taken out");
        }
        writing.commit().await.expect("durable");
        took
    }
}

fn row(what: &str, ours: &mut Times, bare: &mut Times) {
    let milli = |time: Duration| time.as_secs_f64() * 1e3;
    let (median, p95, base) = (milli(ours.at(0.5)), milli(ours.at(0.95)), milli(bare.at(0.5)));
    println!("| {what} | {median:.2} ms | {p95:.2} ms | {base:.2} ms | {:.2} |", median / base);
}
