//! A large rack: how long a page, a search, a history, an append and a rebuild take, each beside the same in bare SQL.
//!
//! `RACK_PIECES` says how large (10 000; ten entries each), `RACK_STORE` where (a file in a temporary folder; a `postgres://`
//! address of an empty database, or a file that is kept and used again).

use benches::rack::{Chance, Rack, Size};
use jiff::civil::date;
use register::standing::State;
use register::store::{GROUP, Now, Query, Store};
use std::time::{Duration, Instant};

const NOW: Now = Now { ms: 1_795_600_000_000, on: date(2026, 11, 25) };
const SEED: u64 = 11;
const PAGE: &str = "SELECT * FROM rack";
const ORDER: &str = "ORDER BY place, id LIMIT 50";

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
    rebuild(&store).await;
    let mut bench = Bench { store, rack: Rack::new(size, SEED), size, chance: Chance(3), samples: 200 };
    println!("| question | median | p95 | bare SQL: median | times |\n| --- | ---: | ---: | ---: | ---: |");
    bench.lists().await;
    bench.searches().await;
    bench.histories().await;
    bench.appends().await;
}

/// Fills an empty store; what is there already stays.
async fn fill(store: &Store, size: Size) {
    let there = store.head().await.expect("a head").seq.cast_unsigned();
    if there >= size.entries {
        return println!("filled before\n");
    }
    assert_eq!(there, 0, "a store that is neither empty nor full");
    let mut rack = Rack::new(size, SEED);
    let begun = Instant::now();
    for first in (1..=size.entries).step_by(20_000) {
        let mut batch = store.begin(NOW).await.expect("a batch");
        batch.leave_lists();
        let last = (first + 20_000).min(size.entries + 1);
        batch.push_all((first..last).map(|seq| rack.draft(seq)).collect()).await.expect("written");
        batch.commit().await.expect("durable");
    }
    let took = begun.elapsed();
    println!(
        "filled in bulk, lists left: {took:.1?}, {:.0} entries a second",
        size.entries as f64 / took.as_secs_f64()
    );
}

async fn rebuild(store: &Store) {
    let begun = Instant::now();
    let pieces = store.rebuild(Some(NOW.on), &|_, _| {}).await.expect("rebuilt");
    println!("everything derived made anew: {:.1?} for {pieces} pieces", begun.elapsed());
    sqlx::query("UPDATE rack SET changes_on = ''").execute(store.pool()).await.expect("marked");
    let begun = Instant::now();
    store.refresh(NOW, &|_, _| {}).await.expect("refreshed");
    println!("all standings made anew: {:.1?}", begun.elapsed());
    let begun = Instant::now();
    let read = "SELECT count(*), sum(n) FROM (SELECT thing, sum(length(body)) AS n FROM about JOIN entry
        ON entry.seq = about.seq GROUP BY thing) AS all_of_it";
    sqlx::query(read).fetch_one(store.pool()).await.expect("read");
    println!("bare SQL that only reads every entry of every piece: {:.1?}\n", begun.elapsed());
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

/// What is asked in bare SQL: the statement, and its values.
type Bare = (String, Vec<String>);

impl Bench {
    async fn lists(&mut self) {
        let by = |column: &str| format!("{PAGE} WHERE {column} = $1 {ORDER}");
        self.ask("first page of all", |_, _| (Query::default(), (format!("{PAGE} {ORDER}"), vec![]))).await;
        self.ask("of a kind of gear", |_, _| {
            (Query { gear: Some("rope".into()), ..Query::default() }, (by("gear"), vec!["rope".into()]))
        })
        .await;
        self.ask("of a standing", |_, _| {
            let standing = Some(State::Withdrawn);
            (Query { standing, ..Query::default() }, (by("standing"), vec!["withdrawn".into()]))
        })
        .await;
        self.ask("of a site", |_, piece| {
            let site = Rack::site(piece);
            (Query { site: Some(site.clone()), ..Query::default() }, (by("site"), vec![site]))
        })
        .await;
        self.ask("of a holder", |rack, piece| {
            let person = Rack::person(piece % rack.people());
            (Query { holder: Some(person.clone()), ..Query::default() }, (by("holder"), vec![person.0]))
        })
        .await;
        self.ask("of a kit", |rack, piece| {
            let kit = rack.kit_of(piece % 100).expect("it is in a kit");
            let bare = (format!("{PAGE} WHERE kit = {} {ORDER}", kit.number()), vec![]);
            (Query { kit: Some(kit), ..Query::default() }, bare)
        })
        .await;
        self.ask("of gear, site and standing", |_, piece| {
            let site = Rack::site(piece);
            let sql = format!("{PAGE} WHERE gear = $1 AND site = $2 AND standing = $3 {ORDER}");
            let values = vec!["sling".to_owned(), site.clone(), "quarantined".to_owned()];
            let standing = Some(State::Quarantined);
            (Query { gear: Some("sling".into()), site: Some(site), standing, ..Query::default() }, (sql, values))
        })
        .await;
        self.ask("due before a day", |_, _| {
            let sql = format!("{PAGE} WHERE due_on < $1 ORDER BY due_on, id LIMIT 50");
            (Query { due_before: Some(NOW.on), ..Query::default() }, (sql, vec![NOW.on.to_string()]))
        })
        .await;
    }

