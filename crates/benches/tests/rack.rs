//! A hundredth of the large rack: what the store answers is what bare SQL and a rebuild answer. No time is measured here.

use benches::questions::{HISTORY, KIT, KITS, Question, questions};
use benches::rack::{Chance, Rack, Size};
use jiff::civil::date;
use register::history::effective;
use register::id::Id;
use register::kit::Kit;
use register::store::{Now, Store};
use register::summary::summary;
use sqlx::Row;
use std::collections::BTreeSet;

const NOW: Now = Now { ms: 1_795_600_000_000, on: date(2026, 11, 25) };
const SIZE: Size = Size { pieces: 10_000, entries: 100_000 };

#[tokio::test]
async fn a_rack_of_ten_thousand_pieces_answers_as_bare_sql_does() {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(&folder.path().join("rack").to_string_lossy()).await.expect("a store");
    let mut rack = Rack::new(SIZE, 11);
    assert!(rack.fill(&store, NOW).await.expect("filled"), "it was empty");
    assert_eq!(store.rebuild(Some(NOW.on), &|_, _| {}).await.expect("rebuilt"), SIZE.pieces);
    let (mut chance, mut asked) = (Chance(5), 0);
    for _ in 0..20 {
        let piece = chance.below(SIZE.pieces);
        for question in questions(&rack, piece, NOW.on) {
            asked += usize::from(answers_agree(&store, &question).await);
        }
        a_row_is_what_its_log_gives(&store, rack.piece(piece)).await;
        a_history_is_its_own_entries_and_those_of_its_kits(&store, rack.piece(piece)).await;
        a_kit_is_what_its_entries_give(&store, &Rack::kit_label(chance.below(SIZE.pieces / 100))).await;
        let labelled = store.labelled(&[rack.label(piece)]).await.expect("a look");
        assert_eq!(labelled.iter().map(|row| row.id).collect::<Vec<_>>(), [rack.piece(piece)]);
    }
    assert!(asked > 200, "most questions find something: {asked}");
    let kits = store.kits(None, 50, None).await.expect("a page").kits;
    assert_eq!(kits.iter().map(|kit| kit.id.number()).collect::<Vec<_>>(), numbers(&store, KITS, "").await);
    a_refresh_changes_nothing(&store).await;
    let verified = store.verify(None, &|_, _| {}).await.expect("it can be read");
    assert_eq!((verified.entries, verified.faults), (SIZE.entries, vec![]));
}

/// Gives whether anything was found.
async fn answers_agree(store: &Store, question: &Question) -> bool {
    let page = store.pieces(&question.query).await.expect("a page");
    let ours: Vec<i64> = page.pieces.iter().map(|row| row.id.number()).collect();
    let all = question.sql.replace(" LIMIT 50", "");
    let query = question.values.iter().fold(sqlx::query(&all), |query, value| query.bind(value.clone()));
    let mut theirs: Vec<i64> = Vec::new();
    let mut seen = BTreeSet::new();
    for row in query.fetch_all(store.pool()).await.expect("rows") {
        let id = row.get::<i64, _>(0);
        if seen.insert(id) {
            theirs.push(id);
        }
    }
    let what = question.what;
    assert_eq!(ours.len(), theirs.len().min(50), "{what}: {:?}", question.values);
    if question.has_one_order {
        assert_eq!(ours[..], theirs[..ours.len()], "{what}");
    } else {
        assert!(ours.iter().all(|id| seen.contains(id)), "{what}");
        assert_eq!(ours.iter().collect::<BTreeSet<_>>().len(), ours.len(), "{what}: each once");
    }
    !ours.is_empty()
}

async fn a_row_is_what_its_log_gives(store: &Store, piece: Id) {
    let row = store.piece(piece).await.expect("a look").expect("it is there");
    let history = effective(store.history(piece).await.expect("a history"));
    let group = store.group().await.expect("a group");
    let told = summary(piece, &history, &group, NOW.on).expect("a piece");
    assert_eq!((row.label, row.standing, row.changes_on), (told.label, told.standing, told.changes_on));
    assert_eq!((row.due_on, row.holder, row.kit), (told.due_on, told.holder, told.kit));
}

async fn a_history_is_its_own_entries_and_those_of_its_kits(store: &Store, piece: Id) {
    let history: Vec<i64> = store.history(piece).await.expect("a history").iter().map(|past| past.seq).collect();
    let sources = format!("SELECT source FROM link WHERE thing = {}", piece.number());
    let mut entries = BTreeSet::new();
    for thing in numbers(store, &sources, "").await.into_iter().chain([piece.number()]) {
        entries.extend(numbers(store, &HISTORY.replace("$1", &thing.to_string()), "").await);
    }
    assert_eq!(history, entries.into_iter().collect::<Vec<_>>());
}

async fn a_kit_is_what_its_entries_give(store: &Store, label: &str) {
    let kit = store.kit(label).await.expect("a look").expect("it is there");
    let entries = numbers(store, KIT, label).await;
    let history = store.history(kit.id).await.expect("a history");
    assert_eq!(history.iter().map(|past| past.seq).collect::<Vec<_>>(), entries);
    assert_eq!(Kit::fold(kit.id, &effective(history), NOW.on), Some(kit.clone()));
    let theirs = format!("SELECT thing FROM link WHERE source = {} ORDER BY thing", kit.id.number());
    let mut ours: Vec<i64> = kit.contents.iter().map(|part| part.piece.number()).collect();
    ours.sort_unstable();
    assert_eq!((kit.label.as_str(), ours), (label, numbers(store, &theirs, "").await));
}

/// The first column of what bare SQL finds.
async fn numbers(store: &Store, sql: &str, value: &str) -> Vec<i64> {
    let query = if sql.contains("$1") { sqlx::query(sql).bind(value.to_owned()) } else { sqlx::query(sql) };
    query.fetch_all(store.pool()).await.expect("rows").iter().map(|row| row.get(0)).collect()
}

async fn a_refresh_changes_nothing(store: &Store) {
    let before = standings(store).await;
    sqlx::query("INSERT INTO outdated (model, past) VALUES (0, 0)").execute(store.pool()).await.expect("told");
    assert_eq!(store.refresh(NOW, &|_, _| {}).await.expect("refreshed"), SIZE.pieces);
    assert_eq!(standings(store).await, before);
}

async fn standings(store: &Store) -> Vec<(i64, String, Option<String>)> {
    let sql = "SELECT id, standing, changes_on FROM rack ORDER BY id";
    let rows = sqlx::query(sql).fetch_all(store.pool()).await.expect("rows");
    rows.iter().map(|row| (row.get(0), row.get(1), row.get(2))).collect()
}
