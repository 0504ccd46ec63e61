//! What a store does, the same on both databases.

mod common;

use common::{DAY, Place, draft, entered, id, noted, now, some, used, write};
use register::entry::Draft;
use register::event::{Correction, Description, Event, KitPart, Mark, Record, Share};
use register::history::effective;
use register::id::PersonId;
use register::moment::Moment;
use register::store::{
    Account, Dialect, Fault, GROUP, KitPage, Now, Query, RunOut, SCHEMA, SignIn, Spellings, Store, StoreError, restore,
};
use sqlx::Executor as _;
use std::collections::BTreeSet;

/// Each test on each database.
macro_rules! on_both {
    ($($name:ident),+ $(,)?) => {
        mod sqlite { $(#[tokio::test] async fn $name() { super::$name(super::Dialect::Sqlite).await; })+ }
        mod postgres { $(#[tokio::test] async fn $name() { super::$name(super::Dialect::Postgres).await; })+ }
    };
}

on_both!(
    a_new_store_is_empty_and_verifies,
    what_was_written_is_read_and_listed,
    the_same_client_entry_is_one,
    a_batch_not_committed_leaves_nothing,
    a_batch_sees_what_it_added,
    a_share_has_the_history_of_the_whole,
    a_correction_changes_the_list,
    a_model_told_anew_changes_its_pieces,
    every_page_follows_the_one_before,
    words_and_filters_find_what_they_name,
    a_standing_that_changes_by_itself_is_refreshed,
    a_refresh_goes_on_where_one_was_stopped,
    a_writer_whose_day_is_earlier_takes_nothing_off_the_lists,
    a_rebuild_gives_the_same_lists,
    erasing_leaves_the_chain_whole,
    a_text_that_is_gone_after_an_erasure_is_missed,
    a_name_in_the_log_itself_is_told,
    kits_are_listed_page_by_page_and_found_by_label,
    many_are_read_as_one_by_one,
    a_label_is_found_whole,
    a_copy_taken_back_is_the_same,
    a_damaged_copy_changes_nothing,
    each_earlier_version_is_brought_up,
    a_sign_in_lasts_as_long_as_its_account,
    whoever_is_erased_has_no_account,
    a_backup_carries_no_account,
    a_later_version_is_not_opened,
    what_does_not_fit_is_told,
);

async fn lists(store: &Store) -> Vec<String> {
    let page = store.pieces(&Query { limit: 1000, ..Query::default() }).await.expect("a page");
    page.pieces.iter().map(|piece| format!("{piece:?}")).collect()
}

async fn labels(store: &Store, query: Query) -> Vec<String> {
    let mut labels = Vec::new();
    let mut query = query;
    loop {
        let page = store.pieces(&query).await.expect("a page");
        labels.extend(page.pieces.into_iter().map(|piece| piece.label));
        match page.next {
            Some(next) => query.after = Some(next),
            None => return labels,
        }
    }
}

async fn is_clean(store: &Store) {
    assert_eq!(store.verify(None, &|_, _| {}).await.expect("it can be read").faults, []);
}

async fn a_new_store_is_empty_and_verifies(dialect: Dialect) {
    let place = Place::new(dialect).await;
    let store = place.open().await;
    assert_eq!(store.head().await.expect("a head").seq, 0);
    assert_eq!(lists(&store).await, Vec::<String>::new());
    is_clean(&store).await;
}

async fn what_was_written_is_read_and_listed(dialect: Dialect) {
    let place = Place::new(dialect).await;
    let store = place.open().await;
    assert_eq!(some(&store).await, [1, 2, 3, 4, 5]);
    store.close().await;
    let store = place.open().await;
    let history = store.history(id(1, 0)).await.expect("a history");
    assert_eq!(history.iter().map(|past| past.seq).collect::<Vec<_>>(), [1, 3]);
    assert_eq!(history[1].record, used("c-3", &[id(1, 0), id(2, 0)]).record.into());
    assert_eq!(labels(&store, Query::default()).await, ["C-001", "C-002", "C-010", "R-1"]);
    let entry = &store.entries(4, 1).await.expect("entries")[0];
    let note = register::store::read(entry).expect("an entry").record.note.clone().expect("a note");
    let aside = store.aside(&note).await.expect("it can be read").expect("it is there");
    assert_eq!(aside.content, b"salt water, says Anna Example");
    is_clean(&store).await;
}

async fn the_same_client_entry_is_one(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    let mut batch = store.begin(now()).await.expect("a batch");
    let first = batch.push(entered("c-1", &["C-1"], "connector")).await.expect("written");
    let again = batch.push(entered("c-1", &["C-1"], "connector")).await.expect("known");
    assert_eq!((first.seq, first.again, again.seq, again.again), (1, false, 1, true));
    batch.commit().await.expect("durable");
    let mut batch = store.begin(now()).await.expect("a batch");
    let both = vec![entered("c-1", &["C-1"], "connector"), entered("c-2", &["C-2"], "connector")];
    let written = batch.push_all(both).await.expect("written");
    assert_eq!(written.iter().map(|one| (one.seq, one.again)).collect::<Vec<_>>(), [(1, true), (2, false)]);
    assert_eq!(batch.commit().await.expect("durable").seq, 2);
    assert_eq!(labels(&store, Query::default()).await, ["C-1", "C-2"]);
}

async fn a_batch_not_committed_leaves_nothing(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    some(&store).await;
    let before = lists(&store).await;
    let mut batch = store.begin(now()).await.expect("a batch");
    batch.push(entered("c-9", &["X-1"], "rope")).await.expect("written");
    assert!(batch.piece_by_label("X-1").await.expect("a look").is_some());
    drop(batch);
    assert_eq!(store.head().await.expect("a head").seq, 5);
    assert_eq!(lists(&store).await, before);
    is_clean(&store).await;
}

async fn a_batch_sees_what_it_added(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    some(&store).await;
    let mut batch = store.begin(now()).await.expect("a batch");
    assert_eq!(batch.next_seq(), 6);
    assert_eq!(batch.piece_by_label("C-002").await.expect("a look"), Some(id(1, 1)));
    assert_eq!(batch.piece_by_label("C-010").await.expect("a look"), None, "it is withdrawn");
    batch.push(entered("c-6", &["C-010"], "connector")).await.expect("written");
    assert_eq!(batch.piece_by_label("C-010").await.expect("a look"), Some(id(6, 0)));
    assert_eq!(batch.history(id(6, 0)).await.expect("a history").len(), 1);
    assert_eq!(batch.entry(6).await.expect("a look").expect("it is there").seq, 6);
    assert!(batch.entry(7).await.expect("a look").is_none());
}

async fn a_share_has_the_history_of_the_whole(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    some(&store).await;
    let share = |label: &str| Share {
        mark: Mark { label: label.to_owned(), serial: None },
        is: Description::default(),
        scrap: false,
    };
    let into = vec![share("R-1a"), share("R-1b")];
    write(&store, vec![draft("c-6", vec![id(2, 0)], Event::Divided { into })]).await;
    write(&store, vec![used("c-7", &[id(6, 1)])]).await;
    let again = vec![share("R-1ba")];
    write(&store, vec![draft("c-8", vec![id(6, 1)], Event::Divided { into: again })]).await;
    let seqs = |history: Vec<register::history::Past>| history.iter().map(|past| past.seq).collect::<Vec<_>>();
    assert_eq!(seqs(store.history(id(6, 0)).await.expect("a history")), [2, 3, 6]);
    assert_eq!(seqs(store.history(id(8, 0)).await.expect("a history")), [2, 3, 6, 7, 8]);
    // What is found out about the whole afterwards reaches the shares.
    write(&store, vec![draft("c-9", vec![id(2, 0)], Event::Exposed { to: "acid".to_owned() })]).await;
    assert_eq!(seqs(store.history(id(8, 0)).await.expect("a history")), [2, 3, 6, 7, 8, 9]);
}

async fn a_correction_changes_the_list(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    some(&store).await;
    let record = Record { event: entered("", &["C-101", "C-102"], "rope").record.event, ..used("", &[]).record };
    let with = Some(Box::new(Correction { happened: Moment::on(DAY), record }));
    write(&store, vec![draft("c-6", vec![], Event::Corrected { entry: 1, with })]).await;
    assert_eq!(labels(&store, Query::default()).await, ["C-101", "C-102", "R-1"]);
    assert_eq!(labels(&store, Query { text: "c-00".to_owned(), ..Query::default() }).await, Vec::<String>::new());
    // Correcting the correction brings back what that put away.
    write(&store, vec![draft("c-7", vec![], Event::Corrected { entry: 6, with: None })]).await;
    assert_eq!(labels(&store, Query::default()).await, ["C-001", "C-002", "C-010", "R-1"]);
    is_clean(&store).await;
}

async fn a_model_told_anew_changes_its_pieces(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    let model = |name: &str| register::event::Model {
        name: name.to_owned(),
        maker: Some("Maker A".to_owned()),
        is: Description { gear: Some("rope".to_owned()), ..Description::default() },
        limits: Default::default(),
        fits: vec![],
        papers: vec![],
    };
    write(&store, vec![draft("c-1", vec![], Event::ModelEntered(model("Old name")))]).await;
    let mut pieces = entered("c-2", &["R-1", "R-2"], "rope");
    if let Event::Entered(entered) = &mut pieces.record.event {
        entered.is.model = Some(id(1, 0));
    }
    write(&store, vec![pieces]).await;
    let found = |text: &str| Query { text: text.to_owned(), ..Query::default() };
    assert_eq!(labels(&store, found("old")).await, ["R-1", "R-2"]);
    let is = model("New name");
    write(&store, vec![draft("c-3", vec![], Event::ModelDescribed { model: id(1, 0), is })]).await;
    assert_eq!(labels(&store, found("old")).await, Vec::<String>::new());
    assert_eq!(labels(&store, found("new")).await, ["R-1", "R-2"]);
    let group = store.history(GROUP).await.expect("a history");
    assert_eq!(group.iter().map(|past| past.seq).collect::<Vec<_>>(), [1, 3]);
}

async fn many(store: &Store) {
    let labels: Vec<String> = (1..=230).map(|number| format!("C-{number}")).collect();
    let labels: Vec<&str> = labels.iter().map(String::as_str).collect();
    write(store, vec![entered("c-1", &labels, "connector"), entered("c-2", &["R-1", "R-2", "C-rope"], "rope")]).await;
}

async fn every_page_follows_the_one_before(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    many(&store).await;
    let mut expected: Vec<String> = (1..=230).map(|number| format!("C-{number}")).collect();
    expected.extend(["C-rope", "R-1", "R-2"].map(str::to_owned));
    for limit in [1, 7, 50, 1000] {
        assert_eq!(labels(&store, Query { limit, ..Query::default() }).await, expected);
        let found = labels(&store, Query { limit, text: "c".to_owned(), ..Query::default() }).await;
        assert_eq!(found.len(), 231, "each once");
        assert_eq!(found.iter().collect::<BTreeSet<_>>().len(), 231);
    }
}

async fn words_and_filters_find_what_they_name(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    many(&store).await;
    write(&store, vec![draft("c-3", vec![id(1, 4)], Event::Withdrawn { why: "worn".to_owned() })]).await;
    let text = |text: &str| Query { text: text.to_owned(), ..Query::default() };
    assert_eq!(labels(&store, text("C-22")).await.len(), 11, "C-22 and C-220 to C-229");
    assert_eq!(labels(&store, text("rope c-")).await, ["C-rope"]);
    assert_eq!(labels(&store, text("nothing")).await, Vec::<String>::new());
    assert_eq!(labels(&store, text("100%")).await, ["C-100"]);
    let ropes = Query { gear: Some("rope".to_owned()), ..Query::default() };
    assert_eq!(labels(&store, ropes.clone()).await, ["C-rope", "R-1", "R-2"]);
    assert_eq!(
        labels(&store, Query { text: "r".to_owned(), site: Some("store-b".to_owned()), ..ropes }).await.len(),
        0
    );
    let out = Query { standing: register::standing::State::from_code("withdrawn"), ..Query::default() };
    assert_eq!(labels(&store, out).await, ["C-5"]);
    assert_eq!(store.piece(id(1, 4)).await.expect("a look").expect("it is there").label, "C-5");
}

async fn a_standing_that_changes_by_itself_is_refreshed(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    some(&store).await;
    let policy = Event::PolicySet { text: String::new() };
    write(&store, vec![draft("c-6", vec![], policy)]).await;
    let before = lists(&store).await;
    assert_eq!(store.refresh(now(), &|_, _| {}).await.expect("refreshed"), 4, "a policy may change every standing");
    assert_eq!(lists(&store).await.len(), before.len());
    assert_eq!(numbers(&store, "SELECT count(*) FROM outdated").await, [0]);
}

async fn a_refresh_goes_on_where_one_was_stopped(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    some(&store).await;
    let before = lists(&store).await;
    let ids = numbers(&store, "SELECT id FROM rack ORDER BY id").await;
    store.pool().execute("UPDATE rack SET standing = 'watch', due_on = NULL").await.expect("another policy's");
    let stopped = format!("INSERT INTO outdated (model, past) VALUES (0, {})", ids[1]);
    store.pool().execute(stopped.as_str()).await.expect("told");
    assert_eq!(store.refresh(now(), &|_, _| {}).await.expect("refreshed"), 2, "of four, two are left");
    assert_eq!(numbers(&store, "SELECT count(*) FROM rack WHERE standing = 'watch'").await, [2]);
    write(&store, vec![draft("c-6", vec![], Event::PolicySet { text: String::new() })]).await;
    assert_eq!(store.refresh(now(), &|_, _| {}).await.expect("refreshed"), 4, "a policy starts anew");
    assert_eq!(lists(&store).await, before);
    assert_eq!(store.refresh(now(), &|_, _| {}).await.expect("refreshed"), 0);
}

async fn numbers(store: &Store, sql: &str) -> Vec<i64> {
    let rows = sqlx::query(sql).fetch_all(store.pool()).await.expect("rows");
    rows.iter().map(|row| sqlx::Row::get(row, 0)).collect()
}

/// A day ends later in the west: who writes there has yesterday's date for what came in today.
async fn a_writer_whose_day_is_earlier_takes_nothing_off_the_lists(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    some(&store).await;
    let before = lists(&store).await;
    let earlier = Now { on: DAY.yesterday().expect("a day before"), ..now() };
    let mut batch = store.begin(earlier).await.expect("the head's lock");
    for (client, about) in [("c-6", [id(1, 0), id(2, 0)]), ("c-7", [id(1, 1), id(1, 2)])] {
        let mut cleaned = draft(client, about.to_vec(), Event::Cleaned);
        cleaned.happened = Moment::on(earlier.on);
        batch.push(cleaned).await.expect("written");
    }
    assert_eq!(batch.piece_by_label("C-001").await.expect("a look"), Some(id(1, 0)), "its label is still taken");
    batch.commit().await.expect("durable");
    assert_eq!(labels(&store, Query::default()).await, ["C-001", "C-002", "C-010", "R-1"]);
    store.refresh(earlier, &|_, _| {}).await.expect("refreshed");
    assert_eq!(labels(&store, Query::default()).await, ["C-001", "C-002", "C-010", "R-1"]);
    store.refresh(now(), &|_, _| {}).await.expect("refreshed");
    assert_eq!(lists(&store).await, before, "the later day's standings are back, a withdrawn one among them");
}

async fn a_rebuild_gives_the_same_lists(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    some(&store).await;
    let share =
        Share { mark: Mark { label: "R-1a".to_owned(), serial: None }, is: Description::default(), scrap: false };
    let divided = draft("c-6", vec![id(2, 0)], Event::Divided { into: vec![share] });
    let corrected = draft("c-7", vec![], Event::Corrected { entry: 5, with: None });
    write(&store, vec![divided, corrected]).await;
    let before = derived(&store).await;
    assert_eq!(store.rebuild(Some(DAY), &|_, _| {}).await.expect("rebuilt"), 5);
    assert_eq!(derived(&store).await, before);
}

/// Everything that is derived, as text.
async fn derived(store: &Store) -> Vec<String> {
    let all = "SELECT 'a' || thing || ' ' || seq || ' ' || coalesce(told, '') FROM about
        UNION ALL SELECT 'l' || thing || ' ' || source FROM link
        UNION ALL SELECT 'k' || id || ' ' || label || ' ' || coalesce(due, '') FROM kit
        UNION ALL SELECT 'w' || word || ' ' || place || ' ' || id FROM word";
    let rows = sqlx::query(all).fetch_all(store.pool()).await.expect("rows");
    let mut texts: Vec<String> = rows.iter().map(|row| sqlx::Row::get(row, 0)).collect();
    texts.sort();
    texts.extend(lists(store).await);
    texts
}

/// No chance: the tests' texts differ as it is.
fn erase_anna(of: &[String]) -> Spellings<'_> {
    Spellings { of, mark: "(erased)", salt: &|| [9; 16] }
}

fn erasure(client: &str, person: &str) -> Draft {
    draft(client, vec![], Event::PersonErased { person: PersonId(person.to_owned()), gone: vec![] })
}

async fn erasing_leaves_the_chain_whole(dialect: Dialect) {
    let place = Place::new(dialect).await;
    let store = place.open().await;
    some(&store).await;
    let other =
        noted(draft("c-6", vec![id(1, 0)], Event::Cleaned), "Ben Example washed it with ANNA  Example", "p-ben");
    let note = other.record.note.clone().expect("a note");
    write(&store, vec![other]).await;
    let of = ["Anna Example".to_owned()];
    let erased = store.erase(erasure("c-7", "p-anna"), &erase_anna(&of), now()).await.expect("erased");
    assert_eq!((erased.entry.seq, erased.asides, erased.blanked, erased.left), (7, 1, 1, vec![]));
    let verified = store.verify(None, &|_, _| {}).await.expect("it can be read");
    assert_eq!((verified.faults, verified.asides, verified.erased), (vec![], 1, 2));
    let text =
        |aside: Option<register::private::Aside>| aside.map(|aside| String::from_utf8(aside.content).expect("text"));
    let now_told = text(store.aside(&note).await.expect("a look"));
    assert_eq!(now_told.as_deref(), Some("Ben Example washed it with (erased)"));
    let again = store.erase(erasure("c-7", "p-anna"), &erase_anna(&of), now()).await.expect("again");
    assert!(again.entry.again);
    if dialect == Dialect::Sqlite {
        for end in ["", "-wal"] {
            let bytes = std::fs::read(format!("{}{end}", place.address)).unwrap_or_default();
            assert!(!holds(&bytes, b"anna  example"), "a trace in the file{end}");
            assert!(!holds(&bytes, b"anna example"), "a trace in the file{end}");
        }
        let bytes = std::fs::read(&place.address).expect("the file");
        assert!(holds(&bytes, b"ben example"), "the look finds what is there");
    }
    // A text that was changed once is changed again, and is still found by its first name.
    let of = ["Ben Example".to_owned()];
    let salt = || [8; 16];
    let ben = Spellings { of: &of, mark: "(erased)", salt: &salt };
    store.erase(erasure("c-8", "p-anna"), &ben, now()).await.expect("erased");
    assert_eq!(text(store.aside(&note).await.expect("a look")).as_deref(), Some("(erased) washed it with (erased)"));
    is_clean(&store).await;
    let wrong = store.erase(used("c-9", &[id(1, 0)]), &erase_anna(&of), now()).await;
    assert!(matches!(wrong, Err(StoreError::Unfit(_))));
}

/// Sign-ins that began more than ten seconds ago have run out, and those not used for five.
const fn run_out(now_ms: i64) -> RunOut {
    RunOut { begun_before_ms: now_ms - 10_000, unseen_since_ms: now_ms - 5_000 }
}

/// Anna has an account, and is signed in twice.
async fn with_anna(store: &Store) -> PersonId {
    let anna = PersonId("p-anna".to_owned());
    assert!(store.open_account(&anna, "kept-1", 1_000).await.expect("an account"));
    for key in ["key-1", "key-2"] {
        assert!(store.begin_sign_in(key, &anna, "kept-1", 2_000, run_out(2_000)).await.expect("a look"), "{key}");
    }
    anna
}

async fn a_sign_in_lasts_as_long_as_its_account(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    let anna = with_anna(&store).await;
    assert!(!store.open_account(&anna, "another", 1_500).await.expect("a look"), "she has one");
    let row = |sign_ins, seen_ms| vec![Account { person: anna.clone(), made_ms: 1_000, sign_ins, seen_ms }];
    store.saw_sign_in("key-1", 4_000).await.expect("seen");
    assert_eq!(store.accounts(run_out(2_000)).await.expect("accounts"), row(2, Some(4_000)));
    assert_eq!(store.accounts(run_out(8_000)).await.expect("accounts"), row(1, Some(4_000)), "one was not used");
    let found = store.sign_in("key-1").await.expect("a look").expect("a sign-in");
    assert_eq!(found, SignIn { person: anna.clone(), begun_ms: 2_000, seen_ms: 4_000 });
    assert!(!found.is_out(run_out(9_000)) && found.is_out(run_out(9_001)) && found.is_out(run_out(12_001)));
    // Somebody who looked at the old password does not come in by it once there is another.
    assert!(store.set_password(&anna, "kept-2", Some("key-2")).await.expect("another"));
    assert!(!store.begin_sign_in("key-3", &anna, "kept-1", 3_000, run_out(3_000)).await.expect("a look"));
    assert_eq!(store.sign_in("key-1").await.expect("a look"), None);
    assert!(store.sign_in("key-2").await.expect("a look").is_some(), "but for the one that it was changed in");
    assert!(store.begin_sign_in("key-3", &anna, "kept-2", 30_000, run_out(30_000)).await.expect("a look"));
    assert_eq!(store.sign_in("key-2").await.expect("a look"), None, "what has run out is swept away");
    assert_eq!(store.end_sign_ins(&anna).await.expect("ended"), 1);
    assert!(store.close_account(&anna).await.expect("closed") && !store.close_account(&anna).await.expect("a look"));
    assert_eq!(store.password(&anna).await.expect("a look"), None);
}

async fn whoever_is_erased_has_no_account(dialect: Dialect) {
    let place = Place::new(dialect).await;
    let store = place.open().await;
    some(&store).await;
    with_anna(&store).await;
    let ben = PersonId("p-ben".to_owned());
    store.open_account(&ben, "kept-of-ben", 1_000).await.expect("an account");
    let of = ["Anna Example".to_owned()];
    store.erase(erasure("c-7", "p-anna"), &erase_anna(&of), now()).await.expect("erased");
    let left = store.accounts(run_out(2_000)).await.expect("accounts");
    assert_eq!(left.iter().map(|account| &account.person).collect::<Vec<_>>(), [&ben]);
    assert_eq!(store.sign_in("key-1").await.expect("a look"), None);
    is_clean(&store).await;
    if dialect == Dialect::Sqlite {
        let bytes = std::fs::read(&place.address).expect("the file");
        assert!(holds(&bytes, b"kept-of-ben") && !holds(&bytes, b"kept-1") && !holds(&bytes, b"key-1"));
    }
}

async fn a_backup_carries_no_account(dialect: Dialect) {
    let place = Place::new(dialect).await;
    let store = place.open().await;
    some(&store).await;
    with_anna(&store).await;
    let backup = place.file("backup");
    store.backup(&backup).await.expect("a backup");
    let bytes = std::fs::read(&backup).expect("the file");
    assert!(!holds(&bytes, b"kept-1") && !holds(&bytes, b"key-1"), "no trace in the file");
    let other = Place::new(dialect).await;
    restore(&backup, &other.address, None, &|_, _| {}).await.expect("restored");
    assert_eq!(other.open().await.accounts(run_out(2_000)).await.expect("accounts"), []);
    assert_eq!(store.accounts(run_out(2_000)).await.expect("accounts").len(), 1, "they stay where they were");
}

/// Only what an erasure lists may be gone.
async fn a_text_that_is_gone_after_an_erasure_is_missed(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    some(&store).await;
    write(&store, vec![noted(draft("c-6", vec![id(1, 0)], Event::Cleaned), "a crack at the nose", "p-ben")]).await;
    let of = ["Anna Example".to_owned()];
    store.erase(erasure("c-7", "p-anna"), &erase_anna(&of), now()).await.expect("erased");
    store.pool().execute("DELETE FROM aside").await.expect("taken away");
    let faults = store.verify(None, &|_, _| {}).await.expect("it can be read").faults;
    assert!(matches!(faults[..], [Fault::AsideGone { entry: 6, .. }]), "{faults:?}");
}

async fn a_name_in_the_log_itself_is_told(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    some(&store).await;
    let why = "says ÄNNA Example".to_owned();
    write(&store, vec![draft("c-6", vec![id(1, 0)], Event::Quarantined { why, incident: None })]).await;
    let of = ["ÄNNA Example".to_owned(), "100%".to_owned()];
    let erased = store.erase(erasure("c-7", "p-anna"), &erase_anna(&of), now()).await.expect("erased");
    assert_eq!(erased.left, [6]);
}

/// Whether the bytes hold a text, in whatever case.
fn holds(bytes: &[u8], text: &[u8]) -> bool {
    bytes.windows(text.len()).any(|window| window.eq_ignore_ascii_case(text))
}

async fn kits_are_listed_page_by_page_and_found_by_label(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    some(&store).await;
    let contents = vec![KitPart { piece: id(1, 0), count: 1 }, KitPart { piece: id(2, 0), count: 1 }];
    let set = |client: &str, label: &str| {
        draft(client, vec![], Event::KitSet { kit: None, label: label.to_owned(), contents: contents.clone() })
    };
    write(&store, vec![set("c-6", "K-10"), set("c-7", "K-2"), set("c-8", "K-3")]).await;
    let out = |client: &str, kit, due| draft(client, vec![], Event::KitIssued { kit, to: None, due });
    let yesterday = DAY.yesterday().ok();
    write(&store, vec![out("c-9", id(7, 0), yesterday), out("c-10", id(8, 0), Some(DAY))]).await;
    let page = store.kits(None, 2, None).await.expect("a page");
    let labels = |page: &KitPage| page.kits.iter().map(|kit| kit.label.clone()).collect::<Vec<_>>();
    assert_eq!(labels(&page), ["K-2", "K-3"]);
    assert_eq!((page.kits[0].parts, page.kits[0].since, page.kits[0].is_late(DAY)), (2, Some(DAY), true));
    let rest = store.kits(page.next.as_ref(), 2, None).await.expect("a page");
    assert_eq!((labels(&rest), rest.next.is_none()), (vec!["K-10".to_owned()], true));
    assert_eq!(labels(&store.kits(None, 9, Some(DAY)).await.expect("a page")), ["K-2"]);
    assert_eq!(store.late_kits(DAY).await.expect("a count"), 1);
    assert_eq!(store.kit("K-3").await.expect("a look").expect("it is there").contents, contents);
    // A kit that was a slip is none; one that is told anew has its new label.
    let undone = draft("c-11", vec![], Event::Corrected { entry: 6, with: None });
    let record = set("", "K-4").record;
    let anew = Correction { happened: Moment::on(DAY), record };
    let anew = draft("c-12", vec![], Event::Corrected { entry: 8, with: Some(Box::new(anew)) });
    write(&store, vec![undone, anew]).await;
    assert_eq!(labels(&store.kits(None, 9, None).await.expect("a page")), ["K-2", "K-4"]);
    let before = derived(&store).await;
    store.rebuild(Some(DAY), &|_, _| {}).await.expect("rebuilt");
    assert_eq!(derived(&store).await, before);
}

async fn many_are_read_as_one_by_one(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    some(&store).await;
    let ids = [id(1, 0), id(1, 1), id(2, 0), id(9, 9)];
    let histories = store.histories(&ids).await.expect("histories");
    let rows = store.rows(&ids).await.expect("rows");
    for id in ids {
        let alone = store.history(id).await.expect("a history");
        assert_eq!(histories.get(&id).cloned().unwrap_or_default(), alone);
        let row = store.piece(id).await.expect("a look");
        assert_eq!(rows.get(&id).map(|row| &row.label), row.as_ref().map(|row| &row.label));
    }
    assert_eq!((histories.len(), rows.len()), (3, 3));
}

async fn a_label_is_found_whole(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    many(&store).await;
    let labels: Vec<String> = ["C-1", "C-22", "c-5", "R-2", "none"].map(str::to_owned).to_vec();
    let mut found: Vec<String> =
        store.labelled(&labels).await.expect("rows").into_iter().map(|row| row.label).collect();
    found.sort();
    assert_eq!(found, ["C-1", "C-22", "R-2"]);
    let some: Vec<String> =
        (1..=230).map(|number| format!("C-{number}")).chain((0..300).map(|n| format!("X-{n}"))).collect();
    assert_eq!(store.labelled(&some).await.expect("rows").len(), 230);
}

async fn a_copy_taken_back_is_the_same(dialect: Dialect) {
    let place = Place::new(dialect).await;
    let store = place.open().await;
    some(&store).await;
    let (copy, backup) = (place.file("log.jsonl"), place.file("backup"));
    let head = store.copy(&copy, &|_, _| {}).await.expect("a copy");
    assert_eq!(store.backup(&backup).await.expect("a backup"), head);
    assert!(matches!(store.backup(&backup).await, Err(StoreError::Exists(_))));
    let before = derived(&store).await;
    for dialect in [Dialect::Sqlite, Dialect::Postgres] {
        let other = Place::new(dialect).await;
        let restored = restore(&copy, &other.address, Some(&head.hash), &|_, _| {}).await.expect("restored");
        assert_eq!(restored.verified.expected_at, Some(5));
        let store = other.open().await;
        store.refresh(now(), &|_, _| {}).await.expect("refreshed");
        assert_eq!((store.head().await.expect("a head"), derived(&store).await), (head.clone(), before.clone()));
    }
    let other = Place::new(dialect).await;
    restore(&backup, &other.address, None, &|_, _| {}).await.expect("restored");
    let store = other.open().await;
    store.refresh(now(), &|_, _| {}).await.expect("refreshed");
    assert_eq!(derived(&store).await, before);
    let again = restore(&copy, &other.address, None, &|_, _| {}).await;
    assert!(matches!(again, Err(StoreError::Exists(_) | StoreError::NotOurs { .. })), "{again:?}");
}

async fn a_damaged_copy_changes_nothing(dialect: Dialect) {
    let place = Place::new(dialect).await;
    let store = place.open().await;
    some(&store).await;
    let copy = place.file("log.jsonl");
    store.copy(&copy, &|_, _| {}).await.expect("a copy");
    let whole = std::fs::read_to_string(&copy).expect("a copy");
    let lines: Vec<&str> = whole.lines().collect();
    let cut = lines[..lines.len() - 3].join("\n");
    let damages = [whole.replace("C-002", "C-003"), cut, whole[..whole.len() / 2].to_owned(), String::new()];
    for damaged in damages {
        std::fs::write(&copy, damaged).expect("written");
        let other = Place::new(dialect).await;
        let failed = restore(&copy, &other.address, None, &|_, _| {}).await;
        assert!(matches!(failed, Err(StoreError::BadBackup(_) | StoreError::File { .. })), "{failed:?}");
        match dialect {
            Dialect::Sqlite => assert_eq!(std::fs::read_dir(other.folder.path()).expect("a folder").count(), 0),
            Dialect::Postgres => assert_eq!(other.open().await.head().await.expect("a head").seq, 0),
        }
    }
    std::fs::write(&copy, &whole).expect("written");
    let other = Place::new(dialect).await;
    let expected = restore(&copy, &other.address, Some(&"0f".repeat(32)), &|_, _| {}).await;
    assert!(expected.is_err_and(|error| error.to_string().contains("0f0f")), "another hash is expected");
}

async fn each_earlier_version_is_brought_up(dialect: Dialect) {
    for version in 0..SCHEMA {
        let place = Place::new(dialect).await;
        let store = Store::open_as_version(&place.address, version).await.expect("an earlier store");
        if version > 0 {
            // What an earlier program wrote: the log, and since version 3 the lists as they are now.
            let written = Place::new(dialect).await;
            let other = written.open().await;
            some(&other).await;
            move_log(&other, &store).await;
            if version >= 3 {
                move_lists(&other, &store, version).await;
            }
        }
        store.close().await;
        let store = place.open().await;
        assert_eq!(lists(&store).await.len(), if version > 0 { 4 } else { 0 }, "from version {version}");
        if version >= 3 {
            let written = Place::with_store(dialect).await;
            some(&written.0).await;
            assert_eq!(derived(&store).await, derived(&written.0).await, "from version {version}");
        }
        is_clean(&store).await;
    }
}

async fn move_log(from: &Store, to: &Store) {
    move_rows(from, to, &[("entry", "*"), ("aside", "*"), ("head", "*")]).await;
}

/// As version 3 has them; since version 5 what an entry tells lies beside the things that it bears upon.
async fn move_lists(from: &Store, to: &Store, version: i64) {
    let about = if version >= 5 { "*" } else { "thing, seq" };
    move_rows(from, to, &[("about", about), ("link", "*"), ("rack", "*"), ("word", "*"), ("kit", "*")]).await;
}

async fn move_rows(from: &Store, to: &Store, tables: &[(&str, &str)]) {
    for (table, columns) in tables {
        let rows = sqlx::query(&format!("SELECT {columns} FROM {table}")).fetch_all(from.pool()).await.expect("rows");
        to.pool().execute(format!("DELETE FROM {table}").as_str()).await.expect("emptied");
        for row in rows {
            copy_row(table, &row, to).await;
        }
    }
}

async fn copy_row(table: &str, row: &sqlx::any::AnyRow, to: &Store) {
    use sqlx::{Row as _, ValueRef as _};
    let raw = |at: usize| row.try_get_raw(at).expect("a value");
    // A database that is told no kind takes what is empty for a text.
    let told: Vec<usize> = (0..row.len()).filter(|at| !raw(*at).is_null()).collect();
    let places: Vec<String> = (0..row.len())
        .map(|at| told.binary_search(&at).map_or_else(|_| "NULL".to_owned(), |place| format!("${}", place + 1)))
        .collect();
    let sql = format!("INSERT INTO {table} VALUES ({})", places.join(","));
    let query = told.iter().fold(sqlx::query(&sql), |query, at| {
        let kind = raw(*at).type_info().into_owned();
        match sqlx::TypeInfo::name(&kind) {
            "BIGINT" => query.bind(row.get::<i64, _>(*at)),
            "BLOB" => query.bind(row.get::<Vec<u8>, _>(*at)),
            _ => query.bind(row.get::<String, _>(*at)),
        }
    });
    query.execute(to.pool()).await.expect("a row");
}

async fn a_later_version_is_not_opened(dialect: Dialect) {
    let place = Place::new(dialect).await;
    let store = place.open().await;
    store.pool().execute("UPDATE linkwright SET version = 99").await.expect("set");
    store.close().await;
    let refused = Store::open(&place.address).await.expect_err("a later version");
    assert!(matches!(refused, StoreError::Newer { found: 99, known: SCHEMA }), "{refused}");
}

async fn what_does_not_fit_is_told(dialect: Dialect) {
    let (store, _place) = Place::with_store(dialect).await;
    some(&store).await;
    let mut batch = store.begin(now()).await.expect("a batch");
    let mut other = noted(draft("c-6", vec![], Event::Cleaned), "one text", "p-anna");
    other.asides[0].content = b"another".to_vec();
    for draft in [
        draft("", vec![], Event::Cleaned),
        draft("c\u{0}", vec![], Event::Cleaned),
        draft("c-6", vec![], Event::Corrected { entry: 77, with: None }),
        other,
    ] {
        let told = batch.push(draft).await.expect_err("it does not fit");
        assert!(matches!(told, StoreError::Unfit(_)), "{told}");
    }
    assert_eq!(batch.commit().await.expect("nothing new").seq, 5);
    let history = store.history(id(1, 0)).await.expect("a history");
    assert_eq!(effective(history).len(), 2);
}
