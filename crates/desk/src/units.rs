//! Values in the units that somebody chose. All else knows SI alone: texts, plots, drawings and sheets are put into other units last.
//!
//! ```text
//!   "5.3 to 8 kN" ─▶ "1190 to 1798 lbf"     numbers that a unit stands behind, and units that are asked for
//!   plot          ─▶ its values times a factor, before its axes are ruled
//! ```
//!
//! The factors are those of [`terms`], exact by the international yard and pound agreement of 1959 (NIST SP 811, appendix B).

use crate::sheets::Sheet;
use draw::plot::Plot;
use serde_json::Value;
use std::borrow::Cow;
use std::collections::BTreeMap;
use terms::{Force, Length, Mass};

/// What values are in on pages, where nobody chose otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Newtons.
    N,
    /// Kilonewtons.
    Kn,
    /// Millimetres.
    Mm,
    /// Centimetres.
    Cm,
    /// Metres.
    M,
    /// Grams.
    G,
    /// Kilograms.
    Kg,
}

impl Unit {
    pub(crate) const ALL: [Self; 7] = [Self::N, Self::Kn, Self::Mm, Self::Cm, Self::M, Self::G, Self::Kg];

    /// As it is written.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::N => "N",
            Self::Kn => "kN",
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::M => "m",
            Self::G => "g",
            Self::Kg => "kg",
        }
    }

    /// What takes its place.
    #[must_use]
    pub const fn other(self) -> &'static str {
        match self {
            Self::N | Self::Kn => "lbf",
            Self::Mm | Self::Cm => "in",
            Self::M => "ft",
            Self::G => "oz",
            Self::Kg => "lb",
        }
    }

    fn other_of(self, value: f64) -> f64 {
        match self {
            Self::N => Force::from_newtons(value).lbf(),
            Self::Kn => Force::from_kn(value).lbf(),
            Self::Mm => Length::from_mm(value).inches(),
            Self::Cm => Length::from_mm(10.0 * value).inches(),
            Self::M => Length::from_m(value).feet(),
            Self::G => Mass::from_g(value).ounces(),
            Self::Kg => Mass::from_kg(value).pounds(),
        }
    }

    fn of_other(self, value: f64) -> f64 {
        match self {
            Self::N => Force::from_lbf(value).newtons(),
            Self::Kn => Force::from_lbf(value).kn(),
            Self::Mm => Length::from_inches(value).mm(),
            Self::Cm => Length::from_inches(value).mm() / 10.0,
            Self::M => Length::from_feet(value).m(),
            Self::G => Mass::from_ounces(value).g(),
            Self::Kg => Mass::from_pounds(value).kg(),
        }
    }

    /// The unit that the end of a label names: `Height, m`.
    #[must_use]
    pub fn at_end(label: &str) -> Option<(&str, Self)> {
        let (name, code) = label.rsplit_once(", ")?;
        Self::ALL.into_iter().find(|unit| unit.code() == code).map(|unit| (name, unit))
    }

    /// The unit that is written so, if any.
    #[must_use]
    pub fn coded(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|unit| unit.code() == code)
    }
}

/// For force, length and mass: whether it is shown in pounds-force, in inches and feet, in pounds and ounces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Units {
    lbf: bool,
    inches: bool,
    pounds: bool,
}

impl Units {
    /// As the cookie and the field of a form tell them; SI where they tell nothing.
    #[must_use]
    pub fn told(text: &str) -> Self {
        let has = |code: &str| text.split('.').any(|known| known == code);
        Self { lbf: has("lbf"), inches: has("in"), pounds: has("lb") }
    }

    /// As [`Units::told`] reads it.
    #[must_use]
    pub fn code(self) -> String {
        let one = |chosen: bool, other: &'static str, own: &'static str| if chosen { other } else { own };
        [one(self.lbf, "lbf", "kN"), one(self.inches, "in", "mm"), one(self.pounds, "lb", "kg")].join(".")
    }

    /// Whether something else stands in place of a unit.
    #[must_use]
    pub const fn changes(self, unit: Unit) -> bool {
        match unit {
            Unit::N | Unit::Kn => self.lbf,
            Unit::Mm | Unit::Cm | Unit::M => self.inches,
            Unit::G | Unit::Kg => self.pounds,
        }
    }

    /// A value that was typed in these units, in the one that the rack keeps, to so many decimal places; what is no number as it was typed. Several
    /// numbers with a slash between them are as many values.
    #[must_use]
    pub fn typed(self, text: &str, unit: Unit, places: usize) -> String {
        self.typed_each(text, &[Some(unit)], places)
    }

