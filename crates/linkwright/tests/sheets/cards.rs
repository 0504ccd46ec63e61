//! Rig cards, teaching cards, labels; templates and faults that all sheets share.

use crate::press::{Press, is_sound, looks_as_kept};
use std::fs;
use std::process::Command;

const RIG: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/lead-sea-cliff.toml");
const MARKING: &str = "EN 12275 H <-> 24 kN, open 8 kN, cross 7 kN CE 0123 2024";

#[test]
fn a_rig_card_says_what_the_report_says() {
    let folder = Press::new("rig-card");
    folder.printed(&["rig-card", RIG]);
    is_sound(&folder);
    let words = folder.words();
    let report = folder.run(env!("CARGO_BIN_EXE_linkwright"), &["check", RIG]);
    let report = String::from_utf8(report.stdout).expect("text");
    let title = report.lines().next().expect("a title");
    let weakest = report.lines().find(|line| line.starts_with("Weakest:")).expect("the weakest link");
    for line in [title, weakest] {
        assert!(words.contains(line), "{line}\n{words}");
    }
    let cautions = report.split("Cautions\n").nth(1).expect("cautions");
    for caution in cautions.lines() {
        assert!(words.contains(caution.trim()), "{caution}\n{words}");
    }
    looks_as_kept(&folder, 1, "rig-card", 1.5);
}

/// 1 kN is 224.8 lbf, 82 kg are 180.8 lb: loads, masses and heights are told so, also those below zero.
#[test]
fn a_rig_card_is_told_in_the_units_that_are_asked_for() {
    let folder = Press::new("rig-card-units");
    folder.printed(&["rig-card", RIG, "--units", "lbf,in,lb"]);
    is_sound(&folder);
    let words = folder.words();
    for part in ["181 lb", "lowest -3.9 ft", "Weakest: G-032, gate open: sees 920 to 1660 lbf"] {
        assert!(words.contains(part), "{part}\n{words}");
    }
    assert!(!words.contains("kN of"), "{words}");
}

#[test]
fn a_teaching_card_names_the_parts_and_every_position() {
    let folder = Press::new("teaching-card");
    folder.printed(&["teaching-card", MARKING]);
    is_sound(&folder);
    let words = folder.words();
    for word in ["spine", "basket", "gate", "nose", "hinge", "sleeve", "24 kN", "8 kN", "7 kN", "no rating"] {
        assert!(words.contains(word), "{word}\n{words}");
    }
    for position in trade::position::Position::ALL {
        let name = &desk::texts::position(*position).name;
        assert!(words.contains(name.as_str()), "{name}\n{words}");
    }
    looks_as_kept(&folder, 1, "teaching-card", 1.5);
}

#[test]
fn labels_fill_their_paper_and_their_codes_read_back() {
    let folder = Press::new("labels");
    folder.printed(&["labels", "C-001..C-065", "R-1", "--opens", "https://rack.example/"]);
    is_sound(&folder);
    let words = folder.words();
    for label in ["C-001", "C-040", "C-065", "R-1"] {
        assert!(words.contains(label), "{label}\n{words}");
    }
    let page = folder.picture(1, 300);
    let read: Vec<String> = (0..65).map(|label| code_on(&page, label)).collect();
    let expected: Vec<String> = (1..=65).map(|number| format!("https://rack.example/C-{number:03}")).collect();
    assert_eq!(read, expected);
    looks_as_kept(&folder, 1, "labels", 1.5);
}

/// What the code on a label says to a reader that is not ours, one label before it at a time. The labels are 38.1 by
/// 21.2 mm, five side by side, the first 9.75 mm from the left and 10.7 mm from the top.
fn code_on((wide, _, dots): &(usize, usize, Vec<u8>), label: usize) -> String {
    let dots_of = |mm: f64| (mm / 25.4 * 300.0) as usize;
    let left = dots_of(9.75 + 38.1 * (label % 5) as f64);
    let top = dots_of(10.7 + 21.2 * (label / 5) as f64);
    let look = |x: usize, y: usize| dots[(top + y) * wide + left + x];
    let mut seen = rqrr::PreparedImage::prepare_from_greyscale(dots_of(38.1), dots_of(21.2), look);
    let codes = seen.detect_grids();
    let [code] = codes.as_slice() else { panic!("label {label} shows {} codes", codes.len()) };
    code.decode().unwrap_or_else(|why| panic!("label {label}: {why}")).1
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let folder = Press::new("same");
    assert_eq!(folder.printed(&["rig-card", RIG]), folder.printed(&["rig-card", RIG]));
}

#[test]
fn letter_paper_is_letter_paper() {
    let folder = Press::new("letter");
    folder.printed(&["rig-card", RIG, "--paper", "Letter"]);
    let info = String::from_utf8(folder.run("pdfinfo", &["sheet.pdf"]).stdout).expect("text");
    assert!(info.contains("612 x 792 pts"), "{info}");
}

#[test]
fn a_template_of_ones_own_takes_the_place_of_the_one_inside() {
    let folder = Press::new("own");
    let own = "#import \"sheet.typ\": *\n#show: sheet\n= Our own #data.title\n";
    folder.0.write("rig-card.typ", own);
    folder.printed(&["rig-card", RIG, "--template", "rig-card.typ"]);
    assert!(folder.words().contains("Our own"));
}

#[test]
fn a_fault_in_a_template_is_told_with_its_place_and_nothing_is_written() {
    let folder = Press::new("fault");
    folder.0.write("rig-card.typ", "#import \"sheet.typ\": *\n#show: sheet\n= #data.nobody\n");
    let output = folder.print(&["rig-card", RIG, "--template", "rig-card.typ"]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.contains("rig-card.typ, line 3"), "{said}");
    assert!(!folder.at("sheet.pdf").exists());
}

#[test]
fn without_the_press_it_is_told_how_to_get_it() {
    let folder = Press::new("no-press");
    let alone = folder.at("linkwright");
    fs::copy(env!("CARGO_BIN_EXE_linkwright"), &alone).expect("a copy");
    let output = Command::new(&alone)
        .args(["sheet", "rig-card", RIG])
        .env("PATH", "")
        .current_dir(folder.0.at())
        .output()
        .expect("a run");
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        said.contains("linkwright-press is not there") && said.contains("cargo build --release -p linkwright-press"),
        "{said}"
    );
    assert!(!folder.at("sheet.pdf").exists());
}

#[test]
fn other_files_are_not_written_over() {
    let folder = Press::new("over");
    let output = folder.print(&["rig-card", RIG, "--out", "rig.toml"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(!folder.at("rig.toml").exists());
}

#[test]
fn a_character_that_no_font_has_is_told_and_not_left_out() {
    let folder = Press::new("script");
    let text = fs::read_to_string(RIG).expect("the rig");
    let title = text.lines().find(|line| line.starts_with("title")).expect("a title").to_owned();
    folder.0.write("rig.toml", &text.replace(&title, "title = \"登山の日\""));
    let output = folder.print(&["rig-card", "rig.toml"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("font"), "{}", String::from_utf8_lossy(&output.stderr));
    folder.0.write("rig.toml", &text.replace(&title, "title = \"Žluťoučký Ωμέγα Скала\""));
    folder.printed(&["rig-card", "rig.toml"]);
    assert!(folder.words().contains("Žluťoučký Ωμέγα Скала"));
}
