//! Faulty rig files. Each file in `faults/` says in its first line what is wrong with it and where:
//! `# LINE:COLUMN code, LINE:COLUMN code`, and nothing else is.

use std::collections::BTreeSet;
use std::error::Error;
use std::path::{Path, PathBuf};

use rig::file::{FaultCode, Faults};

fn faulty_files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/faults");
    let entries = std::fs::read_dir(folder).expect("the faulty rigs are there");
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.expect("a readable folder").path()).collect();
    files.sort();
    files
}

fn faults_of(text: &str) -> Faults {
    rig::read(text, "rig.toml").expect_err("the file is faulty")
}

fn found(faults: &Faults) -> Vec<String> {
    let list = faults.list().iter();
    list.map(|fault| format!("{}:{} {}", fault.line, fault.column, fault.code.code())).collect()
}

#[test]
fn every_faulty_file_is_told_all_that_is_wrong_and_where() {
    for path in faulty_files() {
        let text = std::fs::read_to_string(&path).expect("a readable file");
        let expected = text.lines().next().and_then(|line| line.strip_prefix("# ")).expect("an expectation");
        let faults = faults_of(&text);
        assert_eq!(found(&faults).join(", "), expected, "{}\n{faults}", path.display());
        for fault in faults.list() {
            assert!(!fault.message.is_empty() && !fault.help.is_empty(), "{}: {fault:?}", path.display());
            assert!(text.is_char_boundary(fault.span.start) && text.is_char_boundary(fault.span.end), "{fault:?}");
        }
    }
}

#[test]
fn every_fault_has_a_file_of_its_name_that_brings_it_about() {
    let mut seen = BTreeSet::new();
    for path in faulty_files() {
        let text = std::fs::read_to_string(&path).expect("a readable file");
        let stem = path.file_stem().expect("a name").to_string_lossy().into_owned();
        let code = stem.trim_end_matches(|end: char| end.is_ascii_digit()).trim_end_matches('-');
        let faults = faults_of(&text);
        let named = faults.list().iter().find(|fault| fault.code.code() == code);
        seen.insert(named.unwrap_or_else(|| panic!("{stem} brings about {faults}")).code);
    }
    assert_eq!(seen, FaultCode::ALL.iter().copied().collect());
}

#[test]
fn codes_are_kebab_case_and_differ() {
    let codes: BTreeSet<&str> = FaultCode::ALL.iter().map(|code| code.code()).collect();
    assert_eq!(codes.len(), FaultCode::ALL.len());
    for code in codes {
        assert!(code.split('-').all(|word| !word.is_empty() && word.chars().all(|c| c.is_ascii_lowercase())), "{code}");
    }
}

#[test]
fn a_fault_reads_as_place_what_is_wrong_and_what_would_be_right() {
    let faults = faults_of("case = \"rest\"\nfrictoin = 0.2\n");
    let text = faults.to_string();
    assert!(text.starts_with("rig.toml:2:1: the file has no key `frictoin`; did you mean \"friction\"?"), "{text}");
    assert!(text.contains("until_s") && text.lines().count() == 1, "{text}");
    assert_eq!((faults.file_name(), faults.text()), ("rig.toml", "case = \"rest\"\nfrictoin = 0.2\n"));
    assert_eq!(&faults.text()[faults.list()[0].span.clone()], "frictoin");
    let as_error: &dyn Error = &faults;
    assert_eq!(as_error.to_string(), text);
}

/// The help of the only fault of a text.
fn help(text: &str) -> String {
    let faults = faults_of(text);
    assert_eq!(faults.list().len(), 1, "{faults}");
    faults.list()[0].help.clone()
}

#[test]
fn the_help_suggests_near_names_and_lists_what_is_allowed() {
    let anchor = "[[anchor]]\nname = \"master\"\nat_m = [0, 0, 0]\n";
    let connector = "[[connector]]\nname = \"pear\"\nat = \"master\"\n";
    let rig = format!("case = \"rest\"\n{anchor}{connector}");
    let class = help(&format!("{rig}class = \"D\"\n"));
    assert!(class.contains("B, H, K, A, T, Q, X"), "{class}");
    let shape = help(&format!("{rig}shape = \"ovale\"\n"));
    assert!(shape.contains("did you mean \"oval\"?") && shape.contains("pear, D, offset-D, oval"), "{shape}");
    let key = help(&format!("{rig}closed = 22\n"));
    assert!(key.contains("did you mean \"closed_kn\"?"), "{key}");
    let point = help(&rig.replace("at = \"master\"", "at = \"mastr\""));
    assert!(point.contains("did you mean \"master\"?"), "{point}");
    let mass = help("case = \"rest\"\n[[person]]\nname = \"a\"\nat_m = [0, 0, 0]\n");
    assert!(mass.contains("mass_kg") && mass.contains("kg."), "{mass}");
}

#[test]
fn control_characters_of_a_name_stay_out_of_the_report() {
    let faults = faults_of("case = \"rest\"\n[[connector]]\nname = \"a\\nb\\u001b[31m\"\nat = \"no\\twhere\"\n");
    let text = faults.to_string();
    assert_eq!(found(&faults), ["4:6 undefined-name"]);
    assert!(text.contains("no where") && !text.contains(char::is_control), "{text:?}");
}

#[test]
fn a_byte_order_mark_takes_no_column() {
    assert_eq!(found(&faults_of("\u{feff}case = \"rst\"\n")), ["1:8 unknown-word"]);
    assert_eq!(found(&faults_of("\u{feff}title = \"no case\"\n")), ["1:1 missing-key"]);
}

#[test]
fn a_thousand_faults_are_told_at_once() {
    let persons = "[[person]]\nname = \"same\"\nmass_kg = -1\nat_m = [0, 0, 0]\n".repeat(1000);
    // A negative mass each, and the same name in all but the first.
    assert_eq!(faults_of(&format!("case = \"fall\"\n{persons}")).list().len(), 1999);
}
