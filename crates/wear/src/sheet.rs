//! The measuring sheet: marks at known places around a field for the piece, and a bar to check the printer with a ruler.

use crate::plane::Point;
use serde::Deserialize;
use std::fmt::Write as _;
use std::sync::LazyLock;

/// Where everything is on the sheet, from `data/sheet.toml`. Lengths in millimetres from the middle of the field.
#[derive(Debug, Deserialize)]
pub struct Sheet {
    /// Outer radius of a mark, mm.
    pub disc_radius_mm: f64,
    /// Width of the ring around a mark, mm.
    pub ring_width_mm: f64,
    /// Half the width of the field, mm.
    pub field_half_width_mm: f64,
    /// Half the height of the field, mm.
    pub field_half_height_mm: f64,
    /// Length of the scale bar, mm.
    pub scale_bar_mm: f64,
    /// How far the scale bar is below the middle, mm.
    pub scale_bar_below_mm: f64,
    /// The papers it is made for.
    pub paper: Vec<Paper>,
    /// The marks.
    pub mark: Vec<Mark>,
}

/// A size of paper, lying across.
#[derive(Debug, Deserialize)]
pub struct Paper {
    /// Its name.
    pub name: String,
    /// Its width, mm.
    pub width_mm: f64,
    /// Its height, mm.
    pub height_mm: f64,
}

/// One mark of the sheet.
#[derive(Debug, Deserialize)]
pub struct Mark {
    x_mm: f64,
    y_mm: f64,
    turn: u8,
}

impl Mark {
    /// Its middle, mm from the middle of the field, x to the right and y down.
    #[must_use]
    pub const fn middle(&self) -> Point {
        [self.x_mm, self.y_mm]
    }

    /// The direction of the middle of its black sectors, in radians from x towards y; half a turn changes nothing.
    #[must_use]
    pub fn direction(&self) -> f64 {
        f64::from(self.turn) * std::f64::consts::FRAC_PI_4
    }
}

static SHEET: LazyLock<Sheet> =
    LazyLock::new(|| toml::from_str(include_str!("../data/sheet.toml")).expect("the sheet built in"));

/// The one sheet there is.
#[must_use]
pub fn sheet() -> &'static Sheet {
    &SHEET
}

impl Sheet {
    /// The paper called `name`, as `A4` or `Letter`.
    #[must_use]
    pub fn paper(&self, name: &str) -> Option<&Paper> {
        self.paper.iter().find(|paper| paper.name.eq_ignore_ascii_case(name))
    }

    /// The page at true scale, black only, with `words` under the scale bar, one line each.
    #[must_use]
    pub fn svg(&self, paper: &Paper, words: &[&str]) -> String {
        let (width, height) = (paper.width_mm, paper.height_mm);
        let mut page = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
             viewBox=\"{} {} {width} {height}\" fill=\"black\" stroke=\"none\">\n",
            -width / 2.0,
            -height / 2.0
        );
        for mark in &self.mark {
            self.draw_mark(mark, &mut page);
        }
        self.draw_scale_bar(&mut page);
        for (line, text) in words.iter().enumerate() {
            let y = self.scale_bar_below_mm + 7.0 + 4.5 * line as f64;
            let _ = writeln!(
                page,
                "<text x=\"0\" y=\"{y}\" font-size=\"3.6\" font-family=\"sans-serif\" text-anchor=\"middle\">{}</text>",
                escape(text)
            );
        }
        page + "</svg>\n"
    }

    fn draw_mark(&self, mark: &Mark, page: &mut String) {
        let [x, y] = mark.middle();
        let ring = self.disc_radius_mm - self.ring_width_mm / 2.0;
        let _ = writeln!(
            page,
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"{ring}\" fill=\"none\" stroke=\"black\" stroke-width=\"{}\"/>",
            self.ring_width_mm
        );
        for side in [0.0, std::f64::consts::PI] {
            // Sectors end in the middle of the ring: no seam between them.
            let corner = |turn: f64| {
                let angle = mark.direction() + side + turn * std::f64::consts::FRAC_PI_4;
                [x + ring * angle.cos(), y + ring * angle.sin()]
            };
            let ([x1, y1], [x2, y2]) = (corner(-1.0), corner(1.0));
            let _ = writeln!(page, "<path d=\"M {x} {y} L {x1:.5} {y1:.5} A {ring} {ring} 0 0 1 {x2:.5} {y2:.5} Z\"/>");
        }
    }

    fn draw_scale_bar(&self, page: &mut String) {
        let (half, y) = (self.scale_bar_mm / 2.0, self.scale_bar_below_mm);
        let _ = writeln!(page, "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"0.4\"/>", -half, y - 0.2, 2.0 * half);
        let ticks = (self.scale_bar_mm / 10.0) as usize;
        for tick in 0..=ticks {
            let x = -half + 10.0 * tick as f64;
            let long = if tick == 0 || tick == ticks { 3.0 } else { 1.5 };
            // The outer edges of the end ticks are exactly the length apart.
            let left = if tick == 0 {
                x
            } else if tick == ticks {
                x - 0.3
            } else {
                x - 0.15
            };
            let _ = writeln!(page, "<rect x=\"{left}\" y=\"{}\" width=\"0.3\" height=\"{long}\"/>", y - long);
        }
    }
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;")
}

#[cfg(test)]
mod tests {
    use super::sheet;

    #[test]
    fn every_mark_and_the_scale_bar_fit_on_both_papers() {
        for paper in &sheet().paper {
            for mark in &sheet().mark {
                let [x, y] = mark.middle();
                let room = (paper.width_mm / 2.0 - x.abs()).min(paper.height_mm / 2.0 - y.abs());
                assert!(room > sheet().disc_radius_mm + 8.0, "{} at {x}, {y}", paper.name);
            }
            assert!(sheet().scale_bar_below_mm + 8.0 < paper.height_mm / 2.0);
        }
    }

    #[test]
    fn marks_stay_clear_of_the_field() {
        for mark in &sheet().mark {
            let [x, y] = mark.middle();
            let clear = (x.abs() - sheet().field_half_width_mm).max(y.abs() - sheet().field_half_height_mm);
            assert!(clear > sheet().disc_radius_mm, "{x}, {y}");
        }
    }

    #[test]
    fn the_page_is_black_at_true_scale() {
        let page = sheet().svg(sheet().paper("a4").expect("A4"), &["Print at 100 %"]);
        assert!(page.contains("width=\"297mm\" height=\"210mm\" viewBox=\"-148.5 -105 297 210\""));
        assert_eq!(page.matches("<circle").count(), sheet().mark.len());
        assert!(!page.contains('#') && !page.contains("rgb") && !page.contains("white"));
    }
}
