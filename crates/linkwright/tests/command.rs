//! The command line as a user meets it: what it prints, what it writes, how it ends.

mod common;

use common::{Folder, err, linkwright, out, repository};
use serde_json::Value;

fn json(arguments: &[&str]) -> Value {
    serde_json::from_str(&out(&linkwright(arguments))).expect("one JSON object")
}

const FOUR_CLIPS: &str = "validation/contract/lead-four-clips.toml";

fn contract(name: &str) -> String {
    std::fs::read_to_string(repository().join(format!("validation/contract/{name}.toml")))
        .expect("a rig of the contract")
}

/// The belay of the contract with one connector of the given closed rating at the belay.
fn factor_two_with(closed_kn: f64) -> String {
    format!(
        "{}\n[[connector]]\nname = \"pear\"\nat = \"belay\"\nclosed_kn = {closed_kn}\n",
        contract("factor-two-elastic")
    )
}

#[test]
fn the_json_has_every_key_of_the_contract() {
    let answer = json(&["check", FOUR_CLIPS, "--json"]);
    let has = |value: &Value, keys: &[&str]| {
        for key in keys {
            assert!(value.get(key).is_some(), "{key} in {value}");
        }
    };
    has(&answer, &["title", "cases", "links", "cautions"]);
    let case = &answer["cases"][0];
    has(case, &["name", "points", "legs", "lines", "persons"]);
    has(&case["points"][0], &["name", "peak_kn", "direction"]);
    has(&case["lines"][0], &["of", "segments"]);
    has(&case["lines"][0]["segments"][0], &["from", "to", "peak_kn"]);
    has(&case["persons"][0], &["name", "peak_kn", "lowest_m", "highest_m"]);
    let link = &answer["links"][0];
    has(link, &["link", "kind", "position", "how", "bears_kn", "sees_kn", "margin", "finding", "because"]);
    has(&link["because"][0], &["code", "text", "source"]);
    assert!(answer["cautions"].as_array().expect("a list").len() >= 4);
    assert_eq!(case["name"], "as typed");
}

#[test]
fn the_exit_status_says_what_was_found() {
    let folder = Folder::new("status");
    let strong = folder.write("strong.toml", &factor_two_with(22.0));
    let weak = folder.write("weak.toml", &factor_two_with(8.0));
    let faulty = folder.write("faulty.toml", "title = 3\n");
    let statuses = [&strong, &weak, &faulty].map(|path| linkwright(&["check", path]).status.code());
    assert_eq!(statuses, [Some(0), Some(1), Some(2)]);
}

#[test]
fn a_policy_of_ones_own_decides_what_counts() {
    let folder = Folder::new("policy");
    let rig = factor_two_with(22.0) + "open_kn = 7\nlock = \"none\"\n";
    let rig = folder.write("rig.toml", &rig);
    let policy = folder.write("policy.toml", "counts_for_exit = [\"gate-open\"]\n");
    assert_eq!(linkwright(&["check", &rig]).status.code(), Some(0));
    assert_eq!(linkwright(&["check", &rig, "--policy", &policy]).status.code(), Some(1));
    let wrong = folder.write("wrong.toml", "margin_intended = 0.5\n");
    let output = linkwright(&["check", &rig, "--policy", &wrong]);
    assert_eq!(output.status.code(), Some(2));
    assert!(err(&output).contains("wrong.toml:1:19"), "{}", err(&output));
}

#[test]
fn a_fault_names_file_line_column_and_what_would_be_right_and_nothing_is_computed() {
    let folder = Folder::new("fault");
    let text = contract("factor-two-elastic").replace("mass_kg = 80", "mas_kg = 80");
    let path = folder.write("rig.toml", &text);
    let drawing = folder.path("rig.svg");
    let output = linkwright(&["check", &path, "--drawing", &drawing]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(out(&output), "");
    let told = err(&output);
    let line = text.lines().position(|line| line.starts_with("mas_kg")).expect("the line") + 1;
    // Lines may be wrapped; compare without white space.
    let squeezed: String = told.split_whitespace().collect();
    assert!(squeezed.contains(&format!("rig.toml:{line}:1:")), "{told}");
    assert!(told.contains("mass_kg"), "says what would be right: {told}");
    assert!(told.contains("mas_kg = 80"), "shows the place: {told}");
    assert_eq!(folder.names(), ["rig.toml"], "nothing was written");
}

#[test]
fn what_cannot_be_solved_says_what_and_how_to_mend_it() {
    let folder = Folder::new("unsolved");
    let text = contract("brake-slips").replace("dynamic_elongation_pct = 32.0", "dynamic_elongation_pct = 60.0");
    let path = folder.write("rig.toml", &text);
    let output = linkwright(&["check", &path]);
    assert_eq!(output.status.code(), Some(2));
    let told: String = err(&output).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("dynamic elongation cannot be met"), "{told}");
    assert!(told.contains("`dynamic_elongation_pct`"), "{told}");
}