    /// The same where each number has a unit of its own, or none that could be another; what comes behind the last has the last.
    #[must_use]
    pub fn typed_each(self, text: &str, each: &[Option<Unit>], places: usize) -> String {
        let value = |part: &str| part.trim().replace(',', ".").parse::<f64>().ok().filter(|value| value.is_finite());
        let own = |(place, part): (usize, &str)| match self.changed(each, place) {
            Some(unit) => value(part).map(|value| trimmed(&format!("{:.places$}", unit.of_other(value)))),
            None => Some(part.to_owned()),
        };
        let values: Option<Vec<String>> = text.split('/').enumerate().map(own).collect();
        values.map_or_else(|| text.to_owned(), |values| values.join("/"))
    }

    /// The unit of one of several numbers, where something else stands in its place.
    fn changed(self, each: &[Option<Unit>], place: usize) -> Option<Unit> {
        let unit = *each.get(place).or(each.last())?;
        unit.filter(|unit| self.changes(*unit))
    }

    /// A value in SI as it stands in a field: as typed, to four digits.
    #[must_use]
    pub fn in_field(self, text: &str, unit: Unit) -> String {
        self.in_field_each(text, &[Some(unit)])
    }

    /// The same where each number has a unit of its own, as [`Units::typed_each`] reads it.
    #[must_use]
    pub fn in_field_each(self, text: &str, each: &[Option<Unit>]) -> String {
        let one = |(place, part): (usize, &str)| {
            let value = part.trim().parse::<f64>().ok().filter(|value| value.is_finite());
            match (self.changed(each, place), value) {
                (Some(unit), Some(value)) => trimmed(&to_digits(unit.other_of(value), 4)),
                _ => part.to_owned(),
            }
        };
        text.split('/').enumerate().map(one).collect::<Vec<_>>().join("/")
    }
}

/// Without zeros that say nothing.
fn trimmed(text: &str) -> String {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text.to_owned() }
}

/// With so many digits that count.
#[allow(clippy::cast_possible_truncation)]
fn to_digits(value: f64, digits: i32) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let places = digits - 1 - value.abs().log10().floor() as i32;
    let step = 10_f64.powi(places);
    let rounded = (value * step).round() / step;
    format!("{rounded:.*}", usize::try_from(places).unwrap_or(0))
}

/// A number in another unit, with as many digits as it came with, and one more where its first digit has become smaller: otherwise 8 would come out as coarse as
/// 2000 (the rule of NIST SP 811, B.7, from memory). A whole number of kN is how strengths are marked: it comes out to the pound, rounded down, so that nothing is
/// said to bear more than its mark.
fn converted(text: &str, unit: Unit) -> String {
    let Ok(value) = text.parse::<f64>() else { return text.to_owned() };
    if unit == Unit::Kn && !text.contains('.') {
        return format!("{:.0}", unit.other_of(value).floor());
    }
    let first = |text: &str| text.bytes().find(|byte| (b'1'..=b'9').contains(byte));
    let digits = text.bytes().filter(u8::is_ascii_digit).skip_while(|byte| *byte == b'0').count();
    let digits = i32::try_from(digits).unwrap_or(1);
    let other = unit.other_of(value);
    let became_less = first(&to_digits(other, digits)) < first(text);
    to_digits(other, digits + i32::from(became_less))
}

/// What stands between numbers of one unit.
const BETWEEN: [&str; 6] = [" to ", " and ", " or ", "–", " … ", "/"];

