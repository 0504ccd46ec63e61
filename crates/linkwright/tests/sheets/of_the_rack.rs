//! Sheets of what the rack knows: inspection records, incidents and recalls, pack lists.

use crate::common::repository;
use crate::press::{Press, is_sound, looks_as_kept, nothing_is_cut};
use std::fs;

/// A school's rack, all of it invented.
const RACK: &str = "\
label,gear,maker,model,serial,made,bought,first-use,mass-g,site
C-001,connector,Maker A,Model X,A-101,2021-05,2021-06-01,2021-07-01,82,Boat house
C-002,connector,Maker A,Model X,A-102,2021-05,2021-06-01,2021-07-01,82,Boat house
C-003,connector,Maker B,Model Y,B-7,2022,2022-03-01,,95,Quarry
S-001,sling,Maker B,Model Z,,2024,,,,Boat house
";

fn school(name: &str) -> Press {
    let folder = Press::new(name);
    folder.0.write("rack.csv", RACK);
    folder.says(&["import", "rack.csv", "--on", "2026-01-10"]);
    folder.says(&["people", "add", "Ines Example"]);
    let inspect = |labels, on| folder.says(&["inspect", labels, "--passed", "--on", on, "--as", "Ines Example"]);
    inspect("C-001..C-003", "2026-02-01");
    let nick = "body=a nick at the spine, no edge felt";
    folder.says(&["inspect", "C-001", "--watch", nick, "--on", "2026-09-01", "--as", "Ines Example"]);
    folder.says(&["log", "used", "C-001,C-002", "--duty", "top-rope", "--lowers", "12", "--on", "2026-09-02"]);
    folder
}

/// The hash that a sheet bears, for `verify --expect`.
fn hash(words: &str) -> String {
    let hash = words.split("verify --expect ").nth(1).and_then(|rest| rest.split_whitespace().next());
    hash.expect("how to check the sheet").to_owned()
}

fn says_all(words: &str, all: &[&str]) {
    for one in all {
        assert!(words.contains(one), "{one}\n{words}");
    }
}

#[test]
fn the_record_of_a_piece_tells_all_that_is_asked_of_it_and_can_be_checked() {
    let folder = school("record-one");
    folder.printed(&["inspection-record", "C-001"]);
    is_sound(&folder);
    nothing_is_cut(&folder);
    let words = folder.words();
    let known = ["connector", "Maker A", "Model X", "A-101", "2021-05", "2021-06-01", "2021-07-01", "Boat house"];
    says_all(&words, &known);
    says_all(&words, &["supplier not told", "who has it not told", "82", "Standing: watch"]);
    says_all(&words, &["2026-02-01 periodic (connector-1) all points passed Ines Example"]);
    says_all(&words, &["2026-09-01", "watch: body: a nick at the spine, no edge felt", "top-rope, 12 lowers"]);
    says_all(&words, &["EN 365", "from memory", "signature"]);
    let hash = hash(&words);
    assert_eq!(hash.len(), 64);
    assert!(folder.says(&["verify", "--expect", &hash]).contains("The expected hash is that of entry"));
    let other = hash.chars().rev().collect::<String>();
    assert!(folder.says(&["verify", "--expect", &other]).contains("NOT WHOLE"));
    looks_as_kept(&folder, 1, "inspection-record", 1.5);
}

#[test]
fn the_record_of_many_has_the_latest_inspection_of_each() {
    let folder = school("record-many");
    folder.printed(&["inspection-record", "C-001..C-003", "S-001"]);
    is_sound(&folder);
    nothing_is_cut(&folder);
    let words = folder.words();
    says_all(&words, &["Inspection record of 4 pieces", "C-001", "C-002", "C-003", "S-001", "none on record"]);
    assert_eq!(words.matches("2026-02-01").count(), 2, "of C-001 the later one alone: {words}");
    assert_eq!(words.matches("2026-09-01").count(), 1, "{words}");
    looks_as_kept(&folder, 1, "inspection-records", 1.5);
}

#[test]
fn the_record_takes_what_a_list_would_show() {
    let folder = school("record-filter");
    folder.printed(&["inspection-record", "--gear", "connector", "--site", "Boat house"]);
    let words = folder.words();
    says_all(&words, &["of 2 pieces", "C-001", "C-002"]);
    assert!(!words.contains("C-003") && !words.contains("S-001"), "{words}");
    fs::remove_file(folder.at("sheet.pdf")).expect("removed");
    assert!(folder.refuses(&["inspection-record", "--site", "Nowhere"]).contains("no piece meets"));
    assert!(folder.refuses(&["inspection-record", "--gear", "gizmo"]).contains("connector"));
    assert!(folder.refuses(&["inspection-record", "C-099"]).contains("no piece has the label C-099"));
}

/// The number of the case that a command opened.
fn opened(folder: &Press, arguments: &[&str]) -> String {
    let said = folder.says(&[arguments, &["--json"]].concat());
    let said: serde_json::Value = serde_json::from_str(&said).expect("one JSON object");
    said["case"].to_string()
}

