//! What every drawing shares: the style sheet, escaping, number formatting and the document frame.

use base64::prelude::{BASE64_STANDARD, Engine};
use std::fmt::Write;

/// A place on the sheet in pixels: right, then down.
pub type Px = [f64; 2];

/// A colour by name: on light paper, on dark paper, and in print.
struct Colour {
    name: &'static str,
    light: &'static str,
    dark: &'static str,
    print: &'static str,
}

const fn colour(name: &'static str, light: &'static str, dark: &'static str, print: &'static str) -> Colour {
    Colour { name, light, dark, print }
}

/// The accent marks what to look at first; what it says is always said by a shape and a word too, so print needs none.
const COLOURS: [Colour; 5] = [
    colour("ink", "#1c2126", "#e9e7e2", "#000000"),
    colour("soft", "#545c66", "#a9b0b8", "#444444"),
    colour("faint", "#d9dce0", "#3a4047", "#cccccc"),
    colour("paper", "#ffffff", "#15181b", "#ffffff"),
    colour("accent", "#b0341a", "#ff9478", "#000000"),
];

/// Rules with `$colour` in place of a colour. `halo` keeps text legible where it lies on a line.
const RULES: &str = "\
.drawing{font-family:system-ui,sans-serif;max-width:100%;height:auto}
.drawing .paper{fill:$paper;stroke:none}
.drawing .ink{fill:none;stroke:$ink}
.drawing .soft{fill:none;stroke:$soft}
.drawing .faint{fill:none;stroke:$faint}
.drawing .wash{fill:$faint;stroke:none}
.drawing .core{fill:none;stroke:$paper}
.drawing .accent{fill:none;stroke:$accent}
.drawing .blank{fill:$paper;stroke:$ink}
.drawing .solid{fill:$ink;stroke:none}
.drawing .halo{stroke:$paper;stroke-width:3;stroke-linejoin:round;paint-order:stroke}
.drawing .words{fill:$ink}
.drawing .aside{fill:$soft}
.drawing .name{fill:$ink;font-weight:600}
.drawing .alert{fill:$accent;font-weight:700}
";

/// The text of the style element of every drawing, for who must allow it by its hash.
#[must_use]
pub fn style_element() -> String {
    format!("\n{}", style())
}

/// The style sheet: plain colours for renderers that know no custom properties, then the same rules with custom
/// properties, which a page may set anew, for dark paper and for print in black and white.
fn style() -> String {
    let properties = |value: fn(&Colour) -> &str| {
        let each = COLOURS.iter().map(|colour| format!("--{}:{};", colour.name, value(colour)));
        format!(".drawing{{{}}}", each.collect::<String>())
    };
    format!(
        "{}@supports (color:var(--ink)){{\n{}{}\n@media (prefers-color-scheme:dark){{{}}}\n@media print{{{}}}\n}}\n",
        rules(|colour| colour.light.to_owned()),
        rules(|colour| format!("var(--{})", colour.name)),
        properties(|colour| colour.light),
        properties(|colour| colour.dark),
        properties(|colour| colour.print),
    )
}

fn rules(value: fn(&Colour) -> String) -> String {
    COLOURS.iter().fold(RULES.to_owned(), |rules, colour| rules.replace(&format!("${}", colour.name), &value(colour)))
}

/// Text as it may stand in XML, in an element or a quoted attribute. Control characters that XML forbids become U+FFFD.
pub fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            '\t' | '\n' | '\r' => escaped.push(' '),
            '\0'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => escaped.push('\u{fffd}'),
            _ => escaped.push(letter),
        }
    }
    escaped
}

/// A coordinate with two decimals, never `-0.00`; what is not finite becomes zero, so that the document stays valid.
pub fn num(value: f64) -> String {
    let rounded = if value.is_finite() { (value * 100.0).round() / 100.0 } else { 0.0 };
    format!("{:.2}", rounded + 0.0)
}

/// Which end of a text lies at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// The text begins there.
    Start,
    /// The text is centred there.
    Middle,
    /// The text ends there.
    End,
}

impl Align {
    fn word(self) -> &'static str {
        match self {
            Align::Start => "start",
            Align::Middle => "middle",
            Align::End => "end",
        }
    }
}

/// How a line is drawn: its class in the style sheet, its width in pixels and its dashes (empty: unbroken).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Class in the style sheet.
    pub class: &'static str,
    /// Width in pixels.
    pub width: f64,
    /// `stroke-dasharray`.
    pub dashes: &'static str,
}

impl Pen {
    /// An unbroken line.
    pub const fn new(class: &'static str, width: f64) -> Pen {
        Pen { class, width, dashes: "" }
    }

    /// The same, dashed.
    pub const fn dashed(self, dashes: &'static str) -> Pen {
        Pen { dashes, ..self }
    }

