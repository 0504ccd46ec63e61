//! Renders photos, and studies how well the measuring does on them.
//!
//! `render-photos study PIECES PHOTOS-EACH MEGAPIXELS SEED [RESULT]` draws pieces by lot, takes a first photo of each and then photos
//! of it worn, measures them, and writes what came out. `render-photos photo SEED MEGAPIXELS FILE` writes one photo.

use render_photos::study::{self, Plan};

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let word = |index: usize| words.get(index).map(String::as_str);
    let number = |index: usize| word(index).and_then(|text| text.parse::<f64>().ok());
    match (word(0), number(1), number(2), number(3), number(4)) {
        (Some("study"), Some(pieces), Some(each), Some(megapixels), Some(seed)) => {
            let plan =
                Plan { pieces: pieces as usize, each: each as usize, pixels: megapixels * 1e6, seed: seed as u64 };
            let cases = study::run(&plan);
            let result = study::report(&plan, &cases);
            print!("{}", study::table(&cases));
            println!("{result}");
            if let Some(path) = word(5) {
                std::fs::write(path, result).expect("the result can be written");
            }
        }
        (Some("photo"), Some(seed), Some(megapixels), ..) if word(3).is_some() => {
            let bytes = study::one_photo(seed as u64, megapixels * 1e6);
            std::fs::write(word(3).expect("a name"), bytes).expect("the photo can be written");
        }
        _ => eprintln!(
            "render-photos study PIECES PHOTOS-EACH MEGAPIXELS SEED [RESULT]\nrender-photos photo SEED MEGAPIXELS FILE"
        ),
    }
}
