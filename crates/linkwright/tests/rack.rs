//! A school's round with its rack, as typed: entered, used, dropped, quarantined, inspected, lent, called back, corrected, kept.

mod common;

use common::Folder;
use serde_json::Value;
use std::io::Write;
use std::process::{Command, Output, Stdio};

/// A folder with a store of its own for one test.
struct Round(Folder);

impl Round {
    fn new(name: &str) -> Self {
        Self(Folder::new(&format!("rack-{name}")))
    }

    fn path(&self, name: &str) -> String {
        self.0.path(name)
    }

    fn run_on(&self, store: &str, day: &str, arguments: &[&str], keys: &str) -> Output {
        let mut child = Command::new(env!("CARGO_BIN_EXE_linkwright"))
            .args(arguments)
            .current_dir(self.0.at())
            .env("LINKWRIGHT_STORE", self.path(store))
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

    fn standing(&self, day: &str, label: &str) -> String {
        let page = self.json(day, &["rack", "show", label]);
        page["standing"]["state"].as_str().expect("a state").to_owned()
    }

    fn write(&self, name: &str, text: &str) -> String {
        self.0.write(name, text)
    }
}

const MONDAY: &str = "2026-05-04";
const TUESDAY: &str = "2026-05-05";
const WEDNESDAY: &str = "2026-05-06";
const MARKING: &str = "EN 12275 H <-> 24 kN, open 8, cross 7 CE 0123 2024";

/// Forty connectors entered, inspected before first use, and used.
fn forty(name: &str) -> Round {
    let round = Round::new(name);
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

#[test]
fn forty_pieces_are_entered_by_one_command_and_one_day_of_use_puts_them_in_service() {
    let round = forty("enter");
    let page = round.json(MONDAY, &["rack", "list", "--limit", "100"]);
    assert_eq!(page["pieces"].as_array().expect("pieces").len(), 40);
    assert_eq!(round.standing(MONDAY, "C-017"), "in-service");
    let shown = round.says(MONDAY, &["rack", "show", "C-017"]);
    for part in ["24 kN", "rappels 4", "shape pear", "Cautions", "before-first-use"] {
        assert!(shown.contains(part), "{part} is not in\n{shown}");
    }
    let first = round.json(MONDAY, &["rack", "list", "--limit", "15"]);
    let after = first["after"].as_str().expect("more follow");
    let second = round.json(MONDAY, &["rack", "list", "--limit", "15", "--after", after]);
    assert_eq!((&first["pieces"][14]["label"], &second["pieces"][0]["label"]), (&"C-015".into(), &"C-016".into()));
}

#[test]
fn a_label_that_is_taken_refuses_all_of_them() {
    let round = forty("taken");
    let complaint = round.refuses(MONDAY, &["rack", "add", "C-040..C-045", "--gear", "connector"]);
    assert!(complaint.contains("C-040 is taken"), "{complaint}");
    assert_eq!(round.json(MONDAY, &["rack", "list", "C-041"])["pieces"].as_array().map(Vec::len), Some(0));
}

#[test]
fn a_dropped_piece_waits_until_an_inspection_clears_the_entry_by_name() {
    let round = forty("drop");
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

#[test]
fn a_slip_is_taken_back_and_what_was_there_is_there_again() {
    let round = forty("slip");
    let before = round.json(TUESDAY, &["rack", "show", "C-003"])["standing"].clone();
    let slip = round.json(TUESDAY, &["log", "withdrawn", "C-003", "--why", "slip"]);
    assert_eq!(round.standing(TUESDAY, "C-003"), "withdrawn");
    round.says(TUESDAY, &["log", "correct", &entry(&slip)]);
    assert_eq!(round.json(TUESDAY, &["rack", "show", "C-003"])["standing"], before);
    let complaint = round.refuses(TUESDAY, &["log", "correct", "9999"]);
    assert!(complaint.contains("no entry 9999"), "{complaint}");
}

#[test]
fn a_piece_that_passes_takes_two_keys_and_a_remark_tells_its_point() {
    let round = forty("keys");
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

#[test]
fn what_is_due_is_listed_and_stands_in_a_calendar() {
    let round = forty("due");
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

#[test]
fn a_kit_goes_out_and_comes_back_short_and_wet() {
    let round = forty("kit");
    round.says(MONDAY, &["people", "add", "Instructor One"]);
    round.says(MONDAY, &["kit", "set", "K-1", "C-001..C-010"]);
    round.says(MONDAY, &["log", "quarantined", "C-002"]);
    let complaint = round.refuses(MONDAY, &["kit", "out", "K-1", "--to", "Instructor One"]);
    assert!(complaint.contains("C-002"), "{complaint}");
    round.says(MONDAY, &["kit", "set", "K-1", "C-001,C-003..C-010"]);
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

#[test]
fn an_incident_keeps_its_evidence_and_freezes_its_record() {
    let round = forty("incident");
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

#[test]
fn a_recall_reaches_pieces_whose_batch_cannot_be_read() {
    let round = forty("recall");
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
    round.says(TUESDAY, &["recall", "settle", &case, "C-001..C-040", "not-concerned"]);
    let complaint = round.refuses(TUESDAY, &["recall", "close", &case]);
    assert!(complaint.contains("D-1") && !complaint.contains("C-001"), "{complaint}");
}

#[test]
fn what_is_exported_and_imported_is_the_same() {
    let round = forty("sheet");
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

#[test]
fn a_sheet_at_fault_enters_nothing_and_a_map_is_remembered() {
    let round = Round::new("import");
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

#[test]
fn a_backup_restores_chain_and_all_and_a_hash_tells_a_cut_tail() {
    let round = forty("backup");
    let early = round.path("early.db");
    round.says(MONDAY, &["backup", &early]);
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

#[test]
fn a_rig_takes_from_the_rack_what_its_file_leaves_out() {
    let round = forty("lend");
    let rig = "title = \"one\"\ncase = \"rest\"\n[sling.tape]\nstiffness_kn = 100\n[[anchor]]\nname = \"bolt\"\nat_m = [0, 0, 2]\n\
         [[joint]]\nname = \"master\"\nat_m = [0, 0, 1]\n[[leg]]\nfrom = \"bolt\"\nto = \"master\"\nof = \"tape\"\n\
         [[pull]]\nat = \"master\"\nforce_kn = [0, 0, -2]\n[[connector]]\nname = \"pear\"\npiece = \"C-014\"\nat = \"master\"\n";
    let file = round.write("rig.toml", rig);
    let store = round.path("rack.db");
    let shown = round.says(MONDAY, &["check", &file, "--store", &store]);
    assert!(shown.contains("24 kN"), "{shown}");
    round.says(MONDAY, &["log", "quarantined", "C-014"]);
    let complaint = round.refuses(MONDAY, &["check", &file, "--store", &store]);
    assert!(complaint.contains("C-014") && complaint.contains("quarantined"), "{complaint}");
}

#[test]
fn a_person_who_was_erased_leaves_no_name_and_a_whole_log() {
    let round = forty("erase");
    round.says(MONDAY, &["people", "add", "Zebedia Unlikely"]);
    round.says(MONDAY, &["log", "handed-to", "C-001", "--person", "Zebedia Unlikely"]);
    round.says(MONDAY, &["people", "erase", "Zebedia Unlikely"]);
    assert!(!round.says(MONDAY, &["rack", "show", "C-001"]).contains("Zebedia"));
    assert_eq!(round.json(MONDAY, &["verify"])["faults"], serde_json::json!([]));
    let bytes = std::fs::read(round.path("rack.db")).expect("the store");
    assert!(!bytes.windows(7).any(|window| window == b"Zebedia"));
}

#[test]
fn who_may_not_sign_is_refused() {
    let round = forty("rights");
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

#[test]
fn a_divided_rope_hands_its_history_on() {
    let round = Round::new("divide");
    round.says(MONDAY, &["rack", "add", "R-01", "--gear", "rope", "--length-m", "60"]);
    round.says(MONDAY, &["log", "used", "R-01", "--rappels", "3"]);
    round.says(TUESDAY, &["rack", "divide", "R-01", "--into", "R-01a=30", "--into", "R-01b=28", "--scrap", "R-01b"]);
    let page = round.json(TUESDAY, &["rack", "show", "R-01a"]);
    assert_eq!((&page["rappels"], &page["is"]["length_mm"]), (&3.into(), &30_000.into()));
    assert_eq!(round.standing(TUESDAY, "R-01b"), "withdrawn");
}
