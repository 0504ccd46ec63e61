//! `linkwright wear` as a user meets it. The photos are rendered ones: a pear, new and with a groove of known depth.

mod common;

use common::{linkwright, out, repository};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Output;

const FIRST: &str = "examples/wear-photos/pear-new.jpg";
const WORN: &str = "examples/wear-photos/pear-worn.jpg";
/// Depth that was rendered into the worn one, mm.
const TRUTH_MM: f64 = 0.57;
const RECORD: &str = "examples/belay-connectors.toml";

fn wear(arguments: &[&str]) -> Output {
    linkwright(&[&["wear"], arguments].concat())
}

/// What was complained of, without the white space that wrapping moves about.
fn squeezed(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).split_whitespace().collect()
}

fn json(arguments: &[&str]) -> Value {
    serde_json::from_str(&out(&wear(arguments))).expect("one JSON object")
}

/// A file to work with, gone afterwards.
struct Scratch(PathBuf);

impl Scratch {
    fn new(name: &str, text: &str) -> Self {
        let path = std::env::temp_dir().join(format!("linkwright-{}-{name}", std::process::id()));
        std::fs::write(&path, text).expect("a file to work with");
        Self(path)
    }

    fn path(&self) -> &str {
        self.0.to_str().expect("UTF-8")
    }

