//! A school's round with its rack, as typed: entered, used, dropped, quarantined, inspected, lent, called back, corrected, kept.

mod common;

use common::Folder;
use serde_json::Value;
use sqlx::Executor as _;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io::Write;
use std::process::{Command, Output, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};

/// Each test on each database.
macro_rules! on_both {
    ($($name:ident),+ $(,)?) => {
        mod sqlite { $(#[test] fn $name() { super::$name(super::On::Sqlite); })+ }
        mod postgres { $(#[test] fn $name() { super::$name(super::On::Postgres); })+ }
    };
}

on_both!(
    forty_pieces_are_entered_by_one_command_and_one_day_of_use_puts_them_in_service,
    a_label_that_is_taken_refuses_all_of_them,
    a_dropped_piece_waits_until_an_inspection_clears_the_entry_by_name,
    a_slip_is_taken_back_and_what_was_there_is_there_again,
    a_piece_that_passes_takes_two_keys_and_a_remark_tells_its_point,
    what_is_due_is_listed_and_stands_in_a_calendar,
    a_kit_goes_out_and_comes_back_short_and_wet,
    an_incident_keeps_its_evidence_and_freezes_its_record,
    a_recall_reaches_pieces_whose_batch_cannot_be_read,
    a_recall_of_a_model_leaves_other_kinds_alone,
    what_is_exported_and_imported_is_the_same,
    a_sheet_at_fault_enters_nothing_and_a_map_is_remembered,
    a_backup_restores_chain_and_all_and_a_hash_tells_a_cut_tail,
    a_rig_takes_from_the_rack_what_its_file_leaves_out,
    a_person_who_was_erased_leaves_no_name_and_a_whole_log,
    who_may_not_sign_is_refused,
    a_divided_rope_hands_its_history_on,
    a_kit_takes_some_of_a_lot_and_comes_back_short_by_count,
    a_recall_by_model_reaches_its_pieces_and_those_of_no_known_model,
    a_fall_that_was_held_has_the_force_that_a_check_computed,
    a_name_in_a_remark_is_erased_and_the_remark_stays,
    kits_are_listed_page_by_page,
    what_is_due_is_shown_as_far_as_asked,
    lists_are_made_anew_from_the_log,
    shares_are_no_more_than_there_is,
    what_fits_is_told_by_the_makers_instructions,
    a_correction_is_an_entry_of_its_own_and_shows_what_stood_there_before,
    models_are_counted_and_a_recall_is_told_before_it_opens,
    a_row_of_the_policy_is_changed_by_itself_and_tells_since_when,
    a_new_sling_in_a_draw_and_a_worn_end_hand_on_what_they_should,
);

/// Where the stores of a test are.
#[derive(Debug, Clone, Copy, PartialEq)]
enum On {
    Sqlite,
    Postgres,
}

/// A folder for one test, and stores of its own.
struct Round {
    folder: Folder,
    on: On,
    databases: RefCell<BTreeMap<String, String>>,
}

impl Round {
    fn new(name: &str, on: On) -> Self {
        let folder = Folder::new(&format!("rack-{name}-{on:?}").to_lowercase());
        Self { folder, on, databases: RefCell::default() }
    }

    /// The address of the store of a name.
    fn store(&self, name: &str) -> String {
        match self.on {
            On::Sqlite => self.path(name),
            On::Postgres => self.databases.borrow_mut().entry(name.to_owned()).or_insert_with(database).clone(),
        }
    }

    fn path(&self, name: &str) -> String {
        self.folder.path(name)
    }

    fn run_on(&self, store: &str, day: &str, arguments: &[&str], keys: &str) -> Output {
        let mut child = Command::new(env!("CARGO_BIN_EXE_linkwright"))
            .args(arguments)
            .current_dir(self.folder.at())
            .env("LINKWRIGHT_STORE", self.store(store))
            .env("XDG_DATA_HOME", self.folder.at())
            .env("LINKWRIGHT_TODAY", day)
            .env_remove("LINKWRIGHT_WRITER")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let _ = child.stdin.take().expect("its input").write_all(keys.as_bytes());
        child.wait_with_output().expect("the program ends")
    }

    /// What a command prints; it has to succeed.
    fn says(&self, day: &str, arguments: &[&str]) -> String {
        let output = self.run_on("rack.db", day, arguments, "");
        let errors = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.code().is_some_and(|code| code < 2), "{arguments:?}: {errors}");
        String::from_utf8(output.stdout).expect("UTF-8")
    }

    fn json(&self, day: &str, arguments: &[&str]) -> Value {
        let arguments: Vec<_> = arguments.iter().copied().chain(["--json"]).collect();
        serde_json::from_str(&self.says(day, &arguments)).expect("one JSON object")
    }

    /// What a command complains of; it has to be refused.
    fn refuses(&self, day: &str, arguments: &[&str]) -> String {
        let output = self.run_on("rack.db", day, arguments, "");
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        String::from_utf8(output.stderr).expect("UTF-8")
    }

    /// Whether what is stored holds a word: the file itself, or all that the server has of the log.
    fn holds(&self, day: &str, word: &str) -> bool {
        let stored = match self.on {
            On::Sqlite => self.path("rack.db"),
            On::Postgres => {
                let copy = self.path("all-of-it.jsonl");
                let _ = std::fs::remove_file(&copy);
                self.says(day, &["export", &copy]);
                copy
            }
        };
        let bytes = std::fs::read(stored).expect("what is stored");
        bytes.windows(word.len()).any(|window| window == word.as_bytes())
    }

    fn standing(&self, day: &str, label: &str) -> String {
        let page = self.json(day, &["rack", "show", label]);
        page["standing"]["state"].as_str().expect("a state").to_owned()
    }

    fn write(&self, name: &str, text: &str) -> String {
        self.folder.write(name, text)
    }
}

/// A database of its own on the server that `scripts/with-postgres` starts.
fn database() -> String {
    static NUMBER: AtomicU32 = AtomicU32::new(0);
    let server = std::env::var("LINKWRIGHT_TEST_POSTGRES")
        .expect("a PostgreSQL server: run `scripts/with-postgres cargo test`, or ./test");
    let name = format!("rack_{}_{}", std::process::id(), NUMBER.fetch_add(1, Ordering::Relaxed));
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    runtime.block_on(async {
        sqlx::any::install_default_drivers();
        let mut admin = <sqlx::AnyConnection as sqlx::Connection>::connect(&server).await.expect("the server");
        admin.execute(format!("CREATE DATABASE {name}").as_str()).await.expect("a database");
    });
    server.replace("/postgres?", &format!("/{name}?"))
}

const MONDAY: &str = "2026-05-04";
const TUESDAY: &str = "2026-05-05";
const WEDNESDAY: &str = "2026-05-06";
/// A pull on a bolt through a tape and a connector of the rack.
const RIG: &str = "title = \"one\"\ncase = \"rest\"\n[sling.tape]\nstiffness_kn = 100\n[[anchor]]\nname = \"bolt\"\nat_m = [0, 0, 2]\n\
         [[joint]]\nname = \"master\"\nat_m = [0, 0, 1]\n[[leg]]\nfrom = \"bolt\"\nto = \"master\"\nof = \"tape\"\n\
         [[pull]]\nat = \"master\"\nforce_kn = [0, 0, -2]\n[[connector]]\nname = \"pear\"\npiece = \"C-014\"\nat = \"master\"\n";
const MARKING: &str = "EN 12275 H <-> 24 kN, open 8, cross 7 CE 0123 2024";

/// Forty connectors entered, inspected before first use, and used.
fn forty(name: &str, on: On) -> Round {
    let round = Round::new(name, on);
    let about = ["--gear", "connector", "--shape", "pear", "--lock", "screw", "--gate", "solid", "--marking", MARKING];
    let add = ["rack", "add", "C-001..C-040", "--maker", "Maker A", "--model", "Pear 24", "--site", "gear store"];
    round.says(MONDAY, &[&add[..], &about[..]].concat());
    round.says(MONDAY, &["inspect", "C-001..C-040", "--occasion", "before-first-use", "--passed"]);
    round.says(MONDAY, &["log", "used", "C-001..C-040", "--rappels", "4"]);
    round
}

fn entry(answer: &Value) -> String {
    answer["entries"][0].as_i64().expect("an entry").to_string()
}

fn forty_pieces_are_entered_by_one_command_and_one_day_of_use_puts_them_in_service(on: On) {
    let round = forty("enter", on);
    let page = round.json(MONDAY, &["rack", "list", "--limit", "100"]);
    assert_eq!(page["pieces"].as_array().expect("pieces").len(), 40);
    assert_eq!(round.standing(MONDAY, "C-017"), "in-service");
    let shown = round.says(MONDAY, &["rack", "show", "C-017"]);
    for part in ["24 kN", "rappels 4", "shape pear", "Cautions", "before first use"] {
        assert!(shown.contains(part), "{part} is not in\n{shown}");
    }
    let first = round.json(MONDAY, &["rack", "list", "--limit", "15"]);
    let after = first["after"].as_str().expect("more follow");
    let second = round.json(MONDAY, &["rack", "list", "--limit", "15", "--after", after]);
    assert_eq!((&first["pieces"][14]["label"], &second["pieces"][0]["label"]), (&"C-015".into(), &"C-016".into()));
}

fn a_label_that_is_taken_refuses_all_of_them(on: On) {
    let round = forty("taken", on);
    let complaint = round.refuses(MONDAY, &["rack", "add", "C-040..C-045", "--gear", "connector"]);
    assert!(complaint.contains("C-040 is taken"), "{complaint}");
    assert_eq!(round.json(MONDAY, &["rack", "list", "C-041"])["pieces"].as_array().map(Vec::len), Some(0));
}

fn a_dropped_piece_waits_until_an_inspection_clears_the_entry_by_name(on: On) {
    let round = forty("drop", on);
    let drop = round.json(TUESDAY, &["log", "dropped", "C-014", "--height", "12", "--onto", "rock"]);
    let quarantine = round.json(TUESDAY, &["log", "quarantined", "C-014"]);
    assert_eq!(round.standing(TUESDAY, "C-014"), "quarantined");
    round.says(TUESDAY, &["inspect", "C-014", "--occasion", "after-event", "--passed"]);
    assert_eq!(round.standing(TUESDAY, "C-014"), "quarantined", "nothing is cleared that is not named");
    let clears = format!("{},{}", entry(&drop), entry(&quarantine));
    round.says(TUESDAY, &["inspect", "C-014", "--occasion", "after-event", "--passed", "--clears", &clears]);
    assert_eq!(round.standing(TUESDAY, "C-014"), "quarantined", "of entries on one day the worst counts");
    assert_eq!(round.standing(WEDNESDAY, "C-014"), "in-service");
    round.says(WEDNESDAY, &["inspect", "C-014", "--defect", "edge=catches a thread"]);
    assert_eq!(round.standing(WEDNESDAY, "C-014"), "quarantined", "a defect quarantines at once");
    assert!(round.says(WEDNESDAY, &["rack", "show", "C-014"]).contains("catches a thread"));
}

fn a_slip_is_taken_back_and_what_was_there_is_there_again(on: On) {
    let round = forty("slip", on);
    let before = round.json(TUESDAY, &["rack", "show", "C-003"])["standing"].clone();
    let slip = round.json(TUESDAY, &["log", "withdrawn", "C-003", "--why", "slip"]);
    assert_eq!(round.standing(TUESDAY, "C-003"), "withdrawn");
    round.says(TUESDAY, &["log", "correct", &entry(&slip)]);
    assert_eq!(round.json(TUESDAY, &["rack", "show", "C-003"])["standing"], before);
    let complaint = round.refuses(TUESDAY, &["log", "correct", "9999"]);
    assert!(complaint.contains("no entry 9999"), "{complaint}");
}

fn a_piece_that_passes_takes_two_keys_and_a_remark_tells_its_point(on: On) {
    let round = forty("keys", on);
    let output =
        round.run_on("rack.db", TUESDAY, &["inspect", "C-001..C-005", "--json"], "p\n?\np\ns\n7d catches\nq\n");
    let answer: Value = serde_json::from_slice(&output.stdout).expect("one JSON object");
    let labels: Vec<_> =
        answer["answers"].as_array().expect("answers").iter().map(|one| &one["pieces"][0]["label"]).collect();
    assert_eq!(labels, ["C-001", "C-002", "C-004"]);
    assert_eq!(round.standing(TUESDAY, "C-001"), "in-service");
    assert_eq!(round.standing(TUESDAY, "C-004"), "quarantined");
    let asked = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(asked.contains("By fingertip"), "`?` says what to look for: {asked}");
}

fn what_is_due_is_listed_and_stands_in_a_calendar(on: On) {
    let round = forty("due", on);
    let later = "2029-01-01";
    let due = round.run_on("rack.db", later, &["due"], "");
    assert_eq!(due.status.code(), Some(1), "something is overdue");
    assert!(String::from_utf8_lossy(&due.stdout).contains("C-001..C-040"));
    let page = round.json(MONDAY, &["rack", "show", "C-001"]);
    let day = page["standing"]["inspect_by"].as_str().expect("a day").replace('-', "");
    let file = round.path("due.ics");
    round.says(MONDAY, &["due", "--within", "3000", "--ics", &file]);
    let calendar = std::fs::read_to_string(&file).expect("a calendar");
    assert!(calendar.starts_with("BEGIN:VCALENDAR\r\n") && calendar.ends_with("END:VCALENDAR\r\n"));
    assert!(calendar.contains(&format!("DTSTART;VALUE=DATE:{day}")), "{calendar}");
    assert!(calendar.lines().all(|line| line.len() <= 75));
}

fn a_kit_goes_out_and_comes_back_short_and_wet(on: On) {
    let round = forty("kit", on);
    round.says(MONDAY, &["people", "add", "Instructor One"]);
    round.says(MONDAY, &["kit", "set", "K-1", "C-001..C-010"]);
    round.says(MONDAY, &["log", "quarantined", "C-002"]);
    let complaint = round.refuses(MONDAY, &["kit", "out", "K-1", "--to", "Instructor One"]);
    assert!(complaint.contains("C-002"), "{complaint}");
    assert!(round.says(MONDAY, &["rack", "show", "C-002"]).contains("in kit K-1"));
    round.says(MONDAY, &["kit", "set", "K-1", "C-001,C-003..C-010"]);
    let taken_out = round.says(MONDAY, &["rack", "show", "C-002"]);
    assert!(!taken_out.contains("in kit K-1") && taken_out.contains("K-1, 9 pieces"), "{taken_out}");
    round.says(MONDAY, &["kit", "out", "K-1", "--to", "Instructor One", "--back", MONDAY]);
    assert_eq!(round.json(MONDAY, &["rack", "show", "C-001"])["holder"], "Instructor One");
    let late = round.run_on("rack.db", TUESDAY, &["kit", "list"], "");
    assert_eq!(late.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&late.stdout).contains("LATE"));
    let back = round.json(TUESDAY, &["kit", "back", "K-1", "--short", "C-004", "--wet", "C-005"]);
    assert_eq!((&back["short"], &back["wet"]), (&serde_json::json!(["C-004"]), &serde_json::json!(["C-005"])));
    assert_eq!(round.json(TUESDAY, &["rack", "show", "C-001"])["holder"], Value::Null);
    assert_eq!(
        round.json(TUESDAY, &["rack", "show", "C-004"])["holder"],
        "Instructor One",
        "what is missing is still out"
    );
}

fn an_incident_keeps_its_evidence_and_freezes_its_record(on: On) {
    let round = forty("incident", on);
    round.says(MONDAY, &["rack", "add", "R-01", "--gear", "rope", "--length-m", "60"]);
    round.says(MONDAY, &["log", "used", "R-01,C-007,C-008"]);
    let opened = round.json(MONDAY, &["incident", "open", "C-007", "--what", "gate found open"]);
    let case = entry(&opened);
    let with = opened["used_with"].as_array().expect("what was used with it");
    assert!(with.contains(&"R-01".into()) && with.contains(&"C-008".into()), "{with:?}");
    assert_eq!(round.standing(MONDAY, "C-007"), "quarantined");
    round.says(MONDAY, &["inspect", "C-007", "--passed", "--clears", &case]);
    assert_eq!(round.standing(MONDAY, "C-007"), "quarantined", "evidence stays evidence");
    let complaint = round.refuses(MONDAY, &["incident", "close", &case]);
    assert!(complaint.contains("C-007"), "{complaint}");
    round.says(MONDAY, &["incident", "settle", &case, "C-007", "inspected"]);
    let closed = round.json(TUESDAY, &["incident", "close", &case]);
    assert_eq!(closed["closed"], TUESDAY);
    assert!(closed["frozen"].as_str().expect("a frozen record").contains("gate found open"));
}

fn a_recall_reaches_pieces_whose_batch_cannot_be_read(on: On) {
    let round = forty("recall", on);
    let add = |label: &str, marking: &str| {
        round.says(MONDAY, &["rack", "add", label, "--gear", "connector", "--marking", marking])
    };
    add("D-1", "EN 12275 B <-> 22 kN, open 8, cross 7 batch 2231A");
    add("D-2", "EN 12275 B <-> 22 kN, open 8, cross 7 batch 9999Z");
    let recall = ["recall", "open", "--notice", "Maker A 2026-1", "--gear", "connector", "--batch", "2231A"];
    let opened = round.json(TUESDAY, &recall);
    let lines = opened["lines"].as_array().expect("lines");
    let meets = |label: &str| lines.iter().find(|line| line["label"] == label).map(|line| line["meets"].to_string());
    assert_eq!(meets("D-2"), None, "another batch is excluded");
    assert!(meets("D-1").expect("on the list").contains("meets"));
    assert!(meets("C-001").expect("on the list").contains("cannot be excluded"));
    let case = entry(&opened);
    let complaint = round.refuses(TUESDAY, &["recall", "settle", &case, "C-001..C-003", "inspected"]);
    assert!(complaint.contains("C-001..C-003") && complaint.contains("inspect"), "{complaint}");
    round.says(TUESDAY, &["recall", "settle", &case, "C-001..C-002", "withdrawn"]);
    assert_eq!(round.standing(TUESDAY, "C-002"), "withdrawn", "a case is closed by what was done");
    round.says(TUESDAY, &["recall", "settle", &case, "C-003", "destroyed"]);
    assert_eq!(round.json(TUESDAY, &["rack", "show", "C-003"])["standing"]["destroyed"], true);
    round.says(TUESDAY, &["recall", "settle", &case, "C-004..C-040", "not-concerned"]);
    let complaint = round.refuses(TUESDAY, &["recall", "close", &case]);
    assert!(complaint.contains("D-1") && !complaint.contains("C-001"), "{complaint}");
}

fn a_recall_of_a_model_leaves_other_kinds_alone(on: On) {
    let round = forty("recall-kind", on);
    round.says(MONDAY, &["rack", "add", "R-01", "--gear", "rope", "--length-m", "60"]);
    round.says(MONDAY, &["rack", "add", "X-01", "--gear", "connector"]);
    let opened = round.json(TUESDAY, &["recall", "open", "--notice", "Maker A 2026-2", "--model", "Pear 24"]);
    let lines: Vec<_> = opened["lines"].as_array().expect("lines").iter().map(|line| line["label"].clone()).collect();
    assert!(lines.contains(&"X-01".into()), "a connector of which nobody knows the model: {lines:?}");
    assert!(!lines.contains(&"R-01".into()), "{lines:?}");
    assert_eq!(round.standing(TUESDAY, "R-01"), "not-yet-in-service");
    let quarantined = round.says(TUESDAY, &["rack", "show", "C-001"]);
    assert!(!quarantined.contains("changes by itself"), "nothing leaves quarantine by itself: {quarantined}");
}

fn what_is_exported_and_imported_is_the_same(on: On) {
    let round = forty("sheet", on);
    round.says(
        MONDAY,
        &[
            "rack",
            "add",
            "R-01",
            "--gear",
            "rope",
            "--length-m",
            "59.5",
            "--diameter-mm",
            "9.8",
            "--serial",
            "A;\"1\", x",
        ],
    );
    for name in ["pieces.csv", "pieces.json"] {
        let (first, second) = (round.path(name), round.path(&format!("again-{name}")));
        round.says(MONDAY, &["export", &first]);
        let other = format!("other-{name}.db");
        assert!(round.run_on(&other, MONDAY, &["import", &first], "").status.success());
        assert!(round.run_on(&other, MONDAY, &["export", &second], "").status.success());
        let read = |path| std::fs::read_to_string(path).expect("an export");
        assert_eq!(read(&first), read(&second));
        assert!(read(&first).contains("59.5"));
    }
}

fn a_sheet_at_fault_enters_nothing_and_a_map_is_remembered(on: On) {
    let round = Round::new("import", on);
    let bad = round.write("bad.csv", "Nr,Art,made\nC-1,connector,2019\nC-2,carabine,19\n");
    let complaint = round.refuses(MONDAY, &["import", &bad, "--map", "Nr=label", "--map", "Art=gear"]);
    for part in ["bad.csv:3: Art:", "bad.csv:3: made:"] {
        assert!(complaint.contains(part), "{part} is not in\n{complaint}");
    }
    assert_eq!(round.json(MONDAY, &["rack", "list"])["pieces"].as_array().map(Vec::len), Some(0));
    let good = round.write("good.csv", "Nr,Art,made\nC-1,connector,2019\nC-2,rope,2019-05\n");
    let dry = round.json(MONDAY, &["import", &good, "--map", "Nr=label", "--map", "Art=gear", "--dry-run"]);
    assert_eq!(dry["dry_run"], true);
    assert_eq!(round.json(MONDAY, &["rack", "list"])["pieces"].as_array().map(Vec::len), Some(0));
    round.says(MONDAY, &["import", &good]);
    assert_eq!(round.json(MONDAY, &["rack", "list"])["pieces"].as_array().map(Vec::len), Some(2));
}

fn a_backup_restores_chain_and_all_and_a_hash_tells_a_cut_tail(on: On) {
    let round = forty("backup", on);
    let early = round.path("early.jsonl");
    round.says(MONDAY, &["backup", &round.path("early.backup")]);
    round.says(MONDAY, &["export", &early]);
    assert!(round.run_on("early.db", MONDAY, &["restore", &early], "").status.success());
    round.says(TUESDAY, &["log", "cleaned", "C-001"]);
    let hash = round.json(TUESDAY, &["verify"])["hash"].as_str().expect("a hash").to_owned();
    let log = round.path("all.jsonl");
    round.says(TUESDAY, &["export", &log]);
    assert!(round.run_on("back.db", TUESDAY, &["restore", &log, "--expect", &hash], "").status.success());
    let again: Value =
        serde_json::from_slice(&round.run_on("back.db", TUESDAY, &["verify", "--json"], "").stdout).expect("JSON");
    assert_eq!((&again["hash"], &again["faults"]), (&hash.clone().into(), &serde_json::json!([])));
    let cut = round.run_on("early.db", TUESDAY, &["verify", "--expect", &hash], "");
    assert_eq!(cut.status.code(), Some(1), "{}", String::from_utf8_lossy(&cut.stdout));
    let refused = round.run_on("rack.db", TUESDAY, &["restore", &log], "");
    assert_eq!(refused.status.code(), Some(2), "a store is never written over");
}

fn a_rig_takes_from_the_rack_what_its_file_leaves_out(on: On) {
    let round = forty("lend", on);
    let file = round.write("rig.toml", RIG);
    let store = round.store("rack.db");
    let shown = round.says(MONDAY, &["check", &file, "--store", &store]);
    assert!(shown.contains("24 kN"), "{shown}");
    round.says(MONDAY, &["log", "quarantined", "C-014"]);
    let complaint = round.refuses(MONDAY, &["check", &file, "--store", &store]);
    assert!(complaint.contains("C-014") && complaint.contains("quarantined"), "{complaint}");
}

fn a_person_who_was_erased_leaves_no_name_and_a_whole_log(on: On) {
    let round = forty("erase", on);
    round.says(MONDAY, &["people", "add", "Zebedia Unlikely"]);
    round.says(MONDAY, &["log", "handed-to", "C-001", "--person", "Zebedia Unlikely"]);
    round.says(MONDAY, &["people", "erase", "Zebedia Unlikely"]);
    assert!(!round.says(MONDAY, &["rack", "show", "C-001"]).contains("Zebedia"));
    assert_eq!(round.json(MONDAY, &["verify"])["faults"], serde_json::json!([]));
    assert!(!round.holds(MONDAY, "Zebedia"));
}

fn who_may_not_sign_is_refused(on: On) {
    let round = forty("rights", on);
    for name in ["Inspector One", "Helper Two"] {
        round.says(MONDAY, &["people", "add", name]);
    }
    round.says(MONDAY, &["people", "allow", "Inspector One", "inspect", "--until", "2026-12-31"]);
    let complaint = round.refuses(TUESDAY, &["inspect", "C-001", "--passed", "--as", "Helper Two"]);
    assert!(complaint.contains("Helper Two may not sign `inspect`"), "{complaint}");
    round.says(TUESDAY, &["inspect", "C-001", "--passed", "--as", "Inspector One"]);
    let complaint = round.refuses("2027-01-01", &["inspect", "C-001", "--passed", "--as", "Inspector One"]);
    assert!(complaint.contains("may not sign"), "{complaint}");
}

fn a_divided_rope_hands_its_history_on(on: On) {
    let round = Round::new("divide", on);
    round.says(MONDAY, &["rack", "add", "R-01", "--gear", "rope", "--length-m", "60"]);
    round.says(MONDAY, &["log", "used", "R-01", "--rappels", "3"]);
    round.says(TUESDAY, &["rack", "divide", "R-01", "--into", "R-01a=30", "--into", "R-01b=28", "--scrap", "R-01b"]);
    let page = round.json(TUESDAY, &["rack", "show", "R-01a"]);
    assert_eq!((&page["rappels"], &page["is"]["length_mm"]), (&3.into(), &30_000.into()));
    assert_eq!(round.standing(TUESDAY, "R-01b"), "withdrawn");
}

fn a_kit_takes_some_of_a_lot_and_comes_back_short_by_count(on: On) {
    let round = forty("lot", on);
    round.says(MONDAY, &["people", "add", "Instructor One"]);
    round.says(MONDAY, &["rack", "add", "N-1", "--gear", "connector", "--count", "20"]);
    let complaint = round.refuses(MONDAY, &["kit", "set", "K-1", "C-001..C-003,N-1"]);
    assert!(complaint.contains("how many"), "{complaint}");
    round.says(MONDAY, &["kit", "set", "K-1", "C-001..C-003,N-1=6"]);
    let complaint = round.refuses(MONDAY, &["kit", "set", "K-2", "N-1=15"]);
    assert!(complaint.contains("15 of N-1") && complaint.contains("14 are in no other kit"), "{complaint}");
    let complaint = round.refuses(MONDAY, &["kit", "set", "K-2", "C-003"]);
    assert!(complaint.contains("1 of C-003"), "{complaint}");
    round.says(MONDAY, &["kit", "set", "K-2", "N-1=14"]);
    round.says(MONDAY, &["kit", "set", "K-1", "C-001..C-003,N-1=6"]);
    round.says(MONDAY, &["kit", "out", "K-1", "--to", "Instructor One"]);
    let lot = round.json(MONDAY, &["rack", "show", "N-1"]);
    assert_eq!(lot["holder"], Value::Null, "the lot stays where it is");
    let parts = |lot: &Value| {
        let kits = lot["kits"].as_array().expect("kits").iter();
        kits.map(|kit| format!("{} {} {} {}", kit["kit"], kit["count"], kit["out"], kit["short"])).collect::<Vec<_>>()
    };
    assert_eq!(parts(&lot), ["\"K-1\" 6 6 0", "\"K-2\" 14 0 0"]);
    assert!(round.says(MONDAY, &["rack", "show", "N-1"]).contains("in kit K-1: 6 of 20, 6 out with Instructor One"));
    let complaint = round.refuses(TUESDAY, &["kit", "back", "K-1", "--short", "N-1=7"]);
    assert!(complaint.contains("7 of N-1"), "{complaint}");
    let back = round.json(TUESDAY, &["kit", "back", "K-1", "--short", "N-1=2"]);
    assert_eq!(back["short"], serde_json::json!(["N-1=2"]));
    round.says(TUESDAY, &["kit", "out", "K-1"]);
    assert_eq!(parts(&round.json(TUESDAY, &["rack", "show", "N-1"]))[0], "\"K-1\" 6 4 2", "four are left to go out");
    let back = round.json(WEDNESDAY, &["kit", "back", "K-1", "--short", "N-1=1"]);
    assert_eq!(back["short"], serde_json::json!(["N-1=3"]), "and one more is missing now");
    assert_eq!(parts(&round.json(WEDNESDAY, &["rack", "show", "N-1"]))[0], "\"K-1\" 6 0 3");
    assert_eq!(round.json(WEDNESDAY, &["verify"])["faults"], serde_json::json!([]));
}

fn a_recall_by_model_reaches_its_pieces_and_those_of_no_known_model(on: On) {
    let round = forty("model", on);
    round.says(MONDAY, &["rack", "add", "D-1", "--gear", "connector", "--maker", "Maker B", "--model", "Pear 24"]);
    round.says(MONDAY, &["rack", "add", "D-2", "--gear", "connector"]);
    let recall = ["recall", "open", "--notice", "Maker A 2026-2", "--gear", "connector", "--model"];
    let complaint = round.refuses(TUESDAY, &[&recall[..], &["Pear 24"]].concat());
    assert!(complaint.contains("Maker A Pear 24; Maker B Pear 24"), "{complaint}");
    let complaint = round.refuses(TUESDAY, &[&recall[..], &["Pear 23"]].concat());
    assert!(complaint.contains("no model is named Pear 23"), "{complaint}");
    let opened = round.json(TUESDAY, &[&recall[..], &["Pear 24", "--maker", "Maker A"]].concat());
    let lines = opened["lines"].as_array().expect("lines");
    let meets = |label: &str| lines.iter().find(|line| line["label"] == label).map(|line| line["meets"].to_string());
    assert!(meets("C-040").expect("on the list").contains("meets"));
    assert_eq!(meets("D-1"), None, "another maker's");
    assert!(meets("D-2").expect("on the list").contains("cannot be excluded"));
    assert!(opened["what"].as_str().expect("what").contains("Maker A Pear 24"), "{opened}");
    assert_eq!(round.standing(TUESDAY, "C-040"), "quarantined");
}

fn a_fall_that_was_held_has_the_force_that_a_check_computed(on: On) {
    let round = forty("fall", on);
    let file = round.write("rig.toml", RIG);
    let check = round.json(MONDAY, &["check", &file, "--store", &round.store("rack.db")]);
    let sees = check["links"].as_array().expect("links").iter().filter(|link| link["piece"] == "C-014");
    let sees = sees.map(|link| link["sees_kn"].as_f64().expect("a force")).fold(0.0, f64::max);
    assert!(sees >= 2.0, "the pull alone is 2 kN: {sees}");
    let told = round.write("check.json", &check.to_string());
    let fall = ["log", "fall-held", "--from-check", &told];
    round.says(TUESDAY, &[&fall[..], &["C-014"]].concat());
    let page = round.json(TUESDAY, &["rack", "show", "C-014"]);
    assert_eq!(page["falls"], 1);
    let force = page["hardest_fall_n"].as_f64().expect("a force") / 1000.0;
    assert!(force >= sees && force < sees + 0.001, "{force} kN, and the check said {sees}");
    let history = page["history"].as_array().expect("entries").last().expect("one")["record"].to_string();
    assert!(history.contains("one: pear"), "{history}");
    let complaint = round.refuses(TUESDAY, &[&fall[..], &["C-015"]].concat());
    assert!(complaint.contains("no link for C-015") && complaint.contains("pear"), "{complaint}");
    round.says(TUESDAY, &[&fall[..], &["C-015", "--link", "pear"]].concat());
    assert_eq!(round.json(TUESDAY, &["rack", "show", "C-015"])["hardest_fall_n"], page["hardest_fall_n"]);
    let complaint = round.refuses(TUESDAY, &["log", "fall-held", "C-014", "--from-check", &file]);
    assert!(complaint.contains("check --json"), "{complaint}");
}

fn a_name_in_a_remark_is_erased_and_the_remark_stays(on: On) {
    let round = forty("remark", on);
    round.says(MONDAY, &["people", "add", "Zebedia Unlikely"]);
    round.says(MONDAY, &["log", "cleaned", "C-001", "--note", "salt on it, zebedia unlikely found it; Zeb rinsed it"]);
    round.says(MONDAY, &["inspect", "C-002", "--watch", "corrosion=Zebedia Unlikely's eye"]);
    let erased = round.json(TUESDAY, &["people", "erase", "Zebedia Unlikely", "--also", "Zeb"]);
    assert_eq!((&erased["blanked"], &erased["left"]), (&2.into(), &serde_json::json!([])));
    let shown = round.says(TUESDAY, &["rack", "show", "C-001"]);
    assert!(shown.contains("salt on it, (erased) found it; (erased) rinsed it"), "{shown}");
    assert!(round.says(TUESDAY, &["rack", "show", "C-002"]).contains("(erased)'s eye"));
    for spelling in ["Zebedia", "zebedia", "Unlikely", "unlikely", "Zeb "] {
        assert!(!round.holds(TUESDAY, spelling), "a trace of {spelling}");
    }
    assert_eq!(round.json(TUESDAY, &["verify"])["faults"], serde_json::json!([]));
}

fn kits_are_listed_page_by_page(on: On) {
    let round = forty("kits", on);
    for number in [10, 2, 1] {
        round.says(MONDAY, &["kit", "set", &format!("K-{number}"), &format!("C-{number:03}")]);
    }
    let labels =
        |page: &Value| page["kits"].as_array().expect("kits").iter().map(|kit| kit["kit"].clone()).collect::<Vec<_>>();
    let page = round.json(MONDAY, &["kit", "list", "--limit", "2"]);
    assert_eq!(labels(&page), ["K-1", "K-2"]);
    let after = page["after"].as_str().expect("more follow");
    assert_eq!(labels(&round.json(MONDAY, &["kit", "list", "--after", after])), ["K-10"]);
    round.says(MONDAY, &["kit", "out", "K-2", "--back", MONDAY]);
    assert_eq!(labels(&round.json(TUESDAY, &["kit", "list", "--late"])), ["K-2"]);
    assert!(
        round.says(TUESDAY, &["kit", "list", "--limit", "1"]).contains("Late: 1"),
        "late ones are told on every page"
    );
}

fn what_is_due_is_shown_as_far_as_asked(on: On) {
    let round = forty("limit", on);
    let due = round.json("2029-01-01", &["due", "--limit", "10"]);
    assert_eq!(
        (&due["count"], &due["overdue"], due["pieces"].as_array().map(Vec::len)),
        (&40.into(), &40.into(), Some(10))
    );
    let shown = round.says("2029-01-01", &["due", "--limit", "10"]);
    assert!(shown.contains("Overdue (40): C-001..C-010, …"), "{shown}");
}

fn lists_are_made_anew_from_the_log(on: On) {
    let round = forty("anew", on);
    let before = round.json(MONDAY, &["rack", "list"]);
    assert_eq!(round.json(MONDAY, &["rack", "rebuild"])["pieces"], 40);
    assert_eq!(round.json(MONDAY, &["rack", "list"]), before);
}

fn a_new_sling_in_a_draw_and_a_worn_end_hand_on_what_they_should(on: On) {
    let round = Round::new("parts", on);
    round.says(MONDAY, &["rack", "add", "D-1", "--gear", "draw", "--made", "2020-03"]);
    round.says(MONDAY, &["rack", "add", "S-1", "--gear", "sling", "--made", "2026-01"]);
    round.says(MONDAY, &["log", "used", "D-1", "--falls", "1"]);
    round.says(TUESDAY, &["rack", "replace", "D-1", "sling", "--new", "S-1", "--made", "2026-01"]);
    assert_eq!(round.json(TUESDAY, &["rack", "show", "D-1"])["falls"], 1, "the rest of the draw goes on");
    assert_eq!(round.json(TUESDAY, &["rack", "show", "S-1"])["falls"], 0, "the sling held none");
    round.says(MONDAY, &["rack", "add", "R-1", "--gear", "rope", "--length-m", "60"]);
    round.says(MONDAY, &["log", "exposed", "R-1", "--to", "acid"]);
    round.says(TUESDAY, &["rack", "divide", "R-1", "--into", "R-1a=57.5", "--into", "R-1x=2.5", "--scrap", "R-1x"]);
    assert_eq!(round.standing(TUESDAY, "R-1"), "withdrawn", "the rope itself ends");
    assert_eq!(round.standing(TUESDAY, "R-1a"), round.standing(MONDAY, "R-1"), "what harmed it is inherited");
    assert_eq!(round.standing(TUESDAY, "R-1x"), "withdrawn");
}

fn shares_are_no_more_than_there_is(on: On) {
    let round = forty("shares", on);
    round.says(MONDAY, &["rack", "add", "R-1", "--gear", "rope", "--length-m", "60"]);
    round.says(MONDAY, &["rack", "add", "N-1", "--gear", "connector", "--count", "20"]);
    let refused = [
        (&["R-1", "--into", "R-1a=40", "--into", "R-1b=20.5"][..], "60.5 m"),
        (&["N-1", "--into", "N-2=x5", "--into", "N-3=x14"], "the shares are 19"),
        (&["N-1", "--into", "N-2", "--into", "N-3=x20"], "the shares are 20"),
        (&["C-001", "--into", "C-101"], "nothing that can be divided"),
    ];
    for (shares, why) in refused {
        let complaint = round.refuses(MONDAY, &[&["rack", "divide"], shares].concat());
        assert!(complaint.contains(why), "{complaint}");
    }
    round.says(MONDAY, &["rack", "divide", "R-1", "--into", "R-1a=40", "--into", "R-1b=20"]);
    round.says(MONDAY, &["rack", "divide", "N-1", "--into", "N-2=x5", "--into", "N-3=x15"]);
    assert_eq!(round.json(MONDAY, &["rack", "show", "N-3"])["is"]["count"], 15);
    round.refuses(MONDAY, &["rack", "divide", "R-1", "--into", "R-1c=1"]);
}

fn a_correction_is_an_entry_of_its_own_and_shows_what_stood_there_before(on: On) {
    let round = Round::new("correction", on);
    round.says(MONDAY, &["rack", "add", "C-1..C-2", "--gear", "connector", "--maker", "Mkaer A", "--marking", "H 24"]);
    round.says(TUESDAY, &["rack", "describe", "C-1", "--maker", "Maker A", "--serial", "A-7"]);
    let page = round.says(TUESDAY, &["rack", "show", "C-1"]);
    assert!(
        page.contains("maker: Mkaer A, since then Maker A") && page.contains("serial: not told, since then A-7"),
        "{page}"
    );
    assert_eq!(round.json(TUESDAY, &["rack", "show", "C-2"])["maker"], "Mkaer A", "the other stays as it was told");
    let used = entry(&round.json(TUESDAY, &["log", "used", "C-1", "--note", "on teh slab"]));
    round.says(TUESDAY, &["log", "correct", &used, "--remark", "on the slab", "--note", "a slip"]);
    let page = round.says(TUESDAY, &["rack", "show", "C-1"]);
    assert!(page.contains("on the slab") && page.contains("a slip"), "{page}");
    round.refuses(TUESDAY, &["rack", "describe", "C-1"]);
    round.refuses(TUESDAY, &["rack", "describe", "C-1..C-2", "--serial", "A-8"]);
    let complaint = round.refuses(TUESDAY, &["rack", "replace", "C-1", "sling"]);
    assert!(complaint.contains("no part that is replaced"), "{complaint}");
    assert!(round.says(TUESDAY, &["verify"]).contains("The log is whole"));
}

fn models_are_counted_and_a_recall_is_told_before_it_opens(on: On) {
    let round = Round::new("models", on);
    round.says(
        MONDAY,
        &["rack", "add", "C-1..C-3", "--gear", "connector", "--maker", "Maker A", "--model", "Pear", "--made", "2024"],
    );
    round.says(MONDAY, &["rack", "add", "R-1", "--gear", "rope"]);
    round.says(MONDAY, &["log", "withdrawn", "C-3", "--why", "worn"]);
    let models = round.json(MONDAY, &["rack", "models"]);
    let counted = |gear: &str| {
        let rows = models["models"].as_array().expect("rows");
        rows.iter()
            .find(|row| row["gear"] == gear)
            .map(|row| (row["count"].clone(), row["standings"]["withdrawn"].clone()))
    };
    assert_eq!(counted("connector"), Some((3.into(), 1.into())));
    assert_eq!(counted("rope"), Some((1.into(), Value::Null)));
    assert!(round.says(MONDAY, &["rack", "models", "Pear"]).contains("C-2"));
    round.refuses(MONDAY, &["rack", "models", "Paer"]);
    let recall = ["recall", "open", "--notice", "Notice 7", "--gear", "connector", "--made", "2024-01-01..2024-06-30"];
    let would = round.json(MONDAY, &[&recall[..], &["--dry-run"]].concat());
    assert_eq!((&would["surely"], &would["not_excluded"], &would["withdrawn"]), (&0.into(), &3.into(), &1.into()));
    assert_eq!(round.json(MONDAY, &["recall", "list"])["cases"], Value::Array(Vec::new()), "nothing was written");
}

fn a_row_of_the_policy_is_changed_by_itself_and_tells_since_when(on: On) {
    let round = Round::new("policy-rows", on);
    round.says(MONDAY, &["policy", "change", "rack.interval.any", "months=6", "--source", "a vote"]);
    round.says(TUESDAY, &["policy", "change", "margin_intended", "margin_intended=2.5"]);
    let policy = round.json(TUESDAY, &["policy", "show"]);
    let row = |key: &str| {
        let rules = policy["rules"].as_array().expect("rules");
        rules.iter().find(|rule| rule["key"] == key).cloned().unwrap_or_default()
    };
    assert_eq!((&row("rack.interval.any")["shown"], &row("margin_intended")["shown"]), (&"6".into(), &"2.5".into()));
    assert!(row("rack.interval.any")["since"].to_string().contains(MONDAY), "{policy}");
    assert!(row("margin_intended")["since"].to_string().contains(TUESDAY), "{policy}");
    assert!(row("rack.interval.any")["source"].to_string().contains("a vote"));
    assert_eq!(row("margin_in_use")["since"], "as the program has it");
    round.refuses(TUESDAY, &["policy", "change", "rack.interval.any", "months=0"]);
    round.refuses(TUESDAY, &["policy", "change", "rack.no.such", "months=6"]);
}

fn what_fits_is_told_by_the_makers_instructions(on: On) {
    let round = forty("fit", on);
    let model = "name = \"Tube\"\nmaker = \"Maker A\"\n[is]\ngear = \"belay-device\"\n\
        [[fits]]\nwith = \"rope\"\nmode = \"belay\"\ndiameter_um = [8700, 10500]\n";
    let file = round.write("tube.toml", model);
    round.says(MONDAY, &["rack", "model", &file]);
    round.says(MONDAY, &["rack", "add", "B-1", "--maker", "Maker A", "--model", "Tube"]);
    for (label, diameter) in [("R-1", "9.8"), ("R-2", "8")] {
        round.says(MONDAY, &["rack", "add", label, "--gear", "rope", "--diameter-mm", diameter]);
    }
    let fits =
        |other: &str, mode: &str| round.json(MONDAY, &["rack", "fit", "B-1", other, "--mode", mode])["fits"].clone();
    assert_eq!(
        (fits("R-1", "belay"), fits("R-2", "belay"), fits("R-1", "guide")),
        ("fit-yes".into(), "fit-no".into(), "fit-unknown".into())
    );
    let told = round.run_on("rack.db", MONDAY, &["rack", "fit", "B-1", "R-2", "--mode", "belay"], "");
    assert_eq!(told.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&told.stdout).contains("DOES NOT GO"));
    assert!(round.says(MONDAY, &["rack", "show", "B-1"]).contains("model Tube"), "the page names the model");
    let complaint = round.refuses(MONDAY, &["rack", "fit", "R-1", "B-1"]);
    assert!(complaint.contains("no known model"), "{complaint}");
}