impl Units {
    /// A text: its numbers that a unit stands behind, and units that are asked for.
    #[must_use]
    pub fn text(self, text: &str) -> Cow<'_, str> {
        if self == Self::default() {
            return Cow::Borrowed(text);
        }
        if let Some((name, unit)) = Unit::at_end(text).filter(|(_, unit)| self.changes(*unit)) {
            return Cow::Owned(format!("{name}, {}", unit.other()));
        }
        let mut out = String::with_capacity(text.len());
        let mut rest = text;
        let mut before = ' ';
        let mut is_after_minus = false;
        while let Some(next) = rest.chars().next() {
            let is_part = before.is_alphanumeric() || matches!(before, '.' | ',' | '-' | '#' | '&');
            let is_start = !is_part || is_after_minus;
            is_after_minus = next == '-' && (before.is_whitespace() || before == '(');
            let read = if is_start { self.values(rest).or_else(|| self.asked(rest)) } else { None };
            let length = match read {
                Some((told, length)) => {
                    out += &told;
                    length
                }
                None => {
                    out.push(next);
                    next.len_utf8()
                }
            };
            before = rest[..length].chars().next_back().unwrap_or(' ');
            rest = &rest[length..];
        }
        Cow::Owned(out)
    }

    /// Numbers and their unit at the start of a text, converted; and how long they are.
    fn values(self, text: &str) -> Option<(String, usize)> {
        let mut numbers: Vec<(&str, &str)> = vec![("", number(text)?)];
        let mut length = numbers[0].1.len();
        while let Some((between, more)) =
            BETWEEN.iter().find_map(|between| Some((*between, number(text[length..].strip_prefix(between)?)?)))
        {
            numbers.push((between, more));
            length += between.len() + more.len();
        }
        let unit = self.unit(text[length..].strip_prefix(' ')?)?;
        let told: String = numbers.iter().map(|(between, one)| format!("{between}{}", converted(one, unit))).collect();
        Some((format!("{told} {}", unit.other()), length + 1 + unit.code().len()))
    }

    /// `in m` at the start of a text, as a question asks.
    fn asked(self, text: &str) -> Option<(String, usize)> {
        let unit = self.unit(text.strip_prefix("in ")?)?;
        Some((format!("in {}", unit.other()), "in ".len() + unit.code().len()))
    }

    /// A unit that is to be changed, at the start of a text, and not the beginning of another: no kN m, m/s or m².
    fn unit(self, text: &str) -> Option<Unit> {
        let is_whole = |rest: &str| {
            let next = rest.chars().next();
            !next.is_some_and(|next| next.is_alphanumeric() || matches!(next, '/' | '·' | '_' | '-'))
                && !is_times_m(rest)
        };
        let found = Unit::ALL.into_iter().find(|unit| text.strip_prefix(unit.code()).is_some_and(is_whole));
        found.filter(|unit| self.changes(*unit))
    }

    /// For each unit that something else stands in place of: that, and how many of it one is.
    #[must_use]
    pub fn others(self) -> BTreeMap<&'static str, (&'static str, f64)> {
        let changed = Unit::ALL.into_iter().filter(|unit| self.changes(*unit));
        changed.map(|unit| (unit.code(), (unit.other(), unit.other_of(1.0)))).collect()
    }

    /// A plot whose values along x and y are of units: values and labels. What else it says follows with [`Units::drawing`].
    #[must_use]
    pub fn plot(self, plot: Plot, along: [Option<Unit>; 2]) -> Plot {
        let plot = Plot {
            x_label: self.text(&plot.x_label).into_owned(),
            y_label: self.text(&plot.y_label).into_owned(),
            ..plot
        };
        plot.times(along.map(|unit| unit.filter(|unit| self.changes(*unit)).map_or(1.0, |unit| unit.other_of(1.0))))
    }

    /// A drawing whose plots are in these units already: its texts.
    #[must_use]
    pub fn drawing(self, svg: String) -> String {
        if self == Self::default() {
            return svg;
        }
        let mut out = String::with_capacity(svg.len());
        let mut is_style = false;
        for part in svg.split_inclusive('>') {
            let (text, tag) = part.split_at(part.find('<').unwrap_or(part.len()));
            out += &if is_style { Cow::Borrowed(text) } else { self.text(text) };
            out += tag;
            is_style = (is_style || tag.starts_with("<style")) && !tag.starts_with("</style");
        }
        out
    }

    /// A sheet whose drawings are in these units already: what it says, but for what somebody typed or stamped, which stands under `AS_WRITTEN`.
    #[must_use]
    pub fn sheet(self, mut sheet: Sheet) -> Sheet {
        self.said(&mut sheet.data);
        sheet
    }

    fn said(self, value: &mut Value) {
        match value {
            Value::String(text) => *text = self.text(text).into_owned(),
            Value::Array(all) => all.iter_mut().for_each(|one| self.said(one)),
            Value::Object(all) => {
                all.iter_mut()
                    .filter(|(key, _)| !AS_WRITTEN.contains(&key.as_str()))
                    .for_each(|(_, one)| self.said(one));
            }
            Value::Null | Value::Bool(_) | Value::Number(_) => {}
        }
    }
}

/// Keys of a sheet under which stands what somebody typed, or what is put into units where it is made.
const AS_WRITTEN: [&str; 5] = ["title", "name", "link", "label", "why"];

/// Whether another unit follows, as in `kN m`.
fn is_times_m(rest: &str) -> bool {
    rest.strip_prefix(" m").is_some_and(|rest| !rest.starts_with(char::is_alphanumeric))
}

/// The number at the start of a text.
fn number(text: &str) -> Option<&str> {
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let whole = digits(text);
    let part = text[whole..].strip_prefix('.').map_or(0, digits);
    let length = if part > 0 { whole + 1 + part } else { whole };
    (whole > 0).then(|| &text[..length])
}

#[cfg(test)]
mod tests {
    use super::*;
    use draw::plot::Series;

    fn all() -> Units {
        Units::told("lbf.in.lb")
    }

