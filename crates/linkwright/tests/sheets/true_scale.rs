//! The measuring sheet at true scale, measured on a rendered page.

use crate::press::{Press, is_sound, looks_as_kept};
use wear::sheet::sheet;

/// Fine enough: a dot is 0.085 mm, and the middle of a mark is told to a fraction of it.
const DOTS_PER_INCH: u32 = 300;
/// What is asked of the sheet, mm.
const TRUE_WITHIN: f64 = 0.2;

/// A rendered page. Places in mm from its middle.
struct Page {
    wide: usize,
    high: usize,
    dots: Vec<u8>,
}

impl Page {
    fn of(folder: &Press) -> Self {
        let (wide, high, dots) = folder.picture(1, DOTS_PER_INCH);
        Self { wide, high, dots }
    }

    /// The places of dark dots in a rectangle.
    fn dark(&self, [left, top, right, bottom]: [f64; 4]) -> impl Iterator<Item = [f64; 2]> + '_ {
        let fine = f64::from(DOTS_PER_INCH) / 25.4;
        let dot = move |mm: f64, of: usize| (mm * fine + of as f64 / 2.0) as usize;
        let mm = move |dot: usize, of: usize| (dot as f64 + 0.5 - of as f64 / 2.0) / fine;
        let across = dot(left, self.wide)..dot(right, self.wide);
        let places =
            (dot(top, self.high)..dot(bottom, self.high)).flat_map(move |y| across.clone().map(move |x| (x, y)));
        places
            .filter(|(x, y)| self.dots[y * self.wide + x] < 128)
            .map(move |(x, y)| [mm(x, self.wide), mm(y, self.high)])
    }

    /// The middle of the mark that should be at a place: marks look the same from both sides.
    fn mark(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let room = sheet().disc_radius_mm + 3.0;
        let dark: Vec<_> = self.dark([x - room, y - room, x + room, y + room]).collect();
        assert!(dark.len() > 1000, "a mark at {x}, {y}");
        [0, 1].map(|axis| dark.iter().map(|place| place[axis]).sum::<f64>() / dark.len() as f64)
    }

    /// The length of the scale bar between the outer edges of its end ticks, which alone reach that high.
    fn scale_bar(&self) -> f64 {
        let (below, half) = (sheet().scale_bar_below_mm, sheet().scale_bar_mm / 2.0);
        let ticks = self.dark([-half - 5.0, below - 2.7, half + 5.0, below - 1.8]).map(|[x, _]| x);
        let (first, last) = ticks.fold((f64::MAX, f64::MIN), |(first, last), x| (x.min(first), x.max(last)));
        last - first + 25.4 / f64::from(DOTS_PER_INCH)
    }

    /// By how much a distance between two marks, or the scale bar, is at most off, mm.
    fn off(&self) -> f64 {
        let marks: Vec<_> = sheet().mark.iter().map(|mark| (mark.middle(), self.mark(mark.middle()))).collect();
        let distance = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
        let pairs =
            marks.iter().enumerate().flat_map(|(number, one)| marks[..number].iter().map(move |other| (one, other)));
        let off = pairs.map(|(one, other)| (distance(one.0, other.0) - distance(one.1, other.1)).abs());
        off.fold((self.scale_bar() - sheet().scale_bar_mm).abs(), f64::max)
    }
}

#[test]
fn distances_on_the_measuring_sheet_are_true_on_both_papers() {
    let folder = Press::new("measuring");
    for paper in ["Letter", "A4"] {
        folder.printed(&["measuring-sheet", "--paper", paper]);
        is_sound(&folder);
        let off = Page::of(&folder).off();
        println!("{paper}: off by at most {off:.3} mm");
        assert!(off < TRUE_WITHIN, "{paper}: off by {off:.3} mm");
    }
    assert!(folder.words().contains("Print at 100 %"));
    looks_as_kept(&folder, 1, "measuring-sheet", 1.0);
}

#[test]
fn a_sheet_that_is_scaled_a_little_is_noticed() {
    let folder = Press::new("scaled");
    let own =
        folder.template("measuring-sheet.typ").replace("width: 100%, height: 100%", "width: 99.5%, height: 99.5%");
    folder.0.write("measuring-sheet.typ", &own);
    folder.printed(&["measuring-sheet", "--template", "measuring-sheet.typ"]);
    let off = Page::of(&folder).off();
    assert!(off > TRUE_WITHIN, "off by {off:.3} mm only");
}