    fn attributes(self) -> String {
        let dashes =
            if self.dashes.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{}\"", self.dashes) };
        format!("class=\"{}\" stroke-width=\"{}\"{dashes}", self.class, num(self.width))
    }
}

/// A sheet that is being drawn on.
#[derive(Debug, Clone, Default)]
pub struct Sheet {
    body: String,
}

impl Sheet {
    fn push(&mut self, element: std::fmt::Arguments) {
        self.body.write_fmt(element).expect("writing to a string does not fail");
        self.body.push('\n');
    }

    /// A straight line.
    pub fn line(&mut self, pen: Pen, from: Px, to: Px) {
        let [x1, y1, x2, y2] = [from[0], from[1], to[0], to[1]].map(num);
        self.push(format_args!("<line {} x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\"/>", pen.attributes()));
    }

    /// Straight lines from place to place; nothing where there are fewer than two.
    pub fn polyline(&mut self, pen: Pen, places: &[Px]) {
        if places.len() > 1 {
            self.push(format_args!(
                "<polyline {} stroke-linejoin=\"round\" points=\"{}\"/>",
                pen.attributes(),
                pairs(places)
            ));
        }
    }

    /// A closed figure.
    pub fn polygon(&mut self, pen: Pen, places: &[Px]) {
        self.push(format_args!(
            "<polygon {} stroke-linejoin=\"round\" points=\"{}\"/>",
            pen.attributes(),
            pairs(places)
        ));
    }

    /// A circle.
    pub fn circle(&mut self, pen: Pen, centre: Px, radius: f64) {
        let [x, y, r] = [centre[0], centre[1], radius].map(num);
        self.push(format_args!("<circle {} cx=\"{x}\" cy=\"{y}\" r=\"{r}\"/>", pen.attributes()));
    }

    /// A line of text on its baseline, `size` pixels high.
    pub fn text(&mut self, class: &str, size: f64, at: Px, align: Align, words: &str) {
        let [x, y, size] = [at[0], at[1], size].map(num);
        let (align, words) = (align.word(), escape(words));
        self.push(format_args!(
            "<text class=\"{class}\" font-size=\"{size}\" x=\"{x}\" y=\"{y}\" text-anchor=\"{align}\">{words}</text>"
        ));
    }

    /// A picture as PNG, `width` by `height` pixels with its upper left corner at `at`.
    pub fn picture(&mut self, png: &[u8], at: Px, width: f64, height: f64) {
        let [x, y, w, h] = [at[0], at[1], width, height].map(num);
        let data = BASE64_STANDARD.encode(png);
        self.push(format_args!(
            "<image x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" preserveAspectRatio=\"none\" \
             href=\"data:image/png;base64,{data}\"/>"
        ));
    }

    /// What is drawn inside of a window, from its upper left corner; beyond its edges nothing is seen.
    pub fn window(&mut self, at: Px, width: f64, height: f64, draw: impl FnOnce(&mut Sheet)) {
        let [x, y, w, h] = [at[0], at[1], width, height].map(num);
        self.push(format_args!("<svg x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" overflow=\"hidden\">"));
        draw(self);
        self.push(format_args!("</svg>"));
    }

    /// Things that belong together: `class` says what they are, `title` shows when one points at them.
    pub fn group(&mut self, class: &str, title: &str, draw: impl FnOnce(&mut Sheet)) {
        self.push(format_args!("<g class=\"{class}\"><title>{}</title>", escape(title)));
        draw(self);
        self.push(format_args!("</g>"));
    }

    /// The whole document, `width` by `height` pixels. `title` and `description` are what a screen reader says.
    pub fn document(self, width: f64, height: f64, title: &str, description: &str) -> String {
        let [w, h] = [width, height].map(num);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing\" role=\"img\" width=\"{w}\" height=\"{h}\" \
             viewBox=\"0 0 {w} {h}\">\n<title>{}</title>\n<desc>{}</desc>\n<style>{}</style>\n\
             <rect class=\"paper\" width=\"{w}\" height=\"{h}\"/>\n{}</svg>\n",
            escape(title),
            escape(description),
            style_element(),
            self.body
        )
    }
}

fn pairs(places: &[Px]) -> String {
    places.iter().map(|place| format!("{},{}", num(place[0]), num(place[1]))).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_two_decimals_and_no_negative_zero() {
        assert_eq!([num(-0.001), num(1.005), num(-2.5), num(f64::NAN)], ["0.00", "1.00", "-2.50", "0.00"]);
    }

    #[test]
    fn markup_is_escaped_and_accents_stay() {
        assert_eq!(escape("Ö & <a> \"b\" 'c'\u{1}"), "Ö &amp; &lt;a&gt; &quot;b&quot; &#39;c&#39;\u{fffd}");
    }
}