    /// The exact factors by hand: 24 / 4.4482216 kN is 5395.4 lbf, 8 is 1798.5, 310 N 69.69; 9.8 mm is 0.38583 in, 60 m 196.85 ft; 80 kg is 176.37 lb, 62 g 2.187 oz.
    #[test]
    fn numbers_before_a_unit_are_converted_with_their_digits() {
        for (text, told) in [
            ("Sees 5.3 to 8 kN.", "Sees 1190 to 1798 lbf."),
            ("24 kN", "5395 lbf"),
            ("of 9.8 mm, 60 m long", "of 0.386 in, 197 ft long"),
            ("80/70 kg", "176/154 lb"),
            ("62 g and 1.25 kg", "2.19 oz and 2.76 lb"),
            ("pull 310 N (250 to 420 N).", "pull 69.7 lbf (56.2 to 94.4 lbf)."),
            ("How high is it, in m above the ground?", "How high is it, in ft above the ground?"),
            ("Height, m", "Height, ft"),
            ("0 kN", "0 lbf"),
            ("lowest -1.2 m, or (-1.2 m without it)", "lowest -3.9 ft, or (-3.9 ft without it)"),
        ] {
            assert_eq!(all().text(text), told);
        }
    }

    #[test]
    fn what_is_no_value_of_a_unit_stays() {
        for text in [
            "3.2 kN m",
            "5 m/s",
            "C-24 mm",
            "12 m²",
            "60 minutes",
            "&#39;1",
            "in many ways",
            "2 gates",
            "at 14:30",
            "6 N-14",
            "3 N m",
        ] {
            assert_eq!(all().text(text), text);
        }
        let half = Units::told("kN.in.kg");
        assert_eq!(half.text("24 kN at 9.8 mm and 80 kg"), "24 kN at 0.386 in and 80 kg");
    }

    /// 1 kN is 1000 / 4.4482216152605 lbf, 25.4 mm an inch.
    #[test]
    fn a_plot_has_its_values_in_the_units_and_its_words_follow() {
        let series = vec![Series { name: "draw 1".to_owned(), points: vec![[0.0, 0.0], [1.5, 8.0]], dashed: false }];
        let plot =
            Plot { y_label: "load in kN".to_owned(), series, limit: Some((4.0, "4 kN".to_owned())), ..Plot::default() };
        let told = all().plot(plot.clone(), [None, Some(Unit::Kn)]);
        let lbf = 1000.0 / 4.448_221_615_260_5;
        assert!((told.series[0].points[1][1] - 8.0 * lbf).abs() < 1e-9 && told.series[0].points[1][0] == 1.5);
        assert_eq!(told.y_label, "load in lbf");
        assert!(told.limit.is_some_and(|(level, _)| (level - 4.0 * lbf).abs() < 1e-9));
        assert_eq!(Units::default().plot(plot.clone(), [None, Some(Unit::Kn)]), plot);
        let svg =
            "<svg><style>.a>b{width:4 mm}</style><text>load in kN</text><text>4 kN</text><text>draw 1</text></svg>";
        let drawn =
            "<svg><style>.a>b{width:4 mm}</style><text>load in lbf</text><text>899 lbf</text><text>draw 1</text></svg>";
        assert_eq!(all().drawing(svg.to_owned()), drawn);
        assert_eq!(Units::default().drawing(svg.to_owned()), svg);
    }

    #[test]
    fn each_number_of_an_answer_is_in_its_own_unit() {
        let each = [Some(Unit::Kn), None];
        assert_eq!(all().in_field_each("6/10", &each), "1349/10");
        assert_eq!(all().typed_each("1349/10", &each, 3), "6.001/10");
        assert_eq!(Units::default().in_field_each("6/10", &each), "6/10");
        assert_eq!(all().typed_each("nylon 7 used", &[], 3), "nylon 7 used");
        assert_eq!(all().in_field_each("80/70", &[Some(Unit::Kg); 2]), "176.4/154.3");
    }

    #[test]
    fn a_page_is_handed_the_factors_of_what_is_changed_alone() {
        let others = Units::told("lbf.mm.kg").others();
        let lbf = |force: Force| ("lbf", force.lbf());
        let pounds_force = [("N", lbf(Force::from_newtons(1.0))), ("kN", lbf(Force::from_kn(1.0)))];
        assert_eq!(others.into_iter().collect::<Vec<_>>(), pounds_force);
    }

    #[test]
    fn a_sheet_says_values_in_the_units_and_names_as_they_were_typed() {
        let data = serde_json::json!({ "title": "5 m fall", "links": [{ "name": "60 m rope", "sees": "8 kN" }], "rows": [["4 kN", "2"]] });
        let sheet = Sheet { template: "rig-card.typ", data, drawings: BTreeMap::new() };
        let told = all().sheet(sheet).data;
        assert_eq!(
            told,
            serde_json::json!({ "title": "5 m fall", "links": [{ "name": "60 m rope", "sees": "1798 lbf" }], "rows": [["899 lbf", "2"]] })
        );
    }
}