#[test]
fn the_record_of_an_incident_is_frozen_when_it_is_closed() {
    let folder = school("incident");
    let what = "Gate found open on the master point after lowering. Nobody hurt.";
    let case = opened(&folder, &["incident", "open", "C-001", "--what", what, "--person", "Ines Example"]);
    let sheet = ["incident-record", case.as_str()];
    folder.printed(&sheet);
    let words = folder.words();
    says_all(&words, &[what, "still open", "Ines Example", "used together with C-002", "quarantined"]);
    folder.says(&["incident", "settle", &case, "C-001", "withdrawn"]);
    folder.says(&["incident", "close", &case]);
    let frozen = folder.printed(&sheet);
    is_sound(&folder);
    nothing_is_cut(&folder);
    looks_as_kept(&folder, 1, "incident-record", 1.5);
    let words = folder.words();
    says_all(&words, &["As frozen when it was closed", "withdrawn, entry", "connector, Maker A, Model X"]);
    assert!(folder.says(&["verify", "--expect", &hash(&words)]).contains("The expected hash is that of entry"));
    folder.says(&["rack", "describe", "C-001", "--gear", "sling", "--site", "Elsewhere"]);
    folder.says(&["log", "used", "C-001,C-003", "--on", "2026-09-01"]);
    assert_eq!(folder.printed(&sheet), frozen, "what is written later changes nothing");
}

#[test]
fn a_recall_list_names_what_meets_it_and_what_cannot_be_excluded() {
    let folder = school("recall");
    let recall =
        ["recall", "open", "--notice", "Maker A, notice 7", "--gear", "connector", "--serials", "A-100..A-101"];
    let case = opened(&folder, &recall);
    folder.printed(&["recall-list", &case]);
    is_sound(&folder);
    nothing_is_cut(&folder);
    let words = folder.words();
    says_all(&words, &["Maker A, notice 7", "C-001", "meets the recall", "cannot be excluded"]);
    assert!(!words.contains("C-002"), "{words}");
    looks_as_kept(&folder, 1, "recall-list", 1.5);
    fs::remove_file(folder.at("sheet.pdf")).expect("removed");
    let refused = folder.refuses(&["incident-record", &case]);
    says_all(&refused, &["opened a recall, no incident", &format!("sheet recall-list {case}")]);
    assert!(folder.refuses(&["recall-list", "1"]).contains("opened no incident and no recall"));
}

#[test]
fn a_pack_list_of_a_kit_has_boxes_and_says_which_mass_it_does_not_know() {
    let folder = school("pack");
    folder.says(&["kit", "set", "Bag 1", "C-001..C-003,S-001"]);
    folder.printed(&["pack-list", "--kit", "Bag 1", "--people", "2"]);
    is_sound(&folder);
    nothing_is_cut(&folder);
    let words = folder.words();
    says_all(&words, &["Pack list: Bag 1", "C-001", "S-001", "82 g", "95 g", "connector 259 g", "sling not told"]);
    says_all(&words, &["in all at least 259 g; not told of 1", "each of 2 at least 130 g; not told of 1"]);
    looks_as_kept(&folder, 1, "pack-list", 1.5);
    fs::remove_file(folder.at("sheet.pdf")).expect("removed");
    assert!(folder.refuses(&["pack-list", "--kit", "Bag 2"]).contains("no kit has the label Bag 2"));
}

#[test]
fn a_pack_list_of_an_outing_tells_pieces_by_duty_and_what_is_short() {
    let folder = school("pack-outing");
    let example = repository().join("examples/outing-sea-cliff.toml").to_string_lossy().into_owned();
    folder.printed(&["pack-list", "--outing", &example]);
    is_sound(&folder);
    nothing_is_cut(&folder);
    let words = folder.words();
    says_all(
        &words,
        &["Top ropes and a rappel at the sea cliff", "2026-05-09, 6 people", "master points", "6 × W-01", "each of 6"],
    );
    looks_as_kept(&folder, 1, "pack-list-outing", 1.5);
    let short = folder.at("short.toml");
    fs::write(&short, "title = \"Two ropes\"\n[[need]]\nduty = \"rope\"\ntimes = 2\n").expect("written");
    folder.printed(&["pack-list", "--outing", &short.to_string_lossy()]);
    says_all(&folder.words(), &["Short: rope: 2 of 2 missing"]);
}

#[test]
fn sheets_of_the_rack_are_the_same_bytes_twice() {
    let folder = school("rack-same");
    folder.says(&["kit", "set", "Bag 1", "C-001..C-003"]);
    for sheet in [&["inspection-record", "C-001"][..], &["inspection-record"], &["pack-list", "--kit", "Bag 1"]] {
        assert_eq!(folder.printed(sheet), folder.printed(sheet), "{sheet:?}");
    }
}

#[test]
fn a_group_edits_a_copy_of_a_template() {
    let folder = school("edited");
    let copy = folder.template("inspection-record.typ");
    let own = copy.replace("= #data.title", "= Sea-cliff school: #data.title").replace("1.35, 2.2", "2, 1.55");
    assert_ne!(own, copy);
    folder.0.write("inspection-record.typ", &own);
    folder.printed(&["inspection-record", "C-001..C-003", "--template", "inspection-record.typ"]);
    is_sound(&folder);
    says_all(&folder.words(), &["Sea-cliff school: Inspection record of 3 pieces", "Cautions"]);
}
