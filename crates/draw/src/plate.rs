//! The plate of a connector drawn back: what was read off its spine, mark by mark.

use crate::svg::{Align, Pen, Px, Sheet};
use crate::text::{Area, width, wrap};

/// What stands at the head of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PlateMark {
    /// Major axis, gate closed.
    Closed,
    /// Major axis, gate open.
    Open,
    /// Minor axis, gate closed.
    Minor,
    /// Type letter, in a circle.
    Letter,
    /// An open book.
    Book,
    /// A short word, such as "EN" or "CE".
    Word(String),
}

/// One mark of a plate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlateLine {
    /// What stands at its head.
    pub mark: PlateMark,
    /// What was read, with its unit; `?` where it cannot be; may be empty.
    pub value: String,
    /// What the mark is, in words, and what became of it if it was not read.
    pub meaning: String,
    /// Whether the value was read. If not, it stands in a broken frame.
    pub legible: bool,
}

const WIDTH: f64 = 460.0;
const ROW: f64 = 38.0;
const EDGE: f64 = 16.0;
const SIGN: f64 = 48.0;
const VALUE: f64 = 92.0;
const TEXT: f64 = 12.5;
const INK: Pen = Pen::new("ink", 1.6);
const THIN: Pen = Pen::new("ink", 1.1);
const RULE: Pen = Pen::new("faint", 1.0);
const LOST: Pen = Pen::new("accent", 1.5).dashed("4 3");

/// The plate as a document of its own, 460 pixels wide, a row for each line.
pub fn plate(lines: &[PlateLine]) -> String {
    let mut sheet = Sheet::default();
    let right = WIDTH - EDGE / 2.0;
    let start = VALUE + lines.iter().map(|line| width(&line.value, 16.0)).fold(40.0, f64::max).min(170.0) + 28.0;
    let mut top = EDGE;
    for line in lines {
        let words = wrap(&line.meaning, TEXT, right - 8.0 - start);
        let height = ROW.max(14.0 + 16.0 * words.len() as f64);
        if top > EDGE {
            sheet.line(RULE, [EDGE, top], [right - EDGE / 2.0, top]);
        }
        row(&mut sheet, line, &words, [start, top + height / 2.0]);
        top += height;
    }
    let frame = Area { left: EDGE / 2.0, top: EDGE / 2.0, right, bottom: top + EDGE / 2.0 };
    sheet.polygon(INK, &chamfered(&frame));
    sheet.document(WIDTH, top + EDGE, "Plate of a connector", &describe(lines))
}

/// What the plate says, in words.
fn describe(lines: &[PlateLine]) -> String {
    let words = |line: &PlateLine| match line.value.is_empty() {
        true => format!("{}.", line.meaning),
        false => format!("{}: {}.", line.meaning, line.value),
    };
    lines.iter().map(words).collect::<Vec<_>>().join(" ")
}

fn row(sheet: &mut Sheet, line: &PlateLine, words: &[String], [start, middle]: Px) {
    sheet.group("mark", &line.meaning, |sheet| {
        sign(sheet, line, [SIGN, middle]);
        if line.mark != PlateMark::Letter {
            value(sheet, line, [VALUE, middle]);
        }
        let first = middle - 8.0 * (words.len() as f64 - 1.0) + TEXT * 0.35;
        for (index, text) in words.iter().enumerate() {
            sheet.text("aside", TEXT, [start, first + 16.0 * index as f64], Align::Start, text);
        }
    });
}

fn value(sheet: &mut Sheet, line: &PlateLine, [left, middle]: Px) {
    let class = if line.legible { "name" } else { "alert" };
    sheet.text(class, 16.0, [left, middle + 5.5], Align::Start, &line.value);
    if !line.legible {
        let wide = width(&line.value, 16.0);
        let frame = Area { left: left - 6.0, top: middle - 12.0, right: left + wide + 6.0, bottom: middle + 12.0 };
        sheet.polygon(LOST, &corners(&frame));
    }
}

fn sign(sheet: &mut Sheet, line: &PlateLine, centre: Px) {
    match &line.mark {
        PlateMark::Closed => {
            outline(sheet, centre, false);
            double_arrow(sheet, centre, [26.0, 0.0]);
        }
        PlateMark::Open => {
            outline(sheet, centre, true);
            double_arrow(sheet, centre, [26.0, 0.0]);
        }
        PlateMark::Minor => {
            outline(sheet, centre, false);
            double_arrow(sheet, centre, [0.0, 15.0]);
        }
        PlateMark::Letter => {
            let (pen, class) = if line.legible { (INK, "name") } else { (LOST, "alert") };
            sheet.circle(pen, centre, 12.0);
            sheet.text(class, 15.0, [centre[0], centre[1] + 5.2], Align::Middle, &line.value);
        }
        PlateMark::Book => book(sheet, centre),
        PlateMark::Word(word) => sheet.text("name", 13.0, [centre[0], centre[1] + 4.5], Align::Middle, word),
    }
}