    async fn searches(&mut self) {
        let first = "SELECT rack.*, word.word FROM word";
        let order = "ORDER BY word.word, word.place, word.id LIMIT 50";
        let found = move |word: &str| {
            let values = vec![word.to_owned(), format!("{word}\u{10ffff}")];
            let sql =
                format!("{first} JOIN rack ON rack.id = word.id WHERE word.word >= $1 AND word.word < $2 {order}");
            (Query { text: word.to_owned(), ..Query::default() }, (sql, values))
        };
        self.ask("search: a label", |rack, piece| found(&rack.label(piece).to_lowercase())).await;
        self.ask("search: the beginning of a label", |rack, piece| found(&rack.label(piece).to_lowercase()[..5])).await;
        self.ask("search: a serial", |rack, piece| found(&rack.serial(piece))).await;
        self.ask("search: a common word", |_, _| found("rope")).await;
        let both = move |sql_word: &str, also: &str, query: Query| {
            let (_, (sql, mut values)) = found(sql_word);
            values.push(format!("% {also}%"));
            (query, (sql.replace(" ORDER BY", " AND rack.words LIKE $3 ORDER BY"), values))
        };
        self.ask("search: maker and number of a model", |_, piece| {
            let number = format!("{:03}", piece % 8);
            both(&number, "pattern", Query { text: format!("pattern {number}"), ..Query::default() })
        })
        .await;
        self.ask("search: a word within a kind of gear", |_, piece| {
            let number = format!("{:03}", piece % 8);
            let gear = Some("rope".to_owned());
            both(&number, "rope", Query { text: number.clone(), gear, ..Query::default() })
        })
        .await;
    }

    /// Asks both ways, in turn.
    async fn ask(&mut self, what: &str, question: impl Fn(&Rack, u64) -> (Query, Bare)) {
        let (mut ours, mut bare) = (Times(vec![]), Times(vec![]));
        for _ in 0..self.samples {
            let piece = self.chance.below(self.size.pieces);
            let (query, (sql, values)) = question(&self.rack, piece);
            let begun = Instant::now();
            let page = self.store.pieces(&query).await.expect("a page");
            ours.0.push(begun.elapsed());
            let begun = Instant::now();
            let rows = values.iter().fold(sqlx::query(&sql), |sql, value| sql.bind(value.clone()));
            let rows = rows.fetch_all(self.store.pool()).await.expect("rows");
            bare.0.push(begun.elapsed());
            assert!(page.pieces.len() <= rows.len(), "{what}: {} rows in bare SQL", rows.len());
        }
        row(what, &mut ours, &mut bare);
    }

    async fn histories(&mut self) {
        let (mut ours, mut bare) = (Times(vec![]), Times(vec![]));
        let sql = "SELECT entry.* FROM about JOIN entry ON entry.seq = about.seq WHERE thing = $1 ORDER BY entry.seq";
        for _ in 0..self.samples {
            let piece = self.rack.piece(self.chance.below(self.size.pieces));
            let begun = Instant::now();
            self.store.piece(piece).await.expect("a look").expect("it is there");
            let history = self.store.history(piece).await.expect("a history");
            ours.0.push(begun.elapsed());
            let begun = Instant::now();
            sqlx::query("SELECT * FROM rack WHERE id = $1")
                .bind(piece.number())
                .fetch_one(self.store.pool())
                .await
                .expect("a row");
            let rows = sqlx::query(sql).bind(piece.number()).fetch_all(self.store.pool()).await.expect("rows");
            bare.0.push(begun.elapsed());
            assert!(history.len() >= rows.len());
        }
        row("a piece with its history", &mut ours, &mut bare);
        let begun = Instant::now();
        let group = self.store.history(GROUP).await.expect("a history").len();
        println!("\nwhat holds for the whole rack, {group} entries: {:.1?}", begun.elapsed());
    }

    /// Appends a day of use to many pieces, in durable batches with the lists kept, beside bare inserts of the same rows.
    async fn appends(&mut self) {
        let first = self.store.head().await.expect("a head").seq.cast_unsigned() + 1;
        for size in [1, 100, 1000, 5000] {
            let (mut ours, mut bare) = (Times(vec![]), Times(vec![]));
            let rounds = if size == 1 { 50 } else { 5 };
            for round in 0..rounds {
                let tag = first * 1_000_000 + size * 1000 + round;
                let mut batch = self.store.begin(NOW).await.expect("a batch");
                let drafts = (0..size).map(|number| self.used(tag, number)).collect();
                let begun = Instant::now();
                batch.push_all(drafts).await.expect("written");
                batch.commit().await.expect("durable");
                ours.0.push(begun.elapsed());
                bare.0.push(self.bare_insert(size).await);
            }
            let (median, base) = (ours.at(0.5), bare.at(0.5));
            println!(
                "batches of {size}: median {median:.1?}, {:.0} entries a second; bare inserts of the same entries {base:.1?}",
                size as f64 / median.as_secs_f64()
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

    /// The last entries once more, into a table of the same shape.
    async fn bare_insert(&self, size: u64) -> Duration {
        let pool = self.store.pool();
        let last = self.store.head().await.expect("a head").seq;
        let make = "CREATE TABLE IF NOT EXISTS bare AS SELECT * FROM entry WHERE seq < 0";
        sqlx::query(make).execute(pool).await.expect("a table");
        let begun = Instant::now();
        let copy = "INSERT INTO bare SELECT * FROM entry WHERE seq > $1";
        sqlx::query(copy).bind(last - size.cast_signed()).execute(pool).await.expect("copied");
        let took = begun.elapsed();
        sqlx::query("DROP TABLE bare").execute(pool).await.expect("dropped");
        took
    }
}

fn row(what: &str, ours: &mut Times, bare: &mut Times) {
    let milli = |time: Duration| time.as_secs_f64() * 1e3;
    let (median, p95, base) = (milli(ours.at(0.5)), milli(ours.at(0.95)), milli(bare.at(0.5)));
    println!("| {what} | {median:.2} ms | {p95:.2} ms | {base:.2} ms | {:.2} |", median / base);
}
