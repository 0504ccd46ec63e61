//! A worn piece: its outline laid over the one it is compared with, on the photo, and the depth along its inside.

use crate::plot::{self, Plot};
use crate::svg::{Align, Pen, Px, Sheet};
use crate::text::Area;

/// What is drawn.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Worn {
    /// What it shows.
    pub title: String,
    /// What was found, in one line.
    pub found: String,
    /// What to see to before all else, in one line.
    pub caution: String,
    /// The parts of the photo behind the two views: the whole piece, and the deepest place. Without them the lines
    /// stand alone.
    pub photos: Vec<PhotoPart>,
    /// Lines of the piece, in pixels of the photo; closed.
    pub piece: Vec<Vec<Px>>,
    /// Lines of what it is compared with; closed.
    pub reference: Vec<Vec<Px>>,
    /// The deepest place.
    pub deepest: Px,
    /// Depth along the inside.
    pub profile: Plot,
}

/// A part of a photo.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoPart {
    /// The part as PNG.
    pub png: Vec<u8>,
    /// Its left and top edge in pixels of the whole photo.
    pub corner: Px,
    /// Its width and height in those pixels.
    pub size: Px,
}

/// A part of the photo that is looked at, in its pixels: the upper left corner, width and height.
pub type Part = [f64; 4];

/// The two parts that are shown: the whole piece, and what is around the deepest place, larger.
#[must_use]
pub fn parts(worn: &Worn) -> [Part; 2] {
    let places = || worn.piece.iter().flatten();
    let [low, high] = places().fold([[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]], |[low, high], place| {
        [[low[0].min(place[0]), low[1].min(place[1])], [high[0].max(place[0]), high[1].max(place[1])]]
    });
    let reach = (high[0] - low[0]).max(high[1] - low[1]).max(1.0);
    let reach = if reach.is_finite() { reach } else { 1.0 };
    let around = |centre: Px, side: f64| [centre[0] - side / 2.0, centre[1] - side / 2.0, side, side];
    let middle = [0, 1].map(|axis| if reach > 1.0 { (low[axis] + high[axis]) / 2.0 } else { worn.deepest[axis] });
    [around(middle, MARGIN * reach), around(worn.deepest, reach / CLOSER)]
}

/// Room around the piece, as a factor.
const MARGIN: f64 = 1.12;
/// How much closer the second view is.
const CLOSER: f64 = 5.0;
const WIDTH: f64 = 720.0;
const VIEW: f64 = 330.0;
const TOP: f64 = 84.0;
const PLOT_TOP: f64 = TOP + VIEW + 66.0;
const HEIGHT: f64 = PLOT_TOP + 320.0;
const TEXT: f64 = 11.5;
/// Under each line, so that it is seen on dark metal and on white paper.
const UNDER: Pen = Pen::new("core", 3.6);
const PIECE: Pen = Pen::new("ink", 1.4);
const REFERENCE: Pen = Pen::new("accent", 1.4).dashed("6 3");

/// The drawing as a document, 720 pixels wide.
#[must_use]
pub fn worn(worn: &Worn) -> String {
    let mut sheet = Sheet::default();
    sheet.text("name", 15.0, [20.0, 28.0], Align::Start, &worn.title);
    sheet.text("words", 13.0, [20.0, 48.0], Align::Start, &worn.found);
    sheet.text("alert", 12.0, [20.0, 68.0], Align::Start, &worn.caution);
    let views = [("The whole piece", 20.0), ("The deepest place, closer", WIDTH - 20.0 - VIEW)];
    for (place, ((name, left), part)) in views.into_iter().zip(parts(worn)).enumerate() {
        sheet.group("view", name, |sheet| draw_view(sheet, worn, place, [left, TOP], part));
        sheet.text("aside", TEXT, [left, TOP + VIEW + 16.0], Align::Start, name);
    }
    draw_key(&mut sheet);
    let area = Area { left: 20.0, top: PLOT_TOP, right: WIDTH - 20.0, bottom: HEIGHT - 12.0 };
    plot::draw(&mut sheet, &worn.profile, area);
    let description = format!("{} {} {}", worn.found, worn.caution, plot::describe(&worn.profile));
    sheet.document(WIDTH, HEIGHT, &worn.title, &description)
}

fn draw_view(sheet: &mut Sheet, worn: &Worn, place: usize, at: Px, [left, top, side, _]: Part) {
    let scale = VIEW / side;
    let shown = |[x, y]: Px| [(x - left) * scale, (y - top) * scale];
    sheet.window(at, VIEW, VIEW, |sheet| {
        if let Some(photo) = worn.photos.get(place) {
            let [width, height] = photo.size.map(|length| length * scale);
            sheet.picture(&photo.png, shown(photo.corner), width, height);
        }
        let closed = |line: &Vec<Px>| line.iter().chain(line.first()).map(|place| shown(*place)).collect::<Vec<_>>();
        let lines =
            worn.piece.iter().map(|line| (PIECE, line)).chain(worn.reference.iter().map(|line| (REFERENCE, line)));
        for (pen, line) in lines {
            sheet.polyline(UNDER, &closed(line));
            sheet.polyline(pen, &closed(line));
        }
        point_at(sheet, shown(worn.deepest), place);
    });
    let corners = [[0.0, 0.0], [VIEW, 0.0], [VIEW, VIEW], [0.0, VIEW]];
    sheet.polygon(Pen::new("soft", 1.0), &corners.map(|[x, y]| [at[0] + x, at[1] + y]));
}

/// A ring around the deepest place in the whole view; in the closer one it is the middle anyway.
fn point_at(sheet: &mut Sheet, at: Px, place: usize) {
    if place == 0 {
        let radius = VIEW / (2.0 * CLOSER * MARGIN);
        sheet.circle(UNDER, at, radius);
        sheet.circle(Pen::new("ink", 1.4), at, radius);
    }
}

/// Which line is which.
fn draw_key(sheet: &mut Sheet) {
    let y = TOP + VIEW + 38.0;
    for (pen, left, words) in [(PIECE, 20.0, "outline now"), (REFERENCE, 180.0, "outline it is compared with")] {
        sheet.line(pen, [left, y - 4.0], [left + 34.0, y - 4.0]);
        sheet.text("words", TEXT, [left + 42.0, y], Align::Start, words);
    }
}
