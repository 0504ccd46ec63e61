//! Renders photos, and studies how well the measuring does on them.
//!
//! `render-photos study PIECES PHOTOS-EACH MEGAPIXELS SEED [FOLDER]` draws pieces by lot, takes a first photo of each and then photos
//! of it worn, measures them, and writes what came out; photos are kept in the folder, if one is named, and not taken twice. `render-photos photo SEED MEGAPIXELS FILE` writes one photo.
//! `render-photos trace PHOTO BAR-HEIGHT` writes what the measuring sees in a photo: marks, where the camera has points of the sheet, outlines.

use render_photos::study::{self, Plan};
use std::path::Path;
use wear::measure::{Reading, Settings};
use wear::silhouette::Edge;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let word = |index: usize| words.get(index).map(String::as_str);
    let number = |index: usize| word(index).and_then(|text| text.parse::<f64>().ok());
    match (word(0), number(1), number(2), number(3), number(4)) {
        (Some("study"), Some(pieces), Some(each), Some(megapixels), Some(seed)) => {
            let plan =
                Plan { pieces: pieces as usize, each: each as usize, pixels: megapixels * 1e6, seed: seed as u64 };
            let cases = study::run(&plan, word(5).map(Path::new));
            print!("{}\n{}", study::table(&cases), study::report(&plan, &cases));
            let [least, share] = study::likeliest_allowances(&cases);
            println!("\nlikeliest allowances: {least:.4} mm and {share:.4} of the depth");
        }
        (Some("photo"), Some(seed), Some(megapixels), ..) if word(3).is_some() => {
            let bytes = study::one_photo(seed as u64, megapixels * 1e6);
            std::fs::write(word(3).expect("a name"), bytes).expect("the photo can be written");
        }
        (Some("trace"), _, Some(bar_height), ..) => print!("{}", trace(word(1).expect("a name"), bar_height)),
        _ => eprintln!(
            "render-photos study PIECES PHOTOS-EACH MEGAPIXELS SEED [FOLDER]\nrender-photos photo SEED MEGAPIXELS FILE\nrender-photos trace PHOTO BAR-HEIGHT"
        ),
    }
}

/// What is seen in a photo, one thing a line: `mark` and `grid` with millimetres on the sheet and pixels, `outer` and `inner` with pixels.
fn trace(path: &str, bar_height_mm: f64) -> String {
    let bytes = std::fs::read(path).expect("the photo can be read");
    let settings =
        Settings { bar_height_mm: Some(bar_height_mm), scale_bar_mm: Some(wear::sheet::sheet().scale_bar_mm) };
    let Reading { camera, marks, outline } = wear::measure::read(&bytes, &settings).expect("a good photo");
    let grid = (0..63).map(|index| [f64::from(index % 9 - 4) * 20.0, f64::from(index / 9 - 3) * 19.0]);
    let pair =
        |name: &str, sheet: [f64; 2], [x, y]: [f64; 2]| format!("{name} {} {} {x:.4} {y:.4}\n", sheet[0], sheet[1]);
    let line = |name: &'static str, edges: &[Edge]| -> String {
        edges.iter().map(|e| format!("{name} {:.3} {:.3}\n", e.photo[0], e.photo[1])).collect()
    };
    let lens = format!(
        "lens {} {} {} {} {}\n",
        camera.focal_px, camera.middle[0], camera.middle[1], camera.lens[0], camera.lens[1]
    );
    let marks: String = marks.iter().map(|mark| pair("mark", mark.sheet, mark.photo)).collect();
    let grid: String = grid.map(|sheet| pair("grid", sheet, camera.project(sheet, 0.0))).collect();
    [lens, marks, grid, line("outer", &outline.outer), line("inner", &outline.inner)].concat()
}
