//! Sheets as they come out of the press: what they say, how they look, and what happens when the press cannot print.
//!
//! Read by programs that are not ours: `pdftotext`, `pdftoppm` and `pdfinfo` (poppler), `qpdf`.

mod common;

use common::Folder;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const RIG: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/lead-sea-cliff.toml");
const MARKING: &str = "EN 12275 H <-> 24 kN, open 8 kN, cross 7 kN CE 0123 2024";

/// A folder that sheets are printed in.
struct Press(Folder);

impl Press {
    fn new(name: &str) -> Self {
        Self(Folder::new(&format!("sheets-{name}")))
    }

    fn at(&self, name: &str) -> PathBuf {
        self.0.at().join(name)
    }

    fn run(&self, program: &str, arguments: &[&str]) -> Output {
        let run = Command::new(program).args(arguments).current_dir(self.0.at()).output();
        run.unwrap_or_else(|why| panic!("{program}: {why}"))
    }

    /// Prints a sheet as `sheet.pdf`.
    fn print(&self, arguments: &[&str]) -> Output {
        let dated = [&["sheet"], arguments, &["--date", "2026-11-25"]].concat();
        self.run(env!("CARGO_BIN_EXE_linkwright"), &dated)
    }

    fn printed(&self, arguments: &[&str]) -> Vec<u8> {
        let output = self.print(arguments);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        fs::read(self.at("sheet.pdf")).expect("a sheet")
    }

    /// What stands on the sheet, in words one after another.
    fn words(&self) -> String {
        let output = self.run("pdftotext", &["-raw", "sheet.pdf", "-"]);
        assert!(output.status.success());
        String::from_utf8(output.stdout).expect("text").split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// A page as a picture in shades of grey: width, height and dots.
    fn picture(&self, page: usize, dots_per_inch: u32) -> (usize, usize, Vec<u8>) {
        let (page, fine) = (page.to_string(), dots_per_inch.to_string());
        let arguments = ["-gray", "-r", &fine, "-f", &page, "-l", &page, "-singlefile", "sheet.pdf", "page"];
        assert!(self.run("pdftoppm", &arguments).status.success());
        pgm(&fs::read(self.at("page.pgm")).expect("a picture"))
    }
}

/// A picture as `pdftoppm` writes it (PGM, P5).
fn pgm(bytes: &[u8]) -> (usize, usize, Vec<u8>) {
    let mut place = 0;
    let mut word = || {
        let from = place + bytes[place..].iter().take_while(|byte| byte.is_ascii_whitespace()).count();
        let to = from + bytes[from..].iter().take_while(|byte| !byte.is_ascii_whitespace()).count();
        place = to;
        String::from_utf8_lossy(&bytes[from..to]).into_owned()
    };
    assert_eq!(word(), "P5");
    let [wide, high, most] = [word(), word(), word()].map(|word| word.parse::<usize>().expect("a number"));
    assert_eq!(most, 255);
    (wide, high, bytes[place + 1..].to_vec())
}

/// The mean difference of two pictures, in shades of 255, after each was averaged over squares of 4 dots: letters may
/// move by a dot, blocks may not.
fn difference(one: &(usize, usize, Vec<u8>), other: &(usize, usize, Vec<u8>)) -> f64 {
    assert_eq!((one.0, one.1), (other.0, other.1), "size of the page");
    let (wide, high) = (one.0 / 4, one.1 / 4);
    let mean = |picture: &(usize, usize, Vec<u8>), x: usize, y: usize| {
        let dots = (0..16).map(|dot| f64::from(picture.2[(4 * y + dot / 4) * picture.0 + 4 * x + dot % 4]));
        dots.sum::<f64>() / 16.0
    };
    let each = (0..wide * high).map(|place| (place % wide, place / wide));
    each.map(|(x, y)| (mean(one, x, y) - mean(other, x, y)).abs()).sum::<f64>() / (wide * high) as f64
}

/// Compares a page with the picture that is kept of it; `UPDATE_PICTURES=1` keeps it anew.
fn looks_as_kept(folder: &Press, page: usize, name: &str, tolerance: f64) {
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/pictures").join(format!("{name}.png"));
    let (wide, high, dots) = folder.picture(page, 50);
    if std::env::var_os("UPDATE_PICTURES").is_some() {
        let file = fs::File::create(&kept).expect("a picture to keep");
        let mut encoder = png::Encoder::new(file, wide as u32, high as u32);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.write_header().and_then(|mut writer| writer.write_image_data(&dots)).expect("written");
        return;
    }
    let mut reader = png::Decoder::new(std::io::BufReader::new(fs::File::open(&kept).expect("a kept picture")))
        .read_info()
        .expect("a picture");
    let mut before = vec![0; reader.output_buffer_size().expect("a size")];
    let info = reader.next_frame(&mut before).expect("dots");
    let differs = difference(&(wide, high, dots), &(info.width as usize, info.height as usize, before));
    assert!(
        differs < tolerance,
        "{name} differs by {differs:.2} of {tolerance}; look at it, then keep it with UPDATE_PICTURES=1"
    );
}

/// What programs that are not ours say of the file: sound, tagged, with title and language.
fn is_sound(folder: &Press) {
    let check = folder.run("qpdf", &["--check", "sheet.pdf"]);
    assert!(check.status.success(), "{}", String::from_utf8_lossy(&check.stdout));
    let info = String::from_utf8(folder.run("pdfinfo", &["sheet.pdf"]).stdout).expect("text");
    let says = |name: &str| info.lines().find_map(|line| line.strip_prefix(name)).map(str::trim).unwrap_or_default();
    assert_eq!(says("Tagged:"), "yes");
    assert!(!says("Title:").is_empty());
    assert!(
        info.contains("PDF/UA-1") || says("PDF subtype:").contains("UA") || says("PDF version:") == "1.7",
        "{info}"
    );
    let structure = String::from_utf8(folder.run("pdfinfo", &["-struct", "sheet.pdf"]).stdout).expect("text");
    assert!(structure.contains("Document") && structure.contains("H1"), "{structure}");
}

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
