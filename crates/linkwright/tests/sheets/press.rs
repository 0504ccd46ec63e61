//! A folder with a press, and what programs that are not ours read on its sheets.

use crate::common::Folder;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// The day on which all of it happens.
pub const DAY: &str = "2026-11-25";

/// A folder that sheets are printed in.
pub struct Press(pub Folder);

impl Press {
    pub fn new(name: &str) -> Self {
        Self(Folder::new(&format!("sheets-{name}")))
    }

    pub fn at(&self, name: &str) -> PathBuf {
        self.0.at().join(name)
    }

    pub fn run(&self, program: &str, arguments: &[&str]) -> Output {
        let mut command = Command::new(program);
        command.args(arguments).current_dir(self.0.at());
        let run = command.env("LINKWRIGHT_TODAY", DAY).env("LINKWRIGHT_STORE", self.at("rack.db")).output();
        run.unwrap_or_else(|why| panic!("{program}: {why}"))
    }

    /// Prints a sheet as `sheet.pdf`.
    pub fn print(&self, arguments: &[&str]) -> Output {
        let dated = [&["sheet"], arguments, &["--date", DAY]].concat();
        self.run(env!("CARGO_BIN_EXE_linkwright"), &dated)
    }

    /// What the main program prints; it has to succeed, or to find something.
    pub fn says(&self, arguments: &[&str]) -> String {
        let output = self.run(env!("CARGO_BIN_EXE_linkwright"), arguments);
        let errors = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.code().is_some_and(|code| code < 2), "{arguments:?}: {errors}");
        String::from_utf8(output.stdout).expect("UTF-8")
    }

    /// What the main program complains of when it is asked for a sheet; it has to refuse, and to write nothing.
    pub fn refuses(&self, arguments: &[&str]) -> String {
        let output = self.print(arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(!self.at("sheet.pdf").exists(), "nothing is written");
        String::from_utf8(output.stderr).expect("UTF-8").split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// The text of a template, as the helper program gives it to be copied.
    pub fn template(&self, name: &str) -> String {
        let helper = Path::new(env!("CARGO_BIN_EXE_linkwright")).with_file_name("linkwright-press");
        let output = self.run(&helper.to_string_lossy(), &["--template", name]);
        assert!(output.status.success());
        String::from_utf8(output.stdout).expect("UTF-8")
    }

    pub fn printed(&self, arguments: &[&str]) -> Vec<u8> {
        let output = self.print(arguments);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        fs::read(self.at("sheet.pdf")).expect("a sheet")
    }

    /// What stands on the sheet, in words one after another.
    pub fn words(&self) -> String {
        let output = self.run("pdftotext", &["-raw", "sheet.pdf", "-"]);
        assert!(output.status.success());
        String::from_utf8(output.stdout).expect("text").split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// A page as a picture in shades of grey: width, height and dots.
    pub fn picture(&self, page: usize, dots_per_inch: u32) -> (usize, usize, Vec<u8>) {
        let (page, fine) = (page.to_string(), dots_per_inch.to_string());
        let arguments = ["-gray", "-r", &fine, "-f", &page, "-l", &page, "-singlefile", "sheet.pdf", "page"];
        assert!(self.run("pdftoppm", &arguments).status.success());
        pgm(&fs::read(self.at("page.pgm")).expect("a picture"))
    }
}

/// A word on a page, with its box: left, top, right, bottom, in points.
pub struct Word {
    text: String,
    place: [f64; 4],
}

impl Press {
    /// The words of each page, with the page's width and height.
    pub fn pages(&self) -> Vec<([f64; 2], Vec<Word>)> {
        let output = self.run("pdftotext", &["-bbox", "sheet.pdf", "-"]);
        let text = String::from_utf8(output.stdout).expect("text");
        let page = |page: &str| {
            let size = [number(page, "width"), number(page, "height")];
            (size, page.split("<word ").skip(1).map(word).collect())
        };
        text.split("<page ").skip(1).map(page).collect()
    }
}

fn number(text: &str, name: &str) -> f64 {
    let value = text.split(&format!("{name}=\"")).nth(1).and_then(|rest| rest.split('"').next());
    value.and_then(|value| value.parse().ok()).unwrap_or_else(|| panic!("{name} in {text}"))
}

fn word(text: &str) -> Word {
    let place = ["xMin", "yMin", "xMax", "yMax"].map(|name| number(text, name));
    let inside = text.split('>').nth(1).and_then(|rest| rest.split('<').next()).unwrap_or_default();
    Word { text: inside.to_owned(), place }
}

/// Nothing is cut and nothing lies over another: every word is inside its page, and no two cover one another by more than a
/// point across and a quarter of the smaller height. (A box is as high as the highest letters of its font; those of lines
/// below one another may touch.)
pub fn nothing_is_cut(folder: &Press) {
    let pages = folder.pages();
    assert!(pages.iter().any(|(_, words)| !words.is_empty()));
    for (number, (size, words)) in pages.iter().enumerate() {
        for (place, word) in words.iter().enumerate() {
            let [left, top, right, bottom] = word.place;
            let is_inside = left >= 0.0 && top >= 0.0 && right <= size[0] && bottom <= size[1];
            assert!(is_inside, "page {}: {} of {size:?}", number + 1, told(word));
            let over = words[place + 1..].iter().find(|other| cover(word, other));
            assert!(over.is_none(), "page {}: {} and {:?}", number + 1, told(word), over.map(told));
        }
    }
}

fn told(word: &Word) -> String {
    format!("{} at {:?}", word.text, word.place)
}

fn cover(one: &Word, other: &Word) -> bool {
    let shared =
        |low: usize, high: usize| one.place[high].min(other.place[high]) - one.place[low].max(other.place[low]);
    let height = |word: &Word| word.place[3] - word.place[1];
    shared(0, 2) > 1.0 && shared(1, 3) > height(one).min(height(other)) / 4.0
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
pub fn looks_as_kept(folder: &Press, page: usize, name: &str, tolerance: f64) {
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
pub fn is_sound(folder: &Press) {
    let check = folder.run("qpdf", &["--check", "sheet.pdf"]);
    assert!(check.status.success(), "{}", String::from_utf8_lossy(&check.stdout));
    let info = folder.run("pdfinfo", &["sheet.pdf"]).stdout;
    let info = String::from_utf8_lossy(&info);
    let says = |name: &str| info.lines().find_map(|line| line.strip_prefix(name)).map(str::trim).unwrap_or_default();
    assert_eq!(says("Tagged:"), "yes");
    assert!(!says("Title:").is_empty());
    assert!(
        info.contains("PDF/UA-1") || says("PDF subtype:").contains("UA") || says("PDF version:") == "1.7",
        "{info}"
    );
    let structure = folder.run("pdfinfo", &["-struct", "sheet.pdf"]).stdout;
    let structure = String::from_utf8_lossy(&structure);
    assert!(structure.contains("Document") && structure.contains("H1"), "{structure}");
}