/// A connector lying on its side, its gate above: shut, or swung inwards.
fn outline(sheet: &mut Sheet, [x, y]: Px, open: bool) {
    let (long, tall, cut) = (20.0, 9.0, 5.0);
    let frame = [
        [x - 8.0, y - tall],
        [x - long + cut, y - tall],
        [x - long, y - tall + cut],
        [x - long, y + tall - cut],
        [x - long + cut, y + tall],
        [x + long - cut, y + tall],
        [x + long, y + tall - cut],
        [x + long, y - tall + cut],
        [x + long - cut, y - tall],
        [x + 10.0, y - tall],
    ];
    sheet.polyline(THIN, &frame);
    let swung = if open { [x - 4.0, y + 5.0] } else { [x - 8.0, y - tall] };
    sheet.line(Pen::new("ink", 2.2), [x + 10.0, y - tall], swung);
}

fn double_arrow(sheet: &mut Sheet, [x, y]: Px, [right, down]: Px) {
    let (tips, length) = ([[x - right, y - down], [x + right, y + down]], right.hypot(down));
    sheet.line(INK, tips[0], tips[1]);
    let (along, across) = ([right / length * 5.0, down / length * 5.0], [-down / length * 3.5, right / length * 3.5]);
    for (tip, way) in tips.into_iter().zip([1.0, -1.0]) {
        let barb = |side: f64| [tip[0] + way * along[0] + side * across[0], tip[1] + way * along[1] + side * across[1]];
        sheet.polyline(INK, &[barb(1.0), tip, barb(-1.0)]);
    }
}

fn book(sheet: &mut Sheet, [x, y]: Px) {
    for side in [-1.0, 1.0] {
        let page = [[x, y - 6.0], [x + side * 13.0, y - 9.0], [x + side * 13.0, y + 6.0], [x, y + 9.0]];
        sheet.polygon(THIN, &page);
    }
    sheet.text("name", 11.0, [x + 6.5, y + 3.5], Align::Middle, "i");
}

fn corners(area: &Area) -> [Px; 4] {
    [[area.left, area.top], [area.right, area.top], [area.right, area.bottom], [area.left, area.bottom]]
}

fn chamfered(area: &Area) -> [Px; 8] {
    let cut = 8.0;
    let Area { left, top, right, bottom } = *area;
    [
        [left + cut, top],
        [right - cut, top],
        [right, top + cut],
        [right, bottom - cut],
        [right - cut, bottom],
        [left + cut, bottom],
        [left, bottom - cut],
        [left, top + cut],
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(mark: PlateMark, value: &str, meaning: &str, legible: bool) -> PlateLine {
        PlateLine { mark, value: value.to_owned(), meaning: meaning.to_owned(), legible }
    }

    fn example() -> Vec<PlateLine> {
        vec![
            line(PlateMark::Word("EN".to_owned()), "12275", "standard", true),
            line(PlateMark::Letter, "H", "type letter", true),
            line(PlateMark::Closed, "22 kN", "major axis, gate closed", true),
            line(PlateMark::Open, "?", "major axis, gate open, illegible", false),
            line(PlateMark::Minor, "8 kN", "minor axis, gate closed", true),
            line(PlateMark::Book, "", "read the instructions <first>", true),
        ]
    }

    #[test]
    fn every_line_is_in_the_drawing_and_in_its_description() {
        let drawing = plate(&example());
        let description = drawing.split("<desc>").nth(1).and_then(|rest| rest.split("</desc>").next()).expect("a desc");
        assert!(description.contains("major axis, gate open, illegible: ?."), "{description}");
        assert_eq!(drawing.matches("<g class=\"mark\">").count(), example().len());
        assert!(drawing.contains("read the instructions &lt;first&gt;") && !drawing.contains("<first>"));
    }

    #[test]
    fn what_is_illegible_has_a_broken_frame_and_not_only_a_colour() {
        let broken = |drawing: &str| drawing.matches("stroke-dasharray").count();
        let all_read: Vec<PlateLine> = example().into_iter().map(|line| PlateLine { legible: true, ..line }).collect();
        assert_eq!((broken(&plate(&example())), broken(&plate(&all_read))), (1, 0));
    }

    #[test]
    fn an_open_gate_is_drawn_otherwise_than_a_closed_one() {
        let one = |mark| plate(&[line(mark, "7 kN", "a rating", true)]);
        assert_ne!(one(PlateMark::Closed), one(PlateMark::Open));
        assert_ne!(one(PlateMark::Closed), one(PlateMark::Minor));
    }

    #[test]
    fn an_empty_plate_is_still_a_document() {
        assert!(plate(&[]).ends_with("</svg>\n"));
    }
}