    fn text(&self) -> String {
        std::fs::read_to_string(&self.0).expect("the file")
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

/// Every output that someone may act on has the fingertip test and the cautions.
fn assert_cautions(text: &str) {
    assert!(text.contains("sharp edge with a fingertip") || text.contains("Feel for a sharp edge"), "{text}");
    assert!(text.contains("The maker's instructions, local rules and a qualified person come first."), "{text}");
}

#[test]
fn a_piece_of_the_rack_is_measured_against_its_own_first_photo() {
    let store = Scratch::new("first-photo.db", "");
    std::fs::remove_file(&store.0).expect("a name that is free");
    let run = |arguments: &[&str]| linkwright(&[arguments, &["--store", store.path()]].concat());
    assert!(run(&["rack", "add", "P-1", "--gear", "connector"]).status.success());
    let measure = ["wear", "measure", WORN, "--against", "P-1", "--bar-height-mm", "11.4"];
    let none = run(&measure);
    assert_eq!(none.status.code(), Some(2));
    assert!(squeezed(&none).contains("nophotowaskeptwithameasurementofP-1"), "{none:?}");
    let kept = run(&["log", "measured", "P-1", "--what", "groove", "--how", "photo", "--mm", "0", "--photo", FIRST]);
    assert!(kept.status.success(), "{kept:?}");
    let text = out(&run(&measure));
    let by_file = out(&wear(&["measure", WORN, "--against", FIRST, "--bar-height-mm", "11.4"]));
    assert_eq!(text.lines().next(), by_file.lines().next());
    assert!(text.starts_with("Groove: 0.57 mm"), "{text}");
    assert_cautions(&text);
}

#[test]
fn the_sheet_is_written_for_both_papers_and_no_other() {
    let file = Scratch::new("sheet.svg", "");
    for (paper, size) in
        [("A4", "width=\"297mm\" height=\"210mm\""), ("Letter", "width=\"279.4mm\" height=\"215.9mm\"")]
    {
        let output = wear(&["sheet", file.path(), "--paper", paper]);
        assert_eq!(output.status.code(), Some(0));
        assert!(out(&output).contains("100 mm"), "{}", out(&output));
        assert!(file.text().contains(size) && file.text().contains("sharp edge"));
    }
    let before = file.text();
    let output = wear(&["sheet", file.path(), "--paper", "A0"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(squeezed(&output).contains("papers:A4,Letter"));
    assert_eq!(file.text(), before, "nothing was written");
}

#[test]
fn a_groove_is_measured_with_an_interval_that_holds_what_was_rendered() {
    let arguments = ["measure", WORN, "--against", FIRST];
    let output = wear(&arguments);
    let text = out(&output);
    assert_cautions(&text);
    assert!(text.starts_with("Groove: "), "{text}");
    let answer = json(&[&arguments[..], &["--json"]].concat());
    let found = &answer["measured"];
    let figure = |key: &str| found[key].as_f64().expect("a number");
    assert!((figure("depth_mm") - TRUTH_MM).abs() < 0.15, "{found}");
    assert!(figure("low_mm") <= figure("depth_mm") && figure("depth_mm") <= figure("high_mm"));
    assert!(found["profile"].as_array().expect("a list").len() > 40);
    assert_eq!(answer["refused"], Value::Null);
    assert!(answer["fingertip"].as_str().expect("words").contains("fingertip"));
    let at_limit = figure("high_mm") >= answer["limit_mm"].as_f64().expect("a number");
    assert_eq!(output.status.code(), Some(i32::from(at_limit)));
}

#[test]
fn a_slim_bar_has_a_stricter_limit() {
    let answer = json(&["measure", WORN, "--against", FIRST, "--bar-mm", "8", "--json"]);
    assert_eq!(answer["limit_mm"].as_f64(), Some(0.8));
    let share = answer["measured"]["share_of_bar"].as_f64().expect("a share");
    assert!((share - answer["measured"]["depth_mm"].as_f64().expect("a depth") / 8.0).abs() < 1e-9);
}

#[test]
fn the_drawing_has_the_photo_both_outlines_and_the_depth() {
    let file = Scratch::new("worn.svg", "");
    let output = wear(&["measure", WORN, "--against", FIRST, "--drawing", file.path()]);
    assert!(out(&output).contains("The drawing is in"));
    let svg = file.text();
    assert_eq!(svg.matches("data:image/png;base64,").count(), 2, "the whole piece, and the deepest place");
    for words in ["outline now", "outline it is compared with", "Depth along the inside", "Feel for a sharp edge"] {
        assert!(svg.contains(words), "{words}");
    }
}

#[test]
fn a_first_photo_alone_gives_no_depth() {
    let output = wear(&["measure", FIRST]);
    assert_eq!(output.status.code(), Some(0));
    let text = out(&output);
    assert!(text.contains("no depth is told") && !text.contains("Groove"), "{text}");
    assert_cautions(&text);
}

#[test]
fn what_is_no_good_photo_is_refused_with_a_reason_and_what_to_do() {
    let broken = Scratch::new("broken.jpg", "not a photo at all");
    let drawing = std::env::temp_dir().join(format!("linkwright-{}-none.svg", std::process::id()));
    let drawing = drawing.to_str().expect("UTF-8");
    for arguments in [vec!["measure", broken.path()], vec!["measure", WORN, "--against", broken.path()]] {
        let output = wear(&[&arguments[..], &["--drawing", drawing]].concat());
        assert_eq!(output.status.code(), Some(2));
        let text = out(&output);
        assert!(text.starts_with(&format!("NOT MEASURED ({})", broken.path())), "{text}");
        assert!(text.contains("Do: Take the photo as JPEG or PNG"), "{text}");
        assert_cautions(&text);
        assert!(!Path::new(drawing).exists(), "no drawing of nothing");
    }
    let answer = json(&["measure", FIRST, "--scale-bar-mm", "94", "--json"]);
    assert_eq!(answer["refused"]["code"], "scale-bar-off");
    let missing = wear(&["measure", "no-such.jpg"]);
    assert_eq!(missing.status.code(), Some(2));
    assert!(squeezed(&missing).contains("no-such.jpgcannotberead"));
}

#[test]
fn a_forecast_is_an_interval_in_acts_and_days() {
    let output = wear(&["forecast", RECORD]);
    assert_eq!(output.status.code(), Some(0));
    assert_cautions(&out(&output));
    let answer = json(&["forecast", RECORD, "--json"]);
    assert_eq!(answer["others_of_kind"], serde_json::json!(["G-015", "G-019"]));
    let more = answer["forecast"]["more"].as_array().expect("a list");
    let of = |what: &str| more.iter().find(|row| row["what"] == what).unwrap_or_else(|| panic!("{what} in {more:?}"));
    for row in [of("lower-over"), of("rappel"), of("day")] {
        let [low, median, high] = ["low", "median", "high"].map(|end| row[end].as_u64().expect("a count"));
        assert!(low <= median && median <= high && high > 0, "{row}");
        let each = row["each_kn_m"].as_f64().expect("a number");
        let left = answer["forecast"]["left_kn_m"]["median"].as_f64().expect("a number");
        assert_eq!(median, (left / each) as u64);
    }
    assert_eq!(answer["stress"].as_array().expect("a list").len(), 2, "at the last reading and at the limit");
}

#[test]
fn use_is_load_times_length_of_rope_run() {
    let text = "[[piece]]\nname = \"A\"\n[[piece.period]]\nrun = [{ times = 3, load_kn = 2, rope_run_m = 10 }]\n\
                use = [{ activity = \"hang\", times = 9, person_kg = 80, rope_run_m = 30 }]\n";
    let file = Scratch::new("use.toml", text);
    assert_eq!(json(&["forecast", file.path(), "--json"])["use_so_far_kn_m"].as_f64(), Some(60.0));
}

#[test]
fn nothing_is_promised_from_one_reading() {
    let output = wear(&["forecast", RECORD, "--piece", "G-022"]);
    let text = out(&output);
    assert_eq!(output.status.code(), Some(0));
    assert!(text.contains("NOTHING IS PROMISED: It was measured once") && !text.contains("Left until"), "{text}");
    assert_cautions(&text);
    let answer = json(&["forecast", RECORD, "--piece", "G-022", "--json"]);
    assert_eq!((&answer["forecast"], &answer["refused"]["code"]), (&Value::Null, &Value::from("one-reading")));
}

fn two_readings(second_mm: f64, more: &str) -> String {
    let period = |depth: f64| {
        format!(
            "[[piece.period]]\nrun = [{{ times = 100, load_kn = 1, rope_run_m = 10 }}]\n\
             photo = {{ depth_mm = {depth}, plus_minus_mm = 0.05 }}\n"
        )
    };
    format!("[[piece]]\nname = \"A\"\n{more}{}{}", period(0.3), period(second_mm))
}

#[test]
fn a_limit_that_is_reached_ends_with_status_one_and_the_stricter_limit_holds() {
    let [worn, makers, lax, fell] = [
        ("at-limit.toml", two_readings(1.05, "")),
        ("makers.toml", two_readings(0.6, "maker_limit_mm = 0.5\n")),
        ("lax.toml", two_readings(0.6, "maker_limit_mm = 3\n")),
        ("fell.toml", two_readings(0.1, "")),
    ]
    .map(|(name, text)| Scratch::new(name, &text));
    for file in [&worn, &makers] {
        let output = wear(&["forecast", file.path()]);
        assert_eq!(output.status.code(), Some(1));
        assert!(out(&output).contains("THE LIMIT IS REACHED: withdraw the piece."), "{}", out(&output));
    }
    assert!(out(&wear(&["forecast", makers.path()])).contains("Limit: 0.50 mm (its maker's limit)."));
    assert_eq!(json(&["forecast", lax.path(), "--json"])["limit_mm"].as_f64(), Some(1.0));
    assert_eq!(json(&["forecast", fell.path(), "--json"])["refused"]["code"], "depth-fell");
}

#[test]
fn the_fan_has_its_readings_its_limit_and_three_curves() {
    let file = Scratch::new("fan.svg", "");
    wear(&["forecast", RECORD, "--drawing", file.path()]);
    let svg = file.text();
    for words in [
        "even chances",
        "1 in 20 deeper",
        "1 in 20 less deep",
        "limit 1.00 mm",
        "class=\"wash\"",
        "Feel for a sharp edge",
    ] {
        assert!(svg.contains(words), "{words}");
    }
    wear(&["forecast", RECORD, "--piece", "G-022", "--drawing", file.path()]);
    assert!(!file.text().contains("even chances"), "no fan where nothing is promised");
}

#[test]
fn faults_of_a_wear_file_are_told_with_line_and_column() {
    let text = "[[piece]]\nname = \"A\"\nbar_m = 12\n[[piece.period]]\nphoto = { depth_mm = -1, plus_minus_mm = 0.05 }\n\
                calliper = { sound_mm = [9.0], left_mm = [12.0] }\nuse = [{ activity = \"rapel\", times = 1, person_kg = 80, \
                rope_run_m = 20 }]\n[[piece]]\nname = \"A\"\n";
    let file = Scratch::new("faulty.toml", text);
    let output = wear(&["forecast", file.path()]);
    assert_eq!((output.status.code(), out(&output)), (Some(2), String::new()));
    let told = squeezed(&output);
    for words in [
        "faulty.toml:3:1:`piece`hasnokey`bar_m`",
        "didyoumean\"bar_mm\"?",
        "faulty.toml:5:22:`depth_mm`=-1isoutofrange",
        "faulty.toml:6:12:whatisleftinthegrooveisthickerthanthesoundbar",
        "faulty.toml:7:21:`activity`hasnoword\"rapel\"",
        "faulty.toml:9:8:thereisapiece`A`already",
    ] {
        assert!(told.contains(words), "{words} in {told}");
    }
    let output = wear(&["forecast", RECORD, "--piece", "G-099"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(squeezed(&output).contains("piecesthere:G-014"));
}

#[test]
fn the_schema_of_wear_files_names_every_unit() {
    let output = linkwright(&["schema", "wear"]);
    let schema: Value = serde_json::from_slice(&output.stdout).expect("one JSON object");
    assert_eq!(schema["title"], "Wear file");
    let published = std::fs::read_to_string(repository().join("wear-file.schema.json")).expect("the schema");
    assert_eq!(
        serde_json::from_str::<Value>(&published).expect("JSON"),
        schema,
        "linkwright schema wear > wear-file.schema.json"
    );
}

#[test]
fn a_section_is_told_as_a_ratio_with_its_limits_and_no_strength() {
    let output = wear(&["section", "--bar-mm", "10", "--inside-radius-mm", "6", "--groove-mm", "1"]);
    let text = out(&output);
    assert_eq!(output.status.code(), Some(0));
    assert!(text.contains("10 % of the bar") && text.contains("no strength") && !text.contains(" kN"), "{text}");
    assert_cautions(&text);
    let ratio = |bar: &str, groove: &str| {
        let answer = json(&["section", "--bar-mm", bar, "--inside-radius-mm", "6", "--groove-mm", groove, "--json"]);
        answer["stress_ratio_most"].as_f64().expect("a ratio")
    };
    assert!((ratio("10", "0") - 1.0).abs() < 1e-12);
    assert!(ratio("8", "1") > ratio("10", "1") && ratio("10", "1") > 1.1);
    let output = wear(&["section", "--bar-mm", "10", "--inside-radius-mm", "6", "--groove-mm", "10"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(squeezed(&output).contains("thegrooveislessdeep"));
}