#[test]
fn a_file_that_is_not_there_is_told_by_name() {
    let output = linkwright(&["check", "no-such-rig.toml"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(err(&output).contains("no-such-rig.toml"));
}

#[test]
fn the_drawing_is_written_whole_with_its_cautions() {
    let folder = Folder::new("drawing");
    let path = folder.path("four.svg");
    let output = linkwright(&["check", FOUR_CLIPS, "--drawing", &path]);
    assert_eq!(output.status.code(), Some(0));
    let svg = std::fs::read_to_string(&path).expect("the drawing");
    assert!(svg.starts_with("<svg") || svg.starts_with("<?xml"));
    assert!(svg.trim_end().ends_with("</svg>"));
    for part in ["Lead fall past four clips", "clip 4", "belayer", "qualified person"] {
        assert!(svg.contains(part), "{part}");
    }
    assert_eq!(folder.names(), ["four.svg"], "and nothing beside it");
}

#[test]
fn a_drawing_that_cannot_be_written_leaves_nothing_behind() {
    let folder = Folder::new("unwritable");
    let path = folder.path("missing/four.svg");
    let output = linkwright(&["check", FOUR_CLIPS, "--drawing", &path]);
    assert_eq!(output.status.code(), Some(2));
    assert!(err(&output).contains("cannot be written"));
    assert!(folder.names().is_empty());
}

#[test]
fn a_drawing_never_takes_the_place_of_a_rig_file() {
    let folder = Folder::new("overwrite");
    let text = contract("lead-four-clips");
    let path = folder.write("rig.toml", &text);
    let output = linkwright(&["check", &path, "--drawing", &path]);
    assert_eq!(output.status.code(), Some(2));
    assert!(err(&output).contains(".svg"), "{}", err(&output));
    assert_eq!(std::fs::read_to_string(&path).expect("the rig"), text);
    assert_eq!(linkwright(&["read", "<-> 24 kN", "--drawing", &path]).status.code(), Some(2));
    assert_eq!(std::fs::read_to_string(&path).expect("the rig"), text);
}

/// A fall to the ground comes before every margin, and says whether it is certain.
#[test]
fn a_fall_to_the_ground_stands_first() {
    let folder = Folder::new("ground");
    let report = |below: &str, slack: &str| {
        let path = folder.path(&format!("{below}-{slack}.toml"));
        let made = linkwright(&["new", "top-rope", &path, "--master-point", "14", "--below", below, "--slack", slack]);
        assert!(made.status.success(), "{}", err(&made));
        out(&linkwright(&["check", &path]))
    };
    let certain = report("12", "2");
    let first = |report: &str| report.lines().find(|line| line.contains("climber")).expect("a line").to_owned();
    assert!(first(&certain).starts_with("ON THE GROUND"), "{certain}");
    assert!(certain.find("ON THE GROUND") < certain.find("Weakest"), "{certain}");
    let clear = report("3", "0");
    assert!(!clear.contains("GROUND"), "{clear}");
    let unsure = out(&linkwright(&["check", "examples/lead-sea-cliff.toml"]));
    assert!(unsure.contains("THE GROUND IS IN REACH: leader"), "{unsure}");
    assert!(unsure.find("GROUND") < unsure.find("Weakest"), "{unsure}");
}

#[test]
fn people_get_bands_and_two_figures() {
    let report = out(&linkwright(&["check", FOUR_CLIPS]));
    let too_exact = report
        .split(|c: char| !(c.is_ascii_digit() || c == '.'))
        .find(|word| word.split_once('.').is_some_and(|(_, decimals)| decimals.trim_end_matches('.').len() > 2));
    assert_eq!(too_exact, None, "{report}");
    assert!(report.contains(" to "), "bands: {report}");
    assert!(report.contains("Cautions"));
    assert!(!report.to_lowercase().contains(" safe"), "nothing is ever called that: {report}");
}

#[test]
fn the_same_file_gives_the_same_bytes() {
    assert_eq!(out(&linkwright(&["check", FOUR_CLIPS, "--json"])), out(&linkwright(&["check", FOUR_CLIPS, "--json"])));
}
